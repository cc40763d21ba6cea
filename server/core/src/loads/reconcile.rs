//! A weighing held against what the record computes for the same moment: what is not explained, and where.
//!
//! Measured: the readings. Computed: the baseline, or another weighing, bare of everything that was aboard;
//! the change by the parts fitted when it was weighed; and what the weighing says was aboard. Their difference is the unexplained mass; its centre follows from how it
//! falls on the axles and, with wheel readings, on the sides (moments, own derivation).
//!
//! Uncertainty is the root sum of squares of the tolerances of both sides. A difference within the stated
//! number of deviations is no finding: it may be the scale.

use std::sync::Arc;

use super::CONFIDENCE_DEVIATIONS;
use super::baseline::{Start, start, weighed};
use super::before_cargo::sorted;
use super::fitments;
use super::result::{Baseline, LoadLine};
use super::tally::{Sum, Tally};
use crate::check::InvalidInput;
use crate::record::{Fitment, Name, Record, Vehicle, Weighing};

/// Version of the formulas of this file. It changes when a result may change for the same record.
pub const RECONCILIATION_FORMULA_VERSION: &str = "reconciliation/1";

/// Least unexplained mass for which a centre is given, kilograms: below it the centre is noise.
const CENTRE_LEAST_KG: f64 = 1.0;

/// A weighing against what is computed for its moment. Nothing is rounded; no number is NaN or infinite.
#[derive(Debug, Clone, PartialEq)]
pub struct Reconciliation {
    /// The weighing.
    pub weighing: Name,
    /// The vehicle.
    pub vehicle: Name,
    /// What was computed from.
    pub baseline: Baseline,
    /// The whole vehicle. `None`: not computed.
    pub total: Option<Difference>,
    /// Front axle. `None`: not computed.
    pub front_axle: Option<Difference>,
    /// Rear axle. `None`: not computed.
    pub rear_axle: Option<Difference>,
    /// Where the unexplained mass sits. `None`: it is within its uncertainty, below 1 kg, or the axles are
    /// not known.
    pub centre: Option<UnexplainedCentre>,
    /// What the computed side is made of, besides what the weighing itself says was aboard.
    pub lines: Vec<Arc<LoadLine>>,
    /// What is missing, in sentences. Not empty: the computed numbers leave it out.
    pub missing: Vec<String>,
    /// How it was computed: [`RECONCILIATION_FORMULA_VERSION`].
    pub formula_version: &'static str,
}

/// Measured less computed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Difference {
    /// What the scale read, kilograms.
    pub measured_kg: f64,
    /// What is computed, kilograms.
    pub computed_kg: f64,
    /// Measured less computed, kilograms; positive: there is more than the record knows.
    pub unexplained_kg: f64,
    /// Combined standard uncertainty of the difference, kilograms.
    pub uncertainty_kg: f64,
    /// The difference is more than the stated deviations of its uncertainty away from zero.
    pub significant: bool,
    /// Masses without a stated tolerance, which the uncertainty leaves out.
    pub untoleranced_count: u32,
}

/// Centre of the unexplained mass.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct UnexplainedCentre {
    /// Millimetres aft of the front axle. Outside the vehicle: several things are unexplained, or one has
    /// moved.
    pub x_mm: f64,
    /// Standard uncertainty, millimetres, to first order.
    pub x_uncertainty_mm: f64,
    /// Millimetres to the right. `None`: the readings or the baseline do not tell the sides.
    pub y_mm: Option<f64>,
}

/// Holds `weighing` against what is computed for its moment from `against`, another weighing of the same
/// vehicle. `None`: from the vehicle's baseline; when that is this very weighing, from the declared mass.
///
/// What is missing is said and leaves out of the computed side what cannot be known.
///
/// # Errors
/// When the vehicle is not on record, or `against` is not another weighing of it.
pub fn reconcile(
    record: &Record,
    weighing: &Weighing,
    against: Option<&Name>,
) -> Result<Reconciliation, InvalidInput> {
    let vehicle = record
        .vehicles
        .get(&weighing.vehicle)
        .ok_or_else(|| InvalidInput::one("vehicle", format!("{} is not on record", weighing.vehicle)))?;
    if let Some(against) = against {
        check_against(record, weighing, against)?;
    }
    let mut computed = Tally::new(vehicle.specification.wheelbase_mm);
    let then = as_weighed(vehicle, weighing, against, &mut computed);
    let from = start(record, &then, &mut computed);
    fitments::add_fitment_changes(record, &then, &mut computed);
    let mut measured = Tally::new(vehicle.specification.wheelbase_mm);
    let bare = weighed(record, vehicle, weighing, &mut measured);
    for sentence in std::mem::take(&mut measured.missing) {
        if !computed.missing.contains(&sentence) {
            computed.missing.push(sentence);
        }
    }
    Ok(compare(weighing, &from, &bare, computed))
}

