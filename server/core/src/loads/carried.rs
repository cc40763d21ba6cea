//! A whole vehicle with its load as one mass with a centre: what the springs have to carry.

use super::baseline::{Start, start, weighed};
use super::fitments;
use super::fluids::fluid_mass_kg;
use super::reconcile::as_weighed;
use super::result::{LoadGroup, LoadLine, LoadResult};
use super::tally::{Entry, Tally};
use crate::record::{MassProvenance, Record, Vehicle, Weighing};

/// A vehicle with its load, in plan.
#[derive(Debug, Clone, PartialEq)]
pub struct Carried {
    /// The moment: a load state, or the weighing whose state it is.
    pub moment: String,
    /// Everything, kilograms.
    pub mass_kg: f64,
    /// Load of the front axle, kilograms. `None`: not known.
    pub front_axle_kg: Option<f64>,
    /// Load of the rear axle, kilograms. `None`: not known.
    pub rear_axle_kg: Option<f64>,
    /// Mass of the bare baseline in it, kilograms.
    pub bare_mass_kg: f64,
    /// Centre of the bare baseline to the right, millimetres. `None`: its readings do not tell the sides.
    pub bare_centre_y_mm: Option<f64>,
    /// Sideways moment of everything else, kilogram metres, positive to the right.
    pub lateral_moment_kgm: f64,
    /// What is missing, in sentences; the numbers leave it out.
    pub missing: Vec<String>,
}

impl Carried {
    /// The vehicle in a load state.
    pub fn of(state: &LoadResult) -> Self {
        Self {
            moment: state.load_state.clone(),
            mass_kg: state.total.load_kg,
            front_axle_kg: state.front_axle.as_ref().map(|load| load.load_kg),
            rear_axle_kg: state.rear_axle.as_ref().map(|load| load.load_kg),
            bare_mass_kg: state.baseline_mass_kg,
            bare_centre_y_mm: centre_of(
                state
                    .lines
                    .iter()
                    .map(AsRef::as_ref)
                    .find(|line: &&LoadLine| line.group == LoadGroup::Baseline),
            ),
            lateral_moment_kgm: state.lateral_moment_kgm,
            missing: state.missing.clone(),
        }
    }
}

impl Carried {
    /// Sideways moment of everything, kilogram metres, positive to the right. `stated_mm` stands in for the centre of the bare
    /// vehicle where its readings do not tell the sides. `None`: not known.
    pub fn whole_lateral_moment_kgm(&self, stated_mm: Option<f64>) -> Option<f64> {
        let bare_mm = self.bare_centre_y_mm.or(stated_mm)?;
        Some(self.lateral_moment_kgm + self.bare_mass_kg * bare_mm / 1_000.0)
    }

    /// Centre of everything to the right, millimetres, with `stated_mm` as above. `None`: not known, or there is no mass.
    pub fn centre_y_mm(&self, stated_mm: Option<f64>) -> Option<f64> {
        let moment_kgm = self.whole_lateral_moment_kgm(stated_mm)?;
        (self.mass_kg > 0.0).then(|| moment_kgm * 1_000.0 / self.mass_kg)
    }
}

fn centre_of(baseline: Option<&LoadLine>) -> Option<f64> {
    baseline
        .and_then(|line| line.position)
        .map(|position| position.y_mm)
}

/// The vehicle of a weighing with what was aboard then: by its own readings, or, of one that has none, computed
/// from the vehicle's baseline and the parts that were fitted.
pub fn carried_when_weighed(record: &Record, vehicle: &Vehicle, weighing: &Weighing) -> Carried {
    let mut tally = Tally::new(vehicle.specification.wheelbase_mm);
    let from = if weighing.readings.is_some() {
        weighed(record, vehicle, weighing, &mut tally)
    } else {
        let then = as_weighed(vehicle, weighing, None, &mut tally);
        let from = start(record, &then, &mut tally);
        fitments::add_fitment_changes(record, &then, &mut tally);
        from
    };
    add_contents(record, vehicle, weighing, &mut tally);
    for aboard in weighing.people.iter().chain(&weighing.other) {
        tally.add(&Entry {
            group: LoadGroup::Cargo,
            title: &|| aboard.display_name.as_str().into(),
            record: &weighing.name,
            mass_kg: aboard.mass.mass_kg,
            provenance: aboard.mass.provenance,
            tolerance_kg: aboard.mass.tolerance_kg,
            position: Some(aboard.position),
        });
    }
    carried(weighing.name.id(), from, tally)
}

/// The vehicle as it stands without people, cargo and fills: its baseline and what was fitted since.
pub fn unloaded(record: &Record, vehicle: &Vehicle) -> Carried {
    let mut tally = Tally::new(vehicle.specification.wheelbase_mm);
    let from = start(record, vehicle, &mut tally);
    fitments::add_fitment_changes(record, vehicle, &mut tally);
    carried("unloaded", from, tally)
}

fn carried(moment: &str, from: Start, tally: Tally) -> Carried {
    let axle = |bare_kg: f64, added_kg: f64| from.axles_known.then_some(bare_kg + added_kg);
    Carried {
        moment: moment.to_owned(),
        mass_kg: from.split.total.load_kg + tally.load.total.load_kg,
        front_axle_kg: axle(from.split.front.load_kg, tally.load.front.load_kg),
        rear_axle_kg: axle(from.split.rear.load_kg, tally.load.rear.load_kg),
        bare_mass_kg: from.split.total.load_kg,
        bare_centre_y_mm: centre_of(from.line.as_deref()),
        lateral_moment_kgm: tally.load.lateral_moment_kgm,
        missing: tally.missing,
    }
}

fn add_contents(record: &Record, vehicle: &Vehicle, weighing: &Weighing, tally: &mut Tally) {
    for fill in &weighing.fills {
        let Some(tank) = vehicle.specification.tank(&fill.tank) else {
            tally.miss(format!("where {} sits is not known", fill.tank));
            continue;
        };
        let Some(contents_kg) =
            fluid_mass_kg(record, tank, fill.volume_l, tally).filter(|mass_kg| *mass_kg > 0.0)
        else {
            continue;
        };
        let container_kg = tank.empty_mass.map_or(0.0, |mass| mass.mass_kg);
        tally.add(&Entry {
            group: LoadGroup::Fuel,
            title: &|| tank.display_name.as_str().into(),
            record: &vehicle.name,
            mass_kg: contents_kg + container_kg,
            provenance: MassProvenance::Estimated,
            tolerance_kg: None,
            position: Some(tank.position),
        });
    }
}
