//! Every kind of resource, seen alike, and a small fleet that can hold some of each.

use std::sync::LazyLock;

use ostler_tests::client::Client;
use prost_reflect::{DynamicMessage, ReflectMessage, Value};
use serde_json::{Value as Json, json};
use tonic::Status;

use crate::messages::{items, json as to_json, request, text};

/// The fleet of the fixture.
pub(crate) const FLEET: &str = "fleets/shed";
/// Its vehicle, with slots `a` to `e`.
pub(crate) const VEHICLE: &str = "fleets/shed/vehicles/truck";
/// A part of it.
pub(crate) const PART: &str = "fleets/shed/parts/seal";

/// A kind of resource.
#[derive(Debug, Clone)]
pub(crate) struct Kind {
    /// Its word in the names of methods.
    pub(crate) word: &'static str,
    /// The same for several.
    pub(crate) words: &'static str,
    /// Its field in requests.
    pub(crate) field: &'static str,
    /// The field of its list.
    pub(crate) list: &'static str,
    /// Its collection in names.
    pub(crate) collection: &'static str,
    /// The parent in the fixture; empty for fleets.
    pub(crate) parent: &'static str,
    /// The method that makes one.
    pub(crate) create: &'static str,
    /// A text field that may change. Empty: nothing may.
    pub(crate) free_text: &'static str,
    /// A valid one, without its identity.
    pub(crate) body: Json,
}

/// All kinds; a kind comes after those that it may refer to.
pub(crate) static KINDS: LazyLock<Vec<Kind>> = LazyLock::new(|| {
    let mut kinds = whole_kinds();
    kinds.extend(vehicle_kinds());
    kinds.extend(planning_kinds());
    kinds
});

