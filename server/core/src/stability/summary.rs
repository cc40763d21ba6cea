//! Height, factor and ceilings in one, from an estimate or from raised-axle readings.

use super::axle_lift::{ACCURACY, LIFT_CAUTION};
use super::ceiling::{CEILING_CAUTION, STABILITY_FACTOR_CAUTION};
use super::{
    AxleLift, Ceilings, CentreOfMassHeight, Precondition, StabilityFactor, Stance, axle_lift_height,
    ceilings, height_by_estimate, static_stability_factor,
};
use crate::check::InvalidInput;

/// What stability is computed from.
#[derive(Debug, Clone, PartialEq)]
pub struct StabilityInput {
    /// Wheelbase, mm.
    pub wheelbase_mm: f64,
    /// Front track, mm.
    pub track_front_mm: f64,
    /// Rear track, mm.
    pub track_rear_mm: f64,
    /// Standard uncertainty of the tracks, mm.
    pub track_uncertainty_mm: f64,
    /// Centre of mass aft of the front axle, mm. `None`: that of the raised-axle readings.
    pub centre_x_mm: Option<f64>,
    /// Centre of mass to the right, mm.
    pub centre_y_mm: f64,
    /// Where its height comes from.
    pub height: HeightSource,
}

/// Where the height of the centre of mass comes from.
#[derive(Debug, Clone, PartialEq)]
pub enum HeightSource {
    /// Somebody's estimate with the tolerance that he answers for.
    Estimate {
        /// Height, mm.
        height_mm: f64,
        /// Its tolerance, mm.
        tolerance_mm: f64,
    },
    /// Raised-axle readings.
    AxleLift(AxleLift),
}

/// Height, factor and ceilings.
#[derive(Debug, Clone, PartialEq)]
pub struct StabilitySummary {
    /// The height and how it was found.
    pub height: CentreOfMassHeight,
    /// Centre of mass aft of the front axle, mm.
    pub centre_x_mm: f64,
    /// Centre of mass to the right, mm.
    pub centre_y_mm: f64,
    /// Static stability factor from the mean track.
    pub factor: StabilityFactor,
    /// Ceilings, never safe slopes.
    pub ceilings: Ceilings,
    /// What whoever raised an axle did not confirm; any of them leaves the height in doubt.
    pub unconfirmed: Vec<Precondition>,
    /// To show with them.
    pub cautions: Vec<&'static str>,
}

/// Where the wheels and the centre of mass are, in plan.
#[derive(Debug, Clone, Copy)]
pub(super) struct Footprint {
    pub(super) wheelbase_mm: f64,
    pub(super) track_front_mm: f64,
    pub(super) track_rear_mm: f64,
    pub(super) track_uncertainty_mm: f64,
    pub(super) centre_x_mm: f64,
    pub(super) centre_y_mm: f64,
}

/// Height, static stability factor and ceilings.
///
/// # Errors
/// Numbers out of range with their field, or an estimate without the place of the centre.
pub fn summary(input: &StabilityInput) -> Result<StabilitySummary, InvalidInput> {
    let (height, centre_x_mm, unconfirmed) = match &input.height {
        HeightSource::Estimate {
            height_mm,
            tolerance_mm,
        } => {
            let centre_x_mm = input
                .centre_x_mm
                .ok_or_else(|| InvalidInput::one("centre_x_mm", "must be set with an estimated height"))?;
            let height = height_by_estimate(*height_mm, *tolerance_mm)
                .map_err(|refused| refused.within("estimate"))?;
            (height, centre_x_mm, Vec::new())
        }
        HeightSource::AxleLift(lift) => {
            let found = axle_lift_height(lift).map_err(|refused| refused.within("raised_axle"))?;
            (
                found.height,
                input.centre_x_mm.unwrap_or(found.x_mm),
                found.unconfirmed,
            )
        }
    };
    let footprint = Footprint {
        wheelbase_mm: input.wheelbase_mm,
        track_front_mm: input.track_front_mm,
        track_rear_mm: input.track_rear_mm,
        track_uncertainty_mm: input.track_uncertainty_mm,
        centre_x_mm,
        centre_y_mm: input.centre_y_mm,
    };
    let mut summary = summarise(&footprint, height, unconfirmed)?;
    if matches!(input.height, HeightSource::AxleLift(_)) {
        summary.cautions.extend([ACCURACY, LIFT_CAUTION]);
    }
    Ok(summary)
}

/// Factor and ceilings of a centre of mass whose height is found.
pub(super) fn summarise(
    footprint: &Footprint,
    height: CentreOfMassHeight,
    unconfirmed: Vec<Precondition>,
) -> Result<StabilitySummary, InvalidInput> {
    let mean_track_mm = f64::midpoint(footprint.track_front_mm, footprint.track_rear_mm);
    Ok(StabilitySummary {
        factor: static_stability_factor(mean_track_mm, footprint.track_uncertainty_mm, &height)?,
        ceilings: ceilings(&Stance {
            wheelbase_mm: footprint.wheelbase_mm,
            track_front_mm: footprint.track_front_mm,
            track_rear_mm: footprint.track_rear_mm,
            x_mm: footprint.centre_x_mm,
            y_mm: footprint.centre_y_mm,
            height,
        })?,
        height,
        centre_x_mm: footprint.centre_x_mm,
        centre_y_mm: footprint.centre_y_mm,
        unconfirmed,
        cautions: vec![CEILING_CAUTION, STABILITY_FACTOR_CAUTION],
    })
}
