//! Changes of a fleet as they are sealed.
//!
//! The chain is looked at a few times a second, so that it does not matter which server wrote or sealed. It is followed by
//! position, never by the entries' own numbers: those are given before commit, and a smaller one may be seen later.

use std::time::Duration;

use ostler_core::record::Name;
use ostler_proto::v1;
use ostler_store::{HistoryFilter, SealedQuery};
use tokio::sync::mpsc::Sender;

use super::history::{entry, filter_of, is_shown};
use super::kinds::{Fleets, name_of};
use super::scope::Scope;
use super::{App, AppError};

/// Pause between two looks at the chain.
const PAUSE: Duration = Duration::from_millis(250);

/// Entries read at a time.
const BATCH: u32 = 200;

/// Who listens.
type Listener = Sender<Result<v1::WatchHistoryResponse, AppError>>;

impl App {
    /// Sends where the watch begins, then every change that passes the request's filters and `scope` shows, in the order of the
    /// chain, until the listener is gone.
    ///
    /// # Errors
    /// When the fleet or the resource was never on record, a filter is not valid, or the position lies beyond the chain.
    pub async fn watch_history(
        &self,
        scope: &Scope,
        request: v1::WatchHistoryRequest,
        listener: &Listener,
    ) -> Result<(), AppError> {
        let fleet = name_of::<Fleets>("parent", &request.parent)?;
        let filter = filter_of(&fleet, &request.resource, &request.kind, &request.actor)?;
        let mut end = self.end_of_chain(&fleet).await?;
        self.ever_was(scope, &fleet, filter.resource).await?;
        let mut position = request.after_position.unwrap_or(end);
        if position > end {
            return Err(AppError::field(
                "after_position",
                format!("lies beyond the chain, which ends at {end}"),
            ));
        }
        let begin = v1::WatchHistoryResponse {
            position,
            entry: None,
        };
        if listener.send(Ok(begin)).await.is_err() {
            return Ok(());
        }
        loop {
            if position < end
                && !self
                    .send_between(scope, &fleet, filter, position, end, listener)
                    .await?
            {
                return Ok(());
            }
            position = end;
            tokio::select! {
                () = tokio::time::sleep(PAUSE) => {}
                () = listener.closed() => return Ok(()),
                () = self.until_stopping() => return Err(AppError::Stopping),
            }
            end = self.end_of_chain(&fleet).await?;
        }
    }

    /// Sends what was sealed after `position` and up to `end`. `false`: the listener is gone.
    async fn send_between(
        &self,
        scope: &Scope,
        fleet: &Name,
        filter: HistoryFilter<'_>,
        mut position: i64,
        end: i64,
        listener: &Listener,
    ) -> Result<bool, AppError> {
        loop {
            let query = SealedQuery {
                fleet,
                filter,
                after_position: position,
                until_position: end,
                limit: BATCH,
            };
            let rows = self.store().sealed_history(&query).await?;
            let full = rows.len() == BATCH as usize;
            for row in rows {
                position = row.position.unwrap_or(position);
                if !is_shown(scope, &row)? {
                    continue;
                }
                let change = v1::WatchHistoryResponse {
                    position,
                    entry: Some(entry(row)?),
                };
                if listener.send(Ok(change)).await.is_err() {
                    return Ok(false);
                }
            }
            if !full {
                return Ok(true);
            }
        }
    }

    async fn end_of_chain(&self, fleet: &Name) -> Result<i64, AppError> {
        let head = self.store().head(fleet).await?;
        Ok(head.map_or(0, |head| head.position))
    }
}
