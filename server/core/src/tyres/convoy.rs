//! The spares of a convoy: which is carried where, and which vehicle it serves.

use super::interchange::{Interchange, InterchangePolicy, Outcome, Spare, SpareKind, WheelEnd, interchange};
use super::recorded::{AtWheel, at_wheels, spare_rim, spare_tyre};
use super::wheel_loads::{WheelLoads, wheel_loads};
use crate::loads::ConvoyLoads;
use crate::record::{CargoItem, Departure, Name, Record, TyrePolicy, Vehicle};
use crate::stance::vehicle::AxlePosition;

/// A spare that is carried by a vehicle that goes.
#[derive(Debug, Clone, PartialEq)]
pub struct CarriedSpare {
    /// The cargo item.
    pub item: Name,
    /// Its name for people.
    pub display_name: String,
    /// The vehicle that carries it.
    pub carried_on: Name,
    /// The spare.
    pub spare: Spare,
}

/// A spare against the wheel ends of a vehicle.
#[derive(Debug, Clone, PartialEq)]
pub struct SparePair {
    /// Place of the spare in [`ConvoySpares::spares`].
    pub spare: usize,
    /// The vehicle.
    pub vehicle: Name,
    /// The axle, where the two differ. `None`: both.
    pub axle: Option<AxlePosition>,
    /// The comparison.
    pub interchange: Interchange,
}

/// Every spare against every vehicle.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct ConvoySpares {
    /// What is carried.
    pub spares: Vec<CarriedSpare>,
    /// The comparisons, spares outermost.
    pub pairs: Vec<SparePair>,
    /// What is missing to compare at all, in sentences.
    pub missing: Vec<String>,
}

impl ConvoySpares {
    /// The worst outcome of a spare over the wheel ends of a vehicle. `None`: they were not compared.
    pub fn outcome(&self, spare: usize, vehicle: &Name) -> Option<Outcome> {
        self.pairs
            .iter()
            .filter(|pair| pair.spare == spare && pair.vehicle == *vehicle)
            .map(|pair| pair.interchange.outcome)
            .max()
    }
}

/// Compares what is carried with every vehicle that goes.
///
/// Never fails: what cannot be compared is missing.
pub fn convoy_spares(loads: &ConvoyLoads) -> ConvoySpares {
    let (record, departure) = (&loads.record, &*loads.departure);
    let ends: Vec<Ends> = departure
        .vehicles
        .iter()
        .map(|going| match record.vehicles.get(&going.vehicle) {
            Some(vehicle) => {
                let loads = wheel_loads(record, vehicle, &loads.states(vehicle));
                vehicle_ends(record, vehicle, &loads)
            }
            None => unknown_end(&going.vehicle),
        })
        .collect();
    compared(departure, spares_aboard(record, departure), ends)
}

/// What is carried, not yet compared with anything.
pub(crate) fn spares_aboard(record: &Record, departure: &Departure) -> ConvoySpares {
    let mut result = ConvoySpares::default();
    let going = |name: &Name| departure.vehicles.iter().any(|going| going.vehicle == *name);
    for item in record.cargo_items.values() {
        match (carried(record, item), &item.vehicle) {
            (Some(Ok(spare)), Some(vehicle)) if going(vehicle) => result.spares.push(CarriedSpare {
                item: item.name.clone(),
                display_name: item.display_name.clone(),
                carried_on: vehicle.clone(),
                spare,
            }),
            (Some(Err(missing)), Some(vehicle)) if going(vehicle) => result.missing.push(missing),
            _ => {}
        }
    }
    result
}

/// What is carried, compared with the wheel `ends` of every vehicle of the departure.
pub(crate) fn compared(
    departure: &Departure,
    mut result: ConvoySpares,
    ends: impl IntoIterator<Item = Ends>,
) -> ConvoySpares {
    let (ends, of_vehicles): (Vec<WheelEnd>, Vec<Place>) = ends.into_iter().flatten().unzip();
    let policy = match interchange_policy(departure.policy.tyres.unwrap_or_default()) {
        Ok(policy) => policy,
        Err(missing) => {
            result.missing.extend(missing);
            return result;
        }
    };
    let spares: Vec<Spare> = result
        .spares
        .iter()
        .map(|carried| carried.spare.clone())
        .collect();
    match interchange(&spares, &ends, &policy) {
        Ok(compared) => {
            let places = (0..spares.len()).flat_map(|spare| of_vehicles.iter().map(move |of| (spare, of)));
            result.pairs = places
                .zip(compared)
                .map(|((spare, (vehicle, axle)), interchange)| SparePair {
                    spare,
                    vehicle: vehicle.clone(),
                    axle: *axle,
                    interchange,
                })
                .collect();
        }
        Err(error) => result
            .missing
            .push(format!("numbers that can be compared: {error}")),
    }
    result
}

