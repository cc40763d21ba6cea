//! Good requests for the calculations that take data.

use serde_json::{Value as Json, json};

/// Each with everything in it that can be spoiled.
pub(super) fn all() -> Vec<(&'static str, Json)> {
    vec![
        ("AssessRestraint", restraint()),
        ("CompareDrivelines", drivelines()),
        (
            "CalculateLoads",
            json!({ "vehicle": bench_vehicle(), "load": bench_load() }),
        ),
        (
            "CalculateStance",
            json!({ "vehicle": bench_vehicle(), "load": bench_load() }),
        ),
        (
            "CalculateLean",
            json!({
                "vehicle": bench_vehicle(), "load": bench_load(),
                "heights": { "floor_level": true, "readings": [
                    { "wheel": "WHEEL_POSITION_REAR_LEFT", "kind": "HEIGHT_KIND_ARCH_TO_FLOOR", "height_mm": 919, "tolerance_mm": 2 },
                    { "wheel": "WHEEL_POSITION_REAR_RIGHT", "kind": "HEIGHT_KIND_ARCH_TO_FLOOR", "height_mm": 895 },
                ] },
            }),
        ),
        (
            "CalculateReconciliation",
            json!({
                "vehicle": bench_vehicle(), "load": bench_load(), "tolerance_kg": 5,
                "axles": { "front_kg": 1300, "rear_kg": 1260 },
            }),
        ),
    ]
}

fn bench_vehicle() -> Json {
    let axle = json!({
        "kind": "SUSPENSION_KIND_BEAM", "spring_spacing_mm": 1000, "motion_ratio": 1, "anti_roll_bar_nm_per_rad": 0,
        "spring_length_mm": 300, "unsprung_mass_kg": 250, "loaded_radius_mm": 390, "arch_height_mm": 900,
        "bump_travel_mm": 100, "bump_stop_rate_n_per_mm": 200, "droop_travel_mm": 100,
    });
    let spring = json!({
        "display_name": "coil", "kind": "spring", "figures": { "rate_n_per_mm": 50, "free_length_mm": 400 },
    });
    json!({
        "display_name": "bench truck",
        "specification": {
            "wheelbase_mm": 3000, "front_track_mm": 1500, "rear_track_mm": 1500, "gross_mass_kg": 3500,
            "front_axle_rating_kg": 1700, "rear_axle_rating_kg": 2200,
            "declared_mass": { "mass_kg": 2400, "front_axle_kg": 1300, "driver_kg": 0, "tolerance_kg": 5 },
            "tanks": [{
                "id": "main", "fluid": "FLUID_DIESEL", "mounting": "TANK_MOUNTING_FIXED", "capacity_l": 80,
                "position": { "x_mm": 2000, "y_mm": 0 },
            }],
            "zones": [{ "id": "rear", "position": { "x_mm": 3300, "y_mm": 0 }, "limit_kg": 200 }],
            "suspension": { "front": axle, "rear": axle, "bare_centre_y_mm": 0, "arch_width_mm": 1600, "underside": [
                { "name": "guard", "position": { "x_mm": 1400, "y_mm": 0, "z_mm": 300 }, "carrier": "UNDERSIDE_CARRIER_REAR_AXLE" },
            ] },
            "centre_height": { "estimate": { "height_mm": 800, "tolerance_mm": 30 }, "provenance": "made up" },
        },
        "fitted": {
            "spring.front.left": spring, "spring.front.right": spring, "spring.rear.left": spring, "spring.rear.right": spring,
        },
        "fluid_densities": [{ "fluid": "FLUID_DIESEL", "density_kg_per_l": 0.84 }],
    })
}

fn bench_load() -> Json {
    json!({
        "fills": [{ "tank": "main", "volume_l": 50 }],
        "masses": [{
            "display_name": "boxes", "zone": "rear",
            "mass": { "mass_kg": 100, "provenance": "MASS_PROVENANCE_WEIGHED", "tolerance_kg": 1 },
        }],
    })
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
