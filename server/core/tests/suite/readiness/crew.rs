//! A departure without its people: what is computed from loads is then not known, however well it reads.

use ostler_core::answer::Answer;

use super::fixture::{answer, of, ready, worst};

const OF_LOADS: [&str; 6] = ["masses", "axles", "wheels", "underside", "stability", "tyres"];

#[test]
fn without_crew_no_gate_of_loads_is_known() {
    let (record, mut departure) = ready();
    let before = of(&record, &departure);
    departure.crew.clear();
    let after = of(&record, &departure);
    for gate in OF_LOADS {
        assert_eq!(answer(&before, gate), Answer::Met, "{gate}");
        assert_eq!(answer(&after, gate), Answer::NotKnown, "{gate}");
        let missing = worst(&after, gate).missing.join("; ");
        assert!(
            missing.contains("the departure names no crew"),
            "{gate}: {missing}"
        );
    }
}
