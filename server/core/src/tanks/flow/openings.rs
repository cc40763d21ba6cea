//! The chain of cells, and its holes cut into strips.

use std::f64::consts::PI;

use super::{Baffle, CELLS_MAX, Cell, Draw, HOLE_GROUPS_MAX, check_hole};
use crate::check::{Check, InvalidInput};
use crate::tanks::check_side;
use crate::units::STANDARD_GRAVITY_M_PER_S2;

/// A tank divided into a row of cells with a common floor and roof.
#[derive(Debug, Clone, PartialEq)]
pub struct CellChain {
    /// Inner height of every cell.
    pub height_mm: f64,
    /// Cells in their order, from 1 to [`CELLS_MAX`].
    pub cells: Vec<Cell>,
    /// Walls in their order: one fewer than cells; `baffles[i]` stands between `cells[i]` and
    /// `cells[i + 1]`.
    pub baffles: Vec<Baffle>,
}

impl CellChain {
    /// Checks cells, baffles and holes.
    ///
    /// # Errors
    /// Everything that is out of range, with its path.
    pub fn check(&self) -> Result<(), InvalidInput> {
        let mut check = Check::new();
        check_side(&mut check, "height_mm", self.height_mm);
        if !(1..=CELLS_MAX).contains(&self.cells.len()) {
            check.refuse(
                "cells",
                format!("must be 1 to {CELLS_MAX}, are {}", self.cells.len()),
            );
            return check.finish();
        }
        if self.baffles.len() != self.cells.len() - 1 {
            check.refuse(
                "baffles",
                format!("must be one fewer than cells, are {}", self.baffles.len()),
            );
            return check.finish();
        }
        for (index, cell) in self.cells.iter().enumerate() {
            check_side(&mut check, &format!("cells[{index}].length_mm"), cell.length_mm);
            check_side(&mut check, &format!("cells[{index}].width_mm"), cell.width_mm);
        }
        for (index, baffle) in self.baffles.iter().enumerate() {
            let path = format!("baffles[{index}].holes");
            if baffle.holes.len() > HOLE_GROUPS_MAX {
                check.refuse(
                    path,
                    format!("must be at most {HOLE_GROUPS_MAX}, are {}", baffle.holes.len()),
                );
                continue;
            }
            for (at, hole) in baffle.holes.iter().enumerate() {
                check_hole(&mut check, &format!("{path}[{at}]"), hole, self.height_mm);
            }
        }
        check.finish()
    }

    /// Brimful volume in litres.
    ///
    /// # Errors
    /// A chain that does not pass its check.
    pub fn capacity_l(&self) -> Result<f64, InvalidInput> {
        self.check()?;
        Ok(self.areas_m2().iter().sum::<f64>() * self.height_mm)
    }

    pub(super) fn areas_m2(&self) -> Vec<f64> {
        self.cells
            .iter()
            .map(|cell| cell.length_mm * cell.width_mm / 1e6)
            .collect()
    }

    /// The chain in metres and cubic metres per second. Call on a checked chain.
    pub(super) fn hydraulics(&self) -> Hydraulics {
        let openings = self.baffles.iter().enumerate().map(|(index, baffle)| {
            let breathes = self.cells[index].is_vented && self.cells[index + 1].is_vented;
            if breathes {
                Openings::of(baffle)
            } else {
                Openings::default()
            }
        });
        Hydraulics {
            height_m: self.height_mm / 1e3,
            areas_m2: self.areas_m2(),
            openings: openings.collect(),
        }
    }
}

impl Draw {
    pub(super) fn check(&self, check: &mut Check, chain: &CellChain) {
        if self.cell >= chain.cells.len() {
            check.refuse(
                "cell",
                format!("must be below the number of cells, {}", chain.cells.len()),
            );
        }
        check.up_to("rate_l_per_min", self.rate_l_per_min, RATE_MAX_L_PER_MIN);
        check.between("pickup_height_mm", self.pickup_height_mm, 0.0, chain.height_mm);
    }

    pub(super) fn rate_m3_per_s(&self) -> f64 {
        self.rate_l_per_min / 6e4
    }
}

/// Greatest draw that is accepted. Far above any pump of a vehicle.
pub(super) const RATE_MAX_L_PER_MIN: f64 = 10_000.0;

/// A checked chain in coherent units.
#[derive(Debug, Clone)]
pub(super) struct Hydraulics {
    pub(super) height_m: f64,
    pub(super) areas_m2: Vec<f64>,
    pub(super) openings: Vec<Openings>,
}

impl Hydraulics {
    pub(super) fn volume_m3(&self, levels_m: &[f64]) -> f64 {
        self.areas_m2
            .iter()
            .zip(levels_m)
            .map(|(area, level)| area * level)
            .sum()
    }
}

/// The holes of a baffle as horizontal strips.
#[derive(Debug, Clone, Default)]
pub(super) struct Openings {
    pub(super) strips: Vec<Strip>,
    /// Upper edge of the highest hole; 0 without holes.
    pub(super) top_m: f64,
}

/// A strip at one height: it passes `conductance * sqrt(head)`.
#[derive(Debug, Clone, Copy)]
pub(super) struct Strip {
    pub(super) height_m: f64,
    /// `Cd * area * sqrt(2 g)`, in m^2.5 / s.
    pub(super) conductance: f64,
}

/// Strips per hole.
const STRIPS: u32 = 16;

impl Openings {
    fn of(baffle: &Baffle) -> Self {
        let mut strips = Vec::with_capacity(baffle.holes.len() * STRIPS as usize);
        for hole in &baffle.holes {
            let radius_m = hole.diameter_mm / 2e3;
            for index in 1..=STRIPS {
                // Nodes and weights of Gauss-Chebyshev quadrature of the second kind: its weight
                // function is the chord of a circle, so the areas add up to the hole exactly.
                let angle = f64::from(index) * PI / f64::from(STRIPS + 1);
                let chord_weight = PI / f64::from(STRIPS + 1) * angle.sin().powi(2);
                let area_m2 = 2.0 * radius_m * radius_m * chord_weight * f64::from(hole.count);
                strips.push(Strip {
                    height_m: hole.height_mm / 1e3 + radius_m * angle.cos(),
                    conductance: hole.discharge_coefficient
                        * area_m2
                        * (2.0 * STANDARD_GRAVITY_M_PER_S2).sqrt(),
                });
            }
        }
        let top_mm = baffle
            .holes
            .iter()
            .map(|hole| hole.height_mm + hole.diameter_mm / 2.0)
            .fold(0.0, f64::max);
        Self {
            strips,
            top_m: top_mm / 1e3,
        }
    }

    /// Flow in cubic metres per second from the higher level to the lower. It never falls when the
    /// higher rises, and never rises when the lower does.
    pub(super) fn flow(&self, higher_m: f64, lower_m: f64) -> f64 {
        self.strips
            .iter()
            .map(|strip| strip.conductance * (higher_m - lower_m.max(strip.height_m)).max(0.0).sqrt())
            .sum()
    }
}
