//! The gate of defects.

use ostler_core::answer::Answer;
use ostler_core::record::{AcceptedCondition, Disposition, Severity};

use super::fixture::{answer, defect, of, ready, worst};
use crate::builder::{date, name};

fn accepted() -> Disposition {
    Disposition::Accepted(AcceptedCondition {
        condition: "top up the oil".to_owned(),
        owner: "driver".to_owned(),
        check_interval: "every evening".to_owned(),
        accepted_by: "lead".to_owned(),
        accepted_date: date("2027-05-01"),
    })
}

fn fixed() -> Disposition {
    Disposition::Fixed {
        fix: "new seal".to_owned(),
        fixed_date: None,
        evidence: Vec::new(),
    }
}

fn shown() -> Disposition {
    Disposition::Fixed {
        fix: "new seal".to_owned(),
        fixed_date: None,
        evidence: vec![name("evidence/drive")],
    }
}

#[test]
fn severity_and_disposition_decide() {
    let cases = [
        (Severity::Grounding, Disposition::Open, Answer::NotMet),
        (Severity::Grounding, accepted(), Answer::NotMet),
        (Severity::Grounding, fixed(), Answer::MetWithConditions),
        (Severity::Grounding, shown(), Answer::Met),
        (Severity::Restricting, Disposition::Open, Answer::NotMet),
        (Severity::Restricting, accepted(), Answer::MetWithConditions),
        (Severity::Restricting, fixed(), Answer::Met),
        (Severity::Minor, Disposition::Open, Answer::MetWithConditions),
        (Severity::Minor, accepted(), Answer::MetWithConditions),
        (Severity::Minor, fixed(), Answer::Met),
    ];
    for (severity, disposition, expected) in cases {
        let (mut record, departure) = ready();
        let defect = defect(severity, disposition);
        record.defects.insert(defect.name.clone(), defect.clone());
        assert_eq!(
            answer(&of(&record, &departure), "defects"),
            expected,
            "{defect:?}"
        );
    }
}

#[test]
fn an_accepted_defect_says_the_condition_who_keeps_it_and_how_often() {
    let (mut record, departure) = ready();
    let defect = defect(Severity::Restricting, accepted());
    record.defects.insert(defect.name.clone(), defect);
    let finding = worst(&of(&record, &departure), "defects");
    for said in [
        "oil on the hub",
        "top up the oil",
        "driver",
        "every evening",
        "lead",
    ] {
        assert!(finding.text.contains(said), "{finding:?}");
    }
    assert_eq!(finding.records, [name("defects/d1")]);
}

#[test]
fn an_open_defect_names_what_the_workshop_proposes() {
    let (mut record, departure) = ready();
    let defect = defect(Severity::Restricting, Disposition::Open);
    record.defects.insert(defect.name.clone(), defect);
    let finding = worst(&of(&record, &departure), "defects");
    assert!(finding.remedy.contains("new seal"), "{finding:?}");
}

#[test]
fn the_defect_of_another_vehicle_does_not_count() {
    let (mut record, departure) = ready();
    let mut defect = defect(Severity::Grounding, Disposition::Open);
    defect.vehicle = name("vehicles/v9");
    record.defects.insert(defect.name.clone(), defect);
    assert_eq!(answer(&of(&record, &departure), "defects"), Answer::Met);
}
