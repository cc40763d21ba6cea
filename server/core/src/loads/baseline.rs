//! What loads start from: a weighing or the declared mass, less what was aboard.

use std::sync::Arc;

use super::fluids::fluid_mass_kg;
use super::result::{Baseline, LoadGroup, LoadLine};
use super::tally::{Split, Tally, is_number};
use crate::record::{
    DeclaredMass, Mass, MassProvenance, Name, Position, Readings, Record, TankFill, Vehicle, Weighing,
};

/// A baseline without fluids, people and cargo.
#[derive(Debug, PartialEq)]
pub(super) struct Start {
    pub(super) baseline: Baseline,
    pub(super) split: Split,
    /// The shares on the axles are known.
    pub(super) axles_known: bool,
    pub(super) line: Option<Arc<LoadLine>>,
}

impl Start {
    fn missing() -> Self {
        Self {
            baseline: Baseline::Missing,
            split: Split::default(),
            axles_known: false,
            line: None,
        }
    }
}

/// The weighing that is the vehicle's baseline. `None`: it names none, or one that is not on record.
pub(super) fn baseline_weighing<'a>(record: &'a Record, vehicle: &Vehicle) -> Option<&'a Weighing> {
    let name = vehicle.baseline_weighing.as_ref()?;
    record
        .weighings
        .get(name)
        .filter(|weighing| weighing.vehicle == vehicle.name)
}

/// Finds what the loads of a vehicle start from.
pub(super) fn start(record: &Record, vehicle: &Vehicle, tally: &mut Tally) -> Start {
    if let Some(name) = &vehicle.baseline_weighing {
        return match baseline_weighing(record, vehicle) {
            Some(weighing) => weighed(record, vehicle, weighing, tally),
            None => {
                tally.miss(format!(
                    "the baseline weighing {name} of {} is not on record",
                    vehicle.display_name
                ));
                Start::missing()
            }
        };
    }
    match &vehicle.specification.declared_mass {
        Some(declared) => as_declared(record, vehicle, declared, tally),
        None => {
            tally.miss(format!(
                "{} has neither a baseline weighing nor a declared mass",
                vehicle.display_name
            ));
            Start::missing()
        }
    }
}

/// A weighing bare of what was aboard.
pub(super) fn weighed(record: &Record, vehicle: &Vehicle, weighing: &Weighing, tally: &mut Tally) -> Start {
    let Some(mut split) = as_read(vehicle, weighing, tally) else {
        return Start::missing();
    };
    let sides_known = matches!(weighing.readings, Some(Readings::Wheels { .. }))
        && vehicle.specification.front_track_mm.is_some_and(is_number)
        && vehicle.specification.rear_track_mm.is_some_and(is_number);
    take_fluids_away(record, vehicle, &weighing.fills, &mut split, tally);
    for aboard in weighing.people.iter().chain(&weighing.other) {
        take_away(
            &aboard.display_name,
            aboard.mass,
            aboard.position,
            &mut split,
            tally,
        );
    }
    let what = Described {
        display_name: format!("weighing {} less what was aboard", weighing.ticket).into(),
        record: &weighing.name,
        provenance: MassProvenance::Weighed,
        tolerance_stated: weighing.tolerance_kg.is_some(),
    };
    finish(
        Baseline::Weighing(weighing.name.clone()),
        split,
        true,
        sides_known,
        what,
        tally,
    )
}

/// The readings themselves, each with the tolerance of the weighing.
fn as_read(vehicle: &Vehicle, weighing: &Weighing, tally: &mut Tally) -> Option<Split> {
    let (front, rear) = match weighing.readings {
        None => {
            tally.miss(format!("the weighing {} has no readings", weighing.name));
            return None;
        }
        Some(Readings::Axles { front_kg, rear_kg }) => (vec![front_kg], vec![rear_kg]),
        Some(Readings::Wheels {
            front_left_kg,
            front_right_kg,
            rear_left_kg,
            rear_right_kg,
        }) => (
            vec![front_left_kg, front_right_kg],
            vec![rear_left_kg, rear_right_kg],
        ),
    };
    let tolerance_kg = weighing.tolerance_kg;
    let usable = |number: &f64| is_number(*number) && *number >= 0.0;
    if !front.iter().chain(&rear).chain(tolerance_kg.iter()).all(usable) {
        tally.miss(format!(
            "a number of the weighing {} cannot be used",
            weighing.name
        ));
        return None;
    }
    let mut split = Split::default();
    for (readings, on_front) in [(&front, true), (&rear, false)] {
        for reading_kg in readings {
            split.total.add(*reading_kg, 1.0, tolerance_kg);
            let axle = if on_front {
                &mut split.front
            } else {
                &mut split.rear
            };
            axle.add(*reading_kg, 1.0, tolerance_kg);
        }
    }
    let moment = |readings: &[f64], track_mm: Option<f64>| match (readings, track_mm) {
        ([left_kg, right_kg], Some(track_mm)) if is_number(track_mm) => {
            (right_kg - left_kg) * track_mm / 2000.0
        }
        _ => 0.0,
    };
    let specification = &vehicle.specification;
    split.lateral_moment_kgm =
        moment(&front, specification.front_track_mm) + moment(&rear, specification.rear_track_mm);
    Some(split)
}

