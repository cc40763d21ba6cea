//! Battery bank: usable energy, current limit and temperature. The discharge-rate law is in [`super::peukert`].
//!
//! The chemistry is data. The typical values offered are common practice without a source; a maker's
//! data sheet goes before them.

use super::peukert::{CURRENT_LEAST_A, CapacityBasis, check_basis, peukert_formula};
use super::{CURRENT_MAX_A, DC_VOLTAGE_V};
use crate::check::{Check, InvalidInput};

/// Families of cells that behave differently enough to matter here.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ChemistryFamily {
    /// Flooded, absorbed-mat or gel lead-acid: capacity falls with the discharge current.
    LeadAcid,
    /// Lithium iron phosphate: capacity practically independent of the discharge current.
    LithiumIronPhosphate,
}

/// Capacity left at one cell temperature.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DeratingPoint {
    /// Cell temperature, degrees Celsius, -60 to 90.
    pub temperature_c: f64,
    /// Capacity there over rated capacity, 0 to 1.2.
    pub capacity_share: f64,
}

/// A chemistry as data.
#[derive(Debug, Clone, PartialEq)]
pub struct Chemistry {
    /// Which laws apply.
    pub family: ChemistryFamily,
    /// Share of the capacity that may be drawn, 0.001 to 1.
    pub usable_share: f64,
    /// Highest continuous discharge current over capacity, per hour (1 C empties the bank in an hour), 0.001 to 10.
    pub discharge_limit_c_rate: f64,
    /// Highest charge current over capacity, per hour, 0.001 to 10.
    pub charge_limit_c_rate: f64,
    /// Energy out over energy in of a full cycle, 0.05 to 1.
    pub charge_efficiency: f64,
    /// Lowest cell temperature at which charging is allowed, degrees Celsius; `None` when no limit is stated.
    pub charge_temperature_least_c: Option<f64>,
    /// Exponent of the discharge-rate law, 1 to 2; lead-acid only; `None` when not known.
    pub peukert_exponent: Option<f64>,
    /// Capacity against temperature, by rising temperature; empty when not known.
    pub derating: Vec<DeratingPoint>,
    /// Where these values come from, to be shown with every result.
    pub provenance: String,
}

impl Chemistry {
    /// Typical absorbed-mat lead-acid values. Common practice, no source: half of the capacity used, the
    /// exponent 1.25 is the default of a battery-monitor handbook (read).
    pub fn lead_acid_typical() -> Self {
        Self {
            family: ChemistryFamily::LeadAcid,
            usable_share: 0.5,
            discharge_limit_c_rate: 0.5,
            charge_limit_c_rate: 0.2,
            charge_efficiency: 0.80,
            charge_temperature_least_c: None,
            peukert_exponent: Some(1.25),
            derating: points(&[(-20.0, 0.55), (0.0, 0.80), (25.0, 1.0), (50.0, 1.0)]),
            provenance: "typical lead-acid: common practice, no source".to_owned(),
        }
    }

    /// Typical lithium iron phosphate values. Common practice, no source; no charging below 0 degrees Celsius.
    pub fn lithium_iron_phosphate_typical() -> Self {
        Self {
            family: ChemistryFamily::LithiumIronPhosphate,
            usable_share: 0.8,
            discharge_limit_c_rate: 1.0,
            charge_limit_c_rate: 0.5,
            charge_efficiency: 0.95,
            charge_temperature_least_c: Some(0.0),
            peukert_exponent: None,
            derating: points(&[(-20.0, 0.70), (0.0, 0.85), (25.0, 1.0), (50.0, 1.0)]),
            provenance: "typical lithium iron phosphate: common practice, no source".to_owned(),
        }
    }
}

fn points(pairs: &[(f64, f64)]) -> Vec<DeratingPoint> {
    pairs
        .iter()
        .map(|&(temperature_c, capacity_share)| DeratingPoint {
            temperature_c,
            capacity_share,
        })
        .collect()
}

