//! Tyre designations: metric (`LT265/75R16 123/120Q`), flotation (`37x12.50R17.5LT`) and old inch
//! (`7.50R16`, `6.00-16`), with service description, ply rating, load range and tube mark.
//!
//! Parsing (module `parse`) is forgiving in case and spaces; printing is canonical, and what is printed
//! parses back to the same designation. The forms follow the marking that tyre makers use; the texts of ISO 4000-1
//! and UN R54 that define them were not seen.

use std::fmt;

use super::service::SpeedSymbol;

/// Millimetres in an inch, exact.
pub const MM_PER_INCH: f64 = 25.4;

/// A number written with at most two decimals, kept in hundredths so that it prints back exactly.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Hundredths(pub u32);

impl Hundredths {
    /// The number itself.
    pub fn value(self) -> f64 {
        f64::from(self.0) / 100.0
    }

    /// The number in millimetres when it counts inches.
    pub fn inches_in_mm(self) -> f64 {
        self.value() * MM_PER_INCH
    }

    /// Whether it has no decimals.
    pub fn is_whole(self) -> bool {
        self.0.is_multiple_of(100)
    }
}

/// Prints without trailing zeros; `{:.2}` prints two decimals.
impl fmt::Display for Hundredths {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (whole, rest) = (self.0 / 100, self.0 % 100);
        match rest {
            _ if formatter.precision() == Some(2) => write!(formatter, "{whole}.{rest:02}"),
            0 => write!(formatter, "{whole}"),
            _ if rest % 10 == 0 => write!(formatter, "{whole}.{}", rest / 10),
            _ => write!(formatter, "{whole}.{rest:02}"),
        }
    }
}

/// The size part of a designation. The rim diameter is always in inches.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Size {
    /// `265/75R16`: section width in mm, aspect ratio in per cent.
    Metric {
        /// Section width, mm.
        section_width_mm: u32,
        /// Section height over section width, per cent. Not written on full-profile sizes (`205R16`).
        aspect_percent: Option<u32>,
        /// Rim diameter, inches.
        rim_in: Hundredths,
    },
    /// `37x12.50R17.5`: overall diameter and section width in inches.
    Flotation {
        /// Overall diameter, inches.
        diameter_in: Hundredths,
        /// Section width, inches.
        section_width_in: Hundredths,
        /// Rim diameter, inches.
        rim_in: Hundredths,
    },
    /// `7.50R16`: section width in inches; the aspect ratio is not part of the designation.
    OldInch {
        /// Section width, inches.
        section_width_in: Hundredths,
        /// Rim diameter, inches.
        rim_in: Hundredths,
    },
}

impl Size {
    /// Rim diameter, inches.
    pub fn rim_in(&self) -> Hundredths {
        match *self {
            Self::Metric { rim_in, .. } | Self::Flotation { rim_in, .. } | Self::OldInch { rim_in, .. } => {
                rim_in
            }
        }
    }
}

/// How the carcass is built.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Construction {
    /// `R`.
    Radial,
    /// `-` or `D`, also called bias or cross ply.
    Diagonal,
    /// `B`.
    BiasBelted,
}

/// What service the size was made for, where it is marked.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum TyreClass {
    /// `P` before the size.
    Passenger,
    /// `LT` before a metric size, after an inch size.
    LightTruck,
    /// `C` after the size.
    Commercial,
    /// `T` before the size: a temporary-use spare.
    Temporary,
    /// `ST` before the size: trailers only.
    Trailer,
}

/// Load index for single and dual fitting, and speed symbol: `123/120Q`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct ServiceDescription {
    /// Load index when one tyre stands at each end of the axle.
    pub load_index_single: u32,
    /// Load index when two stand side by side.
    pub load_index_dual: Option<u32>,
    /// Speed symbol.
    pub speed_symbol: SpeedSymbol,
}

/// Whether the tyre is marked to run without or with a tube.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum TubeMark {
    /// `TL`, `tubeless`.
    Tubeless,
    /// `TT`, `tube type`.
    TubeType,
}

