//! A good request for every method, on the demo fleet.

use std::collections::BTreeMap;

use ostler_proto::v1;
use ostler_server::clock::{Clock as _, SystemClock};
use ostler_tests::client::{Client, methods};
use prost::Message as _;
use prost_reflect::{DynamicMessage, ReflectMessage, Value};
use serde_json::{Value as Json, json};

use super::calculations;
use crate::demo::{self, DEPARTURE, FLEET};
use crate::fixture::{KINDS, Kind, without};
use crate::messages::{items, request, text};

/// What only the server sets.
const IDENTITY: [&str; 3] = ["etag", "create_time", "update_time"];

/// Good requests by method.
pub(crate) async fn all(client: &Client) -> BTreeMap<String, DynamicMessage> {
    let mut bases = BTreeMap::new();
    for kind in KINDS.iter() {
        for base in standard(client, kind).await {
            add(&mut bases, base);
        }
    }
    for (method, fields) in others()
        .into_iter()
        .chain(fits())
        .chain(verdicts())
        .chain(jobs())
        .chain(issued_sheets())
        .chain(load_topics())
        .chain(calculations::all())
    {
        add(&mut bases, request(method, fields));
    }
    for base in files(client).await {
        add(&mut bases, base);
    }
    // So that there is an acceptance to read and to delete.
    client.call(&bases["AcceptFinding"]).await.unwrap();
    // And a load sheet that was issued.
    client.call(&bases["IssueLoadSheet"]).await.unwrap();
    bases
}

fn add(bases: &mut BTreeMap<String, DynamicMessage>, base: DynamicMessage) {
    let method = methods().find(|method| method.input() == base.descriptor());
    bases.insert(method.unwrap().name().to_owned(), base);
}

/// The standard methods of a kind, with its richest resource of the demo.
async fn standard(client: &Client, kind: &Kind) -> Vec<DynamicMessage> {
    let parent = match kind.word {
        "Fleet" => String::new(),
        "Fitment" => demo::name("vehicles/v3"),
        _ => FLEET.to_owned(),
    };
    let list = match parent.as_str() {
        "" => json!({ "page_size": 1_000 }),
        parent => json!({ "page_size": 1_000, "parent": parent }),
    };
    let list = request(&format!("List{}", kind.words), list);
    let all = items(&client.call(&list).await.unwrap(), kind.list);
    let richest = all.iter().max_by_key(|item| item.encoded_len());
    let richest = without(
        richest.unwrap_or_else(|| panic!("the demo has no {}", kind.word)),
        &IDENTITY,
    );
    let name = json!({ "name": text(&richest, "name") });

    let mut create = kind.create_request("new-one", json!({}));
    create.set_field_by_name(kind.field, Value::Message(without(&richest, &["name"])));
    if !parent.is_empty() {
        create.set_field_by_name("parent", Value::String(parent));
    }
    if kind.word == "Fitment" {
        // A fitment is called after its slot.
        create.set_field_by_name("fitment_id", Value::String("gearbox".into()));
    }
    let mut bases = vec![
        request(&format!("Get{}", kind.word), name.clone()),
        list,
        create,
        request(&format!("Delete{}", kind.word), name),
    ];
    if kind.changes() {
        let mut update = kind.update_request("x", json!({}), json!({}));
        update.set_field_by_name(kind.field, Value::Message(richest));
        bases.push(update);
    }
    bases
}

