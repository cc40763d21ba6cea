//! The spares of a convoy against the demand of its fitted parts.
//!
//! A spare counts for a pool of fitments only where it serves every one of them. One that serves several pools
//! is given to that in which it takes most expected backorders off, piece by piece. One whose fit is not known
//! counts as nothing.

use std::collections::BTreeMap;

use super::cover::{Cover, KitCover, StockedSpare, kit_cover, poisson_cover};
use super::demand::{
    DemandPool, DemandRate, FittedPart, Interchange, RateProvenance, mean_demand, pool_demand,
};
use super::kit::{FrontierStep, Spare, frontier};
use super::placement::Carrier;
use super::rate::rate_from_count;
use super::{ITEMS_MAX, MEAN_MAX, STOCK_MAX};
use crate::check::{Check, InvalidInput, element};

/// Two-sided confidence of the interval whose upper end is the cautious rate.
pub const CAUTIOUS_CONFIDENCE: f64 = 0.9;

/// Heaviest kit that is looked at when no budget is set, kg.
const MASS_UNLIMITED_KG: f64 = 1e6;

/// What a computation is fed with.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct SparesInput {
    /// What is fitted, at most [`ITEMS_MAX`].
    pub fitted: Vec<FittedPart>,
    /// Mass of the part of each fitment, kg. `None`: not known.
    pub part_mass_kg: Vec<Option<f64>>,
    /// Findings about pairs of fitments.
    pub findings: Vec<Interchange>,
    /// What is aboard, at most [`ITEMS_MAX`].
    pub aboard: Vec<SpareAboard>,
    /// The vehicles that may carry spares.
    pub carriers: Vec<Carrier>,
    /// How much an open need counts; 1 for a need that is not listed.
    pub importance: BTreeMap<String, f64>,
    /// Least chance that nothing runs out, 0 to 0.999999. `None`: not asked for.
    pub cover_min: Option<f64>,
    /// Most that the spares may weigh, kg. `None`: no budget.
    pub mass_budget_kg: Option<f64>,
}

/// A spare part aboard.
#[derive(Debug, Clone, PartialEq)]
pub struct SpareAboard {
    /// What it is in, for the report.
    pub name: String,
    /// Part number and variant.
    pub part: String,
    /// Index of the vehicle in [`SparesInput::carriers`]. `None`: none of them.
    pub carrier: Option<usize>,
    /// How many.
    pub pieces: u32,
    /// Mass of one, kg. `None`: not known.
    pub mass_kg: Option<f64>,
    /// Whether it serves each fitment. `None`: not known.
    pub serves: Vec<Option<bool>>,
}

/// A pool, its spare, and what covers it.
#[derive(Debug, Clone, PartialEq)]
pub struct PoolCover {
    /// The pool.
    pub pool: DemandPool,
    /// Fitted parts of it, each once.
    pub parts: Vec<String>,
    /// How many pieces are fitted.
    pub fitted: u32,
    /// How much an open need counts.
    pub importance: f64,
    /// The lightest of its parts: any of them serves all of the pool.
    pub spare: String,
    /// Its mass, kg. `None`: the mass of no part of the pool is known.
    pub spare_mass_kg: Option<f64>,
    /// Mean demand at the cautious rates: upper ends of the intervals of counted ones.
    pub cautious_mean: Option<f64>,
    /// A rate is a judgement, or its provenance is not stated.
    pub judged: bool,
    /// Pieces aboard that count for it.
    pub aboard: u32,
    /// They all ride in one vehicle though there are several, and the pool has several vehicles.
    pub all_in_one_vehicle: bool,
    /// What they cover. `None`: the demand is not known.
    pub cover: Option<Cover>,
}

/// How many pieces of what is aboard count for a pool.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Allotment {
    /// Index in [`SparesInput::aboard`].
    pub aboard: usize,
    /// Index of the pool.
    pub pool: usize,
    /// How many pieces.
    pub pieces: u32,
}

