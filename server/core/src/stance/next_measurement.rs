//! What to measure next: for each candidate, how far apart the leading two hypotheses put its outcome, in
//! standard deviations of that outcome.

use nalgebra::linalg::Cholesky;
use nalgebra::{DMatrix, DVector};

use super::diagnosis::{DiagnosisInput, HeightKind};
use super::observables::{Observables, side_difference};
use super::ranking::Weighed;
use super::vehicle::{AxlePosition, Side, Wheel};
use crate::units::STANDARD_GRAVITY_M_PER_S2;

/// A measurement that can be made.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Measurement {
    /// Arch heights left and right of an axle, to the floor.
    ArchHeights {
        /// The axle.
        axle: AxlePosition,
    },
    /// Hub-to-arch heights left and right of an axle.
    HubToArch {
        /// The axle.
        axle: AxlePosition,
    },
    /// Arch heights left and right of an axle with the vehicle turned round on the same spot: a fault of the
    /// floor changes sides, one of the vehicle does not.
    TurnedRound {
        /// The axle.
        axle: AxlePosition,
    },
    /// Arch heights left and right of an axle with the vehicle unladen.
    Unladen {
        /// The axle.
        axle: AxlePosition,
    },
    /// The four wheel loads on scales.
    WheelLoads,
    /// The free length of one spring, taken out.
    FreeLength {
        /// Where.
        wheel: Wheel,
    },
}

/// What one number of a measurement will be under either hypothesis.
#[derive(Debug, Clone, PartialEq)]
pub struct Prediction {
    /// What it is: `rear arches, left minus right`.
    pub quantity: String,
    /// `mm` or `kg`.
    pub unit: &'static str,
    /// Under the leading hypothesis.
    pub leading: f64,
    /// Under the second.
    pub second: f64,
    /// Standard deviation of the outcome: instrument, vehicle scatter and what the hypotheses leave open.
    pub standard_deviation: f64,
}

/// A measurement with how well it separates the leading two hypotheses.
#[derive(Debug, Clone, PartialEq)]
pub struct Candidate {
    /// Which.
    pub measurement: Measurement,
    /// Its numbers.
    pub predictions: Vec<Prediction>,
    /// Distance between the two predictions in standard deviations: below 1 it hardly tells, above 3 it decides.
    pub standardised_difference: f64,
    /// To show with it, when making it can hurt.
    pub caution: Option<&'static str>,
}

/// All candidates, best first.
pub(super) fn candidates(input: &DiagnosisInput<'_>, leading: &Weighed, second: &Weighed) -> Vec<Candidate> {
    let mut all: Vec<Candidate> = measurements(input)
        .into_iter()
        .map(|measurement| candidate(input, measurement, leading, second))
        .collect();
    // Stable: measurements that tell alike stay in the order of their effort.
    all.sort_by(|a, b| b.standardised_difference.total_cmp(&a.standardised_difference));
    all
}

/// Those that were not made yet, least effort first.
fn measurements(input: &DiagnosisInput<'_>) -> Vec<Measurement> {
    let read = |axle: AxlePosition, kind: HeightKind| {
        [Side::Left, Side::Right].iter().all(|side| {
            let wheel = Wheel::of(axle, *side);
            input
                .readings
                .iter()
                .any(|reading| reading.wheel == wheel && reading.kind == kind)
        })
    };
    let axles = AxlePosition::ALL;
    let mut all = Vec::new();
    let arches = axles
        .into_iter()
        .filter(|axle| !read(*axle, HeightKind::ArchToFloor));
    all.extend(arches.map(|axle| Measurement::ArchHeights { axle }));
    let hubs = axles
        .into_iter()
        .filter(|axle| !read(*axle, HeightKind::HubToArch));
    all.extend(hubs.map(|axle| Measurement::HubToArch { axle }));
    all.extend(axles.map(|axle| Measurement::TurnedRound { axle }));
    if input.unladen.is_some() {
        all.extend(axles.map(|axle| Measurement::Unladen { axle }));
    }
    all.push(Measurement::WheelLoads);
    all.extend(Wheel::ALL.map(|wheel| Measurement::FreeLength { wheel }));
    all
}

/// One number of a measurement: its name, unit, standard deviation, and how it follows from a state.
struct Quantity {
    name: String,
    unit: &'static str,
    standard_deviation: f64,
    of: Box<dyn Fn(&Observables) -> f64>,
}

