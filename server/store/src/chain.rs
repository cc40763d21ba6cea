//! The chain of seals over the history of each fleet: sealing what waits, and reading it.

use std::collections::BTreeMap;

use sqlx::AssertSqlSafe;

use crate::db::{Connection, on};
use crate::error::{classify, classify_commit};
use crate::history::{COLUMNS, Columns};
use crate::seal::{NOTHING_BEFORE, SEAL_BYTES, seal};
use crate::sql::{chunks, keep_prepared, values};
use crate::{HistoryEntry, Store, StoreError};

/// One sealer works at a time: "seal" in ASCII, the same for every server.
const SEAL_LOCK: i64 = 0x7365_616c;

/// The end of a fleet's chain.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Head {
    /// Its position; the first entry of a chain has 1.
    pub position: i64,
    /// Its seal.
    pub seal: [u8; SEAL_BYTES],
}

/// One place of a chain.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Link {
    /// Its position.
    pub position: i64,
    /// Its seal, as it stands there.
    pub seal: Vec<u8>,
    /// The number of the entry that was sealed there.
    pub sequence: i64,
    /// That entry; none when it is gone.
    pub entry: Option<HistoryEntry>,
}

/// A row of seals beside the row of history that it seals, which may be missing.
type LinkColumns = (
    i64,
    Vec<u8>,
    i64,
    Option<String>,
    Option<String>,
    Option<String>,
    Option<i64>,
    Option<String>,
    Option<String>,
    Option<String>,
    Option<Vec<u8>>,
    Option<Vec<u8>>,
);

impl Store {
    /// Seals entries that were committed and wait, at most `most`, in the order of their numbers, and says how many they
    /// were. 0: none waits, or another sealer is at work on this database. Of an entry it is either all or nothing: a sealer
    /// that is killed leaves them waiting for the next.
    ///
    /// # Errors
    /// When the database cannot be written.
    pub async fn seal_waiting(&self, most: u32) -> Result<usize, StoreError> {
        if !anything_waits(&mut self.db.read().await?.connection()).await? {
            return Ok(0);
        }
        let mut begun = self.db.begin().await?;
        let count = {
            let mut connection = begun.connection();
            match alone(&mut connection).await? {
                true => seal_in(&mut connection, most).await?,
                false => 0,
            }
        };
        if count > 0 {
            begun.commit().await.map_err(classify_commit)?;
        }
        Ok(count)
    }

    /// The end of a fleet's chain; none when nothing of it is sealed.
    ///
    /// # Errors
    /// When the database cannot be read.
    pub async fn head(&self, fleet: &str) -> Result<Option<Head>, StoreError> {
        head(&mut self.db.read().await?.connection(), fleet).await
    }

    /// A page of a fleet's chain in order, from after `position` on, whatever has become of it.
    ///
    /// # Errors
    /// When the database cannot be read.
    pub async fn chain(&self, fleet: &str, position: i64, limit: u32) -> Result<Vec<Link>, StoreError> {
        const SQL: &str = "SELECT seal.position, seal.hash, seal.sequence, history.fleet, resource, kind, time, actor, action,
            request_id, before, after FROM seal LEFT JOIN history ON history.sequence = seal.sequence
            WHERE seal.fleet = $1 AND seal.position > $2 ORDER BY seal.position LIMIT $3";
        let mut held = self.db.read().await?;
        let mut connection = held.connection();
        let found: Vec<LinkColumns> = on!(&mut connection, executor => {
            sqlx::query_as(SQL).bind(fleet).bind(position).bind(i64::from(limit)).fetch_all(executor).await
        })?;
        Ok(found.into_iter().map(Link::from).collect())
    }

