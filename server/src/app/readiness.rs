//! Whether the vehicles of a departure are ready.

use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, OnceLock};

use moka::sync::Cache;
use ostler_core::readiness::{self, Earlier, Packs, Readiness};
use ostler_core::record::{Date, Departure, Name, Record, RulePack};
use ostler_core::rules::{CheckedPack, check_pack};
use ostler_core::stance::recorded_heights::Diagnoses;
use ostler_proto::v1;

use super::kinds::{Departures, Vehicles, name_of};
use super::record::Read;
use super::revisions::{Revisions, Seen};
use super::{App, AppError, Encoded};
use crate::convert::readiness::{Detail, readiness_message};

/// What was asked: the departure, and the vehicle of it or nothing; and the day, for a plan starts on it.
pub(super) type Asked = (String, String, Date);

/// A departure, all that it is judged by, and its readiness.
pub(super) struct Assessed {
    /// The record it was read from.
    pub(super) read: Read,
    /// The departure in it.
    pub(super) departure: Departure,
    /// The readiness of all that goes.
    pub(super) readiness: Arc<Readiness>,
}

/// A readiness in all the forms in which it is asked for, as they are sent; each is made when it is first asked for.
pub(super) struct Answers {
    /// The state of the record and the day.
    pub(super) version: String,
    readiness: Arc<Readiness>,
    whole: OnceLock<Encoded<v1::Readiness>>,
    answers: OnceLock<Encoded<v1::Readiness>>,
    verdicts: OnceLock<Encoded<v1::Readiness>>,
    unchanged: OnceLock<Encoded<v1::Readiness>>,
}

impl Answers {
    fn of(version: String, readiness: Arc<Readiness>) -> Self {
        Self {
            version,
            readiness,
            whole: OnceLock::new(),
            answers: OnceLock::new(),
            verdicts: OnceLock::new(),
            unchanged: OnceLock::new(),
        }
    }

    /// The readiness in as much `detail`, as it is sent. The verdict alone is for those who know the rest: it says that nothing is
    /// new.
    ///
    /// # Errors
    /// When it is longer than a message may be.
    pub(super) fn as_sent(&self, detail: Detail) -> Result<Encoded<v1::Readiness>, AppError> {
        let kept = match detail {
            Detail::Whole => &self.whole,
            Detail::Answers => &self.answers,
            Detail::Verdicts => &self.verdicts,
            Detail::Verdict => &self.unchanged,
        };
        if let Some(encoded) = kept.get() {
            return Ok(encoded.clone());
        }
        let mut message = self.message(detail);
        message.unchanged = detail == Detail::Verdict;
        let encoded = Encoded::of(&message)?;
        Ok(kept.get_or_init(|| encoded).clone())
    }

    /// The readiness in as much `detail`.
    pub(super) fn message(&self, detail: Detail) -> v1::Readiness {
        readiness_message(&self.readiness, self.version.clone(), detail)
    }
}

impl App {
    /// Computes the readiness of a departure, or of one of its vehicles.
    ///
    /// # Errors
    /// When the departure does not exist or the vehicle does not go.
    pub async fn get_readiness(
        &self,
        request: v1::GetReadinessRequest,
    ) -> Result<Encoded<v1::Readiness>, AppError> {
        let view = request.view();
        let v1::GetReadinessRequest {
            departure,
            vehicle,
            known_version,
            view: _,
        } = request;
        let answers = self.readiness_of((departure, vehicle, self.today())).await?;
        answers.as_sent(match view {
            _ if known_version == answers.version => Detail::Verdict,
            v1::ReadinessView::Verdicts => Detail::Verdicts,
            v1::ReadinessView::Answers => Detail::Answers,
            v1::ReadinessView::Whole | v1::ReadinessView::Unspecified => Detail::Whole,
        })
    }

    /// The answers that are given out about a departure or a vehicle of it.
    ///
    /// # Errors
    /// As [`App::get_readiness`].
    pub(super) async fn readiness_of(&self, asked: Asked) -> Result<Arc<Answers>, AppError> {
        let (answers, is_new) = self.answers_of(&asked).await?;
        self.ahead.note_asked(|| (asked.0, asked.1), is_new);
        Ok(answers)
    }

