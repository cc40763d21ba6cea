//! The spares of a convoy, given and from the record.

use ostler_core::record::{
    Comparison, Hand, Interface, InterfaceValue, Record, Requirement, SpareContent, SpareDemand, SpareNeed,
    SparesPolicy,
};
use ostler_core::spares::advice::advise;
use ostler_core::spares::convoy::{NotCounted, SpareAboard, SparesInput, convoy_cover};
use ostler_core::spares::demand::{DemandRate, FittedPart, Interchange, RateProvenance};
use ostler_core::spares::placement::Carrier;
use ostler_core::spares::recorded::departure_spares;
use proptest::prelude::*;

use super::close;
use crate::builder::{add_vehicle, add_way, departure, going, id, kg, name, part, record, vehicle, weighing};

fn fitted(need: &str, vehicle: &str, part: &str, mean: f64) -> FittedPart {
    FittedPart {
        need: need.to_owned(),
        vehicle: vehicle.to_owned(),
        part: part.to_owned(),
        quantity: 1,
        rate: Some(DemandRate::PerDay { per_day: mean }),
        provenance: Some(RateProvenance::Published("a book".to_owned())),
        distance_km: None,
        days: Some(1.0),
    }
}

fn aboard(part: &str, pieces: u32, serves: &[Option<bool>]) -> SpareAboard {
    SpareAboard {
        name: part.to_owned(),
        part: part.to_owned(),
        carrier: None,
        pieces,
        mass_kg: Some(1.0),
        serves: serves.to_vec(),
    }
}

/// The worked case of the suite of kits: A 1.0 of 2 kg, B 0.5 of 1 kg, C 2.0 of 5 kg.
fn worked() -> SparesInput {
    SparesInput {
        fitted: vec![
            fitted("a", "v1", "A", 1.0),
            fitted("b", "v1", "B", 0.5),
            fitted("c", "v2", "C", 2.0),
        ],
        part_mass_kg: vec![Some(2.0), Some(1.0), Some(5.0)],
        carriers: ["v1", "v2"]
            .into_iter()
            .zip(1..)
            .map(|(name, convoy_place)| Carrier {
                name: name.to_owned(),
                convoy_place,
                margin_kg: Some(100.0),
            })
            .collect(),
        ..SparesInput::default()
    }
}

#[test]
fn the_worked_frontier_comes_out_of_the_whole() {
    // Own calculation of the method (marginal analysis); no published worked example was found.
    let wanted = [
        ("B", 0.393_47, 1.0, 3.1065),
        ("A", 0.316_06, 3.0, 2.4744),
        ("C", 0.172_93, 8.0, 1.6097),
        ("A", 0.132_12, 10.0, 1.3455),
        ("C", 0.118_80, 15.0, 0.7515),
        ("B", 0.090_20, 16.0, 0.6613),
        ("C", 0.064_66, 21.0, 0.3380),
        ("A", 0.040_15, 23.0, 0.2577),
    ];
    let input = SparesInput {
        mass_budget_kg: Some(23.0),
        ..worked()
    };
    let cover = convoy_cover(&input).unwrap();
    close(cover.cover.as_ref().unwrap().expected_backorders, 3.5, 1e-12);
    let frontier = advise(&input, &cover).unwrap().frontier.unwrap();
    assert_eq!(frontier.steps.len(), wanted.len());
    for (step, (spare, gain_per_kg, mass_kg, expected_backorders)) in frontier.steps.iter().zip(wanted) {
        assert_eq!(cover.pools[step.spare].spare, spare);
        close(step.gain_per_kg, gain_per_kg, 5e-6);
        close(step.mass_kg, mass_kg, 1e-9);
        close(step.expected_backorders, expected_backorders, 5e-5);
    }
}

#[test]
fn additions_go_on_from_what_is_aboard_until_the_chance_is_reached() {
    let mut input = worked();
    input.aboard = vec![aboard("A", 2, &[Some(true), Some(false), Some(false)])];
    input.cover_min = Some(0.5);
    let cover = convoy_cover(&input).unwrap();
    // .9197 x .6065 x .1353 (tables).
    close(cover.cover.as_ref().unwrap().no_stock_out, 0.0755, 5e-5);
    let names: Vec<&str> = cover
        .additions
        .iter()
        .map(|step| cover.pools[step.spare].spare.as_str())
        .collect();
    // Two A are there already: the order of the worked frontier without its first two A. Chances by the tables: .113
    // after B, .9197 x .9098 x .4060 = .340 after C, .9197 x .9098 x .6767 = .566 after the second.
    assert_eq!(names, ["B", "C", "C"]);
    close(cover.additions.last().unwrap().no_stock_out, 0.5663, 5e-4);
}

