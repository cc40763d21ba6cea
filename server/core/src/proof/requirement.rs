//! Whether a topic is proven by fresh evidence under conditions.

use super::stale::{ProofPolicy, is_about, stale_evidence};
use crate::record::{Date, Evidence, EvidenceResult, Fact, Id, Name, Record, Vehicle};

/// How a fact of evidence must be.
#[derive(Debug, Clone, PartialEq)]
pub enum FactTest {
    /// Yes.
    IsYes,
    /// A number of at least this.
    AtLeast(f64),
    /// A number of at most this.
    AtMost(f64),
    /// This text.
    Is(String),
}

/// A condition on a fact of evidence.
#[derive(Debug, Clone, PartialEq)]
pub struct FactCondition {
    /// The fact, for example `loaded` or `distance_km`.
    pub fact: Id,
    /// How it must be.
    pub test: FactTest,
}

/// What must be proven, and how.
#[derive(Debug, Clone, PartialEq)]
pub struct ProofRequirement {
    /// Topic of the evidence.
    pub topic: Id,
    /// Conditions on its facts; all must hold.
    pub conditions: Vec<FactCondition>,
    /// Days that it must lie before the departure, at least. `None`: it may be of the same day.
    pub days_before_departure: Option<u32>,
}

/// Whether a topic is proven, best first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum ProofAnswer {
    /// Fresh evidence proves it.
    Proven,
    /// A fact or a date is missing.
    NotKnown,
    /// Nothing proves it, or no longer.
    NotProven,
}

/// How a topic is proven.
#[derive(Debug, Clone, PartialEq)]
pub struct ProofAssessment {
    /// The topic.
    pub topic: Id,
    /// Whether it is proven.
    pub answer: ProofAnswer,
    /// Why, in one sentence.
    pub reason: String,
    /// The evidence that proves it or comes nearest.
    pub evidence: Option<Name>,
}

/// Holds the evidence about a vehicle against a requirement. Of several pieces the best counts, of
/// equally good ones the latest. Evidence that is followed by a failure on the same topic does not prove.
pub fn prove(
    record: &Record,
    vehicle: &Vehicle,
    requirement: &ProofRequirement,
    departure_date: Date,
    policy: ProofPolicy,
) -> ProofAssessment {
    let stale = stale_evidence(record, vehicle, policy);
    let about: Vec<&Evidence> = record
        .evidence
        .values()
        .filter(|evidence| evidence.topic == requirement.topic && is_about(evidence, vehicle))
        .collect();
    let failed_date = about
        .iter()
        .filter(|evidence| evidence.result == EvidenceResult::Failed)
        .filter_map(|evidence| evidence.issued_date)
        .max();
    let best = about
        .iter()
        .map(|evidence| {
            let made_stale = stale.iter().find(|stale| stale.evidence == evidence.name);
            let (answer, reason) = match made_stale {
                Some(stale) => (ProofAnswer::NotProven, stale.reason.clone()),
                None => worth(evidence, requirement, departure_date, failed_date),
            };
            (
                answer,
                std::cmp::Reverse(evidence.issued_date),
                &evidence.name,
                reason,
            )
        })
        .min();
    match best {
        Some((answer, _, evidence, reason)) => ProofAssessment {
            topic: requirement.topic.clone(),
            answer,
            reason,
            evidence: Some(evidence.clone()),
        },
        None => ProofAssessment {
            topic: requirement.topic.clone(),
            answer: ProofAnswer::NotProven,
            reason: format!("there is no evidence of `{}`", requirement.topic),
            evidence: None,
        },
    }
}

fn worth(
    evidence: &Evidence,
    requirement: &ProofRequirement,
    departure_date: Date,
    failed_date: Option<Date>,
) -> (ProofAnswer, String) {
    let name = &evidence.display_name;
    match evidence.result {
        EvidenceResult::Failed => return (ProofAnswer::NotProven, format!("{name} failed")),
        EvidenceResult::Pending => {
            return (ProofAnswer::NotProven, format!("{name} is booked, not done"));
        }
        EvidenceResult::Passed => {}
    }
    let Some(issued) = evidence.issued_date else {
        return (ProofAnswer::NotKnown, format!("the date of {name} is not known"));
    };
    if let Some(failed) = failed_date.filter(|failed| *failed >= issued) {
        let reason = format!("{name} of {issued} was followed, or contradicted, by a failure on {failed}");
        return (ProofAnswer::NotProven, reason);
    }
    if evidence
        .valid_until_date
        .is_some_and(|until| until < departure_date)
    {
        return (
            ProofAnswer::NotProven,
            format!("{name} expires before the departure on {departure_date}"),
        );
    }
    let days = issued
        .until(departure_date)
        .map_or(0, |span| i64::from(span.get_days()));
    let wanted = i64::from(requirement.days_before_departure.unwrap_or(0));
    if days < wanted {
        let reason =
            format!("{name} of {issued} is {days} days before the departure, {wanted} are asked for");
        return (ProofAnswer::NotProven, reason);
    }
    let mut answer = (ProofAnswer::Proven, format!("{name} of {issued} proves it"));
    for condition in &requirement.conditions {
        let fact = &condition.fact;
        let (held, reason) = match (evidence.facts.get(fact), &condition.test) {
            (None, _) => (ProofAnswer::NotKnown, format!("{name} does not say `{fact}`")),
            (Some(value), test) if holds(value, test) => (ProofAnswer::Proven, String::new()),
            (Some(_), test) => (
                ProofAnswer::NotProven,
                format!("{name}: `{fact}` is not {}", words(test)),
            ),
        };
        if held > answer.0 {
            answer = (held, reason);
        }
    }
    answer
}

fn holds(value: &Fact, test: &FactTest) -> bool {
    match (value, test) {
        (Fact::YesNo(yes), FactTest::IsYes) => *yes,
        (Fact::Number(number), FactTest::AtLeast(least)) => number >= least,
        (Fact::Number(number), FactTest::AtMost(most)) => number <= most,
        (Fact::Text(text), FactTest::Is(wanted)) => text == wanted,
        _ => false,
    }
}

fn words(test: &FactTest) -> String {
    match test {
        FactTest::IsYes => "yes".to_owned(),
        FactTest::AtLeast(least) => format!("{least} or more"),
        FactTest::AtMost(most) => format!("{most} or less"),
        FactTest::Is(text) => format!("{text:?}"),
    }
}
