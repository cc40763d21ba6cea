//! Lists there and back, and what is wrong with faulty ones.

use ostler_core::record::Name;
use ostler_proto::v1;
use proptest::prelude::*;

use super::columns::headings;
use super::{read, write};

fn fleet() -> Name {
    Name::new("fleets/orrin").unwrap()
}

fn heading() -> String {
    headings().collect::<Vec<_>>().join(",")
}

fn faults(list: &str) -> Vec<(String, String)> {
    let refused = read(list.as_bytes(), &fleet()).unwrap_err();
    refused
        .violations
        .into_iter()
        .map(|violation| (violation.field, violation.problem))
        .collect()
}

#[test]
fn a_line_holds_an_item() {
    let list = format!(
        "\u{feff}{}\r\nc021,tool roll A,v1,cargo-rear,2,28,weighed,0.1,3050,100,650,tools,drawer,1176.8,,true,,v3 v4,\r\n",
        heading()
    );
    let rows = read(list.as_bytes(), &fleet()).unwrap();
    assert_eq!(&*rows[0].name, "fleets/orrin/cargoItems/c021");
    assert_eq!(rows[0].line, 2);
    assert_eq!(
        rows[0].item,
        v1::CargoItem {
            display_name: "tool roll A".to_owned(),
            vehicle: "fleets/orrin/vehicles/v1".to_owned(),
            zone: "cargo-rear".to_owned(),
            quantity: 2,
            unit_mass: Some(v1::Mass {
                mass_kg: 28.0,
                provenance: v1::MassProvenance::Weighed.into(),
                tolerance_kg: Some(0.1)
            }),
            position: Some(v1::Position {
                x_mm: 3050.0,
                y_mm: 100.0,
                z_mm: Some(650.0)
            }),
            category: "tools".to_owned(),
            restraint: Some(v1::Restraint {
                method: "drawer".to_owned(),
                capacity_forward_n: Some(1176.8),
                ..v1::Restraint::default()
            }),
            critical: true,
            shared_with: vec![
                "fleets/orrin/vehicles/v3".to_owned(),
                "fleets/orrin/vehicles/v4".to_owned()
            ],
            ..v1::CargoItem::default()
        }
    );
    assert_eq!(
        rows[0].violation("position.x_mm", "is wrong").problem,
        "line 2, column 9: is wrong"
    );
}

#[test]
fn every_fault_is_found_with_its_line_and_column() {
    let list = format!(
        "{}\nC1,,V1,z,1.5,x,heard,,1,,,,,-1,yes,,,v1 V2,\nc2,tent,,,1,,weighed,,,,,,,,,,,,\nc3,tent,,,1\nc2,tent,,,1,,,,,,,,,,,,,,\n",
        heading()
    );
    let found = faults(&list);
    let expected = [
        ("cargo_list[0].id", "line 2, column 1: must be an id"),
        ("cargo_list[0].display_name", "line 2, column 2: must be set"),
        (
            "cargo_list[0].vehicle",
            "line 2, column 3: must be the id of a vehicle, is \"V1\"",
        ),
        (
            "cargo_list[0].quantity",
            "line 2, column 5: must be a whole number, is \"1.5\"",
        ),
        ("cargo_list[0].unit_mass_kg", "line 2, column 6: must be a number"),
        (
            "cargo_list[0].mass_provenance",
            "line 2, column 7: must be one of weighed",
        ),
        ("cargo_list[0].y_mm", "line 2, column 10: must be set where"),
        (
            "cargo_list[0].restraint_capacity_forward_n",
            "line 2, column 14: must be a number from 0",
        ),
        ("cargo_list[0].consumed", "line 2, column 15: must be `true`"),
        (
            "cargo_list[0].shared_with",
            "line 2, column 18: must be the id of a vehicle",
        ),
        (
            "cargo_list[1].unit_mass_kg",
            "line 3, column 6: must be set where",
        ),
        ("cargo_list[2].id", "line 4, column 1: must have 19 cells"),
        (
            "cargo_list[3].id",
            "line 5, column 1: c2 stands a second time; the first is on line 3",
        ),
    ];
    assert_eq!(found.len(), expected.len(), "{found:#?}");
    for ((field, problem), (expected_field, start)) in found.iter().zip(expected) {
        assert_eq!(field, expected_field);
        assert!(problem.starts_with(start), "{problem}");
    }
}

#[test]
fn wrong_columns_are_named_with_the_nearest() {
    let list = format!(
        "{},colour\n",
        heading()
            .replace("quantity", "quantiy")
            .replace(",zone", ",vehicle")
    );
    let found = faults(&list);
    assert!(
        found[0]
            .1
            .contains("column 4: the column `vehicle` stands a second time"),
        "{found:#?}"
    );
    assert!(found[1].1.contains("did you mean `quantity`?"), "{found:#?}");
    assert!(found[2].1.contains("\"colour\" is no column"), "{found:#?}");
    assert!(
        found[3].1.contains("lacks the columns zone, quantity"),
        "{found:#?}"
    );
    assert!(
        faults(&heading().replace(',', ";"))[1]
            .1
            .contains("separated by commas")
    );
    let not_utf8 = [heading().as_bytes(), b"\nc1,\xff,,,1,,,,,,,,,,,,,,\n"].concat();
    let refused = read(&not_utf8, &fleet()).unwrap_err();
    assert_eq!(refused.violations[0].problem, "line 2: cell 2 is not UTF-8");
}

