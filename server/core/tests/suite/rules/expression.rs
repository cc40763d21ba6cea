//! Expressions: the language, checked against its interpreter, and hostile text.

use std::collections::BTreeMap;
use std::sync::Arc;

use cel::{Context, Env, Program, Value};
use ostler_core::record::{Fact, Id};
use ostler_core::rules::{Classification, check_pack, classify};
use proptest::prelude::*;

use super::{conditions, id};

/// Whether `when` holds, by the code under test. The pack is `when` and its negation.
fn holds(when: &str, facts: &BTreeMap<Id, Fact>) -> bool {
    let negation = format!("!({when})");
    let checked = check_pack(conditions(&[when, &negation]));
    let checked = match checked {
        Ok(checked) => checked,
        // A condition that is always, or never, true leaves the other unreachable.
        Err(refused) => {
            let fault = &refused.faults[0];
            assert_eq!(
                fault.problem, "never holds, whatever the facts",
                "{when}: {refused}"
            );
            return fault.field.contains("categories[1]");
        }
    };
    match classify(&checked.topic("topic").unwrap(), facts).unwrap() {
        Classification::Determined { category } => &*category == "c0",
        undetermined => panic!("{when}: {undetermined:?}"),
    }
}

/// Whether `when` holds, by the interpreter of the expression language.
fn interpreted(when: &str, facts: &BTreeMap<Id, Fact>) -> bool {
    let env = Env::stdlib();
    let program: Program = env.compile(when).unwrap();
    let mut context = Context::with_env(Arc::new(env));
    for (fact, value) in facts {
        let name = fact.to_string();
        match value {
            Fact::YesNo(value) => context.add_variable_from_value(name, *value),
            Fact::Number(value) => context.add_variable_from_value(name, *value),
            Fact::Text(value) => context.add_variable_from_value(name, value.clone()),
        }
    }
    match program.execute(&context) {
        Ok(Value::Bool(value)) => value,
        other => panic!("{when}: {other:?}"),
    }
}

/// Numbers are halves, so that both ways of computing are exact.
fn number() -> impl Strategy<Value = String> {
    prop_oneof![
        (-8_i32..8).prop_map(|halves| format!("{:.1}", f64::from(halves) / 2.0)),
        Just("lift_mm".to_owned()),
        Just("load_kg".to_owned()),
        (-4_i32..4, Just("load_kg")).prop_map(|(times, fact)| format!("({times}.0 * {fact})")),
        Just("(rating_kg - load_kg)".to_owned()),
        Just("(lift_mm / 2.0 + 1.0)".to_owned()),
        Just("(-rating_kg)".to_owned()),
    ]
}

fn condition() -> impl Strategy<Value = String> {
    let leaf = prop_oneof![
        Just("bolted".to_owned()),
        Just("plumbed".to_owned()),
        Just("true".to_owned()),
        (
            number(),
            prop::sample::select(vec!["==", "!=", "<", "<=", ">", ">="]),
            number()
        )
            .prop_map(|(left, relation, right)| format!("{left} {relation} {right}")),
        Just("fuel == 'diesel'".to_owned()),
        Just("fuel in ['diesel', 'petrol']".to_owned()),
        Just("lift_mm in [1.0, 2.5]".to_owned()),
        Just("[lift_mm, load_kg].exists(x, x > 1.0)".to_owned()),
        Just("[1.0, 2.0].all(x, [bolted, lift_mm > x].exists(y, y))".to_owned()),
    ];
    leaf.prop_recursive(4, 24, 3, |inner| {
        prop_oneof![
            (inner.clone(), inner.clone()).prop_map(|(a, b)| format!("({a}) && ({b})")),
            (inner.clone(), inner.clone()).prop_map(|(a, b)| format!("({a}) || ({b})")),
            (inner.clone(), inner.clone()).prop_map(|(a, b)| format!("({a}) == ({b})")),
            (inner.clone(), inner.clone(), inner.clone())
                .prop_map(|(a, b, c)| format!("({a}) ? ({b}) : ({c})")),
            inner.prop_map(|a| format!("!({a})")),
        ]
    })
    .prop_filter("fits", |text| text.len() < 900)
}

fn known() -> impl Strategy<Value = BTreeMap<Id, Fact>> {
    let half = || (-8_i32..8).prop_map(|halves| f64::from(halves) / 2.0);
    let fuel = prop::sample::select(vec!["diesel", "petrol", "gas"]);
    (any::<bool>(), any::<bool>(), half(), half(), half(), fuel).prop_map(
        |(bolted, plumbed, lift, load, rating, fuel)| {
            super::facts([
                ("bolted", Fact::YesNo(bolted)),
                ("plumbed", Fact::YesNo(plumbed)),
                ("lift_mm", Fact::Number(lift)),
                ("load_kg", Fact::Number(load)),
                ("rating_kg", Fact::Number(rating)),
                ("fuel", Fact::Text(fuel.to_owned())),
            ])
        },
    )
}

