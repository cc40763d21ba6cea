//! Counting up how often each scope has changed: what a result computed from it is cached by.

use std::collections::{BTreeMap, BTreeSet};

use sqlx::AssertSqlSafe;

use crate::StoreError;
use crate::batch::{Batch, Value};
use crate::db::{Connection, on};
use crate::sql::{chunks, keep_prepared, values};

/// Adds the counting up of every scope to what is written together, in the order of their names as [`bump`] has it.
pub(crate) fn add<'a>(batch: &mut Batch<'a>, scopes: &'a BTreeSet<String>) {
    let rows = scopes.iter().map(|scope| [Value::Text(scope), Value::Number(1)]);
    batch.insert(
        "revision (scope, value)",
        rows,
        "ON CONFLICT (scope) DO UPDATE SET value = revision.value + 1",
    );
}

/// Counts every scope one up and returns what it is then.
///
/// In the order of their names, so that two writers of the same scopes wait for each other instead
/// of holding each other up for good.
pub(crate) async fn bump(
    connection: &mut Connection<'_>,
    scopes: &BTreeSet<String>,
) -> Result<BTreeMap<String, i64>, StoreError> {
    let scopes: Vec<&str> = scopes.iter().map(String::as_str).collect();
    let mut bumped = BTreeMap::new();
    for chunk in chunks(&scopes, |scope| scope.len()) {
        let sql = format!(
            "INSERT INTO revision (scope, value) VALUES {}
             ON CONFLICT (scope) DO UPDATE SET value = revision.value + 1 RETURNING scope, value",
            values(chunk.len(), 2)
        );
        let values: Vec<(String, i64)> = on!(&mut *connection, executor => {
            let mut query = sqlx::query_as(AssertSqlSafe(sql)).persistent(keep_prepared(chunk.len()));
            for scope in chunk {
                query = query.bind(scope).bind(1_i64);
            }
            query.fetch_all(executor).await
        })?;
        bumped.extend(values);
    }
    Ok(bumped)
}
