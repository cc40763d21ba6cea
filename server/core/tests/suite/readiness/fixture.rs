//! A record and a departure that are ready to go, for tests to spoil.

use std::collections::BTreeMap;

use ostler_core::answer::Answer;
use ostler_core::plan::outlook::PlanOutlook;
use ostler_core::plan::search::Unwatched;
use ostler_core::plan::shop::stated;
use ostler_core::readiness::{Finding, Gate, Readiness, assess};
use ostler_core::record::{
    AxleSuspension, Comparison, Defect, Demand, DemandKind, Departure, Disposition, Evidence, EvidenceKind,
    EvidenceResult, Fact, FactCondition, FactDeclaration, FactTest, FactType, Interface, InterfaceValue,
    Name, ProofRequirement, Record, RegulatedItem, Replacement, Requirement, RuleCategory, RuleGate,
    RulePack, RuleSource, RuleTopic, Severity, Substitution, SubstitutionLife, SubstitutionState, Suspension,
    SuspensionKind, TankBuild, TankInside, TankPolicy, TankWalls,
};
use ostler_core::tanks::{Baffle, Cell, CellChain, Draw, Hole, Shape};

use crate::builder::{add_way, date, departure, fitment, held_by, id, name, part, record, slot, v1_mut};

/// A vehicle within its limits, a carried tank that needs nothing, and an inspection in date.
pub(super) fn ready() -> (Record, Departure) {
    let mut record = record();
    let mut departure = departure();
    add_way(&mut departure);
    departure.policy.restraint_forward_g = Some(0.8);
    departure.policy.restraint_rearward_g = Some(0.5);
    departure.policy.restraint_sideways_g = Some(0.5);
    departure.policy.restraint_up_g = Some(0.2);
    suspend(&mut record, &mut departure);
    give_room(&mut record, &mut departure);
    super::power::wire(&mut record, &mut departure);
    super::tyre_fixture::shoe(&mut record, &mut departure);
    super::spares::stock(&mut record, &mut departure);
    super::stability::raise(&mut record, &mut departure);
    for item in record.cargo_items.values_mut() {
        item.restraint = Some(held_by(1_000.0));
    }
    let pack = pack("first", "2027-01-01");
    departure.rule_packs.push(pack.name.clone());
    record.rule_packs.insert(pack.name.clone(), pack);
    let tank = item("tank", "fuel-tank", Some("v1"), [("bolted", Fact::YesNo(false))]);
    let inspection = item("inspection", "inspection", Some("v1"), []);
    for item in [tank, inspection] {
        record.regulated_items.insert(item.name.clone(), item);
    }
    let paper = evidence("paper", "inspection-paper", Some("v1"), Some("2027-12-31"));
    record.evidence.insert(paper.name.clone(), paper);
    departure.policy.proof_requirements = vec![shakedown()];
    let mut drive = evidence("drive", "shakedown", Some("v1"), None);
    drive.issued_date = Some(date("2027-04-20"));
    drive.facts = BTreeMap::from([
        (id("loaded"), Fact::YesNo(true)),
        (id("distance_km"), Fact::Number(300.0)),
    ]);
    record.evidence.insert(drive.name.clone(), drive);
    let done = crate::plan::shop::done_job("preparation");
    record.jobs.insert(done.name.clone(), done);
    (record, departure)
}

/// A loaded drive of 250 km in all, ten days before the departure.
pub(super) fn shakedown() -> ProofRequirement {
    let condition = |fact, test| FactCondition { fact: id(fact), test };
    ProofRequirement {
        topic: id("shakedown"),
        vehicles: Vec::new(),
        conditions: vec![
            condition("loaded", FactTest::IsYes),
            condition("distance_km", FactTest::TotalAtLeast(250.0)),
        ],
        days_before_departure: Some(10),
    }
}

