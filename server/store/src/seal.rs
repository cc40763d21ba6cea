//! The seal of an entry of history: a hash over the seal before it and every field of the entry.

use sha2::{Digest as _, Sha256};

use crate::HistoryEntry;

/// Length of a seal in bytes.
pub const SEAL_BYTES: usize = 32;

/// What stands in the place of the seal before the first one of a chain.
pub const NOTHING_BEFORE: [u8; SEAL_BYTES] = [0; SEAL_BYTES];

/// Begins what is hashed, so that no other use of the hash can give the same bytes. Its number changes with the encoding.
const PREFIX: &[u8] = b"ostler history 1\0";

/// The seal of `entry` at `position` (1, 2, 3, …) of its fleet's chain, after the seal `previous`.
///
/// SHA-256 (FIPS 180-4) of, one after the other: the prefix `ostler history 1` and a zero byte; the previous seal
/// (32 bytes, zeros at position 1); then the fields position, sequence, fleet, resource, kind, time, actor, action, request id,
/// before, after. A number is 8 bytes, two's complement, most significant first. A text (UTF-8) or body is its length in
/// bytes as such a number, then its bytes. A field that may be missing (the last three) begins with a byte 0, and is nothing
/// more, or with a byte 1. So two different entries never give the same bytes. The encoding is stable: a seal once made can
/// be computed again by any later release, and by anyone from this description (`tests/python/check_seals.py`).
///
/// What a database adds when it reads an entry, its position and seal, is not looked at.
pub fn seal(previous: &[u8; SEAL_BYTES], position: i64, entry: &HistoryEntry) -> [u8; SEAL_BYTES] {
    let mut hash = Sha256::new();
    hash.update(PREFIX);
    hash.update(previous);
    number(&mut hash, position);
    number(&mut hash, entry.sequence);
    bytes(&mut hash, entry.fleet.as_bytes());
    bytes(&mut hash, entry.resource.as_bytes());
    bytes(&mut hash, entry.kind.as_bytes());
    number(&mut hash, entry.time);
    bytes(&mut hash, entry.actor.as_bytes());
    bytes(&mut hash, entry.action.as_bytes());
    optional(&mut hash, entry.request_id.as_deref().map(str::as_bytes));
    optional(&mut hash, entry.before.as_deref());
    optional(&mut hash, entry.after.as_deref());
    hash.finalize().into()
}

fn number(hash: &mut Sha256, value: i64) {
    hash.update(value.to_be_bytes());
}

fn bytes(hash: &mut Sha256, value: &[u8]) {
    // No length comes near the end of the range.
    hash.update(u64::try_from(value.len()).unwrap_or(u64::MAX).to_be_bytes());
    hash.update(value);
}

fn optional(hash: &mut Sha256, value: Option<&[u8]>) {
    match value {
        None => hash.update([0]),
        Some(value) => {
            hash.update([1]);
            bytes(hash, value);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn entry() -> HistoryEntry {
        HistoryEntry {
            sequence: 7,
            fleet: "fleets/orrin".to_owned(),
            resource: "fleets/orrin/vehicles/v1".to_owned(),
            kind: "vehicle".to_owned(),
            time: 1_790_000_000_000_000,
            actor: "anna".to_owned(),
            action: "create".to_owned(),
            request_id: None,
            before: None,
            after: Some(b"after".to_vec()),
            position: None,
            seal: None,
        }
    }

    fn hex(seal: [u8; SEAL_BYTES]) -> String {
        seal.iter().map(|byte| format!("{byte:02x}")).collect()
    }

    /// Computed with Python's `hashlib` from the description above, before this code was first run.
    #[test]
    fn a_seal_is_what_its_description_gives() {
        let first = seal(&NOTHING_BEFORE, 1, &entry());
        assert_eq!(
            hex(first),
            "3a59f649b237613575c8610f4f3f1e820093f2e1e811d08d698fc97b76b17511"
        );
        let next = HistoryEntry {
            sequence: 9,
            time: 1_790_000_000_000_001,
            actor: "björn".to_owned(),
            action: "delete".to_owned(),
            request_id: Some("r1".to_owned()),
            before: Some(b"after".to_vec()),
            after: None,
            ..entry()
        };
        assert_eq!(
            hex(seal(&first, 2, &next)),
            "b81155d230f9bbc7f42a581226b944fcd75313756e884593dc434cd486aa1be9"
        );
    }

    #[test]
    fn every_field_counts_and_none_runs_into_the_next() {
        type Change = fn(&mut HistoryEntry);
        let changes: [Change; 14] = [
            |entry| entry.sequence += 1,
            |entry| entry.fleet.push('x'),
            |entry| entry.resource.push('x'),
            |entry| entry.kind.push('x'),
            |entry| entry.time -= 1,
            |entry| entry.actor.push('x'),
            |entry| entry.action.push('x'),
            |entry| entry.request_id = Some(String::new()),
            |entry| entry.before = Some(Vec::new()),
            |entry| entry.after = None,
            |entry| entry.after = Some(Vec::new()),
            |entry| std::mem::swap(&mut entry.before, &mut entry.after),
            // The same letters, cut elsewhere.
            |entry| {
                entry.actor = "ann".to_owned();
                entry.action = "acreate".to_owned();
            },
            |entry| {
                entry.request_id = Some("after".to_owned());
                entry.after = None;
            },
        ];
        let mut seals = vec![
            seal(&NOTHING_BEFORE, 1, &entry()),
            seal(&NOTHING_BEFORE, 2, &entry()),
            seal(&[1; SEAL_BYTES], 1, &entry()),
        ];
        seals.extend(changes.map(|change| {
            let mut changed = entry();
            change(&mut changed);
            seal(&NOTHING_BEFORE, 1, &changed)
        }));
        let count = seals.len();
        seals.sort_unstable();
        seals.dedup();
        assert_eq!(seals.len(), count);
    }

    #[test]
    fn what_the_database_adds_does_not_count() {
        let read = HistoryEntry {
            position: Some(3),
            seal: Some(vec![1]),
            ..entry()
        };
        assert_eq!(
            seal(&NOTHING_BEFORE, 1, &read),
            seal(&NOTHING_BEFORE, 1, &entry())
        );
    }
}
