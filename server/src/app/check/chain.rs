//! The chain of seals of a fleet, link by link, and heads that were noted earlier.

use std::fmt;
use std::str::FromStr;

use ostler_store::{Link, NOTHING_BEFORE, SEAL_BYTES, Store, StoreError, seal};

use super::CheckReport;
use crate::app::history::seal_text;

/// Links that are read at once.
const PAGE: u32 = 1_000;

/// Most faults of one sort that are listed of a fleet: a chain that was made anew is wrong at every position.
const LISTED_MAX: usize = 100;

/// The end that a chain had at some time: written down elsewhere, it proves later that nothing before it was changed.
/// As text `FLEET=POSITION:SEAL`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NotedHead {
    /// The fleet.
    pub fleet: String,
    /// The position, from 1.
    pub position: i64,
    /// The seal there.
    pub seal: [u8; SEAL_BYTES],
}

/// A text is no [`NotedHead`].
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("is not FLEET=POSITION:SEAL as `ostlerd check` prints it, with a seal of 64 hexadecimal digits")]
pub struct HeadError;

impl fmt::Display for NotedHead {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        let fleet = self.fleet.strip_prefix("fleets/").unwrap_or(&self.fleet);
        write!(formatter, "{fleet}={}:{}", self.position, seal_text(&self.seal))
    }
}

impl FromStr for NotedHead {
    type Err = HeadError;

    fn from_str(text: &str) -> Result<Self, HeadError> {
        let (fleet, rest) = text.trim().split_once('=').ok_or(HeadError)?;
        let (position, digits) = rest.split_once(':').ok_or(HeadError)?;
        let position = position.parse().map_err(|_| HeadError)?;
        let fleet = match fleet.strip_prefix("fleets/") {
            Some(_) => fleet.to_owned(),
            None => format!("fleets/{fleet}"),
        };
        if position < 1
            || digits.len() != 2 * SEAL_BYTES
            || !digits.bytes().all(|digit| digit.is_ascii_hexdigit())
        {
            return Err(HeadError);
        }
        let mut seal = [0; SEAL_BYTES];
        for (byte, pair) in seal.iter_mut().zip(digits.as_bytes().chunks(2)) {
            let pair = str::from_utf8(pair).map_err(|_| HeadError)?;
            *byte = u8::from_str_radix(pair, 16).map_err(|_| HeadError)?;
        }
        Ok(Self {
            fleet,
            position,
            seal,
        })
    }
}

/// Follows the chain of a fleet from its beginning. Each seal is computed again from its entry and the seal that stands before
/// it, so that one entry that was changed is one fault, at its own position.
pub(super) async fn check_chain(
    store: &Store,
    fleet: &str,
    report: &mut CheckReport,
) -> Result<(), StoreError> {
    // First, for a server may go on sealing: where nothing waits now, the head below has all of it behind it.
    report.unsealed_entries += store.unsealed_count(fleet).await?;
    let mut faults = Vec::new();
    let (mut position, mut previous) = (0, NOTHING_BEFORE);
    loop {
        let page = store.chain(fleet, position, PAGE).await?;
        for link in &page {
            faults.extend(gap(position, link.position));
            faults.extend(broken(link, &previous));
            position = link.position;
            // Of another length it is a fault already.
            previous = link.seal.as_slice().try_into().unwrap_or(NOTHING_BEFORE);
        }
        if page.len() < PAGE as usize {
            break;
        }
    }
    if position > 0 {
        report.heads.push(NotedHead {
            fleet: fleet.to_owned(),
            position,
            seal: previous,
        });
    }
    let outside = store
        .outside_of_chain(fleet, u32::try_from(LISTED_MAX).unwrap_or(u32::MAX))
        .await?;
    let inserted = outside.into_iter().map(|sequence| {
        format!("entry {sequence} of the history is not in the chain: it was put in past the server, or its place was taken out")
    });
    list(fleet, faults, report);
    list(fleet, inserted.collect(), report);
    Ok(())
}

