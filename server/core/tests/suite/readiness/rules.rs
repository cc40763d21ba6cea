//! The gates of rules and papers.

use ostler_core::answer::Answer;
use ostler_core::readiness::Verdict;
use ostler_core::record::{Departure, Fact, Record};

use super::fixture::{answer, evidence, gate, item, of, pack, ready, worst};
use crate::builder::{date, id, name};

fn tank(record: &mut Record) -> &mut ostler_core::record::RegulatedItem {
    record
        .regulated_items
        .get_mut(&name("regulatedItems/tank"))
        .unwrap()
}

#[test]
fn a_bolted_tank_needs_its_certificate_and_a_carried_one_none() {
    let (mut record, departure) = ready();
    assert_eq!(answer(&of(&record, &departure), "rules"), Answer::Met);
    tank(&mut record).facts.insert(id("bolted"), Fact::YesNo(true));
    let readiness = of(&record, &departure);
    assert_eq!(answer(&readiness, "rules"), Answer::NotMet);
    let finding = worst(&readiness, "rules");
    assert!(finding.text.contains("tank-certificate"), "{finding:?}");
    assert!(finding.basis.contains("rulePacks/first version 1"));
    assert!(finding.records.contains(&name("regulatedItems/tank")));
    let certificate = evidence("certificate", "tank-certificate", Some("v1"), None);
    record.evidence.insert(certificate.name.clone(), certificate);
    assert_eq!(answer(&of(&record, &departure), "rules"), Answer::Met);
}

#[test]
fn a_missing_fact_is_undetermined_and_named_with_its_question() {
    let (mut record, departure) = ready();
    tank(&mut record).facts.clear();
    let finding = worst(&of(&record, &departure), "rules");
    assert_eq!(finding.answer, Answer::NotKnown);
    assert!(finding.missing.iter().any(|missing| missing.contains("bolted")));
    assert!(finding.remedy.contains("Is it bolted in?"));
}

/// The inspection runs out before the departure on 24 May 2027.
#[test]
fn a_paper_that_expires_before_departure_counts_under_papers() {
    let (mut record, departure) = ready();
    let paper = evidence("paper", "inspection-paper", Some("v1"), Some("2027-05-09"));
    record.evidence.insert(paper.name.clone(), paper);
    let readiness = of(&record, &departure);
    assert_eq!(answer(&readiness, "rules"), Answer::Met);
    let finding = worst(&readiness, "papers");
    assert_eq!(finding.answer, Answer::NotMet);
    assert!(finding.text.contains("15 days"), "{}", finding.text);
    assert!(finding.records.contains(&name("evidence/paper")));
}

#[test]
fn packs_that_are_missing_faulty_or_silent_are_not_known() {
    type Spoil = fn(&mut Record, &mut Departure);
    let spoils: [(&str, Spoil); 4] = [
        ("no rule pack", |_, departure| departure.rule_packs.clear()),
        ("not on record", |record, _| record.rule_packs.clear()),
        ("unknown-topic", |record, _| {
            tank(record).topic = id("unknown-topic")
        }),
        ("rulePacks/first", |record, _| {
            let pack = record.rule_packs.values_mut().next().unwrap();
            pack.topics[0].categories[0].when = "bolted".to_owned();
        }),
    ];
    for (said, spoil) in spoils {
        let (mut record, mut departure) = ready();
        spoil(&mut record, &mut departure);
        let readiness = of(&record, &departure);
        assert_eq!(readiness.verdict, Verdict::NoGo, "{said}");
        let finding = worst(&readiness, "rules");
        assert_eq!(finding.answer, Answer::NotKnown, "{said}");
        assert!(finding.text.contains(said), "{said}: {}", finding.text);
        assert!(!finding.missing.is_empty(), "{said}");
    }
}

/// Of two packs on one topic the later one that holds on the day of departure is used, and named.
#[test]
fn of_two_packs_the_later_one_in_force_is_used() {
    for (effective_date, used) in [("2027-03-01", "second"), ("2027-09-01", "first")] {
        let (mut record, mut departure) = ready();
        let second = pack("second", effective_date);
        departure.rule_packs.push(second.name.clone());
        record.rule_packs.insert(second.name.clone(), second);
        let finding = worst(&of(&record, &departure), "rules");
        assert!(finding.basis.contains(used), "{finding:?}");
    }
    let (mut record, departure) = ready();
    record.rule_packs.values_mut().next().unwrap().effective_date = date("2027-09-01");
    let readiness = of(&record, &departure);
    assert_eq!(answer(&readiness, "rules"), Answer::NotKnown);
    assert_eq!(answer(&readiness, "papers"), Answer::NotKnown);
}

#[test]
fn what_the_whole_convoy_must_have_counts_once_for_the_convoy() {
    let (mut record, departure) = ready();
    let permit = item("permit", "inspection", None, []);
    record.regulated_items.insert(permit.name.clone(), permit);
    let readiness = of(&record, &departure);
    assert_eq!(gate(&readiness, "papers").answer, Answer::Met);
    assert_eq!(readiness.vehicles[0].verdict, Verdict::Go);
    let papers = readiness.gates.iter().find(|gate| gate.id == "papers").unwrap();
    assert_eq!(papers.answer, Answer::NotMet);
    assert_eq!(readiness.verdict, Verdict::NoGo);
}
