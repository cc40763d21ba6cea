//! Weighing hypotheses against readings.

use nalgebra::linalg::Cholesky;
use nalgebra::{DMatrix, DVector};

use super::diagnosis::{Amount, DiagnosisInput, Floor, HeightKind, Hypothesis, NotWeighed, RankedHypothesis};
use super::explanation::explanation;
use super::hypotheses::{Node, nodes};
use super::observables::{Observables, side_difference};
use super::result::StanceError;
use super::vehicle::{AxlePosition, Side, Wheel};
use crate::check::InvalidInput;

/// A hypothesis with its states, each with its share of the posterior.
pub(super) struct Weighed {
    pub(super) ranked: RankedHypothesis,
    pub(super) nodes: Vec<Node>,
    /// Sum to 1.
    pub(super) shares: Vec<f64>,
}

impl Weighed {
    /// Posterior mean of a quantity.
    pub(super) fn mean(&self, quantity: impl Fn(&Node) -> f64) -> f64 {
        self.nodes
            .iter()
            .zip(&self.shares)
            .map(|(node, share)| share * quantity(node))
            .sum()
    }
}

/// Weighs all hypotheses; most probable first.
///
/// # Errors
/// Scatter so small that the readings contradict their own errors numerically.
pub(super) fn weigh(input: &DiagnosisInput<'_>) -> Result<(Vec<Weighed>, Vec<NotWeighed>), InvalidInput> {
    let errors = ReadingErrors::new(input)?;
    let mut not_weighed = Vec::new();
    let mut weighed: Vec<(f64, Weighed)> = Vec::new();
    for (hypothesis, prior) in hypotheses(input, &mut not_weighed) {
        match nodes(input, &hypothesis) {
            Ok(nodes) => weighed.push(against_readings(input, &errors, hypothesis, prior, nodes)),
            Err(error) => not_weighed.push(NotWeighed {
                hypothesis,
                reason: reason(&error),
            }),
        }
    }
    let best = weighed
        .iter()
        .map(|(log, _)| *log)
        .fold(f64::NEG_INFINITY, f64::max);
    let total: f64 = weighed.iter().map(|(log, _)| (log - best).exp()).sum();
    let prior_total: f64 = weighed.iter().map(|(_, weighed)| weighed.ranked.prior).sum();
    let mut ranked: Vec<Weighed> = weighed
        .into_iter()
        .map(|(log, mut weighed)| {
            weighed.ranked.probability = (log - best).exp() / total;
            weighed.ranked.prior /= prior_total;
            weighed
        })
        .collect();
    ranked.sort_by(|a, b| b.ranked.probability.total_cmp(&a.ranked.probability));
    for weighed in &mut ranked {
        weighed.ranked.explanation = explanation(input, &weighed.ranked);
    }
    Ok((ranked, not_weighed))
}

fn reason(error: &StanceError) -> String {
    format!("the vehicle would not stand so: {error}")
}

/// All hypotheses that can apply, each with its prior.
fn hypotheses(input: &DiagnosisInput<'_>, not_weighed: &mut Vec<NotWeighed>) -> Vec<(Hypothesis, f64)> {
    let priors = input.priors;
    let mut all = vec![(Hypothesis::AsRecorded, priors.as_recorded)];
    let mut group = |members: Vec<Hypothesis>, prior: f64| {
        let share = prior / f64::from(u32::try_from(members.len().max(1)).unwrap_or(u32::MAX));
        all.extend(
            members
                .into_iter()
                .filter(|_| share > 0.0)
                .map(|hypothesis| (hypothesis, share)),
        );
    };
    let mut exchanges = Vec::new();
    for axle in AxlePosition::ALL {
        let hypothesis = Hypothesis::SpringsExchanged { axle };
        let [left, right] =
            [Side::Left, Side::Right].map(|side| &input.recorded.station(Wheel::of(axle, side)).spring);
        if left == right {
            let reason = format!("left and right {} springs are recorded as equal", axle.words());
            not_weighed.push(NotWeighed { hypothesis, reason });
        } else {
            exchanges.push(hypothesis);
        }
    }
    group(exchanges, priors.springs_exchanged);
    let mut others = Vec::new();
    for (variant, candidate) in input.variants.iter().enumerate() {
        for side in [Side::Left, Side::Right] {
            let wheel = Wheel::of(candidate.axle, side);
            if input.recorded.station(wheel).spring != candidate.spring {
                others.push(Hypothesis::OtherVariant { wheel, variant });
            }
        }
    }
    group(others, priors.other_variant);
    group(
        Wheel::ALL.map(|wheel| Hypothesis::Sagged { wheel }).to_vec(),
        priors.sagged,
    );
    group(vec![Hypothesis::CargoOffCentre], priors.cargo_off_centre);
    group(vec![Hypothesis::UnrecordedMass], priors.unrecorded_mass);
    let floor = match input.floor {
        Floor::StatedLevel => priors.floor_stated_level,
        Floor::NotStated => priors.floor_not_stated,
    };
    group(vec![Hypothesis::FloorNotLevel], floor);
    all
}