    /// Has them kept, for whoever asks next.
    ///
    /// # Errors
    /// As [`App::get_readiness`].
    pub(super) async fn keep_readiness(&self, asked: &Asked) -> Result<Arc<Answers>, AppError> {
        self.answers_of(asked).await.map(|(answers, _)| answers)
    }

    /// The answers about a departure or a vehicle of it, and whether they were computed for this call.
    async fn answers_of(&self, asked: &Asked) -> Result<(Arc<Answers>, bool), AppError> {
        let departure = name_of::<Departures>("departure", &asked.0)?;
        let only = match asked.1.as_str() {
            "" => None,
            vehicle => Some(name_of::<Vehicles>("vehicle", vehicle)?),
        };
        let is_new = AtomicBool::new(false);
        let compute = |seen| async {
            is_new.store(true, Ordering::Relaxed);
            let assessed = match only {
                None => self.assessed(&departure, seen).await?,
                Some(only) => self.assessed_of(&departure, &only).await?,
            };
            Ok((assessed.read.revisions.clone(), self.answers(&assessed)))
        };
        let answers = self
            .readiness
            .get_or(asked, &self.revisions, None, compute)
            .await?;
        Ok((answers, is_new.load(Ordering::Relaxed)))
    }

    async fn assessed_of(&self, departure: &Name, only: &Name) -> Result<Arc<Assessed>, AppError> {
        let (read, departure) = self.read_departure(departure).await?;
        if !departure.vehicles.iter().any(|going| going.vehicle == *only) {
            return Err(AppError::field(
                "vehicle",
                format!("{only} does not go on this departure"),
            ));
        }
        let assessed = self.assess_apart(read, departure, Some(only.clone())).await?;
        Ok(Arc::new(assessed))
    }

    /// Computes the readiness of a departure, or of one of its vehicles, on what was read.
    async fn assess_apart(
        &self,
        read: Read,
        departure: Departure,
        only: Option<Name>,
    ) -> Result<Assessed, AppError> {
        let is_new = self.earlier.of(&departure.name).is_empty();
        let assess = self.assessment(read, departure, only).await?;
        match is_new {
            true => self.compute("readiness", assess).await,
            false => self.compute_shortly("readiness", assess).await,
        }
    }

    /// The work of that.
    ///
    /// # Errors
    /// When too much is computed already.
    pub(super) async fn assessment(
        &self,
        read: Read,
        departure: Departure,
        only: Option<Name>,
    ) -> Result<impl FnOnce() -> Result<Assessed, AppError> + Send + 'static + use<>, AppError> {
        let outlook = self.outlook(&read.record, &departure).await?;
        let packs = self.packs(&read.record, &departure);
        let earlier = self.earlier.of(&departure.name);
        Ok(move || {
            let only = only.as_ref();
            let readiness =
                readiness::assess_by(&read.record, &departure, only, &outlook, &packs, &earlier).into();
            Ok(Assessed {
                read,
                departure,
                readiness,
            })
        })
    }

    /// The answers that come of an assessment.
    pub(super) fn answers(&self, assessed: &Assessed) -> Arc<Answers> {
        let version = self.version_of(&assessed.read);
        Arc::new(Answers::of(version, assessed.readiness.clone()))
    }

    /// The day is part of the version: what work is still to do is planned from today.
    pub(super) fn version_of(&self, read: &Read) -> String {
        format!("{} {}", read.version(), self.today())
    }

    /// A departure, all that it is judged by and its readiness, computed anew only when something of it has changed; `seen` as in
    /// [`Kept::get_or`](super::kept::Kept::get_or).
    ///
    /// # Errors
    /// When the departure does not exist.
    pub(super) async fn assessed(
        &self,
        departure: &Name,
        seen: Option<Seen>,
    ) -> Result<Arc<Assessed>, AppError> {
        let key = (departure.to_string(), self.today());
        let compute = |seen: Option<Seen>| async move {
            let (read, departure) = self.read_departure_seen(departure, seen.as_ref()).await?;
            let assessed = self.assess_apart(read, departure, None).await?;
            Ok((assessed.read.revisions.clone(), Arc::new(assessed)))
        };
        self.assessed.get_or(&key, &self.revisions, seen, compute).await
    }

    /// The readiness of `departure` on a record that is on no scope's revision: a copy, or that of a moment.
    ///
    /// # Errors
    /// When too much is computed already.
    pub(super) async fn assess_readiness(
        &self,
        record: Record,
        departure: Departure,
    ) -> Result<Readiness, AppError> {
        let read = Read {
            record,
            revisions: Revisions::new(),
        };
        let assessed = self.assess_apart(read, departure, None).await?;
        Ok(Arc::unwrap_or_clone(assessed.readiness))
    }

    /// The rule packs of a departure, by what is kept of their proofs.
    pub(super) fn packs(&self, record: &Record, departure: &Departure) -> Packs {
        packs_by(&self.checked_packs, record, departure)
    }
}

