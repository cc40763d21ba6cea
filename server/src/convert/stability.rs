//! Stability.

use ostler_core::check::InvalidInput;
use ostler_core::record::{CentreHeight, CentreHeightSource, Vehicle};
use ostler_core::stability::recorded::{self, BareHeight, NotStable, StateStability};
use ostler_core::stability::{
    AxleLift, HeightSource, LiftReading, LiftedAxle, Precondition, RigidBodyCeiling, StabilityInput,
    StabilitySummary,
};
use ostler_proto::v1;
use v1::centre_height::Source;
use v1::compute_stability_request::Height;

use super::vehicle::fills;
use super::{Converted, Within, each, missing};

/// A height of the record.
pub(crate) fn centre_height(message: v1::CentreHeight) -> Converted<CentreHeight> {
    let v1::CentreHeight {
        source,
        fills: filled,
        provenance,
    } = message;
    let source = match source {
        Some(Source::Estimate(v1::HeightEstimate {
            height_mm,
            tolerance_mm,
        })) => CentreHeightSource::Estimate {
            height_mm,
            tolerance_mm,
        },
        // The wheelbase is that of the specification.
        Some(Source::RaisedAxle(readings)) => {
            CentreHeightSource::RaisedAxle(axle_lift(readings, 0.0).within("raised_axle")?)
        }
        None => return Err(InvalidInput::one("estimate", "or `raised_axle` must be set")),
    };
    Ok(CentreHeight {
        source,
        fills: fills("fills", filled)?,
        provenance,
    })
}

/// A stateless request.
pub(crate) fn stability_request(message: v1::ComputeStabilityRequest) -> Converted<StabilityInput> {
    let v1::ComputeStabilityRequest {
        wheelbase_mm,
        front_track_mm,
        rear_track_mm,
        track_tolerance_mm,
        centre_x_mm,
        centre_y_mm,
        height,
    } = message;
    let height = match height {
        Some(Height::Estimate(v1::HeightEstimate {
            height_mm,
            tolerance_mm,
        })) => HeightSource::Estimate {
            height_mm,
            tolerance_mm,
        },
        Some(Height::RaisedAxle(readings)) => {
            HeightSource::AxleLift(axle_lift(readings, wheelbase_mm).within("raised_axle")?)
        }
        None => return Err(InvalidInput::one("estimate", "or `raised_axle` must be set")),
    };
    Ok(StabilityInput {
        wheelbase_mm,
        track_front_mm: front_track_mm,
        track_rear_mm: rear_track_mm,
        track_uncertainty_mm: track_tolerance_mm,
        centre_x_mm,
        centre_y_mm,
        height,
    })
}

fn axle_lift(message: v1::RaisedAxleReadings, wheelbase_mm: f64) -> Converted<AxleLift> {
    let v1::RaisedAxleReadings {
        mass_kg,
        front_loaded_radius_mm,
        rear_loaded_radius_mm,
        radius_tolerance_mm,
        scale_tolerance_kg,
        angle_tolerance_deg,
        readings,
        confirmed,
    } = message;
    Ok(AxleLift {
        mass_kg,
        wheelbase_mm,
        loaded_radius_front_mm: front_loaded_radius_mm,
        loaded_radius_rear_mm: rear_loaded_radius_mm,
        radius_uncertainty_mm: radius_tolerance_mm,
        scale_uncertainty_kg: scale_tolerance_kg,
        angle_uncertainty_deg: angle_tolerance_deg,
        readings: each("readings", readings, reading)?,
        confirmed: each("confirmed", confirmed, condition)?,
    })
}

fn condition(value: i32) -> Converted<Precondition> {
    match v1::RaisedAxleCondition::try_from(value) {
        Ok(v1::RaisedAxleCondition::FuelTanksFull) => Ok(Precondition::FuelTanksFull),
        Ok(v1::RaisedAxleCondition::SuspensionBlocked) => Ok(Precondition::SuspensionBlocked),
        Ok(v1::RaisedAxleCondition::TyreDeflection) => Ok(Precondition::TyreDeflectionAllowedFor),
        Ok(v1::RaisedAxleCondition::BothDirections) => Ok(Precondition::BothDirections),
        Ok(v1::RaisedAxleCondition::WheelsFree) => Ok(Precondition::WheelsFree),
        Ok(v1::RaisedAxleCondition::Unspecified) | Err(_) => Err(missing("")),
    }
}

