//! Good requests for the calculations that take data.

use serde_json::{Value as Json, json};

/// Each with everything in it that can be spoiled.
pub(super) fn all() -> Vec<(&'static str, Json)> {
    vec![
        ("AssessRestraint", restraint()),
        ("CompareDrivelines", drivelines()),
    ]
}

fn restraint() -> Json {
    json!({ "given": {
        "mass_kg": 58, "mass_uncertainty_kg": 1, "gross_mass_kg": 6_500,
        "standard": "RESTRAINT_STANDARD_US_49_CFR_393",
        "factors": { "forward_g": 0.8, "rearward_g": 0.5, "sideways_g": 0.5, "upward_g": 0.2 },
        "closing_lashing": {
            "name": "strap", "angle_to_deck_deg": 30, "ratings": { "working_load_limit_n": 2_500 },
        },
        "restraint": {
            "method": "straps", "friction": 0.4, "length_mm": 900, "capacity_forward_n": 300,
            "lashings": [
                { "name": "over", "count": 2, "tie_down_angle_deg": 60, "ratings": { "tension_n": 2_000 } },
                { "name": "aft", "count": 1, "direct_bearing": { "angle_to_deck_deg": 30, "bearing_deg": 180 } },
                { "name": "side", "count": 1, "direct_lead": { "aft_mm": 0, "right_mm": 500, "down_mm": 300 } },
            ],
        },
    } })
}

fn drivelines() -> Json {
    let one = |axle_ratio: f64| {
        json!({
            "gearing": {
                "gears": [{ "name": "1", "ratio": 4.31 }, { "name": "r", "ratio": 4.22, "reverse": true }],
                "ranges": [{ "name": "high", "ratio": 1 }],
                "axle_ratio": axle_ratio, "hub_ratio": 1,
            },
            "tyre_diameter_mm": 808, "tyre_designation": "7.50R16", "circumference_factor": 3.05,
            "speedometer_ratio": 1,
        })
    };
    json!({
        "before": one(4.1), "after": one(3.9),
        "driving": {
            "cruise_km_per_h": 85, "idle_rpm": 650, "engine_max_rpm": 3_800, "torque_nm": 285, "efficiency": 0.85,
            "mass_kg": 3_300, "friction_coefficient": 0.8, "driven": "DRIVEN_AXLES_REAR", "front_load_share": 0.45,
            "centre_height_mm": 800, "wheelbase_mm": 2_980,
        },
        "calibration": {
            "drive": "SPEEDOMETER_DRIVE_TRANSFER_OUTPUT", "tyre_diameter_mm": 808, "wheel_ratio": 4.1,
            "drive_ratio": 1, "over_reading_percent": 3, "odometer_factor": 1,
        },
    })
}
