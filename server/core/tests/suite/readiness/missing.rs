//! Taking any one input away never lets a departure go.

use ostler_core::readiness::Verdict;
use ostler_core::record::{
    Comparison, Departure, ElectricalSystem, Fluid, Hand, Interface, InterfaceValue, PowerPlan, Record,
    Requirement, Restraint, SparesPolicy, Suspension, TankMounting, TankPolicy, UndersidePolicy,
};

use super::fixture::{of, ready};
use super::tyre_fixture::{forget_hub, forget_interface, marking, part_mut, policy};
use crate::builder::{id, name, v1_mut};

type Forget = fn(&mut Record, &mut Departure);

const FORGETS: [(&str, Forget); 149] = [
    ("wheelbase", |record, _| {
        v1_mut(record).specification.wheelbase_mm = None
    }),
    ("gross mass", |record, _| {
        v1_mut(record).specification.gross_mass_kg = None;
    }),
    ("front rating", |record, _| {
        v1_mut(record).specification.front_axle_rating_kg = None;
    }),
    ("rear rating", |record, _| {
        v1_mut(record).specification.rear_axle_rating_kg = None;
    }),
    ("roof", |record, _| v1_mut(record).specification.roof = None),
    ("roof limit", |record, _| {
        v1_mut(record).specification.roof.as_mut().unwrap().limit_kg = None;
    }),
    ("rack mass", |record, _| {
        v1_mut(record).specification.roof.as_mut().unwrap().rack_mass_kg = None;
    }),
    ("rack rating", |record, _| {
        v1_mut(record).specification.roof.as_mut().unwrap().rack_rating_kg = None;
    }),
    ("slot position", |record, _| {
        v1_mut(record).specification.slots[0].position = None;
    }),
    ("baseline", |record, _| v1_mut(record).baseline_weighing = None),
    ("weighing", |record, _| record.weighings.clear()),
    ("readings", |record, _| {
        record.weighings.values_mut().next().unwrap().readings = None;
    }),
    ("fitment", |record, _| v1_mut(record).fitments.clear()),
    ("part mass", |record, _| {
        record.parts.get_mut(&name("parts/new-box")).unwrap().mass = None;
    }),
    ("density", |record, _| {
        record.fleet.fluid_densities_kg_per_l.remove(&Fluid::Water);
    }),
    ("fill", |_, departure| {
        departure.vehicles[0].fills.pop();
    }),
    ("seat", |_, departure| departure.crew[0].vehicle = None),
    ("crew mass", |_, departure| departure.crew[0].mass = None),
    ("crew position", |_, departure| departure.crew[0].position = None),
    ("cargo mass", |record, _| {
        record.cargo_items.values_mut().next().unwrap().unit_mass = None;
    }),
    ("cargo zone", |record, _| {
        record.cargo_items.values_mut().next().unwrap().zone = None;
    }),
    ("fact", |record, _| {
        record
            .regulated_items
            .get_mut(&name("regulatedItems/tank"))
            .unwrap()
            .facts
            .remove(&id("bolted"));
    }),
    ("evidence", |record, _| record.evidence.clear()),
    ("proof asked for", |_, departure| {
        departure.policy.proof_requirements.clear()
    }),
    ("proof", |record, _| {
        record.evidence.remove(&name("evidence/drive"));
    }),
    ("date of a proof", |record, _| {
        record
            .evidence
            .get_mut(&name("evidence/drive"))
            .unwrap()
            .issued_date = None;
    }),
    ("fact of a proof", |record, _| {
        let drive = record.evidence.get_mut(&name("evidence/drive")).unwrap();
        drive.facts.remove(&id("distance_km"));
    }),
    ("legs", |_, departure| departure.legs.clear()),
    ("surfaces", |_, departure| departure.legs[1].surface_km.clear()),
    ("planned days", |record, departure| {
        record.cargo_items.values_mut().next().unwrap().consumed = true;
        for leg in &mut departure.legs {
            leg.planned_days = 0.0;
        }
    }),
    ("consumption", |_, departure| {
        departure.vehicles[0].consumption_l_per_100km.clear();
    }),
    ("consumption on one surface", |_, departure| {
        departure.vehicles[0].consumption_l_per_100km.remove(&id("sand"));
    }),
    ("route allowance", |_, departure| {
        departure.policy.route_allowance_factor = None;
    }),
    ("fuel reserve", |_, departure| {
        departure.policy.fuel_reserve = None
    }),
    ("consumption at idle", |_, departure| {
        departure.legs[0].idling_h = 2.0
    }),
    ("water plan", |_, departure| {
        departure.policy.water_plan_l_per_person_day = None;
    }),
    ("heel", |record, _| {
        v1_mut(record).specification.tanks[0].unusable_l = None;
    }),
    ("fuel of the engine", |record, _| {
        v1_mut(record).specification.tanks[0].mounting = TankMounting::Container;
    }),
    ("forward restraint policy", |_, departure| {
        departure.policy.restraint_forward_g = None;
    }),
    ("rearward restraint policy", |_, departure| {
        departure.policy.restraint_rearward_g = None;
    }),
    ("sideways restraint policy", |_, departure| {
        departure.policy.restraint_sideways_g = None;
    }),
    ("upward restraint policy", |_, departure| {
        departure.policy.restraint_up_g = None;
    }),
    ("restraint", |record, _| {
        record.cargo_items.values_mut().next().unwrap().restraint = None;
    }),
    ("forward capacity", |record, _| {
        held(record).capacity_forward_n = None
    }),
    ("rearward capacity", |record, _| {
        held(record).capacity_rearward_n = None
    }),
    ("sideways capacity", |record, _| {
        held(record).capacity_sideways_n = None
    }),
    ("upward capacity", |record, _| {
        held(record).capacity_upward_n = None
    }),
    ("restraint of a container", |record, _| {
        v1_mut(record).specification.tanks[1].mounting = TankMounting::Container;
    }),
    ("hand", |record, _| {
        let mut slot = crate::builder::slot("mirror.left", 500.0);
        slot.requirements = vec![Requirement {
            interface: Interface {
                kind: id("hand"),
                value: Some(InterfaceValue::Hand(Hand::Left)),
            },
            comparison: Comparison::Equal,
            tolerance: 0.0,
            essential: None,
        }];
        v1_mut(record).specification.slots.push(slot);
    }),
    ("suspension", |record, _| {
        v1_mut(record).specification.suspension = None
    }),
    ("spring", |record, _| {
        v1_mut(record).fitments.remove(&id("spring.rear.left"));
    }),
    ("spring on record", |record, _| {
        record.parts.remove(&name("parts/coil"));
    }),
    ("rate_n_per_mm", |record, _| {
        let coil = record.parts.get_mut(&name("parts/coil")).unwrap();
        coil.figures.remove(&id("rate_n_per_mm"));
    }),
    ("free_length_mm", |record, _| {
        let coil = record.parts.get_mut(&name("parts/coil")).unwrap();
        coil.figures.remove(&id("free_length_mm"));
    }),
    ("front track", |record, _| {
        v1_mut(record).specification.front_track_mm = None;
    }),
    ("bare centre", |record, _| {
        suspension(record).bare_centre_y_mm = None;
    }),
    ("arch width", |record, _| {
        suspension(record).arch_width_mm = None;
    }),
    ("spring_spacing_mm", |record, _| {
        suspension(record).rear.spring_spacing_mm = None;
    }),
    ("motion_ratio", |record, _| {
        suspension(record).rear.motion_ratio = None;
    }),
    ("anti_roll_bar_nm_per_rad", |record, _| {
        suspension(record).rear.anti_roll_bar_nm_per_rad = None;
    }),
    ("spring_length_mm", |record, _| {
        suspension(record).rear.spring_length_mm = None;
    }),
    ("unsprung_mass_kg", |record, _| {
        suspension(record).rear.unsprung_mass_kg = None;
    }),
    ("loaded_radius_mm", |record, _| {
        suspension(record).rear.loaded_radius_mm = None;
    }),
    ("bump_travel_mm", |record, _| {
        suspension(record).rear.bump_travel_mm = None;
    }),
    ("lean_max_mm", |_, departure| {
        departure.policy.lean_max_mm = None;
    }),
    ("rake_change_max_mm", |_, departure| {
        departure.policy.rake_change_max_mm = None;
    }),
    ("bump_travel_min_mm", |_, departure| {
        departure.policy.bump_travel_min_mm = None;
    }),
    ("cross_weight_deviation_max", |_, departure| {
        departure.policy.cross_weight_deviation_max = None;
    }),
    ("underside policy", |_, departure| {
        departure.policy.underside = None
    }),
    ("clearance_min_mm", |_, departure| {
        underside(departure).clearance_min_mm = None;
    }),
    ("approach_min_deg", |_, departure| {
        underside(departure).approach_min_deg = None;
    }),
    ("departure_min_deg", |_, departure| {
        underside(departure).departure_min_deg = None;
    }),
    ("breakover_min_deg", |_, departure| {
        underside(departure).breakover_min_deg = None;
    }),
    ("points of the underside", |record, _| {
        suspension(record).underside.clear();
    }),
    ("point before the front axle", |record, _| {
        suspension(record)
            .underside
            .retain(|point| point.place.x_mm > 0.0);
    }),
    ("point between the axles", |record, _| {
        suspension(record)
            .underside
            .retain(|point| !(0.0..3_000.0).contains(&point.place.x_mm));
    }),
    ("point behind the rear axle", |record, _| {
        suspension(record)
            .underside
            .retain(|point| point.place.x_mm < 3_000.0);
    }),
    ("stability factor asked for", |_, departure| {
        departure.policy.static_stability_factor_min = None;
    }),
    ("height of the centre of mass", |record, _| {
        v1_mut(record).specification.centre_height = None;
    }),
    ("rear track", |record, _| {
        v1_mut(record).specification.rear_track_mm = None;
    }),
    ("height of a tank", |record, _| {
        v1_mut(record).specification.tanks[1].position.z_mm = None;
    }),
    ("height of a seat", |_, departure| {
        departure.crew[0].position.as_mut().unwrap().z_mm = None;
    }),
    ("height of a zone", |record, _| {
        for zone in &mut v1_mut(record).specification.zones {
            zone.position.as_mut().unwrap().z_mm = None;
        }
    }),
    ("tank policy", |_, departure| departure.policy.tanks = None),
    ("fill temperature", |_, departure| {
        tanks(departure).fill_temperature_c = None;
    }),
    ("hottest temperature", |_, departure| {
        tanks(departure).hottest_temperature_c = None;
    }),
    ("density of fuel", |record, _| {
        record.fleet.fluid_densities_kg_per_l.remove(&Fluid::Diesel);
    }),
    ("fill of the fuel tank", |_, departure| {
        departure.vehicles[0].fills.remove(0);
    }),
    ("inside of the fuel tank", |record, _| {
        v1_mut(record).specification.tanks[0].build.inside = None;
    }),
    ("inside of the water tank", |record, _| {
        v1_mut(record).specification.tanks[1].build.inside = None;
    }),
    ("pump", |record, _| {
        v1_mut(record).specification.tanks[0].build.pump = None;
    }),
    ("walls", |record, _| {
        v1_mut(record).specification.tanks[0].build.walls = None;
    }),
    ("yield strength", |record, _| {
        let build = &mut v1_mut(record).specification.tanks[0].build;
        build.walls.as_mut().unwrap().yield_mpa = None;
    }),
    ("brimful volume", |record, departure| {
        tanks(departure).pump_flow = false;
        tanks(departure).free_surface_rise_max_mm = None;
        v1_mut(record).specification.tanks[0].build.inside = None;
    }),
    ("tyre", |record, _| {
        v1_mut(record).fitments.remove(&id("tyre.rear.left"));
    }),
    ("wheel", |record, _| {
        v1_mut(record).fitments.remove(&id("wheel.front.right"));
    }),
    ("marking", |record, _| part_mut(record, "road-tyre").tyre = None),
    ("service description", |record, _| {
        marking(record).designation = "LT265/75R16 TL".parse().unwrap();
    }),
    ("tube mark", |record, _| {
        marking(record).designation = "LT265/75R16 123/120Q".parse().unwrap();
    }),
    ("rated pressure", |record, _| {
        marking(record).rated_pressure_kpa = None;
    }),
    ("tube", |record, _| marking(record).tube = None),
    ("rim diameter", |record, _| {
        part_mut(record, "road-wheel").figures.clear()
    }),
    ("airtight rim", |record, _| {
        part_mut(record, "road-wheel").wheel = None
    }),
    ("nut seat of the wheel", |record, _| {
        forget_interface(record, "road-wheel", "nut_seat");
    }),
    ("nave thickness", |record, _| {
        forget_interface(record, "road-wheel", "nave_thickness");
    }),
    ("bore of the wheel", |record, _| {
        forget_interface(record, "road-wheel", "hub_bore");
    }),
    ("bolt circle of the wheel", |record, _| {
        forget_interface(record, "road-wheel", "wheel_bolt_circle");
    }),
    ("thread of the wheel", |record, _| {
        forget_interface(record, "road-wheel", "stud_thread");
    }),
    ("nut seat of the hub", |record, _| forget_hub(record, "nut_seat")),
    ("stud protrusion", |record, _| {
        forget_hub(record, "stud_protrusion")
    }),
    ("stud thread", |record, _| forget_hub(record, "stud_thread")),
    ("hub bore", |record, _| forget_hub(record, "hub_bore")),
    ("bolt circle", |record, _| forget_hub(record, "wheel_bolt_circle")),
    ("placard", |record, _| {
        v1_mut(record).specification.tyre_placard = None
    }),
    ("diameter of the placard", |record, _| {
        let placard = v1_mut(record).specification.tyre_placard.as_mut().unwrap();
        placard.designation = "7.50R16".parse().unwrap();
    }),
    ("planned pressures", |_, departure| {
        departure.vehicles[0].tyre_pressures.clear()
    }),
    ("pressure on one surface", |_, departure| {
        departure.vehicles[0].tyre_pressures[0].surfaces.pop();
    }),
    ("tyre policy", |_, departure| departure.policy.tyres = None),
    ("load exponent", |_, departure| {
        policy(departure).load_exponent = None;
    }),
    ("diameter change", |_, departure| {
        policy(departure).diameter_change_max_percent = None;
    }),
    ("alike diameters", |_, departure| {
        policy(departure).diameter_difference_max_percent = None;
    }),
    ("emergency diameters", |_, departure| {
        policy(departure).diameter_difference_emergency_percent = None;
    }),
    ("hub clearance", |_, departure| {
        policy(departure).hub_clearance_max_mm = None;
    }),
    ("stud engagement", |_, departure| {
        policy(departure).stud_engagement_min_diameters = None;
    }),
    ("offset policy", |_, departure| {
        policy(departure).offset_difference_max_mm = None;
    }),
    ("spare", |record, _| {
        let tent = record.cargo_items.get_mut(&name("cargoItems/tent")).unwrap();
        tent.spare_wheel = None;
    }),
    ("pack named", |_, departure| departure.rule_packs.clear()),
    ("pack", |record, _| record.rule_packs.clear()),
    ("jobs", |record, _| record.jobs.clear()),
    ("electrical system", |record, _| {
        v1_mut(record).specification.electrical = None;
    }),
    ("battery bank", |record, _| {
        electrical(record).bank = None;
    }),
    ("battery health", |record, _| {
        electrical(record).bank.as_mut().unwrap().bank.health_share = None;
    }),
    ("battery derating", |record, _| {
        electrical(record)
            .bank
            .as_mut()
            .unwrap()
            .bank
            .chemistry
            .derating
            .clear();
    }),
    ("devices", |record, _| {
        electrical(record).devices.clear();
    }),
    ("draw of a device", |record, _| {
        electrical(record).devices[0].draw = None;
    }),
    ("ampacity", |record, _| {
        electrical(record).circuits[0].ampacity_a = None;
    }),
    ("fuse", |record, _| {
        electrical(record).circuits[0].fuse_a = None;
    }),
    ("power plan", |_, departure| {
        departure.vehicles[0].power_plan = None;
    }),
    ("duties", |_, departure| {
        power_plan(departure).duties.clear();
    }),
    ("engine hours", |_, departure| {
        power_plan(departure).engine_h_per_day = None;
    }),
    ("hours of sun", |_, departure| {
        power_plan(departure).peak_sun_h_per_day = None;
    }),
    ("battery temperature", |_, departure| {
        power_plan(departure).battery_temperature_c = None;
    }),
    ("autonomy asked for", |_, departure| {
        departure.policy.power_autonomy_min_days = None;
    }),
    ("spares policy", |_, departure| departure.policy.spares = None),
    ("spares asked about", |_, departure| {
        spares(departure).needs.clear()
    }),
    ("cover asked for", |_, departure| {
        spares(departure).cover_min = None
    }),
    ("demand of a part", |record, _| {
        part_mut(record, "new-box").spare_demand = None;
    }),
    ("a part of the kind asked about", |_, departure| {
        spares(departure).needs[0].slot_kind = id("clutch");
    }),
    ("what a spare is", |record, _| {
        record
            .cargo_items
            .values_mut()
            .for_each(|item| item.spares.clear());
    }),
];