/// Gives the fuel tank, a box of two cells that hold 110 l, room to expand, holes that pass far more than its pump draws,
/// and walls, and asks for all of them. 84 l are in it at departure, 100 l where it is filled up.
pub(super) fn give_room(record: &mut Record, departure: &mut Departure) {
    let specification = &mut v1_mut(record).specification;
    let box_of = |length_mm, height_mm| Shape::RectangularPrism {
        length_mm,
        width_mm: 500.0,
        height_mm,
    };
    let cell = Cell {
        length_mm: 400.0,
        width_mm: 500.0,
        is_vented: true,
    };
    let hole = Hole {
        height_mm: 2.0,
        diameter_mm: 4.0,
        count: 100,
        discharge_coefficient: 0.6,
    };
    specification.tanks[0].build = TankBuild {
        brimful_l: None,
        inside: Some(TankInside {
            shape: box_of(800.0, 275.0),
            count: 1,
            chain: Some(CellChain {
                height_mm: 275.0,
                cells: vec![cell; 2],
                baffles: vec![Baffle { holes: vec![hole] }],
            }),
            lengthwise_walls: Vec::new(),
        }),
        pump: Some(Draw {
            cell: 0,
            rate_l_per_min: 1.5,
            pickup_height_mm: 4.5,
        }),
        walls: Some(TankWalls {
            thickness_mm: 3.0,
            modulus_gpa: 200.0,
            yield_mpa: Some(200.0),
            bays_mm: vec![(200.0, 200.0)],
        }),
    };
    specification.tanks[1].build.inside = Some(TankInside {
        shape: box_of(400.0, 320.0),
        count: 1,
        chain: None,
        lengthwise_walls: Vec::new(),
    });
    departure.policy.tanks = Some(TankPolicy {
        fill_temperature_c: Some(15.0),
        hottest_temperature_c: Some(50.0),
        fill_share_max: None,
        pump_flow: true,
        leak_test_kpa: Some(20.0),
        yield_share_max: Some(0.9),
        free_surface_rise_max_mm: Some(10.0),
    });
}

/// Puts the vehicle on equal springs that carry it level when bare, and asks for what it then keeps.
fn suspend(record: &mut Record, departure: &mut Departure) {
    let axle = |unsprung_mass_kg, spring_length_mm| AxleSuspension {
        kind: SuspensionKind::Beam,
        spring_spacing_mm: Some(1_000.0),
        motion_ratio: Some(1.0),
        installation_angle_deg: None,
        anti_roll_bar_nm_per_rad: Some(0.0),
        spring_length_mm: Some(spring_length_mm),
        unsprung_mass_kg: Some(unsprung_mass_kg),
        loaded_radius_mm: Some(390.0),
        arch_height_mm: Some(900.0),
        bump_travel_mm: Some(100.0),
        bump_stop_rate_n_per_mm: Some(200.0),
        droop_travel_mm: Some(100.0),
    };
    v1_mut(record).specification.suspension = Some(Suspension {
        front: axle(250.0, 300.0),
        rear: axle(250.0, 300.0),
        bare_centre_y_mm: Some(0.0),
        arch_width_mm: Some(1_600.0),
        sprung_centre_z_mm: None,
        roll_axis_z_mm: None,
        underside: super::underside::points(),
    });
    let mut spring = part("coil", None);
    spring.kind = id("spring");
    spring.figures = BTreeMap::from([(id("rate_n_per_mm"), 50.0), (id("free_length_mm"), 400.0)]);
    record.parts.insert(spring.name.clone(), spring);
    for wheel in ["front.left", "front.right", "rear.left", "rear.right"] {
        let place = format!("spring.{wheel}");
        let mut place_slot = slot(&place, 0.0);
        place_slot.kind = id("spring");
        v1_mut(record).specification.slots.push(place_slot);
        v1_mut(record)
            .fitments
            .insert(id(&place), fitment("v1", &place, "coil"));
    }
    let policy = &mut departure.policy;
    policy.lean_max_mm = Some(30.0);
    policy.rake_change_max_mm = Some(100.0);
    policy.bump_travel_min_mm = Some(20.0);
    policy.cross_weight_deviation_max = Some(0.05);
    policy.underside = Some(super::underside::asked());
}

pub(super) fn category(category: &str, when: &str, demands: Vec<Demand>) -> RuleCategory {
    RuleCategory {
        id: id(category),
        display_name: category.to_owned(),
        when: when.to_owned(),
        demands,
        source: RuleSource {
            text: "made up".to_owned(),
            seen: "made up".to_owned(),
        },
    }
}

fn demand(demand: &str) -> Demand {
    Demand {
        id: id(demand),
        display_name: demand.to_owned(),
        kind: DemandKind::Evidence,
        carried: false,
        max_age_days: None,
        valid_until_return: false,
    }
}

/// A bolted tank needs a certificate, a carried one nothing; every vehicle needs an inspection.
pub(super) fn pack(pack: &str, effective_date: &str) -> RulePack {
    RulePack {
        name: name(&format!("rulePacks/{pack}")),
        display_name: pack.to_owned(),
        jurisdiction: "made up".to_owned(),
        version: "1".to_owned(),
        effective_date: date(effective_date),
        facts: vec![FactDeclaration {
            id: id("bolted"),
            fact_type: FactType::YesNo,
            question: "Is it bolted in?".to_owned(),
            from_record: None,
        }],
        topics: vec![
            RuleTopic {
                id: id("fuel-tank"),
                display_name: "Fuel tanks".to_owned(),
                gate: RuleGate::Rules,
                categories: vec![
                    category("container", "!bolted", Vec::new()),
                    category("fixed", "bolted", vec![demand("tank-certificate")]),
                ],
            },
            RuleTopic {
                id: id("inspection"),
                display_name: "Inspection".to_owned(),
                gate: RuleGate::Papers,
                categories: vec![category("any", "true", vec![demand("inspection-paper")])],
            },
        ],
        caution: String::new(),
    }
}