proptest! {
    /// The lowered condition says what the language's own interpreter says.
    #[test]
    fn conditions_mean_what_the_language_says(when in condition(), facts in known()) {
        prop_assert_eq!(holds(&when, &facts), interpreted(&when, &facts), "{}", when);
    }

    /// Any text is answered, with a pack or with faults.
    #[test]
    fn any_text_is_answered(when in "\\PC{0,80}") {
        let _ = check_pack(conditions(&[&when]));
    }

    /// Any mixture of the language's own tokens is answered.
    #[test]
    fn any_mixture_of_tokens_is_answered(
        tokens in prop::collection::vec(
            prop::sample::select(vec![
                "(", ")", "[", "]", "{", "}", ",", ".", "?", ":", "!", "-", "+", "*", "/", "%", "&&", "||", "==", "<",
                "in", "bolted", "lift_mm", "fuel", "1", "2.5", "'a'", "\"", "'", "\\", "exists", "all", "map", "has",
                "x", "true", "null", "r'", "b\"", "`", "\n", "//", "1u", "0x1F", "1e400", "size(", "@in",
            ]),
            0..60,
        ),
    ) {
        let _ = check_pack(conditions(&[&tokens.join(" ")]));
        let _ = check_pack(conditions(&[&tokens.concat()]));
    }
}

#[test]
fn whole_numbers_compare_with_number_facts() {
    let facts = super::facts([("lift_mm", Fact::Number(50.0))]);
    assert!(holds("lift_mm <= 50", &facts));
    assert!(holds("lift_mm == 50", &facts));
    assert!(holds("lift_mm / 2 + 1 == 26", &facts));
    assert!(!holds("lift_mm * 2 < 100", &facts));
    let parts = super::facts([("load_kg", Fact::Number(2.0)), ("rating_kg", Fact::Number(3.0))]);
    assert!(holds("3 * load_kg <= 2 * rating_kg", &parts));
    assert_eq!(parts.get(&id("load_kg")), Some(&Fact::Number(2.0)));
}

#[test]
fn hostile_expressions_are_refused_within_bounds() {
    let repeat = |text: &str, times: usize| text.repeat(times);
    let hostile = [
        format!("{}bolted{}", repeat("(", 450), repeat(")", 450)),
        format!("{}bolted", repeat("!", 900)),
        format!("{}1 > 0", repeat("-", 900)),
        format!("{}bolted", repeat("[", 900)),
        format!("bolted{}", repeat("?bolted:bolted", 61)),
        format!("bolted{}", repeat(" in bolted", 90)),
        format!("bolted{}", repeat(".a", 450)),
        format!("lift_mm{} > 1", repeat("+1", 480)),
        vec!["bolted"; 1_000].join(" && "),
        format!("'{}' == fuel", repeat("a", 100_000)),
        format!("lift_mm in [{}]", vec!["1"; 400].join(",")),
        format!("{}bolted{}", repeat("[1].all(x,", 80), repeat(")", 80)),
        "[1,2].all(x,[1,2].all(y,[1,2].all(z,x>y)))".to_owned(),
        "[1,2,3].map(x, [1,2,3].map(y, x * y)).size() > 3".to_owned(),
        format!("fuel.matches('{}')", repeat("(a+)+", 100)),
        "lift_mm > 1e999".to_owned(),
        "lift_mm / 0 > 1".to_owned(),
        "lift_mm > 1e300 * 1e300".to_owned(),
        "r'\\' == fuel || (((((((((((((((((((bolted)))))))))))))))))))".to_owned(),
        "'''a''' == fuel".to_owned(),
        "bolted // '".to_owned(),
        "null == fuel".to_owned(),
        "{'a': 1}.a > 0".to_owned(),
        "lift_mm % 2 == 0".to_owned(),
        "b'a' == fuel".to_owned(),
        "fuel == fuel".to_owned(),
        String::new(),
    ];
    for when in hostile {
        let shown: String = when.chars().take(60).collect();
        let refused = check_pack(conditions(&[&when])).expect_err(&shown);
        assert!(refused.faults.len() <= 200, "{shown}");
        let place = &refused.faults[0];
        assert_eq!(place.field, "topics[0].categories[0].when", "{shown}: {refused}");
        assert!(place.position.is_some(), "{shown}: {refused}");
    }
}

#[test]
fn loops_that_multiply_are_bounded() {
    let list = (0..30)
        .map(|number| number.to_string())
        .collect::<Vec<_>>()
        .join(",");
    let body = ["x > y"; 20].join(" && ");
    let when = format!("[{list}].all(x, [{list}].all(y, {body}))");
    let refused = check_pack(conditions(&[&when])).unwrap_err();
    assert!(
        refused.faults[0].problem.contains("parts when its loops"),
        "{refused}"
    );
    let mut choice = "bolted".to_owned();
    for _ in 0..15 {
        choice = format!("({choice}?bolted:plumbed)");
    }
    let refused = check_pack(conditions(&[&choice])).unwrap_err();
    assert!(
        refused.faults[0].problem.contains("parts when its loops"),
        "{refused}"
    );
}

/// The largest expressions that the bounds let through do not exhaust a small stack.
#[test]
fn the_largest_expressions_fit_a_small_stack() {
    let deep = (0..16).fold("bolted".to_owned(), |inner, _| {
        format!("bolted && !!!!!!({inner})")
    });
    let chained = format!("lift_mm{} > 1", "+1".repeat(119));
    let chosen = format!("bolted{}", "?plumbed:bolted".repeat(60));
    let negated = (0..16).fold("lift_mm".to_owned(), |inner, _| format!("------(1-{inner})")) + " > 0";
    let listed = (0..16).fold("bolted".to_owned(), |inner, _| format!("[{inner}]"));
    let check = || {
        for when in [deep, chained, chosen, negated, listed] {
            let refused = check_pack(conditions(&[&when])).unwrap_err();
            let told = &refused.faults[0].problem;
            assert!(
                told.contains("holds") || told.contains("is a list"),
                "{when}: {refused}"
            );
        }
    };
    let thread = std::thread::Builder::new()
        .stack_size(1 << 20)
        .spawn(check)
        .unwrap();
    thread.join().unwrap();
}
