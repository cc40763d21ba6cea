//! Tanks: ids unique within the vehicle, heels within capacities, insides that hold them, holders that can be told
//! apart.

use super::{restraint, unique};
use crate::check::Check;
use crate::record::Specification;
use crate::tanks::figures::{brimful_l, check_build};

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
                format_args!("{path}.unusable_l"),
                format!("must be at most the capacity of {} l", tank.capacity_l),
            );
        }
        check.merge(&path, check_build(&tank.build));
        // Dimensions are measured to a part in a thousand at best.
        let least_l = tank.capacity_l * (1.0 - 1e-3);
        if let Ok(Some(brimful_l)) = brimful_l(&tank.build)
            && brimful_l < least_l
        {
            let field = if tank.build.brimful_l.is_some() {
                "brimful_l"
            } else {
                "inside"
            };
            let problem = format!(
                "must hold the capacity of {} l, holds {brimful_l:.1} l",
                tank.capacity_l
            );
            check.refuse(format_args!("{path}.{field}"), problem);
        }
        restraint::check(check, &format!("{path}.restraint"), tank.restraint.as_ref());
    }
}
