//! What a token is limited to: every method by every role and scope, the table made from the descriptors.

use std::collections::BTreeSet;

use ostler_proto::DESCRIPTOR_POOL;
use ostler_proto::v1::{self, Role};
use ostler_server::access::LimitedTo;
use ostler_tests::client::{Client, Refusal, methods};
use ostler_tests::on_both_databases;
use ostler_tests::server::Server;
use prost_reflect::{DynamicMessage, MethodDescriptor, ReflectMessage as _};
use serde_json::{Value as Json, json};
use tonic::Code;

use crate::bad_input::{bases, rehearsal};
use crate::demo::{self, FLEET};
use crate::messages::{items, json as to_json, message, request, text};

const ROLES: [Role; 4] = [Role::Reader, Role::Workshop, Role::Lead, Role::Admin];

/// A vehicle to which nothing in the demo belongs.
const LONER: &str = "fleets/orrin/vehicles/loner";

fn rule(method: &MethodDescriptor) -> v1::AccessRule {
    let extension = DESCRIPTOR_POOL.get_extension_by_name("ostler.v1.access").unwrap();
    let options = method.options();
    assert!(
        options.has_extension(&extension),
        "{} has no rule",
        method.full_name()
    );
    let rule = options.get_extension(&extension);
    rule.as_message().unwrap().transcode_to().unwrap()
}

fn to_fleet(fleet: &str) -> LimitedTo {
    LimitedTo {
        fleets: vec![fleet.to_owned()],
        ..LimitedTo::default()
    }
}

fn to_vehicle(vehicle: &str) -> LimitedTo {
    LimitedTo {
        vehicles: vec![vehicle.to_owned()],
        ..LimitedTo::default()
    }
}

/// The request with another fleet's name in place of the demo's.
fn elsewhere(request: &DynamicMessage, fleet: &str) -> DynamicMessage {
    let renamed = to_json(request).to_string().replace(FLEET, fleet);
    message(request.descriptor(), serde_json::from_str(&renamed).unwrap())
}

fn names_the_demo(request: &DynamicMessage) -> bool {
    to_json(request).to_string().contains(FLEET)
}

async fn outcome(client: &Client, request: &DynamicMessage) -> Result<Json, Refusal> {
    let answer = client.call(&rehearsal(request)).await;
    answer
        .map(|answer| to_json(&answer))
        .map_err(|status| Refusal::of(&status))
}

/// How a refusal reads, with the fleet's name taken out.
fn wording(refusal: &Refusal, fleet: &str) -> String {
    format!("{:?} {} {}", refusal.code, refusal.reason, refusal.message).replace(fleet, "FLEET")
}

async fn loner(admin: &Client) {
    let create = json!({ "parent": FLEET, "vehicle_id": "loner", "vehicle": { "display_name": "loner", "specification": { "wheelbase_mm": 2850.0 } } });
    admin.call(&request("CreateVehicle", create)).await.unwrap();
}

async fn limited(server: &Server, id: &str, role: Role, limits: LimitedTo) -> Client {
    server.add_limited_token(id, role, limits).await
}

