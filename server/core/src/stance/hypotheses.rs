//! The hypotheses of a lean, each as a weighted set of assumed vehicle states.
//!
//! A hypothesis without a free amount is one state. One with an amount that is not known (how far a spring has
//! sagged, how much weight sits off centre) is a grid over that amount, weighted by its prior.

use super::diagnosis::{DiagnosisInput, Hypothesis};
use super::observables::{Assumed, Observables};
use super::result::StanceError;
use super::vehicle::{AxlePosition, Side, SprungVehicle, Wheel};
use crate::units::STANDARD_GRAVITY_M_PER_S2;

/// One assumed state with its observables.
#[derive(Debug, Clone, Copy)]
pub(super) struct Node {
    /// Logarithm of its prior weight within the hypothesis; the weights sum to 1.
    pub(super) log_weight: f64,
    /// The free amount: mm, N m or kg as the hypothesis has it; 0 when it has none.
    pub(super) amount: f64,
    pub(super) observables: Observables,
}

const SAG_STEPS: u32 = 96;
const MOMENT_STEPS: u32 = 121;
const MASS_POINTS: u32 = 1_024;
const FLOOR_STEPS: u32 = 25;
/// How far a normal or exponential prior is followed, in its scales.
const SPREAD: f64 = 4.0;

/// The states of a hypothesis. States in which the vehicle does not stand are left out.
///
/// # Errors
/// The error of the last state, when the vehicle stands in none.
pub(super) fn nodes(input: &DiagnosisInput<'_>, hypothesis: &Hypothesis) -> Result<Vec<Node>, StanceError> {
    match hypothesis {
        Hypothesis::AsRecorded => single(input, input.recorded.clone()),
        Hypothesis::SpringsExchanged { axle } => {
            let mut vehicle = input.recorded.clone();
            let axle = vehicle.axle_mut(*axle);
            std::mem::swap(&mut axle.left.spring, &mut axle.right.spring);
            single(input, vehicle)
        }
        Hypothesis::OtherVariant { wheel, variant } => {
            let mut vehicle = input.recorded.clone();
            vehicle.station_mut(*wheel).spring = input.variants[*variant].spring.clone();
            single(input, vehicle)
        }
        Hypothesis::Sagged { wheel } => sagged(input, *wheel),
        Hypothesis::CargoOffCentre => cargo_off_centre(input),
        Hypothesis::UnrecordedMass => unrecorded_mass(input),
        Hypothesis::FloorNotLevel => floor_not_level(input),
    }
}

fn single(input: &DiagnosisInput<'_>, vehicle: SprungVehicle) -> Result<Vec<Node>, StanceError> {
    let mut set = NodeSet::default();
    set.add(1.0, 0.0, assumed(input, &vehicle));
    set.finish()
}

/// A spring shorter by an amount with a half-normal prior.
fn sagged(input: &DiagnosisInput<'_>, wheel: Wheel) -> Result<Vec<Node>, StanceError> {
    let mut set = NodeSet::default();
    let scale_mm = input.priors.sag_scale_mm;
    let mut vehicle = input.recorded.clone();
    let length_mm = vehicle.station(wheel).spring.free_length_mm;
    for step in 0..SAG_STEPS {
        let share = (f64::from(step) + 0.5) / f64::from(SAG_STEPS) * SPREAD;
        let sag_mm = share * scale_mm;
        let spring = &mut vehicle.station_mut(wheel).spring;
        spring.free_length_mm = length_mm - sag_mm;
        // A sag below the solid length is no state of a spring.
        if spring
            .solid_length_mm
            .is_none_or(|solid_mm| spring.free_length_mm > solid_mm)
        {
            set.add((-share * share / 2.0).exp(), sag_mm, assumed(input, &vehicle));
        }
    }
    set.finish()
}

