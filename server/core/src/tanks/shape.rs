//! Shapes of tanks: capacity, volume for a level and back, wetted surface, free surface, centre.
//!
//! Formulas are plain solid geometry. Inner dimensions, level floor, dished ends not included.

use std::f64::consts::PI;

use super::check_side;
use super::free_surface::Surface;
use crate::check::{Check, InvalidInput};

/// Cubic millimetres in a litre.
const MM3_PER_L: f64 = 1e6;
/// Square millimetres in a square metre.
const MM2_PER_M2: f64 = 1e6;
/// Halvings that take any level of an accepted shape below the resolution of `f64`.
const HALVINGS: usize = 64;

/// Which way the axis of a lying cylinder points.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CylinderAxis {
    /// Along the vehicle.
    Lengthwise,
    /// Across the vehicle.
    Crosswise,
}

/// The inside of a tank that stands level. Each side is between
/// [`SIDE_MIN_MM`](super::SIDE_MIN_MM) and [`SIDE_MAX_MM`](super::SIDE_MAX_MM).
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Shape {
    /// A box: length along the vehicle, width across it, height upright.
    RectangularPrism {
        /// Inner length along the vehicle.
        length_mm: f64,
        /// Inner width across the vehicle.
        width_mm: f64,
        /// Inner height.
        height_mm: f64,
    },
    /// A cylinder that lies, with flat ends.
    HorizontalCylinder {
        /// Inner diameter.
        diameter_mm: f64,
        /// Inner length along the axis.
        length_mm: f64,
        /// Direction of the axis.
        axis: CylinderAxis,
    },
    /// A cylinder that stands, with flat ends.
    VerticalCylinder {
        /// Inner diameter.
        diameter_mm: f64,
        /// Inner height.
        height_mm: f64,
    },
}

impl Shape {
    /// Checks the dimensions.
    ///
    /// # Errors
    /// Every dimension that is not a number within the accepted range.
    pub fn check(&self) -> Result<(), InvalidInput> {
        let mut check = Check::new();
        match *self {
            Self::RectangularPrism {
                length_mm,
                width_mm,
                height_mm,
            } => {
                check_side(&mut check, "length_mm", length_mm);
                check_side(&mut check, "width_mm", width_mm);
                check_side(&mut check, "height_mm", height_mm);
            }
            Self::HorizontalCylinder {
                diameter_mm,
                length_mm,
                axis: _,
            } => {
                check_side(&mut check, "diameter_mm", diameter_mm);
                check_side(&mut check, "length_mm", length_mm);
            }
            Self::VerticalCylinder {
                diameter_mm,
                height_mm,
            } => {
                check_side(&mut check, "diameter_mm", diameter_mm);
                check_side(&mut check, "height_mm", height_mm);
            }
        }
        check.finish()
    }

    /// Inner height from the floor to the roof, in millimetres.
    pub fn height_mm(&self) -> f64 {
        match *self {
            Self::RectangularPrism { height_mm, .. } | Self::VerticalCylinder { height_mm, .. } => height_mm,
            Self::HorizontalCylinder { diameter_mm, .. } => diameter_mm,
        }
    }

    /// Brimful volume in litres.
    ///
    /// # Errors
    /// Dimensions out of range.
    pub fn capacity_l(&self) -> Result<f64, InvalidInput> {
        self.check()?;
        Ok(self.volume_to(self.height_mm()))
    }

    /// Volume in litres of the liquid that stands `level_mm` above the floor.
    ///
    /// # Errors
    /// Dimensions out of range; a level below the floor or above the roof.
    pub fn volume_l(&self, level_mm: f64) -> Result<f64, InvalidInput> {
        self.check_level(level_mm)?;
        Ok(self.volume_to(level_mm))
    }

    /// Level in millimetres above the floor of a volume in litres: the inverse of
    /// [`volume_l`](Self::volume_l).
    ///
    /// # Errors
    /// Dimensions out of range; a negative volume or one above the capacity.
    pub fn level_mm(&self, volume_l: f64) -> Result<f64, InvalidInput> {
        let capacity_l = self.capacity_l()?;
        let mut check = Check::new();
        check.between("volume_l", volume_l, 0.0, capacity_l);
        check.finish()?;
        let level_mm = match *self {
            Self::RectangularPrism {
                length_mm, width_mm, ..
            } => volume_l * MM3_PER_L / (length_mm * width_mm),
            Self::VerticalCylinder { diameter_mm, .. } => volume_l * MM3_PER_L / circle_mm2(diameter_mm),
            Self::HorizontalCylinder {
                diameter_mm,
                length_mm,
                ..
            } => segment_level_mm(diameter_mm, volume_l * MM3_PER_L / length_mm),
        };
        Ok(level_mm.clamp(0.0, self.height_mm()))
    }

    /// Floor and wall surface in square metres that the liquid touches. The roof is not counted,
    /// even when the tank is brimful.
    ///
    /// # Errors
    /// Dimensions out of range; a level below the floor or above the roof.
    pub fn wetted_surface_m2(&self, level_mm: f64) -> Result<f64, InvalidInput> {
        self.check_level(level_mm)?;
        let wetted_mm2 = match *self {
            Self::RectangularPrism {
                length_mm, width_mm, ..
            } => length_mm * width_mm + 2.0 * level_mm * (length_mm + width_mm),
            Self::VerticalCylinder { diameter_mm, .. } => {
                circle_mm2(diameter_mm) + PI * diameter_mm * level_mm
            }
            Self::HorizontalCylinder {
                diameter_mm,
                length_mm,
                ..
            } => {
                let arc_mm = diameter_mm / 2.0 * segment_angle_rad(diameter_mm, level_mm);
                arc_mm * length_mm + 2.0 * segment_mm2(diameter_mm, level_mm)
            }
        };
        Ok(wetted_mm2 / MM2_PER_M2)
    }

