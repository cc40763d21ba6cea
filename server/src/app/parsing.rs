//! The file forms and tokens of the use cases, as [`crate::parsers`] has them.

use ostler_core::record::Name;
use ostler_proto::v1;

use super::{cargo_list, fleet_file, page, watch};
use crate::parsers::{Outcome, Unfaithful};

fn unfaithful(what: impl Into<String>) -> Unfaithful {
    Unfaithful { what: what.into() }
}

/// A fleet file: what is written of it reads as the same resources.
pub(crate) fn fleet_file_reads(bytes: &[u8]) -> Result<Outcome, Unfaithful> {
    let Ok((file, None)) = fleet_file::read_with_faults(bytes) else {
        return Ok(Outcome::Refused);
    };
    let written = fleet_file::write(&file);
    let text = || String::from_utf8_lossy(&written).into_owned();
    match fleet_file::read_with_faults(&written) {
        // The order of resources is the writer's.
        Ok((again, None)) if fleet_file::write(&again) == written => Ok(Outcome::Accepted),
        _ => Err(unfaithful(text())),
    }
}

/// A cargo list: what is written of its rows reads as the same items.
pub(crate) fn cargo_list_reads(bytes: &[u8]) -> Result<Outcome, Unfaithful> {
    let Ok(fleet) = Name::new("fleets/a") else {
        return Ok(Outcome::Refused);
    };
    let Ok(rows) = cargo_list::read(bytes, &fleet) else {
        return Ok(Outcome::Refused);
    };
    let items = |rows: &[cargo_list::CargoRow]| {
        rows.iter()
            .map(|row| (row.name.clone(), row.over(&v1::CargoItem::default())))
            .collect::<Vec<_>>()
    };
    let read = items(&rows);
    let written = cargo_list::write(&read).map_err(|error| unfaithful(error.to_string()))?;
    match cargo_list::read(&written, &fleet) {
        Ok(again) if items(&again) == read => Ok(Outcome::Accepted),
        _ => Err(unfaithful(String::from_utf8_lossy(&written))),
    }
}

/// A page token: what it goes on after makes the same token.
pub(crate) fn page_token_reads(bytes: &[u8]) -> Result<Outcome, Unfaithful> {
    let Ok(text) = str::from_utf8(bytes) else {
        return Ok(Outcome::Refused);
    };
    match page::last("list", text) {
        Ok(Some(last)) if page::token("list", &last) == text => Ok(Outcome::Accepted),
        Ok(Some(last)) => Err(unfaithful(last)),
        Ok(None) | Err(_) => Ok(Outcome::Refused),
    }
}

/// A resume token, of any question.
pub(crate) fn resume_token_reads(bytes: &[u8]) -> Result<Outcome, Unfaithful> {
    let Ok(text) = str::from_utf8(bytes) else {
        return Ok(Outcome::Refused);
    };
    Ok(if watch::is_token_of("question", text) {
        Outcome::Accepted
    } else {
        Outcome::Refused
    })
}