/// The spares of a convoy.
#[derive(Debug, Clone, PartialEq)]
pub struct ConvoyCover {
    /// The pools.
    pub pools: Vec<PoolCover>,
    /// Which pieces count where.
    pub allotments: Vec<Allotment>,
    /// Spares aboard that count for no pool, and why.
    pub not_counted: Vec<(usize, NotCounted)>,
    /// Pairs of fitments of one need, with different parts, of which it is not known whether they interchange: kept apart.
    pub not_known: Vec<(usize, usize)>,
    /// Cover of all pools. `None`: the demand of one is not known, or there is none.
    pub cover: Option<KitCover>,
    /// Chance that nothing runs out at the cautious rates.
    pub cautious_no_stock_out: Option<f64>,
    /// Mass of the pieces that count, kg. `None`: not known.
    pub aboard_mass_kg: Option<f64>,
    /// Copies to add one by one to what is aboard, most gain per kilogram first, until the cover asked for is
    /// reached. Empty: it is, or none is asked for, or a demand or mass is not known.
    pub additions: Vec<FrontierStep>,
}

/// Why a spare counts for nothing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NotCounted {
    /// It serves some fitments of a pool only.
    ServesSome,
    /// Whether it serves is not known.
    NotKnown,
    /// It serves none that is asked about.
    ServesNone,
}

/// The cover of a convoy's spares.
///
/// # Errors
/// Values outside the ranges of their fields; lists of unequal or too great lengths; as for
/// [`pool_demand`] and [`frontier`].
pub fn convoy_cover(input: &SparesInput) -> Result<ConvoyCover, InvalidInput> {
    check_input(input)?;
    let pooled = pool_demand(&input.fitted, &input.findings)?;
    let mut pools = Vec::with_capacity(pooled.pools.len());
    for pool in pooled.pools {
        pools.push(pool_cover(input, pool)?);
    }
    let (allotments, not_counted) = allot(input, &mut pools);
    for (index, pool) in pools.iter_mut().enumerate() {
        let carriers: Vec<Option<usize>> = allotments
            .iter()
            .filter(|allotment| allotment.pool == index)
            .map(|allotment| input.aboard[allotment.aboard].carrier)
            .collect();
        pool.all_in_one_vehicle = pool.aboard > 1
            && pool.pool.vehicles.len() > 1
            && carriers.windows(2).all(|pair| pair[0] == pair[1]);
        pool.cover = pool.pool.mean.map(|mean| poisson_cover(mean, pool.aboard));
    }
    let stocked = |mean: fn(&PoolCover) -> Option<f64>| -> Option<Vec<StockedSpare>> {
        pools
            .iter()
            .map(|pool| {
                Some(StockedSpare {
                    mean: mean(pool)?,
                    stock: pool.aboard,
                })
            })
            .collect()
    };
    let known = |stocked: Option<Vec<StockedSpare>>| {
        stocked
            .filter(|stocked| !stocked.is_empty())
            .map(|stocked| kit_cover(&stocked))
            .transpose()
    };
    let cover = known(stocked(|pool| pool.pool.mean))?;
    let cautious = known(stocked(|pool| pool.cautious_mean))?;
    let aboard_mass_kg = allotments
        .iter()
        .map(|allotment| Some(input.aboard[allotment.aboard].mass_kg? * f64::from(allotment.pieces)))
        .sum();
    let additions = additions(input, &pools, cover.as_ref())?;
    Ok(ConvoyCover {
        pools,
        allotments,
        not_counted,
        not_known: pooled.not_known,
        cover,
        cautious_no_stock_out: cautious.map(|cover| cover.no_stock_out),
        aboard_mass_kg,
        additions,
    })
}