/// The load moved sideways, by a lateral moment with a normal prior.
fn cargo_off_centre(input: &DiagnosisInput<'_>) -> Result<Vec<Node>, StanceError> {
    let mut set = NodeSet::default();
    let unladen_mm = unladen_as_recorded(input)?;
    let mut vehicle = input.recorded.clone();
    let sprung_n = vehicle.sprung.mass_kg * STANDARD_GRAVITY_M_PER_S2;
    for step in 0..MOMENT_STEPS {
        let share = centred(step, MOMENT_STEPS) * SPREAD;
        let moment_nm = share * input.priors.cargo_moment_sd_nm;
        vehicle.sprung.y_mm = input.recorded.sprung.y_mm + moment_nm * 1_000.0 / sprung_n;
        set.add(
            (-share * share / 2.0).exp(),
            moment_nm,
            loaded(input, &vehicle, unladen_mm),
        );
    }
    set.finish()
}

/// A mass with an exponential prior anywhere over the vehicle: from half the front overhang to behind the
/// rear axle, and between the wheels. A low-discrepancy sequence (steps 1/g, 1/g^2, 1/g^3 with g^4 = g + 1)
/// covers mass, length and width evenly with few points.
fn unrecorded_mass(input: &DiagnosisInput<'_>) -> Result<Vec<Node>, StanceError> {
    const STEPS: [f64; 3] = [
        0.819_172_513_396_164_4,
        0.671_043_606_703_789_2,
        0.549_700_477_901_970_2,
    ];
    let mut set = NodeSet::default();
    let recorded = &input.recorded.sprung;
    let unladen_mm = unladen_as_recorded(input)?;
    let half_width_mm = input.recorded.front.track_mm.max(input.recorded.rear.track_mm) / 2.0;
    let mut vehicle = input.recorded.clone();
    for point in 0..MASS_POINTS {
        let [mass_share, along, across] = STEPS.map(|step| (0.5 + step * f64::from(point)).fract());
        let share = mass_share * SPREAD;
        let mass_kg = share * input.priors.unrecorded_mass_scale_kg;
        let total_kg = recorded.mass_kg + mass_kg;
        let x_mm = input.recorded.wheelbase_mm * (-0.15 + 1.5 * along);
        let y_mm = half_width_mm * (2.0 * across - 1.0);
        vehicle.sprung.mass_kg = total_kg;
        vehicle.sprung.x_mm = (recorded.mass_kg * recorded.x_mm + mass_kg * x_mm) / total_kg;
        vehicle.sprung.y_mm = (recorded.mass_kg * recorded.y_mm + mass_kg * y_mm) / total_kg;
        set.add((-share).exp(), mass_kg, loaded(input, &vehicle, unladen_mm));
    }
    set.finish()
}

/// The floor falls across the front and across the rear by two amounts with normal priors. The amount
/// given is the fall to the right at the axle of [`floor_axle`].
fn floor_not_level(input: &DiagnosisInput<'_>) -> Result<Vec<Node>, StanceError> {
    let mut set = NodeSet::default();
    let fall_mm = |share: f64| share * input.priors.floor_fall_sd_mm;
    let mut seen = Vec::new();
    for front_step in 0..FLOOR_STEPS {
        for rear_step in 0..FLOOR_STEPS {
            let [front_mm, rear_mm] =
                [front_step, rear_step].map(|step| fall_mm(centred(step, FLOOR_STEPS) * SPREAD));
            let floor_mm = Wheel::ALL.map(|wheel| {
                let fall_mm = if wheel.axle() == AxlePosition::Front {
                    front_mm
                } else {
                    rear_mm
                };
                if wheel.side() == Side::Left {
                    fall_mm / 2.0
                } else {
                    -fall_mm / 2.0
                }
            });
            seen.push(standing(input, input.recorded, floor_mm));
        }
    }
    // Turned round, the front stands on the rear's floor and left on right's: a state that is in the grid too.
    let at = |front_step: u32, rear_step: u32| usize::try_from(front_step * FLOOR_STEPS + rear_step).ok();
    let mirrored = |step: u32| FLOOR_STEPS - 1 - step;
    for front_step in 0..FLOOR_STEPS {
        for rear_step in 0..FLOOR_STEPS {
            let front = centred(front_step, FLOOR_STEPS) * SPREAD;
            let rear = centred(rear_step, FLOOR_STEPS) * SPREAD;
            let [front_mm, rear_mm] = [front, rear].map(fall_mm);
            let own = at(front_step, rear_step).and_then(|index| seen.get(index));
            let turned = at(mirrored(rear_step), mirrored(front_step)).and_then(|index| seen.get(index));
            let (Some(own), Some(turned)) = (own, turned) else {
                continue;
            };
            let observed = match (own, turned) {
                (Ok(own), Ok(turned)) => Ok(Observables {
                    turned_mm: turned.arch_to_floor_mm,
                    ..*own
                }),
                (Err(error), _) | (_, Err(error)) => Err(error.clone()),
            };
            let weight = (-(front * front + rear * rear) / 2.0).exp();
            let amount = match floor_axle(input) {
                AxlePosition::Front => front_mm,
                AxlePosition::Rear => rear_mm,
            };
            set.add(weight, amount, observed);
        }
    }
    set.finish()
}

