//! The gate of stability: the loaded vehicle against what the policy asks.

use ostler_core::answer::Answer;
use ostler_core::record::{
    CentreHeight, CentreHeightSource, Departure, Position, Record, SupplyGate, integrity,
};
use ostler_core::stability::recorded::{bare_height, stability_of};
use ostler_core::stability::{AxleLift, LiftReading, LiftedAxle, Precondition};

use super::fixture::{answer, gate, of, ready, worst};
use crate::builder::{fill, v1, v1_mut};

/// Gives everything a height of 800 mm, the bare vehicle too, and asks for a factor that this gives with room.
pub(super) fn raise(record: &mut Record, departure: &mut Departure) {
    let lift = |position: &mut Position| position.z_mm = Some(800.0);
    for item in record.cargo_items.values_mut() {
        item.position.iter_mut().for_each(lift);
    }
    for member in &mut departure.crew {
        member.position.iter_mut().for_each(lift);
    }
    let specification = &mut v1_mut(record).specification;
    specification
        .tanks
        .iter_mut()
        .for_each(|tank| lift(&mut tank.position));
    for zone in &mut specification.zones {
        zone.position.iter_mut().for_each(lift);
    }
    for slot in &mut specification.slots {
        slot.position.iter_mut().for_each(lift);
    }
    specification.centre_height = Some(CentreHeight {
        source: CentreHeightSource::Estimate {
            height_mm: 800.0,
            tolerance_mm: 10.0,
        },
        fills: Vec::new(),
        provenance: "made up".to_owned(),
    });
    departure.policy.static_stability_factor_min = Some(0.5);
    departure.policy.side_ceiling_min_deg = Some(30.0);
}

/// Readings of a true height of 800 mm, as the check of raised axles has them: 2,400 kg, x 1,380 mm of 3,000, radius 380 mm; with
/// the front raised the rear scale reads (M/L)(x + h' tan angle). Own calculation by moments.
fn lifted(mass_kg: f64, x_mm: f64, wheelbase_mm: f64) -> AxleLift {
    let readings = [0.0_f64, 5.0, 10.0, 15.0].map(|angle_deg| LiftReading {
        lifted: LiftedAxle::Front,
        angle_deg,
        scale_kg: mass_kg / wheelbase_mm * (x_mm + 420.0 * angle_deg.to_radians().tan()),
    });
    AxleLift {
        mass_kg,
        // That of the specification counts.
        wheelbase_mm: 0.0,
        loaded_radius_front_mm: 380.0,
        loaded_radius_rear_mm: 380.0,
        radius_uncertainty_mm: 2.0,
        scale_uncertainty_kg: 1.0,
        angle_uncertainty_deg: 0.05,
        readings: readings.into(),
        confirmed: Precondition::TO_CONFIRM.into(),
    }
}

fn measured(record: &mut Record, lift: AxleLift) {
    let height = v1_mut(record).specification.centre_height.as_mut().unwrap();
    height.source = CentreHeightSource::RaisedAxle(lift);
}

// Everything at 800 mm, the whole is too: by the US road-safety agency's definition (read) half the track over the height.
#[test]
fn a_vehicle_with_the_factor_asked_for_is_met() {
    let (record, departure) = ready();
    let gate = gate(&of(&record, &departure), "stability");
    assert_eq!(gate.answer, Answer::Met, "{gate:#?}");
    let factor = gate.findings.iter().flat_map(|finding| &finding.figures);
    let factor = factor
        .clone()
        .find(|figure| figure.id == "static_stability_factor")
        .unwrap();
    let specification = &v1(&record).specification;
    let track_mm = f64::midpoint(
        specification.front_track_mm.unwrap(),
        specification.rear_track_mm.unwrap(),
    );
    assert!((factor.value - track_mm / 1_600.0).abs() < 1e-9, "{factor:?}");
    assert!(
        gate.findings
            .iter()
            .any(|finding| finding.text.contains("not a safe slope")),
        "{gate:#?}"
    );
}