fn list(fleet: &str, mut faults: Vec<String>, report: &mut CheckReport) {
    let more = faults.len().saturating_sub(LISTED_MAX);
    faults.truncate(LISTED_MAX);
    for fault in faults {
        report.fault(fleet, fault);
    }
    if more > 0 {
        report.fault(fleet, format!("{more} more faults of its chain"));
    }
}

fn gap(before: i64, position: i64) -> Option<String> {
    match position - before {
        1 => None,
        2 => Some(format!("position {} of the chain is gone", before + 1)),
        _ => Some(format!(
            "positions {} to {} of the chain are gone",
            before + 1,
            position - 1
        )),
    }
}

fn broken(link: &Link, previous: &[u8; SEAL_BYTES]) -> Option<String> {
    let Link {
        position, sequence, ..
    } = link;
    match &link.entry {
        None => Some(format!(
            "the entry at position {position} of the chain is gone, number {sequence}"
        )),
        Some(entry) if link.seal != seal(previous, *position, entry) => Some(format!(
            "the entry at position {position} of the chain is not what was sealed there, or the one before it is not: number \
             {sequence}, about {}",
            entry.resource
        )),
        Some(_) => None,
    }
}

/// Entries that waited for their seal and are gone.
pub(super) async fn check_queue(store: &Store, report: &mut CheckReport) -> Result<(), StoreError> {
    let most = u32::try_from(LISTED_MAX).unwrap_or(u32::MAX);
    for sequence in store.gone_unsealed(most).await? {
        report.fault(
            "history",
            format!("entry {sequence}, which waited for its seal, is gone"),
        );
    }
    Ok(())
}

/// Whether each head that was noted stands where it stood.
pub(super) async fn check_noted(
    store: &Store,
    noted: &[NotedHead],
    report: &mut CheckReport,
) -> Result<(), StoreError> {
    for head in noted {
        let position = head.position;
        let found = store.chain(&head.fleet, position - 1, 1).await?.pop();
        match found {
            Some(link) if link.position == position && link.seal == head.seal => {}
            Some(link) if link.position == position => report.fault(
                &head.fleet,
                format!(
                    "the chain was made anew: position {position} has the seal {}, noted was {}",
                    seal_text(&link.seal),
                    seal_text(&head.seal)
                ),
            ),
            _ => report.fault(
                &head.fleet,
                format!("the chain was cut: position {position}, which was noted, is not in it"),
            ),
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_head_is_read_as_it_is_printed() {
        let text = format!("orrin=12:{}", "0f".repeat(32));
        let head: NotedHead = text.parse().unwrap();
        assert_eq!(
            (head.fleet.as_str(), head.position, head.seal),
            ("fleets/orrin", 12, [15; 32])
        );
        assert_eq!(head.to_string(), text);
        assert_eq!(
            format!("fleets/{text} ")
                .to_uppercase()
                .replace("FLEETS/ORRIN", "fleets/orrin")
                .parse(),
            Ok(head)
        );
        for bad in [
            String::new(),
            "orrin".to_owned(),
            "orrin=12".to_owned(),
            "orrin=12:".to_owned(),
            format!("orrin=0:{}", "0f".repeat(32)),
            format!("orrin=x:{}", "0f".repeat(32)),
            format!("orrin=1:{}", "0f".repeat(31)),
            format!("orrin=1:{}", "0g".repeat(32)),
            format!("orrin=1:{}", "é".repeat(32)),
        ] {
            assert_eq!(bad.parse::<NotedHead>(), Err(HeadError), "{bad}");
        }
    }

    #[test]
    fn gaps_are_named() {
        assert_eq!(gap(0, 1), None);
        assert_eq!(gap(3, 5).unwrap(), "position 4 of the chain is gone");
        assert_eq!(gap(0, 4).unwrap(), "positions 1 to 3 of the chain are gone");
    }
}