/// A bank as one battery: series and parallel already added up.
#[derive(Debug, Clone, PartialEq)]
pub struct BatteryBank {
    /// Chemistry of the cells.
    pub chemistry: Chemistry,
    /// Mean voltage while it is drawn on, V, within [`DC_VOLTAGE_V`].
    pub voltage_v: f64,
    /// Capacity, Ah, 0.001 to 10,000.
    pub capacity_ah: f64,
    /// What the capacity means; `None` when not known (matters for lead-acid only).
    pub capacity_basis: Option<CapacityBasis>,
    /// Cell temperature, degrees Celsius, -60 to 90; `None` when not known.
    pub temperature_c: Option<f64>,
    /// Capacity now over capacity when new, 0.001 to 1; `None` when not measured.
    pub health_share: Option<f64>,
}

/// What a bank gives at one discharge current.
#[derive(Debug, Clone, PartialEq)]
pub struct Discharge {
    /// The current asked for, A.
    pub current_a: f64,
    /// Highest continuous current, A.
    pub current_limit_a: f64,
    /// Whether the current asked for keeps the limit.
    pub within_current_limit: bool,
    /// Share of the capacity left at the temperature; `None` when not known and then not applied.
    pub temperature_share: Option<f64>,
    /// Share of the capacity left at this current, at most 1; `None` when not known and then not applied.
    pub rate_share: Option<f64>,
    /// Usable charge, Ah.
    pub usable_ah: f64,
    /// Usable energy, Wh.
    pub usable_wh: f64,
    /// Hours at the current asked for until the usable charge is gone; `None` below [`CURRENT_LEAST_A`].
    pub hours: Option<f64>,
    /// Inputs that were missing; the usable figures are upper bounds while any is.
    pub missing: Vec<&'static str>,
}

/// Usable charge and energy of a bank drawn at `current_a` (0 for the slow draw of a budget).
///
/// Usable charge = capacity x usable share x health x temperature share x rate share. Multiplying the
/// shares is common practice, no source. The rate share comes from [`super::peukert::peukert_hours`], is used for lead-acid
/// only, and never raises the capacity above its rating. Below the current of the rating it is 1. The current
/// limit is taken as rated: a cold battery gives less, by how much only its maker can say.
///
/// # Errors
/// Values outside the ranges of their fields; a temperature outside the derating table.
pub fn discharge(bank: &BatteryBank, current_a: f64) -> Result<Discharge, InvalidInput> {
    let mut check = Check::new();
    check.merge("", check_bank(bank));
    check.between("current_a", current_a, 0.0, CURRENT_MAX_A);
    check.finish()?;

    let mut missing = Vec::new();
    let temperature_share = bank
        .temperature_c
        .and_then(|temperature_c| interpolate(&bank.chemistry.derating, temperature_c));
    if bank.temperature_c.is_none() {
        missing.push("temperature_c");
    }
    if bank.chemistry.derating.is_empty() {
        missing.push("chemistry.derating");
    }
    if bank.health_share.is_none() {
        missing.push("health_share");
    }
    let rate_share = rate_share(bank, current_a, &mut missing);
    let usable_ah = bank.capacity_ah
        * bank.chemistry.usable_share
        * bank.health_share.unwrap_or(1.0)
        * temperature_share.unwrap_or(1.0)
        * rate_share.unwrap_or(1.0);
    let current_limit_a = current_limit_a(bank);
    Ok(Discharge {
        current_a,
        current_limit_a,
        within_current_limit: current_a <= current_limit_a,
        temperature_share,
        rate_share,
        usable_ah,
        usable_wh: usable_ah * bank.voltage_v,
        hours: (current_a >= CURRENT_LEAST_A).then(|| usable_ah / current_a),
        missing,
    })
}

/// Highest continuous discharge current of the bank as rated, A. Not checked: for banks that were.
pub(super) fn current_limit_a(bank: &BatteryBank) -> f64 {
    bank.capacity_ah * bank.chemistry.discharge_limit_c_rate
}

fn rate_share(bank: &BatteryBank, current_a: f64, missing: &mut Vec<&'static str>) -> Option<f64> {
    if bank.chemistry.family != ChemistryFamily::LeadAcid || current_a <= CURRENT_LEAST_A {
        return Some(1.0);
    }
    if bank.capacity_basis.is_none() {
        missing.push("capacity_basis");
    }
    if bank.chemistry.peukert_exponent.is_none() {
        missing.push("chemistry.peukert_exponent");
    }
    let hours = peukert_formula(
        bank.capacity_ah,
        bank.capacity_basis?,
        bank.chemistry.peukert_exponent?,
        current_a,
    );
    Some((current_a * hours / bank.capacity_ah).min(1.0))
}