// 100 kg at 2,300 mm on a vehicle of mass M at 800 mm: h = 800 + 100 x 1,500 / M, by moments.
#[test]
fn load_on_the_roof_raises_the_centre_by_its_moment_and_a_factor_below_is_not_met() {
    let (mut record, mut departure) = ready();
    for item in record.cargo_items.values_mut() {
        let x_mm = 1_500.0;
        item.position = Some(Position {
            x_mm,
            y_mm: 0.0,
            z_mm: Some(2_300.0),
        });
    }
    let state = ostler_core::loads::compute(&record, &departure, v1(&record));
    let bare = bare_height(&record, v1(&record)).unwrap();
    let found = stability_of(v1(&record), &state, &bare).unwrap();
    let by_hand_mm = 800.0 + state.cargo_mass_kg * 1_500.0 / state.total.load_kg;
    assert!((found.summary.height.height_mm - by_hand_mm).abs() < 1e-6);
    departure.policy.static_stability_factor_min = Some(found.summary.factor.factor + 0.01);
    let finding = worst(&of(&record, &departure), "stability");
    assert_eq!(finding.answer, Answer::NotMet, "{finding:#?}");
    assert!(
        finding.remedy.contains("roof") && finding.remedy.contains("never a safe slope"),
        "{}",
        finding.remedy
    );
}

#[test]
fn a_factor_within_its_uncertainty_is_a_condition() {
    let (record, mut departure) = ready();
    let track_mm = v1(&record).specification.front_track_mm.unwrap();
    // One standard deviation is about 10/800 of the factor for the bare vehicle: half a per cent below is in doubt.
    departure.policy.static_stability_factor_min = Some(track_mm / 1_600.0 * 0.995);
    let finding = worst(&of(&record, &departure), "stability");
    assert_eq!(finding.answer, Answer::MetWithConditions, "{finding:#?}");
    assert!(finding.remedy.contains("axle raised"), "{}", finding.remedy);
}

#[test]
fn a_ceiling_below_what_is_asked_is_not_met() {
    let (record, mut departure) = ready();
    departure.policy.side_ceiling_min_deg = Some(60.0);
    let finding = worst(&of(&record, &departure), "stability");
    assert_eq!(finding.answer, Answer::NotMet, "{finding:#?}");
    departure.policy.side_ceiling_min_deg = None;
    assert_eq!(answer(&of(&record, &departure), "stability"), Answer::Met);
}

#[test]
fn what_is_missing_is_not_known_and_named() {
    let (mut record, departure) = ready();
    v1_mut(&mut record).specification.tanks[1].position.z_mm = None;
    let finding = worst(&of(&record, &departure), "stability");
    assert_eq!(finding.answer, Answer::NotKnown);
    assert!(
        finding.missing.iter().any(|missing| missing.contains("how high")),
        "{finding:#?}"
    );
    v1_mut(&mut record).specification.centre_height = None;
    let finding = worst(&of(&record, &departure), "stability");
    assert!(finding.remedy.contains("raise an axle"), "{}", finding.remedy);
}

#[test]
fn a_centre_outside_the_wheels_is_not_met() {
    let (mut record, departure) = ready();
    let suspension = v1_mut(&mut record).specification.suspension.as_mut().unwrap();
    suspension.bare_centre_y_mm = Some(1_500.0);
    let gate = gate(&of(&record, &departure), "stability");
    assert_eq!(gate.answer, Answer::NotMet);
    assert!(gate.findings[0].text.contains("outside the wheels"), "{gate:#?}");
}

