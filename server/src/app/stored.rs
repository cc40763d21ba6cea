//! Stored resources: rows decoded, messages encoded, the identity that a row gives.

use ostler_core::record::Name;
use ostler_store::Row;
use prost::Message;
use prost_types::Timestamp;

use super::AppError;
use super::kinds::{Identity, Kind};

/// A stored resource, decoded.
#[derive(Debug, Clone)]
pub struct Stored<K: Kind> {
    /// Its row.
    pub row: Row,
    /// Its name.
    pub name: Name,
    /// Its message, with its identity.
    pub message: K::Message,
}

/// Decodes a row.
///
/// # Errors
/// When the body is not a message of the kind.
pub fn decode<K: Kind>(row: Row) -> Result<Stored<K>, AppError> {
    let corrupt = |source: Box<dyn std::error::Error + Send + Sync>| AppError::Corrupt {
        name: row.name.clone(),
        source,
    };
    let mut message = K::Message::decode(row.body.as_slice()).map_err(|error| corrupt(Box::new(error)))?;
    let name = Name::new(row.name.clone()).map_err(|error| corrupt(Box::new(error)))?;
    message.set_identity(
        row.name.clone(),
        etag(row.revision, row.update_time),
        Some(timestamp(row.create_time)),
        Some(timestamp(row.update_time)),
    );
    Ok(Stored { row, name, message })
}

/// Encodes a message for storage: without its identity, which the row holds.
pub fn encode<K: Kind>(message: &K::Message) -> Vec<u8> {
    let mut message = message.clone();
    message.set_identity(String::new(), String::new(), None, None);
    message.encode_to_vec()
}

/// The etag of a row.
pub(super) fn etag_of(row: &Row) -> String {
    etag(row.revision, row.update_time)
}

fn etag(revision: i64, update_time: i64) -> String {
    format!("{revision:x}-{update_time:x}")
}

/// A time of the API.
pub fn timestamp(micros: i64) -> Timestamp {
    let nanos = i32::try_from(micros.rem_euclid(1_000_000) * 1_000).unwrap_or_default();
    Timestamp {
        seconds: micros.div_euclid(1_000_000),
        nanos,
    }
}

/// A time of the API as microseconds since 1970, UTC; what is below a microsecond is dropped.
///
/// # Errors
/// When it is out of range; the violation is at `field`.
pub(super) fn micros(field: &str, time: Timestamp) -> Result<i64, AppError> {
    let within = (0..1_000_000_000).contains(&time.nanos);
    let micros = time
        .seconds
        .checked_mul(1_000_000)
        .and_then(|micros| micros.checked_add(i64::from(time.nanos) / 1_000));
    micros
        .filter(|_| within)
        .ok_or_else(|| AppError::field(field, "must be a time"))
}

/// The day of a time, in UTC, as YYYY-MM-DD. Empty: it is out of the calendar.
pub(super) fn utc_date(micros: i64) -> String {
    let day = micros.div_euclid(86_400_000_000);
    let epoch = jiff::civil::Date::new(1970, 1, 1).ok();
    epoch
        .zip(jiff::Span::new().try_days(day).ok())
        .and_then(|(epoch, days)| epoch.checked_add(days).ok())
        .map_or_else(String::new, |date| date.to_string())
}

/// A message with the identity of its row.
pub(super) fn identified<K: Kind>(
    mut message: K::Message,
    name: &Name,
    revision: i64,
    create_time: i64,
    update_time: i64,
) -> K::Message {
    message.set_identity(
        name.to_string(),
        etag(revision, update_time),
        Some(timestamp(create_time)),
        Some(timestamp(update_time)),
    );
    message
}
