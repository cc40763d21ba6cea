//! Stability.

use ostler_core::check::InvalidInput;
use ostler_core::stability::{
    AxleLift, HeightSource, LiftReading, LiftedAxle, RigidBodyCeiling, StabilityInput, StabilitySummary,
};
use ostler_proto::v1;
use v1::compute_stability_request::Height;

use super::{Converted, Within, each, missing};

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
        confirmed: Vec::new(),
    })
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
        factor,
        ceilings,
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
        cautions: cautions.into_iter().map(str::to_owned).collect(),
    }
}

fn ceiling_message(ceiling: RigidBodyCeiling) -> v1::SlopeCeiling {
    v1::SlopeCeiling {
        ceiling_deg: ceiling.ceiling_deg(),
        ceiling_at_upper_height_deg: ceiling.ceiling_at_upper_height_deg(),
    }
}
