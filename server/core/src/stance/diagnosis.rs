//! Why a vehicle leans: hypotheses ranked by how well each explains measured heights, and the measurement that
//! best separates the leading two.
//!
//! Each hypothesis predicts every reading through the position of rest. Readings err normally with their stated
//! standard deviation, on top of what no tape can see: arches and springs differ from corner to corner
//! ([`Tolerances::corner_sd_mm`]) and recorded heights of an axle are off together
//! ([`Tolerances::axle_sd_mm`]). A free amount is averaged over its prior, which keeps a hypothesis that could
//! explain anything from winning by that. Probabilities are among the listed hypotheses only, and no better than
//! the priors, which are an argument.

use super::heights::VehiclePoint;
use super::next_measurement::{self, Candidate};
use super::ranking;
use super::result::StanceError;
use super::springs::{Spring, positive_up_to};
use super::vehicle::{AxlePosition, SprungMass, SprungVehicle, Wheel};
use crate::check::{Check, InvalidInput};

/// Most readings of one diagnosis.
pub const READINGS_MAX: usize = 32;
/// Most spring variants of one diagnosis.
pub const VARIANTS_MAX: usize = 32;

/// What a diagnosis starts from.
#[derive(Debug, Clone, Copy)]
pub struct DiagnosisInput<'a> {
    /// The vehicle as the record has it: the parts that should be fitted, on their sides, with the load that was
    /// aboard when the heights were taken.
    pub recorded: &'a SprungVehicle,
    /// The wheel arch points in the reference position, in the order of [`Wheel::ALL`].
    pub arches: &'a [VehiclePoint; 4],
    /// Heights measured, 1 to 32.
    pub readings: &'a [HeightReading],
    /// What is known of the floor.
    pub floor: Floor,
    /// Other springs of the catalogue that could be fitted by mistake, at most 32.
    pub variants: &'a [SpringVariant],
    /// The sprung mass with the vehicle unladen; `None` when not known, and then no measurement unladen is proposed.
    pub unladen: Option<SprungMass>,
    /// Prior probabilities and spreads.
    pub priors: &'a Priors,
    /// Scatter of vehicle and instruments.
    pub tolerances: &'a Tolerances,
}

/// One measured height.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HeightReading {
    /// The wheel at which it was taken.
    pub wheel: Wheel,
    /// From where to where.
    pub kind: HeightKind,
    /// The reading, mm, 0 to 10 000.
    pub height_mm: f64,
    /// Standard deviation of the reading, mm, 0.5 to 100: no tape against a painted edge does better.
    pub standard_deviation_mm: f64,
}

/// From where to where a height was measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum HeightKind {
    /// Arch down to the floor beside the tyre. A plane slope of the floor does not show in it, an uneven floor does.
    ArchToFloor,
    /// Arch to a level line (water level, laser), given as if the line were at the reference ground.
    /// Any slope of the floor shows in it.
    ArchToLevelLine,
    /// Hub centre up to the arch: free of tyre and of a plane slope of the floor.
    HubToArch,
}

/// What is known of the floor.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Floor {
    /// Stated to be level.
    StatedLevel,
    /// Nothing was said about it.
    NotStated,
}

/// A spring that could be fitted by mistake.
#[derive(Debug, Clone, PartialEq)]
pub struct SpringVariant {
    /// Number and variant of the part.
    pub part: String,
    /// The axle it fits.
    pub axle: AxlePosition,
    /// The spring.
    pub spring: Spring,
}

/// Prior probability of each kind of cause and the spread of its amount. A kind's probability is shared evenly
/// among its members (two axles, four wheels, variants by wheels); kinds that cannot apply are left out and the
/// rest scaled up.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Priors {
    /// The vehicle is as recorded.
    pub as_recorded: f64,
    /// Springs exchanged left for right on an axle.
    pub springs_exchanged: f64,
    /// One spring is another part.
    pub other_variant: f64,
    /// One spring has sagged.
    pub sagged: f64,
    /// The load sits off centre otherwise than recorded.
    pub cargo_off_centre: f64,
    /// A mass is aboard that is not recorded.
    pub unrecorded_mass: f64,
    /// The floor is not level though stated to be.
    pub floor_stated_level: f64,
    /// The floor is not level when nothing was said about it.
    pub floor_not_stated: f64,
    /// Scale of the half-normal prior of a sag, mm.
    pub sag_scale_mm: f64,
    /// Standard deviation of the lateral moment of a load off centre, N m.
    pub cargo_moment_sd_nm: f64,
    /// Mean of the exponential prior of an unrecorded mass, kg.
    pub unrecorded_mass_scale_kg: f64,
    /// Standard deviation of the fall of the floor across a track, mm.
    pub floor_fall_sd_mm: f64,
}

