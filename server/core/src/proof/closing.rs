//! What shows that a defect is fixed.

use crate::check::{Check, InvalidInput};
use crate::record::{Defect, Evidence, EvidenceResult};

/// Checks that evidence can show a defect to be fixed: about its vehicle, passed, and no older than the defect. Where
/// either day is not on record the order of the two is not known, and the evidence is refused.
///
/// # Errors
/// Every piece that cannot, as `evidence[i]`.
pub fn check_closing(defect: &Defect, evidence: &[Evidence]) -> Result<(), InvalidInput> {
    let mut check = Check::new();
    for (index, piece) in evidence.iter().enumerate() {
        let field = format!("evidence[{index}]");
        let id = piece.name.id();
        if piece.vehicle.as_ref() != Some(&defect.vehicle) {
            check.refuse(
                &*field,
                format!("must be about {}, {id} is not", defect.vehicle.id()),
            );
        }
        if piece.result != EvidenceResult::Passed {
            check.refuse(&*field, format!("must have passed, {id} has not"));
        }
        match (defect.found_date, piece.issued_date) {
            (Some(found), Some(issued)) if issued < found => check.refuse(
                &*field,
                format!("must be no older than the defect, found {found}; {id} is of {issued}"),
            ),
            (Some(_), Some(_)) => {}
            (None, _) => check.refuse(&*field, "needs the day on which the defect was found"),
            (_, None) => check.refuse(&*field, format!("must have a day, {id} has none")),
        }
    }
    check.finish()
}