/// The axle for which a fall of the floor is told: the rear unless only the front was read.
pub(super) fn floor_axle(input: &DiagnosisInput<'_>) -> AxlePosition {
    if input
        .readings
        .iter()
        .any(|reading| reading.wheel.axle() == AxlePosition::Rear)
    {
        AxlePosition::Rear
    } else {
        AxlePosition::Front
    }
}

/// Cell middles from -1 to 1.
fn centred(step: u32, steps: u32) -> f64 {
    (2.0 * f64::from(step) + 1.0) / f64::from(steps) - 1.0
}

/// A state with other springs than the record's.
fn assumed(input: &DiagnosisInput<'_>, vehicle: &SprungVehicle) -> Result<Observables, StanceError> {
    vehicle.check()?;
    standing(input, vehicle, [0.0; 4])
}

/// A state whose fields were checked.
fn standing(
    input: &DiagnosisInput<'_>,
    vehicle: &SprungVehicle,
    floor_mm: [f64; 4],
) -> Result<Observables, StanceError> {
    Assumed {
        vehicle,
        unladen: input.unladen,
        floor_mm,
        arches: input.arches,
    }
    .observe()
}

/// A state that differs from the record in its load only. The load in question comes off with the rest,
/// so that the heights unladen are those of the record.
fn loaded(
    input: &DiagnosisInput<'_>,
    vehicle: &SprungVehicle,
    unladen_mm: Option<[f64; 4]>,
) -> Result<Observables, StanceError> {
    vehicle
        .sprung
        .check()
        .map_err(|refused| refused.within("sprung"))?;
    let loaded = Assumed {
        vehicle,
        unladen: None,
        floor_mm: [0.0; 4],
        arches: input.arches,
    }
    .observe()?;
    Ok(Observables { unladen_mm, ..loaded })
}

fn unladen_as_recorded(input: &DiagnosisInput<'_>) -> Result<Option<[f64; 4]>, StanceError> {
    Ok(standing(input, input.recorded, [0.0; 4])?.unladen_mm)
}

#[derive(Default)]
struct NodeSet {
    nodes: Vec<Node>,
    weights: Vec<f64>,
    last_error: Option<StanceError>,
}

impl NodeSet {
    fn add(&mut self, weight: f64, amount: f64, observed: Result<Observables, StanceError>) {
        match observed {
            Ok(observables) => {
                self.weights.push(weight);
                self.nodes.push(Node {
                    log_weight: 0.0,
                    amount,
                    observables,
                });
            }
            Err(error) => self.last_error = Some(error),
        }
    }

    fn finish(mut self) -> Result<Vec<Node>, StanceError> {
        let total: f64 = self.weights.iter().sum();
        for (node, weight) in self.nodes.iter_mut().zip(&self.weights) {
            node.log_weight = (weight / total).ln();
        }
        match self.last_error {
            Some(error) if self.nodes.is_empty() => Err(error),
            // No state at all: every sag lies below the solid length.
            None if self.nodes.is_empty() => {
                Err(crate::check::InvalidInput::one("priors.sag_scale_mm", "leaves no possible state").into())
            }
            _ => Ok(self.nodes),
        }
    }
}
