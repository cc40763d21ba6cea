//! Restraint: is everything carried held as the departure asks, in every direction?
//!
//! Cargo and containers, each by every standard that the policy names and by the policy's own multiples.
//! A standard that does not cover the vehicle is a condition: its figures are guidance then.

use super::{Finding, Gate, gate as build};
use crate::answer::Answer;
use crate::readiness::Figure;
use crate::record::{Departure, Vehicle};
use crate::restraint::recorded::Asked;
use crate::restraint::standard::{ScopeLimit, Standard};
use crate::restraint::{
    Aboard, Assessment, Direction, FORMULA_VERSION, HeldRecord, RECORD_CAUTION, Remedy, Row, Verdict,
};

/// Most things that a finding about missing data names.
const NAMED_MAX: usize = 4;

/// What is asked, and how what is aboard is held.
struct Restraint<'a> {
    asked: &'a Asked,
    held: Vec<&'a HeldRecord>,
}

/// Restraint.
pub(super) fn gate(departure: &Departure, vehicle: &Vehicle, aboard: &Aboard) -> Gate {
    let restraint = Restraint {
        asked: aboard.asked(),
        held: aboard.held().collect(),
    };
    let mut findings = Vec::new();
    if !restraint.held.is_empty() {
        findings.extend(policy(&restraint, departure));
        findings.extend(scope(&restraint, vehicle));
        findings.extend(restraint.held.iter().filter_map(|held| judge(&restraint, held)));
        findings.extend(not_known(&restraint));
    }
    let titles: Vec<&str> = restraint
        .asked
        .standards
        .iter()
        .map(|standard| standard.title.as_str())
        .collect();
    let met = match restraint.held.len() {
        0 => "nothing that needs restraint is aboard".to_owned(),
        count => format!(
            "each of the {count} things carried is held in every direction: {}",
            titles.join("; ")
        ),
    };
    build(
        "restraint",
        "Is everything carried held as the departure asks?",
        findings,
        met,
    )
}

/// What the policy does not say.
fn policy(restraint: &Restraint<'_>, departure: &Departure) -> Option<Finding> {
    if restraint.asked.missing.is_empty() {
        return None;
    }
    let text = format!(
        "how strongly cargo must be held is not known: {}",
        restraint.asked.missing.join(", ")
    );
    let mut finding = Finding::new(Answer::NotKnown, text, vec![departure.name.clone()])
        .remedy("name a restraint_standard in the policy of the departure, or set its multiples in all four directions")
        .basis(FORMULA_VERSION);
    finding.missing.clone_from(&restraint.asked.missing);
    Some(finding)
}

/// Standards that do not cover the vehicle, or of which that is not known.
fn scope(restraint: &Restraint<'_>, vehicle: &Vehicle) -> Vec<Finding> {
    let limits = restraint
        .asked
        .standards
        .iter()
        .flat_map(|standard| standard.scope.iter().map(move |limit| (standard, limit)));
    limits
        .filter_map(|(standard, limit)| out_of_scope(standard, limit, vehicle))
        .collect()
}

fn out_of_scope(standard: &Standard, limit: &ScopeLimit, vehicle: &Vehicle) -> Option<Finding> {
    let above_kg = limit.gross_mass_above_kg?;
    let records = vec![vehicle.name.clone()];
    let basis = format!("{FORMULA_VERSION}, {}", standard.id);
    match vehicle.specification.gross_mass_kg {
        None => {
            let text = format!("whether {} covers the vehicle is not known", standard.title);
            let mut finding = Finding::new(Answer::NotKnown, text, records)
                .remedy("record the gross mass")
                .basis(basis);
            finding.missing.push("the gross mass".to_owned());
            Some(finding)
        }
        Some(gross_kg) if gross_kg <= above_kg => {
            let text = format!(
                "{} does not cover this vehicle of {gross_kg:.0} kg gross mass: {}",
                standard.title, limit.text
            );
            let finding = Finding::new(Answer::MetWithConditions, text, records)
                .remedy("take its figures as guidance, and ask more than it does or name a standard that covers the vehicle")
                .basis(basis);
            Some(finding)
        }
        Some(_) => None,
    }
}

