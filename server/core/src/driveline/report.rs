//! What a driveline comes to, as it is and after a change: gears, crawl, climbs, speedometer, chart.

use super::climb::{Climb, Climbing};
use super::compare::{Crawl, GearRow, ReferenceSpeeds, Setup, compare, crawl, gear_figures};
use super::speedometer::{SpeedometerChange, SpeedometerReading, judge_speedometer, odometer_factor};
use super::{DrivenAxles, SpeedChart, speed_over_engine_speed};
use crate::check::{Check, InvalidInput};
use crate::record::{SpeedometerCalibration, SpeedometerDrive};

/// Version of these formulas and of how the record becomes their input. It changes when a result may change for the
/// same record.
pub const FORMULA_VERSION: &str = "driveline/1";

/// What to show with every result.
pub const CAUTION: &str = "Computed from ratios and tyre sizes, without slip. A climb is a ceiling at walking pace, never a safe slope; \
     a speedometer is judged by measuring it against a true speed.";

/// True speeds at which a speedometer is judged, those for which the bands of UN R39 were read published.
const JUDGED_KM_PER_H: [f64; 4] = [50.0, 70.0, 90.0, 110.0];

/// One state of a driveline.
#[derive(Debug, Clone, PartialEq)]
pub struct State {
    /// Ratios and tyres.
    pub setup: Setup,
    /// Ratio of the speedometer drive; larger reads higher. `None`: not known.
    pub speedometer_ratio: Option<f64>,
}

/// How a vehicle is driven: what a change of driveline leaves as it is.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Driving {
    /// Cruising speed on the road.
    pub cruise_km_per_h: Option<f64>,
    /// Engine speed at idle.
    pub idle_rpm: Option<f64>,
    /// Highest engine speed allowed.
    pub engine_max_rpm: Option<f64>,
    /// Greatest torque.
    pub torque_nm: Option<f64>,
    /// Part of it that reaches the wheels.
    pub efficiency: Option<f64>,
    /// Loaded mass.
    pub mass_kg: Option<f64>,
    /// Friction between tyre and ground. `None`: the grip is left out.
    pub friction_coefficient: Option<f64>,
    /// Axles that drive.
    pub driven: Option<DrivenAxles>,
    /// Part of the weight on the front axle on level ground; asked for where one axle drives.
    pub front_load_share: Option<f64>,
    /// Height of the centre of mass; asked for where one axle drives.
    pub centre_height_mm: Option<f64>,
    /// Wheelbase; asked for where one axle drives.
    pub wheelbase_mm: Option<f64>,
}

/// A speedometer in one state.
#[derive(Debug, Clone, PartialEq)]
pub struct SpeedometerReport {
    /// True speed over indicated speed, as a multiple of what it was when calibrated.
    pub change_factor: f64,
    /// True kilometres per kilometre on the odometer. `None`: that of the calibration is not known.
    pub odometer_factor: Option<f64>,
    /// What it shows at several true speeds, against the band of UN R39.
    pub readings: Vec<SpeedometerReading>,
}

/// What belongs to one state alone.
#[derive(Debug, Clone, PartialEq)]
pub struct StateReport {
    /// Rolling circumference of its tyres, metres.
    pub circumference_m: f64,
    /// The lowest forward gear. `None`: there is none.
    pub crawl: Option<Crawl>,
    /// Climbs in that gear by ground. Empty: something of them is missing.
    pub climbs: Vec<Climb>,
    /// The speedometer. `None`: something of it is missing.
    pub speedometer: Option<SpeedometerReport>,
    /// Road speed over engine speed. `None`: the engine's speeds are not known.
    pub chart: Option<SpeedChart>,
}

/// What a driveline comes to.
#[derive(Debug, Clone, PartialEq)]
pub struct Report {
    /// Every gear in every range.
    pub rows: Vec<GearRow>,
    /// As it is, or before the change.
    pub before: StateReport,
    /// After the change. `None`: there is none.
    pub after: Option<StateReport>,
    /// Indicated distance and speed after over before at the same true one, as true over indicated: above 1 the
    /// speedometer reads lower than before. `None`: no change, or not known.
    pub odometer_change: Option<f64>,
    /// The cruising speed that it was computed for.
    pub cruise_km_per_h: Option<f64>,
    /// What is missing, in sentences.
    pub missing: Vec<String>,
}

/// Computes all of it; what is missing is left out and said.
///
/// # Errors
/// Numbers out of range, each below `before`, `after`, `driving` or `calibration`.
pub fn report(
    before: &State,
    after: Option<&State>,
    driving: &Driving,
    calibration: Option<&SpeedometerCalibration>,
) -> Result<Report, InvalidInput> {
    let mut missing = Vec::new();
    let speeds = ReferenceSpeeds {
        cruise_km_per_h: driving.cruise_km_per_h,
        crawl_rpm: driving.idle_rpm,
    };
    let rows = match after {
        Some(after) => compare(&before.setup, &after.setup, &speeds)?.rows,
        None => {
            gear_figures(&before.setup, speeds.cruise_km_per_h).map_err(|refused| refused.within("before"))?
        }
    };
    for (number, what) in [
        (driving.cruise_km_per_h, "the cruising speed"),
        (driving.idle_rpm, "the engine speed at idle"),
        (driving.engine_max_rpm, "the highest engine speed"),
    ] {
        if number.is_none() {
            missing.push(format!("{what} is not known"));
        }
    }
    let climbing = Climbing::of(driving, &mut missing);
    let calibration = calibration_known(calibration, &mut missing);
    let mut one = |state: &State, path: &str| {
        state_report(state, driving, climbing.as_ref(), calibration, &mut missing)
            .map_err(|refused| refused.within(path))
    };
    let before_report = one(before, "before")?;
    let after_report = after.map(|after| one(after, "after")).transpose()?;
    let factor = |report: &StateReport| report.speedometer.as_ref().map(|found| found.change_factor);
    let odometer_change = after_report
        .as_ref()
        .and_then(|after| Some(factor(after)? / factor(&before_report)?));
    Ok(Report {
        rows,
        before: before_report,
        after: after_report,
        odometer_change,
        cruise_km_per_h: driving.cruise_km_per_h,
        missing,
    })
}

