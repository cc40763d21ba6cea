//! Substitutions recorded a second, against the bare commits of two statements that the same database
//! makes durable a second, by as many at the same time.

use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

use ostler_proto::v1::substitution_service_client::SubstitutionServiceClient;
use ostler_proto::v1::{RecordSubstitutionRequest, Replacement, Substitution};
use ostler_tests::postgres::Cluster;
use ostler_tests::process::{AuthorizedChannel, Launch, Server, admin_token};
use sqlx::postgres::{PgPool, PgPoolOptions};
use sqlx::sqlite::{
    SqliteConnectOptions, SqliteJournalMode, SqlitePool, SqlitePoolOptions, SqliteSynchronous,
};

use crate::Figure;
use crate::load::{Fault, rate};
use crate::reading::import;

const CALLERS: u32 = 8;

/// A fleet with a vehicle for each caller: several people at several vehicles.
pub(crate) fn yard() -> String {
    let mut file = "fleet_file: 1
fleet: {id: yard, display_name: Yard}
parts:
  lamp-a: {display_name: lamp A, kind: lamp}
  lamp-b: {display_name: lamp B, kind: lamp}
vehicles:
"
    .to_owned();
    for caller in 0..CALLERS {
        file.push_str(&format!(
            "  rig-{caller}:
    display_name: Rig {caller}
    specification:
      wheelbase_mm: 2900
      slots: [{{id: lamp, system: electrical}}]
    fitments:
      lamp: {{part: lamp-a}}
"
        ));
    }
    file
}

/// Two rows as a write with its history makes them, without everything else that makes it true.
const TABLES: &str = "CREATE TABLE thing (body TEXT NOT NULL); CREATE TABLE change (body TEXT NOT NULL);";
const STATEMENTS: [&str; 2] = ["INSERT INTO thing VALUES ($1)", "INSERT INTO change VALUES ($1)"];
const BODY_BYTES: usize = 300;

/// Records one substitution after the other in the [`yard`].
#[derive(Clone, Default)]
pub(crate) struct Recorder {
    count: Arc<AtomicU64>,
}

impl Recorder {
    /// Records one at the vehicle of `caller`.
    pub(crate) async fn record(&self, channel: AuthorizedChannel, caller: u32) -> Result<(), Fault> {
        let number = self.count.fetch_add(1, Ordering::Relaxed);
        let request = RecordSubstitutionRequest {
            parent: "fleets/yard".to_owned(),
            substitution_id: format!("s{number}"),
            substitution: Some(Substitution {
                vehicle: format!("fleets/yard/vehicles/rig-{caller}"),
                replacements: vec![Replacement {
                    slot: "lamp".to_owned(),
                    incoming_part: "fleets/yard/parts/lamp-b".to_owned(),
                    ..Default::default()
                }],
                ..Default::default()
            }),
            request_id: format!("00000000-0000-4000-8000-{number:012x}"),
            ..Default::default()
        };
        SubstitutionServiceClient::new(channel)
            .record_substitution(request)
            .await?;
        Ok(())
    }
}

/// Substitutions a second: every caller at a vehicle of its own, and all of them at one.
struct Substitutions {
    apart: f64,
    together: f64,
}

async fn substitutions(launch: Launch, data_folder: &std::path::Path) -> Result<Substitutions, Fault> {
    let server = Server::start(launch.variable("OSTLERD_LOG", "warn")).await;
    let token = admin_token(data_folder);
    import(server.authorized(&token).await?, yard().into()).await?;
    let recorder = Recorder::default();
    let mut channels = Vec::new();
    for _ in 0..CALLERS {
        channels.push(server.authorized(&token).await?);
    }
    let callers = |apart: bool| {
        let callers = (0..CALLERS).zip(&channels).map(|(caller, channel)| {
            let (recorder, channel) = (recorder.clone(), channel.clone());
            let vehicle = if apart { caller } else { 0 };
            move || {
                let (recorder, channel) = (recorder.clone(), channel.clone());
                async move { recorder.record(channel, vehicle).await }
            }
        });
        callers.collect()
    };
    Ok(Substitutions {
        apart: rate(callers(true)).await?,
        together: rate(callers(false)).await?,
    })
}

fn print(found: &Substitutions, reference: f64, names: [&'static str; 2], reference_name: &'static str) {
    for (name, value) in names.into_iter().zip([found.apart, found.together]) {
        Figure {
            name,
            value,
            unit: "1/s",
            reference,
            reference_name,
        }
        .print();
    }
}

async fn sqlite_commit(pool: SqlitePool) -> Result<(), Fault> {
    let mut transaction = pool.begin_with("BEGIN IMMEDIATE").await?;
    for statement in STATEMENTS {
        sqlx::query(statement)
            .bind("x".repeat(BODY_BYTES))
            .execute(&mut *transaction)
            .await?;
    }
    Ok(transaction.commit().await?)
}

async fn postgres_commit(pool: PgPool) -> Result<(), Fault> {
    let mut transaction = pool.begin().await?;
    for statement in STATEMENTS {
        sqlx::query(statement)
            .bind("x".repeat(BODY_BYTES))
            .execute(&mut *transaction)
            .await?;
    }
    Ok(transaction.commit().await?)
}

/// Commits a second of a SQLite file as the server opens its own: one writer, WAL, every commit on disk.
async fn sqlite_commits(folder: &std::path::Path) -> Result<f64, Fault> {
    let options = SqliteConnectOptions::new()
        .filename(folder.join("bare.sqlite"))
        .create_if_missing(true)
        .journal_mode(SqliteJournalMode::Wal)
        .synchronous(SqliteSynchronous::Full);
    let pool = SqlitePoolOptions::new()
        .max_connections(1)
        .connect_with(options)
        .await?;
    sqlx::raw_sql(TABLES).execute(&pool).await?;
    rate(
        (0..CALLERS)
            .map(|_| {
                let pool = pool.clone();
                move || sqlite_commit(pool.clone())
            })
            .collect(),
    )
    .await
}

async fn postgres_commits(url: &str) -> Result<f64, Fault> {
    let pool = PgPoolOptions::new()
        .max_connections(CALLERS)
        .test_before_acquire(false)
        .connect(url)
        .await?;
    sqlx::raw_sql(TABLES).execute(&pool).await?;
    rate(
        (0..CALLERS)
            .map(|_| {
                let pool = pool.clone();
                move || postgres_commit(pool.clone())
            })
            .collect(),
    )
    .await
}

/// Measures and prints.
///
/// # Errors
/// When a call fails.
pub(crate) async fn measure() -> Result<(), Fault> {
    let folder = tempfile::tempdir()?;
    let reference = sqlite_commits(folder.path()).await?;
    let found = substitutions(Launch::on(folder.path()), folder.path()).await?;
    let names = [
        "substitution_tx_per_s_sqlite",
        "substitution_tx_per_s_sqlite_one_vehicle",
    ];
    print(&found, reference, names, "bare_tx_per_s_sqlite");

    let folder = tempfile::tempdir()?;
    let cluster = Cluster::start(true);
    let reference = postgres_commits(&cluster.empty_database().await).await?;
    let launch = Launch::on(folder.path()).database(&cluster.empty_database().await);
    let found = substitutions(launch, folder.path()).await?;
    let names = [
        "substitution_tx_per_s_postgres",
        "substitution_tx_per_s_postgres_one_vehicle",
    ];
    print(&found, reference, names, "bare_tx_per_s_postgres");
    Ok(())
}