fn reading(message: v1::RaisedAxleReading) -> Converted<LiftReading> {
    let v1::RaisedAxleReading {
        raised,
        angle_deg,
        scale_kg,
    } = message;
    Ok(LiftReading {
        lifted: match v1::RaisedAxle::try_from(raised) {
            Ok(v1::RaisedAxle::Front) => LiftedAxle::Front,
            Ok(v1::RaisedAxle::Rear) => LiftedAxle::Rear,
            Ok(v1::RaisedAxle::Unspecified) | Err(_) => return Err(missing("raised")),
        },
        angle_deg,
        scale_kg,
    })
}

/// The outcome as a message.
pub(crate) fn stability_message(summary: StabilitySummary) -> v1::Stability {
    let StabilitySummary {
        height,
        centre_x_mm,
        centre_y_mm,
        factor,
        ceilings,
        unconfirmed,
        cautions,
    } = summary;
    v1::Stability {
        height_mm: height.height_mm,
        height_uncertainty_mm: height.uncertainty_mm,
        centre_x_mm,
        static_stability_factor: factor.factor,
        static_stability_factor_uncertainty: factor.uncertainty,
        left_ceiling: Some(ceiling_message(ceilings.to_the_left)),
        right_ceiling: Some(ceiling_message(ceilings.to_the_right)),
        uphill_ceiling: Some(ceiling_message(ceilings.uphill)),
        downhill_ceiling: Some(ceiling_message(ceilings.downhill)),
        cautions: texts(&cautions),
        centre_y_mm,
        unconfirmed: unconfirmed
            .iter()
            .map(|condition| condition.words().to_owned())
            .collect(),
    }
}

fn texts(texts: &[&str]) -> Vec<String> {
    texts.iter().map(|text| (*text).to_owned()).collect()
}

/// A vehicle over a departure; what is to be shown with every state is shown once.
pub(crate) fn vehicle_stability_message(
    vehicle: &Vehicle,
    bare: Result<BareHeight, Vec<String>>,
    states: Vec<(String, Result<StateStability, NotStable>)>,
) -> v1::VehicleStability {
    let mut cautions: Vec<String> = Vec::new();
    let known = states.iter().filter_map(|(_, state)| state.as_ref().ok());
    for caution in known.flat_map(|state| texts(&state.summary.cautions)) {
        if !cautions.contains(&caution) {
            cautions.push(caution);
        }
    }
    let height = bare.as_ref().ok().map(|bare| bare.height);
    v1::VehicleStability {
        states: states.into_iter().map(state_message).collect(),
        provenance: vehicle
            .specification
            .centre_height
            .as_ref()
            .map_or_else(String::new, |height| height.provenance.clone()),
        bare_height_mm: height.map(|height| height.height_mm),
        bare_height_uncertainty_mm: height.map(|height| height.uncertainty_mm),
        missing: bare.err().unwrap_or_default(),
        formula_version: recorded::FORMULA_VERSION.to_owned(),
        cautions,
    }
}

fn state_message((load_state, found): (String, Result<StateStability, NotStable>)) -> v1::StabilityState {
    let mut message = v1::StabilityState {
        load_state,
        ..Default::default()
    };
    match found {
        Ok(found) => {
            let stability = v1::Stability {
                cautions: Vec::new(),
                ..stability_message(found.summary)
            };
            message.stability = Some(stability);
            message.untoleranced_count = i32::try_from(found.untoleranced_count).unwrap_or(i32::MAX);
        }
        Err(NotStable::Missing(missing)) => message.missing = missing,
        Err(NotStable::Outside(problem)) => message.problem = problem,
    }
    message
}

fn ceiling_message(ceiling: RigidBodyCeiling) -> v1::SlopeCeiling {
    v1::SlopeCeiling {
        ceiling_deg: ceiling.ceiling_deg(),
        ceiling_at_upper_height_deg: ceiling.ceiling_at_upper_height_deg(),
    }
}
