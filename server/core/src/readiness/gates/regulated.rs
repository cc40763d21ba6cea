//! Rules and papers: does what is fitted and carried meet the rule packs, and are the papers in hand?

use super::{Finding, Gate, gate as build};
use crate::answer::Answer;
use crate::loads::ConvoyLoads;
use crate::readiness::Packs;
use crate::record::{Departure, Name, Record, RegulatedItem, RuleGate, Vehicle};
use crate::rules::{DemandAnswer, DemandAssessment, ItemAssessment, RecordFigures};

/// Rules, or papers, of a vehicle; without one, of the convoy as a whole.
pub(super) fn gate(loads: &ConvoyLoads, packs: &Packs, which: RuleGate, vehicle: Option<&Vehicle>) -> Gate {
    let ConvoyLoads {
        record, departure, ..
    } = loads;
    let subject = vehicle.map(|vehicle| &vehicle.name);
    let items = record
        .regulated_items
        .values()
        .filter(|item| item.vehicle.as_ref() == subject && packs.gate_of(departure, item) == which);
    let figures = RecordFigures::of(loads, vehicle);
    let mut findings: Vec<Finding> = items
        .flat_map(|item| item_findings(record, departure, packs, item, &figures))
        .collect();
    if which == RuleGate::Rules && vehicle.is_none() {
        findings.extend(
            packs
                .faulty()
                .iter()
                .map(|(name, fault)| faulty_pack(name, fault)),
        );
        if departure.rule_packs.is_empty() {
            findings.push(no_pack());
        }
    }
    match which {
        RuleGate::Rules => build(
            "rules",
            "Does what is fitted and carried meet the rules?",
            findings,
            "nothing on record is against the rules".to_owned(),
        ),
        RuleGate::Papers => build(
            "papers",
            "Are the papers in hand and in date?",
            findings,
            "every paper asked for is in hand and in date".to_owned(),
        ),
    }
}

fn no_pack() -> Finding {
    let mut finding = Finding::new(Answer::NotKnown, "the departure names no rule pack", Vec::new())
        .remedy("name the rule packs of the way in the departure");
    finding.missing.push("rule packs of the departure".to_owned());
    finding
}

fn faulty_pack(name: &Name, fault: &str) -> Finding {
    let text = format!("the rule pack {name} cannot be used: {fault}");
    let mut finding = Finding::new(Answer::NotKnown, text, vec![name.clone()]);
    finding.missing.push(format!("a rule pack {name} without faults"));
    finding
}

fn item_findings(
    record: &Record,
    departure: &Departure,
    packs: &Packs,
    item: &RegulatedItem,
    figures: &RecordFigures<'_>,
) -> Vec<Finding> {
    match packs.assess(record, departure, item, figures) {
        Err(no_pack) => {
            let text = format!("{}: {no_pack}", item.display_name);
            let mut finding = Finding::new(Answer::NotKnown, text, vec![item.name.clone()]);
            finding.missing.push(no_pack.to_string());
            vec![finding]
        }
        Ok(assessment) if assessment.demands.is_empty() || assessment.category.is_none() => {
            let mut findings = contradictions(item, &assessment);
            findings.push(whole_finding(item, &assessment));
            findings
        }
        Ok(assessment) => {
            let mut findings: Vec<Finding> = assessment
                .demands
                .iter()
                .map(|demand| demand_finding(item, &assessment, demand))
                .collect();
            let worst = findings.iter().map(|finding| finding.answer).max();
            if worst < Some(answer_of(assessment.answer)) {
                findings.push(whole_finding(item, &assessment));
            }
            findings.extend(contradictions(item, &assessment));
            findings
        }
    }
}

/// Facts that the item states otherwise than the record has them: the record counts, and someone should know.
fn contradictions(item: &RegulatedItem, assessment: &ItemAssessment) -> Vec<Finding> {
    let differing = assessment.facts_used.iter().filter_map(|used| {
        let (stated, known) = (used.stated.as_ref()?, used.value.as_ref()?);
        let text = format!(
            "{}: `{}` is stated as {stated}, but by the record it is {known} ({}); the record counts",
            item.display_name, used.fact, used.description
        );
        let remedy = format!(
            "find out which is right; take `{}` out of the item or mend the record",
            used.fact
        );
        let records = vec![item.name.clone()];
        Some(
            Finding::new(Answer::MetWithConditions, text, records)
                .remedy(remedy)
                .basis(basis(assessment)),
        )
    });
    differing.collect()
}

/// What the assessment as a whole says: undetermined, nothing demanded, or a pack that does not hold yet.
fn whole_finding(item: &RegulatedItem, assessment: &ItemAssessment) -> Finding {
    let text = format!("{}: {}", item.display_name, assessment.reason);
    let records = vec![item.name.clone(), assessment.rule_pack.clone()];
    let questions: Vec<&str> = assessment
        .missing_facts
        .iter()
        .map(|missing| missing.question.as_str())
        .collect();
    let mut finding = Finding::new(answer_of(assessment.answer), text, records)
        .remedy(questions.join(" "))
        .basis(basis(assessment));
    finding.missing = assessment
        .missing_facts
        .iter()
        .map(|missing| format!("{} of {}", missing.fact, item.display_name))
        .collect();
    finding
}

fn demand_finding(item: &RegulatedItem, assessment: &ItemAssessment, demand: &DemandAssessment) -> Finding {
    let answer = answer_of(demand.answer);
    let text = format!(
        "{} ({}): {}",
        item.display_name, assessment.category_display_name, demand.reason
    );
    let records = std::iter::once(item.name.clone())
        .chain(demand.evidence.clone())
        .collect();
    let remedy = match answer {
        Answer::Met => String::new(),
        _ => format!("needed: {} [{}]", demand.display_name, demand.source.text),
    };
    Finding::new(answer, text, records)
        .remedy(remedy)
        .basis(basis(assessment))
}

fn basis(assessment: &ItemAssessment) -> String {
    format!(
        "{} version {}",
        assessment.rule_pack, assessment.rule_pack_version
    )
}

fn answer_of(answer: DemandAnswer) -> Answer {
    match answer {
        DemandAnswer::Met => Answer::Met,
        DemandAnswer::MetWithConditions => Answer::MetWithConditions,
        DemandAnswer::NotKnown => Answer::NotKnown,
        DemandAnswer::NotMet => Answer::NotMet,
    }
}
