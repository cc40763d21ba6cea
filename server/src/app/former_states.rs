//! A resource as it was at a moment, from its history.

use ostler_proto::v1;
use prost_reflect::{DynamicMessage, ReflectMessage as _, Value};

use super::history::{entry as entry_message, former, json_of};
use super::kind_table::{entry, name_of_any};
use super::scope::{Scope, owners};
use super::stored::{micros, timestamp};
use super::{App, AppError};

impl App {
    /// A resource as it was at a moment, as far as `scope` shows what it was then.
    ///
    /// # Errors
    /// When the name or the moment is not valid, or it was not there then: not yet, not any more, or never.
    pub async fn get_resource_at(
        &self,
        scope: &Scope,
        request: v1::GetResourceAtRequest,
    ) -> Result<v1::ResourceState, AppError> {
        let name = name_of_any("name", &request.name)?;
        let time = request
            .read_time
            .ok_or_else(|| AppError::field("read_time", "must be set"))?;
        let moment = micros("read_time", time)?;
        if moment > self.now_micros() {
            return Err(AppError::field("read_time", "must not be to come"));
        }
        let fleet = name.fleet();
        let Some(change) = self.store().last_change_until(&fleet, &name, moment).await? else {
            return Err(self.not_yet(scope, &name, &fleet, time).await?);
        };
        // The body that the entry left, or the one that it took away.
        let body = change.after.as_deref().or(change.before.as_deref());
        let mut message = former(&name, &change.kind, body.unwrap_or_default())?;
        if !scope.is_everything() && !scope.shows(&name, &owners(&name, &message)) {
            return Err(AppError::NotFound {
                name: name.to_string(),
            });
        }
        if change.after.is_none() {
            let when = timestamp(change.time);
            return Err(AppError::NotThereAt {
                name: name.to_string(),
                time: time.to_string(),
                why: format!("{} deleted it at {when}", change.actor),
            });
        }
        identify(&mut message, &name, change.time);
        let kind = entry(&change.kind).map_or("", |kind| kind.collection);
        Ok(v1::ResourceState {
            name: name.to_string(),
            kind: kind.to_owned(),
            resource_json: json_of(&name, &message)?,
            change: Some(entry_message(change)?),
        })
    }

    /// Why a resource has no change until `time`: it was made later, or never. What `scope` does not show was never made.
    async fn not_yet(
        &self,
        scope: &Scope,
        name: &str,
        fleet: &str,
        time: prost_types::Timestamp,
    ) -> Result<AppError, AppError> {
        let query = ostler_store::HistoryQuery::newest(fleet, Some(name), 1);
        let later = match self.store().history(&query).await?.pop() {
            Some(change) if super::history::is_shown(scope, &change)? => Some(change),
            _ => None,
        };
        Ok(match later {
            None => AppError::NotFound {
                name: name.to_owned(),
            },
            Some(_) => AppError::NotThereAt {
                name: name.to_owned(),
                time: time.to_string(),
                why: "it was created later".to_owned(),
            },
        })
    }
}

/// Gives a former body what its row would have held, as far as the history knows it.
fn identify(message: &mut DynamicMessage, name: &str, update_time: i64) {
    let descriptor = message.descriptor();
    if let Some(field) = descriptor.get_field_by_name("name") {
        message.set_field(&field, Value::String(name.to_owned()));
    }
    if let Some(field) = descriptor.get_field_by_name("update_time") {
        let time = timestamp(update_time).transcode_to_dynamic();
        message.set_field(&field, Value::Message(time));
    }
}