fn check_against(record: &Record, weighing: &Weighing, against: &Name) -> Result<(), InvalidInput> {
    let problem = match record.weighings.get(against) {
        None => format!("{against} is not on record"),
        Some(other) if other.vehicle != weighing.vehicle => {
            format!("{against} is a weighing of {}", other.vehicle)
        }
        Some(other) if other.name == weighing.name => "must be another weighing".to_owned(),
        Some(_) => return Ok(()),
    };
    Err(InvalidInput::one("against", problem))
}

/// The vehicle with the parts that were fitted when it was weighed, and the baseline to compute from.
pub(super) fn as_weighed(
    vehicle: &Vehicle,
    weighing: &Weighing,
    against: Option<&Name>,
    tally: &mut Tally,
) -> Vehicle {
    let mut then = vehicle.clone();
    then.baseline_weighing = against
        .or(vehicle.baseline_weighing.as_ref())
        .filter(|name| **name != weighing.name)
        .cloned();
    then.fitments.retain(|slot, fitment| {
        let listed = weighing.fitted_parts.contains_key(slot);
        let later = fitment
            .fitted_date
            .is_some_and(|fitted| fitted > weighing.weighed_date);
        if later && !listed {
            tally.miss(format!(
                "the weighing {} does not say what was in slot {slot}, which was changed after it",
                weighing.name
            ));
        }
        listed || !later
    });
    for (slot, part) in &weighing.fitted_parts {
        let same = then.fitments.get(slot).is_some_and(|now| now.part == *part);
        if !same {
            // Since when is not known, but by then.
            let fitment = Fitment {
                name: vehicle.name.child("fitments", slot),
                part: part.clone(),
                fitted_date: Some(weighing.weighed_date),
                facts: std::collections::BTreeMap::new(),
                substitution: None,
                note: String::new(),
            };
            then.fitments.insert(slot.clone(), fitment);
        }
    }
    then
}

fn compare(weighing: &Weighing, from: &Start, bare: &Start, computed: Tally) -> Reconciliation {
    // Both sides are bare, so their difference is what the readings do not explain.
    let difference = |from: Sum, change: Sum, bare: Sum, read_kg: f64| {
        let unexplained_kg = bare.load_kg - from.load_kg - change.load_kg;
        let uncertainty_kg = (bare.variance_kg2 + from.variance_kg2 + change.variance_kg2).sqrt();
        Difference {
            measured_kg: read_kg,
            computed_kg: read_kg - unexplained_kg,
            unexplained_kg,
            uncertainty_kg,
            significant: unexplained_kg.abs() > CONFIDENCE_DEVIATIONS * uncertainty_kg,
            untoleranced_count: bare.untoleranced_count + from.untoleranced_count + change.untoleranced_count,
        }
    };
    let (front_kg, rear_kg) = weighing
        .readings
        .map_or((0.0, 0.0), |readings| readings.axles_kg());
    let known = from.baseline != Baseline::Missing && bare.baseline != Baseline::Missing;
    let axles = known && from.axles_known && bare.axles_known;
    let change = &computed.load;
    let total = known.then(|| {
        difference(
            from.split.total,
            change.total,
            bare.split.total,
            front_kg + rear_kg,
        )
    });
    let front = axles.then(|| difference(from.split.front, change.front, bare.split.front, front_kg));
    let rear = axles.then(|| difference(from.split.rear, change.rear, bare.split.rear, rear_kg));
    let sides_known = [from, bare]
        .iter()
        .all(|side| side.line.as_ref().is_some_and(|line| line.position.is_some()));
    let lateral_kgm = sides_known
        .then_some(bare.split.lateral_moment_kgm - from.split.lateral_moment_kgm - change.lateral_moment_kgm);
    let centre = total.zip(front.zip(rear)).zip(computed.wheelbase_mm).and_then(
        |((total, (front, rear)), wheelbase_mm)| centre(&total, &front, &rear, wheelbase_mm, lateral_kgm),
    );
    Reconciliation {
        weighing: weighing.name.clone(),
        vehicle: weighing.vehicle.clone(),
        baseline: from.baseline.clone(),
        total,
        front_axle: front,
        rear_axle: rear,
        centre,
        lines: sorted(from.line.clone(), computed.lines.unwrap_or_default()),
        missing: computed.missing,
        formula_version: RECONCILIATION_FORMULA_VERSION,
    }
}

fn centre(
    total: &Difference,
    front: &Difference,
    rear: &Difference,
    wheelbase_mm: f64,
    lateral_kgm: Option<f64>,
) -> Option<UnexplainedCentre> {
    let mass_kg = total.unexplained_kg;
    if !total.significant || mass_kg.abs() < CENTRE_LEAST_KG {
        return None;
    }
    let (front_kg, rear_kg) = (front.unexplained_kg, rear.unexplained_kg);
    // First-order propagation of x = L r / (f + r), the errors of the axles taken as independent.
    let spread = (front_kg * rear.uncertainty_kg).hypot(rear_kg * front.uncertainty_kg);
    Some(UnexplainedCentre {
        x_mm: rear_kg * wheelbase_mm / mass_kg,
        x_uncertainty_mm: wheelbase_mm * spread / mass_kg.powi(2),
        y_mm: lateral_kgm.map(|lateral_kgm| lateral_kgm * 1000.0 / mass_kg),
    })
}