/// A tyre designation.
///
/// ```
/// use ostler_core::tyres::Designation;
///
/// let tyre: Designation = "lt265/75 r16 123/120q tubeless".parse().unwrap();
/// assert_eq!(tyre.to_string(), "LT265/75R16 123/120Q TL");
/// let refused = "265/75Q16".parse::<Designation>().unwrap_err();
/// assert_eq!(refused.position, 7);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Designation {
    /// Size.
    pub size: Size,
    /// Construction.
    pub construction: Construction,
    /// Class, where marked.
    pub class: Option<TyreClass>,
    /// Service description, where marked.
    pub service: Option<ServiceDescription>,
    /// Ply rating, where marked (`8PR`).
    pub ply_rating: Option<u32>,
    /// Load range letter A to N, where marked (`LR E`).
    pub load_range: Option<char>,
    /// Marked extra load (`XL`).
    pub extra_load: bool,
    /// Tube mark, where marked.
    pub tube: Option<TubeMark>,
}

impl fmt::Display for Designation {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        let metric = matches!(self.size, Size::Metric { .. });
        match self.class {
            Some(TyreClass::Passenger) => formatter.write_str("P")?,
            Some(TyreClass::Temporary) => formatter.write_str("T")?,
            Some(TyreClass::Trailer) => formatter.write_str("ST")?,
            Some(TyreClass::LightTruck) if metric => formatter.write_str("LT")?,
            _ => {}
        }
        let construction = match (self.construction, self.size) {
            (Construction::Radial, _) => 'R',
            (Construction::BiasBelted, _) => 'B',
            (Construction::Diagonal, Size::Metric { .. }) => 'D',
            (Construction::Diagonal, _) => '-',
        };
        match self.size {
            Size::Metric {
                section_width_mm,
                aspect_percent: Some(aspect),
                rim_in,
            } => {
                write!(formatter, "{section_width_mm}/{aspect}{construction}{rim_in}")?;
            }
            Size::Metric {
                section_width_mm,
                aspect_percent: None,
                rim_in,
            } => {
                write!(formatter, "{section_width_mm}{construction}{rim_in}")?;
            }
            Size::Flotation {
                diameter_in,
                section_width_in,
                rim_in,
            } => {
                write!(
                    formatter,
                    "{diameter_in}x{section_width_in:.2}{construction}{rim_in}"
                )?;
            }
            // Two decimals on whole-inch rims (7.50R16), none to spare on half-inch ones (9.5R17.5).
            Size::OldInch {
                section_width_in,
                rim_in,
            } if rim_in.is_whole() => {
                write!(formatter, "{section_width_in:.2}{construction}{rim_in}")?;
            }
            Size::OldInch {
                section_width_in,
                rim_in,
            } => {
                write!(formatter, "{section_width_in}{construction}{rim_in}")?;
            }
        }
        match self.class {
            Some(TyreClass::LightTruck) if !metric => formatter.write_str("LT")?,
            Some(TyreClass::Commercial) => formatter.write_str("C")?,
            _ => {}
        }
        self.write_marks(formatter)
    }
}

impl Designation {
    fn write_marks(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some(service) = self.service {
            write!(formatter, " {}", service.load_index_single)?;
            if let Some(dual) = service.load_index_dual {
                write!(formatter, "/{dual}")?;
            }
            write!(formatter, "{}", service.speed_symbol.letter())?;
        }
        if let Some(ply_rating) = self.ply_rating {
            write!(formatter, " {ply_rating}PR")?;
        }
        if let Some(load_range) = self.load_range {
            write!(formatter, " LR {load_range}")?;
        }
        if self.extra_load {
            formatter.write_str(" XL")?;
        }
        match self.tube {
            Some(TubeMark::Tubeless) => formatter.write_str(" TL"),
            Some(TubeMark::TubeType) => formatter.write_str(" TT"),
            None => Ok(()),
        }
    }
}
