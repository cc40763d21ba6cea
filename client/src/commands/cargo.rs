//! `ostler cargo`: things carried, as lists.

use std::path::Path;

use ostler_proto::v1::cargo_service_client::CargoServiceClient;
use ostler_proto::v1::{ExportCargoListRequest, ImportCargoListRequest, ImportCargoListResponse};

use super::{Outcome, fleet, resource};
use crate::cli::{CargoCommand, WriteArgs};
use crate::connection::ANSWER_BYTES_MAX;
use crate::errors::CliError;
use crate::kinds::Kind;
use crate::output::{Block, Document, Records};
use crate::session::{Session, fleet_of};

/// Does `command`.
pub(super) async fn run(session: &Session, command: &CargoCommand) -> Result<Outcome, CliError> {
    match command {
        CargoCommand::Import { file, write } => import(session, file, write).await,
        CargoCommand::Export { vehicle, out } => export(session, vehicle.as_deref(), out.as_deref()).await,
        CargoCommand::List { vehicle } => {
            let place = place(session, vehicle.as_deref()).await?;
            let filter = vehicle.is_some().then(|| format!("vehicle = \"{place}\""));
            let parent = fleet_of(&place).to_owned();
            resource::list_of(session, Kind::Cargo, Some(parent), filter, usize::MAX).await
        }
    }
}

/// The vehicle, or the fleet.
async fn place(session: &Session, vehicle: Option<&str>) -> Result<String, CliError> {
    match vehicle {
        Some(vehicle) => session.name(Kind::Vehicle, vehicle).await,
        None => session.fleet().await,
    }
}

async fn import(session: &Session, file: &Path, write: &WriteArgs) -> Result<Outcome, CliError> {
    let request = ImportCargoListRequest {
        cargo_list: fleet::file_to_send(file)?,
        parent: session.fleet().await?,
        request_id: write.request_id(),
        validate_only: write.dry_run,
    };
    let answer = session
        .connection
        .call(request, async |service, request| {
            CargoServiceClient::new(service).import_cargo_list(request).await
        })
        .await?;
    Ok(Outcome::document(import_document(&answer)?).after_writing(write))
}

fn import_document(answer: &ImportCargoListResponse) -> Result<Document, CliError> {
    let ImportCargoListResponse {
        created_count,
        updated_count,
        unchanged_count,
    } = *answer;
    let mut records = Records::new(["created_count", "updated_count", "unchanged_count"]);
    records.push(fleet::counts(created_count, updated_count, unchanged_count));
    let text = fleet::count_words(created_count, updated_count, unchanged_count);
    Ok(Document::of(
        answer,
        vec![Block::line(0, format!("Cargo list: {text}."))],
        records,
    ))
}

async fn export(session: &Session, vehicle: Option<&str>, out: Option<&Path>) -> Result<Outcome, CliError> {
    let request = ExportCargoListRequest {
        name: place(session, vehicle).await?,
    };
    let answer = session
        .connection
        .call(request, async |service, request| {
            CargoServiceClient::new(service)
                .max_decoding_message_size(ANSWER_BYTES_MAX)
                .export_cargo_list(request)
                .await
        })
        .await?;
    fleet::exported(answer.cargo_list, out)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cli::Format;
    use crate::output::Style;

    #[test]
    fn an_import_says_what_changed() {
        let answer = ImportCargoListResponse {
            created_count: 1,
            updated_count: 0,
            unchanged_count: 120,
        };
        let document = import_document(&answer).unwrap();
        assert_eq!(
            document.render(Format::Table, Style::plain()).unwrap(),
            "Cargo list: 1 new, 0 changed, 120 as they were.\n"
        );
        assert_eq!(
            document.render(Format::Csv, Style::plain()).unwrap(),
            "created_count,updated_count,unchanged_count\n1,0,120\n"
        );
    }
}