#[test]
fn a_pool_shares_its_spares() {
    // Two vehicles, mean 1 each: one spare for both covers P(X <= 1) at mean 2; apart .7358 x .3679 (tables).
    let mut input = SparesInput {
        fitted: vec![fitted("a", "v1", "A", 1.0), fitted("a", "v2", "B", 1.0)],
        part_mass_kg: vec![Some(3.0), Some(2.0)],
        findings: vec![Interchange {
            first: 0,
            second: 1,
            fits: true,
        }],
        aboard: vec![aboard("A", 1, &[Some(true), Some(true)])],
        ..SparesInput::default()
    };
    let cover = convoy_cover(&input).unwrap();
    assert_eq!(cover.pools.len(), 1);
    close(cover.cover.as_ref().unwrap().no_stock_out, 0.4060, 5e-5);
    assert_eq!(
        (cover.pools[0].spare.as_str(), cover.pools[0].spare_mass_kg),
        ("B", Some(2.0))
    );
    input.findings[0].fits = false;
    input.aboard[0].serves[1] = Some(false);
    let apart = convoy_cover(&input).unwrap();
    assert_eq!(apart.pools.len(), 2);
    close(apart.cover.unwrap().no_stock_out, 0.7358 * 0.3679, 5e-5);
    input.findings.clear();
    let unknown = convoy_cover(&input).unwrap();
    assert_eq!(unknown.not_known, [(0, 1)]);
}

#[test]
fn what_does_not_serve_all_of_a_pool_counts_as_nothing() {
    let input = |serves: [Option<bool>; 2]| SparesInput {
        fitted: vec![fitted("a", "v1", "A", 1.0), fitted("a", "v2", "A", 1.0)],
        part_mass_kg: vec![None, None],
        aboard: vec![aboard("X", 3, &serves)],
        ..SparesInput::default()
    };
    for (serves, why) in [
        ([Some(true), Some(false)], NotCounted::ServesSome),
        ([Some(true), None], NotCounted::ServesSome),
        ([None, Some(false)], NotCounted::NotKnown),
        ([Some(false), Some(false)], NotCounted::ServesNone),
    ] {
        let cover = convoy_cover(&input(serves)).unwrap();
        assert_eq!(cover.not_counted, [(0, why)]);
        assert_eq!(cover.pools[0].aboard, 0);
    }
    let cover = convoy_cover(&input([Some(true), Some(true)])).unwrap();
    assert_eq!(cover.pools[0].aboard, 3);
    assert!(cover.pools[0].all_in_one_vehicle);
}

#[test]
fn a_piece_that_serves_two_pools_counts_once_where_it_helps_most() {
    let mut input = worked();
    input.aboard = vec![aboard("any", 3, &[Some(true), Some(false), Some(true)])];
    let cover = convoy_cover(&input).unwrap();
    // P(X > s) by the tables: C .8647, A .6321, C .5940, before C .3233 and A .2642.
    assert_eq!(
        cover.pools.iter().map(|pool| pool.aboard).collect::<Vec<_>>(),
        [1, 0, 2]
    );
    assert_eq!(
        cover
            .allotments
            .iter()
            .map(|allotment| allotment.pieces)
            .sum::<u32>(),
        3
    );
}

#[test]
fn copies_ride_apart_and_with_those_who_need_them() {
    let mut input = SparesInput {
        fitted: vec![fitted("a", "v1", "A", 1.0), fitted("a", "v2", "A", 1.0)],
        part_mass_kg: vec![Some(4.0); 2],
        aboard: vec![SpareAboard {
            carrier: Some(0),
            ..aboard("A", 2, &[Some(true), Some(true)])
        }],
        ..worked()
    };
    let placed = |input: &SparesInput| {
        let cover = convoy_cover(input).unwrap();
        let advice = advise(input, &cover).unwrap();
        let mut vehicles: Vec<usize> = advice
            .placement
            .unwrap()
            .placements
            .iter()
            .map(|placed| placed.vehicle)
            .collect();
        vehicles.sort_unstable();
        vehicles
    };
    assert_eq!(placed(&input), [0, 1]);
    // Without room in the second both stay in the first, which holds them now.
    input.carriers[0].margin_kg = Some(6.0);
    input.carriers[1].margin_kg = Some(3.0);
    assert_eq!(placed(&input), [0, 0]);
    input.carriers[1].margin_kg = None;
    assert_eq!(placed(&input), [0, 0]);
}

#[test]
fn what_is_out_of_range_is_named() {
    let mut input = worked();
    input.cover_min = Some(f64::NAN);
    input.aboard = vec![aboard("A", 1, &[Some(true)])];
    input.part_mass_kg.pop();
    let refused = convoy_cover(&input).unwrap_err().to_string();
    for field in ["cover_min", "aboard[0].serves", "part_mass_kg"] {
        assert!(refused.contains(field), "{field}: {refused}");
    }
}

