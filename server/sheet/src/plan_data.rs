//! A plan view from what was computed.

use ostler_core::loads::{LoadAgainstLimit, LoadGroup, LoadResult};
use ostler_core::record::Vehicle;
use ostler_core::stance::vehicle::AxlePosition;
use ostler_core::stance::{Stance, Wheel};
use ostler_core::tyres::wheel_loads::tyres_at_an_end;
use ostler_core::units::STANDARD_GRAVITY_M_PER_S2;

/// What a plan view shows. Coordinates in millimetres: x aft of the front axle, y to the right.
#[derive(Debug, Clone, PartialEq)]
pub struct PlanView {
    /// First line, for example the vehicle's name.
    pub title: String,
    /// Second line, for example the load state.
    pub state: String,
    /// Front axle centre to rear axle centre.
    pub wheelbase_mm: f64,
    /// Track of the front and of the rear axle.
    pub tracks_mm: [f64; 2],
    /// Front left, front right, rear left, rear right: the load of an end against what its tyres carry together.
    pub wheels: [HeldLoad; 4],
    /// Tyres side by side at an end of the front and of the rear axle.
    pub tyres_at_an_end: [u32; 2],
    /// Front axle, rear axle.
    pub axles: [HeldLoad; 2],
    /// The whole vehicle.
    pub total: HeldLoad,
    /// Centre of mass: x, and y where the sides are known. `None`: not known.
    pub centre_mm: Option<(f64, Option<f64>)>,
    /// What it carries.
    pub masses: Vec<PlanMass>,
    /// Sentences below the picture, for example what is missing. The first three are shown.
    pub remarks: Vec<String>,
}

/// A load and its limit, kilograms.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct HeldLoad {
    /// The load. `None`: not known.
    pub load_kg: Option<f64>,
    /// The limit. `None`: not known.
    pub limit_kg: Option<f64>,
}

impl HeldLoad {
    /// What is left to the limit, kilograms; negative when it is over. `None`: one of the two is not known.
    pub(crate) fn left_kg(self) -> Option<f64> {
        Some(known(self.limit_kg)? - known(self.load_kg)?)
    }

    /// Whether it is known to be over.
    pub(crate) fn is_over(self) -> bool {
        self.left_kg().is_some_and(|left_kg| left_kg < 0.0)
    }
}

/// Something that a vehicle carries.
#[derive(Debug, Clone, PartialEq)]
pub struct PlanMass {
    /// What it is, for example a zone.
    pub name: String,
    /// Kilograms.
    pub mass_kg: f64,
    /// The most that may be there, kilograms. `None`: no limit of its own, or not known.
    pub limit_kg: Option<f64>,
    /// Millimetres aft of the front axle.
    pub x_mm: f64,
    /// Millimetres to the right.
    pub y_mm: f64,
}

/// A number that can be drawn.
pub(crate) fn known(number: Option<f64>) -> Option<f64> {
    number.filter(|number| number.is_finite())
}

/// What a plan view of `vehicle` shows in `state`: the loads of its wheels by `stance`, where it stands, against the capacities of one
/// tyre of front and rear axle; cargo by place, people and tanks one by one. Remarks are what the loads are missing.
pub fn plan_of(
    vehicle: &Vehicle,
    state: &LoadResult,
    stance: Option<&Stance>,
    tyre_capacities_kg: [Option<f64>; 2],
) -> PlanView {
    let specification = &vehicle.specification;
    let tyres_at_an_end = AxlePosition::ALL.map(|axle| tyres_at_an_end(vehicle, axle));
    let [front_kg, rear_kg] = [0, 1].map(|axle: usize| {
        let one_kg = tyre_capacities_kg[axle]?;
        Some(one_kg * f64::from(tyres_at_an_end[axle]))
    });
    let wheel = |wheel: Wheel, limit_kg| HeldLoad {
        load_kg: stance.map(|stance| stance.wheel(wheel).load_n / STANDARD_GRAVITY_M_PER_S2),
        limit_kg,
    };
    // What is not on record is drawn at a usual size; the picture says that outlines are schematic.
    let track = |track_mm: Option<f64>| track_mm.unwrap_or(f64::NAN);
    let wheelbase_mm = specification.wheelbase_mm.unwrap_or(f64::NAN);
    let stated_mm = specification
        .suspension
        .as_ref()
        .and_then(|suspension| suspension.bare_centre_y_mm);
    let centre_y_mm = ostler_core::loads::Carried::of(state).centre_y_mm(stated_mm);
    PlanView {
        title: vehicle.display_name.clone(),
        state: state.load_state.clone(),
        wheelbase_mm,
        tracks_mm: [
            track(specification.front_track_mm),
            track(specification.rear_track_mm),
        ],
        wheels: [
            wheel(Wheel::FrontLeft, front_kg),
            wheel(Wheel::FrontRight, front_kg),
            wheel(Wheel::RearLeft, rear_kg),
            wheel(Wheel::RearRight, rear_kg),
        ],
        tyres_at_an_end,
        axles: [held(state.front_axle.as_ref()), held(state.rear_axle.as_ref())],
        total: held(Some(&state.total)),
        centre_mm: state.centre_x_mm.map(|x_mm| (x_mm, centre_y_mm)),
        masses: masses(vehicle, state),
        remarks: state
            .missing
            .first()
            .map(|first| format!("Not known: {first}."))
            .into_iter()
            .collect(),
    }
}

