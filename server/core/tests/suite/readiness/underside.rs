//! The gate of the underside: clearance and angles of the loaded vehicle against what the policy asks.

use ostler_core::answer::Answer;
use ostler_core::readiness::Figure;
use ostler_core::record::{Departure, Record, SupplyGate, UndersidePoint, UndersidePolicy};
use ostler_core::stance::heights::{Carrier, VehiclePoint};
use ostler_core::stance::vehicle::AxlePosition;

use super::fixture::{answer, gate, of, ready, worst};
use crate::builder::{id, name, v1_mut};

/// A bar in front, a guard between the axles and a towing eye, on the body; the rear differential on its axle.
pub(super) fn points() -> Vec<UndersidePoint> {
    let point = |name: &str, x_mm, z_mm, carried_by| UndersidePoint {
        name: name.to_owned(),
        place: VehiclePoint {
            x_mm,
            y_mm: 0.0,
            z_mm,
            carried_by,
        },
    };
    vec![
        point("front bar", -700.0, 450.0, Carrier::Body),
        point("gearbox guard", 1_500.0, 400.0, Carrier::Body),
        point("towing eye", 3_900.0, 550.0, Carrier::Body),
        point(
            "rear differential",
            3_000.0,
            230.0,
            Carrier::Axle(AxlePosition::Rear),
        ),
    ]
}

/// What those points keep with room.
pub(super) fn asked() -> UndersidePolicy {
    UndersidePolicy {
        clearance_min_mm: Some(200.0),
        approach_min_deg: Some(20.0),
        departure_min_deg: Some(20.0),
        breakover_min_deg: Some(20.0),
    }
}

fn figures(record: &Record, departure: &Departure) -> Vec<Figure> {
    let gate = gate(&of(record, departure), "underside");
    gate.findings
        .into_iter()
        .flat_map(|finding| finding.figures)
        .collect()
}

fn figure(record: &Record, departure: &Departure, id: &str) -> f64 {
    let found = figures(record, departure);
    found.iter().find(|figure| figure.id == id).unwrap().value
}

/// Tyres count as rigid, so a differential on its axle stays where it was measured, whatever the load.
#[test]
fn an_underside_that_keeps_what_is_asked_is_met_with_its_figures() {
    let (record, departure) = ready();
    let found = gate(&of(&record, &departure), "underside");
    assert_eq!(found.answer, Answer::Met, "{found:#?}");
    assert_eq!(found.findings.len(), 4);
    assert!((figure(&record, &departure, "clearance_mm") - 230.0).abs() < 1e-9);
}

#[test]
fn load_that_sinks_the_tail_takes_departure_angle_and_gives_approach_angle() {
    let (mut record, departure) = ready();
    let angles = |record: &Record| ["approach_deg", "departure_deg"].map(|id| figure(record, &departure, id));
    let before = angles(&record);
    let item = record.cargo_items.get_mut(&name("cargoItems/crate")).unwrap();
    item.position.get_or_insert(crate::builder::at(3_000.0, 0.0)).x_mm = 4_000.0;
    item.position.as_mut().unwrap().z_mm = Some(800.0);
    let after = angles(&record);
    assert!(
        after[0] > before[0] && after[1] < before[1],
        "{before:?} {after:?}"
    );
}

#[test]
fn less_than_asked_is_not_met_and_names_the_point_and_the_moment() {
    let (record, mut departure) = ready();
    departure.policy.underside.as_mut().unwrap().clearance_min_mm = Some(231.0);
    let finding = worst(&of(&record, &departure), "underside");
    assert_eq!(finding.answer, Answer::NotMet);
    for said in ["rear differential", "asked at least 231.0 mm", "at departure"] {
        assert!(finding.text.contains(said), "{}", finding.text);
    }
    assert!(finding.remedy.contains("raise"), "{}", finding.remedy);
}

#[test]
fn a_margin_below_the_warning_share_is_a_condition() {
    let (record, mut departure) = ready();
    departure.policy.margin_warn_fraction = Some(0.2);
    assert_eq!(
        answer(&of(&record, &departure), "underside"),
        Answer::MetWithConditions
    );
}

#[test]
fn springs_that_cannot_be_leave_it_not_known() {
    let (mut record, departure) = ready();
    let coil = record.parts.get_mut(&name("parts/coil")).unwrap();
    coil.figures.insert(id("rate_n_per_mm"), -50.0);
    let finding = worst(&of(&record, &departure), "underside");
    assert_eq!(finding.answer, Answer::NotKnown);
    assert!(finding.text.contains("rate_n_per_mm"), "{}", finding.text);
}

#[test]
fn a_departure_may_leave_the_underside_out_and_then_says_so() {
    let (mut record, mut departure) = ready();
    v1_mut(&mut record)
        .specification
        .suspension
        .as_mut()
        .unwrap()
        .underside
        .clear();
    assert_eq!(answer(&of(&record, &departure), "underside"), Answer::NotKnown);
    departure.policy.gates_not_asked.insert(SupplyGate::Underside);
    let finding = worst(&of(&record, &departure), "underside");
    assert_eq!(finding.answer, Answer::Met);
    assert!(finding.text.contains("does not ask"), "{}", finding.text);
}
