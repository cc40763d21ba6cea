//! How a thing is held: lashings that can be told apart and that lead somewhere.

use super::unique;
use crate::check::Check;
use crate::record::Restraint;

/// Checks how a thing is held; `path` is the field that says so.
pub fn check(check: &mut Check, path: &str, restraint: Option<&Restraint>) {
    let Some(restraint) = restraint else { return };
    let lashings = format!("{path}.lashings");
    unique(
        check,
        &lashings,
        restraint.lashings.iter().map(|group| group.name.as_str()),
    );
    for (index, group) in restraint.lashings.iter().enumerate() {
        if group.leads_nowhere() {
            check.refuse(
                format_args!("{lashings}[{index}].direct_lead"),
                "must lead somewhere, or `direct_bearing` or `tie_down_angle_deg` be set",
            );
        } else {
            check.merge(format_args!("{lashings}[{index}]"), group.check());
        }
    }
}
