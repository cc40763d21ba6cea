//! Calculations for data that are given: nothing on record, nothing written.

use ostler_proto::v1;
use ostler_tests::on_both_databases;
use ostler_tests::server::Server;
use serde_json::{Value as Json, json};
use tonic::Code;

use crate::messages::request;

/// A vehicle of 2,400 kg, 1,300 of it on the front axle, wheelbase 3,000 mm, on four equal springs.
fn vehicle() -> Json {
    let axle = json!({
        "kind": "SUSPENSION_KIND_BEAM", "spring_spacing_mm": 1000, "motion_ratio": 1, "anti_roll_bar_nm_per_rad": 0,
        "spring_length_mm": 300, "unsprung_mass_kg": 250, "loaded_radius_mm": 390, "arch_height_mm": 900,
    });
    let spring = json!({
        "display_name": "coil", "kind": "spring", "figures": { "rate_n_per_mm": 50, "free_length_mm": 400 },
    });
    json!({
        "specification": {
            "wheelbase_mm": 3000, "front_track_mm": 1500, "rear_track_mm": 1500, "gross_mass_kg": 3500,
            "front_axle_rating_kg": 1700, "rear_axle_rating_kg": 1200,
            "declared_mass": { "mass_kg": 2400, "front_axle_kg": 1300, "driver_kg": 0, "tolerance_kg": 5 },
            "tanks": [{
                "id": "main", "fluid": "FLUID_DIESEL", "mounting": "TANK_MOUNTING_FIXED", "capacity_l": 80,
                "position": { "x_mm": 2000, "y_mm": 0 },
            }],
            "zones": [{ "id": "rear", "display_name": "rear zone", "position": { "x_mm": 3300, "y_mm": 0 }, "limit_kg": 200 }],
            "suspension": { "front": axle, "rear": axle, "bare_centre_y_mm": 0, "arch_width_mm": 1600 },
        },
        "fitted": {
            "spring.front.left": spring, "spring.front.right": spring, "spring.rear.left": spring, "spring.rear.right": spring,
        },
        "fluid_densities": [{ "fluid": "FLUID_DIESEL", "density_kg_per_l": 0.84 }],
    })
}

/// 50 l of diesel, 42 kg, at 2,000 mm; 100 kg in the zone at 3,300 mm, `y_mm` to the right.
fn load(y_mm: f64) -> Json {
    json!({
        "fills": [{ "tank": "main", "volume_l": 50 }],
        "masses": [{
            "display_name": "boxes", "zone": "rear", "position": { "x_mm": 3300, "y_mm": y_mm },
            "mass": { "mass_kg": 100, "provenance": "MASS_PROVENANCE_WEIGHED", "tolerance_kg": 1 },
        }],
    })
}

async fn ask<A: prost_reflect::ReflectMessage + Default>(
    server: &Server,
    method: &str,
    fields: Json,
) -> Result<A, tonic::Status> {
    let answer = server.admin().call(&request(method, fields)).await?;
    Ok(answer.transcode_to().unwrap())
}

