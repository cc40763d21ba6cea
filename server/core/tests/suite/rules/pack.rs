//! What a pack is refused for, and where the fault is said to be.

use super::jurisdiction::orrin_basin;
use super::{category, conditions, evidence_of, fact, pack, small_facts, topic};
use ostler_core::record::{Demand, DemandKind, FactType};
use ostler_core::rules::{PackFault, Position, check_pack};

fn faults(when: &[&str]) -> Vec<PackFault> {
    check_pack(conditions(when)).unwrap_err().faults
}

#[test]
fn the_invented_jurisdiction_is_proven_complete() {
    let checked = check_pack(orrin_basin()).unwrap_or_else(|refused| panic!("{refused}"));
    assert_eq!(checked.topics().count(), 11);
}

#[test]
fn every_fault_is_told_with_its_path_and_place() {
    let told = faults(&["bolted &&\n plumed", "lift_mm > 'a'", "fuel"]);
    let places: Vec<_> = told
        .iter()
        .map(|fault| (fault.field.as_str(), fault.position))
        .collect();
    let at = |line, column| Some(Position { line, column });
    assert_eq!(
        places,
        [
            ("topics[0].categories[0].when", at(2, 2)),
            ("topics[0].categories[1].when", at(1, 11)),
            ("topics[0].categories[2].when", at(1, 1)),
        ]
    );
    assert_eq!(
        told[0].problem,
        "uses `plumed`, which is not a declared fact; did you mean `plumbed`?"
    );
    assert_eq!(told[1].problem, "must be a number, is a text");
    assert_eq!(told[2].problem, "must be a condition, is a text");
}

#[test]
fn all_faults_of_one_expression_are_told() {
    let told = faults(&["bolted + 1 > 2 && nowhere && lift_mm * load_kg > 3"]);
    assert_eq!(told.len(), 3, "{told:?}");
}

#[test]
fn a_syntax_error_has_its_place() {
    let told = faults(&["bolted && ", "true"]);
    assert!(
        told[0].position.is_some_and(|position| position.column >= 10),
        "{told:?}"
    );
}

#[test]
fn overlaps_and_gaps_come_with_an_example() {
    let told = faults(&["lift_mm <= 50", "lift_mm >= 50 && bolted"]);
    let problems: Vec<_> = told.iter().map(|fault| fault.problem.as_str()).collect();
    assert_eq!(
        problems,
        [
            "none holds for bolted = no, lift_mm = 51",
            "`c0`, `c1` all hold for bolted = yes, lift_mm = 50"
        ]
    );
    assert!(told.iter().all(|fault| fault.field == "topics[0].categories"));
}

#[test]
fn numbers_are_real() {
    let told = faults(&["lift_mm <= 2", "lift_mm >= 3"]);
    assert_eq!(told[0].problem, "none holds for lift_mm = 2.5");
}

#[test]
fn gaps_of_sums_are_shown_by_facts_that_produce_them() {
    assert!(
        check_pack(conditions(&[
            "load_kg <= 0.5 * rating_kg",
            "load_kg > 0.5 * rating_kg"
        ]))
        .is_ok()
    );
    let told = faults(&["load_kg < 0.5 * rating_kg", "load_kg > 0.5 * rating_kg"]);
    assert_eq!(told[0].problem, "none holds for load_kg = 100, rating_kg = 200");
}

#[test]
fn unreachable_categories_are_refused() {
    let told = faults(&["bolted", "!bolted", "bolted && !bolted"]);
    assert_eq!(told[0].field, "topics[0].categories[2].when");
    assert_eq!(told[0].problem, "never holds, whatever the facts");
}

#[test]
fn ids_twice_no_categories_and_unusable_facts_are_refused_together() {
    let mut declared = small_facts();
    declared.push(fact("bolted", FactType::Text));
    declared.push(fact("roof-load", FactType::Number));
    declared.push(fact("in", FactType::Number));
    let refused = Demand {
        kind: DemandKind::NotAllowed,
        carried: true,
        ..evidence_of("paper")
    };
    let doubled = vec![
        category("same", "bolted", vec![evidence_of("paper"), evidence_of("paper")]),
        category("same", "!bolted", vec![refused]),
    ];
    let made = pack(declared, vec![topic("a", doubled), topic("a", Vec::new())]);
    let fields: Vec<String> = check_pack(made)
        .unwrap_err()
        .faults
        .into_iter()
        .map(|fault| fault.field)
        .collect();
    assert_eq!(
        fields,
        [
            "facts[6].id",
            "facts[7].id",
            "facts[8].id",
            "topics[1].id",
            "topics[0].categories[1].id",
            "topics[0].categories[0].demands[1].id",
            "topics[0].categories[1].demands[0]",
            "topics[1].categories",
        ]
    );
}

#[test]
fn what_cannot_be_proven_complete_is_refused() {
    let many: Vec<_> = (0..20)
        .map(|index| fact(&format!("f{index}"), FactType::YesNo))
        .collect();
    let all = (0..20)
        .map(|index| format!("f{index}"))
        .collect::<Vec<_>>()
        .join(" && ");
    let categories = vec![
        category("yes", &all, vec![]),
        category("no", &format!("!({all})"), vec![]),
    ];
    let told = check_pack(pack(many, vec![topic("a", categories)]))
        .unwrap_err()
        .faults;
    assert!(told[0].problem.contains("1048576 cases"), "{told:?}");
}