impl Default for Priors {
    /// Common practice, no source: a shop's rough experience of newly sprung vehicles.
    fn default() -> Self {
        Self {
            as_recorded: 0.25,
            springs_exchanged: 0.20,
            other_variant: 0.15,
            sagged: 0.15,
            cargo_off_centre: 0.15,
            unrecorded_mass: 0.10,
            floor_stated_level: 0.01,
            floor_not_stated: 0.15,
            sag_scale_mm: 15.0,
            cargo_moment_sd_nm: 250.0,
            unrecorded_mass_scale_kg: 60.0,
            floor_fall_sd_mm: 12.0,
        }
    }
}

/// Scatter that is not in the readings' own standard deviations.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tolerances {
    /// Arch and spring scatter of one corner, mm, 1 to 100: no two corners of a vehicle agree better, and the
    /// grids over the free amounts are made for it.
    pub corner_sd_mm: f64,
    /// Error of the recorded heights common to an axle, mm, 0 to 500.
    pub axle_sd_mm: f64,
    /// A height measured next, mm, 0.5 to 100.
    pub height_sd_mm: f64,
    /// A free length measured next, mm, 0.5 to 100.
    pub free_length_sd_mm: f64,
    /// A wheel load weighed next, kg, 0.1 to 1 000.
    pub wheel_load_sd_kg: f64,
}

impl Default for Tolerances {
    /// Common practice, no source.
    fn default() -> Self {
        Self {
            corner_sd_mm: 3.0,
            axle_sd_mm: 15.0,
            height_sd_mm: 2.0,
            free_length_sd_mm: 2.0,
            wheel_load_sd_kg: 5.0,
        }
    }
}

/// A cause that could explain a lean.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Hypothesis {
    /// The vehicle is as recorded; the readings scatter.
    AsRecorded,
    /// The left and the right spring of an axle are exchanged.
    SpringsExchanged {
        /// The axle.
        axle: AxlePosition,
    },
    /// One spring is another part.
    OtherVariant {
        /// Where.
        wheel: Wheel,
        /// Index into the input's variants.
        variant: usize,
    },
    /// One spring is shorter than recorded.
    Sagged {
        /// Where.
        wheel: Wheel,
    },
    /// The load sits further to a side than recorded.
    CargoOffCentre,
    /// Something is aboard that is not recorded.
    UnrecordedMass,
    /// The floor falls across an axle.
    FloorNotLevel,
}

/// The free amount of a hypothesis, as the readings leave it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Amount {
    /// Mean.
    pub mean: f64,
    /// Standard deviation.
    pub standard_deviation: f64,
    /// `mm` (sag; fall of the floor to the right, at the rear axle unless only the front was read), `N m` (moment
    /// to the right) or `kg`.
    pub unit: &'static str,
}

/// A hypothesis with its probability and what it predicts.
#[derive(Debug, Clone, PartialEq)]
pub struct RankedHypothesis {
    /// Which.
    pub hypothesis: Hypothesis,
    /// Probability before the readings.
    pub prior: f64,
    /// Probability after them.
    pub probability: f64,
    /// Its free amount, when it has one.
    pub amount: Option<Amount>,
    /// Arch above the floor beside its tyre, mm, predicted for each wheel (amount averaged).
    pub arch_to_floor_mm: [f64; 4],
    /// Hub to arch, mm, predicted for each wheel.
    pub hub_to_arch_mm: [f64; 4],
    /// Predicted left minus right height of arch above floor, front and rear, mm: positive when the right is lower.
    pub side_difference_mm: [f64; 2],
    /// For a person to read.
    pub explanation: String,
}

/// A hypothesis that was not weighed.
#[derive(Debug, Clone, PartialEq)]
pub struct NotWeighed {
    /// Which.
    pub hypothesis: Hypothesis,
    /// Why.
    pub reason: String,
}

/// The outcome of a diagnosis.
#[derive(Debug, Clone, PartialEq)]
pub struct Diagnosis {
    /// Most probable first; the probabilities sum to 1.
    pub hypotheses: Vec<RankedHypothesis>,
    /// Hypotheses that cannot apply or could not be computed.
    pub not_weighed: Vec<NotWeighed>,
    /// What to measure next to tell the leading two apart, best first; empty with fewer than two hypotheses.
    pub next_measurements: Vec<Candidate>,
    /// To show with it.
    pub cautions: Vec<&'static str>,
}