on_both_databases! {
    async fn what_lies_in_another_fleet_reads_as_if_it_did_not_exist(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let bases = bases::all(&admin).await;
        for role in ROLES {
            let stranger = limited(&server, &format!("stranger-{role:?}"), role, to_fleet("fleets/other")).await;
            for method in methods() {
                let base = &bases[method.name()];
                let answer = outcome(&stranger, base).await;
                if role < rule(&method).role() {
                    assert_eq!(answer.unwrap_err().reason, "ROLE_TOO_WEAK", "{} {role:?}", method.name());
                    continue;
                }
                if !names_the_demo(base) {
                    // What names no fleet lists none, or makes or brings in one that lies outside.
                    match answer {
                        Ok(answer) => assert!(!answer.to_string().contains(FLEET), "{} {role:?}: {answer}", method.name()),
                        Err(refusal) => assert_eq!(refusal.code, Code::NotFound, "{} {role:?}", method.name()),
                    }
                    continue;
                }
                let refusal = answer.unwrap_err();
                assert_eq!((refusal.code, refusal.reason.as_str()), (Code::NotFound, "RESOURCE_NOT_FOUND"), "{} {role:?}: {refusal:?}", method.name());
                let unknown = outcome(&stranger, &elsewhere(base, "fleets/nowhere")).await.unwrap_err();
                assert_eq!(wording(&refusal, FLEET), wording(&unknown, "fleets/nowhere"), "{} {role:?}", method.name());
            }
        }
        server.stop().await;
    }

    async fn within_its_fleet_a_token_does_what_an_unlimited_one_does(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let bases = bases::all(&admin).await;
        let own = limited(&server, "own", Role::Admin, to_fleet(FLEET)).await;
        for method in methods() {
            // Makes a fleet, which no fleet holds yet.
            if method.name() == "CreateFleet" {
                continue;
            }
            let base = &bases[method.name()];
            let code = |outcome: Result<Json, Refusal>| outcome.err().map(|refusal| (refusal.code, refusal.reason));
            assert_eq!(code(outcome(&own, base).await), code(outcome(&admin, base).await), "{}", method.name());
        }
        let outside = outcome(&own, &bases["CreateFleet"]).await.unwrap_err();
        assert_eq!(outside.code, Code::NotFound);
        server.stop().await;
    }

    async fn a_vehicle_token_is_shown_nothing_of_other_vehicles(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let bases = bases::all(&admin).await;
        loner(&admin).await;
        for role in [Role::Reader, Role::Workshop] {
            let client = limited(&server, &format!("loner-{role:?}"), role, to_vehicle(LONER)).await;
            for method in methods() {
                let rule = rule(&method);
                match outcome(&client, &bases[method.name()]).await {
                    Err(refusal) if role < rule.role() => assert_eq!(refusal.reason, "ROLE_TOO_WEAK", "{}", method.name()),
                    Err(refusal) => assert!(
                        ["RESOURCE_NOT_FOUND", "OUT_OF_SCOPE"].contains(&refusal.reason.as_str()),
                        "{}: {refusal:?}", method.name()
                    ),
                    Ok(answer) => {
                        assert!(rule.shared, "{} {role:?} answers: {answer}", method.name());
                        assert!(!shows_another(&answer), "{} {role:?}: {answer}", method.name());
                    }
                }
            }
        }
        server.stop().await;
    }

    async fn a_workshop_changes_what_belongs_to_its_vehicle_and_nothing_else(database: &Database) {
        let (server, admin) = demo::start(database).await;
        loner(&admin).await;
        let workshop = limited(&server, "bay", Role::Workshop, to_vehicle(LONER)).await;
        let defect = |id: &str, vehicle: &str| request("CreateDefect", json!({
            "parent": FLEET, "defect_id": id,
            "defect": { "vehicle": vehicle, "description": "leak", "severity": "DEFECT_SEVERITY_MINOR" },
        }));
        workshop.call(&defect("own", LONER)).await.unwrap();
        let other = outcome(&workshop, &defect("foreign", &demo::name("vehicles/v1"))).await.unwrap_err();
        let unknown = outcome(&workshop, &defect("foreign", &demo::name("vehicles/v99"))).await.unwrap_err();
        assert_eq!((other.code, other.reason.as_str()), (Code::NotFound, "RESOURCE_NOT_FOUND"));
        assert_eq!(wording(&other, "/v1"), wording(&unknown, "/v99"));

        let part = json!({ "parent": FLEET, "part_id": "new", "part": { "display_name": "seal", "kind": "seal" } });
        let shared = outcome(&workshop, &request("CreatePart", part)).await.unwrap_err();
        assert_eq!((shared.code, shared.reason.as_str()), (Code::PermissionDenied, "OUT_OF_SCOPE"));
        // A vehicle that exists and one that does not are made in vain alike.
        let vehicle = |id: &str| request("CreateVehicle", json!({ "parent": FLEET, "vehicle_id": id, "vehicle": { "display_name": id } }));
        let taken = outcome(&workshop, &vehicle("v1")).await.unwrap_err();
        let free = outcome(&workshop, &vehicle("v99")).await.unwrap_err();
        assert_eq!((taken.code, &taken.reason), (free.code, &free.reason));

        let list = workshop.call(&request("ListDefects", json!({ "parent": FLEET }))).await.unwrap();
        let listed: BTreeSet<String> = items(&list, "defects").iter().map(|item| text(item, "name")).collect();
        assert_eq!(listed, BTreeSet::from([demo::name("defects/own")]));
        let history = workshop.call(&request("ListHistory", json!({ "parent": FLEET, "page_size": 1_000 }))).await.unwrap();
        let entries = items(&history, "entries");
        assert!(entries.iter().any(|entry| text(entry, "resource") == demo::name("defects/own")));
        let defects = demo::name("defects/");
        let foreign = entries.iter().map(|entry| text(entry, "resource"));
        assert_eq!(foreign.filter(|name| name.starts_with(&defects)).count(), 1);
        server.stop().await;
    }

    async fn the_last_use_of_a_token_is_on_record(database: &Database) {
        let server = Server::start(database).await;
        let reader = limited(&server, "reader", Role::Reader, LimitedTo::default()).await;
        let used = async || {
            let tokens = server.store().tokens().await.unwrap();
            tokens.into_iter().find(|token| token.id == "reader").unwrap().last_use_time
        };
        assert_eq!(used().await, None);
        reader.call(&request("ListFleets", json!({}))).await.unwrap();
        let deadline = std::time::Instant::now() + std::time::Duration::from_secs(60);
        while used().await.is_none() {
            assert!(std::time::Instant::now() < deadline, "the use was not noted");
            tokio::time::sleep(std::time::Duration::from_millis(20)).await;
        }
        server.stop().await;
    }
}

/// Whether an answer holds a resource that belongs to another vehicle: the vehicle itself, what stands below it, or
/// what names it as its own. What all vehicles share, such as the departure, may speak of all.
fn shows_another(answer: &Json) -> bool {
    let one = |item: &Json| {
        let name = item["name"].as_str().unwrap_or_default();
        if name.is_empty() {
            return false;
        }
        let own = |name: &str| name == LONER || name.starts_with(&format!("{LONER}/"));
        let vehicle = item["vehicle"].as_str().unwrap_or_default();
        (name.contains("/vehicles/") && !own(name)) || (!vehicle.is_empty() && vehicle != LONER)
    };
    let lists = answer.as_object().into_iter().flat_map(|fields| fields.values());
    let listed = lists.filter_map(Json::as_array).flatten().any(one);
    one(answer) || listed
}
