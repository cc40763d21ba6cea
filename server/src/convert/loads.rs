//! Results of load computations.

use ostler_core::loads::{Baseline, LoadAgainstLimit, LoadLine, LoadResult, WorstLoad, ZoneLoad, worst};
use ostler_proto::v1;

use super::common::{position_message, provenance_message};
use super::readiness::answer_message;

/// A load result as a message.
pub(crate) fn load_result_message(result: LoadResult) -> v1::LoadResult {
    let LoadResult {
        vehicle,
        departure,
        load_state,
        missing,
        notes,
        baseline_mass_kg,
        fitment_change_kg,
        crew_mass_kg,
        fuel_mass_kg,
        water_mass_kg,
        cargo_mass_kg,
        total,
        front_axle,
        rear_axle,
        roof,
        zones,
        centre_x_mm,
        lateral_moment_kgm,
        lines,
        baseline,
        formula_version,
    } = result;
    v1::LoadResult {
        vehicle: vehicle.into(),
        departure: departure.into(),
        load_state,
        missing,
        notes,
        baseline_mass_kg,
        fitment_change_kg,
        crew_mass_kg,
        fuel_mass_kg,
        water_mass_kg,
        cargo_mass_kg,
        total: Some(against_limit_message(total)),
        front_axle: front_axle.map(against_limit_message),
        rear_axle: rear_axle.map(against_limit_message),
        roof: Some(against_limit_message(roof)),
        zones: zones.into_iter().map(zone_message).collect(),
        centre_x_mm,
        lateral_moment_kgm,
        lines: lines.iter().map(|line| line_message(line)).collect(),
        baseline: baseline_message(baseline),
        formula_version: formula_version.to_owned(),
    }
}

/// The same without the names of records: of data that are given there are none.
pub(crate) fn without_records(mut message: v1::LoadResult) -> v1::LoadResult {
    for line in &mut message.lines {
        line.record.clear();
    }
    message
}

/// All moments of a departure, with the worst of them.
pub(crate) fn load_states_message(states: Vec<LoadResult>) -> v1::ComputeLoadStatesResponse {
    v1::ComputeLoadStatesResponse {
        worst: worst(&states).into_iter().map(worst_message).collect(),
        states: states.into_iter().map(load_result_message).collect(),
        picture_svg: String::new(),
    }
}

pub(crate) fn worst_message(worst: WorstLoad) -> v1::WorstLoad {
    let WorstLoad {
        limited,
        load_state,
        load,
    } = worst;
    v1::WorstLoad {
        limited_load: limited.id(),
        load_state,
        load: Some(against_limit_message(load)),
    }
}

/// What loads start from, as the API says it.
pub(crate) fn baseline_message(baseline: Baseline) -> String {
    match baseline {
        Baseline::Weighing(name) => name.into(),
        Baseline::Declared => "declared".to_owned(),
        Baseline::Missing => String::new(),
    }
}

fn against_limit_message(load: LoadAgainstLimit) -> v1::LoadAgainstLimit {
    let LoadAgainstLimit {
        load_kg,
        uncertainty_kg,
        limit_kg,
        limit_name,
        margin_kg,
        answer,
        untoleranced_count,
    } = load;
    v1::LoadAgainstLimit {
        load_kg,
        uncertainty_kg,
        limit_kg,
        limit_name: limit_name.to_owned(),
        margin_kg,
        answer: answer_message(answer).into(),
        untoleranced_count: i32::try_from(untoleranced_count).unwrap_or(i32::MAX),
    }
}

fn zone_message(load: ZoneLoad) -> v1::ZoneLoad {
    let ZoneLoad { zone, load } = load;
    v1::ZoneLoad {
        zone: zone.into(),
        load: Some(against_limit_message(load)),
    }
}

pub(crate) fn line_message(line: &LoadLine) -> v1::LoadLine {
    let LoadLine {
        display_name,
        record,
        group: _,
        mass_kg,
        position,
        front_axle_kg,
        rear_axle_kg,
        provenance,
        tolerance_kg,
    } = line;
    v1::LoadLine {
        display_name: display_name.to_string(),
        record: record.to_string(),
        mass_kg: *mass_kg,
        position: position.map(position_message),
        front_axle_kg: *front_axle_kg,
        rear_axle_kg: *rear_axle_kg,
        provenance: provenance_message(*provenance).into(),
        tolerance_kg: *tolerance_kg,
    }
}
