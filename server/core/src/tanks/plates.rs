//! Flat tank walls under pressure: stress, deflection and whether the thin-plate tables apply.
//!
//! Uniform pressure q on a rectangle a by b (b the short side), Poisson's ratio 0.3:
//! stress `beta q b^2 / t^2`, deflection `alpha q b^4 / (E t^3)`. Source of the tables: Roark's
//! Formulas for Stress and Strain, 7th edition, Table 11.4; case 1a (all edges simply supported) was
//! read; case 8a (all edges clamped) is from memory and was derived again by an energy solution of our
//! own, which agrees within 0.1 percent. A welded tank wall lies between the two.
//!
//! Between tabulated a/b values are interpolated linearly; beyond the last of them the value of an
//! endless strip is taken, which is on the safe side.

use super::check_side;
use crate::check::{Check, InvalidInput};
use crate::units::STANDARD_GRAVITY_M_PER_S2;

/// How the edges of a panel are held.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Edge {
    /// Free to turn: a panel on bolted or flexible edges.
    SimplySupported,
    /// Held against turning: continuous over stiff neighbours.
    Clamped,
}

/// A rectangular wall, or the bay of one between baffles or stiffeners.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Panel {
    /// One side, in any order.
    pub length_mm: f64,
    /// The other side.
    pub width_mm: f64,
    /// Thickness of the sheet.
    pub thickness_mm: f64,
    /// Young's modulus of the sheet, from 0.1 to 1000.
    pub modulus_gpa: f64,
    /// Yield strength of the sheet where it is known; of a weld, the lower one beside it.
    pub yield_mpa: Option<f64>,
    /// How its edges are held.
    pub edge: Edge,
}

/// What pressure does to a panel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PanelResult {
    /// Greatest stress: in the middle when simply supported, at the middle of the long edges when
    /// clamped.
    pub stress_mpa: f64,
    /// Deflection of the middle.
    pub deflection_mm: f64,
    /// Whether the sheet is no thicker than a quarter of the short side (thin-plate theory).
    pub is_thin: bool,
    /// Whether the deflection is no more than half the thickness. Beyond it the sheet works as a
    /// membrane: true deflection is smaller and the stress differs, so neither figure may be used.
    pub is_small_deflection: bool,
    /// Whether the stress stays below yield; `None` when the yield strength is not known.
    pub is_elastic: Option<bool>,
}

impl PanelResult {
    /// Whether every condition of the tables is known to hold, so that the figures may be used.
    /// Conditions: Roark, 8th edition (read).
    pub fn is_valid(&self) -> bool {
        self.is_thin && self.is_small_deflection && self.is_elastic == Some(true)
    }
}

/// Stress and deflection of a panel under a uniform pressure above the outside.
///
/// # Errors
/// Sides, thickness, modulus, strength or pressure out of range.
pub fn panel_under_pressure(panel: &Panel, pressure_kpa: f64) -> Result<PanelResult, InvalidInput> {
    let mut check = check_panel(panel);
    check.between("pressure_kpa", pressure_kpa, 0.0, PRESSURE_MAX_KPA);
    check.finish()?;
    let Coefficients {
        stress: beta,
        deflection: alpha,
    } = coefficients(panel);
    let short_mm = panel.length_mm.min(panel.width_mm);
    let pressure_mpa = pressure_kpa / 1e3;
    let slenderness = short_mm / panel.thickness_mm;
    let stress_mpa = beta * pressure_mpa * slenderness.powi(2);
    let deflection_mm = alpha * pressure_mpa * slenderness.powi(3) * short_mm / (panel.modulus_gpa * 1e3);
    Ok(PanelResult {
        stress_mpa,
        deflection_mm,
        is_thin: panel.thickness_mm <= short_mm / 4.0,
        is_small_deflection: deflection_mm <= panel.thickness_mm / 2.0,
        is_elastic: panel.yield_mpa.map(|yield_mpa| stress_mpa < yield_mpa),
    })
}

