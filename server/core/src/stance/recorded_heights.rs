//! Heights of the record: the lean they show, and its causes.

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use super::diagnosis::{
    Diagnosis, DiagnosisInput, Floor, HeightKind, HeightReading, Priors, SpringVariant, Tolerances,
    VARIANTS_MAX, diagnose,
};
use super::heights::{Carrier, VehiclePoint};
use super::recorded::{Springs, spring_of, spring_slot, sprung_vehicle};
use super::result::StanceError;
use super::vehicle::{AxlePosition, Side, SprungVehicle, Wheel};
use crate::loads::Carried;
use crate::record::{self, Heights, Name, Record, Vehicle, Weighing};

/// Version of the diagnosis. It changes when a result may change for the same record.
pub const FORMULA_VERSION: &str = "lean/1";

/// Standard tolerance of a height that states none, mm. Common practice, no source: a tape against an arch.
pub const HEIGHT_TOLERANCE_MM: f64 = 2.0;

/// A lean that was measured.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MeasuredLean {
    /// The axle that leans most.
    pub axle: AxlePosition,
    /// Left less right, mm: positive when the right is lower.
    pub lean_mm: f64,
    /// Its standard deviation by those of the two readings, root of squares, mm.
    pub standard_deviation_mm: f64,
}

/// A diagnosis with the parts it speaks of.
#[derive(Debug, Clone, PartialEq)]
pub struct RecordedDiagnosis {
    /// The diagnosis, from the vehicle with its springs on the sides they are made for.
    pub diagnosis: Diagnosis,
    /// The fitments of the springs.
    pub springs: Vec<Name>,
}

/// What a diagnosis of recorded heights starts from.
#[derive(Debug, Clone, PartialEq)]
struct Question {
    recorded: SprungVehicle,
    arches: [VehiclePoint; 4],
    readings: Vec<HeightReading>,
    floor: Floor,
    variants: Vec<SpringVariant>,
}

impl Question {
    fn answer(&self) -> Result<Diagnosis, StanceError> {
        diagnose(&DiagnosisInput {
            recorded: &self.recorded,
            arches: &self.arches,
            readings: &self.readings,
            floor: self.floor,
            variants: &self.variants,
            unladen: None,
            priors: &Priors::default(),
            tolerances: &Tolerances::default(),
        })
    }
}

/// Diagnoses of before, the last of each vehicle. One solves thousands of vehicles at rest, and few changes of a record touch
/// what it starts from: it is made anew unless that is equal in every number.
#[derive(Debug, Default)]
pub struct Diagnoses(Mutex<BTreeMap<Name, Arc<Answered>>>);

#[derive(Debug)]
struct Answered {
    question: Question,
    answer: Result<Diagnosis, StanceError>,
}

impl Diagnoses {
    /// Most vehicles whose diagnosis is kept; beyond that all are forgotten.
    const VEHICLES_MAX: usize = 1_000;

    fn of(&self, vehicle: &Name, question: Question) -> Arc<Answered> {
        let known = self.lock().get(vehicle).cloned();
        if let Some(known) = known.filter(|known| known.question == question) {
            return known;
        }
        let answer = question.answer();
        let answered = Arc::new(Answered { question, answer });
        let mut kept = self.lock();
        if kept.len() >= Self::VEHICLES_MAX {
            kept.clear();
        }
        kept.insert(vehicle.clone(), answered.clone());
        answered
    }