    /// How many entries of a fleet wait for their seal.
    ///
    /// # Errors
    /// When the database cannot be read.
    pub async fn unsealed_count(&self, fleet: &str) -> Result<usize, StoreError> {
        const SQL: &str = "SELECT COUNT(*) FROM unsealed JOIN history ON history.sequence = unsealed.sequence
            WHERE history.fleet = $1";
        let mut held = self.db.read().await?;
        let mut connection = held.connection();
        let count: i64 =
            on!(&mut connection, executor => sqlx::query_scalar(SQL).bind(fleet).fetch_one(executor).await)?;
        Ok(usize::try_from(count).unwrap_or_default())
    }

    /// The numbers of entries of a fleet that are neither sealed nor wait for it, at most `limit`: none was ever written so.
    ///
    /// # Errors
    /// When the database cannot be read.
    pub async fn outside_of_chain(&self, fleet: &str, limit: u32) -> Result<Vec<i64>, StoreError> {
        const SQL: &str = "SELECT sequence FROM history WHERE fleet = $1
            AND NOT EXISTS (SELECT 1 FROM seal WHERE seal.sequence = history.sequence)
            AND NOT EXISTS (SELECT 1 FROM unsealed WHERE unsealed.sequence = history.sequence)
            ORDER BY sequence LIMIT $2";
        let mut held = self.db.read().await?;
        let mut connection = held.connection();
        on!(&mut connection, executor => {
            sqlx::query_scalar(SQL).bind(fleet).bind(i64::from(limit)).fetch_all(executor).await
        })
    }

    /// The numbers of entries that wait for their seal and are gone, at most `limit`.
    ///
    /// # Errors
    /// When the database cannot be read.
    pub async fn gone_unsealed(&self, limit: u32) -> Result<Vec<i64>, StoreError> {
        const SQL: &str = "SELECT sequence FROM unsealed
            WHERE NOT EXISTS (SELECT 1 FROM history WHERE history.sequence = unsealed.sequence)
            ORDER BY sequence LIMIT $1";
        let mut held = self.db.read().await?;
        let mut connection = held.connection();
        on!(&mut connection, executor => sqlx::query_scalar(SQL).bind(i64::from(limit)).fetch_all(executor).await)
    }
}

impl From<LinkColumns> for Link {
    fn from(columns: LinkColumns) -> Self {
        let (position, seal, sequence, fleet, resource, kind, time, actor, action, request_id, before, after) =
            columns;
        // All of these are there, or the row is not.
        let entry = fleet
            .zip(resource)
            .zip(kind)
            .zip(time)
            .zip(actor)
            .zip(action)
            .map(
                |(((((fleet, resource), kind), time), actor), action)| HistoryEntry {
                    sequence,
                    fleet,
                    resource,
                    kind,
                    time,
                    actor,
                    action,
                    request_id,
                    before,
                    after,
                    position: Some(position),
                    seal: Some(seal.clone()),
                },
            );
        Self {
            position,
            seal,
            sequence,
            entry,
        }
    }
}

async fn anything_waits(connection: &mut Connection<'_>) -> Result<bool, StoreError> {
    const SQL: &str = "SELECT sequence FROM unsealed LIMIT 1";
    let found: Option<i64> =
        on!(connection, executor => sqlx::query_scalar(SQL).fetch_optional(executor).await)?;
    Ok(found.is_some())
}

/// Whether no other sealer is at work. SQLite lets one writer in at a time anyway.
async fn alone(connection: &mut Connection<'_>) -> Result<bool, StoreError> {
    let Connection::Postgres(connection) = connection else {
        return Ok(true);
    };
    // What the lock's last holder committed is seen by every statement after this one (READ COMMITTED).
    sqlx::query_scalar("SELECT pg_try_advisory_xact_lock($1)")
        .bind(SEAL_LOCK)
        .fetch_one(&mut **connection)
        .await
        .map_err(classify)
}

