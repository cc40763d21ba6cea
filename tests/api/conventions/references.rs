//! What a resource refers to must exist in its own fleet.

use ostler_tests::client::refused;
use ostler_tests::on_both_databases;
use ostler_tests::server::Server;
use serde_json::{Value as Json, json};
use tonic::Code;

use crate::fixture::{self, FLEET, KINDS};

/// A kind, a reference of it as JSON with `TARGET` for the name, and the path of the field.
const REFERENCES: [(&str, &str, &str, &str); 17] = [
    (
        "Vehicle",
        "weighings",
        r#"{"baseline_weighing": "TARGET"}"#,
        "vehicle.baseline_weighing",
    ),
    ("Fitment", "parts", r#"{"part": "TARGET"}"#, "fitment.part"),
    (
        "Substitution",
        "parts",
        r#"{"replacements": [{"slot": "f", "incoming_part": "TARGET"}]}"#,
        "substitution.replacements[0].incoming_part",
    ),
    (
        "Defect",
        "substitutions",
        r#"{"related": ["TARGET"]}"#,
        "defect.related[0]",
    ),
    (
        "CargoItem",
        "vehicles",
        r#"{"vehicle": "TARGET"}"#,
        "cargo_item.vehicle",
    ),
    (
        "CargoItem",
        "vehicles",
        r#"{"shared_with": ["fleets/shed/vehicles/truck", "TARGET"]}"#,
        "cargo_item.shared_with[1]",
    ),
    (
        "Weighing",
        "parts",
        r#"{"fitted_parts": {"a": "TARGET"}}"#,
        r#"weighing.fitted_parts["a"]"#,
    ),
    (
        "CompatibilityNote",
        "parts",
        r#"{"other_part": "TARGET"}"#,
        "compatibility_note.other_part",
    ),
    (
        "RegulatedItem",
        "vehicles",
        r#"{"vehicle": "TARGET"}"#,
        "regulated_item.vehicle",
    ),
    (
        "Evidence",
        "regulatedItems",
        r#"{"regulated_items": ["TARGET"]}"#,
        "evidence.regulated_items[0]",
    ),
    (
        "AwaitedPart",
        "parts",
        r#"{"part": "TARGET"}"#,
        "awaited_part.part",
    ),
    (
        "Job",
        "vehicles",
        r#"{"vehicles": ["TARGET"]}"#,
        "job.vehicles[0]",
    ),
    ("Job", "jobs", r#"{"after": ["TARGET"]}"#, "job.after[0]"),
    (
        "Job",
        "workshops",
        r#"{"workshops": ["TARGET"]}"#,
        "job.workshops[0]",
    ),
    ("Job", "defects", r#"{"serves": ["TARGET"]}"#, "job.serves[0]"),
    (
        "Departure",
        "vehicles",
        r#"{"vehicles": [{"vehicle": "TARGET"}]}"#,
        "departure.vehicles[0].vehicle",
    ),
    (
        "Departure",
        "rulePacks",
        r#"{"rule_packs": ["TARGET"]}"#,
        "departure.rule_packs[0]",
    ),
];

on_both_databases! {
    async fn a_missing_target_is_refused_at_its_field(database: &Database) {
        let server = Server::start(database).await;
        let admin = server.admin();
        fixture::furnish(&admin).await;
        for (word, collection, reference, path) in REFERENCES {
            let mut kind = KINDS.iter().find(|kind| kind.word == word).unwrap().clone();
            for (target, said) in [
                (format!("{FLEET}/{collection}/missing"), "does not exist"),
                (format!("fleets/other/{collection}/x"), "another fleet"),
                ("fleets/shed/wrong/x".to_owned(), "must be a resource name"),
                ("nonsense".to_owned(), "must be a resource name"),
            ] {
                let change: Json = serde_json::from_str(&reference.replace("TARGET", &target)).unwrap();
                for (field, value) in change.as_object().unwrap() {
                    kind.body[field] = value.clone();
                }
                let refusal = refused(admin.call(&kind.create_request("a", json!({}))).await);
                assert_eq!((refusal.code, refusal.reason.as_str()), (Code::InvalidArgument, "INVALID_FIELD"), "{path} {target}");
                assert_eq!(refusal.fields(), [path], "{path} {target}");
                assert!(refusal.violations[0].1.contains(said), "{:?}", refusal.violations);
            }
        }
        server.stop().await;
    }
}
