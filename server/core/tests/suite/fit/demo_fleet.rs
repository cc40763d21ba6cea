//! The ten substitutions of the demonstration fleet; its vehicles and parts are invented.

use ostler_core::record::{NoteFinding, VehicleSystem};

use super::fixture::{
    Against, Build, LEFT, RIGHT, at_least, at_most, circle, count, id, mm, not_essential, number, plug,
    ratio, requirement, slot, text, thread, within,
};
use NoteFinding::{Caution, DoesNotFit, FitsWithWork};
use VehicleSystem::{Driveline, Electrical, Engine, Fuel, Suspension, Wheels};

fn gearbox(build: &mut Build) {
    let a = vec![
        ("bell_housing_pattern", text("8 x M10")),
        ("input_spline_count", count(21)),
        ("lever_position", mm(412.0)),
        ("reverse_switch_connector", plug("2-pin round")),
        ("parking_brake", text("drum on transfer rear output, 230 mm")),
        ("output_flange.rear", circle(4, 90.0, "M10")),
        ("mount_offset", mm(0.0)),
        ("overall_length", mm(802.0)),
        ("speedometer_ratio", ratio(1.0)),
    ];
    let b = vec![
        ("bell_housing_pattern", text("8 x M10")),
        ("input_spline_count", count(21)),
        ("lever_position", mm(474.0)),
        ("reverse_switch_connector", plug("2-pin flat")),
        ("parking_brake", text("none, rear-axle drums expected")),
        ("output_flange.rear", circle(4, 95.0, "M11")),
        ("mount_offset", mm(38.0)),
        ("overall_length", mm(806.0)),
        ("speedometer_ratio", ratio(1.083)),
    ];
    build
        .part("gearbox-a", "gearbox", a)
        .figures
        .insert(id("first_gear_ratio"), 4.31);
    build
        .part("gearbox-b", "gearbox", b)
        .figures
        .insert(id("first_gear_ratio"), 4.84);
    let notes = [
        (
            "lever_position",
            "swap top selector housing from A, or cut tunnel and fit plate",
        ),
        ("reverse_switch_connector", "splice connector"),
        (
            "parking_brake",
            "transfer the output housing and drum from A, or rear axle with drums",
        ),
        ("output_flange.rear", "swap flange (same spline) or adapter 12 mm"),
        ("mount_offset", "slot and sleeve cross-member, weld"),
        ("speedometer_ratio", "driven gear or correction factor"),
    ];
    for (index, (kind, remedy)) in notes.into_iter().enumerate() {
        let pair = ("gearbox-b", Against::Part("gearbox-a"));
        build.note(&format!("s01-{index}"), pair, kind, FitsWithWork, remedy);
    }
    build.substitute("s01", "v3", &[("gearbox", Some("gearbox-a"), "gearbox-b")]);
}

fn springs(build: &mut Build) {
    build
        .part("coil-old-l", "spring", vec![("free_length", mm(395.0))])
        .hand = LEFT;
    build
        .part("coil-old-r", "spring", vec![("free_length", mm(403.0))])
        .hand = RIGHT;
    build
        .part("coil-heavy-l", "spring", vec![("free_length", mm(412.0))])
        .hand = LEFT;
    build
        .part("coil-heavy-r", "spring", vec![("free_length", mm(427.0))])
        .hand = RIGHT;
    for part in ["coil-heavy-l", "coil-heavy-r"] {
        let pair = (part, Against::Kind("v1-kind"));
        build.note(
            &format!("s02-{part}"),
            pair,
            "hand",
            FitsWithWork,
            "exchange sides",
        );
    }
    let exchanged = [
        ("spring.rear.left", Some("coil-old-l"), "coil-heavy-r"),
        ("spring.rear.right", Some("coil-old-r"), "coil-heavy-l"),
    ];
    build.substitute("s02", "v1", &exchanged);
}

