//! Force characteristics of springs: linear, two-stage, progressive by table; leaf packs; air helpers.

use crate::check::{Check, InvalidInput};

/// Most points a progressive table may have.
pub const TABLE_POINTS_MAX: usize = 64;

/// Stiffest spring accepted, N/mm.
const RATE_MAX_N_PER_MM: f64 = 1e5;

/// A spring as a part: the same wherever it is fitted.
#[derive(Debug, Clone, PartialEq)]
pub struct Spring {
    /// Force over compression from the free length.
    pub characteristic: Characteristic,
    /// Length without load, mm; for a leaf pack its free camber height.
    pub free_length_mm: f64,
    /// What happens beyond the free length.
    pub hold: Hold,
    /// Length at which the coils touch, mm; `None` when not known or not a coil.
    pub solid_length_mm: Option<f64>,
}

/// Whether a spring can pull.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Hold {
    /// A coil standing in its seats: beyond its free length it is loose and carries nothing.
    Loose,
    /// A leaf pack or a clamped coil: beyond its free length it pulls, at its initial rate.
    Captive,
}

/// Force over compression. Compression is 0 at the free length.
#[derive(Debug, Clone, PartialEq)]
pub enum Characteristic {
    /// Constant rate.
    Linear {
        /// Rate, N/mm, above 0 to 100 000.
        rate_n_per_mm: f64,
    },
    /// One rate up to a compression, another beyond: helper leaf, coils that close up, dual coil.
    TwoStage {
        /// Rate up to the transition, N/mm.
        initial_rate_n_per_mm: f64,
        /// Compression at which the rate changes, mm, above 0.
        transition_compression_mm: f64,
        /// Rate beyond, N/mm.
        final_rate_n_per_mm: f64,
    },
    /// Measured points joined by straight lines; the last line goes on.
    Table {
        /// 2 to 64 points, the first at no compression and no force, both columns rising.
        points: Vec<ForcePoint>,
    },
}

/// One point of a measured characteristic.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ForcePoint {
    /// Compression from the free length, mm.
    pub compression_mm: f64,
    /// Force, N.
    pub force_n: f64,
}

/// Force and its slope at one compression.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SpringForce {
    /// Force, N; negative when the spring pulls.
    pub force_n: f64,
    /// Rate there, N/mm.
    pub rate_n_per_mm: f64,
}

/// An air spring beside the main spring: adds a preload and a rate, and cannot pull.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AirHelper {
    /// Force in the reference position at its set pressure, N, 0 or more.
    pub preload_n: f64,
    /// Rate added, N per mm of spring travel, 0 or more. Taken as constant; a real bag stiffens.
    pub rate_n_per_mm: f64,
}

impl Spring {
    /// A linear coil spring that stands loose in its seats.
    pub fn coil(rate_n_per_mm: f64, free_length_mm: f64) -> Self {
        Self {
            characteristic: Characteristic::Linear { rate_n_per_mm },
            free_length_mm,
            hold: Hold::Loose,
            solid_length_mm: None,
        }
    }

    /// A leaf pack by its rate and its free camber height.
    pub fn leaf_pack(rate_n_per_mm: f64, free_camber_height_mm: f64) -> Self {
        Self {
            characteristic: Characteristic::Linear { rate_n_per_mm },
            free_length_mm: free_camber_height_mm,
            hold: Hold::Captive,
            solid_length_mm: None,
        }
    }

    /// Force at a length between the seats, mm. For a checked spring and a finite length the result is finite.
    pub fn force_at_length(&self, length_mm: f64) -> SpringForce {
        let compression_mm = self.free_length_mm - length_mm;
        if compression_mm < 0.0 && self.hold == Hold::Loose {
            return SpringForce {
                force_n: 0.0,
                rate_n_per_mm: 0.0,
            };
        }
        self.characteristic.force_at(compression_mm)
    }

    /// Length under a load, mm: for finding the seat distance of a reference position whose load is known.
    ///
    /// # Errors
    /// An invalid spring, or a load that is negative or not finite.
    pub fn length_under_load_mm(&self, load_n: f64) -> Result<f64, InvalidInput> {
        let mut check = Check::new();
        check.merge("spring", self.check());
        check.non_negative("load_n", load_n);
        check.finish()?;
        Ok(self.free_length_mm - self.characteristic.compression_under(load_n))
    }

    /// Checks every field.
    ///
    /// # Errors
    /// All fields out of range.
    pub fn check(&self) -> Result<(), InvalidInput> {
        let mut check = Check::new();
        check.merge("", self.characteristic.check());
        check.between("free_length_mm", self.free_length_mm, -2_000.0, 5_000.0);
        if let Some(solid_length_mm) = self.solid_length_mm {
            check.between("solid_length_mm", solid_length_mm, 0.0, 5_000.0);
            if solid_length_mm >= self.free_length_mm {
                check.refuse(
                    "solid_length_mm",
                    format!(
                        "must be below the free length {}, is {solid_length_mm}",
                        self.free_length_mm
                    ),
                );
            }
        }
        check.finish()
    }
}

