//! The rules of an invented jurisdiction, as a pack: the demonstration fleet goes there.

use crate::rules::{date, id, name};
use ostler_core::record::{
    Demand, DemandKind, FactDeclaration, RuleCategory, RuleGate, RulePack, RuleSource, RuleTopic,
};

mod facts;

const FIXED: &str = "(plumbed || !removable_without_tools)";
const CONTAINER: &str = "!maker_fitted && removable_without_tools && !plumbed";
const CONTAINER_KEPT: &str = "approved_container && restrained && !(petrol && in_occupant_space) && \
                              packaged_petrol_l <= 250 && packaged_diesel_l <= 500";
const VALID_HERE: &str = "(!approved_after_registration || registered_here)";
const LIFT_KEPT: &str = "lift_mm <= 50 && tyre_diameter_increase_mm <= 50 && 3 * travel_kept_fraction >= 2";
const ROOF_KEPT: &str = "roof_total_kg <= roof_limit_kg && 3 * rack_load_kg <= 2 * rack_rating_kg";
const CYLINDER_KEPT: &str = "!in_occupant_space && upright && restrained";

fn demand(demand_id: &str, display_name: &str) -> Demand {
    Demand {
        id: id(demand_id),
        display_name: display_name.to_owned(),
        kind: DemandKind::Evidence,
        carried: false,
        max_age_days: None,
        valid_until_return: false,
    }
}

fn carried(demand_id: &str, display_name: &str) -> Demand {
    Demand {
        carried: true,
        ..demand(demand_id, display_name)
    }
}

fn until_return(demand: Demand) -> Demand {
    Demand {
        valid_until_return: true,
        ..demand
    }
}

fn not_allowed(demand_id: &str, display_name: &str) -> Demand {
    Demand {
        kind: DemandKind::NotAllowed,
        ..demand(demand_id, display_name)
    }
}

struct Rule {
    code: &'static str,
}

impl Rule {
    fn category(
        &self,
        category_id: &str,
        display_name: &str,
        when: String,
        demands: Vec<Demand>,
    ) -> RuleCategory {
        RuleCategory {
            id: id(category_id),
            display_name: display_name.to_owned(),
            when,
            demands,
            source: RuleSource {
                text: format!("Rules of the Orrin Basin, {}", self.code),
                seen: "invented".to_owned(),
            },
        }
    }
}

fn rule(code: &'static str) -> Rule {
    Rule { code }
}

fn topic(topic_id: &str, display_name: &str, gate: RuleGate, categories: Vec<RuleCategory>) -> RuleTopic {
    RuleTopic {
        id: id(topic_id),
        display_name: display_name.to_owned(),
        gate,
        categories,
    }
}

fn fuel_tank() -> RuleTopic {
    let (fixed, packaged) = (rule("R1"), rule("R2"));
    let categories = vec![
        fixed.category("original", "Original tank", "maker_fitted".to_owned(), vec![]),
        fixed.category(
            "replacement",
            "Replacement tank in the original position",
            format!("!maker_fitted && original_position && {FIXED}"),
            vec![carried("supplier_plate", "Supplier's compliance plate")],
        ),
        fixed.category(
            "fixed_additional",
            "Fixed additional tank",
            format!("!maker_fitted && !original_position && {FIXED}"),
            vec![carried("engineer_certificate", "Certificate of an approved engineer, plate or letter")],
        ),
        packaged.category(
            "container",
            "Container of packaged fuel",
            format!("{CONTAINER} && {CONTAINER_KEPT}"),
            vec![demand("container_record", "Container approval mark and record of its restraint")],
        ),
        packaged.category(
            "container_not_allowed",
            "Container outside the limits of packaged fuel",
            format!("{CONTAINER} && !({CONTAINER_KEPT})"),
            vec![not_allowed(
                "packaged_fuel_limits",
                "packaged fuel must be in approved, restrained containers, petrol outside the occupant space, at most \
                 250 L petrol and 500 L diesel per vehicle",
            )],
        ),
    ];
    topic(
        "fuel-tank",
        "Fuel tanks and containers",
        RuleGate::Rules,
        categories,
    )
}

