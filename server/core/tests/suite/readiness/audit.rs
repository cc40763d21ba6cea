//! The audit of gates: every gate that readiness asks, brought to each of its four answers.
//!
//! The gates are those of the readiness itself, so that a new one fails here until it has its row. Where a gate cannot give an
//! answer by its nature, its row says why.

use std::collections::BTreeSet;

use ostler_core::answer::Answer;
use ostler_core::loads::compute;
use ostler_core::readiness::Readiness;
use ostler_core::record::{
    Departure, Disposition, Fact, FactTest, Hand, Progress, Record, RestraintStandard, Severity,
    SubstitutionState, WaterLossRule,
};

use super::fixture::{defect, evidence, item, of, propose, ready};
use super::fuel::{add_second, fill_main};
use super::restraint::{forward, hold};
use super::{spares, stance};
use crate::builder::{date, fill, name, v1, v1_mut};
use crate::plan::shop::shop;

type Bring = fn(&mut Record, &mut Departure);

/// How a gate comes to an answer.
enum Way {
    /// The record it starts from, changed like this.
    By(Bring),
    /// It never does, because of this.
    Never(&'static str),
}

/// A gate with its ways to met, met with conditions, not met and not known.
struct Row {
    gate: &'static str,
    /// The gate of the convoy, not of a vehicle.
    convoy: bool,
    start: fn() -> (Record, Departure),
    ways: [Way; 4],
}

const ANSWERS: [Answer; 4] = [
    Answer::Met,
    Answer::MetWithConditions,
    Answer::NotMet,
    Answer::NotKnown,
];

fn as_it_is(_: &mut Record, _: &mut Departure) {}

/// From the record that is ready, which meets every gate.
fn row(gate: &'static str, conditions: Way, not_met: Way, not_known: Way) -> Row {
    Row {
        gate,
        convoy: false,
        start: ready,
        ways: [Way::By(as_it_is), conditions, not_met, not_known],
    }
}

fn of_convoy(row: Row) -> Row {
    Row { convoy: true, ..row }
}

/// From the workshop of three open jobs.
fn of_shop(gate: &'static str, ways: [Way; 4]) -> Row {
    Row {
        gate,
        convoy: false,
        start: shop,
        ways,
    }
}

/// An answer of `gate`, of the convoy or of the vehicle `v1`.
fn answer_of(readiness: &Readiness, gate: &str, convoy: bool) -> Answer {
    let own = || {
        let vehicle = readiness
            .vehicles
            .iter()
            .find(|own| own.vehicle == name("vehicles/v1"));
        &vehicle.unwrap().gates
    };
    let gates = if convoy { &readiness.gates } else { own() };
    gates.iter().find(|found| found.id == gate).unwrap().answer
}

fn rows() -> Vec<Row> {
    let groups = [work(), loads(), handling(), supplies(), rules()];
    groups.into_iter().flatten().collect()
}

#[test]
fn every_gate_gives_each_of_the_four_answers_or_says_why_not() {
    let rows: Vec<Row> = rows();
    let (record, departure) = ready();
    let readiness = of(&record, &departure);
    let ids = |gates: &[ostler_core::readiness::Gate]| -> BTreeSet<&'static str> {
        gates.iter().map(|gate| gate.id).collect()
    };
    let listed = |convoy: bool| -> BTreeSet<&'static str> {
        let own = rows.iter().filter(|row| row.convoy == convoy);
        own.map(|row| row.gate).collect()
    };
    assert_eq!(
        listed(false),
        ids(&readiness.vehicles[0].gates),
        "gates of a vehicle"
    );
    assert_eq!(listed(true), ids(&readiness.gates), "gates of the convoy");
    let mut never = 0;
    for Row {
        gate,
        convoy,
        start,
        ways,
    } in rows
    {
        for (expected, way) in ANSWERS.into_iter().zip(ways) {
            match way {
                Way::By(bring) => {
                    let (mut record, mut departure) = start();
                    bring(&mut record, &mut departure);
                    let found = answer_of(&of(&record, &departure), gate, convoy);
                    assert_eq!(found, expected, "{gate}, of the convoy: {convoy}");
                }
                Way::Never(reason) => {
                    assert!(reason.len() > 20 && expected != Answer::Met, "{gate}");
                    never += 1;
                }
            }
        }
    }
    assert_eq!(never, 2, "answers that some gate never gives");
}

/// Margins within any share of a limit are in doubt.
fn doubt_everything(_: &mut Record, departure: &mut Departure) {
    departure.policy.margin_warn_fraction = Some(1.0);
}