/// Ranks the causes of a lean.
///
/// # Errors
/// Fields out of range, or a recorded vehicle that has no position of rest.
pub fn diagnose(input: &DiagnosisInput<'_>) -> Result<Diagnosis, StanceError> {
    input.check()?;
    // A record whose vehicle does not stand explains nothing: say so rather than rank the rest.
    super::solve(input.recorded)?;
    let (weighed, not_weighed) = ranking::weigh(input)?;
    let next_measurements = match weighed.as_slice() {
        [leading, second, ..] => next_measurement::candidates(input, leading, second),
        _ => Vec::new(),
    };
    Ok(Diagnosis {
        hypotheses: weighed.into_iter().map(|weighed| weighed.ranked).collect(),
        not_weighed,
        next_measurements,
        cautions: vec![
            super::CAUTION_COMPUTED_STANCE,
            super::CAUTION_LIFTING,
            super::CAUTION_SPRING_UNDER_LOAD,
        ],
    })
}

impl DiagnosisInput<'_> {
    /// Checks every field.
    ///
    /// # Errors
    /// All fields out of range.
    pub fn check(&self) -> Result<(), InvalidInput> {
        let mut check = Check::new();
        check.merge("recorded", self.recorded.check());
        for (index, arch) in self.arches.iter().enumerate() {
            check.merge(format_args!("arches[{index}]"), arch.check());
        }
        if !(1..=READINGS_MAX).contains(&self.readings.len()) {
            check.refuse(
                "readings",
                format!("must be 1 to {READINGS_MAX}, are {}", self.readings.len()),
            );
        } else {
            for (index, reading) in self.readings.iter().enumerate() {
                check.merge(format_args!("readings[{index}]"), reading.check());
            }
        }
        if self.variants.len() > VARIANTS_MAX {
            check.refuse(
                "variants",
                format!("must be at most {VARIANTS_MAX}, are {}", self.variants.len()),
            );
        } else {
            for (index, variant) in self.variants.iter().enumerate() {
                check.merge(format_args!("variants[{index}].spring"), variant.spring.check());
            }
        }
        if let Some(unladen) = self.unladen {
            check.merge("unladen", unladen.check());
        }
        check.merge("priors", self.priors.check());
        check.merge("tolerances", self.tolerances.check());
        check.finish()
    }
}

impl HeightReading {
    fn check(&self) -> Result<(), InvalidInput> {
        let mut check = Check::new();
        check.between("height_mm", self.height_mm, 0.0, 10_000.0);
        check.between("standard_deviation_mm", self.standard_deviation_mm, 0.5, 100.0);
        check.finish()
    }
}

impl Priors {
    /// Checks every field.
    ///
    /// # Errors
    /// A probability outside 0 to 1, a spread that is not above 0, or no probability for the recorded state.
    pub fn check(&self) -> Result<(), InvalidInput> {
        let mut check = Check::new();
        positive_up_to(&mut check, "as_recorded", self.as_recorded, 1.0);
        check.between("springs_exchanged", self.springs_exchanged, 0.0, 1.0);
        check.between("other_variant", self.other_variant, 0.0, 1.0);
        check.between("sagged", self.sagged, 0.0, 1.0);
        check.between("cargo_off_centre", self.cargo_off_centre, 0.0, 1.0);
        check.between("unrecorded_mass", self.unrecorded_mass, 0.0, 1.0);
        check.between("floor_stated_level", self.floor_stated_level, 0.0, 1.0);
        check.between("floor_not_stated", self.floor_not_stated, 0.0, 1.0);
        positive_up_to(&mut check, "sag_scale_mm", self.sag_scale_mm, 100.0);
        positive_up_to(
            &mut check,
            "cargo_moment_sd_nm",
            self.cargo_moment_sd_nm,
            10_000.0,
        );
        positive_up_to(
            &mut check,
            "unrecorded_mass_scale_kg",
            self.unrecorded_mass_scale_kg,
            2_000.0,
        );
        positive_up_to(&mut check, "floor_fall_sd_mm", self.floor_fall_sd_mm, 60.0);
        check.finish()
    }
}

impl Tolerances {
    /// Checks every field.
    ///
    /// # Errors
    /// A scatter out of range.
    pub fn check(&self) -> Result<(), InvalidInput> {
        let mut check = Check::new();
        check.between("corner_sd_mm", self.corner_sd_mm, 1.0, 100.0);
        check.between("axle_sd_mm", self.axle_sd_mm, 0.0, 500.0);
        check.between("height_sd_mm", self.height_sd_mm, 0.5, 100.0);
        check.between("free_length_sd_mm", self.free_length_sd_mm, 0.5, 100.0);
        check.between("wheel_load_sd_kg", self.wheel_load_sd_kg, 0.1, 1_000.0);
        check.finish()
    }
}
