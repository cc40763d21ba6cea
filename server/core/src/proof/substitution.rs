//! Whether named evidence proves a substitution.

use std::collections::BTreeSet;

use super::pieces::is_about;
use super::topics::{WEIGHING, topics_touched};
use crate::check::{Check, InvalidInput};
use crate::record::{EvidenceResult, Name, Record, Substitution, Vehicle};

/// Checks that evidence proves a fitted substitution: each piece passed, is about the vehicle, and is of
/// a day after the parts went in; and together they cover every topic that the work touches. Of work
/// that touches no topic one piece of any topic is enough.
///
/// # Errors
/// `evidence[i]` with everything that is wrong with a piece; `evidence` with the topics not covered.
pub fn check_proof(
    record: &Record,
    vehicle: &Vehicle,
    substitution: &Substitution,
    evidence: &[Name],
) -> Result<(), InvalidInput> {
    let mut check = Check::new();
    let mut topics: BTreeSet<&str> = substitution
        .replacements
        .iter()
        .filter_map(|replacement| vehicle.specification.slot(&replacement.slot))
        .flat_map(|slot| topics_touched(slot.system))
        .copied()
        .collect();
    let touched = topics.clone();
    if evidence.is_empty() {
        check.refuse("evidence", "must name at least one piece");
    }
    for (index, name) in evidence.iter().enumerate() {
        let field = format!("evidence[{index}]");
        let Some(piece) = record.evidence.get(name) else {
            check.refuse(field, format!("{name} is not on record"));
            continue;
        };
        topics.remove(&*piece.topic);
        let proves_it = touched.is_empty() || touched.contains(&*piece.topic) || &*piece.topic == WEIGHING;
        if !proves_it {
            let wanted: Vec<&str> = touched.iter().copied().collect();
            check.refuse(&field, format!("must prove one of {}", wanted.join(", ")));
        }
        if !is_about(piece, vehicle) {
            check.refuse(&field, format!("must be about {}", vehicle.name));
        }
        if piece.result != EvidenceResult::Passed {
            check.refuse(&field, "must have passed");
        }
        let after = piece
            .issued_date
            .zip(substitution.fitted_date)
            .is_some_and(|(issued, fitted)| issued > fitted);
        if !after {
            check.refuse(&field, "must be of a day after the parts went in");
        }
    }
    if !topics.is_empty() && !evidence.is_empty() {
        let open: Vec<&str> = topics.into_iter().collect();
        check.refuse("evidence", format!("must also prove {}", open.join(", ")));
    }
    check.finish()
}
