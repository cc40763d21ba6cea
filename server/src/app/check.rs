//! Checks a whole database: does the history, replayed, give the record; is its chain of seals unbroken; can every body be
//! read; are issued sheets as issued?

use std::collections::BTreeMap;

use ostler_core::record::Name;
use ostler_store::{HistoryEntry, HistoryQuery, Row, Store, StoreError};

use super::kind_table::entry;
use super::kinds::{Kind as _, LoadSheets};
use chain::check_chain;
pub use chain::{HeadError, NotedHead};

mod chain;

/// Entries of history that are read at once.
const PAGE: u32 = 1_000;

/// How often a resource that differs is looked at again: on a database that is written to, a change may fall between
/// reading its row and reading its history.
const LOOKS: usize = 3;

/// What a check has looked at, and what is wrong.
#[derive(Debug, Default, Clone, PartialEq, Eq)]
pub struct CheckReport {
    /// Fleets that there are or ever were.
    pub fleets: usize,
    /// Resources on record.
    pub resources: usize,
    /// Entries of their history, and of what is gone.
    pub history_entries: usize,
    /// Those of them that wait for their seal, which takes a fraction of a second where a server runs.
    pub unsealed_entries: usize,
    /// Issued load sheets.
    pub issued_sheets: usize,
    /// The end of the chain of each fleet that has one, to be noted elsewhere.
    pub heads: Vec<NotedHead>,
    /// What is wrong: about what, and how.
    pub faults: Vec<(String, String)>,
}

impl CheckReport {
    fn fault(&mut self, about: &str, problem: impl Into<String>) {
        self.faults.push((about.to_owned(), problem.into()));
    }
}

/// Checks the whole database behind `store`, and that each of the heads `noted` earlier is still in its chain. Nothing is
/// written; others may go on working with it.
///
/// # Errors
/// When the database cannot be read.
pub async fn check_whole(store: &Store, noted: &[NotedHead]) -> Result<CheckReport, StoreError> {
    let mut report = CheckReport::default();
    for fault in store.own_faults().await? {
        report.fault("database", fault);
    }
    for fleet in store.fleets_ever().await? {
        report.fleets += 1;
        check_fleet(store, &fleet, &mut report).await?;
        check_chain(store, &fleet, &mut report).await?;
    }
    chain::check_queue(store, &mut report).await?;
    chain::check_noted(store, noted, &mut report).await?;
    Ok(report)
}

/// What the history of a resource says.
struct Told {
    /// Its body after the last entry; none when it was deleted.
    last_after: Option<Vec<u8>>,
    /// Its body before the entry that was read last: going back, the next must end on it.
    next_before: Option<Vec<u8>>,
    /// What is broken in it.
    broken: Option<String>,
}

async fn check_fleet(store: &Store, fleet: &str, report: &mut CheckReport) -> Result<(), StoreError> {
    let mut rows: BTreeMap<String, Row> = BTreeMap::new();
    if let Some(row) = store.get(fleet).await? {
        rows.insert(row.name.clone(), row);
    }
    for row in store.descendants(fleet).await? {
        rows.insert(row.name.clone(), row);
    }
    let told = replay(store, fleet, report).await?;
    report.resources += rows.len();
    for (name, row) in &rows {
        check_body(name, row, report);
    }
    for (name, told) in &told {
        if let Some(broken) = &told.broken {
            report.fault(name, broken.clone());
        }
        let now = rows.get(name).map(|row| &row.body);
        if now != told.last_after.as_ref() && differs(store, fleet, name).await? {
            report.fault(name, "is not what its history says");
        }
    }
    for name in rows.keys().filter(|name| !told.contains_key(*name)) {
        if differs(store, fleet, name).await? {
            report.fault(name, "has no history");
        }
    }
    Ok(())
}

/// Reads the whole history of a fleet, newest first, and holds every entry against the one that followed it.
async fn replay(
    store: &Store,
    fleet: &str,
    report: &mut CheckReport,
) -> Result<BTreeMap<String, Told>, StoreError> {
    let mut told: BTreeMap<String, Told> = BTreeMap::new();
    let mut before_sequence = None;
    loop {
        let page = store
            .history(&HistoryQuery {
                before_sequence,
                ..HistoryQuery::newest(fleet, None, PAGE)
            })
            .await?;
        let Some(last) = page.last() else { break };
        before_sequence = Some(last.sequence);
        report.history_entries += page.len();
        for entry in page {
            follow(&mut told, entry, report);
        }
    }
    for told in told.values_mut().filter(|told| told.next_before.is_some()) {
        told.broken
            .get_or_insert_with(|| "the beginning of its history is missing".to_owned());
    }
    Ok(told)
}

fn follow(told: &mut BTreeMap<String, Told>, entry: HistoryEntry, report: &mut CheckReport) {
    if entry.kind == LoadSheets::WORD && entry.before.is_none() {
        report.issued_sheets += 1;
    }
    let HistoryEntry {
        sequence,
        resource,
        before,
        after,
        ..
    } = entry;
    match told.get_mut(&resource) {
        None => {
            let first = Told {
                last_after: after,
                next_before: before,
                broken: None,
            };
            told.insert(resource, first);
        }
        Some(told) => {
            if told.next_before != after {
                let broken = format!(
                    "its history is broken after entry {sequence}: the next one begins with something else"
                );
                told.broken.get_or_insert(broken);
            }
            told.next_before = before;
        }
    }
}

/// Whether a resource still differs from the last entry of its history when both are read again.
async fn differs(store: &Store, fleet: &str, name: &str) -> Result<bool, StoreError> {
    for _ in 0..LOOKS {
        let row = store.get(name).await?;
        let last = store
            .history(&HistoryQuery::newest(fleet, Some(name), 1))
            .await?
            .pop();
        let after = last.and_then(|entry| entry.after);
        if row.map(|row| row.body) == after {
            return Ok(false);
        }
    }
    Ok(true)
}

/// Whether a body can be read, and an issued sheet has the hash that it states.
fn check_body(name: &str, row: &Row, report: &mut CheckReport) {
    let Some(kind) = entry(&row.kind) else {
        report.fault(name, format!("is of a kind that there is not: {}", row.kind));
        return;
    };
    let message = match kind.decode(row) {
        Ok(message) => message,
        Err(error) => {
            report.fault(name, format!("cannot be read: {error}"));
            return;
        }
    };
    if let Err(error) = Name::new(name) {
        report.fault(name, format!("is no name: {error}"));
    }
    if row.kind == LoadSheets::WORD
        && let Ok(sheet) = super::kind_table::typed::<LoadSheets>(&message)
        && super::sheets::sha256(&sheet.content) != sheet.content_hash
    {
        report.fault(name, "the sheet is not what was issued: its hash is another");
    }
}
