//! Loads of vehicles that are not on record, from a file, and pictures.

use crate::shop::{DEPARTURE, Shop};

/// A vehicle of 2,400 kg, 1,300 of it in front, wheelbase 3,000 mm, with 100 kg at 3,300 mm.
const VEHICLE: &str = "\
vehicle:
  specification:
    wheelbase_mm: 3000
    front_track_mm: 1500
    rear_track_mm: 1500
    gross_mass_kg: 3500
    front_axle_rating_kg: 1700
    rear_axle_rating_kg: 2200
    declared_mass: {mass_kg: 2400, front_axle_kg: 1300, driver_kg: 0}
    suspension:
      front:
        {kind: beam, spring_spacing_mm: 1000, motion_ratio: 1, anti_roll_bar_nm_per_rad: 0, spring_length_mm: 300,
         unsprung_mass_kg: 250, loaded_radius_mm: 390, arch_height_mm: 900}
      rear:
        {kind: beam, spring_spacing_mm: 1000, motion_ratio: 1, anti_roll_bar_nm_per_rad: 0, spring_length_mm: 300,
         unsprung_mass_kg: 250, loaded_radius_mm: 390, arch_height_mm: 900}
      bare_centre_y_mm: 0
      arch_width_mm: 1600
  fitted:
    spring.front.left: {display_name: coil, kind: spring, figures: {rate_n_per_mm: 50, free_length_mm: 400}}
    spring.front.right: {display_name: coil, kind: spring, figures: {rate_n_per_mm: 50, free_length_mm: 400}}
    spring.rear.left: {display_name: coil, kind: spring, figures: {rate_n_per_mm: 50, free_length_mm: 400}}
    spring.rear.right: {display_name: coil, kind: spring, figures: {rate_n_per_mm: 50, free_length_mm: 400}}
load:
  masses:
    - {display_name: boxes, mass: {mass_kg: 100, provenance: weighed}, position: {x_mm: 3300, y_mm: 0}}
";

/// By moments 100 kg at 3,300 of 3,000 mm put 110 on the rear axle and take 10 off the front.
#[tokio::test(flavor = "multi_thread")]
async fn cli_load_of_a_vehicle_that_is_not_on_record() {
    let shop = Shop::with_demo().await;
    let file = shop.file("vehicle.yaml", VEHICLE);
    let said = shop.ostler(&["load", "axles", "--file", &file]).well();
    for told in ["the vehicle in the file", "1290", "1210", "boxes"] {
        assert!(said.contains(told), "{told}: {said}");
    }
    let picture = shop.file("wheels.svg", "");
    let said = shop
        .ostler(&["load", "wheels", "--file", &file, "--picture", &picture])
        .well();
    assert!(said.contains("645") && said.contains("605"), "{said}");
    let drawn = std::fs::read_to_string(&picture).unwrap();
    assert!(drawn.starts_with("<svg") && drawn.contains("1,210"), "{drawn}");
    let weighed = format!("{VEHICLE}axles: {{front_kg: 1300, rear_kg: 1260}}\ntolerance_kg: 2\n");
    let file = shop.file("weighed.yaml", &weighed);
    let said = shop.ostler(&["load", "reconcile", "--file", &file]).well();
    assert!(said.contains("2500 mm aft"), "{said}");
    let heights = "heights:\n  floor_level: true\n  readings:\n    - {wheel: rear_left, kind: hub_to_arch, height_mm: 500}\n    \
                   - {wheel: rear_right, kind: hub_to_arch, height_mm: 480}\n";
    let file = shop.file("heights.yaml", format!("{VEHICLE}{heights}"));
    let said = shop.ostler(&["load", "lean", "--file", &file]).well();
    assert!(said.contains("Why the vehicle in the file leans"), "{said}");
    let wrong = shop.file(
        "wrong.yaml",
        VEHICLE.replace("wheelbase_mm: 3000", "wheelbase_mm: 0"),
    );
    for command in ["axles", "wheels"] {
        shop.ostler(&["load", command, "--file", &wrong])
            .failed(1, &["vehicle.specification.wheelbase_mm"]);
        assert_eq!(shop.ostler(&["load", command]).code, Some(2));
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn cli_load_pictures_and_stability_of_the_demo() {
    let shop = Shop::with_demo().await;
    let picture = shop.file("run.svg", "");
    let asked = [
        "load",
        "axles",
        DEPARTURE,
        "--vehicle",
        "v2",
        "--states",
        "--picture",
        &picture,
    ];
    let said = shop.ostler(&asked);
    assert!(said.notes.contains("wrote"), "{said:?}");
    let drawn = std::fs::read_to_string(&picture).unwrap();
    assert!(drawn.contains("OVER the limit of 2,020 kg by 38"), "{drawn}");
    let asked = [
        "load",
        "wheels",
        DEPARTURE,
        "--vehicle",
        "v2",
        "--picture",
        &picture,
        "--at",
        "end of l03",
    ];
    shop.ostler(&asked).well();
    assert!(std::fs::read_to_string(&picture).unwrap().contains("end of l03"));
    let said = shop
        .ostler(&["load", "stability", DEPARTURE, "--vehicle", "v1"])
        .well();
    for told in ["departure", "end of l10", "never a safe slope", "invented"] {
        assert!(said.contains(told), "{told}: {said}");
    }
}
