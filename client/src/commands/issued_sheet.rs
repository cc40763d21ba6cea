//! `ostler sheet issue`, `list`, `show` and `verify`: load sheets that are frozen.

use ostler_proto::v1::load_sheet_service_client::LoadSheetServiceClient;
use ostler_proto::v1::{
    GetLoadSheetRequest, IssueLoadSheetRequest, IssuedLoadSheet, ListLoadSheetsRequest,
    ListLoadSheetsResponse, LoadSheetState, SheetChange, VerifyLoadSheetRequest, VerifyLoadSheetResponse,
};

use super::time::utc;
use super::verdict::verdict_words;
use super::{Outcome, Printed};
use crate::cli::{SheetCommand, SheetIssueArgs, SheetVerifyArgs};
use crate::connection::ANSWER_BYTES_MAX;
use crate::errors::CliError;
use crate::input::read_bytes;
use crate::kinds::Kind;
use crate::output::{Block, Cell, Document, Records, Tone};
use crate::session::{Session, id_of, short};

/// Does `command`.
pub(super) async fn run(session: &Session, command: &SheetCommand) -> Result<Outcome, CliError> {
    match command {
        SheetCommand::Issue(args) => issue(session, args).await,
        SheetCommand::List { departure } => list(session, departure).await,
        SheetCommand::Show { sheet } => show(session, sheet).await,
        SheetCommand::Verify(args) => verify(session, args).await,
    }
}

async fn issue(session: &Session, args: &SheetIssueArgs) -> Result<Outcome, CliError> {
    let parent = session.name(Kind::Departure, &args.departure).await?;
    let request = IssueLoadSheetRequest {
        vehicle: session.name_beside(&parent, Kind::Vehicle, &args.vehicle)?,
        parent,
        signer_role: args.role.clone(),
        signer_display_name: args.name.clone(),
        reason: args.reason.clone().unwrap_or_default(),
        request_id: args.write.request_id(),
        validate_only: args.write.dry_run,
    };
    let sheet = session
        .connection
        .call(request, async |service, request| {
            LoadSheetServiceClient::new(service)
                .max_decoding_message_size(ANSWER_BYTES_MAX)
                .issue_load_sheet(request)
                .await
        })
        .await?;
    Ok(Outcome::document(shown(&sheet)?).after_writing(&args.write))
}

async fn list(session: &Session, departure: &str) -> Result<Outcome, CliError> {
    let parent = session.name(Kind::Departure, departure).await?;
    let mut sheets = Vec::new();
    let mut page_token = String::new();
    loop {
        let request = ListLoadSheetsRequest {
            parent: parent.clone(),
            page_size: 1_000,
            page_token,
            filter: String::new(),
        };
        let page = session
            .connection
            .call(request, async |service, request| {
                LoadSheetServiceClient::new(service)
                    .max_decoding_message_size(ANSWER_BYTES_MAX)
                    .list_load_sheets(request)
                    .await
            })
            .await?;
        sheets.extend(page.load_sheets);
        page_token = page.next_page_token;
        if page_token.is_empty() {
            break;
        }
    }
    Ok(Outcome::document(listed(sheets)?))
}

fn listed(sheets: Vec<IssuedLoadSheet>) -> Result<Document, CliError> {
    let mut table = Records::new(["sheet", "vehicle", "no", "issued", "verdict", "state"]);
    for sheet in &sheets {
        table.push([
            Cell::text(id_of(&sheet.name)),
            Cell::text(id_of(&sheet.vehicle)),
            Cell::Count(sheet.number.into()),
            Cell::text(utc(sheet.create_time)),
            Cell::text(verdict_words(sheet.verdict())),
            Cell::text(state(sheet)),
        ]);
    }
    let records = flat(&sheets);
    let answer = ListLoadSheetsResponse {
        load_sheets: sheets,
        next_page_token: String::new(),
    };
    Ok(Document::of(
        &answer,
        vec![Block::Table(table), Block::line(0, "Times are UTC.")],
        records,
    ))
}

async fn show(session: &Session, sheet: &str) -> Result<Outcome, CliError> {
    let name = full_name(session, sheet).await?;
    let sheet = session
        .connection
        .call(GetLoadSheetRequest { name }, async |service, request| {
            LoadSheetServiceClient::new(service)
                .max_decoding_message_size(ANSWER_BYTES_MAX)
                .get_load_sheet(request)
                .await
        })
        .await?;
    Ok(Outcome::document(shown(&sheet)?))
}

fn shown(issued: &IssuedLoadSheet) -> Result<Document, CliError> {
    let sheet = issued.sheet.clone().unwrap_or_default();
    let tone = match issued.overtaken || issued.state() == LoadSheetState::Superseded {
        true => Tone::Caution,
        false => Tone::Good,
    };
    let mut blocks = vec![
        Block::toned(
            0,
            Tone::Heading,
            format!(
                "Load sheet {} of {}: {}",
                issued.number,
                sheet.vehicle_display_name,
                verdict_words(issued.verdict())
            ),
        ),
        Block::line(2, format!("name {}", short(&issued.name))),
        Block::toned(2, tone, state(issued)),
        Block::line(2, format!("issued {} UTC", utc(issued.create_time))),
    ];
    for signature in &sheet.signatures {
        blocks.push(Block::line(
            2,
            format!(
                "signed by {} as {}, token {}",
                signature.display_name, signature.role, signature.token
            ),
        ));
    }
    for pack in &sheet.rule_packs {
        let text = format!("rule pack {} version {}", id_of(&pack.rule_pack), pack.version);
        blocks.push(Block::line(2, text));
    }
    if !sheet.reason.is_empty() {
        blocks.push(Block::toned(
            2,
            Tone::Bad,
            format!("issued at no-go: {}", sheet.reason),
        ));
    }
    blocks.push(Block::line(2, format!("SHA-256 {}", issued.content_hash)));
    if !issued.overtaken_by.is_empty() {
        blocks.push(Block::Gap);
        blocks.push(Block::toned(0, Tone::Heading, "Changed on record since:"));
        blocks.push(Block::Table(changes(&issued.overtaken_by)));
    }
    Ok(Document::of(issued, blocks, flat(std::slice::from_ref(issued))))
}

