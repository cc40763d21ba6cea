//! Results about tyres and spares as messages.

use ostler_core::record::{Departure, Name, Vehicle};
use ostler_core::tyres::bench::{BenchResult, BenchTyre};
use ostler_core::tyres::convoy::ConvoySpares;
use ostler_core::tyres::interchange::{Finding, Outcome, SpareKind, UNLIKE_TYRES_CAUTION};
use ostler_core::tyres::pressure::{Basis, LoadModel, MODEL_CAUTION, PressureNeed};
use ostler_core::tyres::recorded::FORMULA_VERSION;
use ostler_core::tyres::reduced::{REDUCED_PRESSURE_CAUTION, SpeedAtPressure, SpeedStep};
use ostler_core::tyres::service::Fitting;
use ostler_core::tyres::size::Diameter;
use ostler_core::tyres::trip::{AxleTyres, TripTyres};
use ostler_core::tyres::wheel_fit::WHEEL_NUT_CAUTION;
use ostler_proto::v1;

use super::Converted;
use super::readiness::finding_message;
use super::tyre_data::{designation, pressure_table};

pub(crate) fn trip_message(
    departure: &Departure,
    vehicle: &Vehicle,
    tyres: TripTyres,
) -> v1::ComputeTyresResponse {
    let TripTyres { axles, mut findings } = tyres;
    findings.sort_by_key(|finding| std::cmp::Reverse(finding.answer));
    v1::ComputeTyresResponse {
        axles: axles
            .iter()
            .map(|axle| axle_message(departure, &vehicle.name, axle))
            .collect(),
        findings: findings.into_iter().map(finding_message).collect(),
        formula_version: FORMULA_VERSION.to_owned(),
        cautions: [MODEL_CAUTION, REDUCED_PRESSURE_CAUTION, WHEEL_NUT_CAUTION]
            .map(str::to_owned)
            .into(),
    }
}

pub(crate) fn axle_message(departure: &Departure, vehicle: &Name, axle: &AxleTyres) -> v1::AxleTyres {
    let going = departure.vehicles.iter().find(|going| going.vehicle == *vehicle);
    let load = axle.load.as_ref();
    v1::AxleTyres {
        axle: axle.axle.words().to_owned(),
        wheel_load_kg: load.map(|load| load.load_kg),
        load_state: load.map_or_else(String::new, |load| load.load_state.clone()),
        from_stance: load.is_some_and(|load| load.from_stance),
        capacity_kg: axle.capacity_kg,
        needed_kpa: axle.needed_kpa,
        dual: axle.is_dual,
        states: axle
            .states
            .iter()
            .map(|state| v1::StateTyreLoad {
                load_state: state.load_state.clone(),
                load_kg: state.load_kg,
                needed_kpa: state.needed_kpa,
            })
            .collect(),
        planned: going
            .iter()
            .flat_map(|going| &going.tyre_pressures)
            .map(|step| v1::PlannedPressure {
                surfaces: step.surfaces.iter().map(ToString::to_string).collect(),
                pressure_kpa: axle.planned_kpa(step),
                speed_max_km_per_h: step.speed_max_km_per_h,
                below_needed_kpa: axle.below_needed_kpa(step),
            })
            .collect(),
    }
}

pub(crate) fn bench_request(message: v1::CalculateTyreRequest) -> Converted<BenchTyre> {
    let v1::CalculateTyreRequest {
        designation: text,
        dual,
        diameter_mm,
        placard_diameter_mm,
        rated_pressure_kpa,
        load_kg,
        load_exponent,
        pressure_table: table,
        pressure_kpa,
        speeds,
    } = message;
    let speeds = speeds.into_iter().map(|step| {
        let v1::SpeedAtPressure {
            pressure_kpa,
            speed_max_km_per_h,
        } = step;
        SpeedStep {
            pressure_kpa,
            speed_max_km_per_h,
        }
    });
    Ok(BenchTyre {
        designation: designation(&text)?,
        fitting: if dual { Fitting::Dual } else { Fitting::Single },
        diameter_mm,
        placard_diameter_mm,
        rated_pressure_kpa,
        load_kg,
        model: load_exponent.map(|exponent| LoadModel::Declared { exponent }),
        table: table.map(pressure_table),
        pressure_kpa,
        speeds: speeds.collect(),
    })
}

