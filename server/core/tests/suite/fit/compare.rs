//! Comparing values.

use ostler_core::fit::{Match, ValueType, Vocabulary, compare};
use ostler_core::record::{Comparison, InterfaceValue};
use proptest::prelude::*;

use super::fixture::{circle, count, mm, number, plug, ratio, text, thread};

fn equal(required: &InterfaceValue, offered: &InterfaceValue) -> Match {
    compare(required, offered, Comparison::Equal, 0.0)
}

#[test]
fn texts_and_threads_compare_without_regard_to_spelling() {
    assert_eq!(
        equal(&text("60 degree cone"), &text(" 60  Degree Cone")),
        Match::Matches
    );
    assert_eq!(equal(&plug("3-pin oval"), &plug("3-pin  OVAL")), Match::Matches);
    for same in ["m14x1.5", "M14 x 1.5", "M14 × 1,50"] {
        assert_eq!(equal(&thread("M14x1.5"), &thread(same)), Match::Matches, "{same}");
    }
    for other in ["M14x2", "M12x1.5", "M14x1.5 LH", "14x1.5"] {
        assert_eq!(
            equal(&thread("M14x1.5"), &thread(other)),
            Match::Mismatch,
            "{other}"
        );
    }
    // Coarse pitch of M12, 1.75 mm: ISO 261, from memory, not verified.
    assert_eq!(equal(&thread("M12"), &thread("M12x1.75")), Match::Matches);
    assert_eq!(equal(&thread("M12"), &thread("M12x1.5")), Match::Mismatch);
}

#[test]
fn bolt_circles_compare_in_all_they_state() {
    let required = circle(4, 90.0, "M10");
    assert_eq!(equal(&required, &circle(4, 90.0, "M10x1.5")), Match::Matches);
    assert_eq!(equal(&required, &circle(4, 90.0, "M11")), Match::Mismatch);
    assert_eq!(equal(&required, &circle(4, 95.0, "M10")), Match::Mismatch);
    assert_eq!(equal(&required, &circle(6, 90.0, "M10")), Match::Mismatch);
    assert_eq!(equal(&required, &circle(4, 90.0, "")), Match::NotKnown);
    assert_eq!(
        equal(&circle(4, 90.0, ""), &circle(4, 90.0, "M10")),
        Match::Matches
    );
    assert_eq!(equal(&required, &circle(6, 90.0, "")), Match::Mismatch);
}

#[test]
fn decimal_figures_are_not_told_apart_by_their_rounding() {
    assert_eq!(equal(&mm(0.3), &mm(0.1 + 0.2)), Match::Matches);
    assert_eq!(
        compare(&mm(806.0), &mm(802.0), Comparison::Equal, 4.0),
        Match::Matches
    );
    assert_eq!(
        compare(&mm(806.0), &mm(802.0), Comparison::Equal, 3.999),
        Match::Mismatch
    );
}

#[test]
fn every_kind_of_a_checklist_is_in_the_vocabulary() {
    let vocabulary = Vocabulary::standard();
    assert_eq!(vocabulary.kinds().count(), 53);
    assert_eq!(vocabulary.checklists().count(), 19);
    for (slot_kind, checklist) in vocabulary.checklists() {
        assert!(!checklist.interface_kinds.is_empty(), "{slot_kind}");
        for kind in &checklist.interface_kinds {
            assert!(vocabulary.kind(kind).is_some(), "{slot_kind}: {kind}");
        }
    }
    for (kind, known) in vocabulary.kinds() {
        assert!(
            known.question.ends_with('?') && !known.measuring.is_empty(),
            "{kind}"
        );
    }
}

fn numeric() -> impl Strategy<Value = fn(f64) -> InterfaceValue> {
    prop::sample::select(vec![mm as fn(f64) -> InterfaceValue, ratio, number])
}

proptest! {
    /// Equality is symmetric and holds of a value with itself; at least and at most mirror each other; a
    /// wider tolerance never turns a match into a mismatch.
    #[test]
    fn numbers_compare_consistently(make in numeric(), a in -1e4..1e4_f64, b in -1e4..1e4_f64, t in 0.0..1e3_f64) {
        let (left, right) = (make(a), make(b));
        prop_assert_eq!(equal(&left, &left), Match::Matches);
        prop_assert_eq!(
            compare(&left, &right, Comparison::Equal, t),
            compare(&right, &left, Comparison::Equal, t)
        );
        prop_assert_eq!(
            compare(&left, &right, Comparison::AtLeast, t),
            compare(&right, &left, Comparison::AtMost, t)
        );
        for comparison in [Comparison::Equal, Comparison::AtLeast, Comparison::AtMost] {
            if compare(&left, &right, comparison, t) == Match::Matches {
                prop_assert_eq!(compare(&left, &right, comparison, 2.0 * t), Match::Matches);
            }
        }
    }

    /// Values of two types are never taken for one another.
    #[test]
    fn types_are_kept_apart(a in 0..6_usize, b in 0..6_usize) {
        let values = [mm(1.0), ratio(1.0), number(1.0), count(1), text("1"), thread("1")];
        let incomparable = compare(&values[a], &values[b], Comparison::Equal, 0.0) == Match::Incomparable;
        prop_assert_eq!(incomparable, ValueType::of(&values[a]) != ValueType::of(&values[b]));
    }
}
