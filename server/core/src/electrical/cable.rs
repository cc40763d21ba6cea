//! Cables: resistance by size and temperature, voltage drop of the two-way run, smallest sufficient size.

use super::{CURRENT_MAX_A, DC_VOLTAGE_V};
use crate::check::{Check, InvalidInput};

/// Highest allowed drop as a share of the system voltage for main feeders, navigation lights, electronic
/// equipment and other critical circuits: ABYC E-11 clause 11.14.2.6 (read in a secondary copy). A boat rule,
/// used for want of one for vehicles.
pub const DROP_SHARE_CRITICAL: f64 = 0.03;

/// The same for lighting and other non-critical circuits: ABYC E-11 clause 11.14.2.6 (read in a secondary copy).
pub const DROP_SHARE_OTHER: f64 = 0.10;

/// A conductor size with its highest resistances.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Conductor {
    /// Nominal area, mm2.
    pub size_mm2: f64,
    /// Highest resistance at 20 degrees Celsius, class 2, ohm/km.
    pub class2_ohm_per_km: f64,
    /// The same, class 5.
    pub class5_ohm_per_km: f64,
}

const fn conductor(size_mm2: f64, class2_ohm_per_km: f64, class5_ohm_per_km: f64) -> Conductor {
    Conductor {
        size_mm2,
        class2_ohm_per_km,
        class5_ohm_per_km,
    }
}

/// Sizes of plain copper conductors, rising: IEC 60228:2004 (read, four makers' tables agree).
pub const CONDUCTORS: [Conductor; 13] = [
    conductor(1.0, 18.1, 19.5),
    conductor(1.5, 12.1, 13.3),
    conductor(2.5, 7.41, 7.98),
    conductor(4.0, 4.61, 4.95),
    conductor(6.0, 3.08, 3.30),
    conductor(10.0, 1.83, 1.91),
    conductor(16.0, 1.15, 1.21),
    conductor(25.0, 0.727, 0.780),
    conductor(35.0, 0.524, 0.554),
    conductor(50.0, 0.387, 0.386),
    conductor(70.0, 0.268, 0.272),
    conductor(95.0, 0.193, 0.206),
    conductor(120.0, 0.153, 0.161),
];

/// Conductor temperature, degrees Celsius, with the divisor that brings the resistance from 20 degrees there
/// (read, a cable maker's table).
pub const TEMPERATURE_DIVISORS: [(f64, f64); 8] = [
    (20.0, 1.0),
    (30.0, 0.962),
    (40.0, 0.926),
    (50.0, 0.893),
    (60.0, 0.862),
    (70.0, 0.833),
    (80.0, 0.806),
    (90.0, 0.781),
];

/// Stranding of a conductor.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ConductorClass {
    /// Stranded for fixed installation.
    Class2,
    /// Flexible: what is fitted in vehicles.
    Class5,
}

/// A run of cable to be judged.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CableRun {
    /// Current carried, A, above 0 to [`CURRENT_MAX_A`].
    pub current_a: f64,
    /// Length one way, m, above 0 to 100; the current flows it there and back.
    pub length_one_way_m: f64,
    /// Voltage at the source, V, within [`DC_VOLTAGE_V`].
    pub system_voltage_v: f64,
    /// Stranding.
    pub class: ConductorClass,
    /// Conductor temperature, degrees Celsius, 20 to 90: that of the loaded cable, not of the air.
    pub temperature_c: f64,
}

/// Voltage drop of a run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct VoltageDrop {
    /// Resistance of the conductor, ohm/km at the temperature.
    pub resistance_ohm_per_km: f64,
    /// Drop over both ways, V. It may exceed the system voltage: then the current cannot flow.
    pub drop_v: f64,
    /// Drop over system voltage.
    pub drop_share: f64,
    /// Heat in the cable, W.
    pub loss_w: f64,
}

/// Highest current of a size, as the installation rules or the cable's maker give it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SizeAmpacity {
    /// Size, mm2, one of [`CONDUCTORS`].
    pub size_mm2: f64,
    /// Current it carries continuously as laid, A, above 0 to [`CURRENT_MAX_A`].
    pub ampacity_a: f64,
}

