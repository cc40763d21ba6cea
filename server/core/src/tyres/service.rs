//! Load index and speed symbol tables, and the capacity of a tyre in single and dual fitting.

use super::designation::{Designation, ServiceDescription};
use crate::check::{Check, InvalidInput};

/// Lowest load index of the table below.
pub const LOAD_INDEX_LEAST: u32 = 80;

/// Highest load index that the secondary copies read cover; higher rows are from memory.
pub const LOAD_INDEX_READ_MOST: u32 = 130;

/// Capacity of one tyre in kg for load indices from [`LOAD_INDEX_LEAST`] upwards.
///
/// 80 to 130: read in about nine independent secondary copies that agree and attribute it to
/// ISO 4000-1, ETRTO and UN R30; the regulation's annex itself was not seen. 131 to 150: from memory,
/// not verified; they follow the same progression of 45 kg × 10^(index/80) within 2 %.
const CAPACITY_KG: [f64; 71] = [
    450.0, 462.0, 475.0, 487.0, 500.0, 515.0, 530.0, 545.0, 560.0, 580.0, // 80
    600.0, 615.0, 630.0, 650.0, 670.0, 690.0, 710.0, 730.0, 750.0, 775.0, // 90
    800.0, 825.0, 850.0, 875.0, 900.0, 925.0, 950.0, 975.0, 1000.0, 1030.0, // 100
    1060.0, 1090.0, 1120.0, 1150.0, 1180.0, 1215.0, 1250.0, 1285.0, 1320.0, 1360.0, // 110
    1400.0, 1450.0, 1500.0, 1550.0, 1600.0, 1650.0, 1700.0, 1750.0, 1800.0, 1850.0, // 120
    1900.0, 1950.0, 2000.0, 2060.0, 2120.0, 2180.0, 2240.0, 2300.0, 2360.0, 2430.0, // 130
    2500.0, 2575.0, 2650.0, 2725.0, 2800.0, 2900.0, 3000.0, 3075.0, 3150.0, 3250.0, // 140
    3350.0, // 150
];

/// Capacity in kg of one tyre with this load index, at its rated pressure and speed; `None` when the
/// index is outside the table (80 to 150), that is: not known.
pub fn load_index_capacity_kg(load_index: u32) -> Option<f64> {
    let row = load_index.checked_sub(LOAD_INDEX_LEAST)?;
    CAPACITY_KG.get(usize::try_from(row).ok()?).copied()
}

/// Where the capacity of a load index comes from and how it was seen.
pub fn load_index_source(load_index: u32) -> &'static str {
    if (LOAD_INDEX_LEAST..=LOAD_INDEX_READ_MOST).contains(&load_index) {
        "load index table of ISO 4000-1 / UN R30, read in secondary copies"
    } else if load_index_capacity_kg(load_index).is_some() {
        "load index table, row from memory, not verified"
    } else {
        "not known: outside the table of 80 to 150"
    }
}

/// The lowest load index of the table whose capacity is at least `load_kg`; `None` above the table.
///
/// # Errors
/// A load that is negative or not finite.
pub fn load_index_for(load_kg: f64) -> Result<Option<u32>, InvalidInput> {
    let mut check = Check::new();
    check.non_negative("load_kg", load_kg);
    check.finish()?;
    Ok((LOAD_INDEX_LEAST..)
        .zip(CAPACITY_KG)
        .find(|(_, capacity_kg)| *capacity_kg >= load_kg)
        .map(|(index, _)| index))
}

/// One tyre at an end of the axle, or two side by side.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Fitting {
    /// One tyre.
    Single,
    /// Two tyres side by side; the dual load index counts for each.
    Dual,
}

/// The capacity of a tyre is not known by its marking.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("capacity not known: {missing} is missing")]
pub struct CapacityNotKnown {
    /// What is missing.
    pub missing: &'static str,
}

/// Capacity of one tyre in kg by its marking, at its rated pressure and speed.
///
/// # Errors
/// Names the part of the marking that is missing.
pub fn capacity_kg(designation: &Designation, fitting: Fitting) -> Result<f64, CapacityNotKnown> {
    let lacks = |missing| CapacityNotKnown { missing };
    let service = designation.service.ok_or(lacks("service description"))?;
    let load_index = match fitting {
        Fitting::Single => service.load_index_single,
        Fitting::Dual => service
            .load_index_dual
            .ok_or(lacks("load index for dual fitting"))?,
    };
    load_index_capacity_kg(load_index).ok_or(lacks("capacity of a load index outside 80 to 150"))
}

