//! Benchmarks of `ostler_core::fit`.

#![expect(clippy::expect_used, reason = "a benchmark without its input cannot go on")]

use std::collections::BTreeMap;

use divan::{Bencher, black_box};
use ostler_core::fit::{BridgeCost, BridgeOption, Crossing, Gap, NoteIndex, Vocabulary, assess_with, bridge};
use ostler_core::record::{
    Comparison, CompatibilityNote, Fleet, Id, Interface, InterfaceValue, Name, NoteBasis, NoteFinding, Part,
    Record, Replacement, Slot, Specification, Substitution, SubstitutionLife, SubstitutionState, Vehicle,
    VehicleSystem,
};

fn id(text: &str) -> Id {
    Id::new(text).expect("an id")
}

fn name(collection: &str, number: usize) -> Name {
    Name::new(format!("fleets/bench/{collection}/n{number}")).expect("a name")
}

fn part(number: usize) -> Part {
    let interfaces = ["mounting_ears", "connector", "pulley_ribs"].map(|kind| Interface {
        kind: id(kind),
        value: Some(InterfaceValue::Text(format!("{kind} {}", number % 7))),
    });
    Part {
        name: name("parts", number),
        display_name: String::new(),
        number: String::new(),
        variant: String::new(),
        kind: id("alternator"),
        mass: None,
        interfaces: interfaces.to_vec(),
        figures: BTreeMap::new(),
        hand: None,
        note: String::new(),
        adapter: None,
        gearing: None,
        tyre: None,
        wheel: None,
        spare_demand: None,
    }
}

fn note(number: usize) -> CompatibilityNote {
    CompatibilityNote {
        name: name("compatibilityNotes", number),
        part: name("parts", number % 10_000),
        other_part: Some(name("parts", (number * 7 + 1) % 10_000)),
        vehicle_kind: None,
        interface_kind: id("connector"),
        finding: NoteFinding::FitsWithWork,
        remedy: "loom".to_owned(),
        remedy_mass_kg: None,
        remedy_hours: None,
        remedy_lead_days: None,
        basis: NoteBasis::Measured,
        found_by: String::new(),
        found_date: None,
        note: String::new(),
    }
}

/// A record of 10,000 parts and 50,000 notes, its vehicle and a substitution.
fn large() -> (Record, Vehicle, Substitution) {
    let mut record = Record::new(Fleet {
        name: Name::new("fleets/bench").expect("a name"),
        display_name: String::new(),
        description: String::new(),
        fluid_densities_kg_per_l: BTreeMap::new(),
        stages: Vec::new(),
    });
    record
        .parts
        .extend((0..10_000).map(|number| (name("parts", number), part(number))));
    record
        .compatibility_notes
        .extend((0..50_000).map(|number| (name("compatibilityNotes", number), note(number))));
    let slot = Slot {
        id: id("alternator"),
        kind: id("alternator"),
        system: VehicleSystem::Electrical,
        position: None,
        requirements: Vec::new(),
    };
    let vehicle = Vehicle {
        name: name("vehicles", 1),
        display_name: String::new(),
        role: String::new(),
        kind: None,
        specification: Specification {
            slots: vec![slot],
            ..Specification::default()
        },
        baseline_weighing: None,
        fitments: BTreeMap::new(),
    };
    let substitution = Substitution {
        name: name("substitutions", 1),
        vehicle: name("vehicles", 1),
        replacements: vec![Replacement {
            slot: id("alternator"),
            outgoing_part: Some(name("parts", 1)),
            incoming_part: name("parts", 5_000),
        }],
        reason: String::new(),
        state: SubstitutionState::Proposed,
        fitted_date: None,
        settlements: Vec::new(),
        supersedes: None,
        note: String::new(),
        life: SubstitutionLife::default(),
    };
    (record, vehicle, substitution)
}

/// One assessment among 10,000 parts and 50,000 notes, the index made anew.
#[divan::bench]
fn assess_among_50000_notes(bencher: Bencher) {
    let (record, vehicle, substitution) = large();
    bencher.bench_local(|| {
        let notes = NoteIndex::new(record.compatibility_notes.values());
        assess_with(
            Vocabulary::standard(),
            &notes,
            &record,
            &vehicle,
            black_box(&substitution),
        )
    });
}

/// The cheapest chain for three interfaces among 10,000 adapters.
#[divan::bench]
fn bridge_among_10000_adapters(bencher: Bencher) {
    let text = |value: usize| InterfaceValue::Text(format!("pattern {value}"));
    let kinds = ["flange", "spline", "mount"];
    let options: Vec<BridgeOption> = (0..10_000)
        .map(|number| BridgeOption {
            display_name: String::new(),
            crossings: vec![Crossing::Replaces {
                kind: id(kinds[number % 3]),
                from: text(number % 2_503),
                to: text(number % 1_009),
            }],
            mass_kg: 1.0,
            hours: (number % 11) as f64,
            lead_days: (number % 20) as f64,
        })
        .collect();
    let gaps = kinds.map(|kind| Gap {
        kind: id(kind),
        offered: text(1),
        required: text(400),
        comparison: Comparison::Equal,
        tolerance: 0.0,
    });
    bencher.bench_local(|| bridge(black_box(&gaps), &options, BridgeCost::default(), 2));
}
