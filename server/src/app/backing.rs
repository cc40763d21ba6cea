//! What a unit of work stands on: a transaction of the database, or a copy of the record that is thrown away.

use std::collections::BTreeMap;

use ostler_store::{Change, Loaded, NewRow, Row, Seen, Store, StoreError, Transaction};

use super::written::{Written, changed_row, new_row};

/// Where a unit of work reads and writes.
pub enum Backing {
    /// A transaction: what is committed lasts.
    Database(Box<Writing>),
    /// A copy: nothing is ever written.
    Copy(RecordCopy),
}

/// A transaction, and the rows that it has written.
pub struct Writing {
    pub(super) transaction: Transaction,
    /// In their order; none when there are more than [`WRITTEN_MAX`].
    written: Option<Vec<Written>>,
}

/// Rows that are noted of what a transaction writes. What is more, such as a file, is nothing that anybody waits for.
const WRITTEN_MAX: usize = 64;

impl Writing {
    /// Nothing is written yet.
    pub(super) fn in_transaction(transaction: Transaction) -> Self {
        Self {
            transaction,
            written: Some(Vec::new()),
        }
    }

    /// What has been written, unless it is much.
    pub(super) fn written(&self) -> Option<&[Written]> {
        self.written.as_deref()
    }

    fn note(&mut self, count: usize, rows: impl Iterator<Item = Written>) {
        self.written = self
            .written
            .take()
            .filter(|written| written.len() + count <= WRITTEN_MAX);
        if let Some(written) = &mut self.written {
            written.extend(rows);
        }
    }
}

/// The record with changes that only this copy knows.
pub struct RecordCopy {
    store: Store,
    /// Changed rows by name; none: deleted.
    changed: BTreeMap<String, Option<Row>>,
    /// What the changed rows refer to.
    references: BTreeMap<String, Vec<String>>,
}

impl RecordCopy {
    /// A copy of what `store` holds.
    pub fn of(store: Store) -> Self {
        Self {
            store,
            changed: BTreeMap::new(),
            references: BTreeMap::new(),
        }
    }

    /// Rows as they are in this copy: the changed ones replaced, the deleted ones gone, and with them the new
    /// ones that stand in one of `scopes`.
    fn applied_to(&self, rows: Vec<Row>, scopes: &[String]) -> Vec<Row> {
        let unchanged = rows
            .into_iter()
            .filter(|row| !self.changed.contains_key(&row.name));
        let changed = self.changed.values().flatten();
        let within = changed.filter(|row| scopes.contains(&row.scope)).cloned();
        unchanged.chain(within).collect()
    }

    async fn get(&self, name: &str) -> Result<Option<Row>, StoreError> {
        match self.changed.get(name) {
            Some(row) => Ok(row.clone()),
            None => self.store.get(name).await,
        }
    }

    async fn many(&self, names: &[String]) -> Result<Vec<Row>, StoreError> {
        let mut rows = self.store.many(names).await?;
        rows.retain(|row| !self.changed.contains_key(&row.name));
        let changed = names.iter().filter_map(|name| self.changed.get(name)).flatten();
        rows.extend(changed.cloned());
        rows.sort_by(|left, right| left.name.cmp(&right.name));
        rows.dedup_by(|left, right| left.name == right.name);
        Ok(rows)
    }

    async fn descendants(&self, name: &str) -> Result<Vec<Row>, StoreError> {
        let mut rows = self.store.descendants(name).await?;
        rows.retain(|row| !self.changed.contains_key(&row.name));
        let below = format!("{name}/");
        let changed = self.changed.values().flatten();
        rows.extend(changed.filter(|row| row.name.starts_with(&below)).cloned());
        rows.sort_by_key(|row| std::cmp::Reverse(row.name.matches('/').count()));
        Ok(rows)
    }

    async fn referrers(&self, target: &str, limit: u32) -> Result<Vec<String>, StoreError> {
        let mut found = self.store.referrers(target, limit).await?;
        found.retain(|source| !self.changed.contains_key(source));
        let refers = |targets: &Vec<String>| targets.iter().any(|one| one == target);
        found.extend(
            self.references
                .iter()
                .filter(|(_, targets)| refers(targets))
                .map(|(source, _)| source.clone()),
        );
        Ok(found)
    }

    async fn insert(&mut self, row: &NewRow<'_>) -> Result<i64, StoreError> {
        if self.get(row.name).await?.is_some() {
            return Err(StoreError::AlreadyExists {
                name: row.name.to_owned(),
            });
        }
        self.changed.insert(row.name.to_owned(), Some(new_row(row)));
        Ok(1)
    }

    async fn update(&mut self, change: &Change<'_>) -> Result<i64, StoreError> {
        let before = self.expected(change.name, change.seen).await?;
        let row = changed_row(before, change.scope.to_owned(), change.body.to_vec(), change.time);
        let revision = row.revision;
        self.changed.insert(row.name.clone(), Some(row));
        Ok(revision)
    }

    async fn delete(&mut self, name: &str, seen: Seen) -> Result<(), StoreError> {
        self.expected(name, seen).await?;
        self.changed.insert(name.to_owned(), None);
        self.references.remove(name);
        Ok(())
    }

    async fn expected(&self, name: &str, seen: Seen) -> Result<Row, StoreError> {
        let row = self.get(name).await?;
        row.filter(|row| row.seen() == seen)
            .ok_or_else(|| StoreError::Stale {
                name: name.to_owned(),
            })
    }
}

