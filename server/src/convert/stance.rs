//! Stances and diagnoses as messages.

use ostler_core::record::{Vehicle, Weighing};
use ostler_core::stance::diagnosis::RankedHypothesis;
use ostler_core::stance::recorded::{self, NotStanding};
use ostler_core::stance::recorded_heights::{self, RecordedDiagnosis};
use ostler_core::stance::recorded_underside::{Underside, UndersideFigure};
use ostler_core::stance::{CAUTION_COMPUTED_STANCE, Candidate, Stance, Wheel};
use ostler_core::units::STANDARD_GRAVITY_M_PER_S2;
use ostler_proto::v1;

/// All states of a vehicle.
pub(crate) fn states_message(states: Vec<v1::StanceState>) -> v1::ComputeStanceResponse {
    v1::ComputeStanceResponse {
        states,
        formula_version: recorded::FORMULA_VERSION.to_owned(),
        caution: CAUTION_COMPUTED_STANCE.to_owned(),
        picture_svg: String::new(),
    }
}

/// One state of a vehicle.
pub(crate) fn state_message(
    vehicle: &Vehicle,
    load_state: &str,
    stood: Result<Stance, NotStanding>,
    below: Underside,
) -> v1::StanceState {
    let load_state = load_state.to_owned();
    match stood {
        Ok(stance) => v1::StanceState {
            load_state,
            wheels: Wheel::ALL.map(|wheel| wheel_message(&stance, wheel)).into(),
            lean_deg: Some(stance.lean_deg),
            lean_mm: vehicle
                .specification
                .suspension
                .as_ref()
                .and_then(|suspension| suspension.arch_width_mm)
                .map(|width_mm| stance.lean_mm(width_mm)),
            rake_change_mm: Some(stance.rake_mm()),
            cross_weight_share: Some(stance.cross_weight_share),
            missing: Vec::new(),
            problem: String::new(),
            clearance_mm: below.clearance_mm.map(underside_figure),
            approach_deg: below.approach_deg.map(underside_figure),
            departure_deg: below.departure_deg.map(underside_figure),
            breakover_deg: below.breakover_deg.map(underside_figure),
        },
        Err(NotStanding::Missing(missing)) => v1::StanceState {
            load_state,
            missing,
            ..Default::default()
        },
        Err(NotStanding::Problem(error)) => v1::StanceState {
            load_state,
            problem: error.to_string(),
            ..Default::default()
        },
    }
}

fn underside_figure(figure: UndersideFigure) -> v1::UndersideFigure {
    let UndersideFigure { value, change, point } = figure;
    v1::UndersideFigure { value, change, point }
}

fn wheel_message(stance: &Stance, wheel: Wheel) -> v1::WheelStance {
    let at = stance.wheel(wheel);
    v1::WheelStance {
        wheel: match wheel {
            Wheel::FrontLeft => v1::WheelPosition::FrontLeft,
            Wheel::FrontRight => v1::WheelPosition::FrontRight,
            Wheel::RearLeft => v1::WheelPosition::RearLeft,
            Wheel::RearRight => v1::WheelPosition::RearRight,
        }
        .into(),
        load_kg: at.load_n / STANDARD_GRAVITY_M_PER_S2,
        ride_height_change_mm: at.ride_height_change_mm,
        bump_travel_left_mm: at.bump_travel_left_mm,
        droop_travel_left_mm: at.droop_travel_left_mm,
    }
}

/// A diagnosis, or what it is missing.
pub(crate) fn diagnosis_message(
    weighing: &Weighing,
    diagnosed: Result<RecordedDiagnosis, Vec<String>>,
) -> v1::LeanDiagnosis {
    let mut message = v1::LeanDiagnosis {
        weighing: weighing.name.to_string(),
        vehicle: weighing.vehicle.to_string(),
        formula_version: recorded_heights::FORMULA_VERSION.to_owned(),
        ..Default::default()
    };
    match diagnosed {
        Err(missing) => message.missing = missing,
        Ok(RecordedDiagnosis { diagnosis, .. }) => {
            message.causes = diagnosis.hypotheses.into_iter().map(cause_message).collect();
            message.next_measurements = diagnosis
                .next_measurements
                .into_iter()
                .map(next_message)
                .collect();
            message.cautions = diagnosis
                .cautions
                .iter()
                .map(|caution| (*caution).to_owned())
                .collect();
        }
    }
    message
}

fn cause_message(ranked: RankedHypothesis) -> v1::LeanCause {
    let RankedHypothesis {
        hypothesis: _,
        prior,
        probability,
        amount: _,
        arch_to_floor_mm,
        hub_to_arch_mm: _,
        side_difference_mm: [front_difference_mm, rear_difference_mm],
        explanation,
    } = ranked;
    v1::LeanCause {
        explanation,
        prior,
        probability,
        arch_to_floor_mm: arch_to_floor_mm.into(),
        front_difference_mm,
        rear_difference_mm,
    }
}

fn next_message(next: Candidate) -> v1::NextMeasurement {
    let Candidate {
        measurement: _,
        predictions,
        standardised_difference,
        caution,
    } = next;
    v1::NextMeasurement {
        predictions: predictions
            .into_iter()
            .map(|prediction| v1::MeasurementPrediction {
                quantity: prediction.quantity,
                unit: prediction.unit.to_owned(),
                leading: prediction.leading,
                second: prediction.second,
                standard_deviation: prediction.standard_deviation,
            })
            .collect(),
        standardised_difference,
        caution: caution.unwrap_or_default().to_owned(),
    }
}