fn mass_rerating() -> RuleTopic {
    let rule = rule("R4");
    let raised = "gross_mass_kg > original_gross_mass_kg";
    let categories = vec![
        rule.category(
            "as_built",
            "Masses as built",
            "gross_mass_kg <= original_gross_mass_kg && !axle_rating_raised".to_owned(),
            vec![],
        ),
        rule.category(
            "approved_elsewhere",
            "Re-rated, approved in another jurisdiction",
            format!("({raised} || axle_rating_raised) && approved_after_registration && !registered_here"),
            vec![not_allowed(
                "approval_elsewhere",
                "a re-rating approved after registration is valid only where the vehicle is registered",
            )],
        ),
        rule.category(
            "gross_mass_raised",
            "Gross mass re-rated",
            format!("{raised} && !axle_rating_raised && {VALID_HERE}"),
            vec![carried(
                "mass_rerating_certificate",
                "Certificate and plate of the re-rating",
            )],
        ),
        rule.category(
            "axle_rating_raised",
            "Axle rating raised",
            format!(
                "axle_rating_raised && (axle_maker_documents || higher_rated_components) && {VALID_HERE}"
            ),
            vec![
                carried(
                    "mass_rerating_certificate",
                    "Certificate and plate of the re-rating",
                ),
                demand(
                    "axle_rating_documents",
                    "Documents of the axle's maker or of its components",
                ),
            ],
        ),
        rule.category(
            "axle_rating_unsupported",
            "Axle rating raised without support",
            format!(
                "axle_rating_raised && !axle_maker_documents && !higher_rated_components && {VALID_HERE}"
            ),
            vec![not_allowed(
                "axle_rating_support",
                "axle ratings rise only with documents of the maker or with higher-rated components",
            )],
        ),
    ];
    topic("mass-rerating", "Mass re-rating", RuleGate::Rules, categories)
}

fn seats() -> RuleTopic {
    let rule = rule("R5");
    let categories = vec![
        rule.category("complete", "All seats in", "!seats_removed".to_owned(), vec![]),
        rule.category(
            "quick_release",
            "Quick-release seats out for the trip",
            "seats_removed && !removed_indefinitely && quick_release".to_owned(),
            vec![],
        ),
        rule.category(
            "temporary",
            "Bolted seats out for the trip",
            "seats_removed && !removed_indefinitely && !quick_release".to_owned(),
            vec![demand(
                "temporary_removal_note",
                "Letter or note that the removal is temporary",
            )],
        ),
        rule.category(
            "indefinite",
            "Seats out for good",
            "seats_removed && removed_indefinitely".to_owned(),
            vec![
                carried(
                    "seating_registration",
                    "Changed seating capacity on the registration",
                ),
                carried("seating_certificate", "Certificate of the changed seating"),
            ],
        ),
    ];
    topic("seats", "Seats", RuleGate::Rules, categories)
}

fn roof_load() -> RuleTopic {
    let rule = rule("R6");
    let categories = vec![
        rule.category("within", "Roof load within its limits", ROOF_KEPT.to_owned(), vec![]),
        rule.category(
            "over",
            "Roof load over a limit",
            format!("!({ROOF_KEPT})"),
            vec![not_allowed(
                "roof_limits",
                "the roof's limit includes the rack; off road the rack carries at most two thirds of its rating",
            )],
        ),
    ];
    topic("roof-load", "Roof load", RuleGate::Rules, categories)
}

fn gas_cylinder() -> RuleTopic {
    let rule = rule("R7");
    let test = || until_return(demand("cylinder_test", "Test date on the cylinder"));
    let categories = vec![
        rule.category(
            "portable",
            "Gas cylinder of a portable appliance",
            format!("{CYLINDER_KEPT} && !fixed_appliance"),
            vec![test()],
        ),
        rule.category(
            "fixed",
            "Gas cylinder of a fixed appliance",
            format!("{CYLINDER_KEPT} && fixed_appliance"),
            vec![
                test(),
                carried("gas_installation_certificate", "Certificate of the installation"),
            ],
        ),
        rule.category(
            "not_allowed",
            "Gas cylinder stowed against the rules",
            format!("!({CYLINDER_KEPT})"),
            vec![not_allowed(
                "cylinder_stowage",
                "gas cylinders stand upright and restrained, outside the occupant space",
            )],
        ),
    ];
    topic("gas-cylinder", "Gas cylinders", RuleGate::Rules, categories)
}

