//! Demand: rates with their provenance, exposure, and pooling over fitments that interchange.

use super::{ITEMS_MAX, MEAN_MAX};
use crate::check::{Check, InvalidInput};

/// How often one fitted part needs a spare.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum DemandRate {
    /// Per 100,000 km of the vehicle, 0 to 100,000.
    PerDistance {
        /// Needs per 100,000 km.
        per_100_000_km: f64,
    },
    /// Per day of the departure, 0 to 100.
    PerDay {
        /// Needs per day.
        per_day: f64,
    },
}

/// Where a rate comes from. No reliable published rates were found for vehicle parts; even punctures differ
/// thirtyfold between reports.
#[derive(Debug, Clone, PartialEq)]
pub enum RateProvenance {
    /// Counted: see [`super::rate::rate_from_count`].
    Counted {
        /// Failures counted.
        count: u32,
        /// Exposure over which they were counted, in the unit of the rate's denominator.
        exposure: f64,
    },
    /// From a named source.
    Published(String),
    /// Someone's judgement, named.
    Judged(String),
}

/// One kind of part fitted on one vehicle.
#[derive(Debug, Clone, PartialEq)]
pub struct FittedPart {
    /// What spare it needs: `shock absorber rear`. Only fitments of one need are ever pooled.
    pub need: String,
    /// Vehicle that has it.
    pub vehicle: String,
    /// Part number and variant; equal parts interchange.
    pub part: String,
    /// How many are fitted, 0 to 100.
    pub quantity: u32,
    /// Demand rate of one; `None` when not known.
    pub rate: Option<DemandRate>,
    /// Where the rate comes from; `None` when not stated.
    pub provenance: Option<RateProvenance>,
    /// Distance of the departure for this vehicle, km, 0 to 1e6; `None` when not known.
    pub distance_km: Option<f64>,
    /// Days of the departure for this vehicle, 0 to 10,000; `None` when not known.
    pub days: Option<f64>,
}

/// A finding of the record about two fitments.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Interchange {
    /// Index of one fitment.
    pub first: usize,
    /// Index of the other.
    pub second: usize,
    /// Whether a spare for either serves the other.
    pub fits: bool,
}

/// Fitments that one spare serves.
#[derive(Debug, Clone, PartialEq)]
pub struct DemandPool {
    /// The need.
    pub need: String,
    /// Indices of the fitments, rising.
    pub members: Vec<usize>,
    /// Vehicles that have them, in the order given, each once.
    pub vehicles: Vec<String>,
    /// Mean demand over the departure; `None` when a member's is not known.
    pub mean: Option<f64>,
    /// What is missing, as field paths.
    pub missing: Vec<String>,
    /// Members without a stated provenance of the rate.
    pub provenance_missing: Vec<usize>,
}

/// The pools of a departure.
#[derive(Debug, Clone, PartialEq)]
pub struct DemandPools {
    /// The pools, by their first member.
    pub pools: Vec<DemandPool>,
    /// Pairs of fitments of one need with different parts about which the record has no finding: kept apart,
    /// and worth finding out before the shelves are packed.
    pub not_known: Vec<(usize, usize)>,
}

/// Mean demand of one fitment over the departure: rate x exposure x quantity; `None` when rate or exposure is
/// not known.
///
/// # Errors
/// Values outside the ranges of their fields.
pub fn mean_demand(fitted: &FittedPart) -> Result<Option<f64>, InvalidInput> {
    let mut check = Check::new();
    check_fitted(&mut check, fitted);
    check.finish()?;
    Ok(mean_of(fitted))
}

/// Pools fitments that interchange.
///
/// A fitment joins a pool only when it interchanges with every member: what fits A and B, and B and C, need not
/// fit A and C. Equal part numbers interchange unless a finding says otherwise. Fitments are taken in the order given, so
/// that the pools do not depend on anything else; where findings are not transitive, another order may pool
/// otherwise.
///
/// # Errors
/// Values outside the ranges of their fields; findings naming a fitment that does not exist, itself, different
/// needs, or a pair twice; more than [`ITEMS_MAX`] fitments or 100,000 findings; a pool's mean above [`MEAN_MAX`].
pub fn pool_demand(fitted: &[FittedPart], findings: &[Interchange]) -> Result<DemandPools, InvalidInput> {
    let known = check_all(fitted, findings)?;
    let interchanges = |first: usize, second: usize| {
        known
            .get(&ordered(first, second))
            .copied()
            .unwrap_or(fitted[first].part == fitted[second].part)
    };
    let mut groups: Vec<Vec<usize>> = Vec::new();
    for index in 0..fitted.len() {
        let home = groups.iter_mut().find(|members| {
            members
                .iter()
                .all(|&member| fitted[member].need == fitted[index].need && interchanges(member, index))
        });
        match home {
            Some(members) => members.push(index),
            None => groups.push(vec![index]),
        }
    }
    let pools: Vec<_> = groups
        .into_iter()
        .map(|members| pool_of(fitted, members))
        .collect();
    let mut check = Check::new();
    for (index, pool) in pools.iter().enumerate() {
        if let Some(mean) = pool.mean {
            check.between(format_args!("pools[{index}].mean"), mean, 0.0, MEAN_MAX);
        }
    }
    check.finish()?;
    let mut not_known = Vec::new();
    for second in 0..fitted.len() {
        for first in 0..second {
            let differ =
                fitted[first].need == fitted[second].need && fitted[first].part != fitted[second].part;
            if differ && !known.contains_key(&(first, second)) {
                not_known.push((first, second));
            }
        }
    }
    Ok(DemandPools { pools, not_known })
}