/// Methods of their own.
#[expect(clippy::too_many_lines, reason = "a table with a row a method")]
fn others() -> Vec<(&'static str, Json)> {
    let vehicle = demo::name("vehicles/v3");
    vec![
        (
            "AcceptDefect",
            json!({ "name": demo::name("defects/d02"), "accepted_condition": condition() }),
        ),
        (
            "FixDefect",
            json!({ "name": demo::name("defects/d02"), "fix": "earthed", "fixed_date": "2027-03-22" }),
        ),
        (
            "AssessRegulatedItem",
            json!({
                "name": demo::name("regulatedItems/k07"), "departure": DEPARTURE,
                "assumed_facts": { "plumbed": { "yes": false } },
            }),
        ),
        (
            "ComputeLoads",
            json!({ "departure": DEPARTURE, "vehicle": vehicle }),
        ),
        (
            "ComputeLoadStates",
            json!({ "departure": DEPARTURE, "vehicle": vehicle }),
        ),
        (
            "ComputeFuel",
            json!({ "departure": DEPARTURE, "vehicle": vehicle }),
        ),
        ("ComputeWater", json!({ "departure": DEPARTURE })),
        (
            "ComputeSpares",
            json!({ "given": {
                "fitted": [
                    { "need": "alternator", "vehicle": "v1", "part": "alternator-90", "quantity": 1, "driven_km": 1700.0, "days": 18.0,
                      "mass_kg": 8.0, "demand": { "counted": { "count": 2, "piece_km": 400000.0 } } },
                    { "need": "alternator", "vehicle": "v2", "part": "alternator-120", "driven_km": 1700.0, "mass_kg": 9.0,
                      "demand": { "per_100_000_km": 0.5, "judged": "made up" } },
                ],
                "interchanges": [{ "first": 0, "second": 1, "fits": true }],
                "aboard": [{ "part": "alternator-90", "vehicle": "v1", "pieces": 1 }],
                "vehicles": [{ "vehicle": "v1", "margin_kg": 40.0 }, { "vehicle": "v2", "margin_kg": 80.0 }],
                "importance_by_need": { "alternator": 2.0 }, "cover_min": 0.9, "mass_budget_kg": 30.0,
            } }),
        ),
        (
            "ComputePower",
            json!({ "given": {
                "system": {
                    "bank": { "family": "BATTERY_FAMILY_LEAD_ACID", "voltage_v": 12.4, "capacity_ah": 100.0, "health_share": 0.9 },
                    "alternator": { "rated_current_a": 90.0, "hot_share": 0.7, "vehicle_current_a": 30.0, "charge_voltage_v": 14.2 },
                    "panels": { "rated_power_w": 160.0, "loss_shares": [0.1], "controller_efficiency": 0.95, "charge_voltage_v": 14.2 },
                    "inverter": { "rated_power_w": 600.0, "efficiency": 0.88 },
                    "welder": { "source_efficiency": 0.8, "power_factor": 0.95, "current_max_a": 160.0 },
                    "generator": { "rated_power_w": 2700.0 },
                    "devices": [{ "id": "lamp", "quantity": 2, "power_w": 20.0 }],
                    "circuits": [{
                        "id": "main", "current_a": 40.0, "length_one_way_m": 2.0, "size_mm2": 25.0,
                        "stranding": "CONDUCTOR_STRANDING_CLASS_5", "conductor_temperature_c": 50.0, "fuse_a": 60.0,
                    }],
                },
                "plan": {
                    "duties": [{ "device": "lamp", "on_h_per_day": 3.0 }], "engine_h_per_day": 6.0, "peak_sun_h_per_day": 5.0,
                    "battery_temperature_c": 15.0, "welding_current_a": 90.0,
                    "generator_question": {
                        "demands": [{ "display_name": "drill", "power_w": 500.0, "full_power_h": 0.5, "every_days": 2 }],
                        "comes_instead": [{ "display_name": "battery", "mass_kg": 24.0, "position": { "x_mm": 2700.0 } }],
                    },
                },
                "days": 18,
            } }),
        ),
        (
            "ReconcileWeighing",
            json!({ "name": demo::name("weighings/wb-1182") }),
        ),
        (
            "AdoptBaseline",
            json!({ "name": demo::name("weighings/wb-1182") }),
        ),
        (
            "DraftLoadSheet",
            json!({ "departure": DEPARTURE, "vehicle": vehicle }),
        ),
        (
            "RenderLoadSheets",
            json!({ "departure": DEPARTURE, "vehicle": vehicle, "format": "SHEET_FORMAT_CSV" }),
        ),
        (
            "GetReadiness",
            json!({ "departure": DEPARTURE, "vehicle": vehicle }),
        ),
        (
            "ListHistory",
            json!({
                "parent": FLEET, "page_size": 2, "kind": "vehicles", "actor": "admin", "action": "create",
                "start_time": "2026-01-01T00:00:00Z", "end_time": "2126-01-01T00:00:00Z",
            }),
        ),
        (
            "WatchHistory",
            json!({ "parent": FLEET, "kind": "vehicles", "actor": "admin", "after_position": 0 }),
        ),
        ("GetResourceAt", json!({ "name": vehicle, "read_time": moment() })),
        ("ExportFleet", json!({ "name": FLEET })),
        ("ExportCargoList", json!({ "name": FLEET })),
    ]
}