/// Greatest pressure in kilopascals at which a panel stays within the range of the tables: deflection
/// at most half its thickness, and stress at most its yield strength where that is known.
///
/// # Errors
/// Sides, thickness, modulus or strength out of range.
pub fn greatest_valid_pressure_kpa(panel: &Panel) -> Result<f64, InvalidInput> {
    check_panel(panel).finish()?;
    let Coefficients {
        stress: beta,
        deflection: alpha,
    } = coefficients(panel);
    let short_mm = panel.length_mm.min(panel.width_mm);
    let flatness = panel.thickness_mm / short_mm;
    let by_deflection_mpa = panel.modulus_gpa * 1e3 * flatness.powi(4) / (2.0 * alpha);
    let by_yield_mpa = panel
        .yield_mpa
        .map(|yield_mpa| yield_mpa * flatness.powi(2) / beta);
    Ok(1e3 * by_yield_mpa.map_or(by_deflection_mpa, |by_yield| by_yield.min(by_deflection_mpa)))
}

/// Pressure in kilopascals at the foot of a column of liquid, to add to the test pressure.
///
/// # Errors
/// A density or height out of range.
pub fn liquid_head_kpa(density_kg_per_m3: f64, head_mm: f64) -> Result<f64, InvalidInput> {
    let mut check = Check::new();
    super::check_liquid_density(&mut check, "density_kg_per_m3", density_kg_per_m3);
    check.between("head_mm", head_mm, 0.0, super::SIDE_MAX_MM);
    check.finish()?;
    Ok(density_kg_per_m3 * STANDARD_GRAVITY_M_PER_S2 * head_mm / 1e6)
}

/// Greatest pressure accepted. A tank that is not a pressure vessel sees a few tens.
const PRESSURE_MAX_KPA: f64 = 10_000.0;

/// Coefficients of one row: stress (beta) and deflection (alpha).
#[derive(Clone, Copy)]
struct Coefficients {
    stress: f64,
    deflection: f64,
}

/// A row: a/b, stress, deflection.
type Row = (f64, f64, f64);

/// Case 1a, with the row of an endless strip last.
const SIMPLY_SUPPORTED: [Row; 10] = [
    (1.0, 0.2874, 0.0444),
    (1.2, 0.3762, 0.0616),
    (1.4, 0.4530, 0.0770),
    (1.6, 0.5172, 0.0906),
    (1.8, 0.5688, 0.1017),
    (2.0, 0.6102, 0.1110),
    (3.0, 0.7134, 0.1335),
    (4.0, 0.7410, 0.1400),
    (5.0, 0.7476, 0.1417),
    (f64::INFINITY, 0.7500, 0.1421),
];

/// Case 8a, with the row of an endless strip last.
const CLAMPED: [Row; 7] = [
    (1.0, 0.3078, 0.0138),
    (1.2, 0.3834, 0.0188),
    (1.4, 0.4356, 0.0226),
    (1.6, 0.4680, 0.0251),
    (1.8, 0.4872, 0.0267),
    (2.0, 0.4974, 0.0277),
    (f64::INFINITY, 0.5000, 0.0284),
];

fn check_panel(panel: &Panel) -> Check {
    let mut check = Check::new();
    check_side(&mut check, "length_mm", panel.length_mm);
    check_side(&mut check, "width_mm", panel.width_mm);
    check_side(&mut check, "thickness_mm", panel.thickness_mm);
    check.between("modulus_gpa", panel.modulus_gpa, 0.1, 1_000.0);
    if let Some(yield_mpa) = panel.yield_mpa {
        check.positive("yield_mpa", yield_mpa);
    }
    check
}

fn coefficients(panel: &Panel) -> Coefficients {
    let rows: &[Row] = match panel.edge {
        Edge::SimplySupported => &SIMPLY_SUPPORTED,
        Edge::Clamped => &CLAMPED,
    };
    let long_mm = panel.length_mm.max(panel.width_mm);
    let ratio = long_mm / panel.length_mm.min(panel.width_mm);
    let mut found = Coefficients {
        stress: rows[0].1,
        deflection: rows[0].2,
    };
    for pair in rows.windows(2) {
        let ((from, stress_from, deflection_from), (to, stress_to, deflection_to)) = (pair[0], pair[1]);
        if ratio <= from {
            break;
        }
        // Into the endless strip there is no way to interpolate: its own value.
        let along = if to.is_finite() {
            ((ratio - from) / (to - from)).min(1.0)
        } else {
            1.0
        };
        found.stress = stress_from + along * (stress_to - stress_from);
        found.deflection = deflection_from + along * (deflection_to - deflection_from);
    }
    found
}