/// The pools as spares to choose from, with so many of each in any case. `None`: a demand or a mass is not known.
pub(super) fn choices(pools: &[PoolCover], held: impl Fn(&PoolCover) -> u32) -> Option<Vec<Spare>> {
    pools
        .iter()
        .map(|pool| {
            Some(Spare {
                name: pool.spare.clone(),
                mean: pool.pool.mean?,
                mass_kg: pool.spare_mass_kg?,
                importance: pool.importance,
                held: held(pool),
                most: STOCK_MAX,
            })
        })
        .collect()
}

fn pool_cover(input: &SparesInput, pool: DemandPool) -> Result<PoolCover, InvalidInput> {
    let mut parts: Vec<(&str, Option<f64>)> = Vec::new();
    for &member in &pool.members {
        let part = (input.fitted[member].part.as_str(), input.part_mass_kg[member]);
        if !parts.iter().any(|known| known.0 == part.0) {
            parts.push(part);
        }
    }
    let lightest = parts
        .iter()
        .filter_map(|(part, mass_kg)| Some((*part, (*mass_kg)?)))
        .min_by(|left, right| left.1.total_cmp(&right.1));
    let mut cautious_mean = Some(0.0);
    for &member in &pool.members {
        let cautious = cautious(&input.fitted[member])?;
        cautious_mean = cautious_mean
            .zip(mean_demand(&cautious)?)
            .map(|(sum, mean)| (sum + mean).min(MEAN_MAX));
    }
    let judged = pool.members.iter().any(|&member| {
        matches!(
            input.fitted[member].provenance,
            None | Some(RateProvenance::Judged(_))
        )
    });
    let first = parts.first().map_or("", |part| part.0);
    Ok(PoolCover {
        fitted: pool
            .members
            .iter()
            .map(|&member| input.fitted[member].quantity)
            .sum(),
        importance: input.importance.get(&pool.need).copied().unwrap_or(1.0),
        spare: lightest.map_or(first, |part| part.0).to_owned(),
        spare_mass_kg: lightest.map(|part| part.1),
        parts: parts.iter().map(|part| part.0.to_owned()).collect(),
        cautious_mean,
        judged,
        aboard: 0,
        all_in_one_vehicle: false,
        cover: None,
        pool,
    })
}

/// The fitment with the upper end of its counted rate.
fn cautious(fitted: &FittedPart) -> Result<FittedPart, InvalidInput> {
    let mut cautious = fitted.clone();
    if let Some(RateProvenance::Counted { count, exposure }) = fitted.provenance {
        let high = rate_from_count(count, exposure, CAUTIOUS_CONFIDENCE)?.high;
        cautious.rate = fitted.rate.map(|rate| match rate {
            DemandRate::PerDistance { .. } => DemandRate::PerDistance {
                per_100_000_km: high.min(100_000.0),
            },
            DemandRate::PerDay { .. } => DemandRate::PerDay {
                per_day: high.min(100.0),
            },
        });
    }
    Ok(cautious)
}

/// Gives what is aboard to the pools that it serves.
fn allot(input: &SparesInput, pools: &mut [PoolCover]) -> (Vec<Allotment>, Vec<(usize, NotCounted)>) {
    let (mut allotments, mut not_counted, mut several) = (Vec::new(), Vec::new(), Vec::new());
    for (index, spare) in input.aboard.iter().enumerate() {
        let all = |pool: &PoolCover, wanted: Option<bool>| {
            let mut members = pool.pool.members.iter();
            members.all(|&member| spare.serves[member] == wanted)
        };
        let served: Vec<usize> = (0..pools.len())
            .filter(|&pool| all(&pools[pool], Some(true)))
            .collect();
        match served.as_slice() {
            [] if spare.serves.contains(&Some(true)) => not_counted.push((index, NotCounted::ServesSome)),
            [] if spare.serves.contains(&None) => not_counted.push((index, NotCounted::NotKnown)),
            [] => not_counted.push((index, NotCounted::ServesNone)),
            [pool] => {
                pools[*pool].aboard = pools[*pool].aboard.saturating_add(spare.pieces).min(STOCK_MAX);
                allotments.push(Allotment {
                    aboard: index,
                    pool: *pool,
                    pieces: spare.pieces,
                });
            }
            _ => several.push((index, served)),
        }
    }
    for (index, served) in several {
        for _ in 0..input.aboard[index].pieces {
            let gain = |pool: usize| {
                let PoolCover {
                    pool: DemandPool { mean, .. },
                    importance,
                    aboard,
                    ..
                } = &pools[pool];
                importance * mean.map_or(0.0, |mean| poisson_cover(mean, *aboard).stock_out)
            };
            // Of equal gains the pool named first.
            let best = served
                .iter()
                .copied()
                .max_by(|&left, &right| gain(left).total_cmp(&gain(right)).then(right.cmp(&left)));
            let Some(best) = best.filter(|&best| pools[best].aboard < STOCK_MAX) else {
                break;
            };
            pools[best].aboard += 1;
            let same = allotments
                .iter_mut()
                .find(|allotment| (allotment.aboard, allotment.pool) == (index, best));
            match same {
                Some(allotment) => allotment.pieces += 1,
                None => allotments.push(Allotment {
                    aboard: index,
                    pool: best,
                    pieces: 1,
                }),
            }
        }
    }
    (allotments, not_counted)
}

