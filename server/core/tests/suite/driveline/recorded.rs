//! Drivelines of the record.

#![expect(
    clippy::unwrap_used,
    reason = "functions shared by tests stop a test that cannot go on"
)]

use std::collections::BTreeMap;

use ostler_core::driveline::DrivenAxles;
use ostler_core::driveline::recorded::{Asked, as_fitted, driveline_of, odometer_factor_now};
use ostler_core::record::{
    DrivelineSpecification, Fitment, Gearing, Interface, InterfaceValue, Part, Record, Replacement,
    SpeedometerCalibration, SpeedometerDrive, Substitution, SubstitutionState, Vehicle,
};

use super::{assert_near, gear, range};
use crate::builder::{id, name, part, record};

fn gearbox(id: &str, first: f64, speedometer: f64) -> Part {
    let mut found = part(id, None);
    found.gearing = Some(Gearing {
        gears: vec![gear("1", first), gear("4", 1.0)],
        ranges: vec![range("high", 1.0), range("low", 2.0)],
        axle_ratio: None,
        hub_ratio: None,
    });
    found.interfaces.push(Interface {
        kind: crate::builder::id("speedometer_ratio"),
        value: Some(InterfaceValue::Ratio(speedometer)),
    });
    found
}

fn tyre(id: &str, diameter_mm: f64) -> Part {
    let mut found = part(id, None);
    found.kind = crate::builder::id("tyre");
    found.interfaces.push(Interface {
        kind: crate::builder::id("overall_diameter"),
        value: Some(InterfaceValue::LengthMm(diameter_mm)),
    });
    found
}

fn fit(vehicle: &mut Vehicle, slot: &str, part: &str) {
    let fitment = Fitment {
        name: vehicle.name.child("fitments", &id(slot)),
        part: Some(name(&format!("parts/{part}"))),
        fitted_date: None,
        facts: BTreeMap::new(),
        substitution: None,
        note: String::new(),
    };
    vehicle.fitments.insert(id(slot), fitment);
}

/// A vehicle of gearbox `box-a`, axles of 4.0 and tyres of 800 mm, its speedometer calibrated so.
fn world() -> (Record, Vehicle) {
    let mut record = record();
    for found in [
        gearbox("box-a", 4.0, 1.0),
        gearbox("box-b", 5.0, 1.1),
        tyre("tyre-800", 800.0),
        tyre("tyre-840", 840.0),
    ] {
        record.parts.insert(found.name.clone(), found);
    }
    let mut vehicle = record.vehicles.values().next().unwrap().clone();
    vehicle.fitments.clear();
    fit(&mut vehicle, "gearbox", "box-a");
    for slot in [
        "tyre.front.left",
        "tyre.front.right",
        "tyre.rear.left",
        "tyre.rear.right",
    ] {
        fit(&mut vehicle, slot, "tyre-800");
    }
    vehicle.specification.driveline = Some(DrivelineSpecification {
        built: Gearing {
            axle_ratio: Some(4.0),
            ..Gearing::default()
        },
        driven: Some(DrivenAxles::Both),
        circumference_factor: Some(3.0),
        speedometer: Some(SpeedometerCalibration {
            drive: SpeedometerDrive::TransferOutput,
            tyre_diameter_mm: 800.0,
            wheel_ratio: Some(4.0),
            drive_ratio: Some(1.0),
            over_reading_percent: None,
            odometer_factor: Some(0.99),
        }),
        ..DrivelineSpecification::default()
    });
    (record, vehicle)
}

fn substitution(vehicle: &Vehicle, replacements: &[(&str, &str, &str)]) -> Substitution {
    let replacement = |(slot, outgoing, incoming): &(&str, &str, &str)| Replacement {
        slot: id(slot),
        outgoing_part: Some(name(&format!("parts/{outgoing}"))),
        incoming_part: name(&format!("parts/{incoming}")),
    };
    Substitution {
        name: name("substitutions/s"),
        vehicle: vehicle.name.clone(),
        replacements: replacements.iter().map(replacement).collect(),
        reason: String::new(),
        state: SubstitutionState::Proposed,
        fitted_date: None,
        settlements: Vec::new(),
        supersedes: None,
        note: String::new(),
        life: Default::default(),
    }
}

