//! What the record holds after a fault, held against what was answered before it.

use std::collections::BTreeMap;

use ostler_proto::v1::fleet_service_client::FleetServiceClient;
use ostler_proto::v1::history_service_client::HistoryServiceClient;
use ostler_proto::v1::{HistoryEntry, ImportFleetRequest, ListHistoryRequest};
use ostler_tests::process::AuthorizedChannel;

use crate::writes::{FLEET, Resource, Write, fleet_file};

/// A writer's part of a round.
#[derive(Debug, Default)]
pub(crate) struct Part {
    /// What was answered.
    pub(crate) answered: Vec<(Write, Resource)>,
    /// What was sent last and not answered.
    pub(crate) unanswered: Option<Write>,
}

/// Brings in the fleet that is written to.
pub(crate) async fn import(channel: &AuthorizedChannel) {
    import_file(channel, fleet_file()).await;
}

/// Brings in the fleet of a file.
pub(crate) async fn import_file(channel: &AuthorizedChannel, fleet_file: Vec<u8>) {
    let request = ImportFleetRequest {
        fleet_file,
        ..Default::default()
    };
    let mut steps = FleetServiceClient::new(channel.clone())
        .import_fleet(request)
        .await
        .unwrap()
        .into_inner();
    while steps.message().await.unwrap().is_some() {}
}

/// The history after the entry `after`, oldest first.
pub(crate) async fn history(channel: &AuthorizedChannel, after: i64) -> Vec<HistoryEntry> {
    let mut client = HistoryServiceClient::new(channel.clone());
    let mut entries = Vec::new();
    let mut page_token = String::new();
    loop {
        let request = ListHistoryRequest {
            parent: FLEET.to_owned(),
            page_size: 200,
            page_token,
            ..Default::default()
        };
        let page = client.list_history(request).await.unwrap().into_inner();
        let is_last = page.entries.iter().any(|entry| entry.sequence <= after);
        entries.extend(page.entries.into_iter().filter(|entry| entry.sequence > after));
        page_token = page.next_page_token;
        if is_last || page_token.is_empty() {
            entries.reverse();
            return entries;
        }
    }
}

/// How many writes with a request id the history holds.
pub(crate) fn requests(entries: &[HistoryEntry]) -> usize {
    by_request(entries).keys().filter(|id| !id.is_empty()).count()
}

fn by_request(entries: &[HistoryEntry]) -> BTreeMap<&str, Vec<&HistoryEntry>> {
    let mut found: BTreeMap<&str, Vec<&HistoryEntry>> = BTreeMap::new();
    for entry in entries {
        found.entry(&entry.request_id).or_default().push(entry);
    }
    found
}

/// The entries of `write` are those of the whole of it, once.
fn is_whole(write: &Write, entries: &[&HistoryEntry]) {
    let mut found: Vec<_> = entries
        .iter()
        .map(|entry| (entry.resource.clone(), entry.action.as_str()))
        .collect();
    let mut wanted = write.changes();
    found.sort();
    wanted.sort();
    assert_eq!(found, wanted, "the history of {write:?}");
    for entry in entries {
        assert!(
            !entry.after_json.is_empty() && entry.actor == "admin",
            "{entry:?}"
        );
        assert_eq!(
            entry.before_json.is_empty(),
            ["create", "record"].contains(&entry.action.as_str())
        );
    }
}

/// Holds the record against a round, and finishes what was not answered. Returns the number of the
/// last entry of the history.
pub(crate) async fn check(channel: &AuthorizedChannel, parts: &[Part], after: i64) -> i64 {
    let entries = history(channel, after).await;
    let known = by_request(&entries);
    let sent = |id: &str| {
        parts.iter().any(|part| {
            let answered = part.answered.iter().map(|(write, _)| write);
            answered
                .chain(&part.unanswered)
                .any(|write| write.request_id() == id)
        })
    };
    for id in known.keys() {
        assert!(sent(id), "the history holds {id:?}, which nobody sent");
    }
    for part in parts {
        check_answered(channel, part, &known).await;
        if let Some(write) = &part.unanswered {
            check_unanswered(channel, part, write, &known).await;
        }
    }
    let entries = history(channel, after).await;
    let known = by_request(&entries);
    for write in parts.iter().filter_map(|part| part.unanswered.as_ref()) {
        is_whole(write, &known[write.request_id()]);
    }
    let numbers: Vec<_> = entries.iter().map(|entry| entry.sequence).collect();
    assert!(numbers.is_sorted_by(|one, next| one < next), "{numbers:?}");
    numbers.last().copied().unwrap_or(after)
}

async fn check_answered(
    channel: &AuthorizedChannel,
    part: &Part,
    known: &BTreeMap<&str, Vec<&HistoryEntry>>,
) {
    // Of several writes of one resource the last answer is the one to find.
    let mut latest = BTreeMap::new();
    for (write, answer) in &part.answered {
        let entries = known.get(write.request_id()).map_or(&[][..], Vec::as_slice);
        is_whole(write, entries);
        latest.insert(write.name(), (write, answer));
    }
    for (name, (write, answer)) in latest {
        let found = write.read(channel).await;
        let overwritten = part.unanswered.as_ref().is_some_and(|write| {
            write.name() == name && found.as_ref().is_some_and(|found| write.made(found))
        });
        assert!(
            overwritten || found.as_ref() == Some(answer),
            "{name}: {found:?}, answered was {answer:?}"
        );
    }
    if let Some((write, answer)) = part.answered.last() {
        assert_eq!(
            &write.send(channel).await.unwrap(),
            answer,
            "the same request again: {write:?}"
        );
    }
}

/// An unanswered write is there as a whole or not at all. A database that outlives the server may
/// finish one that was under way just now, so the order of reading matters.
async fn check_unanswered(
    channel: &AuthorizedChannel,
    part: &Part,
    write: &Write,
    known: &BTreeMap<&str, Vec<&HistoryEntry>>,
) {
    let known_before = known.get(write.request_id());
    let found = write.read(channel).await;
    let fitted_by = write.fitted_by(channel).await;
    let made = found.as_ref().is_some_and(|found| write.made(found));
    if let Some(entries) = known_before {
        is_whole(write, entries);
        assert!(made, "{write:?} stands in the history, the record has {found:?}");
    }
    if made && write.fitment().is_some() {
        assert_eq!(
            fitted_by,
            Some(write.name()),
            "the fitment changes with {write:?}"
        );
    }
    if !made {
        let before = part
            .answered
            .iter()
            .rev()
            .find(|(other, _)| other.name() == write.name());
        match (write, before) {
            (Write::UpdateItem(_), Some((_, answer))) => assert_eq!(found.as_ref(), Some(answer)),
            (Write::UpdateItem(_), None) => assert!(found.is_some()),
            _ => assert_eq!(found, None, "{write:?} is not there as a whole"),
        }
    }
    let answer = write.send(channel).await.unwrap();
    if made {
        assert_eq!(
            found,
            Some(answer.clone()),
            "it was done, so sending it again changes nothing"
        );
    }
    assert_eq!(write.send(channel).await.unwrap(), answer);
    assert_eq!(write.read(channel).await, Some(answer));
}