fn ordered(first: usize, second: usize) -> (usize, usize) {
    (first.min(second), first.max(second))
}

type Findings = std::collections::HashMap<(usize, usize), bool>;

fn check_all(fitted: &[FittedPart], findings: &[Interchange]) -> Result<Findings, InvalidInput> {
    if fitted.len() > ITEMS_MAX {
        return Err(InvalidInput::one(
            "fitted",
            format!("must be at most {ITEMS_MAX}, are {}", fitted.len()),
        ));
    }
    if findings.len() > 100_000 {
        return Err(InvalidInput::one(
            "findings",
            format!("must be at most 100000, are {}", findings.len()),
        ));
    }
    let mut check = Check::new();
    for (index, part) in fitted.iter().enumerate() {
        let mut inner = Check::new();
        check_fitted(&mut inner, part);
        check.merge(format_args!("fitted[{index}]"), inner.finish());
    }
    let mut known = Findings::new();
    for (index, finding) in findings.iter().enumerate() {
        let field = format!("findings[{index}]");
        match (fitted.get(finding.first), fitted.get(finding.second)) {
            (Some(first), Some(second)) if finding.first != finding.second => {
                if first.need != second.need {
                    check.refuse(field, "must name two fitments of one need");
                } else if known
                    .insert(ordered(finding.first, finding.second), finding.fits)
                    .is_some()
                {
                    check.refuse(field, "must not repeat a pair");
                }
            }
            _ => check.refuse(field, "must name two fitments that exist and differ"),
        }
    }
    check.finish()?;
    Ok(known)
}

fn check_fitted(check: &mut Check, fitted: &FittedPart) {
    check.between("quantity", f64::from(fitted.quantity), 0.0, 100.0);
    match fitted.rate {
        Some(DemandRate::PerDistance { per_100_000_km }) => {
            check.between("rate.per_100_000_km", per_100_000_km, 0.0, 100_000.0);
        }
        Some(DemandRate::PerDay { per_day }) => check.between("rate.per_day", per_day, 0.0, 100.0),
        None => {}
    }
    if let Some(RateProvenance::Counted { exposure, .. }) = fitted.provenance {
        check.between("provenance.exposure", exposure, 1e-6, 1e9);
    }
    if let Some(distance_km) = fitted.distance_km {
        check.between("distance_km", distance_km, 0.0, 1e6);
    }
    if let Some(days) = fitted.days {
        check.between("days", days, 0.0, 10_000.0);
    }
}

fn mean_of(fitted: &FittedPart) -> Option<f64> {
    let each = match fitted.rate? {
        DemandRate::PerDistance { per_100_000_km } => per_100_000_km * fitted.distance_km? / 100_000.0,
        DemandRate::PerDay { per_day } => per_day * fitted.days?,
    };
    Some(each * f64::from(fitted.quantity))
}

fn missing_of(fitted: &FittedPart) -> Option<&'static str> {
    match fitted.rate {
        None => Some("rate"),
        Some(DemandRate::PerDistance { .. }) if fitted.distance_km.is_none() => Some("distance_km"),
        Some(DemandRate::PerDay { .. }) if fitted.days.is_none() => Some("days"),
        Some(_) => None,
    }
}

fn pool_of(fitted: &[FittedPart], members: Vec<usize>) -> DemandPool {
    let mut vehicles: Vec<String> = Vec::new();
    for &member in &members {
        if !vehicles.contains(&fitted[member].vehicle) {
            vehicles.push(fitted[member].vehicle.clone());
        }
    }
    DemandPool {
        need: fitted[members[0]].need.clone(),
        vehicles,
        mean: members.iter().map(|&member| mean_of(&fitted[member])).sum(),
        missing: members
            .iter()
            .filter_map(|&member| {
                missing_of(&fitted[member]).map(|field| format!("fitted[{member}].{field}"))
            })
            .collect(),
        provenance_missing: members
            .iter()
            .copied()
            .filter(|&member| fitted[member].provenance.is_none())
            .collect(),
        members,
    }
}
