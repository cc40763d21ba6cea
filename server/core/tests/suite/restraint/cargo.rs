//! Restraint as the record holds it: stated capacities of the invented convoy's 121 cargo lines, lashings beside
//! them, and the lashing that closes a shortfall.

use ostler_core::record::{ClosingLashing, Policy, Restraint, RestraintStandard};
use ostler_core::restraint::recorded::asked;
use ostler_core::restraint::{
    Assessment, Direction, Factors, Geometry, HeldThing, LashingGroup, Lead, Ratings, Remedy, Standard,
    Verdict, assess_held,
};
use ostler_core::units::STANDARD_GRAVITY_M_PER_S2;

/// Line, pieces, mass of one piece in kg, forward capacity in kgf.
const LINES: &str = "
    C001 1 6.5 60; C002 1 3.2 20; C003 1 14.0 80; C004 1 8.5 80; C005 1 46.0 120; C006 1 24.0 100;
    C007 1 24.0 100; C008 1 11.0 60; C009 1 9.0 40; C010 1 18.0 80; C011 1 14.0 80; C012 2 9.5 15;
    C013 2 16.0 200; C014 1 17.0 60; C015 1 8.0 40; C016 1 5.5 30; C017 1 22.0 100; C018 1 13.5 40;
    C019 1 9.0 60; C020 1 9.8 60; C021 1 28.0 120; C022 1 42.0 80; C023 1 22.0 80; C024 1 16.0 80;
    C025 1 12.0 60; C026 1 9.0 60; C027 1 11.0 10; C028 2 3.2 20; C029 1 4.5 8; C030 1 8.0 30;
    C031 1 30.0 150; C032 1 9.5 60; C033 1 8.0 60; C034 1 7.5 60; C035 1 7.0 200; C036 1 6.0 60;
    C037 1 8.0 60; C038 1 5.0 60; C039 1 9.0 60; C040 1 13.0 100; C041 1 39.0 80; C042 1 39.0 80;
    C043 1 11.0 60; C044 1 19.0 100; C045 1 8.0 40; C046 1 12.0 60; C047 1 37.0 110; C048 1 23.0 80;
    C049 1 14.0 80; C050 1 17.0 80; C051 1 9.0 40; C052 1 31.0 200; C053 2 15.0 200; C054 1 9.5 60;
    C055 1 3.0 15; C056 2 3.2 20; C057 1 5.5 40; C058 1 6.0 6; C059 1 3.5 30; C060 1 9.0 80;
    C061 1 27.0 250; C062 1 27.0 250; C063 4 6.0 80; C064 1 33.0 250; C065 1 36.0 110; C066 2 21.0 80;
    C067 1 13.0 80; C068 2 13.5 80; C069 3 9.5 20; C070 3 16.0 25; C071 1 41.0 80; C072 1 29.0 200;
    C073 4 2.6 40; C074 1 9.0 60; C075 1 21.0 100; C076 1 8.0 40; C077 1 17.0 60; C078 1 13.5 40;
    C079 1 8.0 40; C080 1 18.0 80; C081 1 13.0 60; C082 1 4.0 40; C083 1 6.0 40; C084 1 14.0 60;
    C085 1 9.0 8; C086 2 3.2 20; C087 1 6.5 30; C088 1 3.5 20; C089 1 58.0 30; C090 1 19.0 250;
    C091 1 24.0 150; C092 1 46.0 800; C093 1 43.0 120; C094 1 37.6 60; C095 1 92.0 300; C096 1 49.0 250;
    C097 1 18.0 100; C098 1 104.0 400; C099 1 104.0 250; C100 1 62.0 400; C101 1 26.0 100; C102 1 22.0 100;
    C103 1 31.0 120; C104 1 17.0 120; C105 1 18.0 120; C106 3 19.0 250; C107 1 21.5 250; C108 1 68.0 300;
    C109 2 27.0 150; C110 1 19.0 100; C111 1 41.0 250; C112 1 36.0 250; C113 6 21.5 250; C114 1 34.0 250;
    C115 1 19.5 60; C116 2 17.0 60; C117 1 33.0 250; C118 1 14.0 80; C119 2 14.5 60; C120 1 13.0 60;
    C121 1 15.0 60;
";

