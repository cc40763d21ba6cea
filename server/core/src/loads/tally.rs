//! Adding masses up: loads, moments about the axles, variances.

use std::sync::Arc;

use super::result::{LoadGroup, LoadLine};
use crate::check::MAGNITUDE_MAX;
use crate::record::{MassProvenance, Name, Position};

/// Shortest wheelbase that is taken for one, millimetres. Far below any vehicle, far above where the
/// division by it would overflow.
const WHEELBASE_MIN_MM: f64 = 1.0;

/// A load that is being added up.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
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

    pub(super) fn take_over(&mut self, other: Self) {
        self.load_kg += other.load_kg;
        self.variance_kg2 += other.variance_kg2;
        self.untoleranced_count += other.untoleranced_count;
    }
}

/// A load with its shares on the axles. They stay empty where the wheelbase is not known.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
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

impl Entry<'_> {
    /// Why it cannot enter: a number that cannot be one (not finite, absurdly large).
    pub(super) fn fault(&self) -> Option<String> {
        let numbers = [
            Some(self.mass_kg),
            self.tolerance_kg,
            self.position.map(|position| position.x_mm),
            self.position.map(|position| position.y_mm),
        ];
        let impossible = self.mass_kg < 0.0 && self.group != LoadGroup::Fitment;
        let is_faulty = impossible || numbers.into_iter().flatten().any(|number| !is_number(number));
        is_faulty.then(|| format!("{}: a number of it cannot be used", (self.title)()))
    }

    /// What the numbers leave out of it.
    pub(super) fn left_out(&self) -> Option<String> {
        self.position.is_none().then(|| {
            format!(
                "{}: its place is not known, so the axle loads leave it out",
                (self.title)()
            )
        })
    }

    /// What it adds to the sums of a vehicle of this wheelbase.
    pub(super) fn split(&self, wheelbase_mm: Option<f64>) -> Split {
        let mut split = Split::default();
        split.add(self.mass_kg, self.tolerance_kg, self.position, wheelbase_mm, 1.0);
        split
    }

    /// Its line in the loads of a vehicle of this wheelbase.
    pub(super) fn line(&self, wheelbase_mm: Option<f64>) -> LoadLine {
        let rear_axle_kg = self
            .position
            .zip(wheelbase_mm)
            .map(|(position, wheelbase_mm)| self.mass_kg * position.x_mm / wheelbase_mm);
        LoadLine {
            display_name: (self.title)(),
            record: self.record.clone(),
            group: self.group,
            mass_kg: self.mass_kg,
            position: self.position,
            front_axle_kg: rear_axle_kg.map(|rear_axle_kg| self.mass_kg - rear_axle_kg),
            rear_axle_kg,
            provenance: self.provenance,
            tolerance_kg: self.tolerance_kg,
        }
    }
}

/// A wheelbase, if one can be divided by it.
pub(super) fn usable_wheelbase_mm(wheelbase_mm: Option<f64>) -> Option<f64> {
    wheelbase_mm.filter(|wheelbase_mm| (WHEELBASE_MIN_MM..=MAGNITUDE_MAX).contains(wheelbase_mm))
}

/// All masses of a vehicle, and what is missing.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Tally {
    pub(super) wheelbase_mm: Option<f64>,
    /// Everything that is not part of the baseline.
    pub(super) load: Split,
    /// Each of them. `None`: only sums are wanted.
    pub(super) lines: Option<Vec<Arc<LoadLine>>>,
    /// Mass of the lines of each group, kilograms.
    groups_kg: [f64; LoadGroup::COUNT],
    pub(super) missing: Vec<String>,
}

impl Tally {
    pub(super) fn new(wheelbase_mm: Option<f64>) -> Self {
        let wheelbase_mm = usable_wheelbase_mm(wheelbase_mm);
        let mut tally = Self {
            wheelbase_mm,
            load: Split::default(),
            lines: Some(Vec::new()),
            groups_kg: [0.0; LoadGroup::COUNT],
            missing: Vec::new(),
        };
        if wheelbase_mm.is_none() {
            tally.miss("the wheelbase is not known, so there are no axle loads");
        }
        tally
    }

    /// A copy that takes so many lines more without moving them.
    pub(super) fn with_room_for(&self, more: usize) -> Self {
        let copy = |lines: &Vec<Arc<LoadLine>>| {
            let mut copy = Vec::with_capacity(lines.len() + more);
            copy.extend_from_slice(lines);
            copy
        };
        Self {
            lines: self.lines.as_ref().map(copy),
            ..self.without_lines()
        }
    }

    /// A copy that goes on without lines.
    pub(super) fn without_lines(&self) -> Self {
        Self {
            wheelbase_mm: self.wheelbase_mm,
            load: self.load,
            lines: None,
            groups_kg: self.groups_kg,
            missing: self.missing.clone(),
        }
    }

    /// Mass of the lines of a group, kilograms.
    pub(super) fn mass_of(&self, group: LoadGroup) -> f64 {
        self.groups_kg[group.index()]
    }

    pub(super) fn miss(&mut self, sentence: impl Into<String>) {
        self.missing.push(sentence.into());
    }

    /// Misses what is not missing yet.
    pub(super) fn miss_each_once<'s>(&mut self, sentences: impl IntoIterator<Item = &'s str>) {
        for sentence in sentences {
            if !self.missing.iter().any(|known| known == sentence) {
                self.miss(sentence);
            }
        }
    }

    /// Adds a mass, unless a number of it cannot be one: then that is missing.
    pub(super) fn add(&mut self, entry: &Entry<'_>) {
        if let Some(fault) = entry.fault() {
            return self.miss(fault);
        }
        self.missing.extend(entry.left_out());
        self.take(entry.group, entry.mass_kg, &entry.split(self.wheelbase_mm));
        if let Some(lines) = &mut self.lines {
            lines.push(entry.line(self.wheelbase_mm).into());
        }
    }

    /// Adds a mass of a group that makes up `split`, without a line.
    pub(super) fn take(&mut self, group: LoadGroup, mass_kg: f64, split: &Split) {
        self.load.take_over(split);
        self.groups_kg[group.index()] += mass_kg;
    }
}

/// Whether a number of the record can be computed with.
pub(super) fn is_number(number: f64) -> bool {
    number.is_finite() && number.abs() <= MAGNITUDE_MAX
}
