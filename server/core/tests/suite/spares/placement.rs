//! Placement advice.

use ostler_core::spares::placement::{Carrier, PlacementReason, SpareToPlace, advise_placement};
use proptest::prelude::*;

fn carrier(name: &str, convoy_place: u32, margin_kg: Option<f64>) -> Carrier {
    Carrier {
        name: name.to_owned(),
        convoy_place,
        margin_kg,
    }
}

fn spare(mass_kg: f64, copies: u32, users: &[usize]) -> SpareToPlace {
    SpareToPlace {
        name: "spare".to_owned(),
        mass_kg,
        copies,
        users: users.to_vec(),
    }
}

#[test]
fn copies_are_split_and_stay_near_their_users() {
    let vehicles = [
        carrier("V1", 1, Some(50.0)),
        carrier("V2", 2, Some(100.0)),
        carrier("V3", 3, Some(80.0)),
        carrier("V4", 4, Some(200.0)),
    ];
    let advice = advise_placement(&[spare(10.0, 3, &[0, 2])], &vehicles).unwrap();
    let rides: Vec<_> = advice
        .placements
        .iter()
        .map(|placement| placement.vehicle)
        .collect();
    // The user with more margin, the other user, then beside a user with the most margin (V4 has 200 kg).
    assert_eq!(rides, [2, 0, 3]);
    assert_eq!(
        advice.placements[0].reasons,
        [PlacementReason::RidesWithUser, PlacementReason::MostMargin]
    );
    assert_eq!(
        advice.placements[1].reasons,
        [
            PlacementReason::SplitFromOtherCopies,
            PlacementReason::RidesWithUser
        ]
    );
    assert_eq!(
        advice.placements[2].reasons[1],
        PlacementReason::PlacesFromUser(1)
    );
    assert!(advice.unplaced.is_empty() && advice.not_split.is_empty());
}

#[test]
fn no_room_is_said() {
    let vehicles = [
        carrier("V1", 1, Some(25.0)),
        carrier("V2", 2, Some(5.0)),
        carrier("V3", 3, None),
    ];
    let advice = advise_placement(&[spare(10.0, 4, &[1])], &vehicles).unwrap();
    assert_eq!(advice.unplaced, [(0, 2)]);
    assert_eq!(advice.not_split, [0]);
    assert_eq!(advice.margin_not_known, [2]);
    assert_eq!(advice.placements[1].reasons[0], PlacementReason::AllHaveACopy);
    let refused = advise_placement(&[spare(0.0, 20_000, &[7])], &vehicles).unwrap_err();
    let fields: Vec<_> = refused
        .violations
        .iter()
        .map(|violation| violation.field.as_str())
        .collect();
    assert_eq!(fields, ["spares[0].mass_kg", "spares[0].users", "spares"]);
}

proptest! {
    #[test]
    fn nothing_is_lost_and_no_margin_exceeded(
        margins in prop::collection::vec(prop::option::of(0.0..100.0_f64), 1..6),
        spares in prop::collection::vec((0.5..40.0_f64, 0..5_u32, 0..6_usize), 0..10),
    ) {
        let vehicles: Vec<_> = (1..).zip(&margins).map(|(place, margin_kg)| carrier("", place, *margin_kg)).collect();
        let spares: Vec<_> =
            spares.iter().map(|(mass_kg, copies, user)| spare(*mass_kg, *copies, &[user % vehicles.len()])).collect();
        let advice = advise_placement(&spares, &vehicles).unwrap();
        for (index, spare) in spares.iter().enumerate() {
            let placed = advice.placements.iter().filter(|placement| placement.spare == index).count() as u32;
            let left = advice.unplaced.iter().find(|(unplaced, _)| *unplaced == index).map_or(0, |(_, copies)| *copies);
            prop_assert_eq!(placed + left, spare.copies);
        }
        for (index, margin_kg) in margins.iter().enumerate() {
            let aboard_kg: f64 = advice.placements.iter().filter(|placement| placement.vehicle == index)
                .map(|placement| spares[placement.spare].mass_kg).sum();
            match margin_kg {
                None => prop_assert_eq!(aboard_kg, 0.0),
                Some(margin_kg) => {
                    prop_assert!(aboard_kg <= margin_kg + 1e-9);
                    prop_assert!((advice.margin_left_kg[index].unwrap() - (margin_kg - aboard_kg)).abs() < 1e-9);
                }
            }
        }
    }
}
