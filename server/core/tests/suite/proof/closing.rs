//! Evidence that shows a defect to be fixed.

use ostler_core::proof::check_closing;
use ostler_core::record::{Defect, Disposition, Evidence, EvidenceKind, EvidenceResult, Severity};

use crate::fit::fixture::name;
use crate::rules::date;

fn defect() -> Defect {
    Defect {
        name: name("defects", "d"),
        vehicle: name("vehicles", "v1"),
        description: "leak".to_owned(),
        severity: Severity::Restricting,
        disposition: Disposition::Open,
        found_date: Some(date("2027-03-10")),
        related: Vec::new(),
        caused_by: Vec::new(),
        proposal: String::new(),
        measurements: Default::default(),
    }
}

fn evidence() -> Evidence {
    Evidence {
        name: name("evidence", "e"),
        display_name: "leak test".to_owned(),
        kind: EvidenceKind::Test,
        vehicle: Some(name("vehicles", "v1")),
        topic: ostler_core::record::Id::new("leak-test").unwrap(),
        regulated_items: Vec::new(),
        result: EvidenceResult::Passed,
        reference: String::new(),
        issued_date: Some(date("2027-03-10")),
        valid_until_date: None,
        facts: Default::default(),
        carried: false,
        note: String::new(),
    }
}

#[test]
fn a_passed_test_of_the_vehicle_of_the_same_day_or_later_shows_it() {
    assert!(check_closing(&defect(), &[]).is_ok());
    assert!(check_closing(&defect(), &[evidence()]).is_ok());
}

#[test]
fn what_is_older_or_failed_or_about_another_vehicle_does_not() {
    type Spoil = fn(&mut Defect, &mut Evidence);
    let spoil: [(&str, Spoil); 6] = [
        ("must be about", |_, evidence| {
            evidence.vehicle = Some(name("vehicles", "v2"))
        }),
        ("must be about", |_, evidence| evidence.vehicle = None),
        ("must have passed", |_, evidence| {
            evidence.result = EvidenceResult::Failed
        }),
        ("no older", |_, evidence| {
            evidence.issued_date = Some(date("2027-03-09"))
        }),
        ("must have a day", |_, evidence| evidence.issued_date = None),
        ("was found", |defect, _| defect.found_date = None),
    ];
    for (told, spoil) in spoil {
        let (mut defect, mut second) = (defect(), evidence());
        spoil(&mut defect, &mut second);
        let refused = check_closing(&defect, &[second]).unwrap_err();
        assert_eq!(refused.violations.len(), 1, "{refused}");
        assert_eq!(refused.violations[0].field, "evidence[0]");
        assert!(refused.violations[0].problem.contains(told), "{told}: {refused}");
    }
}