    fn lock(&self) -> MutexGuard<'_, BTreeMap<Name, Arc<Answered>>> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// The largest difference between left and right of an axle, from readings of one kind. `None`: no axle was read on
/// both sides.
pub fn measured_lean_mm(heights: &Heights) -> Option<MeasuredLean> {
    let read = |wheel: Wheel, kind: record::HeightKind| {
        heights
            .readings
            .iter()
            .find(|reading| wheel_of(reading.wheel) == wheel && reading.kind == kind)
    };
    let mut most: Option<MeasuredLean> = None;
    for axle in AxlePosition::ALL {
        for reading in &heights.readings {
            let [left, right] =
                [Side::Left, Side::Right].map(|side| read(Wheel::of(axle, side), reading.kind));
            let (Some(left), Some(right)) = (left, right) else {
                continue;
            };
            let lean_mm = left.height_mm - right.height_mm;
            if most.is_none_or(|most| lean_mm.abs() > most.lean_mm.abs()) {
                most = Some(MeasuredLean {
                    axle,
                    lean_mm,
                    standard_deviation_mm: tolerance_mm(left).hypot(tolerance_mm(right)),
                });
            }
        }
    }
    most
}

fn tolerance_mm(reading: &record::HeightReading) -> f64 {
    reading.tolerance_mm.unwrap_or(HEIGHT_TOLERANCE_MM)
}

/// Ranks the causes of the heights of a weighing, whose load is `carried`, unless `diagnoses` has them.
///
/// The vehicle is taken with its springs on the sides they are made for, so that an exchange is a cause like any other; other
/// springs of the catalogue of the same kind are the variants that could be fitted by mistake.
///
/// # Errors
/// What is missing or cannot be computed with, in sentences.
pub fn diagnose_weighing(
    record: &Record,
    vehicle: &Vehicle,
    weighing: &Weighing,
    heights: &Heights,
    carried: &Carried,
    diagnoses: &Diagnoses,
) -> Result<RecordedDiagnosis, Vec<String>> {
    let sprung = sprung_vehicle(record, vehicle, carried, Springs::AsIntended)?;
    let arches = arches(vehicle, &sprung)?;
    let question = Question {
        arches,
        readings: heights.readings.iter().map(reading).collect(),
        floor: if heights.floor_level {
            Floor::StatedLevel
        } else {
            Floor::NotStated
        },
        variants: variants(record, vehicle, &sprung),
        recorded: sprung,
    };
    let answered = diagnoses.of(&vehicle.name, question);
    let diagnosis = match &answered.answer {
        Ok(diagnosis) => diagnosis.clone(),
        Err(error) => return Err(vec![format!("{}: {error}", weighing.name.id())]),
    };
    let springs = vehicle
        .fitments
        .iter()
        .filter(|(slot, _)| Wheel::ALL.iter().any(|wheel| &***slot == spring_slot(*wheel)))
        .map(|(_, fitment)| fitment.name.clone())
        .collect();
    Ok(RecordedDiagnosis { diagnosis, springs })
}

fn reading(reading: &record::HeightReading) -> HeightReading {
    HeightReading {
        wheel: wheel_of(reading.wheel),
        kind: match reading.kind {
            record::HeightKind::ArchToFloor => HeightKind::ArchToFloor,
            record::HeightKind::ArchToLevelLine => HeightKind::ArchToLevelLine,
            record::HeightKind::HubToArch => HeightKind::HubToArch,
        },
        height_mm: reading.height_mm,
        standard_deviation_mm: tolerance_mm(reading),
    }
}

fn wheel_of(position: record::WheelPosition) -> Wheel {
    match position {
        record::WheelPosition::FrontLeft => Wheel::FrontLeft,
        record::WheelPosition::FrontRight => Wheel::FrontRight,
        record::WheelPosition::RearLeft => Wheel::RearLeft,
        record::WheelPosition::RearRight => Wheel::RearRight,
    }
}

/// The arch points in the reference position.
fn arches(vehicle: &Vehicle, sprung: &SprungVehicle) -> Result<[VehiclePoint; 4], Vec<String>> {
    let suspension = vehicle.specification.suspension.as_ref();
    let width_mm = suspension.and_then(|suspension| suspension.arch_width_mm);
    let height_mm = |axle: AxlePosition| {
        suspension.and_then(|suspension| match axle {
            AxlePosition::Front => suspension.front.arch_height_mm,
            AxlePosition::Rear => suspension.rear.arch_height_mm,
        })
    };
    match (
        width_mm,
        height_mm(AxlePosition::Front),
        height_mm(AxlePosition::Rear),
    ) {
        (Some(width_mm), Some(front_mm), Some(rear_mm)) => Ok(Wheel::ALL.map(|wheel| VehiclePoint {
            x_mm: sprung.axle_x_mm(wheel.axle()),
            y_mm: wheel.side().sign() * width_mm / 2.0,
            z_mm: match wheel.axle() {
                AxlePosition::Front => front_mm,
                AxlePosition::Rear => rear_mm,
            },
            carried_by: Carrier::Body,
        })),
        _ => Err(vec![format!(
            "width and heights of the wheel arches of {} are not known",
            vehicle.display_name
        )]),
    }
}

/// Other springs of the catalogue of the kind of an axle's spring slots, as far as their figures are known.
fn variants(record: &Record, vehicle: &Vehicle, sprung: &SprungVehicle) -> Vec<SpringVariant> {
    let mut variants = Vec::new();
    for axle in AxlePosition::ALL {
        let slot = vehicle
            .specification
            .slot(spring_slot(Wheel::of(axle, Side::Left)));
        let Some(slot) = slot else { continue };
        let fitted = [Side::Left, Side::Right].map(|side| &sprung.station(Wheel::of(axle, side)).spring);
        for part in record.parts.values().filter(|part| part.kind == slot.kind) {
            if let Ok(spring) = spring_of(part)
                && !fitted.contains(&&spring)
                && variants.len() < VARIANTS_MAX
            {
                variants.push(SpringVariant {
                    part: part.display_name.clone(),
                    axle,
                    spring,
                });
            }
        }
    }
    variants
}
