//! `ostler show KIND ID --at TIME`: a record as it was.

use ostler_proto::v1::history_service_client::HistoryServiceClient;
use ostler_proto::v1::{GetResourceAtRequest, ResourceState};
use prost_reflect::{DynamicMessage, MessageDescriptor};

use super::resource::record_document;
use super::{Outcome, time};
use crate::connection::ANSWER_BYTES_MAX;
use crate::errors::CliError;
use crate::session::{Session, short};

/// Shows the record `name`, a message of `descriptor`, as it was at the moment `at`.
pub(super) async fn show(
    session: &Session,
    descriptor: &MessageDescriptor,
    name: String,
    at: &str,
) -> Result<Outcome, CliError> {
    let request = GetResourceAtRequest {
        name,
        read_time: Some(time::moment("--at", at)?),
    };
    let state = session
        .connection
        .call(request, async |service, request| {
            HistoryServiceClient::new(service)
                .max_decoding_message_size(ANSWER_BYTES_MAX)
                .get_resource_at(request)
                .await
        })
        .await?;
    let message = read(descriptor, &state.resource_json)?;
    Ok(Outcome::document(record_document(Some(&head(&state)), &message)))
}

/// How it came to be so.
fn head(state: &ResourceState) -> String {
    let change = state.change.clone().unwrap_or_default();
    let when = time::utc(change.change_time);
    format!(
        "{} since {when} UTC, {} by {}",
        short(&state.name),
        change.action,
        change.actor
    )
}

fn read(descriptor: &MessageDescriptor, json: &str) -> Result<DynamicMessage, CliError> {
    let unreadable = |error: serde_json::Error| CliError::Answer {
        problem: format!("the record as it was cannot be read: {error}"),
    };
    let mut text = serde_json::Deserializer::from_str(json);
    let message = DynamicMessage::deserialize(descriptor.clone(), &mut text).map_err(unreadable)?;
    text.end().map_err(unreadable)?;
    Ok(message)
}