fn leaves_and_dampers(build: &mut Build) {
    let seven = vec![
        ("u_bolt_leg_length", mm(210.0)),
        ("centre_bolt_head_diameter", mm(14.0)),
    ];
    let nine = vec![
        ("u_bolt_leg_length", mm(232.0)),
        ("centre_bolt_head_diameter", mm(14.0)),
        ("ride_height_change", mm(46.0)),
    ];
    build.part("leaf-7", "leaf_spring", seven);
    build.part("leaf-9", "leaf_spring", nine);
    let pair = ("leaf-9", Against::Kind("v3-kind"));
    let note = build.note(
        "s03",
        pair,
        "u_bolt_leg_length",
        FitsWithWork,
        "new U-bolts 235 mm",
    );
    note.remedy_lead_days = Some(10.0);
    let both = [
        ("leaf.rear.left", Some("leaf-7"), "leaf-9"),
        ("leaf.rear.right", Some("leaf-7"), "leaf-9"),
    ];
    build.substitute("s03", "v3", &both);
    let damper = |closed_mm, open_mm| {
        vec![
            ("closed_length", mm(closed_mm)),
            ("open_length", mm(open_mm)),
            ("upper_mount", text("stem 12 mm")),
            ("lower_mount", text("eye 16 mm")),
        ]
    };
    build.part("damper-old", "damper", damper(372.0, 588.0));
    build.part("damper-new", "damper", damper(391.0, 613.0));
    let pair = ("damper-new", Against::Kind("v2-kind"));
    build.note(
        "s04",
        pair,
        "closed_length",
        FitsWithWork,
        "bump-stop spacer 12 mm or shorter unit",
    );
    let both = [
        ("damper.rear.left", Some("damper-old"), "damper-new"),
        ("damper.rear.right", Some("damper-old"), "damper-new"),
    ];
    build.substitute("s04", "v2", &both);
}

fn wheels(build: &mut Build) {
    let wheel = |nave_mm, seat: &str| {
        vec![
            ("wheel_bolt_circle", circle(6, 139.7, "")),
            ("hub_bore", mm(93.1)),
            ("nave_thickness", mm(nave_mm)),
            ("nut_seat", text(seat)),
        ]
    };
    build.part("wheel-steel", "wheel", wheel(8.0, "60 degree cone"));
    build.part("wheel-alloy", "wheel", wheel(18.0, "flat with washer"));
    let pair = || ("wheel-alloy", Against::Kind("v2-kind"));
    build.note(
        "s05-studs",
        pair(),
        "thread_engagement",
        FitsWithWork,
        "longer studs (+8 mm) or shank nuts",
    );
    build.note(
        "s05-nuts",
        pair(),
        "nut_seat",
        FitsWithWork,
        "correct nuts for the rim; keep cone nuts for the steel spare",
    );
    build.substitute(
        "s05",
        "v2",
        &[("wheel.rear.left", Some("wheel-steel"), "wheel-alloy")],
    );
    let tyre = |load_kg, diameter_mm| {
        vec![
            ("rim_diameter_in", number(17.5)),
            ("load_capacity_kg", number(load_kg)),
            ("overall_diameter", mm(diameter_mm)),
        ]
    };
    build.part("tyre-143", "tyre", tyre(2725.0, 917.0));
    build.part("tyre-128", "tyre", tyre(1800.0, 940.0));
    let pair = || ("tyre-128", Against::Part("tyre-143"));
    build.note(
        "s06-load",
        pair(),
        "load_capacity_kg",
        DoesNotFit,
        "reject, or keep the fitted tyre",
    );
    build.note(
        "s06-diameter",
        pair(),
        "overall_diameter",
        Caution,
        "the speedometer shows 2.5 % less",
    );
    build.substitute("s06", "v4", &[("tyre.rear.left", Some("tyre-143"), "tyre-128")]);
}

