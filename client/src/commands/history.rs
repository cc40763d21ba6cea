//! `ostler history`: what was changed, when and by whom.

use ostler_proto::v1::history_service_client::HistoryServiceClient;
use ostler_proto::v1::{HistoryEntry, ListHistoryRequest, ListHistoryResponse, WatchHistoryRequest};
use prost_reflect::ReflectMessage;

use super::watch::{self, Seen};
use super::{Outcome, time};
use crate::cli::{Format, HistoryArgs};
use crate::connection::ANSWER_BYTES_MAX;
use crate::errors::CliError;
use crate::output::{Block, Cell, Document, Records};
use crate::session::{Session, fleet_of, short};

/// Most entries of one page.
const PAGE_SIZE: usize = 1000;

/// Asks for the changes, page by page.
pub(super) async fn run(session: &Session, args: &HistoryArgs) -> Result<Outcome, CliError> {
    let (parent, resource) = about(session, args).await?;
    let moment = |option, text: &Option<String>| {
        let text = text.as_deref();
        text.map(|text| time::moment(option, text)).transpose()
    };
    let (start_time, end_time) = (moment("--since", &args.since)?, moment("--until", &args.until)?);
    let limit = args.limit as usize;
    let mut entries = Vec::new();
    let mut page_token = String::new();
    loop {
        let page_size = PAGE_SIZE.min(limit - entries.len()) as i32;
        let request = ListHistoryRequest {
            parent: parent.clone(),
            resource: resource.clone(),
            page_size,
            page_token,
            kind: collection(args),
            actor: args.by.clone().unwrap_or_default(),
            action: args.action.clone().unwrap_or_default(),
            start_time,
            end_time,
        };
        let page = session
            .connection
            .call(request, async |service, request| {
                HistoryServiceClient::new(service)
                    .max_decoding_message_size(ANSWER_BYTES_MAX)
                    .list_history(request)
                    .await
            })
            .await?;
        entries.extend(page.entries);
        page_token = page.next_page_token;
        if page_token.is_empty() || entries.len() >= limit {
            break;
        }
    }
    entries.truncate(limit);
    let outcome = Outcome::document(document(entries)?);
    let left_off = !page_token.is_empty();
    Ok(if left_off {
        outcome.with_note("there are older changes: raise --limit to see them")
    } else {
        outcome
    })
}

/// The fleet, and the record that was asked about; empty: all.
async fn about(session: &Session, args: &HistoryArgs) -> Result<(String, String), CliError> {
    Ok(match &args.resource {
        Some(resource) => {
            let name = session.name_of_any_kind(resource).await?;
            (fleet_of(&name).to_owned(), name)
        }
        None => (session.fleet().await?, String::new()),
    })
}

fn collection(args: &HistoryArgs) -> String {
    args.kind
        .map_or_else(String::new, |kind| kind.collection().to_owned())
}

/// Shows every change as it comes until interrupted. A server that goes away is waited for: the watch goes on where it was
/// broken off, so that nothing is missed or shown twice.
pub(super) async fn follow(
    session: &Session,
    args: &HistoryArgs,
    format: Format,
) -> Result<Outcome, CliError> {
    let (parent, resource) = about(session, args).await?;
    let mut request = WatchHistoryRequest {
        parent,
        resource,
        kind: collection(args),
        actor: args.by.clone().unwrap_or_default(),
        after_position: args.after,
    };
    let listen = async |service, request| {
        HistoryServiceClient::new(service)
            .max_decoding_message_size(ANSWER_BYTES_MAX)
            .watch_history(request)
            .await
    };
    watch::follow(session, &mut request, listen, |request, change, shown| {
        request.after_position = Some(change.position);
        let Some(entry) = change.entry else {
            return Ok(Seen::Skipped);
        };
        Ok(match watch::print(&one(&entry)?, format, shown)? {
            true => Seen::Shown,
            false => Seen::Enough,
        })
    })
    .await
}