/// What is wrong with how a thing is held, if anything is known to be.
fn judge(restraint: &Restraint<'_>, held: &HeldRecord) -> Option<Finding> {
    let answer = held.answer();
    if !matches!(answer, Answer::NotMet | Answer::MetWithConditions) {
        return None;
    }
    let title = title(held);
    let mut sentences = Vec::new();
    let mut remedies = Vec::new();
    let mut figures = Vec::new();
    let mut basis = FORMULA_VERSION.to_owned();
    for (standard, assessment) in restraint.asked.standards.iter().zip(&held.assessments) {
        if assessment.verdict.answer() != answer {
            continue;
        }
        basis = format!("{basis}, {}", standard.id);
        let by = if standard.id == "policy" {
            String::new()
        } else {
            format!(" ({})", standard.title)
        };
        for (row, direction) in worst_rows(assessment) {
            sentences.push(format!("{}{by}", row_text(held, row, direction)));
            remedies.push(row_remedy(row, direction));
            figures.extend(row_figures(held, row));
        }
        sentences.extend(
            beside_rows(assessment)
                .into_iter()
                .map(|text| format!("{text}{by}")),
        );
    }
    remedies.dedup();
    let remedy = if remedies.is_empty() {
        "add lashings, or leave it behind".to_owned()
    } else {
        remedies.join("; ")
    };
    let mut finding = Finding::new(
        answer,
        format!("{title} {}", sentences.join("; it ")),
        held.record.iter().cloned().collect(),
    )
    .remedy(format!("{remedy}. {RECORD_CAUTION}"))
    .basis(basis);
    finding.figures = figures;
    Some(finding)
}

fn title(held: &HeldRecord) -> String {
    format!("{} ({})", held.display_name, held.id())
}

/// The rows that make the verdict of an assessment, the largest shortfall first, each with its direction in
/// words: both sides are one when they stand alike.
fn worst_rows(assessment: &Assessment) -> Vec<(&Row, &'static str)> {
    let mut rows: Vec<&Row> = assessment
        .rows
        .iter()
        .filter(|row| row.verdict == assessment.verdict)
        .collect();
    rows.sort_by(|left, right| right.shortfall_n.total_cmp(&left.shortfall_n));
    let twin = |row: &Row, side: Direction| {
        rows.iter().any(|other| {
            other.direction == side
                && other.criterion == row.criterion
                && (other.required_n, other.provided_n) == (row.required_n, row.provided_n)
        })
    };
    rows.iter()
        .filter(|row| row.direction != Direction::Right || !twin(row, Direction::Left))
        .map(|row| match row.direction {
            Direction::Left if twin(row, Direction::Right) => (*row, "to either side"),
            direction => (*row, direction.word()),
        })
        .collect()
}

fn row_text(held: &HeldRecord, row: &Row, direction: &str) -> String {
    let Row {
        required_n,
        provided_n,
        shortfall_n,
        ..
    } = row;
    let times = held.weight_n().map_or(String::new(), |weight_n| {
        format!("{} times ", round(required_n / weight_n))
    });
    let asks =
        format!("is held {direction} by {provided_n:.0} N and {times}its weight asks for {required_n:.0} N");
    match row.verdict {
        Verdict::Short => format!("{asks}: {shortfall_n:.0} N short"),
        _ => format!("{asks}, which is closer than its mass is known"),
    }
}

fn round(multiple: f64) -> f64 {
    (multiple * 1e3).round() / 1e3
}

fn row_remedy(row: &Row, direction: &str) -> String {
    let rated = format!("hold it {direction} by {:.0} N or more", row.required_n);
    let further: Vec<String> = row
        .closing
        .iter()
        .filter_map(|closing| match closing.remedy {
            Remedy::Further(count) => Some(format!("{count} more of {}", closing.group)),
            Remedy::CannotClose | Remedy::NotKnown => None,
        })
        .collect();
    if further.is_empty() {
        format!("{rated}, or leave it behind")
    } else {
        format!("{rated}: {}; or leave it behind", further.join(" or "))
    }
}