/// Methods around the verdict.
fn verdicts() -> Vec<(&'static str, Json)> {
    let vehicle = demo::name("vehicles/v3");
    vec![
        (
            "WatchReadiness",
            json!({ "departure": DEPARTURE, "vehicle": vehicle }),
        ),
        (
            "CompareReadiness",
            json!({ "departure": DEPARTURE, "before_time": "2026-11-01T00:00:00Z" }),
        ),
        (
            "RenderReadinessReport",
            json!({ "departure": DEPARTURE, "format": "REPORT_FORMAT_MARKDOWN" }),
        ),
        (
            "AcceptFinding",
            json!({ "parent": FLEET, "acceptance_id": "a1", "acceptance": {
                "departure": DEPARTURE, "vehicle": demo::name("vehicles/v4"), "gate": "axles",
                "finding": "front_axle_load_kg", "condition": condition(),
            } }),
        ),
        ("ListAcceptances", json!({ "parent": FLEET, "page_size": 2 })),
        ("GetAcceptance", json!({ "name": demo::name("acceptances/a1") })),
        (
            "DeleteAcceptance",
            json!({ "name": demo::name("acceptances/a1") }),
        ),
        (
            "AssessChanges",
            json!({ "departure": DEPARTURE, "changes": [
                { "delete_cargo_item": { "name": demo::name("cargoItems/c012") } },
            ] }),
        ),
        (
            "ApplyChanges",
            json!({ "parent": FLEET, "changes": [
                { "delete_cargo_item": { "name": demo::name("cargoItems/c012") } },
            ] }),
        ),
    ]
}

/// Methods about load sheets that are issued.
fn issued_sheets() -> Vec<(&'static str, Json)> {
    let name = format!("{DEPARTURE}/loadSheets/v3-1");
    vec![
        (
            "IssueLoadSheet",
            json!({
                "parent": DEPARTURE, "vehicle": demo::name("vehicles/v3"), "signer_role": "convoy lead",
                "signer_display_name": "lead", "reason": "to be driven to the weighbridge",
            }),
        ),
        ("GetLoadSheet", json!({ "name": name })),
        ("ListLoadSheets", json!({ "parent": DEPARTURE, "page_size": 2 })),
        ("VerifyLoadSheet", json!({ "name": name, "content": "e30=" })),
    ]
}

