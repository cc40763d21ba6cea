//! Leak tests of tanks: published guidance as data, and what a falling gauge means.
//!
//! Whoever approves the tank sets the test; nothing here replaces that rule.

use crate::check::{Check, InvalidInput};

/// Cautions to show wherever a leak test is planned or recorded.
pub const CAUTIONS: [&str; 5] = [
    "Air in a tank that has held fuel is an explosion hazard: test with water, or have the tank made gas-free first.",
    "Compressed air stores energy: a wall that bursts under air throws parts, under water it only leaks.",
    "Never weld, grind or drill near a tank that has held fuel before it is gas-free and certified so.",
    "Use a gauge that reads the test pressure well and a relief valve; never line pressure from a compressor.",
    "Stay out of line with the walls while the pressure rises, and let it off before any fitting is turned.",
];

/// Medium that fills a tank under test.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Medium {
    /// Water or another liquid that does not burn.
    Liquid,
    /// Air or another gas; see [`CAUTIONS`].
    Gas,
}

/// A published leak or strength test.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LeakTestGuidance {
    /// What the guidance covers.
    pub name: &'static str,
    /// Medium.
    pub medium: Medium,
    /// Test pressure per unit of service pressure.
    pub service_pressure_factor: f64,
    /// Least test pressure.
    pub least_pressure_kpa: f64,
    /// How long it is held.
    pub hold_s: f64,
    /// When the tank passes.
    pub passes_when: &'static str,
    /// Publication, and how it was seen.
    pub source: &'static str,
}

/// Published tests known here.
pub const GUIDANCE: [LeakTestGuidance; 1] = [LeakTestGuidance {
    name: "metal fuel tank of a bus",
    medium: Medium::Liquid,
    service_pressure_factor: 2.0,
    least_pressure_kpa: 30.0,
    hold_s: 60.0,
    passes_when: "it does not crack or leak; lasting deformation is allowed",
    source: "UN bus regulation, fuel tank clause; read in a secondary copy without its number",
}];

impl LeakTestGuidance {
    /// Test pressure in kilopascals above the outside for a service pressure.
    ///
    /// # Errors
    /// A service pressure that is negative or above 1000 kPa.
    pub fn test_pressure_kpa(&self, service_pressure_kpa: f64) -> Result<f64, InvalidInput> {
        let mut check = Check::new();
        check.between("service_pressure_kpa", service_pressure_kpa, 0.0, 1_000.0);
        check.finish()?;
        Ok((self.service_pressure_factor * service_pressure_kpa).max(self.least_pressure_kpa))
    }
}

/// Readings of a test with gas in a closed tank.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GasTestReadings {
    /// Gauge pressure at the start.
    pub start_kpa: f64,
    /// Gauge pressure at the end.
    pub end_kpa: f64,
    /// Temperature of the gas at the start.
    pub start_temperature_c: f64,
    /// Temperature of the gas at the end.
    pub end_temperature_c: f64,
    /// Outside pressure, from 40 to 110.
    pub outside_kpa: f64,
}

/// Part of a pressure drop, in kilopascals, that cooling does not explain: positive when gas was lost,
/// around 0 when the tank is tight. One degree of cooling alone costs about a third of a kilopascal.
/// Ideal gas law at constant volume.
///
/// # Errors
/// Numbers out of range.
pub fn unexplained_drop_kpa(readings: &GasTestReadings) -> Result<f64, InvalidInput> {
    let mut check = Check::new();
    check.between("start_kpa", readings.start_kpa, 0.0, 1_000.0);
    check.between("end_kpa", readings.end_kpa, 0.0, 1_000.0);
    check.between("start_temperature_c", readings.start_temperature_c, -50.0, 100.0);
    check.between("end_temperature_c", readings.end_temperature_c, -50.0, 100.0);
    check.between("outside_kpa", readings.outside_kpa, 40.0, 110.0);
    check.finish()?;
    let kelvin = |temperature_c: f64| temperature_c + 273.15;
    let tight_kpa = (readings.start_kpa + readings.outside_kpa) * kelvin(readings.end_temperature_c)
        / kelvin(readings.start_temperature_c)
        - readings.outside_kpa;
    Ok(tight_kpa - readings.end_kpa)
}