/// The invented convoy states its own shortfalls at 0.8 forward: C012 15.2 of 15 kgf, C069 22.8 of 20, C070 38.4 of 25,
/// C089 46.4 of 30, and no other.
#[test]
fn exactly_the_four_stated_shortfalls_are_found() {
    let mut short = Vec::new();
    let lines: Vec<&str> = LINES
        .split(';')
        .map(str::trim)
        .filter(|line| !line.is_empty())
        .collect();
    assert_eq!(lines.len(), 121);
    for line in lines {
        let words: Vec<&str> = line.split(' ').collect();
        let [id, pieces, unit_mass_kg, capacity_kgf] = words[..] else {
            panic!("{line}")
        };
        let capacity_kgf: f64 = capacity_kgf.parse().unwrap();
        let mass_kg = pieces.parse::<f64>().unwrap() * unit_mass_kg.parse::<f64>().unwrap();
        let found = by_policy(mass_kg, &bolted(capacity_kgf * STANDARD_GRAVITY_M_PER_S2), None);
        let forward = row(&found, Direction::Forward);
        let required_kgf = forward.required_n / STANDARD_GRAVITY_M_PER_S2;
        if forward.shortfall_n > 0.0 {
            short.push((id, (required_kgf * 1e6).round() / 1e6, capacity_kgf));
        }
        // The other directions ask for less, and the same capacity holds there.
        let other_short = found
            .rows
            .iter()
            .any(|row| row.direction != Direction::Forward && row.verdict != Verdict::Held);
        assert!(!other_short, "{id}");
    }
    assert_eq!(
        short,
        [
            ("C012", 15.2, 15.0),
            ("C069", 22.8, 20.0),
            ("C070", 38.4, 25.0),
            ("C089", 46.4, 30.0)
        ]
    );
}

#[test]
fn an_exact_capacity_is_no_shortfall_and_an_unknown_one_no_answer() {
    let exact = by_policy(0.3, &bolted(0.8 * 0.3 * STANDARD_GRAVITY_M_PER_S2), None);
    assert_eq!(exact.verdict, Verdict::Held);
    let unknown = by_policy(10.0, &Restraint::default(), None);
    assert_eq!(unknown.verdict, Verdict::NotKnown);
    let forward_only = Restraint {
        capacity_forward_n: Some(1_000.0),
        ..Restraint::default()
    };
    let found = by_policy(10.0, &forward_only, None);
    assert_eq!(found.verdict, Verdict::NotKnown);
    assert_eq!(row(&found, Direction::Forward).verdict, Verdict::Held);
    assert_eq!(row(&found, Direction::Rearward).verdict, Verdict::NotKnown);
    assert_eq!(
        row(&found, Direction::Rearward).missing,
        ["restraint.capacity_rearward_n"]
    );
}

/// What is missing or refused is named by its field in the record and the API.
#[test]
fn fields_are_those_of_the_record() {
    let over = LashingGroup {
        name: "over".to_owned(),
        count: 1,
        ratings: Ratings::default(),
        geometry: Geometry::TieDown {
            angle_to_deck_deg: 60.0,
        },
    };
    let lashed = Restraint {
        lashings: vec![over],
        capacity_upward_n: Some(f64::INFINITY),
        ..Restraint::default()
    };
    let standard = Standard::australian_guide_2018();
    let thing = |mass_kg, restraint| HeldThing {
        mass_kg,
        mass_uncertainty_kg: 0.0,
        restraint,
    };
    let refused = assess_held(&thing(10.0, &lashed), &standard, None, None).unwrap_err();
    assert_eq!(refused.violations[0].field, "restraint.capacity_upward_n");
    let lashed = Restraint {
        capacity_upward_n: None,
        ..lashed.clone()
    };
    let found = assess_held(&thing(10.0, &lashed), &standard, None, None).unwrap();
    let missing = &row(&found, Direction::Forward).missing;
    assert_eq!(missing, &["restraint.friction"], "{found:?}");
    let with_friction = Restraint {
        friction: Some(0.4),
        ..lashed.clone()
    };
    let found = assess_held(&thing(10.0, &with_friction), &standard, None, None).unwrap();
    let missing = &row(&found, Direction::Forward).missing;
    assert_eq!(missing, &["restraint.lashings[0].ratings.tension_n"], "{found:?}");
    let refused = assess_held(&thing(0.0, &with_friction), &standard, Some(-1.0), None).unwrap_err();
    let fields: Vec<&str> = refused.violations.iter().map(|one| one.field.as_str()).collect();
    assert_eq!(fields, ["mass_kg", "gross_mass_kg"]);
}