/// The readings' errors, as the Cholesky factor of their covariance.
struct ReadingErrors {
    factor: Cholesky<f64, nalgebra::Dyn>,
}

impl ReadingErrors {
    fn new(input: &DiagnosisInput<'_>) -> Result<Self, InvalidInput> {
        let readings = input.readings;
        let corner = input.tolerances.corner_sd_mm.powi(2);
        let axle = input.tolerances.axle_sd_mm.powi(2);
        let covariance = DMatrix::from_fn(readings.len(), readings.len(), |row, column| {
            let (a, b) = (&readings[row], &readings[column]);
            let own = if row == column {
                a.standard_deviation_mm.powi(2)
            } else {
                0.0
            };
            let shared_corner = if a.wheel == b.wheel { corner } else { 0.0 };
            let shared_axle = if a.wheel.axle() == b.wheel.axle() {
                axle
            } else {
                0.0
            };
            own + shared_corner + shared_axle
        });
        match Cholesky::new(covariance) {
            Some(factor) => Ok(Self { factor }),
            None => Err(InvalidInput::one(
                "readings",
                "have errors too small beside the tolerances to be weighed",
            )),
        }
    }

    /// Log-likelihood of a state, up to a constant common to all.
    fn log_likelihood(&self, input: &DiagnosisInput<'_>, observables: &Observables) -> f64 {
        let mut residual = DVector::from_iterator(
            input.readings.len(),
            input.readings.iter().map(|reading| {
                let wheel = reading.wheel.index();
                let predicted_mm = match reading.kind {
                    HeightKind::ArchToFloor => observables.arch_to_floor_mm[wheel],
                    HeightKind::ArchToLevelLine => observables.arch_to_level_mm[wheel],
                    HeightKind::HubToArch => observables.hub_to_arch_mm[wheel],
                };
                reading.height_mm - predicted_mm
            }),
        );
        self.factor.l_dirty().solve_lower_triangular_mut(&mut residual);
        -0.5 * residual.norm_squared()
    }
}

/// Log of prior times marginal likelihood, and the hypothesis with its posterior states.
fn against_readings(
    input: &DiagnosisInput<'_>,
    errors: &ReadingErrors,
    hypothesis: Hypothesis,
    prior: f64,
    nodes: Vec<Node>,
) -> (f64, Weighed) {
    let logs: Vec<f64> = nodes
        .iter()
        .map(|node| node.log_weight + errors.log_likelihood(input, &node.observables))
        .collect();
    let best = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let total: f64 = logs.iter().map(|log| (log - best).exp()).sum();
    let shares = logs.iter().map(|log| (log - best).exp() / total).collect();
    let ranked = RankedHypothesis {
        hypothesis,
        prior,
        probability: 0.0,
        amount: None,
        arch_to_floor_mm: [0.0; 4],
        hub_to_arch_mm: [0.0; 4],
        side_difference_mm: [0.0; 2],
        explanation: String::new(),
    };
    let mut weighed = Weighed {
        ranked,
        nodes,
        shares,
    };
    let wheels = [0, 1, 2, 3];
    let arch_to_floor_mm = wheels.map(|wheel| weighed.mean(|node| node.observables.arch_to_floor_mm[wheel]));
    weighed.ranked.arch_to_floor_mm = arch_to_floor_mm;
    weighed.ranked.hub_to_arch_mm =
        wheels.map(|wheel| weighed.mean(|node| node.observables.hub_to_arch_mm[wheel]));
    weighed.ranked.side_difference_mm =
        AxlePosition::ALL.map(|axle| side_difference(&arch_to_floor_mm, axle));
    weighed.ranked.amount = unit(&hypothesis).map(|unit| {
        let mean = weighed.mean(|node| node.amount);
        let variance = weighed.mean(|node| (node.amount - mean).powi(2));
        Amount {
            mean,
            standard_deviation: variance.max(0.0).sqrt(),
            unit,
        }
    });
    (prior.ln() + best + total.ln(), weighed)
}

fn unit(hypothesis: &Hypothesis) -> Option<&'static str> {
    match hypothesis {
        Hypothesis::AsRecorded | Hypothesis::SpringsExchanged { .. } | Hypothesis::OtherVariant { .. } => {
            None
        }
        Hypothesis::Sagged { .. } | Hypothesis::FloorNotLevel => Some("mm"),
        Hypothesis::CargoOffCentre => Some("N m"),
        Hypothesis::UnrecordedMass => Some("kg"),
    }
}
