//! What is written reads back the same.

use proptest::prelude::*;

use super::super::{read, write};
use super::random;
use super::{content, file, read_text};

#[test]
fn a_file_is_written_for_a_person() {
    let text = "fleet_file: 1
fleet:
  id: orrin
  display_name: Orrin
  fluid_densities: [{fluid: diesel, density_kg_per_l: 0.84}]
parts:
  gearbox-a:
    display_name: gearbox, five-speed
    kind: gearbox
    mass: {mass_kg: 112, provenance: catalogue, tolerance_kg: 2}
    interfaces:
      - {kind: input_spline_count, count: 21}
      - {kind: output_flange.rear, bolt_circle: {count: 4, circle_mm: 90, thread: M10}}
      - {kind: parking_brake}
    figures: {first_gear_ratio: 4.31}
vehicles:
  v1:
    display_name: \"lead: communications\"
    specification:
      wheelbase_mm: 2850
      tanks:
        - {id: t1a, fluid: diesel, mounting: fixed, capacity_l: 93, position: {x_mm: 1950, y_mm: 0, z_mm: 520}}
    baseline_weighing: wb-1
    fitments:
      clutch: {part: clutch-a, fitted_date: 2026-01-01}
      gearbox:
        part: gearbox-a
        fitted_date: 2026-01-01
        facts: {by: \"yes\", check: null, torqued: true}
weighings:
  wb-1:
    vehicle: v1
    weighed_date: 2027-03-18
    axles: {front_kg: 1378, rear_kg: 1340}
    fitted_parts: {gearbox: null}
";
    let read = read_text(text);
    assert_eq!(String::from_utf8(write(&read)).unwrap(), text);
}

#[test]
fn the_order_of_a_file_does_not_matter() {
    let one = read_text(&file(
        "parts:\n  b: {display_name: x, kind: k}\n  a: {kind: k, display_name: x}\n",
    ));
    let other = read_text(&file(
        "parts:\n  a: {display_name: x, kind: k}\n  b: {display_name: x, kind: k}\n",
    ));
    assert_eq!(write(&one), write(&other));
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, ..ProptestConfig::default() })]

    #[test]
    fn any_fleet_comes_back(seed in any::<u64>()) {
        let fleet = random::fleet(seed);
        let text = write(&fleet);
        let back = match read(&text) {
            Ok(back) => back,
            Err(refused) => return Err(TestCaseError::fail(format!("{refused}\n{}", String::from_utf8_lossy(&text)))),
        };
        prop_assert!(content(&back) == content(&fleet), "{}", String::from_utf8_lossy(&text));
        prop_assert_eq!(write(&back), text);
    }
}