impl Backing {
    /// One resource; none when there is none of that name.
    ///
    /// # Errors
    /// When the database cannot be read.
    pub async fn get(&mut self, name: &str) -> Result<Option<Row>, StoreError> {
        match self {
            Self::Database(writing) => writing.transaction.get(name).await,
            Self::Copy(copy) => copy.get(name).await,
        }
    }

    /// Those of `names` that exist, in the order of their names.
    ///
    /// # Errors
    /// When there are too many or the database cannot be read.
    pub async fn many(&mut self, names: &[String]) -> Result<Vec<Row>, StoreError> {
        match self {
            Self::Database(writing) => writing.transaction.many(names).await,
            Self::Copy(copy) => copy.many(names).await,
        }
    }

    /// The same and, at the same moment, what those of `sources` refer to. A copy has only `names`.
    ///
    /// # Errors
    /// As [`Backing::many`].
    pub async fn many_with_targets(
        &mut self,
        names: &[String],
        sources: &[String],
    ) -> Result<Vec<Row>, StoreError> {
        match self {
            Self::Database(writing) => writing.transaction.many_with_targets(names, sources).await,
            Self::Copy(copy) => copy.many(names).await,
        }
    }

    /// Every resource of `scopes`, and the revisions that the scopes have in the database.
    ///
    /// # Errors
    /// When the database cannot be read.
    pub async fn load(&mut self, scopes: &[String]) -> Result<Loaded, StoreError> {
        match self {
            Self::Database(writing) => writing.transaction.load(scopes).await,
            Self::Copy(copy) => {
                let Loaded { rows, revisions } = copy.store.load(scopes).await?;
                let rows = copy.applied_to(rows, scopes);
                Ok(Loaded { rows, revisions })
            }
        }
    }

    /// Every resource below `name`, however deep, the deepest first.
    ///
    /// # Errors
    /// When the database cannot be read.
    pub async fn descendants(&mut self, name: &str) -> Result<Vec<Row>, StoreError> {
        match self {
            Self::Database(writing) => writing.transaction.descendants(name).await,
            Self::Copy(copy) => copy.descendants(name).await,
        }
    }

    /// The names of the resources that refer to `target`, at most `limit` of those on record.
    ///
    /// # Errors
    /// When the database cannot be read.
    pub async fn referrers(&mut self, target: &str, limit: u32) -> Result<Vec<String>, StoreError> {
        match self {
            Self::Database(writing) => writing.transaction.referrers(target, limit).await,
            Self::Copy(copy) => copy.referrers(target, limit).await,
        }
    }

    /// Creates resources, in any order.
    ///
    /// # Errors
    /// For the first name that is taken, or when the database cannot be written.
    pub async fn insert_all(&mut self, rows: &[NewRow<'_>]) -> Result<(), StoreError> {
        match self {
            Self::Database(writing) => {
                writing.transaction.insert_all(rows).await?;
                writing.note(rows.len(), rows.iter().map(Written::new));
                Ok(())
            }
            Self::Copy(copy) => {
                for row in rows {
                    copy.insert(row).await?;
                }
                Ok(())
            }
        }
    }

    /// Creates a resource that refers to `targets`; whether its name is taken may show later.
    ///
    /// # Errors
    /// When the name is taken, or the database cannot be written.
    pub async fn create(&mut self, row: &NewRow<'_>, targets: &[String]) -> Result<(), StoreError> {
        match self {
            Self::Database(writing) => {
                writing.transaction.create(row, targets).await?;
                writing.note(1, std::iter::once_with(|| Written::new(row)));
                Ok(())
            }
            Self::Copy(copy) => {
                copy.insert(row).await?;
                copy.references.insert(row.name.to_owned(), targets.to_vec());
                Ok(())
            }
        }
    }

    /// Changes a resource and returns its new revision.
    ///
    /// # Errors
    /// When its revision is not the expected one or it is gone.
    pub async fn update(&mut self, change: &Change<'_>) -> Result<i64, StoreError> {
        match self {
            Self::Database(writing) => {
                let revision = writing.transaction.update(change).await?;
                writing.note(1, std::iter::once_with(|| Written::changed(change)));
                Ok(revision)
            }
            Self::Copy(copy) => copy.update(change).await,
        }
    }

    /// Deletes a resource.
    ///
    /// # Errors
    /// When its revision is not the expected one or it is gone.
    pub async fn delete(&mut self, name: &str, seen: Seen) -> Result<(), StoreError> {
        match self {
            Self::Database(writing) => {
                writing.transaction.delete(name, seen).await?;
                writing.note(1, std::iter::once_with(|| Written::Deleted(name.to_owned())));
                Ok(())
            }
            Self::Copy(copy) => copy.delete(name, seen).await,
        }
    }

    /// Makes each source refer to exactly its targets.
    ///
    /// # Errors
    /// When the database cannot be written.
    pub async fn set_all_references(&mut self, references: &[(&str, &[String])]) -> Result<(), StoreError> {
        match self {
            Self::Database(writing) => writing.transaction.set_all_references(references).await,
            Self::Copy(copy) => {
                for (source, targets) in references {
                    copy.references.insert((*source).to_owned(), targets.to_vec());
                }
                Ok(())
            }
        }
    }
}
