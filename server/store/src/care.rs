//! Looking after a database: a copy of it while it is in use, and what it finds wrong with itself.

use std::path::Path;

use crate::StoreError;
use crate::db::{Held, on};
use crate::error::classify;
use crate::store::Store;

impl Store {
    /// Copies the database as it is at one moment into the new file `path`, while others read and write. The copy is a
    /// database of its own, to be opened in the place of this one.
    ///
    /// # Errors
    /// [`StoreError::NotOfThisDatabase`] on PostgreSQL, which brings its own means; when the file is there already or
    /// cannot be written.
    pub async fn copy_to(&self, path: &Path) -> Result<(), StoreError> {
        // A connection to read from is not allowed to write, not even elsewhere.
        let mut held = self.db.write().await?;
        match &mut held {
            Held::Postgres(_) => Err(StoreError::NotOfThisDatabase {
                asked: "a copy into a file",
            }),
            Held::Sqlite(connection) => sqlx::query("VACUUM INTO $1")
                .bind(path.to_string_lossy().into_owned())
                .execute(&mut **connection)
                .await
                .map(drop)
                .map_err(classify),
        }
    }

    /// What the database finds wrong with its own pages, indexes and references. Empty: nothing. PostgreSQL is not asked:
    /// it checks the pages that it reads, and `pg_amcheck` checks the rest.
    ///
    /// # Errors
    /// When the database cannot be read at all.
    pub async fn own_faults(&self) -> Result<Vec<String>, StoreError> {
        let mut held = self.db.read().await?;
        let Held::Sqlite(connection) = &mut held else {
            return Ok(Vec::new());
        };
        let pages: Vec<(String,)> = sqlx::query_as("PRAGMA integrity_check(100)")
            .fetch_all(&mut **connection)
            .await
            .map_err(classify)?;
        let references: Vec<(String, Option<i64>)> =
            sqlx::query_as("SELECT \"table\", rowid FROM pragma_foreign_key_check LIMIT 100")
                .fetch_all(&mut **connection)
                .await
                .map_err(classify)?;
        let pages = pages.into_iter().map(|(said,)| said).filter(|said| said != "ok");
        let references = references.into_iter().map(|(table, row)| match row {
            Some(row) => format!("row {row} of {table} refers to something missing"),
            None => format!("a row of {table} refers to something missing"),
        });
        Ok(pages.chain(references).collect())
    }

    /// Every fleet that there is or ever was, by name.
    ///
    /// # Errors
    /// When the database cannot be read.
    pub async fn fleets_ever(&self) -> Result<Vec<String>, StoreError> {
        const SQL: &str = "SELECT fleet FROM history UNION SELECT fleet FROM seal
            UNION SELECT name FROM resource WHERE parent IS NULL ORDER BY 1";
        let mut held = self.db.read().await?;
        let mut connection = held.connection();
        let found: Vec<(String,)> =
            on!(&mut connection, executor => sqlx::query_as(SQL).fetch_all(executor).await)?;
        Ok(found.into_iter().map(|(fleet,)| fleet).collect())
    }
}
