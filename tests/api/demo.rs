//! The demo fleet on a server.

use ostler_proto::v1;
use ostler_proto::v1::import_fleet_response::Step;
use ostler_tests::client::Client;
use ostler_tests::databases::Database;
use ostler_tests::server::Server;
use tonic::Status;

/// Its fleet file.
pub(crate) const FILE: &str = include_str!("../../server/demo/orrin.yaml");
/// Its fleet.
pub(crate) const FLEET: &str = "fleets/orrin";
/// Its departure.
pub(crate) const DEPARTURE: &str = "fleets/orrin/departures/crossing-2027";

/// The name of a resource of the demo fleet.
pub(crate) fn name(path: &str) -> String {
    format!("{FLEET}/{path}")
}

/// A server that holds the demo fleet, and its admin.
pub(crate) async fn start(database: &Database) -> (Server, Client) {
    let server = Server::start(database).await;
    let admin = server.admin();
    import(&admin, FILE).await.unwrap();
    (server, admin)
}

/// Imports a fleet file and returns its outcome.
pub(crate) async fn import(client: &Client, file: &str) -> Result<v1::ImportOutcome, Status> {
    let request = v1::ImportFleetRequest {
        fleet_file: file.into(),
        ..Default::default()
    };
    outcome(client.ask_all(request).await?)
}

/// The outcome at the end of an import.
pub(crate) fn outcome(mut steps: Vec<v1::ImportFleetResponse>) -> Result<v1::ImportOutcome, Status> {
    match steps.pop().and_then(|last| last.step) {
        Some(Step::Outcome(outcome)) => Ok(outcome),
        other => panic!("an import ends with {other:?}"),
    }
}

/// Exports a fleet.
pub(crate) async fn export(client: &Client, fleet: &str) -> String {
    let request = v1::ExportFleetRequest { name: fleet.into() };
    let v1::ExportFleetResponse { fleet_file } = client.ask(request).await.unwrap();
    String::from_utf8(fleet_file).unwrap()
}

/// Number of the latest entry in the history of a fleet: as long as it stays, nothing was written.
pub(crate) async fn latest_change(client: &Client, fleet: &str) -> i64 {
    let request = v1::ListHistoryRequest {
        parent: fleet.into(),
        page_size: 1,
        ..Default::default()
    };
    let v1::ListHistoryResponse { entries, .. } = client.ask(request).await.unwrap();
    entries.first().map_or(0, |entry| entry.sequence)
}

/// The readiness of the departure.
pub(crate) async fn readiness(client: &Client) -> v1::Readiness {
    let request = v1::GetReadinessRequest {
        departure: DEPARTURE.into(),
        ..Default::default()
    };
    client.ask(request).await.unwrap()
}

/// All findings about a vehicle in the readiness of the departure.
pub(crate) fn findings<'a>(
    readiness: &'a v1::Readiness,
    vehicle: &str,
) -> Vec<(&'a v1::Gate, &'a v1::Finding)> {
    let vehicle = name(&format!("vehicles/{vehicle}"));
    let found = readiness.vehicles.iter().find(|found| found.vehicle == vehicle);
    let gates = &found.unwrap_or_else(|| panic!("no {vehicle}")).gates;
    gates
        .iter()
        .flat_map(|gate| gate.findings.iter().map(move |finding| (gate, finding)))
        .collect()
}
