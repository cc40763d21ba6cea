//! Spring rates from dimensions, rates put together, and the lean of an axle alone.
//!
//! Sources: the coil and leaf formulas are the textbook ones (from memory, not verified). The wheel
//! rate by the square of the lever ratio was read in a chassis engineering textbook, section 3.9
//! ("Automotive Chassis Engineering", p. 179); the square of the cosine follows from the same virtual
//! work (own derivation; some published pages take the cosine once). The axle roll stiffness
//! `1/2 k t^2` was read in public course notes on roll stiffness.

use super::springs::positive_up_to;
use crate::check::{Check, InvalidInput};

/// A coil spring's rate and whether the formula holds for it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CoilRate {
    /// Rate, N/mm.
    pub rate_n_per_mm: f64,
    /// Mean coil diameter over wire diameter.
    pub spring_index: f64,
    /// Whether the index lies between 4 and 12, where the linear formula is good (from memory, not verified).
    pub index_in_range: bool,
}

/// Rate of a close-coiled spring of round wire: `G d^4 / (8 D^3 n)`.
///
/// Shear modulus in GPa (steel about 79 to 80), wire and mean coil diameter in mm, active coils.
///
/// # Errors
/// Any argument that is not above 0, or a coil not wider than its wire.
pub fn coil_rate(
    shear_modulus_gpa: f64,
    wire_diameter_mm: f64,
    mean_coil_diameter_mm: f64,
    active_coils: f64,
) -> Result<CoilRate, InvalidInput> {
    let mut check = Check::new();
    positive_up_to(&mut check, "shear_modulus_gpa", shear_modulus_gpa, 1_000.0);
    positive_up_to(&mut check, "wire_diameter_mm", wire_diameter_mm, 1_000.0);
    positive_up_to(
        &mut check,
        "mean_coil_diameter_mm",
        mean_coil_diameter_mm,
        10_000.0,
    );
    positive_up_to(&mut check, "active_coils", active_coils, 10_000.0);
    if check.passes() && mean_coil_diameter_mm <= wire_diameter_mm {
        check.refuse("mean_coil_diameter_mm", "must be above the wire diameter");
    }
    check.finish()?;
    let rate_n_per_mm = shear_modulus_gpa * 1_000.0 * wire_diameter_mm.powi(4)
        / (8.0 * mean_coil_diameter_mm.powi(3) * active_coils);
    let spring_index = mean_coil_diameter_mm / wire_diameter_mm;
    Ok(CoilRate {
        rate_n_per_mm: finite("rate_n_per_mm", rate_n_per_mm)?,
        spring_index,
        index_in_range: (4.0..=12.0).contains(&spring_index),
    })
}

/// Dimensions of a semi-elliptic leaf pack.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LeafPack {
    /// Elastic modulus, GPa (spring steel about 205 to 210).
    pub elastic_modulus_gpa: f64,
    /// Distance between the eyes less what the clamp takes, mm. The clamp takes its band width, or two
    /// thirds of the distance between the U-bolts (read in course notes on leaf springs).
    pub effective_span_mm: f64,
    /// Width of the leaves, mm.
    pub leaf_width_mm: f64,
    /// Thickness of the leaves, mm, the same for all.
    pub leaf_thickness_mm: f64,
    /// Leaves that reach from eye to eye.
    pub full_length_leaves: u32,
    /// Shorter, graduated leaves.
    pub graduated_leaves: u32,
}

/// Rate of a leaf pack under a central load:
/// `2 E b t^3 (3 n_full + 2 n_graduated) / (12 (span/2)^3)`, N/mm. Without friction between leaves,
/// which makes a real pack stiffer for small movements.
///
/// # Errors
/// Any dimension that is not above 0, or no leaf at all.
pub fn leaf_pack_rate_n_per_mm(pack: &LeafPack) -> Result<f64, InvalidInput> {
    let mut check = Check::new();
    positive_up_to(
        &mut check,
        "elastic_modulus_gpa",
        pack.elastic_modulus_gpa,
        1_000.0,
    );
    positive_up_to(&mut check, "effective_span_mm", pack.effective_span_mm, 10_000.0);
    positive_up_to(&mut check, "leaf_width_mm", pack.leaf_width_mm, 1_000.0);
    positive_up_to(&mut check, "leaf_thickness_mm", pack.leaf_thickness_mm, 200.0);
    let leaves = f64::from(pack.full_length_leaves) + f64::from(pack.graduated_leaves);
    check.between("full_length_leaves", leaves, 1.0, 100.0);
    check.finish()?;
    let weighted = 3.0 * f64::from(pack.full_length_leaves) + 2.0 * f64::from(pack.graduated_leaves);
    let bending = pack.elastic_modulus_gpa * 1_000.0 * pack.leaf_width_mm * pack.leaf_thickness_mm.powi(3);
    finite(
        "rate_n_per_mm",
        2.0 * bending * weighted / (12.0 * (pack.effective_span_mm / 2.0).powi(3)),
    )
}