/// One size judged.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SizeVerdict {
    /// Size, mm2.
    pub size_mm2: f64,
    /// Its voltage drop.
    pub drop: VoltageDrop,
    /// Whether the drop is within the allowed share.
    pub drop_is_met: bool,
    /// Its ampacity, A; `None` when not given.
    pub ampacity_a: Option<f64>,
    /// Whether the ampacity covers the current; `None` when not known.
    pub ampacity_is_met: Option<bool>,
}

/// All sizes judged.
#[derive(Debug, Clone, PartialEq)]
pub struct CableSizing {
    /// Every size of [`CONDUCTORS`], smallest first.
    pub sizes: Vec<SizeVerdict>,
    /// Smallest size known to meet both; `None` when there is none.
    pub smallest_mm2: Option<f64>,
    /// Smallest size that meets the drop alone, whatever its ampacity; `None` when even the largest drops too much.
    pub smallest_by_drop_mm2: Option<f64>,
}

/// Highest resistance of a copper conductor, ohm/km. Between the temperatures of the table the divisor is
/// interpolated linearly (own choice; within 0.05 % of interpolating the resistance instead).
///
/// # Errors
/// A size not in [`CONDUCTORS`], a temperature not 20 to 90 degrees Celsius.
pub fn resistance_ohm_per_km(
    size_mm2: f64,
    class: ConductorClass,
    temperature_c: f64,
) -> Result<f64, InvalidInput> {
    let mut check = Check::new();
    let row = row_of(&mut check, "size_mm2", size_mm2);
    let divisor = divisor_at(&mut check, temperature_c);
    check.finish()?;
    Ok(resistance_20(row, class) / divisor)
}

/// Voltage drop of a run in a size: `I x R' x 2 l`.
///
/// # Errors
/// A size not in [`CONDUCTORS`]; values outside the ranges of their fields.
pub fn voltage_drop(run: &CableRun, size_mm2: f64) -> Result<VoltageDrop, InvalidInput> {
    let mut check = Check::new();
    let row = row_of(&mut check, "size_mm2", size_mm2);
    let divisor = check_run(&mut check, run);
    check.finish()?;
    Ok(drop_in(run, row, divisor))
}

/// Smallest size whose drop is at most `allowed_drop_share` and whose ampacity covers the current.
///
/// Ampacity depends on laying, insulation and bundling; tables differ, so it is an argument. A size without
/// an entry is never chosen. Show [`super::cautions::CAUTION_CABLE`] with it.
///
/// # Errors
/// Values outside the ranges of their fields; a share not 0.001 to 0.5; a size given twice.
pub fn size_cable(
    run: &CableRun,
    allowed_drop_share: f64,
    ampacities: &[SizeAmpacity],
) -> Result<CableSizing, InvalidInput> {
    let mut check = Check::new();
    let divisor = check_run(&mut check, run);
    check.between("allowed_drop_share", allowed_drop_share, 0.001, 0.5);
    if ampacities.len() > CONDUCTORS.len() {
        check.refuse(
            "ampacities",
            format!("must be at most {}, are {}", CONDUCTORS.len(), ampacities.len()),
        );
    }
    for (index, entry) in ampacities.iter().enumerate().take(CONDUCTORS.len()) {
        row_of(
            &mut check,
            &format!("ampacities[{index}].size_mm2"),
            entry.size_mm2,
        );
        check.between(
            format_args!("ampacities[{index}].ampacity_a"),
            entry.ampacity_a,
            0.001,
            CURRENT_MAX_A,
        );
        if ampacities[..index]
            .iter()
            .any(|earlier| earlier.size_mm2 == entry.size_mm2)
        {
            check.refuse(
                format_args!("ampacities[{index}].size_mm2"),
                "must not be given twice",
            );
        }
    }
    check.finish()?;

    let sizes: Vec<_> = CONDUCTORS
        .iter()
        .map(|row| {
            let drop = drop_in(run, *row, divisor);
            let ampacity_a = ampacities
                .iter()
                .find(|entry| entry.size_mm2 == row.size_mm2)
                .map(|entry| entry.ampacity_a);
            SizeVerdict {
                size_mm2: row.size_mm2,
                drop,
                drop_is_met: drop.drop_share <= allowed_drop_share,
                ampacity_a,
                ampacity_is_met: ampacity_a.map(|ampacity_a| run.current_a <= ampacity_a),
            }
        })
        .collect();
    let by_drop = sizes.iter().find(|size| size.drop_is_met);
    let by_both = sizes
        .iter()
        .find(|size| size.drop_is_met && size.ampacity_is_met == Some(true));
    Ok(CableSizing {
        smallest_mm2: by_both.map(|size| size.size_mm2),
        smallest_by_drop_mm2: by_drop.map(|size| size.size_mm2),
        sizes,
    })
}

