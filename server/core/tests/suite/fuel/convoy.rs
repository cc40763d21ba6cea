//! Sharing and extra containers: conservation, limits, and optimality against exhaustive search.

use ostler_core::fuel::FuelKind;
use ostler_core::fuel::extra::*;
use ostler_core::fuel::sharing::*;
use proptest::prelude::*;

fn vehicle(
    id: &str,
    kind: FuelKind,
    start: f64,
    capacity: f64,
    needs: &[f64],
    reserve_l: f64,
) -> ConvoyVehicle {
    ConvoyVehicle {
        vehicle: id.to_owned(),
        kind,
        usable_at_start_l: start,
        usable_capacity_l: capacity,
        leg_needs_l: needs.to_vec(),
        reserve_l,
    }
}

fn convoy(stops: usize, vehicles: Vec<ConvoyVehicle>) -> Convoy {
    Convoy {
        stops: (0..stops).map(|stop| format!("stop {stop}")).collect(),
        vehicles,
    }
}

#[test]
fn fuel_kinds_do_not_mix() {
    let vehicles = vec![
        vehicle("rich", FuelKind::Petrol, 100.0, 100.0, &[10.0], 0.0),
        vehicle("poor", FuelKind::Diesel, 10.0, 100.0, &[20.0], 0.0),
    ];
    let answer = plan_sharing(&convoy(1, vehicles)).unwrap();
    let poor = answer.iter().find(|of| of.kind == FuelKind::Diesel).unwrap();
    assert_eq!(
        (poor.shortfall_l, poor.uncovered_l, poor.moves.len()),
        (10.0, 10.0, 0)
    );
}

#[test]
fn liquefied_gas_is_not_decanted() {
    let gas = FuelKind::LiquefiedPetroleumGas;
    let vehicles = vec![
        vehicle("rich", gas, 100.0, 100.0, &[10.0], 0.0),
        vehicle("poor", gas, 10.0, 100.0, &[20.0], 0.0),
    ];
    let answer = plan_sharing(&convoy(1, vehicles)).unwrap();
    assert_eq!(
        (answer[0].surplus_l, answer[0].uncovered_l, answer[0].moves.len()),
        (90.0, 10.0, 0)
    );
}

#[test]
fn a_full_vehicle_takes_fuel_where_it_has_room() {
    // The poor one leaves full, is 30 l short, and burns 10 l a leg: room for 10 l after each.
    let vehicles = vec![
        vehicle("rich", FuelKind::Diesel, 200.0, 200.0, &[10.0; 4], 0.0),
        vehicle("poor", FuelKind::Diesel, 10.0, 10.0, &[10.0; 4], 0.0),
    ];
    let answer = &plan_sharing(&convoy(4, vehicles)).unwrap()[0];
    assert!(answer.covers());
    assert_eq!(
        answer.moves.iter().map(|one| one.stop).collect::<Vec<_>>(),
        [1, 2, 3]
    );
    assert!(
        answer
            .moves
            .iter()
            .all(|one| (one.litres - 10.0).abs() < 1e-6 && one.from == "rich")
    );
}

#[test]
fn nobody_gives_up_a_reserve_for_another() {
    // Both short of their reserve; the second also runs dry.
    let vehicles = vec![
        vehicle("a", FuelKind::Diesel, 100.0, 100.0, &[60.0, 30.0], 20.0),
        vehicle("b", FuelKind::Diesel, 50.0, 100.0, &[60.0, 30.0], 20.0),
        vehicle("c", FuelKind::Diesel, 115.0, 150.0, &[60.0, 30.0], 20.0),
    ];
    let answer = &plan_sharing(&convoy(2, vehicles)).unwrap()[0];
    assert!((answer.moved_l - 5.0).abs() < 1e-6);
    assert!(answer.moves.iter().all(|one| one.from == "c"));
    assert!((answer.uncovered_l - (10.0 + 60.0 - 5.0)).abs() < 1e-6);
}

/// Replays a plan: nobody above capacity, and nobody who would otherwise pass a leg fails it by giving.
fn replay(convoy: &Convoy, answer: &KindSharing) -> Result<(), String> {
    for vehicle in &convoy.vehicles {
        let balance = vehicle.balance_l();
        let gives: f64 = litres(answer, |one| one.from == vehicle.vehicle);
        let takes: f64 = litres(answer, |one| one.to == vehicle.vehicle);
        if gives > balance.max(0.0) + takes + 1e-6 {
            return Err(format!("{} gives {gives} of {balance}", vehicle.vehicle));
        }
        let mut aboard = vehicle.usable_at_start_l;
        for (stop, need) in vehicle.leg_needs_l.iter().enumerate() {
            aboard += litres(answer, |one| one.stop == stop && one.to == vehicle.vehicle);
            aboard -= litres(answer, |one| one.stop == stop && one.from == vehicle.vehicle);
            if aboard > vehicle.usable_capacity_l + 1e-6 || aboard < -1e-6 {
                return Err(format!("{} holds {aboard} at stop {stop}", vehicle.vehicle));
            }
            aboard = (aboard - need).max(0.0);
        }
    }
    Ok(())
}

