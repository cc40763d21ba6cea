//! Centre of mass in plan from four wheel pads.

use crate::check::{Check, InvalidInput};

/// Readings of four pads with the vehicle level, and the distances between them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PadReadings {
    /// Front left, kg.
    pub front_left_kg: f64,
    /// Front right, kg.
    pub front_right_kg: f64,
    /// Rear left, kg.
    pub rear_left_kg: f64,
    /// Rear right, kg.
    pub rear_right_kg: f64,
    /// Standard uncertainty of each reading, kg.
    pub reading_uncertainty_kg: f64,
    /// Wheelbase, mm.
    pub wheelbase_mm: f64,
    /// Front track, mm.
    pub track_front_mm: f64,
    /// Rear track, mm.
    pub track_rear_mm: f64,
}

/// Centre of mass in plan.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PlanCentre {
    /// Total mass, kg.
    pub mass_kg: f64,
    /// Aft of the front axle, mm.
    pub x_mm: f64,
    /// To the right of the centre plane, mm.
    pub y_mm: f64,
    /// Uncertainty of `x_mm` from the readings, mm.
    pub x_uncertainty_mm: f64,
    /// Uncertainty of `y_mm` from the readings, mm.
    pub y_uncertainty_mm: f64,
}

/// Centre of mass by moments of the four readings about the front axle and the centre plane (textbook).
///
/// # Errors
/// A number out of range, or pads that read nothing altogether.
pub fn plan_centre(readings: &PadReadings) -> Result<PlanCentre, InvalidInput> {
    let mut check = Check::new();
    let loads = [
        ("front_left_kg", readings.front_left_kg),
        ("front_right_kg", readings.front_right_kg),
        ("rear_left_kg", readings.rear_left_kg),
        ("rear_right_kg", readings.rear_right_kg),
        ("reading_uncertainty_kg", readings.reading_uncertainty_kg),
    ];
    for (field, load_kg) in loads {
        check.between(field, load_kg, 0.0, 1e6);
    }
    check.between("wheelbase_mm", readings.wheelbase_mm, 500.0, 20_000.0);
    check.between("track_front_mm", readings.track_front_mm, 300.0, 5_000.0);
    check.between("track_rear_mm", readings.track_rear_mm, 300.0, 5_000.0);
    check.finish()?;
    let (half_front_mm, half_rear_mm) = (readings.track_front_mm / 2.0, readings.track_rear_mm / 2.0);
    // Mass and place of each pad.
    let pads = [
        (readings.front_left_kg, 0.0, -half_front_mm),
        (readings.front_right_kg, 0.0, half_front_mm),
        (readings.rear_left_kg, readings.wheelbase_mm, -half_rear_mm),
        (readings.rear_right_kg, readings.wheelbase_mm, half_rear_mm),
    ];
    let mass_kg: f64 = pads.iter().map(|(load_kg, _, _)| load_kg).sum();
    if mass_kg < 1.0 {
        return Err(InvalidInput::one(
            "front_left_kg",
            "and the other pads must read at least 1 kg altogether",
        ));
    }
    let x_mm = pads.iter().map(|(load_kg, x_mm, _)| load_kg * x_mm).sum::<f64>() / mass_kg;
    let y_mm = pads.iter().map(|(load_kg, _, y_mm)| load_kg * y_mm).sum::<f64>() / mass_kg;
    let spread = |offsets: [f64; 4]| {
        let sum: f64 = offsets.iter().map(|offset_mm| offset_mm.powi(2)).sum();
        readings.reading_uncertainty_kg * sum.sqrt() / mass_kg
    };
    Ok(PlanCentre {
        mass_kg,
        x_mm,
        y_mm,
        x_uncertainty_mm: spread(pads.map(|(_, pad_x_mm, _)| pad_x_mm - x_mm)),
        y_uncertainty_mm: spread(pads.map(|(_, _, pad_y_mm)| pad_y_mm - y_mm)),
    })
}
