//! The interfaces that each kind of slot must have answered. Common practice, without a source.

type Row = (&'static str, bool, &'static [&'static str]);

/// Kind of slot, whether its parts are made for one side, kinds of interfaces.
pub(super) const CHECKLISTS: [Row; 19] = [
    (
        "gearbox",
        false,
        &[
            "bell_housing_pattern",
            "input_spline_count",
            "lever_position",
            "parking_brake",
            "output_flange.rear",
            "mount_offset",
            "overall_length",
            "speedometer_ratio",
            "reverse_switch_connector",
        ],
    ),
    (
        "transfer_case",
        false,
        &[
            "input_spline_count",
            "output_flange.front",
            "output_flange.rear",
            "mount_offset",
            "parking_brake",
            "speedometer_ratio",
        ],
    ),
    ("clutch", false, &["input_spline_count", "disc_diameter"]),
    ("shaft", false, &["flange", "overall_length", "slip_travel"]),
    ("spring", false, &["free_length"]),
    (
        "leaf_spring",
        false,
        &["u_bolt_leg_length", "centre_bolt_head_diameter"],
    ),
    (
        "damper",
        false,
        &["closed_length", "open_length", "upper_mount", "lower_mount"],
    ),
    (
        "wheel",
        false,
        &["wheel_bolt_circle", "hub_bore", "nut_seat", "thread_engagement"],
    ),
    (
        "tyre",
        false,
        &["rim_diameter_in", "load_capacity_kg", "overall_diameter"],
    ),
    (
        "hub",
        false,
        &["wheel_bolt_circle", "hub_bore", "stud_thread", "bearing_seat"],
    ),
    (
        "stud",
        false,
        &["stud_thread", "stud_protrusion", "knurl_diameter"],
    ),
    (
        "tank",
        false,
        &["strap_pattern", "outlet_fitting", "filler_diameter"],
    ),
    ("pump", false, &["outlet_fitting", "connector"]),
    (
        "alternator",
        false,
        &["mounting_ears", "connector", "pulley_ribs"],
    ),
    ("battery", false, &["terminal_layout"]),
    (
        "hose",
        false,
        &["end_inside_diameter.engine", "end_inside_diameter.radiator"],
    ),
    (
        "fuel_hose",
        false,
        &["end_inside_diameter", "pressure_rating_kpa"],
    ),
    ("seal", false, &["lip_diameter", "outer_diameter"]),
    ("filter", false, &["spigot_thread", "seal_face_diameter"]),
];