/// Springs side by side: rates add. N/mm.
///
/// # Errors
/// No rate, or any that is not above 0.
pub fn parallel_rate_n_per_mm(rates_n_per_mm: &[f64]) -> Result<f64, InvalidInput> {
    check_rates(rates_n_per_mm)?;
    finite("rate_n_per_mm", rates_n_per_mm.iter().sum())
}

/// Springs one on the other: yields add, as for a dual coil or a spring on its tyre. N/mm.
///
/// # Errors
/// No rate, or any that is not above 0.
pub fn series_rate_n_per_mm(rates_n_per_mm: &[f64]) -> Result<f64, InvalidInput> {
    check_rates(rates_n_per_mm)?;
    finite(
        "rate_n_per_mm",
        rates_n_per_mm
            .iter()
            .map(|rate| rate.recip())
            .sum::<f64>()
            .recip(),
    )
}

/// Rate at the wheel: `k (motion ratio x cos angle)^2`, N/mm. Motion ratio is spring travel over wheel
/// travel; the angle is between spring axis and vertical, 0 when the ratio already has it.
///
/// # Errors
/// Arguments out of range.
pub fn wheel_rate_n_per_mm(
    spring_rate_n_per_mm: f64,
    motion_ratio: f64,
    installation_angle_deg: f64,
) -> Result<f64, InvalidInput> {
    let mut check = Check::new();
    positive_up_to(&mut check, "spring_rate_n_per_mm", spring_rate_n_per_mm, 1e6);
    check.between("motion_ratio", motion_ratio, 0.05, 3.0);
    check.between("installation_angle_deg", installation_angle_deg, 0.0, 80.0);
    check.finish()?;
    Ok(spring_rate_n_per_mm * (motion_ratio * installation_angle_deg.to_radians().cos()).powi(2))
}

/// Roll stiffness of two equal springs: `1/2 k t^2`, N m/rad. The base is the track for independent
/// wheels with the rate at the wheel, the spring spacing for a beam axle.
///
/// # Errors
/// Arguments out of range.
pub fn axle_roll_stiffness_nm_per_rad(rate_n_per_mm: f64, base_mm: f64) -> Result<f64, InvalidInput> {
    let mut check = Check::new();
    positive_up_to(&mut check, "rate_n_per_mm", rate_n_per_mm, 1e6);
    positive_up_to(&mut check, "base_mm", base_mm, 10_000.0);
    check.finish()?;
    Ok(0.5 * rate_n_per_mm * base_mm.powi(2) / 1_000.0)
}

/// Lean of an axle alone from springs of different free length, degrees: `atan(difference / base)`.
/// With a second axle the body leans less, by this axle's share of the roll stiffness.
///
/// # Errors
/// A base that is not above 0, or a difference larger than the base.
pub fn lean_from_free_length_deg(difference_mm: f64, base_mm: f64) -> Result<f64, InvalidInput> {
    let mut check = Check::new();
    positive_up_to(&mut check, "base_mm", base_mm, 10_000.0);
    check.between("difference_mm", difference_mm, -base_mm.abs(), base_mm.abs());
    check.finish()?;
    Ok((difference_mm / base_mm).atan().to_degrees())
}

/// Lean of an axle alone from springs of different rate under a central load, degrees, positive when
/// the right side is lower: `atan((load/2) (1/k_right - 1/k_left) / base)`.
///
/// # Errors
/// Arguments that are not above 0.
pub fn lean_from_rates_deg(
    load_n: f64,
    left_rate_n_per_mm: f64,
    right_rate_n_per_mm: f64,
    base_mm: f64,
) -> Result<f64, InvalidInput> {
    let mut check = Check::new();
    positive_up_to(&mut check, "load_n", load_n, 1e7);
    check.between("left_rate_n_per_mm", left_rate_n_per_mm, 1e-3, 1e6);
    check.between("right_rate_n_per_mm", right_rate_n_per_mm, 1e-3, 1e6);
    check.between("base_mm", base_mm, 1.0, 10_000.0);
    check.finish()?;
    let drop_mm = load_n / 2.0 * (right_rate_n_per_mm.recip() - left_rate_n_per_mm.recip());
    Ok((drop_mm / base_mm).atan().to_degrees())
}

fn finite(field: &str, value: f64) -> Result<f64, InvalidInput> {
    let mut check = Check::new();
    check.positive(field, value);
    check.finish().map(|()| value)
}

fn check_rates(rates_n_per_mm: &[f64]) -> Result<(), InvalidInput> {
    let mut check = Check::new();
    if rates_n_per_mm.is_empty() {
        check.refuse("rates_n_per_mm", "must hold at least one rate");
    }
    for (index, rate) in rates_n_per_mm.iter().enumerate() {
        if !(1e-9..=1e9).contains(rate) {
            check.refuse(
                format_args!("rates_n_per_mm[{index}]"),
                format!("must be greater than 0, is {rate}"),
            );
        }
    }
    check.finish()
}
