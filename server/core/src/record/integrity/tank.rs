//! Tanks: ids unique within the vehicle, heels within capacities, holders that can be told apart.

use super::{restraint, unique};
use crate::check::Check;
use crate::record::Specification;

/// Checks the tanks of a vehicle.
pub(super) fn check(check: &mut Check, specification: &Specification) {
    let tanks = &specification.tanks;
    unique(check, "specification.tanks", tanks.iter().map(|tank| &*tank.id));
    for (index, tank) in tanks.iter().enumerate() {
        let path = format!("specification.tanks[{index}]");
        if tank
            .unusable_l
            .is_some_and(|unusable_l| unusable_l > tank.capacity_l)
        {
            check.refuse(
                format!("{path}.unusable_l"),
                format!("must be at most the capacity of {} l", tank.capacity_l),
            );
        }
        restraint::check(check, &format!("{path}.restraint"), tank.restraint.as_ref());
    }
}
