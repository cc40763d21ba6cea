//! How an assessment reads: what is missing reads as not known, never as ready.

use super::*;
use crate::cli::Format;
use crate::output::Style;
use ostler_proto::v1::{FigureChange, OpenQuestion};

fn assessment() -> SubstitutionAssessment {
    SubstitutionAssessment {
        substitution: "fleets/orrin/substitutions/s1".to_owned(),
        fit: Fit::Clashes.into(),
        blocks: true,
        interfaces: vec![
            InterfaceAssessment {
                notes_disagree: false,
                slot: "gearbox".to_owned(),
                interface_kind: "output_flange".to_owned(),
                fit: Fit::Clashes.into(),
                blocks: true,
                essential: true,
                required: "4 x 78 mm".to_owned(),
                offered: "4 x 95 mm".to_owned(),
                reason: "the bolt circles differ".to_owned(),
                remedies: vec![ostler_proto::v1::Remedy {
                    text: "other flange from the donor shaft".to_owned(),
                    ..ostler_proto::v1::Remedy::default()
                }],
                remedy_done: false,
                compatibility_notes: vec!["fleets/orrin/compatibilityNotes/n4".to_owned()],
            },
            InterfaceAssessment {
                slot: "gearbox".to_owned(),
                interface_kind: "input_spline".to_owned(),
                fit: Fit::Unknown.into(),
                blocks: true,
                essential: true,
                required: "21".to_owned(),
                reason: "the offered part does not state it".to_owned(),
                ..Default::default()
            },
        ],
        open_questions: vec![OpenQuestion {
            measuring: String::new(),
            slot: "gearbox".to_owned(),
            interface_kind: "input_spline".to_owned(),
            question: "How many splines does the input shaft of the new gearbox have?".to_owned(),
        }],
        mass_change_kg: None,
        figure_changes: vec![FigureChange {
            slot: "gearbox".to_owned(),
            figure: "first_gear_ratio".to_owned(),
            outgoing: 4.1,
            incoming: 3.585,
        }],
        regulated_items: vec!["fleets/orrin/regulatedItems/driveline".to_owned()],
        stale_evidence: vec!["fleets/orrin/evidence/shakedown".to_owned()],
        cautions: vec!["Support the transfer case before the mount comes off.".to_owned()],
        ..Default::default()
    }
}

#[test]
fn an_assessment_for_people() {
    let assessment = assessment();
    let document = Document::of(&assessment, blocks(&assessment), records(&assessment));
    insta::assert_snapshot!(document.render(Format::Table, Style::plain()).unwrap());
}

#[test]
fn an_assessment_for_scripts() {
    let assessment = assessment();
    let document = Document::of(&assessment, blocks(&assessment), records(&assessment));
    insta::assert_snapshot!(document.render(Format::Csv, Style::plain()).unwrap());
}
