//! Handed parts found on the wrong side from the record.

use ostler_core::stance::handed::{Hand, SidedFitment, parts_on_wrong_side};
use ostler_core::stance::vehicle::Side;

#[test]
fn handed_parts_on_the_wrong_side_are_found_from_the_record() {
    let fitment = |place: &str, side, part: &str, hand| SidedFitment {
        place: place.to_owned(),
        side,
        part: part.to_owned(),
        hand,
    };
    let findings = parts_on_wrong_side(&[
        fitment("spring.front", Side::Left, "front coil", Hand::Either),
        fitment(
            "spring.rear",
            Side::Left,
            "rear coil -R",
            Hand::Handed(Side::Right),
        ),
        fitment(
            "spring.rear",
            Side::Right,
            "rear coil -L",
            Hand::Handed(Side::Left),
        ),
        fitment("mirror", Side::Left, "mirror", Hand::NotKnown),
        fitment("lamp", Side::Left, "lamp R", Hand::Handed(Side::Right)),
        fitment("lamp", Side::Right, "lamp R", Hand::Handed(Side::Right)),
    ]);
    let wrong: Vec<_> = findings
        .wrong_side
        .iter()
        .map(|wrong| (wrong.fitment, wrong.exchange_with))
        .collect();
    assert_eq!(wrong, [(1, Some(2)), (2, Some(1)), (4, None)]);
    assert_eq!(findings.hand_not_known, [3]);
    assert_eq!(
        findings.wrong_side[0].explanation,
        "rear coil -R belongs on the right and is recorded on the left of spring.rear; exchange with rear coil -L, \
         which is on the wrong side too"
    );
}
