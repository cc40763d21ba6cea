//! Whether what a resource refers to is there.

use ostler_core::check::Violation;
use ostler_core::record::Name;
use ostler_store::Row;

use super::kinds::Kind;
use super::{App, AppError};
use crate::contract::{self, Reference};

impl App {
    /// Checks what a resource that is not recorded refers to.
    ///
    /// # Errors
    /// All references to what does not exist or belongs to another fleet than `name`.
    pub(super) async fn check_references<K: Kind>(
        &self,
        name: &Name,
        message: &K::Message,
    ) -> Result<(), AppError> {
        let found = contract::references(message);
        let rows = self.store().many(&targets(&found)).await?;
        check::<K>(name, &found, &rows)
    }
}

/// The names referred to, sorted, each once.
pub(super) fn targets(references: &[Reference]) -> Vec<String> {
    let mut targets: Vec<String> = references
        .iter()
        .map(|reference| reference.target.clone())
        .collect();
    targets.sort();
    targets.dedup();
    targets
}

/// Checks the references of the resource `name` against the rows that are there.
///
/// # Errors
/// All references to what does not exist or belongs to another fleet.
pub(super) fn check<K: Kind>(name: &Name, references: &[Reference], rows: &[Row]) -> Result<(), AppError> {
    let violations: Vec<Violation> = references
        .iter()
        .filter_map(|reference| {
            let problem = if !reference.target.starts_with(&format!("{}/", name.fleet())) {
                "belongs to another fleet"
            } else if !rows.iter().any(|row| row.name == reference.target) {
                "does not exist"
            } else {
                return None;
            };
            Some(Violation {
                field: format!("{}.{}", K::FIELD, reference.field),
                problem: format!("refers to {}, which {problem}", reference.target),
            })
        })
        .collect();
    AppError::if_any(violations)
}