    /// Outline of the free surface at a level, without walls inside the tank. A lying cylinder that
    /// is empty or brimful has none.
    ///
    /// # Errors
    /// Dimensions out of range; a level below the floor or above the roof.
    pub fn free_surface(&self, level_mm: f64) -> Result<Option<Surface>, InvalidInput> {
        self.check_level(level_mm)?;
        Ok(match *self {
            Self::RectangularPrism {
                length_mm, width_mm, ..
            } => Some(Surface::Rectangle { length_mm, width_mm }),
            Self::VerticalCylinder { diameter_mm, .. } => Some(Surface::Circle { diameter_mm }),
            Self::HorizontalCylinder {
                diameter_mm,
                length_mm,
                axis,
            } => {
                let chord_mm = 2.0 * (level_mm * (diameter_mm - level_mm)).max(0.0).sqrt();
                let surface = match axis {
                    CylinderAxis::Lengthwise => Surface::Rectangle {
                        length_mm,
                        width_mm: chord_mm,
                    },
                    CylinderAxis::Crosswise => Surface::Rectangle {
                        length_mm: chord_mm,
                        width_mm: length_mm,
                    },
                };
                (chord_mm >= super::SIDE_MIN_MM).then_some(surface)
            }
        })
    }

    /// Height in millimetres above the floor of the centre of the liquid at a level.
    ///
    /// # Errors
    /// Dimensions out of range; a level below the floor or above the roof.
    pub fn liquid_centre_mm(&self, level_mm: f64) -> Result<f64, InvalidInput> {
        self.check_level(level_mm)?;
        Ok(match *self {
            Self::RectangularPrism { .. } | Self::VerticalCylinder { .. } => level_mm / 2.0,
            Self::HorizontalCylinder { diameter_mm, .. } => segment_centre_mm(diameter_mm, level_mm),
        })
    }

    fn check_level(&self, level_mm: f64) -> Result<(), InvalidInput> {
        self.check()?;
        let mut check = Check::new();
        check.between("level_mm", level_mm, 0.0, self.height_mm());
        check.finish()
    }

    fn volume_to(&self, level_mm: f64) -> f64 {
        let volume_mm3 = match *self {
            Self::RectangularPrism {
                length_mm, width_mm, ..
            } => length_mm * width_mm * level_mm,
            Self::VerticalCylinder { diameter_mm, .. } => circle_mm2(diameter_mm) * level_mm,
            Self::HorizontalCylinder {
                diameter_mm,
                length_mm,
                ..
            } => segment_mm2(diameter_mm, level_mm) * length_mm,
        };
        volume_mm3 / MM3_PER_L
    }
}

fn circle_mm2(diameter_mm: f64) -> f64 {
    PI * diameter_mm * diameter_mm / 4.0
}

/// Angle at the centre of a circle that the chord at `level_mm` spans, from 0 (empty) to 2 pi.
fn segment_angle_rad(diameter_mm: f64, level_mm: f64) -> f64 {
    // Half-angle from the sine form: exact for a film on the floor, where acos loses its digits.
    4.0 * (level_mm / diameter_mm).clamp(0.0, 1.0).sqrt().asin()
}

/// `angle - sin(angle)` without cancellation for small angles.
fn angle_less_sine(angle_rad: f64) -> f64 {
    if angle_rad < 0.05 {
        let square = angle_rad * angle_rad;
        angle_rad * square / 6.0 * (1.0 - square / 20.0 * (1.0 - square / 42.0))
    } else {
        angle_rad - angle_rad.sin()
    }
}

fn segment_mm2(diameter_mm: f64, level_mm: f64) -> f64 {
    diameter_mm * diameter_mm / 8.0 * angle_less_sine(segment_angle_rad(diameter_mm, level_mm))
}

fn segment_level_mm(diameter_mm: f64, area_mm2: f64) -> f64 {
    let (mut low_mm, mut high_mm) = (0.0, diameter_mm);
    for _ in 0..HALVINGS {
        let middle_mm = f64::midpoint(low_mm, high_mm);
        if segment_mm2(diameter_mm, middle_mm) < area_mm2 {
            low_mm = middle_mm;
        } else {
            high_mm = middle_mm;
        }
    }
    f64::midpoint(low_mm, high_mm)
}

fn segment_centre_mm(diameter_mm: f64, level_mm: f64) -> f64 {
    let angle_rad = segment_angle_rad(diameter_mm, level_mm);
    if angle_rad < 1e-3 {
        // A thin segment is a parabola, whose centre lies at 3/5 of its height.
        return 0.6 * level_mm;
    }
    let below_axis_mm =
        diameter_mm / 2.0 * 4.0 * (angle_rad / 2.0).sin().powi(3) / (3.0 * angle_less_sine(angle_rad));
    (diameter_mm / 2.0 - below_axis_mm).clamp(0.0, level_mm)
}