/// 4.0 x 2.0 x 4.0 is 32; the part's ratios count before those that the vehicle was built with.
#[test]
fn ratios_come_from_the_parts_fitted_and_else_from_what_was_built() {
    let (mut record, mut vehicle) = world();
    let state = as_fitted(&record, &vehicle).state.unwrap();
    let crawl = ostler_core::driveline::crawl_ratio(&state.setup.driveline)
        .unwrap()
        .unwrap();
    assert_near(crawl.ratio, 32.0, 1e-12);

    let mut axle = part("axle-gears", None);
    axle.gearing = Some(Gearing {
        axle_ratio: Some(4.5),
        ..Gearing::default()
    });
    record.parts.insert(axle.name.clone(), axle);
    fit(&mut vehicle, "axle.rear", "axle-gears");
    let found = as_fitted(&record, &vehicle);
    assert_eq!(found.state.unwrap().setup.driveline.axle_ratio, 4.5);
    // Only the rear was changed: 4.5 against 4.0 winds up by 12.5 percent.
    assert_near(found.axle_mismatch_percent.unwrap(), 12.5, 1e-9);
    let report = driveline_of(&record, &vehicle, &Asked::default()).unwrap();
    assert!(report.remarks[0].contains("+12.5 %"), "{:?}", report.remarks);
}

/// 840 over 800 mm is 1.05; a drive that turns 1.1 times as fast takes 1.1 off; 0.99 was the factor when calibrated.
#[test]
fn the_odometer_follows_tyres_and_speedometer_drive() {
    let (record, mut vehicle) = world();
    assert_near(odometer_factor_now(&record, &vehicle).unwrap(), 0.99, 1e-12);
    for slot in [
        "tyre.rear.left",
        "tyre.rear.right",
        "tyre.front.left",
        "tyre.front.right",
    ] {
        fit(&mut vehicle, slot, "tyre-840");
    }
    assert_near(
        odometer_factor_now(&record, &vehicle).unwrap(),
        0.99 * 1.05,
        1e-12,
    );
    fit(&mut vehicle, "gearbox", "box-b");
    assert_near(
        odometer_factor_now(&record, &vehicle).unwrap(),
        0.99 * 1.05 / 1.1,
        1e-12,
    );
}

#[test]
fn a_substitution_has_a_before_and_an_after_whether_or_not_it_is_fitted() {
    let (record, mut vehicle) = world();
    let change = substitution(&vehicle, &[("gearbox", "box-a", "box-b")]);
    let asked = Asked {
        substitution: Some(&change),
        ..Asked::default()
    };
    let proposed = driveline_of(&record, &vehicle, &asked).unwrap();
    fit(&mut vehicle, "gearbox", "box-b");
    let fitted = driveline_of(&record, &vehicle, &asked).unwrap();
    assert_eq!(proposed, fitted);
    let report = proposed.report.unwrap();
    assert_near(report.rows[0].before.unwrap().overall_ratio, 16.0, 1e-12);
    assert_near(report.rows[0].after.unwrap().overall_ratio, 20.0, 1e-12);
    assert_near(report.odometer_change.unwrap(), 1.0 / 1.1, 1e-12);
}

/// What is taken away makes the driveline not known, never something else.
#[test]
fn what_is_missing_is_said() {
    let (record, vehicle) = world();
    type Take = fn(&mut Record, &mut Vehicle);
    let takes: [(&str, Take); 5] = [
        ("gears", |_, vehicle| {
            vehicle.fitments.remove("gearbox");
        }),
        ("axle", |_, vehicle| {
            vehicle.specification.driveline.as_mut().unwrap().built.axle_ratio = None;
        }),
        ("axles drive", |_, vehicle| {
            vehicle.specification.driveline.as_mut().unwrap().driven = None;
        }),
        ("diameter of a tyre", |record, _| {
            record
                .parts
                .get_mut(&name("parts/tyre-800"))
                .unwrap()
                .interfaces
                .clear();
        }),
        ("circumference", |_, vehicle| {
            vehicle
                .specification
                .driveline
                .as_mut()
                .unwrap()
                .circumference_factor = None;
        }),
    ];
    for (what, take) in takes {
        let (mut record, mut vehicle) = (record.clone(), vehicle.clone());
        take(&mut record, &mut vehicle);
        let found = driveline_of(&record, &vehicle, &Asked::default()).unwrap();
        assert!(found.report.is_none(), "{what}");
        assert!(
            found.before.missing.iter().any(|text| text.contains(what)),
            "{what} {found:?}"
        );
        assert_eq!(odometer_factor_now(&record, &vehicle), None, "{what}");
    }
}

/// Two parts that state gears differently leave them not known rather than one of them winning.
#[test]
fn contradicting_parts_are_not_known() {
    let (record, mut vehicle) = world();
    fit(&mut vehicle, "overdrive", "box-b");
    let found = as_fitted(&record, &vehicle);
    assert!(found.state.is_none());
    assert!(
        found.missing.iter().any(|text| text.contains("differently")),
        "{found:?}"
    );
}
