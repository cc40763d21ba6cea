//! The readiness of two moments against each other, from the history.

use ostler_core::readiness::{Readiness, differences};
use ostler_core::record::Name;
use ostler_proto::v1;
use ostler_store::{HistoryEntry, HistorySpan, Row};

use super::history::entry as entry_message;
use super::kind_table::entry;
use super::kinds::{Departures, name_of};
use super::record::{assemble, scopes_of};
use super::stored::micros;
use super::{App, AppError};
use crate::convert;

/// Most changes that an answer lists.
const CHANGES_MAX: usize = 1_000;

impl App {
    /// Holds the readiness of two moments against each other.
    ///
    /// # Errors
    /// When the departure was never on record, or the moments are not in order.
    pub async fn compare_readiness(
        &self,
        request: v1::CompareReadinessRequest,
    ) -> Result<v1::CompareReadinessResponse, AppError> {
        let v1::CompareReadinessRequest {
            departure,
            before_time,
            after_time,
        } = request;
        let departure = name_of::<Departures>("departure", &departure)?;
        let now = self.now_micros();
        let earlier = before_time.map_or(Ok(0), |time| micros("before_time", time))?;
        let later = after_time.map_or(Ok(now), |time| micros("after_time", time))?;
        if later < earlier {
            return Err(AppError::field("after_time", "must not be before `before_time`"));
        }
        let before = self.readiness_at(&departure, earlier).await?;
        let after = self
            .readiness_at(&departure, later)
            .await?
            .ok_or_else(|| AppError::NotFound {
                name: departure.to_string(),
            })?;
        let span = HistorySpan {
            fleet: &departure.fleet(),
            after_time: earlier,
            until_time: later,
            limit: u32::try_from(CHANGES_MAX + 1).unwrap_or(u32::MAX),
        };
        let mut changes = self.store().history_between(&span).await?;
        let more_changes = changes.len() > CHANGES_MAX;
        changes.truncate(CHANGES_MAX);
        let nothing = || Readiness {
            departure: departure.clone(),
            verdict: after.verdict,
            vehicles: Vec::new(),
            gates: Vec::new(),
        };
        let verdict =
            |readiness: &Readiness| i32::from(convert::readiness::verdict_message(readiness.verdict));
        Ok(v1::CompareReadinessResponse {
            verdict_before: before.as_ref().map_or(0, verdict),
            verdict_after: verdict(&after),
            gates: differences(&before.unwrap_or_else(nothing), &after)
                .into_iter()
                .map(convert::readiness::gate_change_message)
                .collect(),
            changes: changes.into_iter().map(entry_message).collect::<Result<_, _>>()?,
            more_changes,
        })
    }

    /// The readiness as it stood at a moment. `None`: the departure was not on record.
    async fn readiness_at(&self, departure: &Name, time: i64) -> Result<Option<Readiness>, AppError> {
        let fleet = departure.fleet();
        let rows = self
            .store()
            .history_as_of(&fleet, time)
            .await?
            .into_iter()
            .filter_map(|entry| row(entry).transpose())
            .collect::<Result<Vec<Row>, AppError>>()?;
        let Some(own) = rows.iter().find(|row| row.name == **departure) else {
            return Ok(None);
        };
        let stored = super::stored::decode::<Departures>(own.clone())?;
        let known = convert::departure::departure(stored.name, stored.message)?;
        let scopes = scopes_of(&known);
        let within = rows
            .into_iter()
            .filter(|row| scopes.contains(&row.scope))
            .collect();
        let record = assemble(&fleet, within)?;
        Ok(Some(self.assess_readiness(record, known).await?))
    }
}

/// The row that an entry left behind. `None`: it deleted it.
fn row(change: HistoryEntry) -> Result<Option<Row>, AppError> {
    let Some(body) = change.after else { return Ok(None) };
    let name = Name::new(change.resource)?;
    let mut row = Row {
        kind: change.kind,
        parent: name.parent().map(String::from),
        scope: String::new(),
        revision: 1,
        create_time: change.time,
        update_time: change.time,
        name: name.to_string(),
        body,
    };
    let kind = entry(&row.kind).ok_or_else(|| AppError::Corrupt {
        name: row.name.clone(),
        source: format!("unknown kind {:?}", row.kind).into(),
    })?;
    row.scope = kind.prepare(&name, &kind.decode(&row)?)?.scope;
    Ok(Some(row))
}