/// Resistivity of ABYC E-11's formula, circular-mil ohm per foot (read in a secondary copy); about that of
/// copper at 29 degrees Celsius (own calculation), so it flatters a hot cable.
pub const CIRCULAR_MIL_K: f64 = 10.75;

/// One circular mil, mm2: the area of a circle of 1/1000 inch across.
pub const MM2_PER_CIRCULAR_MIL: f64 = std::f64::consts::FRAC_PI_4 * 0.0254 * 0.0254;

/// Conductor area by ABYC E-11's formula `K I L / E`, circular mils, with `L` out and back in feet: an
/// independent check of [`size_cable`] (read in a secondary copy). Charts printed from it round lengths up.
///
/// # Errors
/// Current not above 0 to [`CURRENT_MAX_A`], length not above 0 to 1,000 ft, drop not 0.001 to 60 V.
pub fn circular_mils(current_a: f64, loop_length_ft: f64, allowed_drop_v: f64) -> Result<f64, InvalidInput> {
    let mut check = Check::new();
    check.between("current_a", current_a, 0.001, CURRENT_MAX_A);
    check.between("loop_length_ft", loop_length_ft, 0.001, 1_000.0);
    check.between("allowed_drop_v", allowed_drop_v, 0.001, 60.0);
    check.finish()?;
    Ok(CIRCULAR_MIL_K * current_a * loop_length_ft / allowed_drop_v)
}

fn row_of(check: &mut Check, field: &str, size_mm2: f64) -> Conductor {
    if let Some(row) = CONDUCTORS.iter().find(|row| row.size_mm2 == size_mm2) {
        return *row;
    }
    let sizes = CONDUCTORS.map(|row| row.size_mm2.to_string()).join(", ");
    check.refuse(field, format!("must be one of {sizes}, is {size_mm2}"));
    CONDUCTORS[0]
}

fn divisor_at(check: &mut Check, temperature_c: f64) -> f64 {
    check.between("temperature_c", temperature_c, 20.0, 90.0);
    let span = TEMPERATURE_DIVISORS
        .windows(2)
        .find(|pair| (pair[0].0..=pair[1].0).contains(&temperature_c));
    span.map_or(1.0, |pair| {
        pair[0].1 + (temperature_c - pair[0].0) / (pair[1].0 - pair[0].0) * (pair[1].1 - pair[0].1)
    })
}

fn check_run(check: &mut Check, run: &CableRun) -> f64 {
    check.between("run.current_a", run.current_a, 0.001, CURRENT_MAX_A);
    check.between("run.length_one_way_m", run.length_one_way_m, 0.001, 100.0);
    check.between(
        "run.system_voltage_v",
        run.system_voltage_v,
        *DC_VOLTAGE_V.start(),
        *DC_VOLTAGE_V.end(),
    );
    let mut inner = Check::new();
    let divisor = divisor_at(&mut inner, run.temperature_c);
    check.merge("run", inner.finish());
    divisor
}

fn resistance_20(row: Conductor, class: ConductorClass) -> f64 {
    match class {
        ConductorClass::Class2 => row.class2_ohm_per_km,
        ConductorClass::Class5 => row.class5_ohm_per_km,
    }
}

fn drop_in(run: &CableRun, row: Conductor, divisor: f64) -> VoltageDrop {
    let resistance_ohm_per_km = resistance_20(row, run.class) / divisor;
    let drop_v = run.current_a * resistance_ohm_per_km / 1_000.0 * 2.0 * run.length_one_way_m;
    VoltageDrop {
        resistance_ohm_per_km,
        drop_v,
        drop_share: drop_v / run.system_voltage_v,
        loss_w: drop_v * run.current_a,
    }
}