pub(super) fn item<const COUNT: usize>(
    item: &str,
    topic: &str,
    vehicle: Option<&str>,
    facts: [(&str, Fact); COUNT],
) -> RegulatedItem {
    RegulatedItem {
        name: name(&format!("regulatedItems/{item}")),
        display_name: item.to_owned(),
        vehicle: vehicle.map(|vehicle| name(&format!("vehicles/{vehicle}"))),
        topic: id(topic),
        facts: facts.into_iter().map(|(fact, value)| (id(fact), value)).collect(),
        slots: Vec::new(),
        note: String::new(),
    }
}

pub(super) fn evidence(
    evidence: &str,
    topic: &str,
    vehicle: Option<&str>,
    valid_until: Option<&str>,
) -> Evidence {
    Evidence {
        name: name(&format!("evidence/{evidence}")),
        display_name: evidence.to_owned(),
        kind: EvidenceKind::Certificate,
        vehicle: vehicle.map(|vehicle| name(&format!("vehicles/{vehicle}"))),
        topic: id(topic),
        regulated_items: Vec::new(),
        result: EvidenceResult::Passed,
        reference: String::new(),
        issued_date: Some(date("2027-03-01")),
        valid_until_date: valid_until.map(date),
        facts: BTreeMap::new(),
        carried: true,
        note: String::new(),
    }
}

pub(super) fn defect(severity: Severity, disposition: Disposition) -> Defect {
    Defect {
        name: name("defects/d1"),
        vehicle: name("vehicles/v1"),
        description: "oil on the hub".to_owned(),
        severity,
        disposition,
        found_date: None,
        related: Vec::new(),
        caused_by: Vec::new(),
        proposal: "new seal".to_owned(),
        measurements: BTreeMap::new(),
    }
}

fn spline(count: i64) -> Interface {
    Interface {
        kind: id("input_spline"),
        value: Some(InterfaceValue::Count(count)),
    }
}

/// Makes slot `pump` ask for an input spline of 24 teeth and proposes a part with `offered` teeth for it.
pub(super) fn propose(record: &mut Record, offered: Option<i64>, state: SubstitutionState) -> Name {
    let mut slot = crate::builder::slot("pump", 900.0);
    // A kind without a checklist: only the spline is asked about.
    slot.kind = id("test-slot");
    slot.requirements = vec![Requirement {
        interface: spline(24),
        comparison: Comparison::Equal,
        tolerance: 0.0,
        essential: Some(true),
    }];
    v1_mut(record).specification.slots.push(slot);
    let mut part = crate::builder::part("pump-b", None);
    part.kind = id("test-slot");
    part.interfaces = vec![Interface {
        kind: id("input_spline"),
        value: offered.map(InterfaceValue::Count),
    }];
    let substitution = Substitution {
        name: name("substitutions/s1"),
        vehicle: name("vehicles/v1"),
        replacements: vec![Replacement {
            slot: id("pump"),
            outgoing_part: None,
            incoming_part: part.name.clone(),
        }],
        reason: String::new(),
        state,
        fitted_date: None,
        settlements: Vec::new(),
        supersedes: None,
        note: String::new(),
        life: SubstitutionLife::default(),
    };
    record.parts.insert(part.name.clone(), part);
    let name = substitution.name.clone();
    record.substitutions.insert(name.clone(), substitution);
    name
}

/// The outlook of a departure's plan on the day its inputs speak of.
pub(super) fn outlook(record: &Record, departure: &Departure) -> PlanOutlook {
    PlanOutlook::of(stated(record, departure, date("2027-03-29")), &Unwatched)
}

pub(super) fn of(record: &Record, departure: &Departure) -> Readiness {
    assess(record, departure, None, &outlook(record, departure))
}

/// A gate of the first vehicle.
pub(super) fn gate(readiness: &Readiness, gate: &str) -> Gate {
    readiness.vehicles[0]
        .gates
        .iter()
        .find(|found| found.id == gate)
        .unwrap()
        .clone()
}

/// The worst finding of a gate of the first vehicle.
pub(super) fn worst(readiness: &Readiness, id: &str) -> Finding {
    gate(readiness, id).findings[0].clone()
}

/// The answer of a gate of the first vehicle.
pub(super) fn answer(readiness: &Readiness, id: &str) -> Answer {
    gate(readiness, id).answer
}
