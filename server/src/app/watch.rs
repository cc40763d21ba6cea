//! Changes of a verdict as they come.
//!
//! The record's revisions are looked at a few times a second, so that it does not matter which server wrote;
//! the answers that a listener knows travel in its resume token, so that any server can go on.

use std::collections::BTreeMap;
use std::time::Duration;

use base64::Engine as _;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use ostler_proto::v1;
use prost::Message as _;
use sha2::{Digest, Sha256};
use tokio::sync::mpsc::Sender;

use super::{App, AppError};
use crate::convert::readiness::Detail;

/// Pause between two looks at the record.
const PAUSE: Duration = Duration::from_millis(250);

/// Bytes of the fingerprint in a resume token.
const FINGERPRINT: usize = 8;

/// What a listener knows: the answer of each gate by vehicle and gate.
type Known = BTreeMap<(String, String), v1::GateAnswer>;

impl App {
    /// Sends the answers of all gates, or what differs from those that the listener knows, and then every
    /// change, until the listener is gone.
    ///
    /// # Errors
    /// When the departure does not exist, the vehicle does not go, or the token is not one of this question's.
    pub async fn watch_readiness(
        &self,
        request: v1::WatchReadinessRequest,
        listener: &Sender<Result<v1::ReadinessChange, AppError>>,
    ) -> Result<(), AppError> {
        let v1::WatchReadinessRequest {
            departure,
            vehicle,
            resume_token,
        } = request;
        let question = format!("{departure}\n{vehicle}");
        let mut known = match resume_token.as_str() {
            "" => None,
            token => Some(resumed(&question, token)?),
        };
        let mut version = None;
        loop {
            let asked = (departure.clone(), vehicle.clone(), self.today());
            let kept = self.readiness_of(asked).await?;
            if version.as_ref() != Some(&kept.version) {
                let readiness = kept.message(Detail::Answers);
                let answers = answers(&readiness);
                let changed = changes(known.as_ref(), &answers);
                if known.is_none() || !changed.is_empty() {
                    let change = v1::ReadinessChange {
                        verdict: readiness.verdict,
                        gates: changed,
                        record_version: readiness.record_version.clone(),
                        resume_token: token(&question, &answers),
                    };
                    if listener.send(Ok(change)).await.is_err() {
                        return Ok(());
                    }
                }
                known = Some(answers);
                version = Some(readiness.record_version);
            }
            tokio::select! {
                () = tokio::time::sleep(PAUSE) => {}
                () = listener.closed() => return Ok(()),
                () = self.until_stopping() => return Err(AppError::Stopping),
            }
        }
    }
}

fn answers(readiness: &v1::Readiness) -> Known {
    let gate = |vehicle: &str, gate: &v1::Gate| {
        let answer = v1::GateAnswer {
            vehicle: vehicle.to_owned(),
            gate: gate.id.clone(),
            before: 0,
            after: gate.answer,
            summary: gate.summary.clone(),
        };
        ((vehicle.to_owned(), gate.id.clone()), answer)
    };
    let vehicles = readiness
        .vehicles
        .iter()
        .flat_map(|own| own.gates.iter().map(|one| gate(&own.vehicle, one)));
    vehicles
        .chain(readiness.gates.iter().map(|one| gate("", one)))
        .collect()
}

/// The answers that differ from the known ones, in order of vehicles and gates.
fn changes(known: Option<&Known>, now: &Known) -> Vec<v1::GateAnswer> {
    let nothing = Known::new();
    let known = known.unwrap_or(&nothing);
    let mut changed: Vec<v1::GateAnswer> = now
        .iter()
        .filter_map(|(key, answer)| {
            let before = known.get(key).map_or(0, |before| before.after);
            (before != answer.after).then(|| v1::GateAnswer {
                before,
                ..answer.clone()
            })
        })
        .collect();
    let gone = known.iter().filter(|(key, _)| !now.contains_key(*key));
    changed.extend(gone.map(|(_, answer)| v1::GateAnswer {
        before: answer.after,
        after: 0,
        summary: String::new(),
        ..answer.clone()
    }));
    changed
}

/// The answers as a token: those of a message without what people read.
fn token(question: &str, answers: &Known) -> String {
    let gates = answers
        .values()
        .map(|answer| v1::GateAnswer {
            summary: String::new(),
            ..answer.clone()
        })
        .collect();
    let body = v1::ReadinessChange {
        gates,
        ..v1::ReadinessChange::default()
    }
    .encode_to_vec();
    let mut bytes = fingerprint(question, &body);
    bytes.extend_from_slice(&body);
    URL_SAFE_NO_PAD.encode(bytes)
}

/// Whether a resume token is one of `question`.
pub(super) fn is_token_of(question: &str, token: &str) -> bool {
    resumed(question, token).is_ok()
}

fn resumed(question: &str, token: &str) -> Result<Known, AppError> {
    let bytes = URL_SAFE_NO_PAD.decode(token).map_err(|_| AppError::ResumeToken)?;
    let (head, body) = bytes.split_at_checked(FINGERPRINT).ok_or(AppError::ResumeToken)?;
    if head != fingerprint(question, body) {
        return Err(AppError::ResumeToken);
    }
    let change = v1::ReadinessChange::decode(body).map_err(|_| AppError::ResumeToken)?;
    Ok(change
        .gates
        .into_iter()
        .map(|answer| ((answer.vehicle.clone(), answer.gate.clone()), answer))
        .collect())
}

/// Of the question as well, so that a token of another one is noticed.
fn fingerprint(question: &str, body: &[u8]) -> Vec<u8> {
    let mut digest = Sha256::new();
    digest.update(question.as_bytes());
    digest.update([0]);
    digest.update(body);
    digest.finalize()[..FINGERPRINT].to_vec()
}