/// Methods about loads beyond masses and axles.
#[expect(clippy::too_many_lines, reason = "a table with a row a method")]
fn load_topics() -> Vec<(&'static str, Json)> {
    let vehicle = demo::name("vehicles/v2");
    vec![
        (
            "ComputeStance",
            json!({ "departure": DEPARTURE, "vehicle": vehicle }),
        ),
        (
            "ComputeVehicleStability",
            json!({ "departure": DEPARTURE, "vehicle": vehicle }),
        ),
        (
            "ComputeTank",
            json!({
                "given": {
                    "fluid": "FLUID_DIESEL", "empty_mass_kg": 12,
                    "inside": {
                        "box": { "length_mm": 1000, "width_mm": 500, "height_mm": 300 },
                        "count": 1,
                        "cells": [{ "length_mm": 500 }, { "length_mm": 500 }],
                        "baffles": [{ "holes": [{ "height_mm": 20, "diameter_mm": 20, "count": 2 }] }],
                        "lengthwise_walls": [{ "from_left_mm": 250 }],
                    },
                    "pump": { "cell": 0, "draw_l_per_min": 2, "pickup_height_mm": 10 },
                    "walls": {
                        "thickness_mm": 2, "modulus_gpa": 200, "yield_mpa": 200,
                        "bays": [{ "length_mm": 300, "width_mm": 300 }],
                    },
                },
                "volume_l": 75, "density_kg_per_l": 0.84, "leak_test_kpa": 20, "vehicle_mass_kg": 3000,
                "warming": { "fill_temperature_c": 20, "hottest_temperature_c": 45 },
            }),
        ),
        (
            "ComputeDriveline",
            json!({
                "vehicle": demo::name("vehicles/v3"), "substitution": demo::name("substitutions/s01"),
                "departure": DEPARTURE, "cruise_km_per_h": 80, "friction_coefficient": 0.8,
            }),
        ),
        (
            "ComputeTyres",
            json!({ "departure": DEPARTURE, "vehicle": vehicle }),
        ),
        (
            "CalculateTyre",
            json!({
                "designation": "LT265/75R16 123/120Q TL", "diameter_mm": 804, "placard_diameter_mm": 804,
                "rated_pressure_kpa": 450, "load_kg": 900, "load_exponent": 0.7, "pressure_kpa": 165,
                "pressure_table": {
                    "rows": [
                        { "pressure_kpa": 200, "capacity_kg": 900 },
                        { "pressure_kpa": 450, "capacity_kg": 1550 },
                    ],
                    "source": "made up",
                },
                "speeds": [{ "pressure_kpa": 105, "speed_max_km_per_h": 30 }],
            }),
        ),
        ("ComputeSpareInterchange", json!({ "departure": DEPARTURE })),
        (
            "ComputeStability",
            json!({
                "wheelbase_mm": 2850, "front_track_mm": 1545, "rear_track_mm": 1545, "track_tolerance_mm": 5,
                "raised_axle": {
                    "mass_kg": 3000, "front_loaded_radius_mm": 380, "rear_loaded_radius_mm": 380,
                    "radius_tolerance_mm": 2, "scale_tolerance_kg": 2, "angle_tolerance_deg": 0.1,
                    "readings": [
                        { "raised": "RAISED_AXLE_FRONT", "scale_kg": 1600 },
                        { "raised": "RAISED_AXLE_FRONT", "angle_deg": 15, "scale_kg": 1718.46 },
                    ],
                },
            }),
        ),
        (
            "DiagnoseLean",
            json!({
                "name": demo::name("weighings/heights-v1-0320"),
                "heights": {
                    "floor_level": true,
                    "readings": [
                        { "wheel": "WHEEL_POSITION_REAR_LEFT", "kind": "HEIGHT_KIND_HUB_TO_ARCH", "height_mm": 518, "tolerance_mm": 2 },
                        { "wheel": "WHEEL_POSITION_REAR_RIGHT", "kind": "HEIGHT_KIND_HUB_TO_ARCH", "height_mm": 495 },
                    ],
                },
            }),
        ),
    ]
}

/// A moment at which the demo was on record, in JSON form.
fn moment() -> String {
    let now = SystemClock::default().now_micros();
    let time = prost_types::Timestamp {
        seconds: now / 1_000_000,
        nanos: i32::try_from(now % 1_000_000 * 1_000).unwrap(),
    };
    time.to_string()
}

fn condition() -> Json {
    json!({
        "condition": "below 60 km/h", "owner": "driver", "check_interval": "every 50 km",
        "accepted_by": "lead", "accepted_date": "2027-03-22",
    })
}

