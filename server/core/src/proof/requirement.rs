//! Whether a topic is proven by fresh evidence under conditions.

use super::pieces::{Piece, pieces};
use super::stale::{ProofPolicy, Stale, stale_evidence};
use crate::record::{
    Date, EvidenceResult, Fact, FactCondition, FactTest, Id, Name, ProofRequirement, Record, Vehicle,
};

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
    /// The work that made that evidence stale, earliest first.
    pub made_stale_by: Vec<Name>,
    /// Last day on which that evidence is valid. `None`: it does not expire.
    pub valid_until_date: Option<Date>,
    /// What is missing, where the answer is not known.
    pub missing: Vec<String>,
}

/// Holds the evidence about a vehicle, its weighings included, against a requirement. Of several pieces
/// the best counts, of equally good ones the latest. Evidence that is followed by a failure on the same
/// topic does not prove. Of a total, every fresh piece for which the other conditions hold counts.
pub fn prove(
    record: &Record,
    vehicle: &Vehicle,
    requirement: &ProofRequirement,
    departure_date: Date,
    policy: ProofPolicy,
) -> ProofAssessment {
    let stale = stale_evidence(record, vehicle, policy);
    let all = pieces(record, vehicle);
    let about: Vec<&Piece<'_>> = all
        .iter()
        .filter(|piece| *piece.topic == *requirement.topic)
        .collect();
    let failed_date = about
        .iter()
        .filter(|piece| piece.result == EvidenceResult::Failed)
        .filter_map(|piece| piece.issued_date)
        .max();
    let judged: Vec<Judged<'_>> = about
        .into_iter()
        .map(|piece| Judged::of(piece, &stale, requirement, departure_date, failed_date))
        .collect();
    let Some(best) = judged.iter().min_by(|left, right| left.rank().cmp(&right.rank())) else {
        return ProofAssessment {
            topic: requirement.topic.clone(),
            answer: ProofAnswer::NotProven,
            reason: format!("there is no evidence of `{}`", requirement.topic),
            evidence: None,
            made_stale_by: Vec::new(),
            valid_until_date: None,
            missing: Vec::new(),
        };
    };
    let mut assessment = ProofAssessment {
        topic: requirement.topic.clone(),
        answer: best.answer,
        reason: best.reason.clone(),
        evidence: Some(best.piece.name.clone()),
        made_stale_by: best
            .stale
            .iter()
            .flat_map(|stale| stale.by.iter().map(|work| work.work.clone()))
            .collect(),
        valid_until_date: best.piece.valid_until_date,
        missing: best.missing.clone(),
    };
    if assessment.answer == ProofAnswer::Proven {
        for condition in &requirement.conditions {
            if let FactTest::TotalAtLeast(least) = condition.test {
                total(&mut assessment, &judged, &condition.fact, least);
            }
        }
    }
    assessment
}

/// A piece with what it is worth by itself.
struct Judged<'record> {
    piece: &'record Piece<'record>,
    answer: ProofAnswer,
    reason: String,
    stale: Option<&'record Stale>,
    missing: Vec<String>,
}

impl<'record> Judged<'record> {
    fn of(
        piece: &'record Piece<'record>,
        stale: &'record [Stale],
        requirement: &ProofRequirement,
        departure_date: Date,
        failed_date: Option<Date>,
    ) -> Self {
        let stale = stale.iter().find(|stale| stale.evidence == *piece.name);
        let (answer, reason, missing) = match stale {
            Some(stale) => (ProofAnswer::NotProven, stale.reason.clone(), None),
            None => worth(piece, requirement, departure_date, failed_date),
        };
        Self {
            piece,
            answer,
            reason,
            stale,
            missing: missing.into_iter().collect(),
        }
    }

    fn rank(&self) -> (ProofAnswer, std::cmp::Reverse<Option<Date>>, &Name) {
        (
            self.answer,
            std::cmp::Reverse(self.piece.issued_date),
            self.piece.name,
        )
    }
}