/// Speed symbol: the speed up to which the load index holds.
///
/// Read in secondary copies; Q, T, H, V, W and Y also read in a maker's handbook page.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum SpeedSymbol {
    /// 80 km/h.
    F,
    /// 90 km/h.
    G,
    /// 100 km/h.
    J,
    /// 110 km/h.
    K,
    /// 120 km/h.
    L,
    /// 130 km/h.
    M,
    /// 140 km/h.
    N,
    /// 150 km/h.
    P,
    /// 160 km/h.
    Q,
    /// 170 km/h.
    R,
    /// 180 km/h.
    S,
    /// 190 km/h.
    T,
    /// 200 km/h.
    U,
    /// 210 km/h. Out of the alphabet's order for historical reasons.
    H,
    /// 240 km/h.
    V,
    /// 270 km/h.
    W,
    /// 300 km/h.
    Y,
}

impl SpeedSymbol {
    /// All symbols, slowest first.
    pub const ALL: [Self; 17] = [
        Self::F,
        Self::G,
        Self::J,
        Self::K,
        Self::L,
        Self::M,
        Self::N,
        Self::P,
        Self::Q,
        Self::R,
        Self::S,
        Self::T,
        Self::U,
        Self::H,
        Self::V,
        Self::W,
        Self::Y,
    ];

    /// Letter and speed in km/h.
    const fn row(self) -> (char, f64) {
        match self {
            Self::F => ('F', 80.0),
            Self::G => ('G', 90.0),
            Self::J => ('J', 100.0),
            Self::K => ('K', 110.0),
            Self::L => ('L', 120.0),
            Self::M => ('M', 130.0),
            Self::N => ('N', 140.0),
            Self::P => ('P', 150.0),
            Self::Q => ('Q', 160.0),
            Self::R => ('R', 170.0),
            Self::S => ('S', 180.0),
            Self::T => ('T', 190.0),
            Self::U => ('U', 200.0),
            Self::H => ('H', 210.0),
            Self::V => ('V', 240.0),
            Self::W => ('W', 270.0),
            Self::Y => ('Y', 300.0),
        }
    }

    /// Its letter.
    pub const fn letter(self) -> char {
        self.row().0
    }

    /// Its speed, km/h.
    pub const fn speed_km_per_h(self) -> f64 {
        self.row().1
    }

    /// The symbol with this upper-case letter.
    pub fn from_letter(letter: char) -> Option<Self> {
        Self::ALL.into_iter().find(|symbol| symbol.letter() == letter)
    }

    /// The part of the load index that the tyre carries at a speed: 1 up to where the reduction
    /// begins, for V down to 0.91 at 240 km/h and for W down to 0.85 at 270 km/h, linear between
    /// (read in a secondary text of a tyre textbook). `None` above the symbol's speed.
    ///
    /// # Errors
    /// A speed that is negative or not finite.
    pub fn load_fraction_at(self, speed_km_per_h: f64) -> Result<Option<f64>, InvalidInput> {
        let mut check = Check::new();
        check.non_negative("speed_km_per_h", speed_km_per_h);
        check.finish()?;
        if speed_km_per_h > self.speed_km_per_h() {
            return Ok(None);
        }
        let (full_to_km_per_h, fraction_at_most) = match self {
            Self::V => (210.0, 0.91),
            Self::W => (240.0, 0.85),
            _ => (self.speed_km_per_h(), 1.0),
        };
        if speed_km_per_h <= full_to_km_per_h {
            return Ok(Some(1.0));
        }
        let way = (speed_km_per_h - full_to_km_per_h) / (self.speed_km_per_h() - full_to_km_per_h);
        Ok(Some(1.0 - way * (1.0 - fraction_at_most)))
    }
}

impl ServiceDescription {
    /// Whether a tyre of this service may replace one of `placard` on the same axle: no lower load
    /// index and no slower speed symbol. A rule of the trade; local law may differ.
    pub fn at_least(&self, placard: &Self) -> bool {
        let dual_holds = match (self.load_index_dual, placard.load_index_dual) {
            (_, None) => true,
            (Some(own), Some(asked)) => own >= asked,
            (None, Some(_)) => false,
        };
        self.load_index_single >= placard.load_index_single
            && dual_holds
            && self.speed_symbol >= placard.speed_symbol
    }
}