fn work() -> Vec<Row> {
    use Way::{By, Never};
    let late: Bring = |_, departure| departure.departure_date = date("2027-04-04");
    vec![
        of_shop(
            "jobs",
            [
                By(|record, _| {
                    for job in record.jobs.values_mut() {
                        job.progress = Progress::Done {
                            done_date: None,
                            actual_hours: None,
                        };
                    }
                }),
                By(as_it_is),
                By(late),
                By(|record, _| record.jobs.clear()),
            ],
        ),
        of_shop(
            "schedule",
            [
                By(as_it_is),
                By(|record, _| {
                    let bolts = record.awaited_parts.get_mut(&name("awaitedParts/bolts"));
                    bolts.unwrap().ordered_date = None;
                }),
                By(late),
                By(|_, departure| departure.policy.ready_chance_min = None),
            ],
        ),
        row(
            "substitutions",
            By(|record, _| drop(propose(record, Some(24), SubstitutionState::Proposed))),
            By(|record, _| drop(propose(record, Some(21), SubstitutionState::Proposed))),
            By(|record, _| {
                propose(record, Some(24), SubstitutionState::Fitted);
                record.parts.retain(|part, _| part.id() != "pump-b");
            }),
        ),
        row(
            "defects",
            By(|record, _| spoil(record, Severity::Minor)),
            By(|record, _| spoil(record, Severity::Grounding)),
            Never("a defect has a severity and a disposition or is not on record at all"),
        ),
        row(
            "proof",
            By(|record, departure| {
                let drive = record.evidence.get_mut(&name("evidence/drive")).unwrap();
                drive.valid_until_date = Some(departure.departure_date);
            }),
            By(|_, departure| {
                let distance = &mut departure.policy.proof_requirements[0].conditions[1];
                distance.test = FactTest::TotalAtLeast(301.0);
            }),
            By(|_, departure| departure.policy.proof_requirements.clear()),
        ),
    ]
}

fn spoil(record: &mut Record, severity: Severity) {
    let defect = defect(severity, Disposition::Open);
    record.defects.insert(defect.name.clone(), defect);
}

fn loads() -> Vec<Row> {
    use Way::By;
    vec![
        row(
            "masses",
            By(|record, departure| {
                let total_kg = compute(record, departure, v1(record)).total.load_kg;
                v1_mut(record).specification.gross_mass_kg = Some(total_kg + 5.0);
            }),
            By(|record, _| v1_mut(record).specification.zones[1].limit_kg = Some(79.0)),
            By(|record, _| v1_mut(record).specification.gross_mass_kg = None),
        ),
        row(
            "axles",
            By(|record, departure| {
                let rear = compute(record, departure, v1(record)).rear_axle.unwrap();
                v1_mut(record).specification.rear_axle_rating_kg = Some(rear.load_kg + 5.0);
            }),
            By(|record, departure| {
                let rear = compute(record, departure, v1(record)).rear_axle.unwrap();
                v1_mut(record).specification.rear_axle_rating_kg = Some(rear.load_kg - 50.0);
            }),
            By(|record, _| v1_mut(record).specification.front_axle_rating_kg = None),
        ),
        row(
            "restraint",
            By(|_, departure| {
                departure.policy.restraint_standard = Some(RestraintStandard::En12195Part1Of2010);
            }),
            By(|record, _| hold(record, "crate", forward(Some(600.0)))),
            By(|record, _| hold(record, "crate", None)),
        ),
    ]
}

/// How it stands and holds the road.
fn handling() -> Vec<Row> {
    use Way::{By, Never};
    vec![
        row(
            "stance",
            Never("a part is on the side it is made for or it is not; nothing lies between"),
            By(|record, _| stance::springs(record, Some(Hand::Right), Some(Hand::Left))),
            By(|record, _| {
                stance::springs(record, Some(Hand::Left), Some(Hand::Right));
                record.parts.remove(&name("parts/spring-left"));
            }),
        ),
        row(
            "wheels",
            By(doubt_everything),
            By(|_, departure| departure.policy.rake_change_max_mm = Some(1e-3)),
            By(|_, departure| departure.policy.lean_max_mm = None),
        ),
        row(
            "underside",
            By(doubt_everything),
            By(|_, departure| {
                departure.policy.underside.as_mut().unwrap().approach_min_deg = Some(60.0);
            }),
            By(|_, departure| departure.policy.underside = None),
        ),
        row(
            "tyres",
            By(|_, departure| departure.vehicles[0].tyre_pressures[0].front_kpa = 235.0),
            By(|_, departure| {
                departure.vehicles[0].tyre_pressures[0].speed_max_km_per_h = 161.0;
            }),
            By(|_, departure| departure.policy.tyres = None),
        ),
        row(
            "stability",
            By(|record, departure| {
                let track_mm = v1(record).specification.front_track_mm.unwrap();
                departure.policy.static_stability_factor_min = Some(track_mm / 1_600.0 * 0.995);
            }),
            By(|_, departure| departure.policy.side_ceiling_min_deg = Some(60.0)),
            By(|record, _| v1_mut(record).specification.centre_height = None),
        ),
    ]
}

