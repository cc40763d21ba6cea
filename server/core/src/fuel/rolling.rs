//! Rates from rolling resistance where nobody measured.
//!
//! A steady vehicle on the flat spends its driving energy on rolling resistance
//! `coefficient x mass x g` and on drag `0.5 x air density x drag area x speed^2`. The share of the
//! first gives the mass share of a rate; the ratio of two coefficients gives a surface factor.
//! Engine losses at light load are left out, so both are upper estimates of what changes (own
//! derivation). Published coefficients differ by factors: always carry low, typical and high.

use super::consumption::{RATE_MAX_L_PER_100KM, RateProvenance, SurfaceRate};
use crate::check::{Check, InvalidInput};
use crate::units::STANDARD_GRAVITY_M_PER_S2;

/// Density of air at sea level and 15 degrees Celsius, kg/m^3.
const AIR_DENSITY_KG_PER_M3: f64 = 1.225;

/// A vehicle rolling steadily on the flat.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rolling {
    /// Coefficient of rolling resistance, greater than 0 up to 1.
    pub coefficient: f64,
    /// Mass, kg, greater than 0.
    pub mass_kg: f64,
    /// Drag coefficient times frontal area, square metres, 0 or more.
    pub drag_area_m2: f64,
    /// Speed, km/h, 0 to 200.
    pub speed_kmh: f64,
}

/// Share of the driving force that is proportional to mass, 0 to 1.
///
/// # Errors
/// Every number out of its range.
pub fn mass_share(rolling: &Rolling) -> Result<f64, InvalidInput> {
    let mut check = Check::new();
    check.between("coefficient", rolling.coefficient, 1e-4, 1.0);
    check.between("mass_kg", rolling.mass_kg, 1.0, 1e6);
    check.between("drag_area_m2", rolling.drag_area_m2, 0.0, 100.0);
    check.between("speed_kmh", rolling.speed_kmh, 0.0, 200.0);
    check.finish()?;
    let rolling_n = rolling.coefficient * rolling.mass_kg * STANDARD_GRAVITY_M_PER_S2;
    let drag_n = 0.5 * AIR_DENSITY_KG_PER_M3 * rolling.drag_area_m2 * (rolling.speed_kmh / 3.6).powi(2);
    Ok(rolling_n / (rolling_n + drag_n))
}

/// Coefficients of rolling resistance of one surface over the published range.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Coefficient {
    /// Lowest, greater than 0.
    pub low: f64,
    /// Typical, not below the lowest.
    pub typical: f64,
    /// Highest, not below the typical, up to 1.
    pub high: f64,
}

/// A rate on another surface, with what the range of coefficients makes of it.
#[derive(Debug, Clone, PartialEq)]
pub struct DerivedRate {
    /// The rate at the typical coefficient, with half the range as its spread (at most 1).
    pub rate: SurfaceRate,
    /// The rate at the lowest coefficient, litres per 100 km.
    pub low_l_per_100km: f64,
    /// The rate at the highest coefficient, litres per 100 km.
    pub high_l_per_100km: f64,
}

/// Derives the rate on `surface` from a measured one:
/// `rate x (1 + mass share x (coefficient / base coefficient - 1))`.
///
/// # Errors
/// A number out of its range, coefficients out of order, or a derived rate above
/// [`RATE_MAX_L_PER_100KM`].
pub fn derive_rate(
    base: &SurfaceRate,
    base_coefficient: f64,
    base_mass_share: f64,
    surface: &str,
    coefficient: Coefficient,
) -> Result<DerivedRate, InvalidInput> {
    let mut check = Check::new();
    check.merge(
        "base",
        super::consumption::check_rates(std::slice::from_ref(base)),
    );
    check.between("base_coefficient", base_coefficient, 1e-4, 1.0);
    check.between("base_mass_share", base_mass_share, 0.0, 1.0);
    check.between("coefficient.low", coefficient.low, 1e-4, 1.0);
    check.between("coefficient.typical", coefficient.typical, 1e-4, 1.0);
    check.between("coefficient.high", coefficient.high, 1e-4, 1.0);
    if coefficient.low > coefficient.typical || coefficient.typical > coefficient.high {
        check.refuse("coefficient", "must be in the order low, typical, high");
    }
    check.finish()?;
    let at = |c: f64| {
        base.rate_l_per_100km * (1.0 + base_mass_share * (c / base_coefficient - 1.0)).max(f64::EPSILON)
    };
    let (low, typical, high) = (at(coefficient.low), at(coefficient.typical), at(coefficient.high));
    if high > RATE_MAX_L_PER_100KM {
        return Err(InvalidInput::one(
            "coefficient.high",
            format!("gives {high} litres per 100 km, more than {RATE_MAX_L_PER_100KM}"),
        ));
    }
    let rate = SurfaceRate {
        surface: surface.to_owned(),
        rate_l_per_100km: typical,
        provenance: RateProvenance::Derived,
        spread_fraction: Some(((high - low) / (2.0 * typical)).min(1.0)),
        ..base.clone()
    };
    Ok(DerivedRate {
        rate,
        low_l_per_100km: low,
        high_l_per_100km: high,
    })
}