/// The spare that an item is. `None`: it is none.
fn carried(record: &Record, item: &CargoItem) -> Option<Result<Spare, String>> {
    let spare = item.spare_wheel.as_ref()?;
    let part = |name: &Option<Name>| match name {
        None => Ok(None),
        Some(name) => match record.parts.get(name) {
            Some(part) => Ok(Some(part)),
            None => Err(format!("the part {} of {}", name.id(), item.display_name)),
        },
    };
    let kind = part(&spare.wheel_part).and_then(|rim| {
        part(&spare.tyre_part).and_then(|tyre| match (rim, tyre) {
            (Some(rim), Some(tyre)) => Ok(SpareKind::Wheel(spare_rim(rim), spare_tyre(tyre))),
            (Some(rim), None) => Ok(SpareKind::Rim(spare_rim(rim))),
            (None, Some(tyre)) => Ok(SpareKind::Tyre(spare_tyre(tyre))),
            (None, None) => Err(format!("the parts of {}", item.display_name)),
        })
    });
    Some(kind.map(|kind| Spare {
        name: item.name.id().to_owned(),
        kind,
    }))
}

/// A vehicle, and the axle where the two differ.
type Place = (Name, Option<AxlePosition>);

/// Wheel ends of a vehicle.
pub(crate) type Ends = Vec<(WheelEnd, Place)>;

/// The wheel end of a vehicle that is not on record.
pub(crate) fn unknown_end(name: &Name) -> Ends {
    let end = WheelEnd {
        vehicle: name.id().to_owned(),
        ..WheelEnd::default()
    };
    vec![(end, (name.clone(), None))]
}

/// The wheel ends of a vehicle: one where both axles are alike but for their `loads`, else one for each axle.
pub(crate) fn vehicle_ends(record: &Record, vehicle: &Vehicle, loads: &WheelLoads) -> Ends {
    let name = &vehicle.name;
    // A load that leaves something out is no load to compare with.
    let known = loads.missing.is_empty();
    let load_kg = loads
        .axles
        .each_ref()
        .map(|load| load.as_ref().filter(|_| known).map(|load| load.load_kg));
    let [front_left, front_right, rear_left, rear_right] = at_wheels(record, vehicle);
    let title = |end: &AtWheel<'_>, load_kg| end.wheel_end(name.id().to_owned(), load_kg);
    let [front_kg, rear_kg] = load_kg;
    let heavier_kg = front_kg
        .zip(rear_kg)
        .map(|(front_kg, rear_kg)| front_kg.max(rear_kg));
    let ends = [front_left, front_right, rear_left, rear_right];
    let together = ends.map(|end| title(&end, heavier_kg));
    let [one, rest @ ..] = &together;
    if rest.iter().all(|other| other == one) {
        return vec![(one.clone(), (name.clone(), None))];
    }
    let mut apart: Ends = Vec::new();
    for end in ends {
        let axle = end.wheel.axle();
        let load_kg = match axle {
            AxlePosition::Front => front_kg,
            AxlePosition::Rear => rear_kg,
        };
        let wheel_end = title(&end, load_kg);
        let place = (name.clone(), Some(axle));
        if !apart
            .iter()
            .any(|(other, at)| *other == wheel_end && *at == place)
        {
            apart.push((wheel_end, place));
        }
    }
    apart
}

/// The tolerances of the policy.
///
/// # Errors
/// Those that are not set.
fn interchange_policy(tyres: TyrePolicy) -> Result<InterchangePolicy, Vec<String>> {
    let set = [
        (
            "diameter_difference_max_percent",
            tyres.diameter_difference_max_percent,
        ),
        (
            "diameter_difference_emergency_percent",
            tyres.diameter_difference_emergency_percent,
        ),
        ("hub_clearance_max_mm", tyres.hub_clearance_max_mm),
        (
            "stud_engagement_min_diameters",
            tyres.stud_engagement_min_diameters,
        ),
        ("offset_difference_max_mm", tyres.offset_difference_max_mm),
    ];
    let missing: Vec<String> = set
        .into_iter()
        .filter(|(_, value)| value.is_none())
        .map(|(field, _)| format!("the policy's tyres.{field}"))
        .collect();
    match set.map(|(_, value)| value) {
        [
            Some(diameter_difference_max_percent),
            Some(diameter_difference_emergency_percent),
            Some(hub_clearance_max_mm),
            engagement @ Some(_),
            offset @ Some(_),
        ] => Ok(InterchangePolicy {
            diameter_difference_max_percent,
            diameter_difference_emergency_percent,
            hub_clearance_max_mm,
            stud_engagement_min_diameters: engagement,
            offset_difference_max_mm: offset,
        }),
        _ => Err(missing),
    }
}
