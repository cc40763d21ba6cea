//! The tyres of a vehicle over a trip: loads, capacities, planned and needed pressures, and what was found.

use super::axle_findings::{alike_on_axle, fitted, side_by_side, studs};
use super::maker_table::MakerTable;
use super::pressure::{LoadModel, PressureNeed, RatedLoad, needed_pressure};
use super::pressure_findings::pressures;
use super::recorded::{AtWheel, FORMULA_VERSION, at_wheels, capacity_of, further_tyres};
use super::service::Fitting;
use super::tyre_findings::{capacity, placard};
use super::wheel_loads::{WheelLoad, WheelLoads, wheel_loads};
use crate::answer::Answer;
use crate::loads::{CONFIDENCE_DEVIATIONS, LoadResult};
use crate::readiness::Finding;
use crate::record::{Departure, DepartureVehicle, Name, Record, TyrePolicy, TyrePressure, Vehicle};
use crate::stance::vehicle::AxlePosition;

/// What is judged, and against what.
pub(super) struct Asked<'a> {
    pub(super) vehicle: &'a Vehicle,
    pub(super) departure: &'a Departure,
    /// `None`: the vehicle does not go.
    pub(super) going: Option<&'a DepartureVehicle>,
    pub(super) policy: TyrePolicy,
}

impl Asked<'_> {
    pub(super) fn finding(&self, answer: Answer, text: impl Into<String>, mut records: Vec<Name>) -> Finding {
        records.push(self.vehicle.name.clone());
        records.push(self.departure.name.clone());
        records.sort_unstable();
        records.dedup();
        Finding::new(answer, text, records).basis(FORMULA_VERSION)
    }

    /// A finding that `missing` is not known.
    pub(super) fn unknown(&self, missing: impl Into<String>, records: Vec<Name>) -> Finding {
        let missing = missing.into();
        let mut finding = self
            .finding(Answer::NotKnown, format!("not known: {missing}"), records)
            .remedy("record it");
        finding.missing.push(missing);
        finding
    }

    /// Standard deviations that a margin must be away from zero.
    pub(super) fn deviations(&self) -> f64 {
        let asked = self.departure.policy.confidence_deviations;
        asked.unwrap_or(CONFIDENCE_DEVIATIONS)
    }

    /// Highest speed planned, km/h.
    pub(super) fn fastest_km_per_h(&self) -> Option<f64> {
        let plan = &self.going?.tyre_pressures;
        plan.iter().map(|step| step.speed_max_km_per_h).reduce(f64::max)
    }
}

/// The tyres of one axle.
#[derive(Debug, Clone, PartialEq)]
pub struct AxleTyres {
    /// Which.
    pub axle: AxlePosition,
    /// Largest load of one wheel. `None`: not known.
    pub load: Option<WheelLoad>,
    /// Lowest capacity of its tyres, kilograms. `None`: not known.
    pub capacity_kg: Option<f64>,
    /// Highest of the pressures that its tyres need, kilopascals. `None`: not known, or no pressure carries the load.
    pub needed_kpa: Option<f64>,
    /// Two tyres stand side by side at its ends.
    pub is_dual: bool,
    /// Load and needed pressure at every moment.
    pub states: Vec<StateNeed>,
}

/// What the tyres of an axle need at one moment.
#[derive(Debug, Clone, PartialEq)]
pub struct StateNeed {
    /// The moment.
    pub load_state: String,
    /// Load of one tyre at the heavier end, kilograms. `None`: not known.
    pub load_kg: Option<f64>,
    /// Cold pressure that it needs, kilopascals. `None`: not known, or no pressure carries the load.
    pub needed_kpa: Option<f64>,
}

impl AxleTyres {
    /// The pressure that `step` plans for it, kilopascals.
    pub fn planned_kpa(&self, step: &TyrePressure) -> f64 {
        match self.axle {
            AxlePosition::Front => step.front_kpa,
            AxlePosition::Rear => step.rear_kpa,
        }
    }

    /// Pressure that `step` lacks to what the load needs, kilopascals. `None`: not known.
    pub fn below_needed_kpa(&self, step: &TyrePressure) -> Option<f64> {
        Some((self.needed_kpa? - self.planned_kpa(step)).max(0.0))
    }
}

/// What the tyres of a vehicle come to over a trip.
#[derive(Debug, Clone, PartialEq)]
pub struct TripTyres {
    /// Front, rear.
    pub axles: [AxleTyres; 2],
    /// What was found, in no order.
    pub findings: Vec<Finding>,
}

/// Judges the tyres and wheels of `vehicle` over `states` of `departure`.
///
/// Never fails: what cannot be judged is not known.
pub fn trip_tyres(
    record: &Record,
    departure: &Departure,
    vehicle: &Vehicle,
    states: &[LoadResult],
) -> TripTyres {
    let loads = wheel_loads(record, vehicle, states);
    trip_tyres_with(record, departure, vehicle, states, &loads)
}