fn as_declared(record: &Record, vehicle: &Vehicle, declared: &DeclaredMass, tally: &mut Tally) -> Start {
    let numbers = [
        Some(declared.mass_kg),
        declared.front_axle_kg,
        declared.tolerance_kg,
    ];
    let usable = |number: f64| is_number(number) && number >= 0.0;
    if !numbers.into_iter().flatten().all(usable) {
        tally.miss(format!(
            "a number of the declared mass of {} cannot be used",
            vehicle.display_name
        ));
        return Start::missing();
    }
    let mut split = Split::default();
    split.total.add(declared.mass_kg, 1.0, declared.tolerance_kg);
    match declared.front_axle_kg {
        Some(front_kg) => {
            // How the declared tolerance falls on the axles is not stated; each gets all of it.
            split.front.add(front_kg, 1.0, declared.tolerance_kg);
            split
                .rear
                .add(declared.mass_kg - front_kg, 1.0, declared.tolerance_kg);
        }
        None => tally.miss(format!(
            "how the declared mass of {} splits on the axles is not known",
            vehicle.display_name
        )),
    }
    take_fluids_away(record, vehicle, &declared.fuel, &mut split, tally);
    match declared.driver_kg {
        Some(0.0) => {}
        Some(_) => tally.miss(format!(
            "the declared mass of {} includes a driver, and where he sits is not known",
            vehicle.display_name
        )),
        None => tally.miss(format!(
            "whether the declared mass of {} includes a driver is not known",
            vehicle.display_name
        )),
    }
    let what = Described {
        display_name: "declared mass less the fuel in it".into(),
        record: &vehicle.name,
        provenance: MassProvenance::Catalogue,
        tolerance_stated: declared.tolerance_kg.is_some(),
    };
    let axles_known = declared.front_axle_kg.is_some();
    finish(Baseline::Declared, split, axles_known, false, what, tally)
}

/// A container that held something stood on the scale too, so it goes with its contents.
fn take_fluids_away(
    record: &Record,
    vehicle: &Vehicle,
    fills: &[TankFill],
    split: &mut Split,
    tally: &mut Tally,
) {
    for fill in fills {
        let Some(tank) = vehicle.specification.tank(&fill.tank) else {
            tally.miss(format!(
                "{} was in the baseline with fluid in it, and where it sits is not known",
                fill.tank
            ));
            continue;
        };
        let Some(mass_kg) =
            fluid_mass_kg(record, tank, fill.volume_l, tally).filter(|mass_kg| *mass_kg > 0.0)
        else {
            continue;
        };
        let contents = Mass {
            mass_kg,
            provenance: MassProvenance::Estimated,
            tolerance_kg: None,
        };
        for mass in [Some(contents), tank.empty_mass].into_iter().flatten() {
            take_away(&tank.display_name, mass, tank.position, split, tally);
        }
    }
}

fn take_away(name: &str, mass: Mass, position: Position, split: &mut Split, tally: &mut Tally) {
    let numbers = [mass.mass_kg, mass.tolerance_kg.unwrap_or(0.0)];
    let places = [position.x_mm, position.y_mm];
    let usable = numbers.iter().all(|number| is_number(*number) && *number >= 0.0)
        && places.iter().all(|place| is_number(*place));
    if usable {
        split.add(
            mass.mass_kg,
            mass.tolerance_kg,
            Some(position),
            tally.wheelbase_mm,
            -1.0,
        );
    } else {
        tally.miss(format!("{name}: a number of it in the baseline cannot be used"));
    }
}

/// What a baseline's line says.
struct Described<'a> {
    display_name: Arc<str>,
    record: &'a Name,
    provenance: MassProvenance,
    tolerance_stated: bool,
}

fn finish(
    baseline: Baseline,
    split: Split,
    axles_known: bool,
    sides_known: bool,
    what: Described<'_>,
    tally: &mut Tally,
) -> Start {
    let mass_kg = split.total.load_kg;
    if mass_kg <= 0.0 {
        tally.miss(format!(
            "the baseline {} leaves no mass when what was aboard is taken away",
            what.record
        ));
        return Start::missing();
    }
    let wheelbase_mm = tally.wheelbase_mm.filter(|_| axles_known);
    let position = wheelbase_mm.filter(|_| sides_known).map(|wheelbase_mm| Position {
        x_mm: split.rear.load_kg * wheelbase_mm / mass_kg,
        y_mm: split.lateral_moment_kgm * 1000.0 / mass_kg,
        z_mm: None,
    });
    let line = LoadLine {
        display_name: what.display_name,
        record: what.record.clone(),
        group: LoadGroup::Baseline,
        mass_kg,
        position,
        front_axle_kg: wheelbase_mm.map(|_| split.front.load_kg),
        rear_axle_kg: wheelbase_mm.map(|_| split.rear.load_kg),
        provenance: what.provenance,
        tolerance_kg: Some(split.total.variance_kg2.sqrt()).filter(|_| what.tolerance_stated),
    };
    Start {
        baseline,
        split,
        axles_known: wheelbase_mm.is_some(),
        line: Some(line.into()),
    }
}
