//! Tyres, wheels and a spare for the vehicle that is ready.

use ostler_core::record::{
    BoltCircle, Comparison, Departure, Interface, InterfaceValue, Part, Record, Requirement, SpareWheel,
    TyreMarking, TyrePlacard, TyrePolicy, TyrePressure, VehicleSystem, WheelData,
};
use ostler_core::tyres::wheel_fit::Tube;

use crate::builder::{fitment, id, name, part, slot, v1_mut};

/// The four ends.
const ENDS: [&str; 4] = ["front.left", "front.right", "rear.left", "rear.right"];

fn interface(kind: &str, value: InterfaceValue) -> Interface {
    Interface {
        kind: id(kind),
        value: Some(value),
    }
}

/// A tyre of this designation, rated at 450 kPa, without a tube.
pub(super) fn tyre(part_id: &str, designation: &str) -> Part {
    Part {
        kind: id("tyre"),
        tyre: Some(TyreMarking {
            designation: designation.parse().unwrap(),
            rated_pressure_kpa: Some(450.0),
            tube: Some(Tube::None),
            pressure_table: None,
        }),
        ..part(part_id, None)
    }
}

/// A 16 inch wheel on five M14 studs.
pub(super) fn wheel(part_id: &str) -> Part {
    let circle = BoltCircle {
        count: 5,
        circle_mm: 150.0,
        thread: String::new(),
    };
    let mut wheel = Part {
        kind: id("wheel"),
        interfaces: vec![
            interface("wheel_bolt_circle", InterfaceValue::BoltCircle(circle)),
            interface("hub_bore", InterfaceValue::LengthMm(110.0)),
            interface("nut_seat", InterfaceValue::Text("60 degree cone".to_owned())),
            interface("nave_thickness", InterfaceValue::LengthMm(9.0)),
            interface("stud_thread", InterfaceValue::Thread("M14x1.5".to_owned())),
        ],
        wheel: Some(WheelData {
            airtight: Some(true),
            offset_mm: Some(10.0),
        }),
        ..part(part_id, None)
    };
    wheel.figures.insert(id("rim_diameter_in"), 16.0);
    wheel
}

/// Puts the vehicle on tyres that carry it, plans their pressures and makes its tent a spare wheel.
pub(super) fn shoe(record: &mut Record, departure: &mut Departure) {
    for part in [tyre("road-tyre", "LT265/75R16 123/120Q TL"), wheel("road-wheel")] {
        record.parts.insert(part.name.clone(), part);
    }
    let asked = |kind, value| Requirement {
        interface: interface(kind, value),
        comparison: Comparison::Equal,
        tolerance: 0.0,
        essential: None,
    };
    let circle = BoltCircle {
        count: 5,
        circle_mm: 150.0,
        thread: String::new(),
    };
    for end in ENDS {
        for (what, fitted) in [("wheel", "road-wheel"), ("tyre", "road-tyre")] {
            let place = format!("{what}.{end}");
            let mut made = slot(&place, 0.0);
            made.kind = id(what);
            made.system = VehicleSystem::Wheels;
            if what == "wheel" {
                made.requirements = vec![
                    asked("wheel_bolt_circle", InterfaceValue::BoltCircle(circle.clone())),
                    asked("hub_bore", InterfaceValue::LengthMm(110.0)),
                    asked("nut_seat", InterfaceValue::Text("60 degree cone".to_owned())),
                    asked("stud_protrusion", InterfaceValue::LengthMm(33.0)),
                    asked("stud_thread", InterfaceValue::Thread("M14x1.5".to_owned())),
                ];
            }
            let vehicle = v1_mut(record);
            vehicle.specification.slots.push(made);
            vehicle.fitments.insert(id(&place), fitment("v1", &place, fitted));
        }
    }
    v1_mut(record).specification.tyre_placard = Some(TyrePlacard {
        designation: "LT265/75R16 123Q".parse().unwrap(),
        diameter_mm: None,
        front_kpa: Some(240.0),
        rear_kpa: Some(240.0),
    });
    departure.vehicles[0].tyre_pressures = vec![TyrePressure {
        surfaces: vec![id("gravel"), id("sand")],
        front_kpa: 300.0,
        rear_kpa: 300.0,
        speed_max_km_per_h: 80.0,
        reduced: false,
    }];
    departure.policy.tyres = Some(TyrePolicy {
        load_exponent: Some(0.7),
        diameter_change_max_percent: Some(3.0),
        diameter_difference_max_percent: Some(1.0),
        diameter_difference_emergency_percent: Some(3.0),
        hub_clearance_max_mm: Some(0.5),
        stud_engagement_min_diameters: Some(1.0),
        offset_difference_max_mm: Some(5.0),
    });
    let tent = record.cargo_items.get_mut(&name("cargoItems/tent")).unwrap();
    tent.spare_wheel = Some(SpareWheel {
        wheel_part: Some(name("parts/road-wheel")),
        tyre_part: Some(name("parts/road-tyre")),
    });
}

/// The part in the record.
pub(super) fn part_mut<'a>(record: &'a mut Record, part_id: &str) -> &'a mut Part {
    record.parts.get_mut(&name(&format!("parts/{part_id}"))).unwrap()
}

/// The marking of the fitted tyres.
pub(super) fn marking(record: &mut Record) -> &mut TyreMarking {
    part_mut(record, "road-tyre").tyre.as_mut().unwrap()
}

/// The policy about tyres.
pub(super) fn policy(departure: &mut Departure) -> &mut TyrePolicy {
    departure.policy.tyres.as_mut().unwrap()
}

/// Forgets the value of an interface of a part.
pub(super) fn forget_interface(record: &mut Record, part_id: &str, kind: &str) {
    let part = part_mut(record, part_id);
    part.interfaces.retain(|interface| &*interface.kind != kind);
}

/// Forgets what the hub of every end asks for at an interface.
pub(super) fn forget_hub(record: &mut Record, kind: &str) {
    for slot in &mut v1_mut(record).specification.slots {
        slot.requirements
            .retain(|requirement| &*requirement.interface.kind != kind);
    }
}