fn kind(names: [&'static str; 5], free_text: &'static str, body: Json) -> Kind {
    let [word, words, field, list, collection] = names;
    Kind {
        word,
        words,
        field,
        list,
        collection,
        parent: FLEET,
        create: "",
        free_text,
        body,
    }
}

fn whole_kinds() -> Vec<Kind> {
    let fleet = kind(
        ["Fleet", "Fleets", "fleet", "fleets", "fleets"],
        "description",
        json!({"display_name": "shed", "fluid_densities": [{"fluid": "FLUID_DIESEL", "density_kg_per_l": 0.84}]}),
    );
    let part = kind(
        ["Part", "Parts", "part", "parts", "parts"],
        "note",
        json!({"display_name": "seal", "kind": "seal", "figures": {"lip_mm": 52.0}}),
    );
    let slots: Vec<Json> = ["a", "b", "c", "d", "e", "f"]
        .iter()
        .map(|id| json!({"id": id, "kind": "seal", "system": "VEHICLE_SYSTEM_WHEELS"}))
        .collect();
    let vehicle = kind(
        ["Vehicle", "Vehicles", "vehicle", "vehicles", "vehicles"],
        "role",
        json!({
            "display_name": "truck",
            "specification": {"wheelbase_mm": 2850.0, "slots": slots, "zones": [{"id": "bed"}]},
        }),
    );
    let pack = kind(
        ["RulePack", "RulePacks", "rule_pack", "rule_packs", "rulePacks"],
        "",
        json!({
            "display_name": "shed rules", "jurisdiction": "shed", "version": "1", "effective_date": "2027-01-01",
            "facts": [{"id": "fixed", "type": "FACT_TYPE_YES_NO", "question": "Is it fixed?"}],
            "topics": [{"id": "tank", "display_name": "tanks", "categories": [
                {"id": "fixed", "display_name": "fixed", "when": "fixed", "source": {"text": "shed", "seen": "invented"}},
                {"id": "loose", "display_name": "loose", "when": "!fixed", "source": {"text": "shed", "seen": "invented"}},
            ]}],
        }),
    );
    vec![Kind { parent: "", ..fleet }, part, vehicle, pack]
}

fn vehicle_kinds() -> Vec<Kind> {
    let fitment = kind(
        ["Fitment", "Fitments", "fitment", "fitments", "fitments"],
        "note",
        json!({"part": PART, "fitted_date": "2027-02-01"}),
    );
    let mut substitution = kind(
        [
            "Substitution",
            "Substitutions",
            "substitution",
            "substitutions",
            "substitutions",
        ],
        "note",
        json!({"vehicle": VEHICLE, "replacements": [{"slot": "f", "incoming_part": PART}]}),
    );
    substitution.create = "RecordSubstitution";
    let defect = kind(
        ["Defect", "Defects", "defect", "defects", "defects"],
        "proposal",
        json!({"vehicle": VEHICLE, "description": "leak", "severity": "DEFECT_SEVERITY_MINOR"}),
    );
    let cargo = kind(
        [
            "CargoItem",
            "CargoItems",
            "cargo_item",
            "cargo_items",
            "cargoItems",
        ],
        "category",
        json!({"display_name": "jack", "vehicle": VEHICLE, "zone": "bed", "quantity": 1}),
    );
    let weighing = kind(
        ["Weighing", "Weighings", "weighing", "weighings", "weighings"],
        "ticket",
        json!({"vehicle": VEHICLE, "weighed_date": "2027-02-01", "axles": {"front_kg": 1200.0, "rear_kg": 1300.0}}),
    );
    vec![
        Kind {
            parent: VEHICLE,
            ..fitment
        },
        substitution,
        defect,
        cargo,
        weighing,
    ]
}

fn planning_kinds() -> Vec<Kind> {
    let note = kind(
        [
            "CompatibilityNote",
            "CompatibilityNotes",
            "compatibility_note",
            "compatibility_notes",
            "compatibilityNotes",
        ],
        "remedy",
        json!({
            "part": PART, "vehicle_kind": "truck", "interface_kind": "lip_diameter",
            "finding": "NOTE_FINDING_FITS", "basis": "NOTE_BASIS_MEASURED",
        }),
    );
    let item = kind(
        [
            "RegulatedItem",
            "RegulatedItems",
            "regulated_item",
            "regulated_items",
            "regulatedItems",
        ],
        "note",
        json!({"display_name": "tank", "vehicle": VEHICLE, "topic": "tank", "facts": {"fixed": {"yes": true}}}),
    );
    let evidence = kind(
        ["Evidence", "Evidence", "evidence", "evidence", "evidence"],
        "note",
        json!({
            "display_name": "plate", "kind": "EVIDENCE_KIND_DOCUMENT", "vehicle": VEHICLE, "topic": "plate",
            "result": "EVIDENCE_RESULT_PASSED", "issued_date": "2027-02-01",
        }),
    );
    let departure = kind(
        ["Departure", "Departures", "departure", "departures", "departures"],
        "display_name",
        json!({
            "display_name": "out", "departure_date": "2027-05-01", "return_date": "2027-05-20",
            "vehicles": [{"vehicle": VEHICLE, "power_plan": {"generator_question": {"demands": [
                {"display_name": "drill", "power_w": 500.0, "full_power_h": 0.5, "every_days": 2},
            ]}}}],
        }),
    );
    let [workshop, awaited, job] = work_kinds();
    vec![note, item, evidence, workshop, awaited, job, departure]
}

/// Where work is done, what it waits for, and the work.
fn work_kinds() -> [Kind; 3] {
    let workshop = kind(
        ["Workshop", "Workshops", "workshop", "workshops", "workshops"],
        "note",
        json!({
            "display_name": "yard", "bay_count": 1, "workers": [{"id": "smith", "skills": ["welding"]}],
            "working_calendar": {"weekly_shifts": [
                {"weekday": "WEEKDAY_MONDAY", "start_time_of_day": "08:00", "end_time_of_day": "16:00"},
            ]},
        }),
    );
    let awaited = kind(
        [
            "AwaitedPart",
            "AwaitedParts",
            "awaited_part",
            "awaited_parts",
            "awaitedParts",
        ],
        "note",
        json!({"display_name": "bolts", "lead_time": {"optimistic_days": 1.0, "likely_days": 2.0, "pessimistic_days": 5.0}}),
    );
    let job = kind(
        ["Job", "Jobs", "job", "jobs", "jobs"],
        "note",
        json!({
            "display_name": "weld the tray", "vehicles": [VEHICLE], "stage": "fabrication",
            "work_hours": {"optimistic_hours": 1.0, "likely_hours": 2.0, "pessimistic_hours": 4.0},
        }),
    );
    [workshop, awaited, job]
}

impl Kind {
    /// The name of one called `id`.
    pub(crate) fn name(&self, id: &str) -> String {
        match self.parent {
            "" => format!("fleets/{id}"),
            parent => format!("{parent}/{}/{id}", self.collection),
        }
    }

    /// The fleet of one called `id`.
    pub(crate) fn fleet(&self, id: &str) -> String {
        match self.parent {
            "" => format!("fleets/{id}"),
            _ => FLEET.to_owned(),
        }
    }

    /// Whether one may change.
    pub(crate) fn changes(&self) -> bool {
        !self.free_text.is_empty()
    }

    /// The request that makes one called `id`, with more fields.
    pub(crate) fn create_request(&self, id: &str, more: Json) -> DynamicMessage {
        let method = match self.create {
            "" => format!("Create{}", self.word),
            method => method.to_owned(),
        };
        let mut fields = json!({ self.field: self.body, format!("{}_id", self.field): id });
        if !self.parent.is_empty() {
            fields["parent"] = self.parent.into();
        }
        request(&method, with(fields, more))
    }

    /// The request that changes the fields of `change` in the one called `id`, with more fields.
    pub(crate) fn update_request(&self, id: &str, change: Json, more: Json) -> DynamicMessage {
        let resource = with(json!({ "name": self.name(id) }), change);
        request(
            &format!("Update{}", self.word),
            with(json!({ self.field: resource }), more),
        )
    }

    /// The request that deletes the one called `id`, with more fields.
    pub(crate) fn delete_request(&self, id: &str, more: Json) -> DynamicMessage {
        request(
            &format!("Delete{}", self.word),
            with(json!({ "name": self.name(id) }), more),
        )
    }

    /// The request for a page of them.
    pub(crate) fn list_request(&self, more: Json) -> DynamicMessage {
        let mut fields = json!({});
        if !self.parent.is_empty() {
            fields["parent"] = self.parent.into();
        }
        request(&format!("List{}", self.words), with(fields, more))
    }

    /// Makes one.
    pub(crate) async fn make(&self, client: &Client, id: &str) -> DynamicMessage {
        let made = client.call(&self.create_request(id, json!({}))).await;
        made.unwrap_or_else(|status| panic!("{} {id}: {status:?}", self.word))
    }

    /// Reads one.
    pub(crate) async fn get(&self, client: &Client, id: &str) -> Result<DynamicMessage, Status> {
        let get = request(&format!("Get{}", self.word), json!({ "name": self.name(id) }));
        client.call(&get).await
    }

    /// The names on a page, and the token of the next.
    pub(crate) fn page(&self, response: &DynamicMessage) -> (Vec<String>, String) {
        let names = items(response, self.list)
            .iter()
            .map(|item| text(item, "name"))
            .collect();
        (names, text(response, "next_page_token"))
    }

    /// How often one was changed, by its history; oldest first.
    pub(crate) async fn history(&self, client: &Client, id: &str) -> Vec<Json> {
        let list = json!({ "parent": self.fleet(id), "resource": self.name(id) });
        let history = client.call(&request("ListHistory", list)).await.unwrap();
        items(&history, "entries").iter().rev().map(to_json).collect()
    }
}

/// The fields of two objects.
fn with(mut fields: Json, more: Json) -> Json {
    if let (Some(fields), Json::Object(more)) = (fields.as_object_mut(), more) {
        fields.extend(more);
    }
    fields
}

/// Makes the fleet, the vehicle and the part that the bodies of all kinds refer to.
pub(crate) async fn furnish(client: &Client) {
    for (word, id) in [("Fleet", "shed"), ("Part", "seal"), ("Vehicle", "truck")] {
        let kind = KINDS.iter().find(|kind| kind.word == word).unwrap();
        kind.make(client, id).await;
    }
}

/// A copy of a message without a field.
pub(crate) fn without(message: &DynamicMessage, fields: &[&str]) -> DynamicMessage {
    let mut copy = message.clone();
    for field in fields {
        copy.clear_field_by_name(field);
    }
    copy
}

/// A copy of a message with another text.
pub(crate) fn with_text(message: &DynamicMessage, field: &str, value: &str) -> DynamicMessage {
    let mut copy = message.clone();
    assert!(copy.descriptor().get_field_by_name(field).is_some(), "{field}");
    copy.set_field_by_name(field, Value::String(value.to_owned()));
    copy
}