fn calibration_known<'a>(
    calibration: Option<&'a SpeedometerCalibration>,
    missing: &mut Vec<String>,
) -> Option<&'a SpeedometerCalibration> {
    let Some(calibration) = calibration else {
        missing.push("what the speedometer was calibrated with is not known".to_owned());
        return None;
    };
    if calibration.over_reading_percent.is_none() {
        missing.push(
            "how much the speedometer read above the true speed when calibrated is not known".to_owned(),
        );
    }
    if calibration.odometer_factor.is_none() {
        missing.push("the odometer factor when calibrated is not known".to_owned());
    }
    Some(calibration)
}

fn state_report(
    state: &State,
    driving: &Driving,
    climbing: Option<&Climbing>,
    calibration: Option<&SpeedometerCalibration>,
    missing: &mut Vec<String>,
) -> Result<StateReport, InvalidInput> {
    let climbs = match climbing {
        Some(climbing) => climbing.climbs(&state.setup)?,
        None => Vec::new(),
    };
    let speedometer = match calibration {
        Some(calibration) => speedometer(state, calibration, missing)?,
        None => None,
    };
    let chart = match driving.idle_rpm.zip(driving.engine_max_rpm) {
        Some((from_rpm, to_rpm)) => Some(speed_over_engine_speed(&state.setup, from_rpm, to_rpm)?),
        None => None,
    };
    Ok(StateReport {
        circumference_m: state.setup.circumference_m(),
        crawl: crawl(&state.setup, driving.idle_rpm)?,
        climbs,
        speedometer,
        chart,
    })
}

/// A speedometer as it was calibrated, against what turns it now. `None`: something is missing.
///
/// # Errors
/// Numbers out of range.
pub fn speedometer_change(
    state: &State,
    calibration: &SpeedometerCalibration,
    missing: &mut Vec<String>,
) -> Result<Option<SpeedometerChange>, InvalidInput> {
    let at_wheel = calibration.drive == SpeedometerDrive::Wheel;
    let driveline = &state.setup.driveline;
    let (ratios, drives) = if at_wheel {
        (Some((1.0, 1.0)), Some((1.0, 1.0)))
    } else {
        (
            calibration
                .wheel_ratio
                .map(|then| (then, driveline.axle_ratio * driveline.hub_ratio)),
            calibration.drive_ratio.zip(state.speedometer_ratio),
        )
    };
    for (known, what) in [
        (
            ratios.is_some(),
            "the axle ratio with which the speedometer was calibrated",
        ),
        (
            drives.is_some(),
            "the speedometer drive, when calibrated or as fitted,",
        ),
    ] {
        let sentence = format!("{what} is not known");
        if !known && !missing.contains(&sentence) {
            missing.push(sentence);
        }
    }
    let Some(((ratio_before, ratio_after), (drive_before, drive_after))) = ratios.zip(drives) else {
        return Ok(None);
    };
    Ok(Some(SpeedometerChange {
        tyre_diameter_before_mm: calibration.tyre_diameter_mm,
        tyre_diameter_after_mm: state.setup.tyre_diameter_mm,
        wheel_ratio_before: ratio_before,
        wheel_ratio_after: ratio_after,
        speedometer_drive_before: drive_before,
        speedometer_drive_after: drive_after,
    }))
}

fn speedometer(
    state: &State,
    calibration: &SpeedometerCalibration,
    missing: &mut Vec<String>,
) -> Result<Option<SpeedometerReport>, InvalidInput> {
    let Some(change) = speedometer_change(state, calibration, missing)? else {
        return Ok(None);
    };
    let change_factor = odometer_factor(&change)?;
    Ok(Some(SpeedometerReport {
        change_factor,
        odometer_factor: calibration.odometer_factor.map(|then| then * change_factor),
        readings: judge_speedometer(&change, calibration.over_reading_percent, &JUDGED_KM_PER_H)?,
    }))
}

impl Driving {
    /// Refuses numbers that nothing can be computed with.
    ///
    /// # Errors
    /// Every one that is out of range.
    pub fn check(&self) -> Result<(), InvalidInput> {
        let mut check = Check::new();
        if let Some((idle_rpm, engine_max_rpm)) = self.idle_rpm.zip(self.engine_max_rpm)
            && engine_max_rpm <= idle_rpm
        {
            check.refuse("engine_max_rpm", format!("must be above idle_rpm, {idle_rpm}"));
        }
        check.finish()
    }
}