async fn seal_in(connection: &mut Connection<'_>, most: u32) -> Result<usize, StoreError> {
    let waiting = waiting(connection, most).await?;
    let mut heads: BTreeMap<&str, Head> = BTreeMap::new();
    let mut sealed: Vec<(&str, i64, i64, Vec<u8>)> = Vec::with_capacity(waiting.len());
    for entry in &waiting {
        let before = match heads.get(entry.fleet.as_str()) {
            Some(head) => *head,
            None => head(connection, &entry.fleet).await?.unwrap_or(Head {
                position: 0,
                seal: NOTHING_BEFORE,
            }),
        };
        let position = before.position + 1;
        let seal = seal(&before.seal, position, entry);
        heads.insert(&entry.fleet, Head { position, seal });
        sealed.push((&entry.fleet, position, entry.sequence, seal.to_vec()));
    }
    for chunk in chunks(&sealed, |_| SEAL_BYTES) {
        let sql = format!(
            "INSERT INTO seal (fleet, position, sequence, hash) VALUES {}",
            values(chunk.len(), 4)
        );
        on!(&mut *connection, executor => {
            let mut query = sqlx::query(AssertSqlSafe(sql)).persistent(keep_prepared(chunk.len()));
            for (fleet, position, sequence, seal) in chunk {
                query = query.bind(*fleet).bind(*position).bind(*sequence).bind(seal.as_slice());
            }
            query.execute(executor).await.map(drop)
        })?;
        // `(…)` of one row is the list of its numbers.
        let sql = format!(
            "DELETE FROM unsealed WHERE sequence IN {}",
            values(1, chunk.len())
        );
        on!(&mut *connection, executor => {
            let mut query = sqlx::query(AssertSqlSafe(sql)).persistent(keep_prepared(chunk.len()));
            for (_, _, sequence, _) in chunk {
                query = query.bind(*sequence);
            }
            query.execute(executor).await.map(drop)
        })?;
    }
    Ok(sealed.len())
}

/// The first entries that wait. What waits and is gone holds up nothing behind it.
async fn waiting(connection: &mut Connection<'_>, most: u32) -> Result<Vec<HistoryEntry>, StoreError> {
    const NUMBERS: &str = "SELECT sequence FROM unsealed WHERE sequence > $1 ORDER BY sequence LIMIT $2";
    let mut after = i64::MIN;
    loop {
        let numbers: Vec<i64> = on!(&mut *connection, executor => {
            sqlx::query_scalar(NUMBERS).bind(after).bind(i64::from(most)).fetch_all(executor).await
        })?;
        let Some(last) = numbers.last() else {
            return Ok(Vec::new());
        };
        after = *last;
        // By their numbers, not by a join: a database that knows little about the small table may read the large one whole.
        let sql = format!(
            "SELECT {COLUMNS} FROM history LEFT JOIN seal ON seal.sequence = history.sequence
            WHERE history.sequence IN {} ORDER BY history.sequence",
            values(1, numbers.len())
        );
        let found: Vec<Columns> = on!(&mut *connection, executor => {
            let mut query = sqlx::query_as(AssertSqlSafe(sql)).persistent(numbers.len() == 1);
            for number in &numbers {
                query = query.bind(*number);
            }
            query.fetch_all(executor).await
        })?;
        if !found.is_empty() {
            return Ok(found.into_iter().map(HistoryEntry::from).collect());
        }
    }
}

pub(crate) async fn head(connection: &mut Connection<'_>, fleet: &str) -> Result<Option<Head>, StoreError> {
    const SQL: &str = "SELECT position, hash FROM seal WHERE fleet = $1 ORDER BY position DESC LIMIT 1";
    let found: Option<(i64, Vec<u8>)> = on!(connection, executor => {
        sqlx::query_as(SQL).bind(fleet).fetch_optional(executor).await
    })?;
    let Some((position, hash)) = found else {
        return Ok(None);
    };
    let seal = hash.as_slice().try_into().map_err(|_| StoreError::Corrupt {
        source: "a seal is not 32 bytes long".into(),
    })?;
    Ok(Some(Head { position, seal }))
}
