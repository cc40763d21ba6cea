//! What changed, when and by whom.

use ostler_core::record::Name;
use ostler_proto::{DESCRIPTOR_POOL, v1};
use ostler_store::{HistoryEntry, HistoryFilter, HistoryQuery};
use prost_reflect::DynamicMessage;
use prost_types::Timestamp;

use super::kind_table::{name_of_any, of_collection};
use super::kinds::{Fleets, MESSAGES, name_of};
use super::scope::{Scope, owners_of_change};
use super::stored::{micros, timestamp};
use super::{App, AppError, page};

/// Entries read at a time while those that a scope shows are looked for.
const BATCH: u32 = 500;

impl App {
    /// Lists the changes of a fleet that pass the request's filters, newest first, as far as `scope` shows them.
    ///
    /// # Errors
    /// When a name, a filter or the token is not valid.
    pub async fn list_history(
        &self,
        scope: &Scope,
        request: v1::ListHistoryRequest,
    ) -> Result<v1::ListHistoryResponse, AppError> {
        let fleet = name_of::<Fleets>("parent", &request.parent)?;
        let (start_time, end_time) = span(request.start_time, request.end_time)?;
        let filter = HistoryFilter {
            action: given(&request.action),
            from_time: start_time,
            before_time: end_time,
            ..filter_of(&fleet, &request.resource, &request.kind, &request.actor)?
        };
        let list = format!(
            "history {} {} {} {:?} {:?} {start_time:?} {end_time:?}",
            request.parent, request.resource, request.kind, request.actor, request.action
        );
        let before_sequence = match page::last(&list, &request.page_token)? {
            Some(text) => Some(text.parse::<i64>().map_err(|_| AppError::PageToken)?),
            None => None,
        };
        let size = page::size(request.page_size);
        let query = HistoryQuery {
            fleet: &fleet,
            filter,
            before_sequence,
            limit: u32::try_from(size + 1).unwrap_or(u32::MAX),
        };
        let mut rows = self.shown_history(scope, query).await?;
        if rows.is_empty() && before_sequence.is_none() {
            self.ever_was(scope, &fleet, filter.resource).await?;
        }
        let more = rows.len() > size;
        rows.truncate(size);
        let next_page_token = match rows.last() {
            Some(last) if more => page::token(&list, &last.sequence.to_string()),
            _ => String::new(),
        };
        let entries = rows.into_iter().map(entry).collect::<Result<_, _>>()?;
        Ok(v1::ListHistoryResponse {
            entries,
            next_page_token,
        })
    }

    /// Refuses a fleet, or a resource of it, that never was on record as far as `scope` shows: a slip of the pen must not
    /// read as "never changed".
    ///
    /// # Errors
    /// [`AppError::NotFound`] then; and when the record cannot be read.
    pub(super) async fn ever_was(
        &self,
        scope: &Scope,
        fleet: &str,
        resource: Option<&str>,
    ) -> Result<(), AppError> {
        let newest = HistoryQuery::newest(fleet, resource, 1);
        match self.shown_history(scope, newest).await?.is_empty() {
            false => Ok(()),
            true => Err(AppError::NotFound {
                name: resource.unwrap_or(fleet).to_owned(),
            }),
        }
    }

    /// The entries of a query that `scope` shows.
    async fn shown_history(
        &self,
        scope: &Scope,
        mut query: HistoryQuery<'_>,
    ) -> Result<Vec<HistoryEntry>, AppError> {
        if scope.is_everything() {
            return Ok(self.store().history(&query).await?);
        }
        let wanted = query.limit as usize;
        query.limit = BATCH;
        let mut shown = Vec::new();
        loop {
            let rows = self.store().history(&query).await?;
            let last = rows.len() < BATCH as usize;
            query.before_sequence = rows.last().map(|row| row.sequence);
            for row in rows {
                if is_shown(scope, &row)? {
                    shown.push(row);
                }
            }
            if last || shown.len() >= wanted {
                shown.truncate(wanted);
                return Ok(shown);
            }
        }
    }
}