fn spares(departure: &mut Departure) -> &mut SparesPolicy {
    departure.policy.spares.as_mut().unwrap()
}

fn underside(departure: &mut Departure) -> &mut UndersidePolicy {
    departure.policy.underside.as_mut().unwrap()
}

fn tanks(departure: &mut Departure) -> &mut TankPolicy {
    departure.policy.tanks.as_mut().unwrap()
}

/// How the first cargo item is held.
fn held(record: &mut Record) -> &mut Restraint {
    let item = record.cargo_items.values_mut().next().unwrap();
    item.restraint.as_mut().unwrap()
}

fn electrical(record: &mut Record) -> &mut ElectricalSystem {
    v1_mut(record).specification.electrical.as_mut().unwrap()
}

fn power_plan(departure: &mut Departure) -> &mut PowerPlan {
    departure.vehicles[0].power_plan.as_mut().unwrap()
}

fn suspension(record: &mut Record) -> &mut Suspension {
    v1_mut(record).specification.suspension.as_mut().unwrap()
}

#[test]
fn taking_any_input_away_never_lets_a_departure_go() {
    let (record, departure) = ready();
    assert_eq!(of(&record, &departure).verdict, Verdict::Go);
    for (what, forget) in FORGETS {
        let (mut record, mut departure) = ready();
        forget(&mut record, &mut departure);
        let readiness = of(&record, &departure);
        assert_eq!(readiness.verdict, Verdict::NoGo, "{what}");
        let said = readiness
            .vehicles
            .iter()
            .flat_map(|vehicle| &vehicle.gates)
            .chain(&readiness.gates)
            .flat_map(|gate| &gate.findings)
            .any(|finding| !finding.missing.is_empty() || !finding.remedy.is_empty());
        assert!(said, "{what} is not named");
    }
}
