//! Stowage of the demo departure, and its moves made.

use std::collections::BTreeMap;

use ostler_proto::v1;
use ostler_proto::v1::compute_stowage_response::Step;
use ostler_tests::client::{Client, refused};
use ostler_tests::on_both_databases;
use tonic::{Code, Status};

use crate::demo::{self, DEPARTURE, FLEET, name};

/// Steps that bound the search, so that it comes to the same wherever it runs.
fn request() -> v1::ComputeStowageRequest {
    v1::ComputeStowageRequest {
        departure: DEPARTURE.into(),
        time_limit_s: 600.0,
        steps_max: 60_000,
        seed: 1,
        ..Default::default()
    }
}

async fn stow(client: &Client, request: v1::ComputeStowageRequest) -> Result<v1::Stowage, Status> {
    let mut steps: Vec<v1::ComputeStowageResponse> = client.ask_all(request).await?;
    let last = steps.pop().unwrap().step;
    let before = steps.iter();
    assert!(
        before
            .into_iter()
            .all(|step| matches!(step.step, Some(Step::Progress(_))))
    );
    match last {
        Some(Step::Stowage(stowage)) => Ok(stowage),
        other => panic!("a stowage ends with {other:?}"),
    }
}

async fn make(client: &Client, changes: Vec<v1::Change>) -> v1::ApplyChangesResponse {
    let request = v1::ApplyChangesRequest {
        parent: FLEET.into(),
        changes,
        ..Default::default()
    };
    client.ask(request).await.unwrap()
}

/// What a vehicle loads where it is tightest, by limit.
async fn loads(client: &Client, vehicle: &str) -> BTreeMap<String, v1::WorstLoad> {
    let request = v1::ComputeLoadStatesRequest {
        picture: false,
        departure: DEPARTURE.into(),
        vehicle: vehicle.into(),
    };
    let v1::ComputeLoadStatesResponse { worst, .. } = client.ask(request).await.unwrap();
    worst
        .into_iter()
        .map(|worst| (worst.limited_load.clone(), worst))
        .collect()
}

/// Every promised load is what the record now gives.
async fn assert_promised(client: &Client, stowage: &v1::Stowage) {
    let mut of_vehicle = BTreeMap::new();
    let mut compared = 0;
    for margin in &stowage.margins {
        let limit = margin.limit.clone().unwrap();
        // Loads have no such limit of their own.
        if limit.limit.ends_with("_down") {
            continue;
        }
        if !of_vehicle.contains_key(&limit.vehicle) {
            of_vehicle.insert(limit.vehicle.clone(), loads(client, &limit.vehicle).await);
        }
        let worst = &of_vehicle[&limit.vehicle][&limit.limit];
        let load = worst.load.clone().unwrap();
        assert!(
            (load.load_kg - margin.load_kg).abs() < 1e-6,
            "{margin:?} against {worst:?}"
        );
        assert_eq!(load.limit_kg, Some(margin.limit_kg), "{margin:?}");
        assert_eq!(margin.kept, load.load_kg <= margin.limit_kg + 1e-6, "{margin:?}");
        compared += 1;
    }
    assert!(compared >= 4 * 3 + 30, "{compared} limits");
}

fn places(client_items: &[v1::CargoItem]) -> BTreeMap<&str, (&str, &str)> {
    let items = client_items.iter();
    items
        .map(|item| (item.name.as_str(), (item.vehicle.as_str(), item.zone.as_str())))
        .collect()
}

async fn cargo(client: &Client) -> Vec<v1::CargoItem> {
    let list = v1::ListCargoItemsRequest {
        parent: FLEET.into(),
        page_size: 1_000,
        ..Default::default()
    };
    client
        .ask::<v1::ListCargoItemsResponse>(list)
        .await
        .unwrap()
        .cargo_items
}

async fn change_item(client: &Client, item: v1::CargoItem) {
    let update = v1::UpdateCargoItemRequest {
        cargo_item: Some(item),
        ..Default::default()
    };
    client.ask::<v1::CargoItem>(update).await.unwrap();
}

