//! The first answer to every write that carried a request id, so that a repeat changes nothing.

use crate::StoreError;
use crate::batch::{Batch, Value};
use crate::db::{Connection, on};

/// A request that was carried out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StoredRequest {
    /// The method that was called.
    pub method: String,
    /// A digest of what was asked, to tell a repeat from another request under the same id.
    pub digest: Vec<u8>,
    /// The answer, encoded by the caller.
    pub response: Vec<u8>,
    /// When it was carried out, in microseconds since 1970, UTC.
    pub time: i64,
}

/// A request to keep, with its answer.
#[derive(Clone, Copy, Debug)]
pub struct NewRequest<'a> {
    /// Who asked. Request ids of different actors do not meet.
    pub actor: &'a str,
    /// The id the actor gave it; not empty.
    pub request_id: &'a str,
    /// The method that was called.
    pub method: &'a str,
    /// A digest of what was asked.
    pub digest: &'a [u8],
    /// The answer.
    pub response: &'a [u8],
    /// When, in microseconds since 1970, UTC.
    pub time: i64,
}

pub(crate) async fn get(
    connection: &mut Connection<'_>,
    actor: &str,
    request_id: &str,
) -> Result<Option<StoredRequest>, StoreError> {
    const SQL: &str =
        "SELECT method, digest, response, time FROM request WHERE actor = $1 AND request_id = $2";
    let found: Option<(String, Vec<u8>, Vec<u8>, i64)> = on!(connection, executor => {
        sqlx::query_as(SQL).bind(actor).bind(request_id).fetch_optional(executor).await
    })?;
    Ok(found.map(|(method, digest, response, time)| StoredRequest {
        method,
        digest,
        response,
        time,
    }))
}

/// Adds the id with its answer to what is written together, which fails when it is there already.
pub(crate) fn add<'a>(batch: &mut Batch<'a>, request: &NewRequest<'a>) {
    let row = [
        Value::Text(request.actor),
        Value::Text(request.request_id),
        Value::Text(request.method),
        Value::Bytes(request.digest),
        Value::Bytes(request.response),
        Value::Number(request.time),
    ];
    batch.insert(
        "request (actor, request_id, method, digest, response, time)",
        [row],
        "",
    );
}

/// Keeps the id with its answer. Of two transactions with one request id, the second waits here for the
/// first.
pub(crate) async fn record(
    connection: &mut Connection<'_>,
    request: &NewRequest<'_>,
) -> Result<(), StoreError> {
    let mut batch = Batch::default();
    add(&mut batch, request);
    batch
        .execute(connection, |_| Some(StoreError::RequestRepeated))
        .await
}

/// Forgets at most `limit` of the answers given before `time`, the oldest first, and says how many.
pub(crate) async fn forget(
    connection: &mut Connection<'_>,
    time: i64,
    limit: u32,
) -> Result<u64, StoreError> {
    const SQL: &str = "DELETE FROM request WHERE (actor, request_id) IN
        (SELECT actor, request_id FROM request WHERE time < $1 ORDER BY time LIMIT $2)";
    on!(connection, executor => {
        sqlx::query(SQL)
            .bind(time)
            .bind(i64::from(limit))
            .execute(executor)
            .await
            .map(|result| result.rows_affected())
    })
}