/// A second vehicle, with a gearbox of its own in a slot that asks for a spline of 24 teeth, as that of the first does.
fn two_vehicles(teeth: Option<i64>) -> (Record, ostler_core::record::Departure) {
    let mut record = record();
    let mut departure = departure();
    add_way(&mut departure);
    add_vehicle(&mut record, vehicle("v2"), weighing("v2"));
    departure.vehicles.push(going("v2", Vec::new()));
    let mut other = part("other-box", Some(kg(70.0, 1.0)));
    let spline = |teeth: Option<i64>| Interface {
        kind: id("input_spline_count"),
        value: teeth.map(InterfaceValue::Count),
    };
    other.interfaces = vec![spline(teeth)];
    record.parts.insert(other.name.clone(), other);
    let new = record.parts.get_mut(&name("parts/new-box")).unwrap();
    new.interfaces = vec![spline(Some(24))];
    for vehicle in record.vehicles.values_mut() {
        let slot = &mut vehicle.specification.slots[0];
        // A kind without a checklist: only the spline is asked about.
        slot.kind = id("test-slot");
        slot.requirements = vec![Requirement {
            interface: spline(Some(24)),
            comparison: Comparison::Equal,
            tolerance: 0.0,
            essential: Some(true),
        }];
    }
    let second = record.vehicles.get_mut(&name("vehicles/v2")).unwrap();
    let fitment = second.fitments.values_mut().next().unwrap();
    fitment.part = Some(name("parts/other-box"));
    for part in record.parts.values_mut() {
        part.kind = id("test-slot");
        part.spare_demand = Some(SpareDemand {
            rate: DemandRate::PerDistance {
                per_100_000_km: 100.0,
            },
            provenance: None,
        });
    }
    let crate_of = record.cargo_items.get_mut(&name("cargoItems/crate")).unwrap();
    crate_of.spares = vec![SpareContent {
        part: name("parts/new-box"),
        pieces: 2,
    }];
    departure.policy.spares = Some(SparesPolicy {
        needs: vec![SpareNeed {
            slot_kind: id("test-slot"),
            demand: None,
            importance: 1.0,
        }],
        cover_min: Some(0.5),
        mass_budget_kg: None,
    });
    (record, departure)
}

#[test]
fn the_record_pools_what_its_interfaces_say_interchanges() {
    for (teeth, pools, not_known) in [(Some(24), 1, 0), (Some(21), 2, 0), (None, 2, 1)] {
        let (record, departure) = two_vehicles(teeth);
        let found = departure_spares(&record, &departure);
        assert_eq!(found.missing, Vec::<String>::new());
        let cover = found.cover.unwrap();
        assert_eq!(
            (cover.pools.len(), cover.not_known.len()),
            (pools, not_known),
            "{teeth:?}"
        );
        // Two crates of two pieces, which serve the slots of both vehicles. 220 driven km at 100 per 100,000 km: 0.22 for each.
        assert_eq!(cover.pools.iter().map(|pool| pool.aboard).sum::<u32>(), 4);
        close(
            cover.pools[0].pool.mean.unwrap(),
            0.22 * f64::from(3 - pools as u32),
            1e-12,
        );
        // A crate weighs 40 kg and holds two.
        close(cover.aboard_mass_kg.unwrap(), 80.0, 1e-9);
    }
}

#[test]
fn a_part_for_the_other_side_does_not_interchange() {
    let (mut record, departure) = two_vehicles(Some(24));
    for (part, hand) in [("new-box", Hand::Left), ("other-box", Hand::Right)] {
        record
            .parts
            .get_mut(&name(&format!("parts/{part}")))
            .unwrap()
            .hand = Some(hand);
    }
    let cover = departure_spares(&record, &departure).cover.unwrap();
    assert_eq!((cover.pools.len(), cover.not_known.len()), (2, 0));
}

proptest! {
    #[test]
    fn one_more_piece_never_covers_less(
        means in prop::collection::vec(0.0..5.0_f64, 1..6),
        pieces in prop::collection::vec(0_u32..4, 6),
        which in 0_usize..6,
    ) {
        let which = which % means.len();
        let input = |extra: u32| SparesInput {
            fitted: means
                .iter()
                .enumerate()
                .map(|(index, mean)| fitted(&format!("n{index}"), "v1", &format!("p{index}"), *mean))
                .collect(),
            part_mass_kg: vec![Some(1.0); means.len()],
            aboard: (0..means.len())
                .map(|index| {
                    let serves: Vec<_> = (0..means.len()).map(|other| Some(other == index)).collect();
                    aboard(&format!("p{index}"), pieces[index] + if index == which { extra } else { 0 }, &serves)
                })
                .collect(),
            ..SparesInput::default()
        };
        let (less, more) = (convoy_cover(&input(0)).unwrap(), convoy_cover(&input(1)).unwrap());
        let (less, more) = (less.cover.unwrap(), more.cover.unwrap());
        prop_assert!(more.no_stock_out >= less.no_stock_out - 1e-12);
        prop_assert!(more.expected_backorders <= less.expected_backorders + 1e-12);
    }
}
