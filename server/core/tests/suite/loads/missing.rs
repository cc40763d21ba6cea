//! What is missing is said and never reads as met.

use ostler_core::answer::Answer;
use ostler_core::loads::{Baseline, LoadResult, compute};
use ostler_core::record::{DeclaredMass, Departure, Fluid, Record};

use crate::builder::{date, departure, fill, id, name, record, v1, v1_mut};

/// One way to spoil a complete record, and a word that the result must then say.
type Drop = (&'static str, fn(&mut Record, &mut Departure));

fn crate_item(record: &mut Record) -> &mut ostler_core::record::CargoItem {
    record.cargo_items.get_mut(&name("cargoItems/crate")).unwrap()
}

fn part_mass(record: &mut Record, part: &str) {
    record
        .parts
        .get_mut(&name(&format!("parts/{part}")))
        .unwrap()
        .mass = None;
}

const DROPS: [Drop; 22] = [
    ("wheelbase", |record, _| {
        v1_mut(record).specification.wheelbase_mm = None;
    }),
    ("neither a baseline weighing", |record, _| {
        v1_mut(record).baseline_weighing = None;
    }),
    ("is not on record", |record, _| record.weighings.clear()),
    ("no readings", |record, _| {
        record.weighings.values_mut().next().unwrap().readings = None;
    }),
    ("does not say what was in slot gearbox", |record, _| {
        record.weighings.values_mut().next().unwrap().fitted_parts.clear();
    }),
    ("slot gearbox of V1 now", |record, _| {
        v1_mut(record).fitments.clear()
    }),
    ("part old-box", |record, _| part_mass(record, "old-box")),
    ("part new-box", |record, _| part_mass(record, "new-box")),
    ("parts/new-box", |record, _| {
        record.parts.remove(&name("parts/new-box"));
    }),
    ("place is not known", |record, _| {
        v1_mut(record).specification.slots[0].position = None;
    }),
    ("density of diesel", |record, _| {
        record.fleet.fluid_densities_kg_per_l.remove(&Fluid::Diesel);
    }),
    ("density of water", |record, _| {
        record.fleet.fluid_densities_kg_per_l.remove(&Fluid::Water);
    }),
    ("what is in tank main", |_, departure| {
        departure.vehicles[0].fills.remove(0);
    }),
    ("does not go", |_, departure| departure.vehicles.clear()),
    ("sits in", |_, departure| departure.crew[0].vehicle = None),
    ("mass of role p1", |_, departure| departure.crew[0].mass = None),
    ("role p1: its place", |_, departure| {
        departure.crew[0].position = None
    }),
    ("mass of item crate", |record, _| {
        crate_item(record).unit_mass = None
    }),
    ("zone of item crate", |record, _| crate_item(record).zone = None),
    ("item crate: its place", |record, _| {
        v1_mut(record).specification.zones[1].position = None;
    }),
    ("v1 does not have", |_, departure| {
        departure.vehicles[0].fills.push(fill("third", 10.0));
    }),
    ("cannot be used", |record, _| {
        crate_item(record).unit_mass.as_mut().unwrap().mass_kg = f64::NAN;
    }),
];

fn all(loads: &LoadResult) -> Vec<Answer> {
    let mut answers = vec![loads.total.answer, loads.roof.answer];
    answers.extend(loads.front_axle.iter().map(|load| load.answer));
    answers.extend(loads.rear_axle.iter().map(|load| load.answer));
    answers.extend(loads.zones.iter().map(|zone| zone.load.answer));
    answers
}

/// Whatever the answers were with everything known, none is better than not known without it: neither
/// on a vehicle within all limits nor on one over all of them.
#[test]
fn dropping_any_input_never_lets_anything_go() {
    for tight in [false, true] {
        for (said, drop) in DROPS {
            let mut record = record();
            let mut departure = departure();
            if tight {
                let specification = &mut v1_mut(&mut record).specification;
                specification.gross_mass_kg = Some(10.0);
                specification.front_axle_rating_kg = Some(10.0);
                specification.rear_axle_rating_kg = Some(10.0);
                specification.zones[1].limit_kg = Some(1.0);
                specification.roof.as_mut().unwrap().limit_kg = Some(31.0);
            }
            let complete = compute(&record, &departure, v1(&record));
            assert!(complete.missing.is_empty());
            drop(&mut record, &mut departure);
            let loads = compute(&record, &departure, v1(&record));
            let missing = loads.missing.join("\n").to_lowercase();
            assert!(missing.contains(&said.to_lowercase()), "{said}: {missing}");
            assert!(
                all(&loads).iter().all(|answer| *answer >= Answer::NotKnown),
                "{said}: {loads:?}"
            );
            for number in loads.lines.iter().map(|line| line.mass_kg).chain([
                loads.total.load_kg,
                loads.total.uncertainty_kg,
                loads.lateral_moment_kgm,
            ]) {
                assert!(number.is_finite(), "{said}");
            }
        }
    }
}

#[test]
fn a_limit_that_is_not_known_is_not_met() {
    type Forget = fn(&mut ostler_core::record::Specification);
    type Read = fn(&LoadResult) -> Answer;
    let forgets: [(Forget, Read); 3] = [
        (|spec| spec.gross_mass_kg = None, |loads| loads.total.answer),
        (
            |spec| spec.front_axle_rating_kg = None,
            |loads| loads.front_axle.as_ref().unwrap().answer,
        ),
        (
            |spec| spec.rear_axle_rating_kg = Some(f64::INFINITY),
            |loads| loads.rear_axle.as_ref().unwrap().answer,
        ),
    ];
    for (forget, answer) in forgets {
        let mut record = record();
        forget(&mut v1_mut(&mut record).specification);
        let loads = compute(&record, &departure(), v1(&record));
        assert_eq!(answer(&loads), Answer::NotKnown);
    }
}

#[test]
fn a_slot_the_weighing_does_not_list_counts_as_unchanged_when_fitted_before() {
    let mut record = record();
    record.weighings.values_mut().next().unwrap().fitted_parts.clear();
    for (fitted_date, unchanged) in [
        (None, true),
        (Some("2027-03-18"), true),
        (Some("2027-03-19"), false),
    ] {
        v1_mut(&mut record)
            .fitments
            .get_mut(&id("gearbox"))
            .unwrap()
            .fitted_date = fitted_date.map(date);
        let loads = compute(&record, &departure(), v1(&record));
        assert_eq!(loads.missing.is_empty(), unchanged);
        assert!(loads.fitment_change_kg.abs() < 1e-9);
    }
}

fn declared() -> DeclaredMass {
    DeclaredMass {
        mass_kg: 2_300.0,
        front_axle_kg: Some(1_200.0),
        fuel: vec![fill("main", 100.0)],
        driver_kg: Some(0.0),
        state: "full tank".to_owned(),
        tolerance_kg: Some(40.0),
    }
}

#[test]
fn a_declared_mass_loses_its_fuel_at_the_tank() {
    let mut record = record();
    let vehicle = v1_mut(&mut record);
    vehicle.baseline_weighing = None;
    vehicle.fitments.clear();
    vehicle.specification.declared_mass = Some(declared());
    let loads = compute(&record, &departure(), v1(&record));
    assert_eq!(loads.missing, Vec::<String>::new());
    assert_eq!(loads.baseline, Baseline::Declared);
    let line = loads
        .lines
        .iter()
        .find(|line| line.record == name("vehicles/v1") && line.mass_kg > 1_000.0)
        .unwrap();
    assert!((line.mass_kg - 2_216.0).abs() < 1e-9);
    assert!((line.front_axle_kg.unwrap() - (1_200.0 - 84.0 / 3.0)).abs() < 1e-9);
    assert_eq!(line.tolerance_kg, Some(40.0));
}

#[test]
fn a_declared_mass_must_say_its_state() {
    type Spoil = fn(&mut DeclaredMass);
    let spoils: [(&str, Spoil); 4] = [
        ("splits on the axles", |declared| declared.front_axle_kg = None),
        ("whether the declared mass", |declared| declared.driver_kg = None),
        ("includes a driver", |declared| declared.driver_kg = Some(75.0)),
        ("cannot be used", |declared| declared.mass_kg = f64::NAN),
    ];
    for (said, spoil) in spoils {
        let mut record = record();
        let vehicle = v1_mut(&mut record);
        vehicle.baseline_weighing = None;
        vehicle.fitments.clear();
        let mut mass = declared();
        spoil(&mut mass);
        vehicle.specification.declared_mass = Some(mass);
        let loads = compute(&record, &departure(), v1(&record));
        assert!(loads.missing.join(" ").contains(said), "{:?}", loads.missing);
        assert_eq!(loads.total.answer, Answer::NotKnown);
    }
    // A part with a date may have come after the maker's declaration.
    let mut record = record();
    v1_mut(&mut record).baseline_weighing = None;
    v1_mut(&mut record).specification.declared_mass = Some(declared());
    let loads = compute(&record, &departure(), v1(&record));
    assert!(loads.missing.join(" ").contains("slot gearbox"));
}
