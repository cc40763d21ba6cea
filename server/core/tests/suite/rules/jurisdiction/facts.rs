//! The facts of the invented rules.

use ostler_core::record::FactType::{self, Number, YesNo};

/// Each fact with its type and the question that finds it out.
pub(super) const FACTS: [(&str, FactType, &str); 31] = [
    (
        "maker_fitted",
        YesNo,
        "Was the tank fitted by the vehicle's maker?",
    ),
    (
        "original_position",
        YesNo,
        "Does it replace a tank in that tank's original position?",
    ),
    (
        "removable_without_tools",
        YesNo,
        "Can it be taken out without tools?",
    ),
    (
        "plumbed",
        YesNo,
        "Is it connected to the fuel system or wired in?",
    ),
    (
        "approved_container",
        YesNo,
        "Does it carry a container approval mark?",
    ),
    ("restrained", YesNo, "Is it restrained?"),
    ("petrol", YesNo, "Does it hold petrol?"),
    ("in_occupant_space", YesNo, "Is it in the space where people sit?"),
    (
        "packaged_petrol_l",
        Number,
        "How many litres of packaged petrol are on the vehicle?",
    ),
    (
        "packaged_diesel_l",
        Number,
        "How many litres of packaged diesel are on the vehicle?",
    ),
    ("gross_mass_kg", Number, "What may the vehicle weigh now?"),
    ("original_gross_mass_kg", Number, "What might it weigh as built?"),
    (
        "axle_rating_raised",
        YesNo,
        "Is a higher axle rating claimed than the vehicle was built with?",
    ),
    (
        "axle_maker_documents",
        YesNo,
        "Are there documents of the vehicle's or axle's maker for that rating?",
    ),
    (
        "higher_rated_components",
        YesNo,
        "Were the axle's components replaced by higher-rated ones?",
    ),
    (
        "approved_after_registration",
        YesNo,
        "Was the re-rating approved after the first registration?",
    ),
    (
        "registered_here",
        YesNo,
        "Is the vehicle registered where the re-rating was approved?",
    ),
    ("seats_removed", YesNo, "Are seats removed?"),
    (
        "removed_indefinitely",
        YesNo,
        "Are they removed for an indefinite time, not only for the trip?",
    ),
    ("quick_release", YesNo, "Do the seats have quick releases?"),
    (
        "roof_total_kg",
        Number,
        "What does the roof carry, the rack included?",
    ),
    (
        "roof_limit_kg",
        Number,
        "What may the roof carry, the rack included?",
    ),
    ("rack_load_kg", Number, "What lies on the rack?"),
    ("rack_rating_kg", Number, "What is the rack rated for?"),
    ("upright", YesNo, "Does the cylinder stand upright?"),
    ("fixed_appliance", YesNo, "Does it feed a fixed appliance?"),
    ("lift_mm", Number, "By how much is the suspension raised?"),
    (
        "tyre_diameter_increase_mm",
        Number,
        "By how much are the tyres larger in diameter?",
    ),
    (
        "travel_kept_fraction",
        Number,
        "What share of the suspension's travel is left, in the direction that lost more?",
    ),
    (
        "enters_reserve",
        YesNo,
        "Does the way enter the Orrin Basin reserve?",
    ),
    ("modified", YesNo, "Is the vehicle modified?"),
];