impl Characteristic {
    /// Force and rate at a compression; below 0 the first line goes on.
    pub fn force_at(&self, compression_mm: f64) -> SpringForce {
        match self {
            Self::Linear { rate_n_per_mm } => SpringForce {
                force_n: rate_n_per_mm * compression_mm,
                rate_n_per_mm: *rate_n_per_mm,
            },
            Self::TwoStage {
                initial_rate_n_per_mm,
                transition_compression_mm,
                final_rate_n_per_mm,
            } => {
                let beyond_mm = compression_mm - transition_compression_mm;
                if beyond_mm <= 0.0 {
                    let rate_n_per_mm = *initial_rate_n_per_mm;
                    SpringForce {
                        force_n: rate_n_per_mm * compression_mm,
                        rate_n_per_mm,
                    }
                } else {
                    let force_n =
                        initial_rate_n_per_mm * transition_compression_mm + final_rate_n_per_mm * beyond_mm;
                    SpringForce {
                        force_n,
                        rate_n_per_mm: *final_rate_n_per_mm,
                    }
                }
            }
            Self::Table { points } => {
                let (start, rate_n_per_mm) = line(points, |point| point.compression_mm < compression_mm);
                let force_n = start.force_n + rate_n_per_mm * (compression_mm - start.compression_mm);
                SpringForce {
                    force_n,
                    rate_n_per_mm,
                }
            }
        }
    }

    /// Compression under a force.
    fn compression_under(&self, force_n: f64) -> f64 {
        match self {
            Self::Linear { rate_n_per_mm } => force_n / rate_n_per_mm,
            Self::TwoStage {
                initial_rate_n_per_mm,
                transition_compression_mm,
                final_rate_n_per_mm,
            } => {
                let beyond_n = force_n - initial_rate_n_per_mm * transition_compression_mm;
                if beyond_n <= 0.0 {
                    force_n / initial_rate_n_per_mm
                } else {
                    transition_compression_mm + beyond_n / final_rate_n_per_mm
                }
            }
            Self::Table { points } => {
                let (start, rate_n_per_mm) = line(points, |point| point.force_n < force_n);
                start.compression_mm + (force_n - start.force_n) / rate_n_per_mm
            }
        }
    }

    fn check(&self) -> Result<(), InvalidInput> {
        let mut check = Check::new();
        let mut rate = |field: &str, value: f64| positive_up_to(&mut check, field, value, RATE_MAX_N_PER_MM);
        match self {
            Self::Linear { rate_n_per_mm } => rate("rate_n_per_mm", *rate_n_per_mm),
            Self::TwoStage {
                initial_rate_n_per_mm,
                transition_compression_mm,
                final_rate_n_per_mm,
            } => {
                rate("initial_rate_n_per_mm", *initial_rate_n_per_mm);
                rate("final_rate_n_per_mm", *final_rate_n_per_mm);
                positive_up_to(
                    &mut check,
                    "transition_compression_mm",
                    *transition_compression_mm,
                    2_000.0,
                );
            }
            Self::Table { points } => check_table(&mut check, points),
        }
        check.finish()
    }
}

/// The line that holds in a table: its start and its slope. `before` says whether a point lies before
/// the place asked for. A table with fewer than two points, which no check lets through, is a line of no force.
fn line(points: &[ForcePoint], before: impl Fn(&ForcePoint) -> bool) -> (ForcePoint, f64) {
    let end = points
        .partition_point(before)
        .clamp(1, points.len().saturating_sub(1).max(1));
    match (points.get(end - 1), points.get(end)) {
        (Some(start), Some(end)) => (
            *start,
            (end.force_n - start.force_n) / (end.compression_mm - start.compression_mm),
        ),
        _ => (
            ForcePoint {
                compression_mm: 0.0,
                force_n: 0.0,
            },
            0.0,
        ),
    }
}

/// Refuses a number that is not above 0 and at most `most`, once.
pub(super) fn positive_up_to(check: &mut Check, field: &str, value: f64, most: f64) {
    if value > most {
        check.between(field, value, 0.0, most);
    } else {
        check.positive(field, value);
    }
}

fn check_table(check: &mut Check, points: &[ForcePoint]) {
    if !(2..=TABLE_POINTS_MAX).contains(&points.len()) {
        check.refuse(
            "points",
            format!("must be 2 to {TABLE_POINTS_MAX}, are {}", points.len()),
        );
        return;
    }
    let mut previous: Option<&ForcePoint> = None;
    for (index, point) in points.iter().enumerate() {
        let compression = format!("points[{index}].compression_mm");
        let force = format!("points[{index}].force_n");
        check.between(&compression, point.compression_mm, 0.0, 2_000.0);
        check.between(&force, point.force_n, 0.0, 1e7);
        match previous {
            None => {
                if point.compression_mm != 0.0 || point.force_n != 0.0 {
                    check.refuse("points[0]", "must be no compression and no force");
                }
            }
            Some(previous) => {
                let run_mm = point.compression_mm - previous.compression_mm;
                let rise_n = point.force_n - previous.force_n;
                // A difference that is not a number was already refused above.
                if run_mm <= 0.0 {
                    check.refuse(compression, "must rise from point to point");
                } else if rise_n <= 0.0 {
                    check.refuse(force, "must rise from point to point");
                } else if rise_n / run_mm > RATE_MAX_N_PER_MM {
                    check.refuse(force, format!("rises faster than {RATE_MAX_N_PER_MM} N/mm"));
                }
            }
        }
        previous = Some(point);
    }
}

impl AirHelper {
    /// Force and rate after a spring travel from the reference position, mm, compression positive.
    pub fn force_at(&self, travel_mm: f64) -> SpringForce {
        let force_n = self.preload_n + self.rate_n_per_mm * travel_mm;
        if force_n > 0.0 {
            SpringForce {
                force_n,
                rate_n_per_mm: self.rate_n_per_mm,
            }
        } else {
            SpringForce {
                force_n: 0.0,
                rate_n_per_mm: 0.0,
            }
        }
    }

    /// Checks every field.
    ///
    /// # Errors
    /// All fields out of range.
    pub fn check(&self) -> Result<(), InvalidInput> {
        let mut check = Check::new();
        check.between("preload_n", self.preload_n, 0.0, 1e6);
        check.between("rate_n_per_mm", self.rate_n_per_mm, 0.0, RATE_MAX_N_PER_MM);
        check.finish()
    }
}
