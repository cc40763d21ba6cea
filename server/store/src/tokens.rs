//! Access tokens. The store never sees a token, only its SHA-256 hash.

use crate::StoreError;
use crate::db::{Connection, on};

/// An access token.
#[derive(Clone, PartialEq, Eq)]
pub struct Token {
    /// What the token is called in lists and in the history.
    pub id: String,
    /// The SHA-256 hash of the token, 32 bytes.
    pub hash: Vec<u8>,
    /// Whose it is, for people.
    pub display_name: String,
    /// What its holder may do; the store does not look into it.
    pub role: String,
    /// When it was made, in microseconds since 1970, UTC.
    pub create_time: i64,
    /// From when on it is no longer good; none for never. Judged by the caller.
    pub expire_time: Option<i64>,
    /// From when on it was withdrawn; none while it is good. Judged by the caller.
    pub revoke_time: Option<i64>,
    /// Names of the fleets it is limited to; empty: not limited. Judged by the caller.
    pub fleets: Vec<String>,
    /// Names of the vehicles it is limited to; empty: not limited. Judged by the caller.
    pub vehicles: Vec<String>,
    /// When it was last used, to the minute; none before it was.
    pub last_use_time: Option<i64>,
}

/// Without the hash, which belongs in no log.
impl std::fmt::Debug for Token {
    fn fmt(&self, formatter: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let Self {
            id,
            hash: _,
            display_name,
            role,
            create_time,
            expire_time,
            revoke_time,
            fleets,
            vehicles,
            last_use_time,
        } = self;
        formatter
            .debug_struct("Token")
            .field("id", id)
            .field("display_name", display_name)
            .field("role", role)
            .field("create_time", create_time)
            .field("expire_time", expire_time)
            .field("revoke_time", revoke_time)
            .field("fleets", fleets)
            .field("vehicles", vehicles)
            .field("last_use_time", last_use_time)
            .finish_non_exhaustive()
    }
}

type Columns = (
    String,
    Vec<u8>,
    String,
    String,
    i64,
    Option<i64>,
    Option<i64>,
    String,
    String,
    Option<i64>,
);

impl From<Columns> for Token {
    fn from(columns: Columns) -> Self {
        let (id, hash, display_name, role, create_time, expire_time, revoke_time, fleets, vehicles, last) =
            columns;
        let names = |text: &str| text.lines().map(str::to_owned).collect();
        Self {
            id,
            hash,
            display_name,
            role,
            create_time,
            expire_time,
            revoke_time,
            fleets: names(&fleets),
            vehicles: names(&vehicles),
            last_use_time: last,
        }
    }
}

pub(crate) async fn by_hash(
    connection: &mut Connection<'_>,
    hash: &[u8],
) -> Result<Option<Token>, StoreError> {
    const SQL: &str = "SELECT id, hash, display_name, role, create_time, expire_time, revoke_time, fleets, vehicles, last_use_time
        FROM token WHERE hash = $1";
    let found: Option<Columns> =
        on!(connection, executor => sqlx::query_as(SQL).bind(hash).fetch_optional(executor).await)?;
    Ok(found.map(Token::from))
}

/// Every token, revoked ones too, oldest first.
pub(crate) async fn all(connection: &mut Connection<'_>) -> Result<Vec<Token>, StoreError> {
    const SQL: &str = "SELECT id, hash, display_name, role, create_time, expire_time, revoke_time, fleets, vehicles, last_use_time
        FROM token ORDER BY create_time, id";
    let found: Vec<Columns> = on!(connection, executor => sqlx::query_as(SQL).fetch_all(executor).await)?;
    Ok(found.into_iter().map(Token::from).collect())
}

pub(crate) async fn add(connection: &mut Connection<'_>, token: &Token) -> Result<(), StoreError> {
    const SQL: &str =
        "INSERT INTO token (id, hash, display_name, role, create_time, expire_time, revoke_time, fleets, vehicles)
        VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9) ON CONFLICT DO NOTHING";
    let added = on!(connection, executor => {
        sqlx::query(SQL)
            .bind(&token.id)
            .bind(&token.hash)
            .bind(&token.display_name)
            .bind(&token.role)
            .bind(token.create_time)
            .bind(token.expire_time)
            .bind(token.revoke_time)
            .bind(token.fleets.join("\n"))
            .bind(token.vehicles.join("\n"))
            .execute(executor)
            .await
            .map(|result| result.rows_affected())
    })?;
    if added == 0 {
        Err(StoreError::AlreadyExists {
            name: token.id.clone(),
        })
    } else {
        Ok(())
    }
}

/// Whether there is such a token. One that was revoked before keeps its earlier time.
pub(crate) async fn revoke(connection: &mut Connection<'_>, id: &str, time: i64) -> Result<bool, StoreError> {
    const SQL: &str = "UPDATE token SET revoke_time = COALESCE(revoke_time, $2) WHERE id = $1";
    on!(connection, executor => {
        sqlx::query(SQL).bind(id).bind(time).execute(executor).await.map(|result| result.rows_affected() > 0)
    })
}

/// Notes when a token was used. A later time that is there already stays.
pub(crate) async fn note_use(connection: &mut Connection<'_>, id: &str, time: i64) -> Result<(), StoreError> {
    const SQL: &str = "UPDATE token SET last_use_time = $2 WHERE id = $1 AND COALESCE(last_use_time, 0) < $2";
    on!(connection, executor => {
        sqlx::query(SQL).bind(id).bind(time).execute(executor).await.map(drop)
    })
}