/// A change on a line of its own.
fn one(entry: &HistoryEntry) -> Result<Document, CliError> {
    let mut line = format!(
        "{} {} {} {} {}",
        entry.position,
        time::utc(entry.change_time),
        entry.actor,
        entry.action,
        short(&entry.resource)
    );
    let fields = changed_fields(entry).join(", ");
    if !fields.is_empty() {
        line = format!("{line}: {fields}");
    }
    Ok(Document::of(
        entry,
        vec![Block::line(0, line)],
        records(std::slice::from_ref(entry)),
    ))
}

fn document(entries: Vec<HistoryEntry>) -> Result<Document, CliError> {
    let mut table = Records::new(["no", "time", "who", "what", "record", "fields"]);
    for entry in &entries {
        table.push([
            match entry.position {
                0 => Cell::None("not sealed"),
                position => Cell::Count(position),
            },
            Cell::text(time::utc(entry.change_time)),
            Cell::text(entry.actor.as_str()),
            Cell::text(entry.action.as_str()),
            Cell::text(short(&entry.resource)),
            Cell::text(changed_fields(entry).join(", ")),
        ]);
    }
    let records = records(&entries);
    let answer = ListHistoryResponse {
        entries,
        next_page_token: String::new(),
    };
    Ok(Document::of(
        &answer,
        vec![Block::Table(table), Block::line(0, "Times are UTC.")],
        records,
    ))
}

fn records(entries: &[HistoryEntry]) -> Records {
    let mut records = Records::new([
        "sequence",
        "change_time",
        "actor",
        "action",
        "resource",
        "request_id",
        "before_json",
        "after_json",
        "position",
        "seal",
    ]);
    for entry in entries {
        records.push([
            Cell::Count(entry.sequence),
            Cell::Text(time_text(entry)),
            Cell::text(entry.actor.as_str()),
            Cell::text(entry.action.as_str()),
            Cell::text(entry.resource.as_str()),
            Cell::text(entry.request_id.as_str()),
            Cell::text(entry.before_json.as_str()),
            Cell::text(entry.after_json.as_str()),
            Cell::Count(entry.position),
            Cell::text(entry.seal.as_str()),
        ]);
    }
    records
}

/// When, in UTC: `2027-03-29T07:15:00Z`.
fn time_text(entry: &HistoryEntry) -> String {
    let json = serde_json::to_value(entry.transcode_to_dynamic()).unwrap_or_default();
    json.get("changeTime")
        .and_then(|time| time.as_str())
        .unwrap_or_default()
        .to_owned()
}

/// The fields that an update changed; none for what is new or gone.
fn changed_fields(entry: &HistoryEntry) -> Vec<String> {
    let parse = |text: &str| serde_json::from_str::<serde_json::Map<String, serde_json::Value>>(text).ok();
    let (Some(before), Some(after)) = (parse(&entry.before_json), parse(&entry.after_json)) else {
        return Vec::new();
    };
    let mut changed: Vec<_> = before
        .keys()
        .chain(after.keys().filter(|key| !before.contains_key(*key)))
        .filter(|key| !matches!(key.as_str(), "etag" | "updateTime" | "createTime"))
        .filter(|key| before.get(*key) != after.get(*key))
        .cloned()
        .collect();
    changed.sort();
    changed
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cli::Format;
    use crate::output::Style;
    use prost_types::Timestamp;

    #[test]
    fn changes_say_who_did_what_to_which_fields() {
        let entry = |sequence, action: &str, before: &str, after: &str| HistoryEntry {
            sequence,
            change_time: Some(Timestamp {
                seconds: 1_805_699_700,
                nanos: 0,
            }),
            actor: "workshop".to_owned(),
            resource: "fleets/orrin/defects/d1".to_owned(),
            action: action.to_owned(),
            request_id: String::new(),
            before_json: before.to_owned(),
            after_json: after.to_owned(),
            position: sequence,
            seal: "ab".repeat(32),
        };
        let document = document(vec![
            entry(
                8,
                "fix",
                r#"{"etag":"1","disposition":"A"}"#,
                r#"{"etag":"2","disposition":"B","fix":"new"}"#,
            ),
            entry(7, "create", "", r#"{"etag":"1"}"#),
        ])
        .unwrap();
        insta::assert_snapshot!(document.render(Format::Table, Style::plain()).unwrap());
        assert_eq!(document.records.rows.len(), 2);
    }
}
