//! The slow state of a drawn tank: every cell falls at the same rate, so each baffle passes the share
//! of the draw that the cells beyond it hold.
//!
//! A tank settles into this state while its holes lie below both surfaces. Starting from level cells
//! the pump's cell stands higher until then, so such a tank starves no earlier than said here. Once a
//! cell has fallen to the edge of a high hole it gives less than its share, the others must give more,
//! and the tank may starve at a higher fill: [`Starvation::AtFill`] says so and bounds it, and
//! [`run`](super::run) follows it exactly.

use super::Draw;
use super::openings::{CellChain, Hydraulics, Openings, RATE_MAX_L_PER_MIN};
use crate::check::{Check, InvalidInput};

/// Halvings that take a level or a draw below the resolution that matters.
const HALVINGS: usize = 60;

/// When the pump's cell falls to its pickup.
#[derive(Debug, Clone, PartialEq)]
pub enum Starvation {
    /// At a fill that is low, when the holes are large enough.
    AtFill {
        /// Volume in litres then left in the whole tank.
        volume_l: f64,
        /// The same as part of the capacity.
        fill_fraction: f64,
        /// Litres above the height of the pickup that are held back in other cells.
        held_back_l: f64,
        /// Whether every hole then still lies below the liquid on both its sides. If so, a tank whose
        /// cells started level starves no earlier than said; if not, it may starve at a higher fill.
        holes_are_covered: bool,
        /// Volume that is not exceeded when a tank starves whose cells started level, covered holes
        /// or not; `None` when a baffle could not pass the whole draw, so that there is no such bound.
        most_volume_l: Option<f64>,
    },
    /// Whatever the fill: the holes of a baffle do not pass what is asked of them even when the cell
    /// beyond it is brimful, so the pump's cell runs out ahead of the others.
    HolesTooSmall {
        /// Index of the first such baffle, counted outward from the pump's cell, left side first.
        baffle: usize,
        /// Flow asked of it.
        needed_l_per_min: f64,
        /// Flow it passes at most.
        passes_l_per_min: f64,
    },
    /// Whatever the fill: a cell gets no air and keeps its liquid.
    AirLocked {
        /// Index of the first such cell.
        cell: usize,
    },
}

/// The slow state of a tank at one volume.
#[derive(Debug, Clone, PartialEq)]
pub enum SteadyState {
    /// The holes keep the pump's cell above its pickup.
    Settled(SteadyLevels),
    /// The tank is so full that a cell beyond the pump's would have to stand above the roof. It settles
    /// once more has been drawn; until then the pump's cell stands higher than it will.
    TooFullToSettle,
    /// The pump's cell falls to its pickup; [`starvation`] says why.
    Starves,
}

/// Levels of a drawn tank that does not starve.
#[derive(Debug, Clone, PartialEq)]
pub struct SteadyLevels {
    /// Level of each cell above the floor.
    pub levels_mm: Vec<f64>,
    /// Difference of levels across each baffle, 0 or more: higher on the side away from the pump.
    pub heads_mm: Vec<f64>,
    /// Flow through each baffle towards the pump.
    pub flows_l_per_min: Vec<f64>,
}

/// Fill at which the pump's cell falls to its pickup under a lasting draw.
///
/// # Errors
/// A chain or draw out of range.
pub fn starvation(chain: &CellChain, draw: &Draw) -> Result<Starvation, InvalidInput> {
    check(chain, draw).finish()?;
    if let Some(cell) = first_without_air(chain) {
        return Ok(Starvation::AirLocked { cell });
    }
    let hydraulics = chain.hydraulics();
    let pickup_m = draw.pickup_height_mm / 1e3;
    // While no cell rises, no baffle passes more than the whole draw.
    let whole_draw = vec![draw.rate_m3_per_s(); hydraulics.openings.len()];
    let most_m = levels(&hydraulics, draw.cell, pickup_m, &whole_draw).ok();
    Ok(match settle(&hydraulics, draw, pickup_m) {
        Ok(levels_m) => {
            let volume_l = hydraulics.volume_m3(&levels_m) * 1e3;
            let area_m2: f64 = hydraulics.areas_m2.iter().sum();
            Starvation::AtFill {
                volume_l,
                fill_fraction: (volume_l / (area_m2 * chain.height_mm)).min(1.0),
                held_back_l: (volume_l - area_m2 * draw.pickup_height_mm).max(0.0),
                holes_are_covered: levels_m
                    .windows(2)
                    .zip(&hydraulics.openings)
                    .all(|(pair, openings)| pair[0].min(pair[1]) >= openings.top_m),
                most_volume_l: most_m.map(|levels_m| hydraulics.volume_m3(&levels_m) * 1e3),
            }
        }
        Err(overloaded) => Starvation::HolesTooSmall {
            baffle: overloaded.baffle,
            needed_l_per_min: overloaded.needed_m3_per_s * 6e4,
            passes_l_per_min: overloaded.passes_m3_per_s * 6e4,
        },
    })
}

