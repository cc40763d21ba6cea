//! Good requests for the calculations that take data.

use serde_json::{Value as Json, json};

/// Each with everything in it that can be spoiled.
pub(super) fn all() -> Vec<(&'static str, Json)> {
    vec![("AssessRestraint", restraint())]
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