/// Whether `scope` shows a change.
///
/// # Errors
/// When a body cannot be read.
pub(super) fn is_shown(scope: &Scope, row: &HistoryEntry) -> Result<bool, AppError> {
    if scope.is_everything() {
        return Ok(true);
    }
    let (before, after) = (row.before.as_deref(), row.after.as_deref());
    let owners = owners_of_change(&row.resource, &row.kind, before, after)?;
    Ok(scope.shows(&row.resource, &owners))
}

/// The filter that lists and watches have in common.
///
/// # Errors
/// When the resource is none of the fleet, or there is no such kind.
pub(super) fn filter_of<'a>(
    fleet: &Name,
    resource: &'a str,
    kind: &str,
    actor: &'a str,
) -> Result<HistoryFilter<'a>, AppError> {
    // What is gone keeps its history, so it need not exist.
    if !resource.is_empty() && name_of_any("resource", resource)?.fleet() != *fleet {
        return Err(AppError::field("resource", "belongs to another fleet"));
    }
    let kind = match kind {
        "" => None,
        collection => Some(of_collection("kind", collection)?.word),
    };
    Ok(HistoryFilter {
        resource: given(resource),
        kind,
        actor: given(actor),
        ..HistoryFilter::ALL
    })
}

fn given(text: &str) -> Option<&str> {
    (!text.is_empty()).then_some(text)
}

/// A span of time in microseconds since 1970, UTC, each end as far as it is given.
fn span(start: Option<Timestamp>, end: Option<Timestamp>) -> Result<(Option<i64>, Option<i64>), AppError> {
    let start = start.map(|time| micros("start_time", time)).transpose()?;
    let end = end.map(|time| micros("end_time", time)).transpose()?;
    if start.zip(end).is_some_and(|(start, end)| end <= start) {
        return Err(AppError::field("end_time", "must be after `start_time`"));
    }
    Ok((start, end))
}

/// A seal as the API has it.
pub fn seal_text(seal: &[u8]) -> String {
    seal.iter().map(|byte| format!("{byte:02x}")).collect()
}

pub(super) fn entry(row: HistoryEntry) -> Result<v1::HistoryEntry, AppError> {
    let HistoryEntry {
        sequence,
        fleet: _,
        resource,
        kind,
        time,
        actor,
        action,
        request_id,
        before,
        after,
        position,
        seal,
    } = row;
    Ok(v1::HistoryEntry {
        sequence,
        change_time: Some(timestamp(time)),
        actor,
        action,
        request_id: request_id.unwrap_or_default(),
        before_json: json(&resource, &kind, before.as_deref())?,
        after_json: json(&resource, &kind, after.as_deref())?,
        position: position.unwrap_or_default(),
        seal: seal.as_deref().map(seal_text).unwrap_or_default(),
        resource,
    })
}

/// The JSON form of a stored body; empty for none.
fn json(resource: &str, kind: &str, body: Option<&[u8]>) -> Result<String, AppError> {
    let Some(body) = body else {
        return Ok(String::new());
    };
    json_of(resource, &former(resource, kind, body)?)
}

/// A former body of a resource, decoded.
///
/// # Errors
/// When it cannot be read.
pub(super) fn former(resource: &str, kind: &str, body: &[u8]) -> Result<DynamicMessage, AppError> {
    let message = MESSAGES
        .iter()
        .find(|(word, _)| *word == kind)
        .and_then(|(_, message)| DESCRIPTOR_POOL.get_message_by_name(message))
        .ok_or_else(|| corrupt(resource, format!("unknown kind {kind:?}").into()))?;
    DynamicMessage::decode(message, body).map_err(|error| corrupt(resource, Box::new(error)))
}

/// The JSON form of a former state.
///
/// # Errors
/// When it has none.
pub(super) fn json_of(resource: &str, message: &DynamicMessage) -> Result<String, AppError> {
    serde_json::to_string(message).map_err(|error| corrupt(resource, Box::new(error)))
}

fn corrupt(resource: &str, source: Box<dyn std::error::Error + Send + Sync>) -> AppError {
    AppError::Corrupt {
        name: format!("a former state of {resource}"),
        source,
    }
}