fn supplies() -> Vec<Row> {
    use Way::By;
    let fuel = |gate| {
        row(
            gate,
            By(|record, departure| {
                fill_main(departure, 34.0);
                add_second(record, departure, 100.0);
            }),
            By(|_, departure| fill_main(departure, 34.0)),
            By(|_, departure| departure.policy.fuel_reserve = None),
        )
    };
    vec![
        fuel("fuel"),
        of_convoy(fuel("fuel_shared")),
        of_convoy(row(
            "water",
            By(|_, departure| {
                departure.policy.water.as_mut().unwrap().largest_loss = WaterLossRule::Condition;
            }),
            By(|_, departure| departure.vehicles[0].fills[1] = fill("water", 10.0)),
            By(|_, departure| departure.policy.water = None),
        )),
        row(
            "tanks",
            By(|_, departure| {
                let tanks = departure.policy.tanks.as_mut().unwrap();
                tanks.free_surface_rise_max_mm = Some(2.0);
            }),
            By(|_, departure| {
                departure.policy.tanks.as_mut().unwrap().yield_share_max = Some(0.1);
            }),
            By(|_, departure| departure.policy.tanks = None),
        ),
        row(
            "power",
            By(|_, departure| departure.policy.power_autonomy_min_days = Some(2.0)),
            By(|_, departure| departure.policy.power_autonomy_min_days = Some(2.2)),
            By(|record, _| v1_mut(record).specification.electrical = None),
        ),
        of_convoy(row(
            "spares_fit",
            By(|record, _| {
                // A tyre without a rim helps, but has to be fitted first.
                let tent = record.cargo_items.get_mut(&name("cargoItems/tent")).unwrap();
                tent.spare_wheel.as_mut().unwrap().wheel_part = None;
            }),
            By(|record, _| {
                let tent = record.cargo_items.get_mut(&name("cargoItems/tent")).unwrap();
                tent.spare_wheel = None;
            }),
            By(|_, departure| departure.policy.tyres = None),
        )),
        of_convoy(row(
            "spares_cover",
            By(|_, departure| spares::policy(departure).mass_budget_kg = Some(29.9)),
            By(|record, departure| {
                spares::demand(record, 0.5);
                spares::policy(departure).cover_min = Some(0.9099);
            }),
            By(|_, departure| departure.policy.spares = None),
        )),
    ]
}

/// A bolted tank of a vehicle or of the convoy, with its certificate until a day.
fn bolted(record: &mut Record, vehicle: Option<&str>, valid_until: &str) {
    let tank = item("bolted", "fuel-tank", vehicle, [("bolted", Fact::YesNo(true))]);
    record.regulated_items.insert(tank.name.clone(), tank);
    let certificate = evidence("certificate", "tank-certificate", vehicle, Some(valid_until));
    record.evidence.insert(certificate.name.clone(), certificate);
}

/// An inspection of the convoy as a whole, with its paper until a day.
fn inspected(record: &mut Record, valid_until: &str) {
    let permit = item("permit", "inspection", None, []);
    record.regulated_items.insert(permit.name.clone(), permit);
    let paper = evidence("permit", "inspection-paper", None, Some(valid_until));
    record.evidence.insert(paper.name.clone(), paper);
}

/// Makes every paper asked for one that must be carried, and leaves all at home.
fn left_at_home(record: &mut Record) {
    let packs = record.rule_packs.values_mut();
    let categories = packs
        .flat_map(|pack| &mut pack.topics)
        .flat_map(|topic| &mut topic.categories);
    for demand in categories.flat_map(|category| &mut category.demands) {
        demand.carried = true;
    }
    for evidence in record.evidence.values_mut() {
        evidence.carried = false;
    }
}

/// The departure goes on 24 May and is back on 10 June.
fn rules() -> Vec<Row> {
    use Way::By;
    vec![
        row(
            "rules",
            By(|record, _| {
                bolted(record, Some("v1"), "2027-12-31");
                left_at_home(record);
            }),
            By(|record, _| bolted(record, Some("v1"), "2027-05-09")),
            By(|record, _| {
                let tank = record.regulated_items.get_mut(&name("regulatedItems/tank"));
                tank.unwrap().facts.clear();
            }),
        ),
        row(
            "papers",
            By(|record, _| left_at_home(record)),
            By(|record, _| {
                let paper = record.evidence.get_mut(&name("evidence/paper")).unwrap();
                paper.valid_until_date = Some(date("2027-05-09"));
            }),
            By(|record, _| {
                record.rule_packs.values_mut().next().unwrap().effective_date = date("2027-09-01");
            }),
        ),
        of_convoy(row(
            "rules",
            By(|record, _| {
                bolted(record, None, "2027-12-31");
                left_at_home(record);
            }),
            By(|record, _| bolted(record, None, "2027-05-09")),
            By(|_, departure| departure.rule_packs.clear()),
        )),
        of_convoy(row(
            "papers",
            By(|record, _| {
                inspected(record, "2027-12-31");
                left_at_home(record);
            }),
            By(|record, _| inspected(record, "2027-05-09")),
            By(|record, _| {
                inspected(record, "2027-12-31");
                record.rule_packs.values_mut().next().unwrap().effective_date = date("2027-09-01");
            }),
        )),
    ]
}

#[test]
fn a_gate_has_one_row() {
    let rows: Vec<Row> = rows();
    let distinct: BTreeSet<(bool, &str)> = rows.iter().map(|row| (row.convoy, row.gate)).collect();
    assert_eq!(distinct.len(), rows.len());
}
