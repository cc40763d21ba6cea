//! The gate of spares. Chances are those of the Poisson tables that the suite of `spares` holds.

use ostler_core::answer::Answer;
use ostler_core::readiness::{Gate, Readiness};
use ostler_core::record::{
    Departure, Record, SpareContent, SpareDemand, SpareNeed, SparesPolicy, SupplyGate,
};
use ostler_core::spares::demand::{DemandRate, RateProvenance};

use super::fixture::{of, ready};
use super::tyre_fixture::part_mut;
use crate::builder::{id, name};

/// One gearbox fitted, one aboard, one of which two were worn out over 200,000 kilometres.
pub(super) fn stock(record: &mut Record, departure: &mut Departure) {
    part_mut(record, "new-box").spare_demand = Some(SpareDemand {
        rate: DemandRate::PerDistance { per_100_000_km: 1.0 },
        provenance: Some(RateProvenance::Counted {
            count: 2,
            exposure: 2.0,
        }),
    });
    let tent = record.cargo_items.get_mut(&name("cargoItems/tent")).unwrap();
    tent.spares = vec![SpareContent {
        part: name("parts/new-box"),
        pieces: 1,
    }];
    departure.policy.spares = Some(SparesPolicy {
        needs: vec![SpareNeed {
            slot_kind: id("gearbox"),
            demand: None,
            importance: 1.0,
        }],
        // Above what no spare at all would leave, e^-0.0022.
        cover_min: Some(0.9999),
        mass_budget_kg: Some(50.0),
    });
}

fn gate(readiness: &Readiness) -> &Gate {
    let mut gates = readiness.gates.iter();
    gates.find(|gate| gate.id == "spares_cover").unwrap()
}

/// A mean demand of `mean` from a published rate; 18 days from departure to return.
pub(super) fn demand(record: &mut Record, mean: f64) {
    part_mut(record, "new-box").spare_demand = Some(SpareDemand {
        rate: DemandRate::PerDay { per_day: mean / 18.0 },
        provenance: Some(RateProvenance::Published("a book".to_owned())),
    });
}

pub(super) fn policy(departure: &mut Departure) -> &mut SparesPolicy {
    departure.policy.spares.as_mut().unwrap()
}

#[test]
fn cover_at_the_limit_is_met_and_above_it_is_not() {
    let (mut record, mut departure) = ready();
    // P(X <= 1) for mean 0.5 is .9098.
    demand(&mut record, 0.5);
    for (asked, expected) in [(0.9097, Answer::Met), (0.9099, Answer::NotMet)] {
        policy(&mut departure).cover_min = Some(asked);
        let readiness = of(&record, &departure);
        assert_eq!(gate(&readiness).answer, expected, "{asked}");
    }
    let readiness = of(&record, &departure);
    let finding = &gate(&readiness).findings[0];
    assert!((finding.figures[0].value - 0.9098).abs() < 5e-5, "{finding:?}");
    // One more: .9856. It weighs as much as the one aboard, 80 kg by its part.
    assert!(
        finding.remedy.contains("carry 1 new-box more (80.0 kg"),
        "{finding:?}"
    );
    assert!(finding.remedy.contains("0.986"), "{finding:?}");
    assert!(finding.records.contains(&name("cargoItems/tent")), "{finding:?}");
}

#[test]
fn doubt_about_a_rate_is_a_condition() {
    let (mut record, mut departure) = ready();
    policy(&mut departure).cover_min = Some(0.9);
    for provenance in [None, Some(RateProvenance::Judged("the workshop".to_owned()))] {
        let part = part_mut(&mut record, "new-box");
        part.spare_demand.as_mut().unwrap().provenance = provenance;
        let readiness = of(&record, &departure);
        assert_eq!(gate(&readiness).answer, Answer::MetWithConditions);
    }
    // Nothing counted over 300 km leaves up to 1 per 100 km (chi-squared, 95 %, 2 degrees: 5.99 / 2 / 300 km): 2.197
    // on the way of 220 km, whatever the rate of 0 says. P(X <= 1) for that is .3554 (scipy.stats.poisson.cdf).
    part_mut(&mut record, "new-box").spare_demand = Some(SpareDemand {
        rate: DemandRate::PerDistance { per_100_000_km: 0.0 },
        provenance: Some(RateProvenance::Counted {
            count: 0,
            exposure: 0.003,
        }),
    });
    let readiness = of(&record, &departure);
    let finding = &gate(&readiness).findings[0];
    assert_eq!(finding.answer, Answer::MetWithConditions, "{finding:?}");
    assert!((finding.figures[0].value - 0.3554).abs() < 1e-3, "{finding:?}");
}

#[test]
fn more_than_the_mass_budget_is_a_condition() {
    let (record, mut departure) = ready();
    policy(&mut departure).mass_budget_kg = Some(29.9);
    let readiness = of(&record, &departure);
    assert_eq!(gate(&readiness).answer, Answer::MetWithConditions);
    policy(&mut departure).mass_budget_kg = Some(30.0);
    assert_eq!(gate(&of(&record, &departure)).answer, Answer::Met);
}

#[test]
fn a_spare_that_stays_at_home_or_is_another_part_counts_as_nothing() {
    let (mut record, departure) = ready();
    let tent = record.cargo_items.get_mut(&name("cargoItems/tent")).unwrap();
    tent.spares[0].part = name("parts/old-box");
    // Nothing is asked of the slot, so nothing says that the other box fits.
    assert_eq!(gate(&of(&record, &departure)).answer, Answer::NotMet);
    let (mut record, departure) = ready();
    record
        .cargo_items
        .get_mut(&name("cargoItems/tent"))
        .unwrap()
        .vehicle = None;
    assert_eq!(gate(&of(&record, &departure)).answer, Answer::NotMet);
}

#[test]
fn what_the_policy_does_not_ask_is_met_and_says_so() {
    let (record, mut departure) = ready();
    departure.policy.spares = None;
    assert_eq!(gate(&of(&record, &departure)).answer, Answer::NotKnown);
    departure.policy.gates_not_asked.insert(SupplyGate::Spares);
    let readiness = of(&record, &departure);
    assert_eq!(gate(&readiness).answer, Answer::Met);
    assert!(gate(&readiness).findings[0].text.contains("does not ask"));
}