fn held(load: Option<&LoadAgainstLimit>) -> HeldLoad {
    HeldLoad {
        load_kg: load.map(|load| load.load_kg),
        limit_kg: load.and_then(|load| load.limit_kg),
    }
}

/// What is carried, cargo at one place together.
fn masses(vehicle: &Vehicle, state: &LoadResult) -> Vec<PlanMass> {
    let mut places: Vec<(PlanMass, LoadGroup, usize)> = Vec::new();
    for line in &state.lines {
        let carried = matches!(
            line.group,
            LoadGroup::Crew | LoadGroup::Fuel | LoadGroup::Water | LoadGroup::Cargo
        );
        let Some(position) = line.position.filter(|_| carried) else {
            continue;
        };
        let same = places.iter_mut().find(|(mass, group, _)| {
            *group == LoadGroup::Cargo
                && line.group == LoadGroup::Cargo
                && (mass.x_mm - position.x_mm).abs() < 1.0
                && (mass.y_mm - position.y_mm).abs() < 1.0
        });
        if let Some((mass, _, count)) = same {
            mass.mass_kg += line.mass_kg;
            *count += 1;
        } else {
            let mass = PlanMass {
                name: line.display_name.to_string(),
                mass_kg: line.mass_kg,
                limit_kg: None,
                x_mm: position.x_mm,
                y_mm: position.y_mm,
            };
            places.push((mass, line.group, 1));
        }
    }
    places
        .into_iter()
        .map(|(mass, group, count)| {
            if group == LoadGroup::Cargo {
                named(vehicle, state, mass, count)
            } else {
                mass
            }
        })
        .collect()
}

/// The zone whose centre a mass of cargo lies at gives it its name, and its limit where the mass is all that lies in it.
fn named(vehicle: &Vehicle, state: &LoadResult, mass: PlanMass, count: usize) -> PlanMass {
    let zone = vehicle.specification.zones.iter().find(|zone| {
        zone.position.is_some_and(|position| {
            (position.x_mm - mass.x_mm).abs() < 1.0 && (position.y_mm - mass.y_mm).abs() < 1.0
        })
    });
    let Some(zone) = zone else {
        let name = if count > 1 {
            format!("{} and {} more", mass.name, count - 1)
        } else {
            mass.name
        };
        return PlanMass { name, ..mass };
    };
    let whole = state
        .zones
        .iter()
        .find(|load| load.zone == zone.id && (load.load.load_kg - mass.mass_kg).abs() < 1e-6);
    let name = if zone.display_name.is_empty() {
        zone.id.to_string()
    } else {
        zone.display_name.clone()
    };
    PlanMass {
        name,
        limit_kg: whole.and_then(|load| load.load.limit_kg),
        ..mass
    }
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;

    fn held(load_kg: f64, limit_kg: f64) -> HeldLoad {
        HeldLoad {
            load_kg: Some(load_kg),
            limit_kg: Some(limit_kg),
        }
    }

    /// One wheel, one axle and one mass over their limits; a wheel that is not known.
    pub(crate) fn view() -> PlanView {
        PlanView {
            title: "Truck <one> & two".to_owned(),
            state: "at departure".to_owned(),
            wheelbase_mm: 3_000.0,
            tracks_mm: [1_500.0; 2],
            wheels: [
                held(700.0, 1_550.0),
                held(710.0, 1_550.0),
                held(1_600.0, 1_550.0),
                HeldLoad::default(),
            ],
            tyres_at_an_end: [1, 1],
            axles: [held(1_410.0, 1_500.0), held(2_000.0, 1_900.0)],
            total: held(3_410.0, 3_500.0),
            centre_mm: Some((1_760.0, Some(20.0))),
            masses: (0..20)
                .map(|index| PlanMass {
                    name: "a name of a zone that is very much longer than any table is wide".to_owned(),
                    mass_kg: 100.0 - f64::from(index),
                    limit_kg: Some(99.5),
                    x_mm: 2_000.0,
                    y_mm: 0.0,
                })
                .collect(),
            remarks: vec!["the mass of the tent is not known".to_owned()],
        }
    }
}