/// Levels of a tank that holds `volume_l` under a lasting draw.
///
/// # Errors
/// A chain or draw out of range; a volume that is negative or above the capacity.
pub fn steady_state(chain: &CellChain, draw: &Draw, volume_l: f64) -> Result<SteadyState, InvalidInput> {
    check_with_volume(chain, draw, volume_l)?;
    if first_without_air(chain).is_some() {
        return Ok(SteadyState::Starves);
    }
    let hydraulics = chain.hydraulics();
    let volume_m3 = volume_l / 1e3;
    let (mut low_m, mut high_m) = (draw.pickup_height_mm / 1e3, hydraulics.height_m);
    let Some(mut levels_m) = settle_within(&hydraulics, draw, low_m, volume_m3) else {
        return Ok(SteadyState::Starves);
    };
    for _ in 0..HALVINGS {
        let middle_m = f64::midpoint(low_m, high_m);
        match settle_within(&hydraulics, draw, middle_m, volume_m3) {
            Some(found_m) => (low_m, levels_m) = (middle_m, found_m),
            None => high_m = middle_m,
        }
    }
    if hydraulics.volume_m3(&levels_m) < volume_m3 * (1.0 - 1e-9) {
        return Ok(SteadyState::TooFullToSettle);
    }
    let shares = shares(&hydraulics, draw);
    Ok(SteadyState::Settled(SteadyLevels {
        heads_mm: levels_m
            .windows(2)
            .map(|pair| (pair[0] - pair[1]).abs() * 1e3)
            .collect(),
        levels_mm: levels_m.iter().map(|level| level * 1e3).collect(),
        flows_l_per_min: shares.iter().map(|share| share * 6e4).collect(),
    }))
}

/// Greatest lasting draw in litres per minute at which the pump's cell of a tank that holds `volume_l`
/// does not starve yet; 0 when it starves at any draw.
///
/// # Errors
/// A chain, cell or pickup out of range; a volume that is negative or above the capacity.
pub fn greatest_draw_l_per_min(
    chain: &CellChain,
    cell: usize,
    pickup_height_mm: f64,
    volume_l: f64,
) -> Result<f64, InvalidInput> {
    let at = |rate_l_per_min: f64| Draw {
        cell,
        rate_l_per_min,
        pickup_height_mm,
    };
    check_with_volume(chain, &at(RATE_MAX_L_PER_MIN), volume_l)?;
    if first_without_air(chain).is_some() {
        return Ok(0.0);
    }
    let hydraulics = chain.hydraulics();
    let feeds = |rate_l_per_min: f64| {
        settle_within(
            &hydraulics,
            &at(rate_l_per_min),
            pickup_height_mm / 1e3,
            volume_l / 1e3,
        )
        .is_some()
    };
    if feeds(RATE_MAX_L_PER_MIN) {
        return Ok(RATE_MAX_L_PER_MIN);
    }
    let (mut low, mut high) = (0.0, RATE_MAX_L_PER_MIN);
    for _ in 0..HALVINGS {
        let middle = f64::midpoint(low, high);
        if feeds(middle) {
            low = middle;
        } else {
            high = middle;
        }
    }
    Ok(low)
}