/// Adds a fact up over the pieces that count by themselves.
fn total(assessment: &mut ProofAssessment, judged: &[Judged<'_>], fact: &Id, least: f64) {
    let mut sum = 0.0;
    let mut titles = Vec::new();
    let mut missing = Vec::new();
    for counted in judged
        .iter()
        .filter(|judged| judged.answer == ProofAnswer::Proven)
    {
        match counted.piece.fact(fact) {
            Some(Fact::Number(number)) => {
                sum += number;
                titles.push(counted.piece.title.as_str());
            }
            _ => missing.push(format!("`{fact}` of {}", counted.piece.title)),
        }
    }
    let titles = titles.join(", ");
    if sum >= least {
        assessment.reason = format!("{titles}: `{fact}` is {sum} together, {least} are asked for");
    } else if missing.is_empty() {
        assessment.answer = ProofAnswer::NotProven;
        assessment.reason = format!("{titles}: `{fact}` is only {sum} together, {least} are asked for");
    } else {
        assessment.answer = ProofAnswer::NotKnown;
        assessment.reason = format!(
            "{} is not known, and without it {least} are not reached",
            missing.join(", ")
        );
        assessment.missing = missing;
    }
}

/// What a piece is worth by itself: the answer, why, and what is missing.
fn worth(
    piece: &Piece<'_>,
    requirement: &ProofRequirement,
    departure_date: Date,
    failed_date: Option<Date>,
) -> (ProofAnswer, String, Option<String>) {
    let title = &piece.title;
    let refused = |reason: String| (ProofAnswer::NotProven, reason, None);
    match piece.result {
        EvidenceResult::Failed => return refused(format!("{title} failed")),
        EvidenceResult::Pending => return refused(format!("{title} is booked, not done")),
        EvidenceResult::Passed => {}
    }
    let Some(issued) = piece.issued_date else {
        let missing = format!("the date of {title}");
        return (
            ProofAnswer::NotKnown,
            format!("{missing} is not known"),
            Some(missing),
        );
    };
    if let Some(failed) = failed_date.filter(|failed| *failed >= issued) {
        return refused(format!(
            "{title} of {issued} was followed, or contradicted, by a failure on {failed}"
        ));
    }
    if piece.valid_until_date.is_some_and(|until| until < departure_date) {
        return refused(format!(
            "{title} expires before the departure on {departure_date}"
        ));
    }
    let days = issued
        .until(departure_date)
        .map_or(0, |span| i64::from(span.get_days()));
    let wanted = i64::from(requirement.days_before_departure.unwrap_or(0));
    if days < wanted {
        return refused(format!(
            "{title} of {issued} is {days} days before the departure, {wanted} are asked for"
        ));
    }
    let mut answer = (
        ProofAnswer::Proven,
        format!("{title} of {issued} proves it"),
        None,
    );
    for condition in &requirement.conditions {
        let held = held(piece, condition);
        if held.0 > answer.0 {
            answer = held;
        }
    }
    answer
}

fn held(piece: &Piece<'_>, condition: &FactCondition) -> (ProofAnswer, String, Option<String>) {
    let (title, fact) = (&piece.title, &condition.fact);
    match (piece.fact(fact), &condition.test) {
        (_, FactTest::TotalAtLeast(_)) => (ProofAnswer::Proven, String::new(), None),
        (None, _) => (
            ProofAnswer::NotKnown,
            format!("{title} does not say `{fact}`"),
            Some(format!("`{fact}` of {title}")),
        ),
        (Some(value), test) if holds(value, test) => (ProofAnswer::Proven, String::new(), None),
        (Some(_), test) => (
            ProofAnswer::NotProven,
            format!("{title}: `{fact}` is not {}", words(test)),
            None,
        ),
    }
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
        FactTest::AtLeast(least) | FactTest::TotalAtLeast(least) => format!("{least} or more"),
        FactTest::AtMost(most) => format!("{most} or less"),
        FactTest::Is(text) => format!("{text:?}"),
    }
}
