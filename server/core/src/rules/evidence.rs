//! How much the evidence about one demand is worth.

use super::demand::{DemandAnswer, TravelDates};
use crate::record::{Date, Demand, Evidence, EvidenceResult};

/// The evidence that meets a demand or comes nearest, and what it is worth.
pub(super) struct Held<'evidence> {
    pub(super) evidence: &'evidence Evidence,
    pub(super) answer: DemandAnswer,
    pub(super) reason: String,
}

/// How near evidence comes to meeting a demand, nearest first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Nearness {
    Meets,
    NotCarried,
    DateMissing,
    ContradictedSameDay,
    RunsOut,
    TooOld,
    Pending,
    NotYetIssued,
    Failed,
}

/// Weighs the evidence `about` a demand. `None`: there is none.
pub(super) fn weigh<'evidence>(
    demand: &Demand,
    about: &[&'evidence Evidence],
    dates: TravelDates,
) -> Option<Held<'evidence>> {
    let failed_date = about
        .iter()
        .filter(|evidence| evidence.result == EvidenceResult::Failed)
        .filter_map(|evidence| evidence.issued_date)
        .max();
    about
        .iter()
        .map(|evidence| {
            let (nearness, answer, reason) = worth(demand, evidence, failed_date, dates);
            let held = Held {
                evidence,
                answer,
                reason,
            };
            (nearness, std::cmp::Reverse(evidence.issued_date), held)
        })
        .min_by(|left, right| {
            let by_worth = (left.0, left.1).cmp(&(right.0, right.1));
            by_worth.then_with(|| left.2.evidence.name.cmp(&right.2.evidence.name))
        })
        .map(|(_, _, held)| held)
}

fn worth(demand: &Demand, evidence: &Evidence, failed_date: Option<Date>, dates: TravelDates) -> Worth {
    let name = &evidence.display_name;
    match evidence.result {
        EvidenceResult::Failed => (
            Nearness::Failed,
            DemandAnswer::NotMet,
            format!("{name} came out against it"),
        ),
        EvidenceResult::Pending => (
            Nearness::Pending,
            DemandAnswer::NotMet,
            format!("{name} is only booked or applied for, not in hand"),
        ),
        EvidenceResult::Passed => passed(demand, evidence, failed_date, dates),
    }
}

type Worth = (Nearness, DemandAnswer, String);

fn passed(demand: &Demand, evidence: &Evidence, failed_date: Option<Date>, dates: TravelDates) -> Worth {
    dated(demand, evidence, failed_date, dates)
        .or_else(|| running_out(demand, evidence, dates))
        .or_else(|| aged(demand, evidence, dates))
        .unwrap_or_else(|| {
            let name = &evidence.display_name;
            if demand.carried && !evidence.carried {
                let reason = format!("{name} is in hand but must be carried: put it in the vehicle");
                (Nearness::NotCarried, DemandAnswer::MetWithConditions, reason)
            } else {
                (Nearness::Meets, DemandAnswer::Met, format!("{name} meets it"))
            }
        })
}

/// What its date, against the departure and against failures, takes away from it.
fn dated(
    demand: &Demand,
    evidence: &Evidence,
    failed_date: Option<Date>,
    dates: TravelDates,
) -> Option<Worth> {
    let name = &evidence.display_name;
    match (evidence.issued_date, failed_date) {
        (Some(issued), _) if issued > dates.departure_date => {
            let departure_date = dates.departure_date;
            let reason = format!("{name} is dated {issued}, after the departure on {departure_date}");
            Some((Nearness::NotYetIssued, DemandAnswer::NotMet, reason))
        }
        (Some(issued), Some(failed)) if failed > issued => {
            let reason = format!("{name} of {issued} was followed by a failure on {failed}");
            Some((Nearness::Failed, DemandAnswer::NotMet, reason))
        }
        (issued, Some(failed)) if issued.is_none_or(|issued| issued == failed) => {
            let reason =
                format!("{name} passed, but the same was failed on {failed}; which came last is not known");
            Some((Nearness::ContradictedSameDay, DemandAnswer::NotKnown, reason))
        }
        (None, _) if demand.max_age_days.is_some() => {
            let reason = format!("the date of {name} is not known, and its age counts");
            Some((Nearness::DateMissing, DemandAnswer::NotKnown, reason))
        }
        _ => None,
    }
}

/// Whether it expires before it is needed no longer.
fn running_out(demand: &Demand, evidence: &Evidence, dates: TravelDates) -> Option<Worth> {
    let valid_until = evidence.valid_until_date?;
    let (event, event_date) = if valid_until < dates.departure_date {
        ("departure", dates.departure_date)
    } else if demand.valid_until_return && valid_until < dates.return_date {
        ("return", dates.return_date)
    } else {
        return None;
    };
    let days = days_between(valid_until, event_date);
    let word = if days == 1 { "day" } else { "days" };
    let name = &evidence.display_name;
    let reason = format!("{name} expires on {valid_until}, {days} {word} before the {event} on {event_date}");
    Some((Nearness::RunsOut, DemandAnswer::NotMet, reason))
}

/// Whether it is older than demanded.
fn aged(demand: &Demand, evidence: &Evidence, dates: TravelDates) -> Option<Worth> {
    let (issued, max_age_days) = (evidence.issued_date?, demand.max_age_days?);
    let departure_date = dates.departure_date;
    let age_days = days_between(issued, departure_date);
    let name = &evidence.display_name;
    (age_days > i64::from(max_age_days)).then(|| {
        let reason = format!(
            "{name} of {issued} is {age_days} days old at the departure on {departure_date}, at most \
             {max_age_days} are allowed"
        );
        (Nearness::TooOld, DemandAnswer::NotMet, reason)
    })
}

/// Whole days from `start` to `end`; negative when `end` comes first.
fn days_between(start: Date, end: Date) -> i64 {
    i64::from(start.until(end).map_or(0, |span| span.get_days()))
}