on_both_databases! {
    /// A figure of a part has no range of its own in the contract: what no stance follows from is told by its place in the request.
    async fn a_spring_that_cannot_be_is_refused_by_its_field(database: &Database) {
        let server = Server::start(database).await;
        let mut broken = vehicle();
        broken["fitted"]["spring.rear.left"]["figures"]["rate_n_per_mm"] = json!(-50);
        let heights = json!({
            "floor_level": true,
            "readings": [{ "wheel": "WHEEL_POSITION_REAR_LEFT", "kind": "HEIGHT_KIND_ARCH_TO_FLOOR", "height_mm": 900 }],
        });
        for (method, fields) in [
            ("CalculateStance", json!({ "vehicle": broken, "load": load(0.0) })),
            // Also where something else is missing.
            ("CalculateStance", json!({ "vehicle": { "specification": {}, "fitted": broken["fitted"] } })),
            ("CalculateLean", json!({ "vehicle": broken, "load": load(0.0), "heights": heights })),
        ] {
            let refused = ask::<v1::CalculateStanceResponse>(&server, method, fields).await.unwrap_err();
            assert_eq!(refused.code(), Code::InvalidArgument, "{method} {refused}");
            assert_eq!(
                ostler_tests::client::Refusal::of(&refused).fields(),
                [r#"vehicle.fitted["spring.rear.left"].figures["rate_n_per_mm"]"#],
                "{method}"
            );
        }
        server.stop().await;
    }

    // Moments about the axles by hand: 42 kg at 2,000 of 3,000 mm put 28 on the rear and 14 on the front, 100 kg at 3,300 mm put 110
    // on the rear and take 10 off the front.
    async fn loads_follow_from_given_data_by_moments(database: &Database) {
        let server = Server::start(database).await;
        let fields = json!({ "vehicle": vehicle(), "load": load(0.0) });
        let loads: v1::LoadResult = ask(&server, "CalculateLoads", fields).await.unwrap();
        assert!(loads.missing.is_empty(), "{:?}", loads.missing);
        let kg = |load: &Option<v1::LoadAgainstLimit>| load.as_ref().unwrap().load_kg;
        assert!((kg(&loads.total) - 2542.0).abs() < 1e-9);
        assert!((kg(&loads.front_axle) - 1304.0).abs() < 1e-9);
        assert!((kg(&loads.rear_axle) - 1238.0).abs() < 1e-9);
        assert_eq!(loads.rear_axle.as_ref().unwrap().answer(), v1::Answer::NotMet);
        assert_eq!((loads.vehicle.as_str(), loads.load_state.as_str()), ("", "as given"));
        assert!(loads.lines.iter().all(|line| line.record.is_empty()), "{:?}", loads.lines);
        server.stop().await;
    }

    async fn wheels_of_a_given_vehicle_carry_its_weight_and_mirror_its_load(database: &Database) {
        let server = Server::start(database).await;
        let stand = async |y_mm: f64| {
            let fields = json!({ "vehicle": vehicle(), "load": load(y_mm), "picture": true });
            ask::<v1::CalculateStanceResponse>(&server, "CalculateStance", fields).await.unwrap()
        };
        let (left, right) = (stand(-400.0).await, stand(400.0).await);
        let wheels = |of: &v1::CalculateStanceResponse| -> Vec<f64> {
            of.state.as_ref().unwrap().wheels.iter().map(|wheel| wheel.load_kg).collect()
        };
        let (one, other) = (wheels(&left), wheels(&right));
        assert!((one.iter().sum::<f64>() - 2542.0).abs() < 1e-6, "{one:?}");
        for (index, mirrored) in [1, 0, 3, 2].into_iter().enumerate() {
            assert!((one[index] - other[mirrored]).abs() < 1e-6, "{one:?} {other:?}");
        }
        assert!(right.state.as_ref().unwrap().lean_mm.unwrap() > 1.0);
        for said in ["the vehicle", "boxes", "OVER: rear axle", "1,238"] {
            assert!(right.picture_svg.contains(said), "{said}: {}", right.picture_svg);
        }
        server.stop().await;
    }

    // By hand: springs that differ by 30 mm on the wrong sides of a 1,000 mm base, 50 N/mm each: 750 N m against two axles of
    // 1/2 50 1000^2 N mm/rad each make 0.015 rad, 24 mm over arches 1,600 mm apart.
    async fn the_cause_of_a_lean_is_ranked_for_given_springs(database: &Database) {
        let server = Server::start(database).await;
        let mut exchanged = vehicle();
        let declared = json!({ "mass_kg": 2278.0, "front_axle_kg": 1193.3, "driver_kg": 0 });
        exchanged["specification"]["declared_mass"] = declared;
        for (fitted_on, hand, free_length_mm) in [("right", "HAND_LEFT", 385), ("left", "HAND_RIGHT", 415)] {
            let spring = &mut exchanged["fitted"][format!("spring.rear.{fitted_on}")];
            spring["hand"] = json!(hand);
            spring["figures"]["free_length_mm"] = json!(free_length_mm);
        }
        let reading = |wheel: &str, height_mm: f64| {
            json!({ "wheel": wheel, "kind": "HEIGHT_KIND_ARCH_TO_FLOOR", "height_mm": height_mm })
        };
        let heights = json!({
            "floor_level": true,
            "readings": [reading("WHEEL_POSITION_REAR_LEFT", 919.0), reading("WHEEL_POSITION_REAR_RIGHT", 895.0)],
        });
        let fields = json!({ "vehicle": exchanged, "heights": heights });
        let diagnosis: v1::LeanDiagnosis = ask(&server, "CalculateLean", fields).await.unwrap();
        let first = diagnosis.causes.first().unwrap_or_else(|| panic!("{:?}", diagnosis.missing));
        assert!(first.explanation.starts_with("rear springs exchanged left for right"), "{first:?}");
        assert!((first.rear_difference_mm - 24.0).abs() < 0.1, "{first:?}");
        server.stop().await;
    }

    // The scale reads 10 kg more at the front and 50 more at the rear than moments give: 60 kg, by moments at 50/60 of 3,000 mm.
    async fn an_unexplained_mass_of_given_readings_is_placed(database: &Database) {
        let server = Server::start(database).await;
        let mut fields = json!({
            "vehicle": vehicle(), "load": load(0.0), "tolerance_kg": 2,
            "axles": { "front_kg": 1314.0, "rear_kg": 1288.0 },
        });
        let found: v1::Reconciliation = ask(&server, "CalculateReconciliation", fields.clone()).await.unwrap();
        assert!(found.missing.is_empty(), "{:?}", found.missing);
        assert!((found.total.unwrap().unexplained_kg - 60.0).abs() < 1e-9);
        assert!((found.centre.unwrap().x_mm - 2500.0).abs() < 1e-6);
        assert_eq!((found.weighing.as_str(), found.vehicle.as_str(), found.baseline.as_str()), ("", "", "declared"));
        fields.as_object_mut().unwrap().remove("axles");
        let refused = ask::<v1::Reconciliation>(&server, "CalculateReconciliation", fields).await.unwrap_err();
        assert_eq!(refused.code(), Code::InvalidArgument);
        server.stop().await;
    }

    async fn data_that_contradict_themselves_are_refused_at_their_field(database: &Database) {
        let server = Server::start(database).await;
        let refused = async |fields: Json| {
            let status = ask::<v1::LoadResult>(&server, "CalculateLoads", fields).await.unwrap_err();
            ostler_tests::client::Refusal::of(&status).fields().join(" ")
        };
        let mut no_tank = load(0.0);
        no_tank["fills"][0]["tank"] = json!("other");
        let mut no_zone = load(0.0);
        no_zone["masses"][0]["zone"] = json!("attic");
        let mut front_heavy = vehicle();
        front_heavy["specification"]["declared_mass"]["front_axle_kg"] = json!(2500);
        for (fields, path) in [
            (json!({ "vehicle": vehicle(), "load": no_tank }), "load.fills[0].tank"),
            (json!({ "vehicle": vehicle(), "load": no_zone }), "load.masses[0].zone"),
            (json!({ "vehicle": front_heavy }), "vehicle.specification.declared_mass.front_axle_kg"),
            (json!({}), "vehicle vehicle.specification"),
        ] {
            assert_eq!(refused(fields).await, path);
        }
        server.stop().await;
    }
}