fn small_parts(build: &mut Build) {
    let alternator = |connector: &str, ribs| {
        vec![
            ("mounting_ears", text("two ears")),
            ("connector", plug(connector)),
            ("pulley_ribs", count(ribs)),
        ]
    };
    build.part("alternator-90", "alternator", alternator("3-pin oval", 5));
    build.part("alternator-130", "alternator", alternator("4-pin rectangular", 6));
    let pair = || ("alternator-130", Against::Part("alternator-90"));
    build.note("s07-loom", pair(), "connector", FitsWithWork, "adapter loom");
    build.note("s07-pulley", pair(), "pulley_ribs", FitsWithWork, "swap pulley");
    build.substitute(
        "s07",
        "v2",
        &[("alternator", Some("alternator-90"), "alternator-130")],
    );
    let hose = |engine_mm| {
        vec![
            ("end_inside_diameter.radiator", mm(38.0)),
            ("end_inside_diameter.engine", mm(engine_mm)),
        ]
    };
    build.part("hose-old", "hose", hose(38.0));
    build.part("hose-new", "hose", hose(44.0));
    let pair = ("hose-new", Against::Part("hose-old"));
    build.note(
        "s08",
        pair,
        "end_inside_diameter.engine",
        DoesNotFit,
        "return; order by chassis number",
    );
    build.substitute("s08", "v1", &[("hose.lower", Some("hose-old"), "hose-new")]);
    let seal = |lip_mm| vec![("lip_diameter", mm(lip_mm)), ("outer_diameter", mm(70.0))];
    build.part("seal-52", "seal", seal(52.0));
    build.part("seal-50", "seal", seal(50.0));
    let pair = ("seal-50", Against::Part("seal-52"));
    build.note(
        "s09",
        pair,
        "lip_diameter",
        FitsWithWork,
        "measure every seal in the spares box",
    );
    build.substitute("s09", "v3", &[("seal.front.left", Some("seal-52"), "seal-50")]);
    let filter = |spigot: &str| {
        vec![
            ("spigot_thread", thread(spigot)),
            ("seal_face_diameter", mm(62.0)),
        ]
    };
    build.part("filter-m20", "filter", filter("M20x1.5"));
    build.part("filter-m16", "filter", filter("M16x1.5"));
    let pair = ("filter-m16", Against::Part("filter-m20"));
    build.note(
        "s10",
        pair,
        "spigot_thread",
        DoesNotFit,
        "keep separate stock for each vehicle",
    );
    build.substitute("s10", "v1", &[("filter.fuel", Some("filter-m20"), "filter-m16")]);
}

fn vehicles_one_and_two(build: &mut Build) {
    let coil = |side: &str, least_mm| {
        let side_matters = if side == "left" {
            ostler_core::record::Hand::Left
        } else {
            ostler_core::record::Hand::Right
        };
        let hand = ostler_core::record::InterfaceValue::Hand(side_matters);
        let asked = vec![
            at_least("free_length", mm(least_mm)),
            not_essential(requirement("hand", hand)),
        ];
        slot(&format!("spring.rear.{side}"), "spring", Suspension, asked)
    };
    build.vehicle(
        "v1",
        vec![
            coil("left", 395.0),
            coil("right", 403.0),
            slot("hose.lower", "hose", Engine, vec![]),
            slot("filter.fuel", "filter", Fuel, vec![]),
        ],
    );
    let damper = |side: &str| {
        let asked = vec![
            at_most("closed_length", mm(383.0)),
            at_least("open_length", mm(588.0)),
        ];
        slot(&format!("damper.rear.{side}"), "damper", Suspension, asked)
    };
    let studs = vec![
        requirement("stud_protrusion", mm(27.0)),
        requirement("stud_thread", thread("M12x1.5")),
        not_essential(requirement("nut_seat", text("60 degree cone"))),
    ];
    build.vehicle(
        "v2",
        vec![
            damper("left"),
            damper("right"),
            slot("wheel.rear.left", "wheel", Wheels, studs),
            slot("alternator", "alternator", Electrical, vec![]),
        ],
    );
}

fn vehicles_three_and_four(build: &mut Build) {
    let leaf = |side: &str| {
        let asked = vec![
            at_most("u_bolt_leg_length", mm(210.0)),
            at_most("ride_height_change", mm(50.0)),
        ];
        slot(&format!("leaf.rear.{side}"), "leaf_spring", Suspension, asked)
    };
    let behind_engine = vec![
        within(25.0, requirement("overall_length", mm(802.0))),
        not_essential(requirement("mount_offset", mm(0.0))),
    ];
    let seal_asked = vec![not_essential(requirement("lip_diameter", mm(52.0)))];
    build.vehicle(
        "v3",
        vec![
            slot("gearbox", "gearbox", Driveline, behind_engine),
            leaf("left"),
            leaf("right"),
            slot("seal.front.left", "seal", Wheels, seal_asked),
        ],
    );
    let tyre = vec![at_least("load_capacity_kg", number(2300.0))];
    build.vehicle("v4", vec![slot("tyre.rear.left", "tyre", Wheels, tyre)]);
}

pub(super) fn demo() -> Build {
    let mut build = Build::new();
    vehicles_one_and_two(&mut build);
    vehicles_three_and_four(&mut build);
    gearbox(&mut build);
    springs(&mut build);
    leaves_and_dampers(&mut build);
    wheels(&mut build);
    small_parts(&mut build);
    build
}