fn litres(answer: &KindSharing, which: impl Fn(&Move) -> bool) -> f64 {
    answer
        .moves
        .iter()
        .filter(|one| which(one))
        .map(|one| one.litres)
        .sum()
}

/// Best total over two vehicles by trying every whole litre at every stop: least uncovered, then least
/// moved. Whole-litre data, so the optimum is among them.
fn exhaustive(giver: &ConvoyVehicle, taker: &ConvoyVehicle) -> (f64, f64) {
    let surplus = giver.balance_l().max(0.0) as i64;
    let short = (-taker.balance_l()).max(0.0);
    let mut best = (short, 0.0);
    for first in 0..=surplus {
        for second in 0..=(surplus - first) {
            for third in 0..=(surplus - first - second) {
                let given = [first as f64, second as f64, third as f64];
                let Some(uncovered) = outcome(giver, taker, &given) else {
                    continue;
                };
                let moved: f64 = given.iter().sum();
                if (uncovered, moved) < best {
                    best = (uncovered, moved);
                }
            }
        }
    }
    best
}

/// What stays uncovered over both vehicles, `None` when a move does not fit.
fn outcome(giver: &ConvoyVehicle, taker: &ConvoyVehicle, given: &[f64; 3]) -> Option<f64> {
    let (mut has, mut gets, mut uncovered) = (giver.usable_at_start_l, taker.usable_at_start_l, 0.0);
    for (stop, moved) in given.iter().enumerate() {
        has -= moved;
        gets += moved;
        if has < 0.0 || gets > taker.usable_capacity_l {
            return None;
        }
        for (aboard, vehicle) in [(&mut has, giver), (&mut gets, taker)] {
            *aboard -= vehicle.leg_needs_l[stop];
            uncovered += (-*aboard).max(0.0);
            *aboard = aboard.max(0.0);
        }
    }
    Some(uncovered + (giver.reserve_l - has).max(0.0) + (taker.reserve_l - gets).max(0.0))
}

prop_compose! {
    /// A vehicle in whole litres whose balance lies in the range, as far as it can leave with it.
    fn whole_vehicle(id: &'static str, balance: std::ops::Range<i32>)(
        room in 0..30u32,
        needs in prop::collection::vec(0..25u32, 3),
        reserve in 0..15u32,
        balance in balance,
    ) -> ConvoyVehicle {
        let needs: Vec<f64> = needs.into_iter().map(f64::from).collect();
        let start = (needs.iter().sum::<f64>() + f64::from(reserve) + f64::from(balance)).max(0.0);
        vehicle(id, FuelKind::Diesel, start, start + f64::from(room) + 1.0, &needs, f64::from(reserve))
    }
}

proptest! {
    #[test]
    fn the_programme_is_as_good_as_trying_everything(
        giver in whole_vehicle("giver", 1..25),
        taker in whole_vehicle("taker", -40..0),
    ) {
        prop_assume!(taker.balance_l() < 0.0);
        let one = convoy(3, vec![giver.clone(), taker.clone()]);
        let answer = &plan_sharing(&one).unwrap()[0];
        prop_assert!(replay(&one, answer).is_ok(), "{:?}", replay(&one, answer));
        let (uncovered, moved) = exhaustive(&giver, &taker);
        let given = [0, 1, 2].map(|stop| litres(answer, |one| one.stop == stop));
        let found = outcome(&giver, &taker, &given.map(|litres| (litres * 1e6).round() / 1e6)).unwrap();
        prop_assert!((found - uncovered).abs() < 1e-4, "uncovered {found}, exhaustive {uncovered}");
        prop_assert!((answer.moved_l - moved).abs() < 1e-4, "moved {}, exhaustive {moved}", answer.moved_l);
    }

    #[test]
    fn a_plan_conserves_fuel_and_respects_everybody(
        vehicles in prop::collection::vec(whole_vehicle("x", -30..30), 2..6),
    ) {
        let named = vehicles.into_iter().enumerate().map(|(index, vehicle)| ConvoyVehicle {
            vehicle: format!("v{index}"),
            ..vehicle
        });
        let one = convoy(3, named.collect());
        let answer = &plan_sharing(&one).unwrap()[0];
        prop_assert!(replay(&one, answer).is_ok(), "{:?}", replay(&one, answer));
        let before: f64 = one.vehicles.iter().map(ConvoyVehicle::balance_l).sum();
        prop_assert!((answer.balance_after_l.iter().sum::<f64>() - before).abs() < 1e-6);
        // Everything missing is either moved or stays uncovered, and no litre is moved in vain.
        prop_assert!((answer.shortfall_l - answer.uncovered_l - answer.moved_l).abs() < 1e-5
            || answer.moved_l > answer.shortfall_l - answer.uncovered_l);
        prop_assert!(answer.uncovered_l >= (answer.shortfall_l - answer.surplus_l).max(0.0) - 1e-6);
    }
}

