//! `ostler sheet`: load sheets as files.

use std::path::PathBuf;

use ostler_proto::v1::load_sheet_service_client::LoadSheetServiceClient;
use ostler_proto::v1::{PageSize, RenderLoadSheetsRequest, RenderedLoadSheet, SheetFormat};
use serde::Serialize;

use super::{Outcome, Printed, issued_sheet, make_folder, write_file};
use crate::cli::{Paper, SheetArgs, SheetFilesArgs, SheetForm};
use crate::connection::ANSWER_BYTES_MAX;
use crate::errors::CliError;
use crate::kinds::Kind;
use crate::output::{Answer, Block, Cell, Document, Records, count};
use crate::session::{Session, id_of};

/// A load sheet that was written.
#[derive(Debug, Serialize)]
#[serde(rename_all = "camelCase")]
struct WrittenSheet {
    vehicle: String,
    path: PathBuf,
    content_hash: String,
}

/// Writes files, or does what is asked with issued sheets.
pub(super) async fn run(session: &Session, args: &SheetArgs) -> Result<Outcome, CliError> {
    match (&args.command, &args.files) {
        (Some(command), _) => issued_sheet::run(session, command).await,
        (None, Some(files)) => write(session, files).await,
        (None, None) => Err(CliError::Usage {
            problem: "no departure is given".to_owned(),
            hint: "see `ostler sheet --help`".to_owned(),
        }),
    }
}

/// Has the load sheets written and puts them into the folder, all of them or none.
async fn write(session: &Session, args: &SheetFilesArgs) -> Result<Outcome, CliError> {
    let departure = session.name(Kind::Departure, &args.departure).await?;
    let vehicle = session.optional_name_beside(&departure, Kind::Vehicle, args.vehicle.as_ref())?;
    let format = match args.format {
        SheetForm::Json => SheetFormat::Json,
        SheetForm::Csv => SheetFormat::Csv,
        SheetForm::Xlsx => SheetFormat::Xlsx,
        SheetForm::Pdf => SheetFormat::Pdf,
    };
    let request = RenderLoadSheetsRequest {
        departure,
        vehicle,
        format: format.into(),
        issued: args.issued,
        page_size: page_size(args.paper).into(),
        summary: args.summary,
    };
    let mut stream = session
        .connection
        .call(request, async |service, request| {
            LoadSheetServiceClient::new(service)
                .max_decoding_message_size(ANSWER_BYTES_MAX)
                .render_load_sheets(request)
                .await
        })
        .await?;
    let mut sheets = Vec::new();
    while let Some(sheet) = session.connection.next(&mut stream).await? {
        check_file_name(&sheet)?;
        sheets.push(sheet);
    }
    make_folder(&args.out)?;
    let mut written = Vec::new();
    for sheet in sheets {
        let path = args.out.join(&sheet.file_name);
        write_file(&path, &sheet.content)?;
        written.push(WrittenSheet {
            vehicle: sheet.vehicle,
            path,
            content_hash: sheet.content_hash,
        });
    }
    let sheets = written.iter().filter(|sheet| !sheet.vehicle.is_empty()).count();
    let mut note = format!("wrote {}", count(sheets, "load sheet", "load sheets"));
    if sheets < written.len() {
        note.push_str(" and the summary of the convoy");
    }
    Ok(Outcome {
        printed: Printed::Document(document(&written)?),
        notes: vec![note],
        exit_code: 0,
    })
}

/// The size of pages as the API calls it.
pub(super) fn page_size(paper: Paper) -> PageSize {
    match paper {
        Paper::A4 => PageSize::A4,
        Paper::Letter => PageSize::Letter,
    }
}

/// Refuses a file name that would lead out of the folder, whatever the server says.
fn check_file_name(sheet: &RenderedLoadSheet) -> Result<(), CliError> {
    let name = sheet.file_name.as_str();
    let harmless = !name.is_empty()
        && !name.starts_with('.')
        && name
            .chars()
            .all(|c| c.is_alphanumeric() || matches!(c, '-' | '_' | '.' | ' '));
    if harmless {
        Ok(())
    } else {
        Err(CliError::Answer {
            problem: format!("{name:?} is not the name of a file"),
        })
    }
}

fn document(written: &[WrittenSheet]) -> Result<Document, CliError> {
    let mut table = Records::new(["vehicle", "file"]);
    let mut records = Records::new(["vehicle", "path", "content_hash"]);
    for sheet in written {
        let path = sheet.path.display().to_string();
        let of = match id_of(&sheet.vehicle) {
            "" => "convoy",
            vehicle => vehicle,
        };
        table.push([Cell::text(of), Cell::text(path.as_str())]);
        records.push([
            Cell::text(sheet.vehicle.as_str()),
            Cell::Text(path),
            Cell::text(sheet.content_hash.as_str()),
        ]);
    }
    let json =
        serde_json::to_string_pretty(&serde_json::json!({ "loadSheets": written })).map_err(|error| {
            CliError::Answer {
                problem: format!("it has no JSON form: {error}"),
            }
        })?;
    Ok(Document {
        blocks: vec![Block::Table(table)],
        answer: Answer::Json(json),
        records,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn file_names_stay_in_the_folder() {
        let check = |name: &str| {
            check_file_name(&RenderedLoadSheet {
                file_name: name.to_owned(),
                ..Default::default()
            })
            .is_ok()
        };
        assert!(check("north-2027-v1.json"));
        for bad in [
            "", ".", "..", "../x", "/etc/x", "a/b", "a\\b", ".hidden", "a\0b", "c:x",
        ] {
            assert!(!check(bad), "{bad:?}");
        }
    }
}