/// The same with the wheel `loads` computed before.
pub(crate) fn trip_tyres_with(
    record: &Record,
    departure: &Departure,
    vehicle: &Vehicle,
    states: &[LoadResult],
    loads: &WheelLoads,
) -> TripTyres {
    let asked = Asked {
        vehicle,
        departure,
        going: departure
            .vehicles
            .iter()
            .find(|going| going.vehicle == vehicle.name),
        policy: departure.policy.tyres.unwrap_or_default(),
    };
    let mut findings = Vec::new();
    if let Some(first) = loads.missing.first() {
        let text = match loads.missing.len() {
            1 => format!("wheel loads leave out what is not known: {first}"),
            count => format!(
                "wheel loads leave out what is not known: {first}; and {} more inputs",
                count - 1
            ),
        };
        let mut finding = asked
            .finding(Answer::NotKnown, text, Vec::new())
            .remedy("record what is missing");
        finding.missing.clone_from(&loads.missing);
        findings.push(finding);
    }
    let further = further_tyres(vehicle);
    if !further.is_empty() {
        let missing = format!(
            "what the tyres besides one at each end of two axles carry ({})",
            further.join(", ")
        );
        findings.push(asked.unknown(missing, Vec::new()));
    }
    let wheels = at_wheels(record, vehicle);
    let axles = AxlePosition::ALL.map(|axle| {
        let [left, right] = ends(&wheels, axle);
        let [front_load, rear_load] = &loads.axles;
        let load = match axle {
            AxlePosition::Front => front_load.clone(),
            AxlePosition::Rear => rear_load.clone(),
        };
        findings.extend(alike_on_axle(&asked, left, right));
        findings.extend(
            [left, right]
                .into_iter()
                .filter_map(|end| side_by_side(&asked, end)),
        );
        let different = distinct(left, right);
        for end in &different {
            findings.extend(fitted(&asked, end));
            findings.extend(studs(&asked, end));
            findings.extend(capacity(&asked, end, load.as_ref()));
            findings.extend(placard(&asked, end));
        }
        AxleTyres {
            axle,
            capacity_kg: lowest_capacity_kg(&different),
            needed_kpa: highest_need_kpa(&asked, &different, load.as_ref()),
            is_dual: left.fitting == Fitting::Dual && right.fitting == Fitting::Dual,
            states: needs(&asked, axle, &different, states, &loads.states),
            load,
        }
    });
    findings.extend(pressures(&asked, &axles, &wheels));
    TripTyres { axles, findings }
}

/// What the tyres at `ends` of an axle need at every moment.
fn needs(
    asked: &Asked<'_>,
    axle: AxlePosition,
    ends: &[&AtWheel<'_>],
    states: &[LoadResult],
    loads: &[[Option<WheelLoad>; 2]],
) -> Vec<StateNeed> {
    let of_axle = |[front, rear]: &[Option<WheelLoad>; 2]| match axle {
        AxlePosition::Front => front.clone(),
        AxlePosition::Rear => rear.clone(),
    };
    states
        .iter()
        .zip(loads)
        .map(|(state, loads)| {
            // A load that leaves something out is none to inflate by.
            let load = of_axle(loads).filter(|_| state.missing.is_empty());
            StateNeed {
                load_state: state.load_state.clone(),
                load_kg: load.as_ref().map(|load| load.load_kg),
                needed_kpa: highest_need_kpa(asked, ends, load.as_ref()),
            }
        })
        .collect()
}

fn ends<'w, 'a>(wheels: &'w [AtWheel<'a>; 4], axle: AxlePosition) -> [&'w AtWheel<'a>; 2] {
    let [front_left, front_right, rear_left, rear_right] = wheels;
    match axle {
        AxlePosition::Front => [front_left, front_right],
        AxlePosition::Rear => [rear_left, rear_right],
    }
}

/// The left end, and the right one where it differs: equal ends are judged once.
fn distinct<'w, 'a>(left: &'w AtWheel<'a>, right: &'w AtWheel<'a>) -> Vec<&'w AtWheel<'a>> {
    let hub = |end: &AtWheel<'_>| end.hub.map(|slot| slot.requirements.clone());
    let alike = left.fitting == right.fitting && left.records() == right.records() && left.tyre == right.tyre;
    if alike && hub(left) == hub(right) {
        vec![left]
    } else {
        vec![left, right]
    }
}

fn lowest_capacity_kg(ends: &[&AtWheel<'_>]) -> Option<f64> {
    let capacities: Option<Vec<f64>> = ends
        .iter()
        .map(|end| {
            capacity_of(end.tyre?, end.fitting)
                .ok()
                .map(|capacity| capacity.capacity_kg)
        })
        .collect();
    capacities?.into_iter().reduce(f64::min)
}

fn highest_need_kpa(asked: &Asked<'_>, ends: &[&AtWheel<'_>], load: Option<&WheelLoad>) -> Option<f64> {
    let needs: Option<Vec<f64>> = ends
        .iter()
        .map(|end| need(asked, end, load?)?.pressure_kpa())
        .collect();
    needs?.into_iter().reduce(f64::max)
}

/// The pressure that a load needs in the tyre at a wheel. `None`: something is missing, which the findings about pressures name.
pub(super) fn need(asked: &Asked<'_>, end: &AtWheel<'_>, load: &WheelLoad) -> Option<PressureNeed> {
    let marking = end.marking()?;
    let rated = RatedLoad {
        capacity_kg: capacity_of(end.tyre?, end.fitting).ok()?.capacity_kg,
        pressure_kpa: marking.rated_pressure_kpa?,
    };
    let model = LoadModel::Declared {
        exponent: asked.policy.load_exponent?,
    };
    let table: Option<&MakerTable> = marking.pressure_table.as_ref();
    needed_pressure(load.load_kg, rated, model, table).ok()
}
