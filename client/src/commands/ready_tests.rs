//! How readiness reads, and the numbers that `ostler ready` ends with.

use super::*;
use crate::cli::Format;
use crate::output::{Style, WIDTH_MAX};
use ostler_proto::v1::{Answer, Figure, Verdict};

fn gate(id: &str, name: &str, answer: Answer, summary: &str, findings: Vec<Finding>) -> Gate {
    Gate {
        id: id.to_owned(),
        display_name: name.to_owned(),
        answer: answer.into(),
        summary: summary.to_owned(),
        findings,
        not_binding: false,
    }
}

/// A finding with everything that one can say.
fn overloaded() -> Finding {
    Finding {
        answer: Answer::NotMet.into(),
        text: "The rear axle is 37.8 kg over its rating while the vehicle is 68 kg under its gross mass"
            .to_owned(),
        remedy: "move 60 kg from the tray to in front of the rear axle, or leave it behind".to_owned(),
        figures: vec![Figure {
            id: "rear_axle_load_kg".to_owned(),
            value: 1937.8,
            limit: Some(1900.0),
            uncertainty: Some(12.34),
        }],
        records: vec![
            "fleets/orrin/vehicles/v2".to_owned(),
            "fleets/orrin/weighings/w2".to_owned(),
        ],
        missing: Vec::new(),
        basis: "loads 1".to_owned(),
        key: "rear_axle_load_kg".to_owned(),
        acceptance: String::new(),
        clearing_jobs: Vec::new(),
    }
}

fn unknown() -> Finding {
    Finding {
        answer: Answer::NotKnown.into(),
        text: "=the splines of the offered gearbox are not stated".to_owned(),
        missing: vec!["input_spline of parts/gearbox-b".to_owned()],
        records: vec!["fleets/orrin/substitutions/s1".to_owned()],
        ..Default::default()
    }
}

/// A departure that is not ready.
fn readiness() -> Readiness {
    let met = Finding {
        answer: Answer::Met.into(),
        text: "registration carried".to_owned(),
        ..Default::default()
    };
    let axles = "Axles within their ratings";
    let vehicle = VehicleReadiness {
        vehicle: "fleets/orrin/vehicles/v2".to_owned(),
        display_name: "Long tray".to_owned(),
        verdict: Verdict::NoGo.into(),
        gates: vec![
            gate(
                "axles",
                axles,
                Answer::NotMet,
                "The rear axle is overloaded.",
                vec![overloaded()],
            ),
            gate(
                "substitutions",
                "Substitutions settled",
                Answer::NotKnown,
                "",
                vec![unknown()],
            ),
            gate(
                "papers",
                "Papers in order",
                Answer::Met,
                "All papers are carried.",
                vec![met],
            ),
        ],
    };
    Readiness {
        departure: "fleets/orrin/departures/north".to_owned(),
        verdict: Verdict::NoGo.into(),
        vehicles: vec![vehicle],
        first_steps: Vec::new(),
        gates: vec![gate(
            "crew",
            "Crew",
            Answer::MetWithConditions,
            "One driver has no relief.",
            Vec::new(),
        )],
        record_version: "revision 41".to_owned(),
        caution: "Computed from the record alone. It does not replace looking at the vehicle.".to_owned(),
        unchanged: false,
    }
}

fn render(format: Format, full: bool) -> String {
    document(&readiness(), full)
        .unwrap()
        .render(format, Style::plain())
        .unwrap()
}

#[test]
fn readiness_for_people() {
    insta::assert_snapshot!(render(Format::Table, false));
}

#[test]
fn readiness_for_scripts() {
    insta::assert_snapshot!("readiness_csv", render(Format::Csv, false));
    insta::assert_snapshot!("readiness_json", render(Format::Json, false));
}

#[test]
fn findings_that_are_met_are_shown_on_request() {
    assert!(!render(Format::Table, false).contains("registration carried"));
    assert!(render(Format::Table, true).contains("- met: registration carried"));
    assert!(
        render(Format::Csv, false).contains("registration carried"),
        "scripts get everything"
    );
}

#[test]
fn the_words_are_there_without_colour_and_lines_fit() {
    let text = render(Format::Table, true);
    for words in ["NO-GO", "not met:", "not known:", "met with conditions:", "met:"] {
        assert!(text.contains(words), "{words}");
    }
    assert!(text.lines().all(|line| line.chars().count() <= WIDTH_MAX));
    assert!(!text.contains('\u{1b}'));
}

#[test]
fn only_a_stated_go_ends_with_zero() {
    assert_eq!(exit_code(Verdict::Go).unwrap(), 0);
    assert_eq!(exit_code(Verdict::GoWithConditions).unwrap(), 3);
    assert_eq!(exit_code(Verdict::NoGo).unwrap(), 4);
    assert_eq!(exit_code(Verdict::Unspecified).unwrap_err().exit_code(), 1);
    // A verdict of a later version of the API.
    let later = Readiness {
        verdict: 99,
        ..Default::default()
    };
    assert!(exit_code(later.verdict()).is_err());
}
