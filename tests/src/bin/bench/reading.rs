//! Questions to a server that holds the demo fleet, against a call that asks nothing.

use ostler_proto::v1::fleet_service_client::FleetServiceClient;
use ostler_proto::v1::load_sheet_service_client::LoadSheetServiceClient;
use ostler_proto::v1::readiness_service_client::ReadinessServiceClient;
use ostler_proto::v1::{
    GetReadinessRequest, ImportFleetRequest, ReadinessView, RenderLoadSheetsRequest, SheetFormat,
};
use ostler_tests::process::{AuthorizedChannel, Launch, Server, admin_token};
use tonic_health::pb::HealthCheckRequest;
use tonic_health::pb::health_client::HealthClient;

use crate::Figure;
use crate::load::{Fault, percentiles, rate};
use crate::process::{DEMO, DEPARTURE};

const CONNECTIONS: usize = 4;
const STREAMS: usize = 16;
/// A vehicle of the demo.
const VEHICLE: &str = "fleets/orrin/vehicles/v1";

pub(crate) async fn empty(channel: AuthorizedChannel) -> Result<(), Fault> {
    HealthClient::new(channel)
        .check(HealthCheckRequest::default())
        .await?;
    Ok(())
}

pub(crate) async fn readiness(channel: AuthorizedChannel, view: ReadinessView) -> Result<(), Fault> {
    let request = GetReadinessRequest {
        departure: DEPARTURE.to_owned(),
        view: view.into(),
        ..Default::default()
    };
    ReadinessServiceClient::new(channel)
        .get_readiness(request)
        .await?;
    Ok(())
}

/// As somebody asks who knows the answer of before.
async fn readiness_known(channel: AuthorizedChannel, known_version: String) -> Result<(), Fault> {
    let request = GetReadinessRequest {
        departure: DEPARTURE.to_owned(),
        known_version,
        ..Default::default()
    };
    ReadinessServiceClient::new(channel)
        .get_readiness(request)
        .await?;
    Ok(())
}

async fn version(channel: AuthorizedChannel) -> Result<String, Fault> {
    let request = GetReadinessRequest {
        departure: DEPARTURE.to_owned(),
        ..Default::default()
    };
    let answer = ReadinessServiceClient::new(channel)
        .get_readiness(request)
        .await?;
    Ok(answer.into_inner().record_version)
}

/// The sheets of all vehicles, or of one.
async fn load_sheets(channel: AuthorizedChannel, vehicle: &str) -> Result<(), Fault> {
    let request = RenderLoadSheetsRequest {
        departure: DEPARTURE.to_owned(),
        vehicle: vehicle.to_owned(),
        format: SheetFormat::Json.into(),
        ..Default::default()
    };
    let answer = LoadSheetServiceClient::new(channel)
        .render_load_sheets(request)
        .await?;
    let mut sheets = answer.into_inner();
    while sheets.message().await?.is_some() {}
    Ok(())
}

/// Brings in a fleet file.
pub(crate) async fn import(channel: AuthorizedChannel, fleet_file: Vec<u8>) -> Result<(), Fault> {
    let request = ImportFleetRequest {
        fleet_file,
        ..Default::default()
    };
    let mut steps = FleetServiceClient::new(channel)
        .import_fleet(request)
        .await?
        .into_inner();
    while steps.message().await?.is_some() {}
    Ok(())
}

/// Measures and prints.
///
/// # Errors
/// When a call fails.
pub(crate) async fn measure() -> Result<(), Fault> {
    let folder = tempfile::tempdir()?;
    let launch = Launch::on(folder.path())
        .variable("OSTLERD_LOG", "warn")
        // What is measured is how much it does, not how much it takes on.
        .variable("OSTLERD_SERVER_CALLS_IN_FLIGHT", "0");
    let server = Server::start(launch).await;
    let token = admin_token(folder.path());
    import(server.authorized(&token).await?, std::fs::read(DEMO)?).await?;
    let mut channels = Vec::new();
    for _ in 0..CONNECTIONS {
        channels.push(server.authorized(&token).await?);
    }
    rates(&channels).await?;
    let channel = server.authorized(&token).await?;
    times(&channel).await
}

/// Calls a second, many at the same time.
async fn rates(channels: &[AuthorizedChannel]) -> Result<(), Fault> {
    let callers = || channels.iter().cycle().take(CONNECTIONS * STREAMS).cloned();
    let empty_rps = rate(callers().map(|channel| move || empty(channel.clone())).collect()).await?;
    let per_second = |name, value| Figure {
        name,
        value,
        unit: "1/s",
        reference: empty_rps,
        reference_name: "empty_rpc_rps",
    };
    for (name, view) in [
        ("fleet_readiness_warm_rps", ReadinessView::Whole),
        ("fleet_answers_warm_rps", ReadinessView::Answers),
        ("fleet_verdicts_warm_rps", ReadinessView::Verdicts),
    ] {
        let ask = |channel: AuthorizedChannel| move || readiness(channel.clone(), view);
        let value = rate(callers().map(ask).collect()).await?;
        per_second(name, value).print();
    }
    let known = match channels {
        [channel, ..] => version(channel.clone()).await?,
        [] => return Err("there is no connection".into()),
    };
    let value = rate(
        callers()
            .map(|channel| {
                let known = known.clone();
                move || readiness_known(channel.clone(), known.clone())
            })
            .collect(),
    )
    .await?;
    per_second("fleet_readiness_unchanged_rps", value).print();
    for (name, vehicle) in [
        ("load_sheet_json_rps", VEHICLE),
        ("load_sheets_of_departure_json_rps", ""),
    ] {
        let ask = |channel: AuthorizedChannel| move || load_sheets(channel.clone(), vehicle);
        let value = rate(callers().map(ask).collect()).await?;
        per_second(name, value).print();
    }
    Ok(())
}

/// The time of one call after the other.
async fn times(channel: &AuthorizedChannel) -> Result<(), Fault> {
    let references = percentiles(|| empty(channel.clone())).await?;
    let values = percentiles(|| readiness(channel.clone(), ReadinessView::Whole)).await?;
    for (name, value, reference, reference_name) in [
        (
            "fleet_readiness_warm_p50_ms",
            values.0,
            references.0,
            "empty_rpc_p50_ms",
        ),
        (
            "fleet_readiness_warm_p99_ms",
            values.1,
            references.1,
            "empty_rpc_p99_ms",
        ),
    ] {
        let figure = Figure {
            name,
            value,
            unit: "ms",
            reference,
            reference_name,
        };
        figure.print();
    }
    Ok(())
}