/// Methods that say how far jobs are.
fn jobs() -> Vec<(&'static str, Json)> {
    vec![
        (
            "StartJob",
            json!({ "name": demo::name("jobs/j02"), "started_date": "2027-03-30", "workshop": demo::name("workshops/w1") }),
        ),
        (
            "ReportJob",
            json!({
                "name": demo::name("jobs/j01"), "actual_hours": 3.0,
                "remaining_hours": { "optimistic_hours": 1.0, "likely_hours": 2.0, "pessimistic_hours": 4.0 },
            }),
        ),
        (
            "CompleteJob",
            json!({ "name": demo::name("jobs/j02"), "done_date": "2027-03-30", "actual_hours": 4.0 }),
        ),
        ("ReopenJob", json!({ "name": demo::name("jobs/j01") })),
        (
            "ComputePlan",
            json!({ "departure": DEPARTURE, "start_date": "2027-03-29", "time_limit_s": 0.05, "schedules_max": 50, "seed": 1,
                "formats": ["PLAN_FORMAT_CSV"] }),
        ),
        (
            "ComputeStowage",
            json!({
                "departure": DEPARTURE, "time_limit_s": 0.05, "steps_max": 5_000, "seed": 1, "pinned": [demo::name("cargoItems/c001")],
                "unstowed": [demo::name("cargoItems/c002")], "roof_item_mass_max_kg": 20.0, "give_up_fraction": 0.01,
            }),
        ),
        (
            "ComputeChance",
            json!({ "departure": DEPARTURE, "start_date": "2027-03-29", "sample_count": 50, "seed": 1, "arrival_chance": 0.9 }),
        ),
    ]
}

/// Methods of their own about parts that take the place of others.
fn fits() -> Vec<(&'static str, Json)> {
    let vehicle = demo::name("vehicles/v3");
    let proposed = json!({
        "vehicle": vehicle,
        "replacements": [{ "slot": "gearbox", "incoming_part": demo::name("parts/gearbox-b") }],
    });
    vec![
        (
            "FitSubstitution",
            json!({ "name": demo::name("substitutions/s03"), "fitted_date": "2027-03-22" }),
        ),
        (
            "SearchParts",
            json!({ "vehicle": vehicle, "slot": "gearbox", "max_results": 5 }),
        ),
        (
            "SearchSlots",
            json!({ "part": demo::name("parts/gearbox-b"), "max_results": 5 }),
        ),
        (
            "KeepAssessment",
            json!({ "name": demo::name("substitutions/s07") }),
        ),
        (
            "SettleInterface",
            json!({
                "name": demo::name("substitutions/s07"),
                "settlement": {
                    "slot": "alternator", "interface_kind": "connector", "how": "plugged in", "settled_by": "workshop",
                    "settled_date": "2027-03-22", "measured_on_part": { "kind": "connector", "connector": "3-pin oval" },
                },
            }),
        ),
        (
            "ApproveSubstitution",
            json!({ "name": demo::name("substitutions/s07"), "approved_by": "lead", "approved_date": "2027-03-22" }),
        ),
        (
            "ProveSubstitution",
            json!({ "name": demo::name("substitutions/s07"), "evidence": [demo::name("evidence/td1-v2")] }),
        ),
        (
            "UndoFitting",
            json!({ "name": demo::name("substitutions/s02"), "undone_date": "2027-03-22" }),
        ),
        (
            "WithdrawSubstitution",
            json!({ "name": demo::name("substitutions/s03") }),
        ),
        (
            "AssessSubstitution",
            json!({ "parent": FLEET, "substitution": proposed }),
        ),
    ]
}

/// Methods that take a file.
async fn files(client: &Client) -> [DynamicMessage; 2] {
    let request = v1::ExportCargoListRequest { name: FLEET.into() };
    let v1::ExportCargoListResponse { cargo_list } = client.ask(request).await.unwrap();
    let cargo = v1::ImportCargoListRequest {
        parent: FLEET.into(),
        cargo_list,
        ..Default::default()
    };
    let fleet = v1::ImportFleetRequest {
        fleet_file: demo::FILE.into(),
        ..Default::default()
    };
    [cargo.transcode_to_dynamic(), fleet.transcode_to_dynamic()]
}