pub(super) const CAPACITY_LEAST_AH: f64 = 0.001;
pub(super) const CAPACITY_MAX_AH: f64 = 10_000.0;

/// Checks the bank alone; fields are relative to it.
pub(super) fn check_bank(bank: &BatteryBank) -> Result<(), InvalidInput> {
    let mut check = Check::new();
    let chemistry = &bank.chemistry;
    check.between("chemistry.usable_share", chemistry.usable_share, 0.001, 1.0);
    check.between(
        "chemistry.discharge_limit_c_rate",
        chemistry.discharge_limit_c_rate,
        0.001,
        10.0,
    );
    check.between(
        "chemistry.charge_limit_c_rate",
        chemistry.charge_limit_c_rate,
        0.001,
        10.0,
    );
    check.between(
        "chemistry.charge_efficiency",
        chemistry.charge_efficiency,
        0.05,
        1.0,
    );
    if let Some(least_c) = chemistry.charge_temperature_least_c {
        check.between("chemistry.charge_temperature_least_c", least_c, -60.0, 90.0);
    }
    if let Some(exponent) = chemistry.peukert_exponent {
        check.between("chemistry.peukert_exponent", exponent, 1.0, 2.0);
        if chemistry.family != ChemistryFamily::LeadAcid {
            check.refuse(
                "chemistry.peukert_exponent",
                "must be absent: the discharge-rate law is for lead-acid",
            );
        }
    }
    check_derating(&mut check, chemistry, bank.temperature_c);
    check.between(
        "voltage_v",
        bank.voltage_v,
        *DC_VOLTAGE_V.start(),
        *DC_VOLTAGE_V.end(),
    );
    check.between(
        "capacity_ah",
        bank.capacity_ah,
        CAPACITY_LEAST_AH,
        CAPACITY_MAX_AH,
    );
    if let Some(basis) = bank.capacity_basis {
        check_basis(&mut check, "capacity_basis", basis);
    }
    if let Some(temperature_c) = bank.temperature_c {
        check.between("temperature_c", temperature_c, -60.0, 90.0);
    }
    if let Some(health_share) = bank.health_share {
        check.between("health_share", health_share, 0.001, 1.0);
    }
    check.finish()
}

fn check_derating(check: &mut Check, chemistry: &Chemistry, temperature_c: Option<f64>) {
    let table = &chemistry.derating;
    if table.len() > 100 {
        check.refuse(
            "chemistry.derating",
            format!("must have at most 100 points, has {}", table.len()),
        );
        return;
    }
    for (index, point) in table.iter().enumerate() {
        check.between(
            format_args!("chemistry.derating[{index}].temperature_c"),
            point.temperature_c,
            -60.0,
            90.0,
        );
        check.between(
            format_args!("chemistry.derating[{index}].capacity_share"),
            point.capacity_share,
            0.0,
            1.2,
        );
    }
    if table
        .windows(2)
        .any(|pair| pair[1].temperature_c - pair[0].temperature_c < 0.01)
    {
        check.refuse(
            "chemistry.derating",
            "must rise in temperature_c from point to point",
        );
    }
    if let (Some(temperature_c), Some(first), Some(last)) = (temperature_c, table.first(), table.last())
        && temperature_c.is_finite()
        && !(first.temperature_c..=last.temperature_c).contains(&temperature_c)
    {
        let (least, most) = (first.temperature_c, last.temperature_c);
        check.refuse(
            "temperature_c",
            format!("must be within the derating table, {least} to {most}, is {temperature_c}"),
        );
    }
}

fn interpolate(table: &[DeratingPoint], temperature_c: f64) -> Option<f64> {
    if let [only] = table {
        return (only.temperature_c == temperature_c).then_some(only.capacity_share);
    }
    table
        .windows(2)
        .find(|pair| (pair[0].temperature_c..=pair[1].temperature_c).contains(&temperature_c))
        .map(|pair| {
            let along =
                (temperature_c - pair[0].temperature_c) / (pair[1].temperature_c - pair[0].temperature_c);
            pair[0].capacity_share + along * (pair[1].capacity_share - pair[0].capacity_share)
        })
}
