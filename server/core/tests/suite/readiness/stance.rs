//! The gate of stance: parts on the wrong side, from the record alone.

use ostler_core::answer::Answer;
use ostler_core::record::{Hand, Record};

use super::fixture::{answer, gate, of, ready, worst};
use crate::builder::{fitment, id, name, part, slot, v1_mut};

/// Fits springs made for `left` and `right` on the left and right side.
pub(super) fn springs(record: &mut Record, left: Option<Hand>, right: Option<Hand>) {
    for (side, hand) in [("left", left), ("right", right)] {
        let mut spring = part(&format!("spring-{side}"), None);
        spring.hand = hand;
        record.parts.insert(spring.name.clone(), spring);
        let place = format!("spring.rear.{side}");
        let vehicle = v1_mut(record);
        vehicle.specification.slots.push(slot(&place, 3_000.0));
        let fitted = fitment("v1", &place, &format!("spring-{side}"));
        vehicle.fitments.insert(id(&place), fitted);
    }
}

#[test]
fn springs_on_their_sides_are_met_and_so_are_springs_for_either() {
    for (left, right) in [(Some(Hand::Left), Some(Hand::Right)), (None, None)] {
        let (mut record, departure) = ready();
        springs(&mut record, left, right);
        assert_eq!(answer(&of(&record, &departure), "stance"), Answer::Met);
    }
}

#[test]
fn exchanged_springs_are_found_once_with_both_fitments() {
    let (mut record, departure) = ready();
    springs(&mut record, Some(Hand::Right), Some(Hand::Left));
    let gate = gate(&of(&record, &departure), "stance");
    assert_eq!(gate.answer, Answer::NotMet);
    assert_eq!(gate.findings.len(), 1);
    for side in ["left", "right"] {
        let fitted = name(&format!("vehicles/v1/fitments/spring.rear.{side}"));
        assert!(
            gate.findings[0].records.contains(&fitted),
            "{:?}",
            gate.findings[0]
        );
    }
    assert!(gate.findings[0].remedy.contains("exchange"));
}

#[test]
fn one_spring_on_the_wrong_side_is_not_met() {
    let (mut record, departure) = ready();
    springs(&mut record, Some(Hand::Right), Some(Hand::Right));
    assert_eq!(worst(&of(&record, &departure), "stance").answer, Answer::NotMet);
}

#[test]
fn a_part_that_is_not_on_record_is_not_known() {
    let (mut record, departure) = ready();
    springs(&mut record, Some(Hand::Left), Some(Hand::Right));
    record.parts.remove(&name("parts/spring-left"));
    let finding = worst(&of(&record, &departure), "stance");
    assert_eq!(finding.answer, Answer::NotKnown);
    assert!(!finding.missing.is_empty());
}
