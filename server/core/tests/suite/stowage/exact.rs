//! Cases with a known best answer.

use ostler_core::answer::Answer;
use ostler_core::loads::LimitedLoad;
use ostler_core::stowage::{Ban, Limit, Unwatched, solve};

use super::{add_zone, convoy, items, options, place, vehicle, zone};
use crate::builder::name;

const TOTAL: Limit = Limit::Load(LimitedLoad::Total);

/// Graham's worst case of longest-first on m equal machines: two jobs each of 2m-1, 2m-2, ..., m+1 and three
/// of m, for which longest-first needs 4m-1 and the best schedule 3m (R. L. Graham, "Bounds on
/// multiprocessing timing anomalies", SIAM J. Appl. Math. 17, 1969; from memory, the sum checked by hand).
/// With m = 3: 5, 5, 4, 4, 3, 3, 3 on three machines, best 9 (5+4, 5+4, 3+3+3), longest-first 11. As kilograms on
/// three vehicles of 100 kg with nothing else aboard: the smallest margin is at best (100 - 9) / 100.
#[test]
fn the_worst_case_of_longest_first_is_solved() {
    for m in [3_usize, 4] {
        let mut masses_kg: Vec<f64> = (m + 1..2 * m).flat_map(|mass| [mass as f64; 2]).collect();
        masses_kg.extend([m as f64; 3]);
        let vehicles = (0..m).map(|index| vehicle(&format!("v{index}"), 0.0, 100.0));
        let found = solve(
            &convoy(vehicles.collect(), items(&masses_kg)),
            &options(50_000),
            &Unwatched,
        )
        .unwrap();
        let wanted = (100.0 - 3.0 * m as f64) / 100.0;
        assert_eq!(found.answer, Answer::Met);
        assert!((found.smallest_margin.unwrap() - wanted).abs() < 1e-9, "m = {m}");
        assert!(found.gap.unwrap() < 1e-6);
    }
}

/// 60, 50 and 40 kg into two vehicles with 1,000 kg of gross mass and 800 and 850 kg aboard. By hand: all in the
/// first is 950 (5 %), 60 + 50 there 910 and 890 (9 %), 60 + 40: 900 and 900 (10 %), 50 + 40: 890 and 910
/// (9 %). Split as one likes, 1,800 kg on 2,000 leave 10 %, so 10 % is the best.
#[test]
fn three_boxes_are_split_as_by_hand() {
    let question = convoy(
        vec![vehicle("v1", 800.0, 1_000.0), vehicle("v2", 850.0, 1_000.0)],
        items(&[60.0, 50.0, 40.0]),
    );
    let found = solve(&question, &options(2_000), &Unwatched).unwrap();
    assert!((found.smallest_margin.unwrap() - 0.1).abs() < 1e-12);
    assert_eq!(found.places, [place(0, 0), place(1, 0), place(0, 0)]);
    assert_eq!(found.smallest_margin_now, None);
    assert_eq!((found.moves.len(), found.moved_mass_kg), (3, 150.0));
    // Both gross masses are what holds the bound.
    assert_eq!(found.held_by.len(), 2);
    assert!(found.held_by.iter().all(|limit| limit.limit == TOTAL));
}

/// A kilogram at 3,300 mm on a wheelbase of 3,000 mm puts 1.1 kg on the rear axle. With 600 kg of 700 there, 50 kg
/// make 655 (6.43 %), in the middle 625 (10.71 %), over the front axle 600 (14.29 %); 600 kg of 660 in front then
/// are 650 (1.5 %), in the middle 625 (5.3 %), at the back 595 (9.85 %). The best of the smaller: 6.43 % at the
/// back against 5.3 % in the middle and 1.5 % in front.
#[test]
fn one_box_goes_where_both_axles_bear_it_best() {
    let mut v1 = vehicle("v1", 1_200.0, 10_000.0);
    (v1.front_axle_rating_kg, v1.rear_axle_rating_kg) = (660.0, 700.0);
    add_zone(&mut v1, zone("front", 0.0));
    add_zone(&mut v1, zone("back", 3_300.0));
    let mut question = convoy(vec![v1], items(&[50.0]));
    question.items[0].now = Some(place(0, 0));
    let found = solve(&question, &options(1_000), &Unwatched).unwrap();
    assert!((found.smallest_margin_now.unwrap() - 35.0 / 660.0).abs() < 1e-12);
    assert!((found.smallest_margin.unwrap() - 45.0 / 700.0).abs() < 1e-12);
    let binding = found.binding.unwrap();
    assert_eq!(binding.limit.limit, Limit::Load(LimitedLoad::RearAxle));
    assert!((binding.base - 600.0).abs() < 1e-9);
    assert_eq!(binding.items[0].cargo_item, name("cargoItems/c0"));
    assert!((binding.items[0].load - 55.0).abs() < 1e-9);
    assert_eq!(&*found.moves[0].to_zone, "back");
}