/// The rule packs of a departure. What was proven of a pack is kept beside the pack itself, and counts only for an equal one.
pub(super) fn packs_by(kept: &CheckedPacks, record: &Record, departure: &Departure) -> Packs {
    Packs::checked_by(record, departure, |pack| {
        let key = pack.name.to_string();
        if let Some(known) = kept.get(&key)
            && known.0 == *pack
        {
            return known.1.clone();
        }
        let checked = match check_pack(pack.clone()) {
            Ok(checked) => Ok(Arc::new(checked)),
            Err(refused) => Err(refused.to_string()),
        };
        kept.insert(key, Arc::new((pack.clone(), checked.clone())));
        checked
    })
}

/// What is left of the assessments of each departure.
#[derive(Clone)]
pub(super) struct EarlierOf {
    departures: Cache<Name, Arc<Earlier>>,
    /// The leans of all.
    pub(super) diagnoses: Arc<Diagnoses>,
}

impl EarlierOf {
    /// Keeps that of at most `most` departures; of those that are asked about least it goes first.
    pub(super) fn most(most: u64) -> Self {
        Self {
            departures: Cache::new(most),
            diagnoses: Arc::default(),
        }
    }

    /// What is left of the assessments of a departure.
    pub(super) fn of(&self, departure: &Name) -> Arc<Earlier> {
        let begin = || Arc::new(Earlier::with(self.diagnoses.clone()));
        self.departures.get_with_by_ref(departure, begin)
    }
}

/// Each rule pack with what was proven of it, or why it cannot be used.
pub(super) type CheckedPacks = moka::sync::Cache<String, Arc<(RulePack, Result<Arc<CheckedPack>, String>)>>;

#[cfg(test)]
mod tests {
    use ostler_core::record::Fleet;

    use super::*;
    use crate::convert;

    /// A proof that can be told from any other: the pack is in order, and what is kept of it says otherwise.
    #[test]
    fn a_kept_proof_counts_for_an_equal_pack_only() {
        let name = Name::new("fleets/f/rulePacks/p").unwrap();
        let date: Date = "2027-01-01".parse().unwrap();
        let pack = RulePack {
            name: name.clone(),
            display_name: "p".to_owned(),
            jurisdiction: String::new(),
            version: "1".to_owned(),
            effective_date: date,
            facts: Vec::new(),
            topics: Vec::new(),
            caution: String::new(),
        };
        let mut record = Record::new(Fleet {
            name: Name::new("fleets/f").unwrap(),
            display_name: String::new(),
            description: String::new(),
            fluid_densities_kg_per_l: std::collections::BTreeMap::new(),
            stages: Vec::new(),
        });
        record.rule_packs.insert(name.clone(), pack.clone());
        let trip = v1::Departure {
            departure_date: "2027-05-24".to_owned(),
            return_date: "2027-06-10".to_owned(),
            rule_packs: vec![name.to_string()],
            ..v1::Departure::default()
        };
        let departure = Name::new("fleets/f/departures/d").unwrap();
        let departure = convert::departure::departure(departure, trip).unwrap();
        let kept = CheckedPacks::new(10);
        kept.insert(name.to_string(), Arc::new((pack, Err("as kept".to_owned()))));
        let faulty = |record: &Record| packs_by(&kept, record, &departure).faulty().to_vec();
        assert_eq!(faulty(&record), [(name.clone(), "as kept".to_owned())]);
        record.rule_packs.get_mut(&name).unwrap().version = "2".to_owned();
        assert_ne!(faulty(&record), [(name, "as kept".to_owned())]);
    }
}
