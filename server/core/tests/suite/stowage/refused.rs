//! Questions that are refused, with every violation.

use ostler_core::stowage::{Ban, OwnPlace, Unwatched, margins, solve};

use super::{convoy, items, options, place, vehicle};

fn fields(refused: &ostler_core::check::InvalidInput) -> Vec<&str> {
    refused
        .violations
        .iter()
        .map(|violation| violation.field.as_str())
        .collect()
}

#[test]
fn all_violations_are_named() {
    let mut question = convoy(
        vec![vehicle("v1", 800.0, 1_000.0), vehicle("v1", 800.0, f64::NAN)],
        items(&[1.0, -1.0, f64::INFINITY]),
    );
    question.vehicles[0].wheelbase_mm = 0.0;
    question.vehicles[0].states[0].consumed_share_left = 1.5;
    question.vehicles[0].states[0].zones_kg.clear();
    question.vehicles[1].states.clear();
    question.items[0].now = Some(place(0, 7));
    question.items[1].pinned = true;
    question.items[2].bans = vec![Ban::Vehicle(9), Ban::Zone(0, 3)];
    question.groups = vec![vec![0, 1], vec![1, 5]];
    let mut wrong = options(u64::MAX);
    wrong.give_up_share = 2.0;
    let refused = solve(&question, &wrong, &Unwatched).unwrap_err();
    assert_eq!(
        fields(&refused),
        [
            "vehicles[0].wheelbase_mm",
            "vehicles[0].states[0].consumed_share_left",
            "vehicles[0].states[0].zones_kg",
            "vehicles[1].name",
            "vehicles[1].gross_mass_kg",
            "vehicles[1].front_axle_rating_kg",
            "vehicles[1].rear_axle_rating_kg",
            "vehicles[1].states",
            "items[0].now",
            "items[1].mass_kg",
            "items[1].pinned",
            "items[2].mass_kg",
            "items[2].bans[0]",
            "items[2].bans[1]",
            "groups[1][0]",
            "groups[1][1]",
            "options.give_up_share",
            "options.steps_max",
        ]
    );
}

#[test]
fn places_to_judge_must_be_places() {
    let question = convoy(vec![vehicle("v1", 800.0, 1_000.0)], items(&[1.0]));
    assert_eq!(fields(&margins(&question, &[]).unwrap_err()), ["places"]);
    let mut nowhere = place(0, 0);
    nowhere.own = Some(OwnPlace {
        x_mm: f64::NAN,
        y_mm: 0.0,
    });
    assert_eq!(
        fields(&margins(&question, &[nowhere]).unwrap_err()),
        ["items[0].now.own.x_mm"]
    );
}
