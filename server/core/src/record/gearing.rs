//! Ratios of parts, and what a driveline was built with.

use crate::check::{Check, InvalidInput};
use crate::driveline::ratios::{check_gears, check_ranges, check_ratio};
use crate::driveline::{DrivenAxles, Gear, TransferRange};

/// Ratios that a part brings, or that a vehicle was built with.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Gearing {
    /// Gears of a gearbox, forward ones in falling order of their ratios. Empty: it has none.
    pub gears: Vec<Gear>,
    /// Ranges of a transfer case. Empty: it has none.
    pub ranges: Vec<TransferRange>,
    /// Ratio of an axle drive. `None`: it is none, or it is not known.
    pub axle_ratio: Option<f64>,
    /// Ratio of a hub reduction. `None`: it has none.
    pub hub_ratio: Option<f64>,
}

/// What the driveline of a vehicle was built with, and how it is driven.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct DrivelineSpecification {
    /// Ratios that count where no fitted part states its own.
    pub built: Gearing,
    /// Axles that drive, off road. `None`: not known.
    pub driven: Option<DrivenAxles>,
    /// Engine speed at idle, revolutions per minute.
    pub idle_rpm: Option<f64>,
    /// Highest engine speed allowed, revolutions per minute.
    pub engine_max_rpm: Option<f64>,
    /// Greatest torque of the engine, newton metres.
    pub torque_nm: Option<f64>,
    /// Part of the torque that reaches the wheels, over 0 up to 1.
    pub efficiency: Option<f64>,
    /// Cruising speed on the road, kilometres per hour.
    pub cruise_km_per_h: Option<f64>,
    /// Rolling circumference over outer diameter of its tyres, 2.8 to pi.
    pub circumference_factor: Option<f64>,
    /// The state in which its speedometer was held against the true speed.
    pub speedometer: Option<SpeedometerCalibration>,
}

/// Where a speedometer counts turns.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SpeedometerDrive {
    /// Behind the gears, before the axle: a change of axle or hub ratio changes what it shows.
    TransferOutput,
    /// At the wheel.
    Wheel,
}

/// What a speedometer was calibrated with, and what it showed then.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SpeedometerCalibration {
    /// Where it counts.
    pub drive: SpeedometerDrive,
    /// Outer diameter of the tyres then, millimetres.
    pub tyre_diameter_mm: f64,
    /// Axle times hub ratio then. `None`: not known; not needed where it counts at the wheel.
    pub wheel_ratio: Option<f64>,
    /// Ratio of the speedometer drive then; larger reads higher. `None`: not known.
    pub drive_ratio: Option<f64>,
    /// How much the speedometer read above the true speed then, percent. `None`: not known.
    pub over_reading_percent: Option<f64>,
    /// True kilometres per kilometre on the odometer then. `None`: not known.
    pub odometer_factor: Option<f64>,
}

impl Gearing {
    /// Checks names, ratios and the order of the gears, each where there are some.
    ///
    /// # Errors
    /// Everything that is wrong, with its path.
    pub fn check(&self) -> Result<(), InvalidInput> {
        let mut check = Check::new();
        if !self.gears.is_empty() {
            check_gears(&mut check, &self.gears);
        }
        if !self.ranges.is_empty() {
            check_ranges(&mut check, &self.ranges);
        }
        for (field, ratio) in [("axle_ratio", self.axle_ratio), ("hub_ratio", self.hub_ratio)] {
            if let Some(ratio) = ratio {
                check_ratio(&mut check, field, ratio);
            }
        }
        check.finish()
    }
}

impl DrivelineSpecification {
    /// Checks its ratios, and that the engine turns faster than at idle.
    ///
    /// # Errors
    /// Everything that is wrong, with its path.
    pub fn check(&self) -> Result<(), InvalidInput> {
        let mut check = Check::new();
        check.merge("built", self.built.check());
        if let Some((idle_rpm, engine_max_rpm)) = self.idle_rpm.zip(self.engine_max_rpm)
            && engine_max_rpm <= idle_rpm
        {
            check.refuse("engine_max_rpm", format!("must be above idle_rpm, {idle_rpm}"));
        }
        check.finish()
    }
}