/// The fuel that the tanks had to be full of is taken away with its place: bare and full give the same bare height.
#[test]
fn fuel_aboard_while_an_axle_was_raised_is_taken_away() {
    let (mut record, mut departure) = ready();
    let specification = v1(&record).specification.clone();
    let wheelbase_mm = specification.wheelbase_mm.unwrap();
    let baseline_kg = ostler_core::loads::compute(&record, &departure, v1(&record)).baseline_mass_kg;
    measured(&mut record, lifted(baseline_kg, 1_380.0, wheelbase_mm));
    let dry = bare_height(&record, v1(&record)).unwrap();
    assert!((dry.height.height_mm - 800.0).abs() < 1e-6, "{dry:?}");
    // 80 l at 400 mm: the whole is lower by m (800 - 400) / (M + m).
    let tank = specification.tanks[0].clone();
    let density = record.fleet.fluid_densities_kg_per_l[&tank.fluid];
    let fuel_kg = 80.0 * density;
    v1_mut(&mut record).specification.tanks[0].position.z_mm = Some(400.0);
    let whole_kg = baseline_kg + fuel_kg;
    let lower_mm = fuel_kg * 400.0 / whole_kg;
    let mut lift = lifted(whole_kg, 1_380.0, wheelbase_mm);
    lift.loaded_radius_front_mm -= lower_mm;
    lift.loaded_radius_rear_mm -= lower_mm;
    measured(&mut record, lift);
    let height = v1_mut(&mut record).specification.centre_height.as_mut().unwrap();
    height.fills = vec![fill(&tank.id, 80.0)];
    let bare = bare_height(&record, v1(&record)).unwrap();
    assert!((bare.height.height_mm - 800.0).abs() < 1e-6, "{bare:?}");
    assert!((bare.mass_kg.unwrap() - baseline_kg).abs() < 1e-9);
    departure.policy.side_ceiling_min_deg = None;
    assert_eq!(answer(&of(&record, &departure), "stability"), Answer::Met);
}

#[test]
fn readings_in_another_state_or_not_confirmed_are_conditions() {
    let (mut record, departure) = ready();
    let wheelbase_mm = v1(&record).specification.wheelbase_mm.unwrap();
    let baseline_kg = ostler_core::loads::compute(&record, &departure, v1(&record)).baseline_mass_kg;
    let mut lift = lifted(baseline_kg + 60.0, 1_380.0, wheelbase_mm);
    lift.confirmed = vec![Precondition::FuelTanksFull];
    measured(&mut record, lift);
    let gate = gate(&of(&record, &departure), "stability");
    assert_eq!(gate.answer, Answer::MetWithConditions, "{gate:#?}");
    let said = |text: &str| gate.findings.iter().any(|finding| finding.text.contains(text));
    assert!(
        said("the suspension was blocked") && !said("tanks were completely full"),
        "{gate:#?}"
    );
    assert!(said("the height was measured at"), "{gate:#?}");
}

#[test]
fn a_departure_may_leave_stability_out_and_then_says_so() {
    let (mut record, mut departure) = ready();
    v1_mut(&mut record).specification.centre_height = None;
    departure.policy.gates_not_asked.insert(SupplyGate::Stability);
    let finding = worst(&of(&record, &departure), "stability");
    assert_eq!(finding.answer, Answer::Met);
    assert!(finding.text.contains("does not ask"), "{}", finding.text);
}

#[test]
fn readings_that_cannot_be_are_refused_with_their_path() {
    let (mut record, _) = ready();
    let mut lift = lifted(2_400.0, 1_380.0, 3_000.0);
    lift.readings[2].scale_kg = -5.0;
    measured(&mut record, lift);
    let height = v1_mut(&mut record).specification.centre_height.as_mut().unwrap();
    height.fills = vec![fill("nowhere", 10.0)];
    let refused = integrity::vehicle(v1(&record));
    let fields: Vec<&str> = refused.iter().map(|one| one.field.as_str()).collect();
    for field in ["fills[0].tank", "raised_axle.readings[2].scale_kg"] {
        let path = format!("specification.centre_height.{field}");
        assert!(fields.contains(&path.as_str()), "{path} in {fields:?}");
    }
}