/// Of two placements with the same smallest margin, the one that moves less: v1 is over by 20 kg; 30 kg moved do
/// it as well as 100 kg moved and 70 kg moved back would.
#[test]
fn as_little_as_possible_is_moved() {
    let mut question = convoy(
        vec![
            vehicle("v1", 800.0, 1_000.0),
            vehicle("v2", 900.0, 1_000.0),
            vehicle("v3", 980.0, 1_000.0),
        ],
        items(&[100.0, 70.0, 30.0, 30.0]),
    );
    for (item, vehicle) in [(0, 0), (1, 0), (2, 0), (3, 1)] {
        question.items[item].now = Some(place(vehicle, 0));
    }
    // v3 stays at 2 %, so 2 % is the best there is.
    let found = solve(&question, &options(20_000), &Unwatched).unwrap();
    assert!((found.smallest_margin.unwrap() - 0.02).abs() < 1e-12);
    assert_eq!((found.moves.len(), found.moved_mass_kg), (1, 30.0));
    assert_eq!(
        (&found.moves[0].cargo_item, &found.moves[0].to_vehicle),
        (&name("cargoItems/c2"), &name("vehicles/v2"))
    );
    assert_eq!(found.binding.unwrap().limit.vehicle, name("vehicles/v3"));
    assert_eq!(found.held_by.len(), 1);
}

#[test]
fn what_cannot_be_kept_is_named() {
    // 300 kg into two vehicles with 100 kg left each; a third that bans them all is no help.
    let mut question = convoy(
        vec![
            vehicle("v1", 900.0, 1_000.0),
            vehicle("v2", 900.0, 1_000.0),
            vehicle("v3", 100.0, 1_000.0),
        ],
        items(&[100.0, 100.0, 100.0]),
    );
    question
        .items
        .iter_mut()
        .for_each(|item| item.bans.push(Ban::Vehicle(2)));
    let found = solve(&question, &options(5_000), &Unwatched).unwrap();
    assert_eq!(found.answer, Answer::NotMet);
    assert!(found.moves.is_empty());
    // Whole boxes: two in one of them, 1,100 kg, 10 % too much.
    assert!((found.margin_bound.unwrap() - -0.1).abs() < 1e-9);
    let vehicles: Vec<_> = found.held_by.iter().map(|limit| &limit.vehicle).collect();
    assert_eq!(vehicles, [&name("vehicles/v1"), &name("vehicles/v2")]);
    assert!(found.held_by.iter().all(|limit| limit.limit == TOTAL));

    // Two whole boxes of 100 kg fit nowhere together with 60 kg left in each of three: proven by trying all.
    let vehicles = (1..=3)
        .map(|index| vehicle(&format!("v{index}"), 920.0, 1_000.0))
        .collect();
    let found = solve(
        &convoy(vehicles, items(&[100.0, 100.0])),
        &options(5_000),
        &Unwatched,
    )
    .unwrap();
    assert_eq!(found.answer, Answer::NotMet);
    assert!((found.margin_bound.unwrap() - -0.02).abs() < 1e-9);

    question.items[1].bans = (0..3).map(Ban::Vehicle).collect();
    let found = solve(&question, &options(1_000), &Unwatched).unwrap();
    assert_eq!(found.answer, Answer::NotMet);
    assert_eq!(found.without_place, [name("cargoItems/c1")]);
    assert!(found.places.is_empty());
}

/// A limit of 0 is kept or not, and an axle must not lift.
#[test]
fn limits_without_a_margin_are_kept() {
    let mut v1 = vehicle("v1", 100.0, 1_000.0);
    add_zone(&mut v1, zone("far-back", 9_000.0));
    v1.zones[0].limit_kg = Some(0.0);
    let question = convoy(vec![v1], items(&[10.0, 10.0]));
    // Each 10 kg at three wheelbases take 20 kg off the front axle's 50 kg: two take 40 kg, which leaves 10 kg.
    let found = solve(&question, &options(1_000), &Unwatched).unwrap();
    assert_eq!(found.answer, Answer::Met);
    assert_eq!(found.places, [place(0, 1), place(0, 1)]);
    // Three would lift it.
    let mut more = question;
    more.items = items(&[10.0, 10.0, 10.0]);
    let found = solve(&more, &options(1_000), &Unwatched).unwrap();
    assert_eq!(found.answer, Answer::NotMet);
    assert_eq!(found.margin_bound, None);
    let ids: Vec<_> = found.held_by.iter().map(|limit| limit.limit.id()).collect();
    assert_eq!(ids, ["front_axle_down", "zone middle"]);
}

#[test]
fn nothing_to_place_is_answered_too() {
    let found = solve(
        &convoy(vec![vehicle("v1", 900.0, 1_000.0)], Vec::new()),
        &options(1_000),
        &Unwatched,
    );
    let found = found.unwrap();
    assert_eq!((found.answer, found.moves.len()), (Answer::Met, 0));
    assert!((found.smallest_margin.unwrap() - 0.1).abs() < 1e-12);
    assert!(found.binding.unwrap().items.is_empty());
    let found = solve(&convoy(Vec::new(), Vec::new()), &options(1_000), &Unwatched).unwrap();
    assert_eq!((found.answer, found.smallest_margin), (Answer::Met, None));
}
