//! Drivelines of the demo fleet, and of given data.

use ostler_proto::v1;
use ostler_tests::on_both_databases;
use tonic::Code;

use crate::demo;

fn of(vehicle: &str, substitution: &str) -> v1::ComputeDrivelineRequest {
    v1::ComputeDrivelineRequest {
        vehicle: demo::name(&format!("vehicles/{vehicle}")),
        substitution: match substitution {
            "" => String::new(),
            id => demo::name(&format!("substitutions/{id}")),
        },
        picture: true,
        ..Default::default()
    }
}

fn first_high(report: &v1::DrivelineReport) -> &v1::GearFigures {
    report
        .gears
        .iter()
        .find(|row| row.gear == "1" && row.range == "high")
        .unwrap()
}

on_both_databases! {
    // Gears of 4.31 and 4.84 with an axle of 4.1 are the demo's own; 17.671 and 19.844 are their products. The speedometer drive of
    // the other gearbox turns 1.083 times as fast, so a kilometre on the odometer is 1 / 1.083 of a true one.
    async fn a_gearbox_of_other_ratios_before_and_after(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let latest = demo::latest_change(&admin, demo::FLEET).await;
        let report: v1::DrivelineReport = admin.ask(of("v3", "s01")).await.unwrap();
        let first = first_high(&report);
        let ratio = |speeds: &Option<v1::GearSpeeds>| speeds.as_ref().unwrap().overall_ratio;
        assert!((ratio(&first.before) - 17.671).abs() < 1e-9, "{first:?}");
        assert!((ratio(&first.after) - 19.844).abs() < 1e-9, "{first:?}");
        assert!((report.odometer_change.unwrap() - 1.0 / 1.083).abs() < 1e-9, "{report:?}");
        let (before, after) = (report.before.as_ref().unwrap(), report.after.as_ref().unwrap());
        assert!((before.odometer_factor.unwrap() - 1.0).abs() < 1e-9);
        let verdicts = |state: &v1::DrivelineState| -> Vec<_> {
            state.speedometer.iter().map(v1::SpeedometerReading::verdict).collect()
        };
        // It read 2 percent high; 1.02 x 1.083 x 110 is 121.5 km/h, within the published band of 110 to 125 km/h.
        assert_eq!(verdicts(before), [v1::SpeedometerVerdict::Within; 4]);
        assert_eq!(verdicts(after), [v1::SpeedometerVerdict::Within; 4]);
        let fastest = after.speedometer.last().unwrap();
        assert!((fastest.indicated_km_per_h.unwrap() - 121.5).abs() < 0.05, "{fastest:?}");
        assert!((fastest.most_km_per_h - 125.0).abs() < 1e-9, "{fastest:?}");
        assert!(after.crawl.as_ref().unwrap().overall_ratio > before.crawl.as_ref().unwrap().overall_ratio);
        assert_eq!(after.climbs.len(), 7);
        assert!(report.picture_svg.starts_with("<svg"), "{}", report.picture_svg);
        assert_eq!(demo::latest_change(&admin, demo::FLEET).await, latest);
        server.stop().await;
    }

    async fn every_vehicle_of_the_demo_has_its_gears(database: &Database) {
        let (server, admin) = demo::start(database).await;
        for vehicle in ["v1", "v2", "v3", "v4"] {
            let report: v1::DrivelineReport = admin.ask(of(vehicle, "")).await.unwrap();
            assert!(!report.gears.is_empty(), "{vehicle} {:?}", report.missing);
            assert!(report.gears.iter().all(|row| row.after.is_none()));
            let sources = &report.before.as_ref().unwrap().sources;
            assert!(sources.iter().any(|source| source.contains("tyre-")), "{sources:?}");
        }
        server.stop().await;
    }

    async fn a_substitution_of_another_vehicle_is_refused(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let refused = admin.ask::<v1::DrivelineReport>(of("v1", "s01")).await.unwrap_err();
        assert_eq!(refused.code(), Code::InvalidArgument, "{refused:?}");
        let refused = admin.ask::<v1::DrivelineReport>(of("v3", "none")).await.unwrap_err();
        assert_eq!(refused.code(), Code::NotFound, "{refused:?}");
        server.stop().await;
    }

    // 265/75R16 with 3.075 overall: 47.84 km/h per 1000 rpm, a check value of our own from 3.05 times the nominal diameter.
    async fn given_data_need_no_record(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let gear = |name: &str, ratio| v1::Gear { name: name.into(), ratio, reverse: false };
        let given = v1::GivenDriveline {
            gearing: Some(v1::Gearing {
                gears: vec![gear("1", 4.0), gear("5", 0.75)],
                ranges: vec![v1::TransferRange { name: "high".into(), ratio: 1.0 }],
                axle_ratio: Some(4.1),
                hub_ratio: None,
            }),
            tyre_designation: "LT265/75R16 123/120Q".into(),
            ..Default::default()
        };
        let request = v1::CompareDrivelinesRequest { before: Some(given.clone()), ..Default::default() };
        let report: v1::DrivelineReport = admin.ask(request).await.unwrap();
        let fifth = report.gears[1].before.as_ref().unwrap();
        assert!((fifth.speed_per_1000_rpm_km_per_h - 47.84).abs() < 0.01, "{fifth:?}");
        assert!(!report.missing.is_empty() && report.picture_svg.is_empty());

        let mut wrong = given;
        wrong.tyre_designation = "265/75Q16".into();
        wrong.gearing.as_mut().unwrap().axle_ratio = None;
        let request = v1::CompareDrivelinesRequest { before: Some(wrong), ..Default::default() };
        let refused = admin.ask::<v1::DrivelineReport>(request).await.unwrap_err();
        assert_eq!(refused.code(), Code::InvalidArgument, "{refused:?}");
        server.stop().await;
    }
}