fn kind(fill_l: f64, empty_mass_kg: f64) -> ContainerKind {
    ContainerKind {
        name: format!("{fill_l} l"),
        fill_l,
        unusable_l: 0.2,
        empty_mass_kg,
    }
}

fn extra_vehicle(id: &str, shortfall_l: f64, mass_margin_kg: f64, places: u32) -> ExtraVehicle {
    ExtraVehicle {
        vehicle: id.to_owned(),
        shortfall_l,
        mass_margin_kg,
        places,
    }
}

#[test]
fn another_vehicle_carries_what_the_short_one_cannot() {
    let vehicles = vec![
        extra_vehicle("short", 50.0, 25.0, 4),
        extra_vehicle("other", 0.0, 100.0, 4),
    ];
    let asked = |pooled| {
        let containers = vec![kind(20.0, 4.0)];
        least_extra(&ExtraInput {
            containers,
            vehicles: vehicles.clone(),
            density_kg_per_l: 0.84,
            pooled,
        })
        .unwrap()
    };
    let Extra::Covered(plan) = asked(true) else {
        panic!("covered")
    };
    assert_eq!(
        plan.carried.iter().map(|of| of.counts[0]).collect::<Vec<_>>(),
        [1, 2]
    );
    assert!((plan.to_move_l - 39.6).abs() < 1e-9);
    assert!(matches!(asked(false), Extra::NotCovered { most_l, .. } if (most_l - 19.8).abs() < 1e-9));
}

/// The least mass by trying every number of every kind on every vehicle.
fn lightest(input: &ExtraInput) -> Option<f64> {
    let shortfall_l: f64 = input.vehicles.iter().map(|vehicle| vehicle.shortfall_l).sum();
    let mut best: Option<f64> = None;
    let n = input.vehicles.len() * input.containers.len();
    for code in 0..4usize.pow(n as u32) {
        let counts: Vec<f64> = (0..n)
            .map(|digit| (code / 4usize.pow(digit as u32) % 4) as f64)
            .collect();
        let (mut total_l, mut total_kg, mut fits) = (0.0, 0.0, true);
        for (vehicle, counts) in input.vehicles.iter().zip(counts.chunks(input.containers.len())) {
            let of = |value: &dyn Fn(&ContainerKind) -> f64| -> f64 {
                counts
                    .iter()
                    .zip(&input.containers)
                    .map(|(count, kind)| count * value(kind))
                    .sum()
            };
            let usable = of(&|kind| kind.fill_l - kind.unusable_l);
            let mass = of(&|kind| kind.empty_mass_kg + kind.fill_l * input.density_kg_per_l);
            fits &= mass <= vehicle.mass_margin_kg && counts.iter().sum::<f64>() <= f64::from(vehicle.places);
            fits &= input.pooled || usable >= vehicle.shortfall_l;
            total_l += usable;
            total_kg += mass;
        }
        if fits && total_l >= shortfall_l && best.is_none_or(|kg| total_kg < kg) {
            best = Some(total_kg);
        }
    }
    best
}

proptest! {
    #[test]
    fn the_extra_is_the_lightest_there_is(
        vehicles in prop::collection::vec((0.0..30.0f64, 0.0..90.0f64, 0..4u32), 1..4),
        pooled in any::<bool>(),
    ) {
        let of = |(index, (short, margin, places)): (usize, (f64, f64, u32))| {
            extra_vehicle(&index.to_string(), short, margin, places)
        };
        let input = ExtraInput {
            containers: vec![kind(20.0, 4.0), kind(10.0, 1.5)],
            vehicles: vehicles.into_iter().enumerate().map(of).collect(),
            density_kg_per_l: 0.74,
            pooled,
        };
        match (least_extra(&input).unwrap(), lightest(&input)) {
            (Extra::Covered(plan), Some(mass_kg)) => {
                prop_assert!((plan.mass_kg - mass_kg).abs() < 1e-9);
                prop_assert!(plan.carried.iter().all(|of| of.margin_left_kg >= 0.0));
            }
            (Extra::NotCovered { most_l, shortfall_l }, None) => prop_assert!(most_l < shortfall_l),
            (ours, theirs) => prop_assert!(false, "{ours:?} against {theirs:?}"),
        }
    }
}
