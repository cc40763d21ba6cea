//! Hostile rule packs take little memory and few steps, whatever they ask for.
//!
//! A binary of its own, because its allocator counts what every thread of it holds. Steps are not timed here: that every
//! case ends at all is the test, for without the bounds some would run for hours; `benches/disciplines` times the worst.

#![expect(clippy::unwrap_used, reason = "the helpers of tests fail by panicking")]

use std::collections::BTreeMap;

use ostler_core::record::{
    Date, FactDeclaration, FactType, Id, Name, RuleCategory, RuleGate, RulePack, RuleSource, RuleTopic,
};
use ostler_core::rules::{check_pack, classify, smallest_changes};
use peak_alloc::PeakAlloc;

#[global_allocator]
static ALLOCATED: PeakAlloc = PeakAlloc;

/// Most that any of it may hold at once beyond the pack itself, MiB.
const MEMORY_MAX_MIB: f32 = 64.0;

/// A topic of categories by their conditions.
fn topic(topic: usize, conditions: &[String]) -> RuleTopic {
    let category = |(index, when): (usize, &String)| RuleCategory {
        id: Id::new(format!("c{index}")).unwrap(),
        display_name: "category".to_owned(),
        when: when.clone(),
        demands: Vec::new(),
        source: RuleSource {
            text: "test".to_owned(),
            seen: "invented".to_owned(),
        },
    };
    RuleTopic {
        id: Id::new(format!("t{topic}")).unwrap(),
        display_name: "topic".to_owned(),
        gate: RuleGate::Rules,
        categories: conditions.iter().enumerate().map(category).collect(),
    }
}

/// A pack of `topics` equal topics over the yes-or-no facts `f0` to `f199`, less the last ten, which are numbers.
fn pack(topics: usize, conditions: &[String]) -> RulePack {
    let fact = |index: usize| FactDeclaration {
        id: Id::new(format!("f{index}")).unwrap(),
        fact_type: if index < 190 {
            FactType::YesNo
        } else {
            FactType::Number
        },
        question: "Which?".to_owned(),
        from_record: None,
    };
    RulePack {
        name: Name::new("fleets/test/rulePacks/hostile").unwrap(),
        display_name: "Hostile".to_owned(),
        jurisdiction: "Nowhere".to_owned(),
        version: "1".to_owned(),
        effective_date: Date::constant(2027, 1, 1),
        facts: (0..200).map(fact).collect(),
        topics: (0..topics).map(|index| topic(index, conditions)).collect(),
        caution: String::new(),
    }
}

/// Conditions of one fact each, so that all but one category are those of a chain: `f0`, `!f0 && f1`, …
fn chain(facts: usize) -> Vec<String> {
    let none_before = |fact: usize| (0..fact).map(|before| format!("!f{before}")).collect::<Vec<_>>();
    let mut conditions: Vec<String> = (0..facts)
        .map(|fact| {
            let mut parts = none_before(fact);
            parts.push(format!("f{fact}"));
            parts.join(" && ")
        })
        .collect();
    conditions.push(none_before(facts).join(" && "));
    conditions
}

/// Checks a pack, and uses it with no fact known; returns the most memory held meanwhile, MiB, and whether it was sound.
fn peak_of(pack: RulePack) -> (f32, bool) {
    ALLOCATED.reset_peak_usage();
    let before = ALLOCATED.current_usage_as_mb();
    let sound = match check_pack(pack) {
        Err(refused) => {
            assert!(refused.faults.len() <= 200);
            false
        }
        Ok(checked) => {
            let facts = BTreeMap::new();
            for topic in checked.topics() {
                classify(&topic, &facts).unwrap();
                smallest_changes(&topic, &facts).unwrap();
            }
            true
        }
    };
    (ALLOCATED.peak_usage_as_mb() - before, sound)
}

/// What it is, how many topics of which conditions, and whether the pack is sound.
type Hostile = (&'static str, usize, Vec<String>, bool);

fn hostile_packs() -> Vec<Hostile> {
    let repeated = |part: &str, times: usize, joint: &str| vec![part; times].join(joint);
    let alternatives = |facts: usize| (0..facts).map(|fact| format!("f{fact}")).collect::<Vec<_>>();
    let thresholds: Vec<String> = (0..50)
        .map(|index| {
            let parts = (0..30)
                .map(|at| format!("f190>{}", index * 100 + at))
                .collect::<Vec<_>>();
            parts.join("||")
        })
        .collect();
    let sums: Vec<String> = (0..40)
        .map(|index| format!("f190+{index}*f191+f192-f193*0.{index}1>{index}"))
        .collect();
    vec![
        ("a chain of 14 facts is sound", 1, chain(14), true),
        (
            "a chain of 40 facts tells too many cases apart",
            1,
            chain(40),
            false,
        ),
        (
            "200 topics of 14 facts take too many steps",
            200,
            chain(14),
            false,
        ),
        (
            "every fact in one condition",
            1,
            vec![alternatives(60).join(" || "), alternatives(60).join(" && ")],
            false,
        ),
        ("thousands of thresholds", 1, thresholds, false),
        ("sums over each other", 1, sums, false),
        (
            "long texts",
            200,
            vec![format!("'{}' == '{}'", repeated("x", 400, ""), repeated("y", 400, "")); 50],
            false,
        ),
        (
            "deep brackets",
            200,
            vec![format!("{}f0{}", repeated("(", 300, ""), repeated(")", 300, "")); 50],
            false,
        ),
        (
            "loops in loops",
            50,
            vec![format!("[{0}].all(x,[{0}].all(y,x>y))", repeated("1", 32, ",")); 50],
            false,
        ),
        (
            "chains of choices",
            50,
            vec![format!("f0{}", "?f1:f2".repeat(60)); 50],
            false,
        ),
        (
            "the same condition 50 times",
            200,
            vec![alternatives(17).join(" || "); 50],
            false,
        ),
    ]
}

#[test]
fn hostile_packs_are_bounded_in_memory_and_steps() {
    for (what, topics, conditions, sound) in hostile_packs() {
        let (peak_mib, was_sound) = peak_of(pack(topics, &conditions));
        println!("{what}: {peak_mib:.1} MiB");
        assert!(peak_mib < MEMORY_MAX_MIB, "{what}: {peak_mib} MiB");
        assert_eq!(was_sound, sound, "{what}");
    }
}
