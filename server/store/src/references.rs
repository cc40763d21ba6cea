//! Which resource names which other.

use std::collections::BTreeSet;

use sqlx::AssertSqlSafe;

use crate::StoreError;
use crate::batch::{Batch, Value};
use crate::db::{Connection, on};
use crate::sql::{MAX_NAMES, Names, chunks, keep_prepared, values};

/// The names of the resources that refer to `target`, in order, at most `limit`.
pub(crate) async fn referrers(
    connection: &mut Connection<'_>,
    target: &str,
    limit: u32,
) -> Result<Vec<String>, StoreError> {
    const SQL: &str = "SELECT source FROM reference WHERE target = $1 ORDER BY source LIMIT $2";
    on!(connection, executor => {
        sqlx::query_scalar(SQL).bind(target).bind(i64::from(limit)).fetch_all(executor).await
    })
}

/// Makes each source refer to exactly its targets. A target named twice counts once. Those of `old` may refer to something
/// already; the others must not.
pub(crate) async fn set(
    connection: &mut Connection<'_>,
    old: &[String],
    references: &[(&str, &[String])],
) -> Result<(), StoreError> {
    for sources in old.chunks(MAX_NAMES) {
        clear(connection, sources).await?;
    }
    let pairs: BTreeSet<(&str, &str)> = references
        .iter()
        .flat_map(|(source, targets)| targets.iter().map(|target| (*source, target.as_str())))
        .collect();
    let pairs: Vec<(&str, &str)> = pairs.into_iter().collect();
    for chunk in chunks(&pairs, |(source, target)| source.len() + target.len()) {
        let sql = format!(
            "INSERT INTO reference (source, target) VALUES {}",
            values(chunk.len(), 2)
        );
        on!(&mut *connection, executor => {
            let mut query = sqlx::query(AssertSqlSafe(sql)).persistent(keep_prepared(chunk.len()));
            for (source, target) in chunk {
                query = query.bind(source).bind(target);
            }
            query.execute(executor).await.map(drop)
        })?;
    }
    Ok(())
}

/// Adds references that are not there yet to what is written together. Their number is rounded up to a power of two by repeating
/// the last, so that a connection keeps few statements.
pub(crate) fn add<'a>(batch: &mut Batch<'a>, pairs: &'a BTreeSet<(String, String)>) {
    let last = pairs.last();
    let padded = match pairs.len() {
        0 => 0,
        count => count.next_power_of_two(),
    };
    let rows = pairs
        .iter()
        .chain(last.into_iter().cycle())
        .take(padded)
        .map(|(source, target)| [Value::Text(source), Value::Text(target)]);
    batch.insert(
        "reference (source, target)",
        rows,
        "ON CONFLICT (source, target) DO NOTHING",
    );
}

async fn clear(connection: &mut Connection<'_>, sources: &[String]) -> Result<(), StoreError> {
    let sources = Names::new(sources)?;
    let sql = format!(
        "DELETE FROM reference WHERE source IN ({})",
        sources.placeholders()
    );
    on!(connection, executor => {
        let mut query = sqlx::query(AssertSqlSafe(sql));
        for source in sources.iter() {
            query = query.bind(source);
        }
        query.execute(executor).await.map(drop)
    })
}
