//! Tanks on record, and tanks whose data are in the request.

use ostler_proto::v1;
use ostler_tests::on_both_databases;
use tonic::Code;
use v1::compute_tank_request::Subject;
use v1::tank_inside::Shape;

use crate::demo;

/// A box of 150 l in two cells with a wall of one hole between them, and a pump in the front one.
fn given() -> v1::GivenTank {
    let cell = v1::TankCell {
        length_mm: 500.0,
        airless: false,
    };
    v1::GivenTank {
        fluid: v1::Fluid::Diesel.into(),
        inside: Some(v1::TankInside {
            shape: Some(Shape::Box(v1::TankBox {
                length_mm: 1000.0,
                width_mm: 500.0,
                height_mm: 300.0,
            })),
            cells: vec![cell; 2],
            baffles: vec![v1::TankBaffle {
                holes: vec![v1::BaffleHole {
                    height_mm: 5.0,
                    diameter_mm: 10.0,
                    ..Default::default()
                }],
            }],
            ..Default::default()
        }),
        pump: Some(v1::TankPump {
            cell: 0,
            draw_l_per_min: 2.0,
            pickup_height_mm: 12.0,
        }),
        walls: Some(v1::TankWalls {
            thickness_mm: 3.0,
            modulus_gpa: 200.0,
            yield_mpa: Some(200.0),
            bays: vec![v1::WallBay {
                length_mm: 200.0,
                width_mm: 200.0,
            }],
        }),
        empty_mass_kg: 20.0,
        ..Default::default()
    }
}

fn request(given: v1::GivenTank) -> v1::ComputeTankRequest {
    v1::ComputeTankRequest {
        subject: Some(Subject::Given(given)),
        volume_l: Some(75.0),
        density_kg_per_l: Some(0.84),
        warming: Some(v1::TankWarming {
            fill_temperature_c: 15.0,
            hottest_temperature_c: 50.0,
            fill_share_max: None,
        }),
        leak_test_kpa: Some(20.0),
        vehicle_mass_kg: Some(3000.0),
    }
}

on_both_databases! {
    // By hand: 75 l of 0.84 kg/l and 20 kg; second moment l b^3 / 12 (Ship Stability for Masters and Mates, read); a square plate
    // 0.2874 q b^2 / t^2 (Roark 7th edition, case 1a, read); swelling of 840 kg/m3 over 35 degrees 1.03065 (Table 54B, constants
    // read in secondary copies).
    async fn a_given_tank_is_computed(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let found: v1::TankFigures = admin.ask(request(given())).await.unwrap();
        assert!(found.missing.is_empty(), "{:?}", found.missing);
        assert!((found.brimful_l.unwrap() - 150.0).abs() < 1e-9);
        let now = found.now.unwrap();
        assert!((now.mass_kg - 83.0).abs() < 1e-9 && (now.level_mm.unwrap() - 150.0).abs() < 1e-9, "{now:?}");
        assert!((found.brimful.unwrap().weight_n - 146.0 * 9.80665).abs() < 1e-6);
        assert!((found.room.unwrap().fill_limit_l - 0.98 * 150.0 / 1.03065).abs() < 0.01);
        let surface = found.free_surface.unwrap();
        assert!((surface.moment_kgm - 840.0 * 0.125 / 12.0).abs() < 1e-9, "{surface:?}");
        assert!((surface.virtual_rise_mm - 840.0 * 0.125 / 12.0 / 3.0).abs() < 1e-9);
        assert_eq!(found.slosh.len(), 2);
        let flow = found.flow.unwrap();
        assert_eq!(flow.starving(), v1::TankStarving::AtFill);
        assert!(flow.left_l.unwrap() >= 6.0 && flow.levels_within_s.is_some(), "{flow:?}");
        let plate = found.walls[0].simply_supported.as_ref().unwrap();
        assert!((plate.stress_mpa - 0.2874 * 0.02 * (200.0_f64 / 3.0).powi(2)).abs() < 1e-6, "{plate:?}");
        assert!(plate.valid);
        server.stop().await;
    }

    async fn a_tank_on_record_says_what_it_lacks(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let recorded = |tank: &str| v1::ComputeTankRequest {
            subject: Some(Subject::Recorded(v1::RecordedTank {
                vehicle: demo::name("vehicles/v1"),
                tank: tank.into(),
            })),
            warming: Some(v1::TankWarming {
                fill_temperature_c: 20.0,
                hottest_temperature_c: 45.0,
                fill_share_max: None,
            }),
            ..Default::default()
        };
        let found: v1::TankFigures = admin.ask(recorded("t1a")).await.unwrap();
        // 93 l of the fleet's 0.84 kg/l.
        assert!((found.now.as_ref().unwrap().mass_kg - 78.12).abs() < 1e-9, "{found:?}");
        assert!(found.room.as_ref().unwrap().excess_l == 0.0, "{found:?}");
        assert_eq!(found.missing, ["the inside is not known"]);
        let refused = admin.ask::<v1::TankFigures>(recorded("t9")).await.unwrap_err();
        assert_eq!(refused.code(), Code::InvalidArgument);
        assert!(refused.message().contains("recorded.tank"), "{}", refused.message());
        server.stop().await;
    }

    async fn what_a_tank_cannot_be_is_refused_with_its_field(database: &Database) {
        let (server, admin) = demo::start(database).await;
        type Spoil = fn(&mut v1::ComputeTankRequest, &mut v1::GivenTank);
        let spoils: [(&str, Spoil); 8] = [
            ("volume_l", |asked, _| asked.volume_l = Some(200.0)),
            ("density_kg_per_l", |asked, _| asked.density_kg_per_l = Some(1.5)),
            ("warming.hottest_temperature_c", |asked, _| {
                asked.warming.as_mut().unwrap().hottest_temperature_c = 0.0;
            }),
            ("given.pump.pickup_height_mm", |_, given| given.pump.as_mut().unwrap().pickup_height_mm = 301.0),
            ("given.pump.cell", |_, given| given.pump.as_mut().unwrap().cell = 2),
            ("given.inside.cells", |_, given| given.inside.as_mut().unwrap().cells[0].length_mm = 900.0),
            ("given.inside.baffles", |_, given| given.inside.as_mut().unwrap().baffles.clear()),
            ("given.inside.baffles[0].holes[0].height_mm", |_, given| {
                given.inside.as_mut().unwrap().baffles[0].holes[0].height_mm = 299.0;
            }),
        ];
        for (field, spoil) in spoils {
            let (mut tank, mut asked) = (given(), request(given()));
            spoil(&mut asked, &mut tank);
            asked.subject = Some(Subject::Given(tank));
            let refused = admin.ask::<v1::TankFigures>(asked).await.unwrap_err();
            assert_eq!(refused.code(), Code::InvalidArgument, "{field}");
            assert!(refused.message().contains(field), "{field}: {}", refused.message());
        }
        server.stop().await;
    }
}
