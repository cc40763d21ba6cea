//! Electrical power of the demo fleet, and of systems that are given.

use ostler_proto::v1;
use ostler_tests::on_both_databases;
use v1::compute_power_request::Question;

use crate::demo;

fn recorded(vehicle: &str) -> v1::ComputePowerRequest {
    v1::ComputePowerRequest {
        question: Some(Question::Recorded(v1::RecordedPower {
            departure: demo::DEPARTURE.into(),
            vehicle: demo::name(&format!("vehicles/{vehicle}")),
        })),
    }
}

/// 12.8 V and 200 Ah of lithium iron phosphate at 1 C, an inverter of 90 % and a welder of 80 %.
fn welding_system() -> v1::ComputePowerRequest {
    let values = v1::BatteryValues {
        usable_share: 0.8,
        discharge_limit_c_rate: 1.0,
        charge_limit_c_rate: 0.5,
        charge_efficiency: 0.95,
        provenance: "test".into(),
        ..Default::default()
    };
    let system = v1::ElectricalSystem {
        bank: Some(v1::BatteryBank {
            family: v1::BatteryFamily::LithiumIronPhosphate.into(),
            voltage_v: 12.8,
            capacity_ah: 200.0,
            values: Some(values),
            ..Default::default()
        }),
        inverter: Some(v1::Inverter {
            rated_power_w: 3_000.0,
            efficiency: 0.9,
            ..Default::default()
        }),
        welder: Some(v1::ArcWelder {
            source_efficiency: 0.85,
            current_max_a: 160.0,
            ..Default::default()
        }),
        generator: Some(v1::Generator {
            rated_power_w: Some(3_000.0),
            ..Default::default()
        }),
        ..Default::default()
    };
    let given = v1::GivenPower {
        system: Some(system),
        plan: Some(v1::PowerPlan::default()),
        days: 1,
        ..Default::default()
    };
    v1::ComputePowerRequest {
        question: Some(Question::Given(given)),
    }
}