fn suspension_lift() -> RuleTopic {
    let rule = rule("R3");
    let categories = vec![
        rule.category(
            "small",
            "Small lift",
            LIFT_KEPT.to_owned(),
            vec![demand(
                "suspension_record",
                "Record of the measured lift, tyres and travel",
            )],
        ),
        rule.category(
            "large",
            "Lift that needs a certificate",
            format!("!({LIFT_KEPT})"),
            vec![carried("suspension_certificate", "Certificate of the suspension")],
        ),
    ];
    topic(
        "suspension-lift",
        "Suspension lift and tyre size",
        RuleGate::Rules,
        categories,
    )
}

/// A topic that demands `wanted` when `fact` is yes.
fn when_yes(
    (topic_id, display_name): (&str, &str),
    rule: &Rule,
    fact: &str,
    (yes, no): (&str, &str),
    wanted: Demand,
) -> RuleTopic {
    let categories = vec![
        rule.category("required", yes, fact.to_owned(), vec![wanted]),
        rule.category("not_required", no, format!("!{fact}"), vec![]),
    ];
    topic(topic_id, display_name, RuleGate::Papers, categories)
}

fn papers() -> Vec<RuleTopic> {
    let reserve = ("The way enters the reserve", "The way stays outside the reserve");
    let licence = rule("R9");
    vec![
        when_yes(
            ("inspection", "Roadworthiness inspection"),
            &rule("R8"),
            "enters_reserve",
            reserve,
            Demand {
                max_age_days: Some(60),
                ..demand("roadworthiness_inspection", "Roadworthiness inspection")
            },
        ),
        when_yes(
            ("permit", "Basin permit"),
            &rule("R9"),
            "enters_reserve",
            reserve,
            until_return(carried("basin_permit", "Permit of the Orrin Basin reserve")),
        ),
        when_yes(
            ("insurer", "Insurer informed"),
            &rule("R9"),
            "modified",
            ("Modified vehicles", "Vehicles as built"),
            demand(
                "insurer_letter",
                "Insurer's answer to the modifications, in writing",
            ),
        ),
        when_yes(
            ("itinerary", "Itinerary"),
            &rule("R9"),
            "enters_reserve",
            reserve,
            demand("itinerary_left", "Itinerary left with the ranger office"),
        ),
        topic(
            "driver-licence",
            "Driver's licence",
            RuleGate::Papers,
            vec![
                licence.category(
                    "ordinary",
                    "Ordinary licence",
                    "gross_mass_kg <= 4500".to_owned(),
                    vec![],
                ),
                licence.category(
                    "heavier",
                    "Licence for heavier vehicles",
                    "gross_mass_kg > 4500".to_owned(),
                    vec![until_return(carried(
                        "heavier_licence",
                        "Licence of the heavier class",
                    ))],
                ),
            ],
        ),
    ]
}

/// The pack.
pub(crate) fn orrin_basin() -> RulePack {
    let facts = facts::FACTS
        .iter()
        .map(|(fact, fact_type, question)| FactDeclaration {
            id: id(fact),
            fact_type: *fact_type,
            question: (*question).to_owned(),
            from_record: None,
        })
        .collect();
    let mut topics = vec![
        fuel_tank(),
        mass_rerating(),
        seats(),
        roof_load(),
        gas_cylinder(),
        suspension_lift(),
    ];
    topics.extend(papers());
    RulePack {
        name: name("fleets/orrin/rulePacks/orrin-basin-2027"),
        display_name: "Orrin Basin".to_owned(),
        jurisdiction: "Orrin Basin (invented)".to_owned(),
        version: "2027.1".to_owned(),
        effective_date: date("2027-01-01"),
        facts,
        topics,
        caution: "Invented rules for demonstration; no real law.".to_owned(),
    }
}