on_both_databases! {
    async fn the_moves_made_give_exactly_the_promised_margins(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let latest = demo::latest_change(&admin, FLEET).await;
        let before = cargo(&admin).await;
        let stowage = stow(&admin, request()).await.unwrap();
        assert_eq!(demo::latest_change(&admin, FLEET).await, latest, "a proposal writes nothing");
        // One rear axle is over its rating as things are.
        assert!(stowage.smallest_margin_now_fraction.unwrap() < 0.0);
        assert_eq!(stowage.answer(), v1::Answer::Met, "{}", stowage.explanation);
        let (margin, bound) = (stowage.smallest_margin_fraction.unwrap(), stowage.margin_bound_fraction.unwrap());
        assert!(margin > 0.0 && margin <= bound && stowage.gap_fraction == Some(bound - margin), "{margin} {bound}");
        assert!(stowage.margins.iter().all(|margin| margin.kept));
        let least = stowage.margins.iter().filter_map(|margin| margin.margin_fraction).fold(1.0, f64::min);
        assert!((least - margin).abs() < 1e-12);
        assert_eq!((stowage.left_out.len(), stowage.without_place.len()), (0, 0));
        assert!(!stowage.held_by.is_empty() && !stowage.binding.as_ref().unwrap().items.is_empty());
        // What is bolted is pinned, and stays.
        let pinned: Vec<&str> = before.iter().filter(|item| item.pinned).map(|item| item.name.as_str()).collect();
        assert!(pinned.len() > 20 && stowage.staying.iter().all(|item| pinned.contains(&item.cargo_item.as_str())));
        assert!(stowage.moves.iter().all(|one| !pinned.contains(&one.cargo_item.as_str())));

        let changed = make(&admin, stowage.changes.clone()).await.changed;
        let moved: Vec<&str> = stowage.moves.iter().map(|one| one.cargo_item.as_str()).collect();
        assert_eq!(changed.len(), moved.len());
        assert!(changed.iter().all(|name| moved.contains(&name.as_str())));
        assert_promised(&admin, &stowage).await;
        let after = cargo(&admin).await;
        let (before, after) = (places(&before), places(&after));
        for one in &stowage.moves {
            let item = one.cargo_item.as_str();
            assert_eq!(before[item], (one.from_vehicle.as_str(), one.from_zone.as_str()));
            assert_eq!(after[item], (one.to_vehicle.as_str(), one.to_zone.as_str()));
        }
        let again = stow(&admin, v1::ComputeStowageRequest { give_up_fraction: Some(1.0), ..request() }).await.unwrap();
        assert!((again.smallest_margin_now_fraction.unwrap() - margin).abs() < 1e-9);
        assert_eq!((again.answer(), again.moves.len()), (v1::Answer::Met, 0), "what is well stowed stays");
        server.stop().await;
    }

    async fn what_is_asked_of_an_item_is_kept(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let v2 = name("vehicles/v2");
        // One that goes with another, one that may be on one vehicle only and not in the zone it is in.
        let together = v1::StowageTerms { together: "camp".into(), ..Default::default() };
        for id in ["c111", "c112"] {
            let item = v1::CargoItem { name: name(&format!("cargoItems/{id}")), stowage_terms: Some(together.clone()), ..Default::default() };
            change_item(&admin, item).await;
        }
        let not_in_zones = vec![v1::StowageZone { vehicle: v2.clone(), zone: "canopy-rear".into() }];
        let terms = v1::StowageTerms {
            not_on_vehicles: ["v1", "v3", "v4"].map(|id| name(&format!("vehicles/{id}"))).to_vec(),
            not_in_zones,
            not_in_occupant_space: true,
            ..Default::default()
        };
        change_item(&admin, v1::CargoItem { name: name("cargoItems/c031"), stowage_terms: Some(terms), ..Default::default() }).await;
        let asked = v1::ComputeStowageRequest { pinned: vec![name("cargoItems/c101")], roof_item_mass_max_kg: Some(0.0), ..request() };
        let stowage = stow(&admin, asked).await.unwrap();
        assert_eq!(stowage.answer(), v1::Answer::Met, "{}", stowage.explanation);
        make(&admin, stowage.changes.clone()).await;
        assert_promised(&admin, &stowage).await;
        let after = cargo(&admin).await;
        let after = places(&after);
        assert_eq!(after[name("cargoItems/c111").as_str()].0, after[name("cargoItems/c112").as_str()].0);
        let (vehicle, zone) = after[name("cargoItems/c031").as_str()];
        assert!(vehicle == v2 && zone != "canopy-rear" && zone != "rear-seat-area", "{vehicle} {zone}");
        assert!(stowage.staying.iter().any(|item| item.cargo_item == name("cargoItems/c101")));
        assert!(stowage.moves.iter().all(|one| !one.to_zone.starts_with("roof")), "nothing goes onto a roof");
        server.stop().await;
    }

    async fn what_cannot_be_stowed_is_said(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let nowhere = v1::StowageTerms {
            not_on_vehicles: ["v1", "v2", "v3", "v4"].map(|id| name(&format!("vehicles/{id}"))).to_vec(),
            ..Default::default()
        };
        let item = v1::CargoItem { name: name("cargoItems/c031"), stowage_terms: Some(nowhere), ..Default::default() };
        change_item(&admin, item).await;
        let stowage = stow(&admin, request()).await.unwrap();
        assert_eq!((stowage.answer(), stowage.without_place), (v1::Answer::NotMet, vec![name("cargoItems/c031")]));
        assert!(stowage.moves.is_empty() && stowage.changes.is_empty());
        assert!(stowage.explanation.contains("tool chest B"), "{}", stowage.explanation);

        // Nothing may move, and one axle is over: that is proven.
        let heavy = v1::Vehicle {
            name: name("vehicles/v2"),
            specification: Some(v1::Specification { rear_axle_rating_kg: Some(500.0), ..Default::default() }),
            ..Default::default()
        };
        let update = v1::UpdateVehicleRequest {
            vehicle: Some(heavy),
            update_mask: Some(prost_types::FieldMask { paths: vec!["specification.rear_axle_rating_kg".into()] }),
            ..Default::default()
        };
        admin.ask::<v1::Vehicle>(update).await.unwrap();
        change_item(&admin, v1::CargoItem { name: name("cargoItems/c031"), stowage_terms: Some(v1::StowageTerms::default()), ..Default::default() }).await;
        let stowage = stow(&admin, request()).await.unwrap();
        assert_eq!(stowage.answer(), v1::Answer::NotMet, "{}", stowage.explanation);
        assert!(stowage.margin_bound_fraction.unwrap() < 0.0 && stowage.moves.is_empty());
        assert!(stowage.explanation.contains("the rear axle of v2"), "{}", stowage.explanation);
        server.stop().await;
    }

    async fn what_is_not_there_is_refused(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let unknown = v1::ComputeStowageRequest { departure: name("departures/none"), ..request() };
        assert_eq!(refused(stow(&admin, unknown).await).code, Code::NotFound);
        let stranger = v1::ComputeStowageRequest { pinned: vec![name("cargoItems/none")], ..request() };
        let refusal = refused(stow(&admin, stranger).await);
        assert_eq!((refusal.code, refusal.fields()), (Code::InvalidArgument, vec!["pinned[0]"]));
        let zone = v1::StowageZone { vehicle: name("vehicles/v2"), zone: "attic".into() };
        let terms = v1::StowageTerms { not_in_zones: vec![zone], ..Default::default() };
        let item = v1::CargoItem { name: name("cargoItems/c031"), stowage_terms: Some(terms), ..Default::default() };
        let update = v1::UpdateCargoItemRequest { cargo_item: Some(item), ..Default::default() };
        let refusal = refused(admin.ask::<v1::CargoItem>(update).await);
        assert_eq!(refusal.fields(), ["cargo_item.stowage_terms.not_in_zones[0].zone"]);
        server.stop().await;
    }
}
