//! Adding masses up: loads, moments about the axles, variances.

use std::sync::Arc;

use super::result::{LoadGroup, LoadLine};
use crate::check::MAGNITUDE_MAX;
use crate::record::{MassProvenance, Name, Position};

/// Shortest wheelbase that is taken for one, millimetres. Far below any vehicle, far above where the
/// division by it would overflow.
const WHEELBASE_MIN_MM: f64 = 1.0;

/// A load that is being added up.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Sum {
    pub(super) load_kg: f64,
    pub(super) variance_kg2: f64,
    pub(super) untoleranced_count: u32,
}

impl Sum {
    /// Adds `share` of a mass; a share of -1 takes it away, its tolerance counts all the same.
    pub(super) fn add(&mut self, mass_kg: f64, share: f64, tolerance_kg: Option<f64>) {
        self.load_kg += mass_kg * share;
        match tolerance_kg {
            Some(tolerance_kg) => self.variance_kg2 += (tolerance_kg * share).powi(2),
            None => self.untoleranced_count += 1,
        }
    }

    fn take_over(&mut self, other: Self) {
        self.load_kg += other.load_kg;
        self.variance_kg2 += other.variance_kg2;
        self.untoleranced_count += other.untoleranced_count;
    }
}

/// A load with its shares on the axles. They stay empty where the wheelbase is not known.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Split {
    pub(super) total: Sum,
    pub(super) front: Sum,
    pub(super) rear: Sum,
    /// Moment about the centre plane, kilogram metres, positive to the right.
    pub(super) lateral_moment_kgm: f64,
}

impl Split {
    /// Adds a mass at a place; `sign` is 1, or -1 to take it away.
    pub(super) fn add(
        &mut self,
        mass_kg: f64,
        tolerance_kg: Option<f64>,
        position: Option<Position>,
        wheelbase_mm: Option<f64>,
        sign: f64,
    ) {
        self.total.add(mass_kg, sign, tolerance_kg);
        let Some(position) = position else { return };
        self.lateral_moment_kgm += sign * mass_kg * position.y_mm / 1000.0;
        if let Some(wheelbase_mm) = wheelbase_mm {
            let rear_share = position.x_mm / wheelbase_mm;
            self.front.add(mass_kg, sign * (1.0 - rear_share), tolerance_kg);
            self.rear.add(mass_kg, sign * rear_share, tolerance_kg);
        }
    }

    pub(super) fn take_over(&mut self, other: &Self) {
        self.total.take_over(other.total);
        self.front.take_over(other.front);
        self.rear.take_over(other.rear);
        self.lateral_moment_kgm += other.lateral_moment_kgm;
    }
}

/// A mass on its way into a tally.
pub(super) struct Entry<'a> {
    pub(super) group: LoadGroup,
    /// What it is, for people; asked for only where it is told.
    pub(super) title: &'a dyn Fn() -> Arc<str>,
    pub(super) record: &'a Name,
    pub(super) mass_kg: f64,
    pub(super) provenance: MassProvenance,
    pub(super) tolerance_kg: Option<f64>,
    pub(super) position: Option<Position>,
}

/// All masses of a vehicle, and what is missing.
#[derive(Debug, Clone, Default)]
pub(super) struct Tally {
    pub(super) wheelbase_mm: Option<f64>,
    /// Everything that is not part of the baseline.
    pub(super) load: Split,
    pub(super) lines: Vec<LoadLine>,
    /// Only sums are wanted, and no lines.
    pub(super) without_lines: bool,
    /// Mass of the lines of each group, kilograms.
    groups_kg: [f64; LoadGroup::COUNT],
    pub(super) missing: Vec<String>,
}

impl Tally {
    pub(super) fn new(wheelbase_mm: Option<f64>) -> Self {
        let wheelbase_mm =
            wheelbase_mm.filter(|wheelbase_mm| (WHEELBASE_MIN_MM..=MAGNITUDE_MAX).contains(wheelbase_mm));
        let mut tally = Self {
            wheelbase_mm,
            ..Self::default()
        };
        if wheelbase_mm.is_none() {
            tally.miss("the wheelbase is not known, so there are no axle loads");
        }
        tally
    }

    /// Mass of the lines of a group, kilograms.
    pub(super) fn mass_of(&self, group: LoadGroup) -> f64 {
        self.groups_kg[group.index()]
    }

    pub(super) fn miss(&mut self, sentence: impl Into<String>) {
        self.missing.push(sentence.into());
    }

    /// Adds a mass and says whether it entered: a number that cannot be one (not finite, absurdly large)
    /// is missing.
    pub(super) fn add(&mut self, entry: Entry<'_>) -> bool {
        let numbers = [
            Some(entry.mass_kg),
            entry.tolerance_kg,
            entry.position.map(|position| position.x_mm),
            entry.position.map(|position| position.y_mm),
        ];
        let impossible = entry.mass_kg < 0.0 && entry.group != LoadGroup::Fitment;
        if impossible || numbers.into_iter().flatten().any(|number| !is_number(number)) {
            self.miss(format!("{}: a number of it cannot be used", (entry.title)()));
            return false;
        }
        if entry.position.is_none() {
            let name = (entry.title)();
            self.missing.push(format!(
                "{name}: its place is not known, so the axle loads leave it out"
            ));
        }
        self.load.add(
            entry.mass_kg,
            entry.tolerance_kg,
            entry.position,
            self.wheelbase_mm,
            1.0,
        );
        let rear_axle_kg = entry
            .position
            .zip(self.wheelbase_mm)
            .map(|(position, wheelbase_mm)| entry.mass_kg * position.x_mm / wheelbase_mm);
        self.groups_kg[entry.group.index()] += entry.mass_kg;
        if self.without_lines {
            return true;
        }
        self.lines.push(LoadLine {
            display_name: (entry.title)(),
            record: entry.record.clone(),
            group: entry.group,
            mass_kg: entry.mass_kg,
            position: entry.position,
            front_axle_kg: rear_axle_kg.map(|rear_axle_kg| entry.mass_kg - rear_axle_kg),
            rear_axle_kg,
            provenance: entry.provenance,
            tolerance_kg: entry.tolerance_kg,
        });
        true
    }
}

/// Whether a number of the record can be computed with.
pub(super) fn is_number(number: f64) -> bool {
    number.is_finite() && number.abs() <= MAGNITUDE_MAX
}
