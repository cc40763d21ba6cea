//! Several statements that write, sent as one.
//!
//! A round trip to a database costs more than most statements do. PostgreSQL takes one statement at a time, so there they become
//! one: all but the first in a `WITH`, none of which sees what another has done. SQLite takes them as they are, one after
//! the other. What is put together here must not depend on the difference: no statement reads or changes what another one of the
//! same batch writes.

use sqlx::AssertSqlSafe;
use sqlx::error::ErrorKind;

use crate::StoreError;
use crate::db::{Connection, on_plainly};
use crate::error::classify;
use crate::sql::keep_prepared;

/// A value to bind.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Value<'a> {
    Text(&'a str),
    OptionalText(Option<&'a str>),
    Number(i64),
    Bytes(&'a [u8]),
    OptionalBytes(Option<&'a [u8]>),
}

/// Statements in the making.
#[derive(Debug, Default)]
pub(crate) struct Batch<'a> {
    statements: Vec<String>,
    values: Vec<Value<'a>>,
    rows: usize,
}

impl<'a> Batch<'a> {
    pub(crate) fn is_empty(&self) -> bool {
        self.statements.is_empty()
    }

    /// Adds `INSERT INTO` `into` with these rows, `then` what follows them. Nothing without rows.
    pub(crate) fn insert<const COLUMNS: usize>(
        &mut self,
        into: &str,
        rows: impl IntoIterator<Item = [Value<'a>; COLUMNS]>,
        then: &str,
    ) {
        let mut tuples: Vec<String> = Vec::new();
        for row in rows {
            let first = self.values.len() + 1;
            let numbers: Vec<String> = (first..first + COLUMNS)
                .map(|number| format!("${number}"))
                .collect();
            tuples.push(format!("({})", numbers.join(", ")));
            self.values.extend(row);
        }
        if !tuples.is_empty() {
            self.rows += tuples.len();
            self.statements
                .push(format!("INSERT INTO {into} VALUES {} {then}", tuples.join(", ")));
        }
    }

    /// Carries them out. `taken` is what it means that something is there already.
    pub(crate) async fn execute(
        self,
        connection: &mut Connection<'_>,
        taken: impl FnOnce(&str) -> Option<StoreError>,
    ) -> Result<(), StoreError> {
        if self.is_empty() {
            return Ok(());
        }
        let sql = self.sql(connection);
        let kept = keep_prepared(self.rows);
        let outcome = on_plainly!(connection, executor => {
            let mut query = sqlx::query(AssertSqlSafe(sql)).persistent(kept);
            for value in self.values {
                query = match value {
                    Value::Text(text) => query.bind(text),
                    Value::OptionalText(text) => query.bind(text),
                    Value::Number(number) => query.bind(number),
                    Value::Bytes(bytes) => query.bind(bytes),
                    Value::OptionalBytes(bytes) => query.bind(bytes),
                };
            }
            query.execute(executor).await.map(drop)
        });
        outcome.map_err(|error| {
            let known = match &error {
                sqlx::Error::Database(said) if said.kind() == ErrorKind::UniqueViolation => {
                    // PostgreSQL names the table, SQLite says it in its message.
                    taken(said.table().unwrap_or_else(|| said.message()))
                }
                _ => None,
            };
            known.unwrap_or_else(|| classify(error))
        })
    }

    fn sql(&self, connection: &Connection<'_>) -> String {
        match (connection, self.statements.as_slice()) {
            (Connection::Sqlite(_), all) => all.join("; "),
            // Backwards: as it happens, PostgreSQL then carries them out in their order, so that the rows that others wait for,
            // which come last, are held for the shortest time.
            (Connection::Postgres(_), [first, others @ ..]) if !others.is_empty() => {
                let others = others.iter().rev().enumerate();
                let with: Vec<String> = others
                    .map(|(index, statement)| format!("w{index} AS ({statement})"))
                    .collect();
                format!("WITH {} {first}", with.join(", "))
            }
            (Connection::Postgres(_), all) => all.concat(),
        }
    }
}
