//! The same calls on a small record and on a large one: 10,000 more vehicles and a million entries of history.

use std::path::Path;
use std::time::Duration;

use ostler_proto::v1::history_service_client::HistoryServiceClient;
use ostler_proto::v1::readiness_service_client::ReadinessServiceClient;
use ostler_proto::v1::vehicle_service_client::VehicleServiceClient;
use ostler_proto::v1::{GetReadinessRequest, GetVehicleRequest, ListHistoryRequest};
use ostler_tests::process::{AuthorizedChannel, Launch, Server, admin_token};
use sqlx::sqlite::{SqliteConnectOptions, SqlitePool};

use crate::Figure;
use crate::load::{Fault, percentiles};
use crate::process::{DEMO, DEPARTURE};
use crate::reading::import;
use crate::writing::{Recorder, yard};

const FLEETS: usize = 100;
const VEHICLES_OF_EACH: usize = 100;
const HISTORY_ENTRIES: u32 = 1_000_000;

/// Every entry of the history again and again, until there are a million: the next best thing to years of use.
const MULTIPLY: &str = "
    WITH RECURSIVE turn(number) AS (SELECT 1 UNION ALL SELECT number + 1 FROM turn WHERE number < $1)
    INSERT INTO history (fleet, resource, kind, time, actor, action, request_id, before, after)
    SELECT fleet, resource, kind, time, actor, 'update', NULL, after, after
    FROM turn CROSS JOIN history LIMIT $2";

/// A fleet of vehicles that nobody asks about.
fn other_fleet(number: usize) -> String {
    let mut file =
        format!("fleet_file: 1\nfleet: {{id: other-{number}, display_name: Other {number}}}\nvehicles:\n");
    for vehicle in 0..VEHICLES_OF_EACH {
        file.push_str(&format!(
            "  v{vehicle}:\n    display_name: Vehicle {vehicle}\n    specification: {{wheelbase_mm: 2900}}\n"
        ));
    }
    file
}

/// Half of the calls of each sort stay below so many milliseconds.
struct Medians {
    readiness_ms: f64,
    vehicle_ms: f64,
    history_ms: f64,
    substitution_ms: f64,
}

async fn medians(channel: AuthorizedChannel, recorder: &Recorder) -> Result<Medians, Fault> {
    let readiness = async |channel: AuthorizedChannel| {
        let request = GetReadinessRequest {
            departure: DEPARTURE.to_owned(),
            ..Default::default()
        };
        ReadinessServiceClient::new(channel)
            .get_readiness(request)
            .await?;
        Ok(())
    };
    let vehicle = async |channel: AuthorizedChannel| {
        let request = GetVehicleRequest {
            name: "fleets/orrin/vehicles/v1".to_owned(),
        };
        VehicleServiceClient::new(channel).get_vehicle(request).await?;
        Ok(())
    };
    let history = async |channel: AuthorizedChannel| {
        let request = ListHistoryRequest {
            parent: "fleets/orrin".to_owned(),
            page_size: 20,
            ..Default::default()
        };
        HistoryServiceClient::new(channel).list_history(request).await?;
        Ok(())
    };
    Ok(Medians {
        readiness_ms: percentiles(|| readiness(channel.clone())).await?.0,
        vehicle_ms: percentiles(|| vehicle(channel.clone())).await?.0,
        history_ms: percentiles(|| history(channel.clone())).await?.0,
        substitution_ms: percentiles(|| recorder.record(channel.clone(), 0)).await?.0,
    })
}

async fn multiply_history(file: &Path) -> Result<(), Fault> {
    let pool = SqlitePool::connect_with(SqliteConnectOptions::new().filename(file)).await?;
    let there: u32 = sqlx::query_scalar("SELECT count(*) FROM history")
        .fetch_one(&pool)
        .await?;
    let missing = HISTORY_ENTRIES.saturating_sub(there);
    sqlx::query(MULTIPLY)
        .bind(missing / there.max(1) + 1)
        .bind(missing)
        .execute(&pool)
        .await?;
    pool.close().await;
    Ok(())
}

/// Waits until every entry is sealed: years of use are sealed as they come, not all at the next start.
async fn wait_for_seals(file: &Path) -> Result<(), Fault> {
    let pool = SqlitePool::connect_with(SqliteConnectOptions::new().filename(file).read_only(true)).await?;
    while sqlx::query_scalar::<_, bool>("SELECT EXISTS (SELECT 1 FROM unsealed)")
        .fetch_one(&pool)
        .await?
    {
        tokio::time::sleep(Duration::from_millis(500)).await;
    }
    pool.close().await;
    Ok(())
}

/// Measures and prints.
///
/// # Errors
/// When a call fails.
pub(crate) async fn measure() -> Result<(), Fault> {
    let folder = tempfile::tempdir()?;
    let launch = || {
        Launch::on(folder.path())
            .variable("OSTLERD_LOG", "warn")
            .variable("OSTLERD_SERVER_CALLS_IN_FLIGHT", "0")
    };
    let recorder = Recorder::default();
    let server = Server::start(launch()).await;
    let token = admin_token(folder.path());
    let channel = server.authorized(&token).await?;
    import(channel.clone(), std::fs::read(DEMO)?).await?;
    import(channel.clone(), yard().into()).await?;
    let small = medians(channel.clone(), &recorder).await?;
    for number in 0..FLEETS {
        import(channel.clone(), other_fleet(number).into()).await?;
    }
    server.ask_to_stop();
    let ended = server.end();
    if ended.code != 0 {
        return Err(ended.log.into());
    }
    let file = folder.path().join("record.sqlite");
    multiply_history(&file).await?;
    let server = Server::start(launch()).await;
    wait_for_seals(&file).await?;
    let large = medians(server.authorized(&token).await?, &recorder).await?;
    for (name, value, reference) in [
        (
            "large_record_readiness_warm_p50_ms",
            large.readiness_ms,
            small.readiness_ms,
        ),
        ("large_record_vehicle_p50_ms", large.vehicle_ms, small.vehicle_ms),
        (
            "large_record_history_page_p50_ms",
            large.history_ms,
            small.history_ms,
        ),
        (
            "large_record_substitution_p50_ms",
            large.substitution_ms,
            small.substitution_ms,
        ),
    ] {
        Figure {
            name,
            value,
            unit: "ms",
            reference,
            reference_name: "small_record_p50_ms",
        }
        .print();
    }
    Ok(())
}