on_both_databases! {
    async fn every_vehicle_of_the_demo_has_power_enough(database: &Database) {
        let (server, admin) = demo::start(database).await;
        // Wh a day and usable Wh: own calculation, quantity x W x h x duty, and capacity x shares at 15 degrees.
        for (vehicle, energy_wh, usable_wh) in [
            ("v1", 45.0 * 24.0 * 0.4 + 50.0 + 120.0 + 60.0, 2_560.0 * 0.8 * 0.95 * 0.94),
            ("v2", 45.0 * 24.0 * 0.4 + 60.0 + 120.0 / 0.88, 2_728.0 * 0.5 * 0.9 * 0.92),
            ("v3", 35.0 * 24.0 * 0.3 + 120.0 + 60.0, 1_280.0 * 0.8 * 0.95 * 0.94),
            ("v4", 120.0 + 120.0 + 100.0, 2_560.0 * 0.8 * 0.95 * 0.94),
        ] {
            let power: v1::PowerResult = admin.ask(recorded(vehicle)).await.unwrap();
            assert_eq!(power.answer(), v1::Answer::Met, "{vehicle}: {:?}", power.issues);
            for (found, expected) in [
                (power.energy_wh_per_day, energy_wh),
                (power.usable_wh, usable_wh),
                (power.autonomy_days, usable_wh / energy_wh),
            ] {
                assert!((found.unwrap() - expected).abs() < 1e-6, "{vehicle}: {found:?}, not {expected}");
            }
        }
        server.stop().await;
    }

    async fn the_demo_cannot_leave_the_generator_because_of_the_battery_current(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let power: v1::PowerResult = admin.ask(recorded("v4")).await.unwrap();
        // 2,700 W through 80 %: 2,160 W of arc, I = (-20 + sqrt(400 + 0.16 x 2,160)) / 0.08 (own calculation).
        let most_a = (-20.0 + (400.0_f64 + 0.16 * 2_160.0).sqrt()) / 0.08;
        assert!((power.generator_welding.unwrap().current_max_a - most_a).abs() < 1e-9);
        let generator = power.generator.unwrap();
        assert_eq!(generator.answer(), v1::Answer::NotMet);
        assert!(generator.reasons[0].text.contains("battery current limit"), "{generator:?}");
        // 58 and 37.6 kg at 3,700 and 4,300 mm stay, 24 and 11 kg at 2,700 mm come, wheelbase 3,400 mm.
        let rear_kg = (58.0 * 3_700.0 + 37.6 * 4_300.0 - 35.0 * 2_700.0) / 3_400.0;
        assert!((generator.mass_saved_kg - 60.6).abs() < 1e-9);
        assert!((generator.rear_axle_saved_kg.unwrap() - rear_kg).abs() < 1e-9);
        assert!((generator.front_axle_saved_kg.unwrap() - (60.6 - rear_kg)).abs() < 1e-9);
        server.stop().await;
    }

    async fn a_given_system_finds_the_battery_current_limit_first(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let power: v1::PowerResult = admin.ask(welding_system()).await.unwrap();
        // Own calculation by hand: 1 C of 200 Ah at 12.8 V through 90 % is 2,304 W, 83.9 A; 3 kW alone are 105.3 A.
        let answer = power.answer();
        let welding = power.battery_welding.unwrap();
        assert_eq!(welding.binding_limit, "battery current limit");
        let rounded = |value: f64| (value * 10.0).round() / 10.0;
        assert_eq!(rounded(welding.current_max_a), 83.9);
        assert_eq!(rounded(power.generator_welding.unwrap().current_max_a), 105.3);
        // Nothing says what runs, so that it is not known whether the battery lasts.
        assert_eq!(answer, v1::Answer::NotKnown);
        server.stop().await;
    }

    async fn a_device_of_which_the_duty_is_taken_away_is_not_known(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let mut departure: v1::Departure =
            admin.ask(v1::GetDepartureRequest { name: demo::DEPARTURE.into() }).await.unwrap();
        departure.etag = String::new();
        departure.vehicles[0].power_plan.as_mut().unwrap().duties.pop();
        let update = v1::UpdateDepartureRequest {
            departure: Some(departure.clone()),
            update_mask: Some(prost_types::FieldMask { paths: vec!["vehicles".into()] }),
            ..Default::default()
        };
        let _: v1::Departure = admin.ask(update.clone()).await.unwrap();
        let power: v1::PowerResult = admin.ask(recorded("v1")).await.unwrap();
        assert_eq!(power.answer(), v1::Answer::NotKnown);
        assert!(power.issues[0].text.contains("camp lamps"), "{:?}", power.issues);
        // A duty of nothing that is aboard is refused.
        let duties = &mut departure.vehicles[0].power_plan.as_mut().unwrap().duties;
        duties.push(v1::DeviceDuty { device: "kettle".into(), on_h_per_day: 1.0, duty_share: None });
        let refused = v1::UpdateDepartureRequest { departure: Some(departure), ..update };
        let status = admin.ask(refused).await.map(|_: v1::Departure| ()).unwrap_err();
        assert!(format!("{status:?}").contains("kettle"), "{status:?}");
        server.stop().await;
    }

    async fn an_electrical_system_that_cannot_be_is_refused(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let mut vehicle: v1::Vehicle =
            admin.ask(v1::GetVehicleRequest { name: demo::name("vehicles/v1") }).await.unwrap();
        vehicle.etag = String::new();
        let system = vehicle.specification.as_mut().unwrap().electrical.as_mut().unwrap();
        system.circuits[0].size_mm2 = 33.0;
        system.devices.push(system.devices[0].clone());
        let values = system.bank.as_mut().unwrap().values.as_mut().unwrap();
        values.peukert_exponent = Some(1.2);
        values.derating.reverse();
        let update = v1::UpdateVehicleRequest {
            vehicle: Some(vehicle),
            update_mask: Some(prost_types::FieldMask { paths: vec!["specification".into()] }),
            ..Default::default()
        };
        let status = admin.ask(update).await.map(|_: v1::Vehicle| ()).unwrap_err();
        let said = format!("{status:?}");
        for field in ["circuits[0].size_mm2", "devices[4]", "bank.values.peukert_exponent", "bank.values.derating"] {
            assert!(said.contains(&format!("specification.electrical.{field}")), "{field}: {said}");
        }
        server.stop().await;
    }
}