fn check(chain: &CellChain, draw: &Draw) -> Check {
    let mut check = Check::new();
    if check.merge("chain", chain.check()).is_some() {
        let mut of_draw = Check::new();
        draw.check(&mut of_draw, chain);
        check.merge("draw", of_draw.finish());
    }
    check
}

fn check_with_volume(chain: &CellChain, draw: &Draw, volume_l: f64) -> Result<(), InvalidInput> {
    let mut check = check(chain, draw);
    match chain.capacity_l() {
        Ok(capacity_l) => check.between("volume_l", volume_l, 0.0, capacity_l),
        Err(_) => check.non_negative("volume_l", volume_l),
    }
    check.finish()
}

fn first_without_air(chain: &CellChain) -> Option<usize> {
    chain.cells.iter().position(|cell| !cell.is_vented)
}

/// Levels for a level of the pump's cell, if there are any that hold no more than `volume_m3`.
fn settle_within(
    hydraulics: &Hydraulics,
    draw: &Draw,
    pump_level_m: f64,
    volume_m3: f64,
) -> Option<Vec<f64>> {
    let levels_m = settle(hydraulics, draw, pump_level_m).ok()?;
    (hydraulics.volume_m3(&levels_m) <= volume_m3).then_some(levels_m)
}

/// A baffle that does not pass what is asked of it.
struct Overloaded {
    baffle: usize,
    needed_m3_per_s: f64,
    passes_m3_per_s: f64,
}

/// Flow asked of each baffle: the draw times the part of the plan area beyond it.
fn shares(hydraulics: &Hydraulics, draw: &Draw) -> Vec<f64> {
    let total_m2: f64 = hydraulics.areas_m2.iter().sum();
    (0..hydraulics.openings.len())
        .map(|baffle| {
            let beyond = if baffle < draw.cell {
                &hydraulics.areas_m2[..=baffle]
            } else {
                &hydraulics.areas_m2[baffle + 1..]
            };
            draw.rate_m3_per_s() * beyond.iter().sum::<f64>() / total_m2
        })
        .collect()
}

/// Levels of all cells, in metres, when the pump's cell stands at `pump_level_m`.
fn settle(hydraulics: &Hydraulics, draw: &Draw, pump_level_m: f64) -> Result<Vec<f64>, Overloaded> {
    levels(hydraulics, draw.cell, pump_level_m, &shares(hydraulics, draw))
}

/// Levels of all cells, in metres, when each baffle passes its flow of `flows_m3_per_s`.
fn levels(
    hydraulics: &Hydraulics,
    pump_cell: usize,
    pump_level_m: f64,
    flows_m3_per_s: &[f64],
) -> Result<Vec<f64>, Overloaded> {
    let mut levels_m = vec![pump_level_m; hydraulics.areas_m2.len()];
    for baffle in (0..pump_cell).rev() {
        levels_m[baffle] = upstream_level(hydraulics, baffle, levels_m[baffle + 1], flows_m3_per_s[baffle])?;
    }
    for baffle in pump_cell..flows_m3_per_s.len() {
        levels_m[baffle + 1] = upstream_level(hydraulics, baffle, levels_m[baffle], flows_m3_per_s[baffle])?;
    }
    Ok(levels_m)
}

fn upstream_level(
    hydraulics: &Hydraulics,
    baffle: usize,
    downstream_m: f64,
    needed_m3_per_s: f64,
) -> Result<f64, Overloaded> {
    let openings: &Openings = &hydraulics.openings[baffle];
    let passes_m3_per_s = openings.flow(hydraulics.height_m, downstream_m);
    if passes_m3_per_s < needed_m3_per_s {
        return Err(Overloaded {
            baffle,
            needed_m3_per_s,
            passes_m3_per_s,
        });
    }
    let (mut low_m, mut high_m) = (downstream_m, hydraulics.height_m);
    for _ in 0..HALVINGS {
        let middle_m = f64::midpoint(low_m, high_m);
        if openings.flow(middle_m, downstream_m) < needed_m3_per_s {
            low_m = middle_m;
        } else {
            high_m = middle_m;
        }
    }
    Ok(high_m)
}