fn changes(changes: &[SheetChange]) -> Records {
    let mut table = Records::new(["time", "who", "what", "record"]);
    for change in changes {
        table.push([
            Cell::text(utc(change.change_time)),
            Cell::text(change.actor.as_str()),
            Cell::text(change.action.as_str()),
            Cell::text(short(&change.resource)),
        ]);
    }
    table
}

async fn verify(session: &Session, args: &SheetVerifyArgs) -> Result<Outcome, CliError> {
    let content = read_bytes(&args.file)?;
    let name = match &args.sheet {
        Some(sheet) => full_name(session, sheet).await?,
        None => name_in(&content).ok_or_else(|| CliError::Usage {
            problem: format!(
                "{} does not say which issued load sheet it is",
                args.file.display()
            ),
            hint: "name it with --sheet; a draft cannot be verified".to_owned(),
        })?,
    };
    let request = VerifyLoadSheetRequest { name, content };
    let answer = session
        .connection
        .call(request, async |service, request| {
            LoadSheetServiceClient::new(service)
                .verify_load_sheet(request)
                .await
        })
        .await?;
    let holds = answer.intact && answer.given_matches;
    Ok(Outcome {
        printed: Printed::Document(verified(&answer)?),
        notes: Vec::new(),
        exit_code: u8::from(!holds),
    })
}

/// The name that a sheet in JSON form gives itself.
fn name_in(content: &[u8]) -> Option<String> {
    let sheet: serde_json::Value = serde_json::from_slice(content).ok()?;
    let name = sheet.get("name")?.as_str()?;
    (!name.is_empty()).then(|| name.to_owned())
}

fn verified(answer: &VerifyLoadSheetResponse) -> Result<Document, CliError> {
    let name = short(&answer.load_sheet);
    let file = match answer.given_matches {
        true => Block::toned(
            0,
            Tone::Good,
            format!("the file is {name}, byte for byte, by its SHA-256"),
        ),
        false => Block::toned(0, Tone::Bad, format!("THE FILE IS NOT {name} as it was issued")),
    };
    let stored = match answer.intact {
        true => Block::toned(0, Tone::Good, "what the server holds is what was issued"),
        false => Block::toned(0, Tone::Bad, "WHAT THE SERVER HOLDS WAS TAMPERED WITH"),
    };
    let mut blocks = vec![
        file,
        stored,
        Block::line(2, format!("issued {}", answer.issued_hash)),
    ];
    if !answer.given_matches {
        blocks.push(Block::line(2, format!("file   {}", answer.given_hash)));
        blocks.extend(
            answer
                .differences
                .iter()
                .map(|text| Block::line(2, text.as_str())),
        );
        if answer.differences.is_empty() {
            blocks.push(Block::line(2, "it says the same in other bytes"));
        }
    }
    let mut records = Records::new([
        "load_sheet",
        "intact",
        "given_matches",
        "issued_hash",
        "given_hash",
        "differences",
    ]);
    records.push([
        Cell::text(answer.load_sheet.as_str()),
        Cell::yes_no(answer.intact),
        Cell::yes_no(answer.given_matches),
        Cell::text(answer.issued_hash.as_str()),
        Cell::text(answer.given_hash.as_str()),
        Cell::list(&answer.differences),
    ]);
    Ok(Document::of(answer, blocks, records))
}

/// `DEPARTURE/SHEET` or a full name as a full name.
async fn full_name(session: &Session, text: &str) -> Result<String, CliError> {
    if text.starts_with("fleets/") {
        return Ok(text.to_owned());
    }
    let parts: Vec<&str> = text.split('/').collect();
    let (departure, sheet) = match parts.as_slice() {
        [departure, sheet] | ["departures", departure, "loadSheets", sheet] => (departure, sheet),
        _ => {
            return Err(CliError::Usage {
                problem: format!("{text:?} is no name of an issued load sheet"),
                hint: "name it as DEPARTURE/SHEET, for example north/v1-2".to_owned(),
            });
        }
    };
    let departure = session.name(Kind::Departure, departure).await?;
    Ok(format!("{departure}/loadSheets/{sheet}"))
}

fn state(sheet: &IssuedLoadSheet) -> String {
    let mut words = match sheet.state() {
        LoadSheetState::Superseded => format!("superseded by {}", id_of(&sheet.superseded_by)),
        LoadSheetState::Issued | LoadSheetState::Unspecified => "issued".to_owned(),
    };
    if sheet.overtaken {
        words.push_str(", overtaken");
    }
    words
}

fn flat(sheets: &[IssuedLoadSheet]) -> Records {
    let mut records = Records::new([
        "name",
        "vehicle",
        "number",
        "state",
        "verdict",
        "content_hash",
        "superseded_by",
        "overtaken",
    ]);
    for sheet in sheets {
        records.push([
            Cell::text(sheet.name.as_str()),
            Cell::text(sheet.vehicle.as_str()),
            Cell::Count(sheet.number.into()),
            Cell::text(sheet.state().as_str_name()),
            Cell::text(sheet.verdict().as_str_name()),
            Cell::text(sheet.content_hash.as_str()),
            Cell::text(sheet.superseded_by.as_str()),
            Cell::yes_no(sheet.overtaken),
        ]);
    }
    records
}