pub(crate) fn bench_message(result: BenchResult) -> v1::TyreCalculation {
    let BenchResult {
        designation,
        section_width_mm,
        diameter,
        capacity_kg,
        capacity_source,
        need,
        speed,
        change,
        cautions,
    } = result;
    let (needed_kpa, needed_basis, overload_kg) = match need {
        None => (None, String::new(), None),
        Some(PressureNeed::Needed { pressure_kpa, basis }) => (Some(pressure_kpa), basis_words(basis), None),
        Some(PressureNeed::Overloaded { excess_kg }) => (None, "overloaded".to_owned(), Some(excess_kg)),
    };
    let (reduced_speed_max_km_per_h, below_needed_kpa) = match speed {
        None | Some(SpeedAtPressure::NotReduced) => (None, None),
        Some(SpeedAtPressure::Limited {
            speed_max_km_per_h,
            below_needed_kpa,
        }) => (Some(speed_max_km_per_h), Some(below_needed_kpa)),
        Some(SpeedAtPressure::BelowPlan { below_needed_kpa, .. }) => (None, Some(below_needed_kpa)),
    };
    v1::TyreCalculation {
        designation: designation.to_string(),
        rim_diameter_in: designation.size.rim_in().value(),
        section_width_mm,
        diameter_mm: diameter.mm(),
        diameter_is_nominal: matches!(diameter, Diameter::Nominal(_)),
        capacity_kg,
        capacity_source,
        speed_max_km_per_h: designation
            .service
            .map(|service| service.speed_symbol.speed_km_per_h()),
        needed_kpa,
        needed_basis,
        overload_kg,
        reduced_speed_max_km_per_h,
        below_needed_kpa,
        diameter_change_percent: change.map(|change| change.change_percent),
        true_speed_at_100_km_per_h: change.map(|change| change.true_speed_km_per_h(100.0)),
        cautions: cautions.into_iter().map(str::to_owned).collect(),
    }
}

fn basis_words(basis: Basis) -> String {
    match basis {
        Basis::Model => "the declared model; no maker's table was given",
        Basis::ModelAboveTable => "the declared model, which asks for more than the maker's table",
        Basis::MakerTable => "the maker's table",
    }
    .to_owned()
}

pub(crate) fn spares_message(spares: ConvoySpares) -> v1::ComputeSpareInterchangeResponse {
    let ConvoySpares {
        spares: carried,
        pairs,
        missing,
    } = spares;
    let pairs = pairs.into_iter().filter_map(|pair| {
        let spare = carried.get(pair.spare)?;
        let pieces = match spare.spare.kind {
            SpareKind::Wheel(..) => v1::SparePieces::Wheel,
            SpareKind::Rim(_) => v1::SparePieces::Rim,
            SpareKind::Tyre(_) => v1::SparePieces::Tyre,
        };
        Some(v1::SpareInterchange {
            cargo_item: spare.item.to_string(),
            display_name: spare.display_name.clone(),
            pieces: pieces.into(),
            carried_on: spare.carried_on.to_string(),
            vehicle: pair.vehicle.to_string(),
            axle: pair.axle.map_or_else(String::new, |axle| axle.words().to_owned()),
            outcome: outcome(pair.interchange.outcome).into(),
            at_best: outcome(pair.interchange.at_best).into(),
            points: pair.interchange.findings.into_iter().map(point).collect(),
        })
    });
    v1::ComputeSpareInterchangeResponse {
        pairs: pairs.collect(),
        missing,
        formula_version: FORMULA_VERSION.to_owned(),
        cautions: [UNLIKE_TYRES_CAUTION, WHEEL_NUT_CAUTION]
            .map(str::to_owned)
            .into(),
    }
}

fn point(finding: Finding) -> v1::SparePoint {
    v1::SparePoint {
        point: finding.point.words().to_owned(),
        outcome: outcome(finding.outcome).into(),
        reason: finding.reason,
    }
}

fn outcome(outcome: Outcome) -> v1::SpareOutcome {
    match outcome {
        Outcome::Serves => v1::SpareOutcome::Serves,
        Outcome::EmergencyOnly => v1::SpareOutcome::EmergencyOnly,
        Outcome::NotKnown => v1::SpareOutcome::NotKnown,
        Outcome::DoesNotServe => v1::SpareOutcome::DoesNotServe,
    }
}