/// 100 kg short of everything: 0.8 x 100 x 9.80665 = 784.5 N forward. A direct lashing of 300 N at 60 degrees
/// gives 150 N level and 259.8 N upward: 6 for forward, 4 for 490.3 N to the others, 1 for 196.1 N upward
/// (own calculation).
#[test]
fn a_closing_lashing_counts_itself_against_each_direction() {
    let closing = ClosingLashing {
        name: "strap".to_owned(),
        ratings: Ratings {
            lashing_capacity_n: Some(300.0),
            ..Ratings::default()
        },
        angle_to_deck_deg: 60.0,
    };
    let restraint = bolted(0.0);
    let found = by_policy(100.0, &restraint, Some(&closing));
    assert_eq!(found.verdict, Verdict::Short);
    for (direction, further) in [
        (Direction::Forward, 6),
        (Direction::Rearward, 4),
        (Direction::Left, 4),
        (Direction::Right, 4),
        (Direction::Upward, 1),
    ] {
        let closing = &row(&found, direction).closing;
        assert_eq!(closing.len(), 1, "{direction:?}");
        assert_eq!(closing[0].remedy, Remedy::Further(further), "{direction:?}");
    }
    let mut steep = closing.clone();
    steep.angle_to_deck_deg = 91.0;
    let refused = assess_held(&thing(100.0, &restraint), &policy(), None, Some(&steep)).unwrap_err();
    assert_eq!(refused.violations[0].field, "closing_lashing.angle_to_deck_deg");
}

#[test]
fn lashings_hold_beside_what_is_stated_and_need_the_friction_they_rely_on() {
    let lashed = Restraint {
        friction: None,
        lashings: vec![LashingGroup {
            name: "tie-down".to_owned(),
            count: 2,
            ratings: Ratings {
                lashing_capacity_n: Some(20_000.0),
                tension_n: Some(3_000.0),
                ..Ratings::default()
            },
            geometry: Geometry::TieDown {
                angle_to_deck_deg: 60.0,
            },
        }],
        ..Restraint::default()
    };
    let found = by_policy(100.0, &lashed, None);
    assert_eq!(found.verdict, Verdict::NotKnown);
    let known = Restraint {
        friction: Some(0.3),
        ..lashed.clone()
    };
    assert_eq!(by_policy(100.0, &known, None).verdict, Verdict::Held);
    // Bolted forward as well: only more, never less.
    let both = Restraint {
        capacity_forward_n: Some(500.0),
        ..known.clone()
    };
    let forward_n = |restraint| row(&by_policy(100.0, restraint, None), Direction::Forward).provided_n;
    assert!((forward_n(&both) - forward_n(&known) - 500.0).abs() < 1e-9);
}

/// 49 CFR 393.106(d) asks for the working load limits of tie-downs; what is bolted has none to ask for.
#[test]
fn the_aggregate_is_asked_of_lashings_only() {
    let us = Standard::us_49_cfr_393();
    let bolted = bolted(1_000.0);
    let found = assess_held(&thing(50.0, &bolted), &us, None, None).unwrap();
    assert!(found.aggregate.is_none() && found.count.is_none());
    let lashed = Restraint {
        lashings: vec![LashingGroup {
            name: "chain".to_owned(),
            count: 1,
            ratings: Ratings::default(),
            geometry: Geometry::Direct {
                lead: Lead::from_angles(30.0, 180.0),
            },
        }],
        ..bolted
    };
    let found = assess_held(&thing(50.0, &lashed), &us, None, None).unwrap();
    assert!(found.aggregate.is_some() && found.count.is_some());
}

#[test]
fn a_policy_asks_by_its_standard_and_by_its_multiples_and_says_what_is_missing() {
    assert_eq!(asked(&Policy::default()).missing.len(), 4);
    let named = Policy {
        restraint_standard: Some(RestraintStandard::En12195Part1Of2010),
        ..Policy::default()
    };
    let by_standard = asked(&named);
    assert!(by_standard.missing.is_empty());
    assert_eq!(by_standard.standards[0].id, "en-12195-1-2010");
    let both = Policy {
        restraint_forward_g: Some(0.8),
        restraint_rearward_g: Some(0.5),
        restraint_sideways_g: Some(0.5),
        restraint_up_g: Some(0.2),
        ..named.clone()
    };
    assert_eq!(asked(&both).standards.len(), 2);
    let part = Policy {
        restraint_up_g: None,
        ..both
    };
    assert_eq!(asked(&part).missing, ["the policy's restraint_up_g"]);
}

fn bolted(capacity_n: f64) -> Restraint {
    crate::builder::held_by(capacity_n)
}

fn policy() -> Standard {
    let factors = Factors {
        forward: 0.8,
        rearward: 0.5,
        sideways: 0.5,
        upward: 0.2,
    };
    Standard::policy(factors, "invented")
}

fn thing(mass_kg: f64, restraint: &Restraint) -> HeldThing<'_> {
    HeldThing {
        mass_kg,
        mass_uncertainty_kg: 0.0,
        restraint,
    }
}

fn by_policy(mass_kg: f64, restraint: &Restraint, closing: Option<&ClosingLashing>) -> Assessment {
    assess_held(&thing(mass_kg, restraint), &policy(), None, closing).unwrap()
}

fn row(assessment: &Assessment, direction: Direction) -> &ostler_core::restraint::Row {
    assessment
        .rows
        .iter()
        .find(|row| row.direction == direction)
        .unwrap()
}