fn quantities(input: &DiagnosisInput<'_>, measurement: Measurement) -> Vec<Quantity> {
    let tolerances = input.tolerances;
    // A difference of two heights, each with the tape's and its corner's scatter.
    let height_sd = (2.0 * (tolerances.height_sd_mm.powi(2) + tolerances.corner_sd_mm.powi(2))).sqrt();
    let heights = |axle: AxlePosition, what: &str, of: fn(&Observables) -> [f64; 4]| {
        vec![Quantity {
            name: format!("{} {what}, left minus right", axle.words()),
            unit: "mm",
            standard_deviation: height_sd,
            of: Box::new(move |observables| side_difference(&of(observables), axle)),
        }]
    };
    match measurement {
        Measurement::ArchHeights { axle } => heights(axle, "arches", |seen| seen.arch_to_floor_mm),
        Measurement::HubToArch { axle } => heights(axle, "hub to arch", |seen| seen.hub_to_arch_mm),
        Measurement::TurnedRound { axle } => heights(axle, "arches turned round", |seen| seen.turned_mm),
        Measurement::Unladen { axle } => heights(axle, "arches unladen", |seen| {
            seen.unladen_mm.unwrap_or(seen.arch_to_floor_mm)
        }),
        Measurement::WheelLoads => Wheel::ALL
            .map(|wheel| Quantity {
                name: format!("{} wheel load", wheel.words()),
                unit: "kg",
                standard_deviation: wheel_load_sd_kg(input, wheel),
                of: Box::new(move |seen| seen.load_kg[wheel.index()]),
            })
            .into(),
        Measurement::FreeLength { wheel } => vec![Quantity {
            name: format!("{} spring, free length", wheel.words()),
            unit: "mm",
            standard_deviation: tolerances.free_length_sd_mm,
            of: Box::new(move |seen| seen.free_length_mm[wheel.index()]),
        }],
    }
}

/// The scale's scatter, and that of a corner carried by its spring: taken whole, which rather understates how
/// well a weighing tells.
fn wheel_load_sd_kg(input: &DiagnosisInput<'_>, wheel: Wheel) -> f64 {
    let station = input.recorded.station(wheel);
    let spring = station
        .spring
        .force_at_length(station.spring_length_at_reference_mm);
    let wheel_rate_n_per_mm = spring.rate_n_per_mm * station.effective_ratio().powi(2);
    let corner_kg = input.tolerances.corner_sd_mm * wheel_rate_n_per_mm / STANDARD_GRAVITY_M_PER_S2;
    input.tolerances.wheel_load_sd_kg.hypot(corner_kg)
}

fn candidate(
    input: &DiagnosisInput<'_>,
    measurement: Measurement,
    leading: &Weighed,
    second: &Weighed,
) -> Candidate {
    let quantities = quantities(input, measurement);
    let means = [leading, second].map(|weighed| mean(weighed, &quantities));
    let spreads =
        [leading, second].map(|weighed| covariance(weighed, &quantities, &mean(weighed, &quantities)));
    let instrument = DVector::from_iterator(
        quantities.len(),
        quantities
            .iter()
            .map(|quantity| quantity.standard_deviation.powi(2)),
    );
    let scatter = (&spreads[0] + &spreads[1]) / 2.0 + DMatrix::from_diagonal(&instrument);
    let apart = &means[0] - &means[1];
    let predictions = quantities
        .iter()
        .enumerate()
        .map(|(index, quantity)| Prediction {
            quantity: quantity.name.clone(),
            unit: quantity.unit,
            leading: means[0][index],
            second: means[1][index],
            standard_deviation: scatter[(index, index)].sqrt(),
        })
        .collect();
    // The instrument's own variance keeps the scatter positive; the fallback is never needed with checked input.
    let standardised_difference =
        Cholesky::new(scatter).map_or(0.0, |factor| apart.dot(&factor.solve(&apart)).max(0.0).sqrt());
    let caution = match measurement {
        Measurement::FreeLength { .. } => Some(super::CAUTION_SPRING_UNDER_LOAD),
        Measurement::WheelLoads => Some(super::CAUTION_LIFTING),
        _ => None,
    };
    Candidate {
        measurement,
        predictions,
        standardised_difference,
        caution,
    }
}

fn mean(weighed: &Weighed, quantities: &[Quantity]) -> DVector<f64> {
    DVector::from_iterator(
        quantities.len(),
        quantities
            .iter()
            .map(|quantity| weighed.mean(|node| (quantity.of)(&node.observables))),
    )
}

fn covariance(weighed: &Weighed, quantities: &[Quantity], mean: &DVector<f64>) -> DMatrix<f64> {
    DMatrix::from_fn(quantities.len(), quantities.len(), |row, column| {
        weighed.mean(|node| {
            let a = (quantities[row].of)(&node.observables) - mean[row];
            let b = (quantities[column].of)(&node.observables) - mean[column];
            a * b
        })
    })
}