#[test]
fn formulas_stay_texts() {
    for text in [
        "=1+1", "+x", "-x", "@x", "\tx", "'=1", "''=1", "'plain", "plain", "'",
    ] {
        let item = v1::CargoItem {
            display_name: text.to_owned(),
            quantity: 1,
            ..v1::CargoItem::default()
        };
        let name = Name::new("fleets/orrin/cargoItems/c1").unwrap();
        let list = write(&[(name, item)]).unwrap();
        let cell = csv::Reader::from_reader(list.as_slice())
            .into_records()
            .next()
            .unwrap()
            .unwrap()[1]
            .to_owned();
        assert!(!cell.starts_with(['=', '+', '-', '@', '\t']), "{cell:?}");
        assert_eq!(read(&list, &fleet()).unwrap()[0].item.display_name, text);
    }
}

fn any_item() -> impl Strategy<Value = v1::CargoItem> {
    let text = || "[ -~ä\n\t]{0,20}";
    let number = || -1000.0..5000.0_f64;
    (
        ("[!-~=+@'-][ -~ä\n\t]{0,20}", text(), text(), text()),
        (
            1..1000_i32,
            proptest::option::of((0.0..1e4_f64, 1..4_i32, proptest::option::of(0.0..10.0_f64))),
        ),
        proptest::option::of((number(), number(), proptest::option::of(number()))),
        proptest::option::of(0.0..1e6_f64),
        proptest::collection::vec("v[0-9]", 0..3),
        any::<[bool; 3]>(),
    )
        .prop_map(
            |(
                (display_name, category, method, hazard),
                (quantity, mass),
                position,
                capacity,
                shared,
                yes,
            )| {
                let name = |id: &String| format!("fleets/orrin/vehicles/{id}");
                v1::CargoItem {
                    display_name,
                    vehicle: shared.first().map(name).unwrap_or_default(),
                    zone: "cargo-rear".to_owned(),
                    quantity,
                    unit_mass: mass.map(|(mass_kg, provenance, tolerance_kg)| v1::Mass {
                        mass_kg,
                        provenance,
                        tolerance_kg,
                    }),
                    position: position.map(|(x_mm, y_mm, z_mm)| v1::Position { x_mm, y_mm, z_mm }),
                    category,
                    restraint: (!method.is_empty() || capacity.is_some()).then_some(v1::Restraint {
                        method,
                        capacity_forward_n: capacity,
                        ..v1::Restraint::default()
                    }),
                    consumed: yes[0],
                    critical: yes[1],
                    hazard,
                    shared_with: shared.iter().map(name).collect(),
                    pinned: yes[2],
                    ..v1::CargoItem::default()
                }
            },
        )
}

#[test]
fn what_the_list_has_no_column_for_stays() {
    let list = format!("{}\nc1,tent,,,1,,,,,,,,net,50,,,,,\n", heading());
    let rows = read(list.as_bytes(), &fleet()).unwrap();
    let stored = v1::CargoItem {
        display_name: "old".to_owned(),
        restraint: Some(v1::Restraint {
            method: "strap".to_owned(),
            capacity_forward_n: Some(10.0),
            capacity_upward_n: Some(7.0),
            ..v1::Restraint::default()
        }),
        spare_wheel: Some(v1::SpareWheel::default()),
        stowage_terms: Some(v1::StowageTerms {
            not_on_roof: true,
            ..v1::StowageTerms::default()
        }),
        ..v1::CargoItem::default()
    };
    let item = rows[0].over(&stored);
    assert_eq!(item.spare_wheel, stored.spare_wheel);
    assert_eq!(item.stowage_terms, stored.stowage_terms);
    assert_eq!(item.display_name, "tent");
    let restraint = item.restraint.unwrap();
    assert_eq!(
        (
            restraint.method.as_str(),
            restraint.capacity_forward_n,
            restraint.capacity_upward_n
        ),
        ("net", Some(50.0), Some(7.0))
    );
}

proptest! {
    #[test]
    fn items_come_back(items in proptest::collection::vec(any_item(), 0..8)) {
        let named: Vec<(Name, v1::CargoItem)> = items
            .into_iter()
            .enumerate()
            .map(|(index, item)| (Name::new(format!("fleets/orrin/cargoItems/c{index}")).unwrap(), item))
            .collect();
        let list = write(&named).unwrap();
        let back: Vec<(Name, v1::CargoItem)> =
            read(&list, &fleet()).unwrap().into_iter().map(|row| (row.name, row.item)).collect();
        prop_assert_eq!(back, named);
    }

    #[test]
    fn no_bytes_panic(bytes in proptest::collection::vec(any::<u8>(), 0..300), text in "[a-z,;\"'\n\r =0-9.]{0,300}") {
        let _ = read(&bytes, &fleet());
        let _ = read(text.as_bytes(), &fleet());
        let _ = read(format!("{}\n{text}", heading()).as_bytes(), &fleet());
    }
}