fn additions(
    input: &SparesInput,
    pools: &[PoolCover],
    cover: Option<&KitCover>,
) -> Result<Vec<FrontierStep>, InvalidInput> {
    let (Some(cover_min), Some(cover)) = (input.cover_min, cover) else {
        return Ok(Vec::new());
    };
    let Some(spares) = choices(pools, |pool| pool.aboard).filter(|_| cover.no_stock_out < cover_min) else {
        return Ok(Vec::new());
    };
    let mut steps = frontier(&spares, MASS_UNLIMITED_KG)?.steps;
    let reached = steps.iter().position(|step| step.no_stock_out >= cover_min);
    steps.truncate(reached.map_or(0, |reached| reached + 1));
    Ok(steps)
}

fn check_input(input: &SparesInput) -> Result<(), InvalidInput> {
    let mut check = Check::new();
    if input.aboard.len() > ITEMS_MAX {
        let count = input.aboard.len();
        check.refuse("aboard", format!("must be at most {ITEMS_MAX}, are {count}"));
    }
    if input.part_mass_kg.len() != input.fitted.len() {
        check.refuse("part_mass_kg", "must be as many as `fitted`");
    }
    for (index, mass_kg) in input.part_mass_kg.iter().enumerate().take(ITEMS_MAX) {
        if let Some(mass_kg) = mass_kg {
            let (least, most) = (super::MASS_LEAST_KG, super::MASS_MAX_KG);
            check.between(format_args!("part_mass_kg[{index}]"), *mass_kg, least, most);
        }
    }
    for (index, spare) in input.aboard.iter().enumerate().take(ITEMS_MAX) {
        let field = |name| element("aboard", index, name);
        check.between(
            field("pieces"),
            f64::from(spare.pieces),
            0.0,
            f64::from(STOCK_MAX),
        );
        if let Some(mass_kg) = spare.mass_kg {
            check.between(field("mass_kg"), mass_kg, 0.0, super::MASS_MAX_KG);
        }
        if spare.serves.len() != input.fitted.len() {
            check.refuse(field("serves"), "must be as many as `fitted`");
        }
        if spare
            .carrier
            .is_some_and(|carrier| carrier >= input.carriers.len())
        {
            check.refuse(field("carrier"), "must be the index of a vehicle");
        }
    }
    for (need, importance) in &input.importance {
        check.between(format_args!("importance[{need:?}]"), *importance, 1e-6, 1_000.0);
    }
    if let Some(cover_min) = input.cover_min {
        check.between("cover_min", cover_min, 0.0, 0.999_999);
    }
    if let Some(budget_kg) = input.mass_budget_kg {
        check.between("mass_budget_kg", budget_kg, 0.0, MASS_UNLIMITED_KG);
    }
    check.finish()
}
