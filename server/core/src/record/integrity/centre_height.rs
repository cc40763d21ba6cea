//! Height of the centre of mass: readings that can be computed with, tanks that the vehicle has.

use super::fills;
use crate::check::Check;
use crate::record::{CentreHeightSource, Specification};
use crate::stability::{AxleLift, axle_lift_height};

/// Checks the height of the centre of mass of a vehicle.
pub(super) fn check(check: &mut Check, specification: &Specification) {
    let Some(height) = &specification.centre_height else {
        return;
    };
    let path = "specification.centre_height";
    fills(check, &format!("{path}.fills"), &height.fills, specification);
    // Without a wheelbase the readings wait for it.
    if let (CentreHeightSource::RaisedAxle(lift), Some(wheelbase_mm)) =
        (&height.source, specification.wheelbase_mm)
    {
        let measured = AxleLift {
            wheelbase_mm,
            ..lift.clone()
        };
        check.merge(format_args!("{path}.raised_axle"), axle_lift_height(&measured));
    }
}