fn row_figures(held: &HeldRecord, row: &Row) -> [Figure; 2] {
    let side = match row.direction {
        Direction::Forward => "forward",
        Direction::Rearward => "rearward",
        Direction::Left => "left",
        Direction::Right => "right",
        Direction::Upward => "upward",
    };
    let uncertainty = held
        .mass_tolerance_kg
        .zip(held.mass_kg)
        .filter(|(_, mass_kg)| *mass_kg > 0.0)
        .map(|(tolerance_kg, mass_kg)| row.required_n * tolerance_kg / mass_kg);
    let figure = |what: &str, value, limit| Figure {
        id: format!("restraint_{side}_{what}_n"),
        value,
        limit,
        uncertainty,
    };
    [
        figure("required", row.required_n, Some(row.provided_n)),
        figure("spare", row.provided_n - row.required_n, None),
    ]
}

/// Shortfalls of the aggregate and the count of lashings.
fn beside_rows(assessment: &Assessment) -> Vec<String> {
    let mut texts = Vec::new();
    if let Some(aggregate) = &assessment.aggregate
        && aggregate.verdict == assessment.verdict
    {
        texts.push(format!(
            "has lashings of {:.0} N working load limit together, and {:.0} N are asked for",
            aggregate.provided_n, aggregate.required_n
        ));
    }
    if let Some(count) = &assessment.count
        && count.verdict == assessment.verdict
        && let Some(required) = count.required
    {
        texts.push(format!(
            "has {} lashings, and its length and mass ask for {required}",
            count.provided
        ));
    }
    texts
}

/// One finding for all things of which something is missing.
fn not_known(restraint: &Restraint<'_>) -> Option<Finding> {
    let unknown: Vec<&HeldRecord> = restraint
        .held
        .iter()
        .copied()
        .filter(|held| {
            held.answer() == Answer::NotKnown
                // Without anything asked, that is what is missing, and it is said already.
                && (!restraint.asked.standards.is_empty() || !held.missing.is_empty())
        })
        .collect();
    if unknown.is_empty() {
        return None;
    }
    let named: Vec<String> = unknown.iter().take(NAMED_MAX).map(|held| title(held)).collect();
    let more = match unknown.len().saturating_sub(NAMED_MAX) {
        0 => String::new(),
        count => format!(" and {count} more"),
    };
    let text = format!(
        "how {} of the things carried are held is not known: {}{more}",
        unknown.len(),
        named.join(", ")
    );
    let records = unknown.iter().filter_map(|held| held.record.clone()).collect();
    let mut finding = Finding::new(Answer::NotKnown, text, records)
        .remedy("record the mass of each and what holds it in every direction: capacities, or lashings and friction")
        .basis(FORMULA_VERSION);
    finding.records.dedup();
    finding.missing = unknown
        .iter()
        .map(|held| format!("{}: {}", held.id(), missing_of(held).join(", ")))
        .collect();
    Some(finding)
}

/// What is missing of a thing, each datum once.
fn missing_of(held: &HeldRecord) -> Vec<String> {
    let mut missing = held.missing.clone();
    for assessment in &held.assessments {
        let aggregate = assessment.aggregate.iter().flat_map(|check| &check.missing);
        let unknown = assessment
            .rows
            .iter()
            .filter(|row| row.verdict == Verdict::NotKnown);
        let rows = unknown.flat_map(|row| {
            row.missing.iter().map(|datum| match datum.as_str() {
                "restraint.friction" => "its friction".to_owned(),
                capacity if capacity.starts_with("restraint.capacity_") => {
                    format!("what holds it {}", row.direction.word())
                }
                other => other.to_owned(),
            })
        });
        missing.extend(rows.chain(aggregate.cloned()));
        if assessment
            .count
            .as_ref()
            .is_some_and(|count| count.required.is_none())
        {
            missing.push("its length".to_owned());
        }
    }
    missing.sort_unstable();
    missing.dedup();
    missing
}
