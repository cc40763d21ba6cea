//! What changed, when and by whom.

use ostler_proto::{DESCRIPTOR_POOL, v1};
use ostler_store::{HistoryEntry, HistoryQuery};
use prost_reflect::DynamicMessage;

use super::kind_table::name_of_any;
use super::kinds::{Fleets, MESSAGES, name_of};
use super::scope::{Scope, owners_of_change};
use super::stored::timestamp;
use super::{App, AppError, page};

/// Entries read at a time while those that a scope shows are looked for.
const BATCH: u32 = 500;

impl App {
    /// Lists the changes of a fleet, or of one resource of it, newest first, as far as `scope` shows them.
    ///
    /// # Errors
    /// When the fleet's or the resource's name or the token is not valid.
    pub async fn list_history(
        &self,
        scope: &Scope,
        request: v1::ListHistoryRequest,
    ) -> Result<v1::ListHistoryResponse, AppError> {
        let v1::ListHistoryRequest {
            parent,
            resource,
            page_size,
            page_token,
        } = request;
        let fleet = name_of::<Fleets>("parent", &parent)?;
        // What is gone keeps its history, so it need not exist, but a slip of the pen must not read as "never changed".
        if !resource.is_empty() && name_of_any("resource", &resource)?.fleet() != fleet {
            return Err(AppError::field("resource", "belongs to another fleet"));
        }
        let list = format!("history {parent} {resource}");
        let before_sequence = match page::last(&list, &page_token)? {
            Some(text) => Some(text.parse::<i64>().map_err(|_| AppError::PageToken)?),
            None => None,
        };
        let size = page::size(page_size);
        let query = HistoryQuery {
            fleet: &fleet,
            resource: (!resource.is_empty()).then_some(resource.as_str()),
            before_sequence,
            limit: u32::try_from(size + 1).unwrap_or(u32::MAX),
        };
        let (mut rows, seen) = self.shown_history(scope, query).await?;
        if seen == 0 && before_sequence.is_none() && self.store().get(&fleet).await?.is_none() {
            return Err(AppError::NotFound { name: parent });
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

    /// The entries of a query that `scope` shows, and how many were looked at.
    async fn shown_history(
        &self,
        scope: &Scope,
        mut query: HistoryQuery<'_>,
    ) -> Result<(Vec<HistoryEntry>, usize), AppError> {
        let wanted = query.limit as usize;
        if scope.is_everything() {
            let rows = self.store().history(&query).await?;
            let seen = rows.len();
            return Ok((rows, seen));
        }
        query.limit = BATCH;
        let (mut shown, mut seen) = (Vec::new(), 0);
        loop {
            let rows = self.store().history(&query).await?;
            let last = rows.len() < BATCH as usize;
            seen += rows.len();
            query.before_sequence = rows.last().map(|row| row.sequence);
            for row in rows {
                let (before, after) = (row.before.as_deref(), row.after.as_deref());
                let owners = owners_of_change(&row.resource, &row.kind, before, after)?;
                if scope.shows(&row.resource, &owners) {
                    shown.push(row);
                }
            }
            if last || shown.len() >= wanted {
                shown.truncate(wanted);
                return Ok((shown, seen));
            }
        }
    }
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
    } = row;
    Ok(v1::HistoryEntry {
        sequence,
        change_time: Some(timestamp(time)),
        actor,
        action,
        request_id: request_id.unwrap_or_default(),
        before_json: json(&resource, &kind, before.as_deref())?,
        after_json: json(&resource, &kind, after.as_deref())?,
        resource,
    })
}

/// The JSON form of a stored body; empty for none.
fn json(resource: &str, kind: &str, body: Option<&[u8]>) -> Result<String, AppError> {
    let Some(body) = body else {
        return Ok(String::new());
    };
    let corrupt = |source: Box<dyn std::error::Error + Send + Sync>| AppError::Corrupt {
        name: format!("a former state of {resource}"),
        source,
    };
    let message = MESSAGES
        .iter()
        .find(|(word, _)| *word == kind)
        .and_then(|(_, message)| DESCRIPTOR_POOL.get_message_by_name(message))
        .ok_or_else(|| corrupt(format!("unknown kind {kind:?}").into()))?;
    let message = DynamicMessage::decode(message, body).map_err(|error| corrupt(Box::new(error)))?;
    serde_json::to_string(&message).map_err(|error| corrupt(Box::new(error)))
}
