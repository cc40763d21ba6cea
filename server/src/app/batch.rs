//! Many resources written together, for files.

use ostler_store::{Change, NewRow, Row};

use super::AppError;
use super::kind_table::Prepared;
use super::unit::{Entry, Unit};

/// Resources to write together.
#[derive(Debug, Default)]
pub struct Batch {
    created: Vec<Prepared>,
    updated: Vec<(Prepared, Row)>,
}

impl Batch {
    /// Adds a new resource.
    pub fn create(&mut self, prepared: Prepared) {
        self.created.push(prepared);
    }

    /// Adds a change of the resource stored as `known`.
    pub fn update(&mut self, prepared: Prepared, known: Row) {
        self.updated.push((prepared, known));
    }
}

impl Unit {
    /// Writes many resources in few statements. They were checked before.
    ///
    /// # Errors
    /// When somebody changed one in between or the database fails.
    pub async fn write_batch(&mut self, batch: Batch, action: &'static str) -> Result<(), AppError> {
        let Batch { created, updated } = batch;
        let time = self.time;
        let parents: Vec<Option<String>> = created
            .iter()
            .map(|prepared| prepared.name.parent().map(String::from))
            .collect();
        let rows: Vec<NewRow<'_>> = created
            .iter()
            .zip(&parents)
            .map(|(prepared, parent)| NewRow {
                name: &prepared.name,
                kind: prepared.word,
                parent: parent.as_deref(),
                scope: &prepared.scope,
                body: &prepared.body,
                time,
            })
            .collect();
        self.looked_up.clear();
        self.backing.insert_all(&rows).await?;
        for (prepared, known) in &updated {
            let change = Change {
                name: &prepared.name,
                seen: known.seen(),
                scope: &prepared.scope,
                body: &prepared.body,
                time,
            };
            self.backing.update(&change).await?;
        }
        let changed = created.iter().chain(updated.iter().map(|(prepared, _)| prepared));
        let references: Vec<(&str, &[String])> = changed
            .map(|prepared| (&*prepared.name, prepared.targets.as_slice()))
            .collect();
        self.backing.set_all_references(&references).await?;
        let entry = |prepared: Prepared, before: Option<Vec<u8>>| Entry {
            fleet: prepared.name.fleet().to_string(),
            resource: prepared.name.to_string(),
            kind: prepared.word.to_owned(),
            action,
            before,
            after: Some(prepared.body),
        };
        self.entries
            .extend(created.into_iter().map(|prepared| entry(prepared, None)));
        self.entries.extend(
            updated
                .into_iter()
                .map(|(prepared, known)| entry(prepared, Some(known.body))),
        );
        Ok(())
    }
}
