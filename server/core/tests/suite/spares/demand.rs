//! Demand and pooling.

use ostler_core::spares::demand::{
    DemandRate, FittedPart, Interchange, RateProvenance, mean_demand, pool_demand,
};
use proptest::prelude::*;

use super::close;

fn fitted(vehicle: &str, part: &str, per_100_000_km: f64) -> FittedPart {
    FittedPart {
        need: "shock absorber rear".to_owned(),
        vehicle: vehicle.to_owned(),
        part: part.to_owned(),
        quantity: 2,
        rate: Some(DemandRate::PerDistance { per_100_000_km }),
        provenance: Some(RateProvenance::Judged("workshop".to_owned())),
        distance_km: Some(2_500.0),
        days: Some(21.0),
    }
}

fn finding(first: usize, second: usize, fits: bool) -> Interchange {
    Interchange { first, second, fits }
}

#[test]
fn mean_is_rate_times_exposure_times_quantity() {
    // Own calculation: 20 per 100,000 km x 2,500 km x 2 fitted = 1.0; 0.01 a day x 21 days x 2 = 0.42.
    close(
        mean_demand(&fitted("V1", "A", 20.0)).unwrap().unwrap(),
        1.0,
        1e-12,
    );
    let daily = FittedPart {
        rate: Some(DemandRate::PerDay { per_day: 0.01 }),
        ..fitted("V1", "A", 0.0)
    };
    close(mean_demand(&daily).unwrap().unwrap(), 0.42, 1e-12);
    let unknown = FittedPart {
        distance_km: None,
        ..fitted("V1", "A", 20.0)
    };
    assert_eq!(mean_demand(&unknown).unwrap(), None);
}

#[test]
fn only_what_is_known_to_interchange_is_pooled() {
    let parts = [
        fitted("V1", "A", 10.0),
        fitted("V2", "B", 10.0),
        fitted("V3", "A", 10.0),
        fitted("V4", "C", 10.0),
    ];
    let pools = pool_demand(&parts, &[finding(0, 3, true), finding(3, 2, true)]).unwrap();
    let members: Vec<_> = pools.pools.iter().map(|pool| pool.members.clone()).collect();
    assert_eq!(members, [vec![0, 2, 3], vec![1]]);
    assert_eq!(pools.pools[0].vehicles, ["V1", "V3", "V4"]);
    close(pools.pools[0].mean.unwrap(), 1.5, 1e-12);
    assert_eq!(pools.not_known, [(0, 1), (1, 2), (1, 3)]);
}

#[test]
fn interchange_is_not_passed_on() {
    // A fits B and B fits C, but A does not fit C (one spigot thread of two): three never share one pool.
    let parts = [
        fitted("V1", "A", 10.0),
        fitted("V2", "B", 10.0),
        fitted("V3", "C", 10.0),
    ];
    let findings = [finding(0, 1, true), finding(1, 2, true), finding(2, 0, false)];
    let pools = pool_demand(&parts, &findings).unwrap();
    let members: Vec<_> = pools.pools.iter().map(|pool| pool.members.clone()).collect();
    assert_eq!(members, [vec![0, 1], vec![2]]);
    assert!(pools.not_known.is_empty());
    // One number, yet found not to fit (a variant hidden under it).
    let twins = [fitted("V1", "A", 10.0), fitted("V2", "A", 10.0)];
    assert_eq!(
        pool_demand(&twins, &[finding(0, 1, false)]).unwrap().pools.len(),
        2
    );
}

#[test]
fn missing_and_wrong_inputs_are_named() {
    let unknown = FittedPart {
        rate: None,
        provenance: None,
        ..fitted("V2", "A", 0.0)
    };
    let pools = pool_demand(&[fitted("V1", "A", 10.0), unknown], &[]).unwrap();
    assert_eq!(pools.pools[0].mean, None);
    assert_eq!(pools.pools[0].missing, ["fitted[1].rate"]);
    assert_eq!(pools.pools[0].provenance_missing, [1]);
    let parts = [fitted("V1", "A", f64::NAN), fitted("V2", "B", 1.0)];
    let findings = [
        finding(0, 1, true),
        finding(1, 0, true),
        finding(0, 0, true),
        finding(0, 9, true),
    ];
    let refused = pool_demand(&parts, &findings).unwrap_err();
    let fields: Vec<_> = refused
        .violations
        .iter()
        .map(|violation| violation.field.as_str())
        .collect();
    assert_eq!(
        fields,
        [
            "fitted[0].rate.per_100_000_km",
            "findings[1]",
            "findings[2]",
            "findings[3]"
        ]
    );
}

proptest! {
    #[test]
    fn pooling_neither_loses_nor_adds_demand(
        parts in prop::collection::vec((0..4_u8, 0.0..100.0_f64), 1..20),
        pairs in prop::collection::vec((0..20_usize, 0..20_usize, any::<bool>()), 0..40),
    ) {
        let parts: Vec<_> = parts.iter().map(|(part, rate)| fitted("V", &part.to_string(), *rate)).collect();
        let mut seen = std::collections::BTreeSet::new();
        let findings: Vec<_> = pairs
            .into_iter()
            .filter(|(first, second, _)| first < second && *second < parts.len() && seen.insert((*first, *second)))
            .map(|(first, second, fits)| finding(first, second, fits))
            .collect();
        let pools = pool_demand(&parts, &findings).unwrap().pools;
        let whole: f64 = parts.iter().map(|part| mean_demand(part).unwrap().unwrap()).sum();
        let pooled: f64 = pools.iter().map(|pool| pool.mean.unwrap()).sum();
        prop_assert!((whole - pooled).abs() < 1e-9);
        let mut members: Vec<_> = pools.iter().flat_map(|pool| pool.members.clone()).collect();
        members.sort_unstable();
        prop_assert_eq!(members, (0..parts.len()).collect::<Vec<_>>());
        // No pool holds a pair found not to fit.
        for finding in findings.iter().filter(|finding| !finding.fits) {
            for pool in &pools {
                prop_assert!(!(pool.members.contains(&finding.first) && pool.members.contains(&finding.second)));
            }
        }
    }
}
