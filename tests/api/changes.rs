//! Several changes at once: what is asked and what is done come to the same.

use ostler_proto::v1;
use ostler_proto::v1::change::Change as Kind;
use ostler_tests::client::{Client, Refusal, refused};
use ostler_tests::on_both_databases;
use prost_types::FieldMask;
use rand::seq::IndexedRandom as _;
use rand::{RngExt as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;
use tonic::{Code, Status};

use crate::demo::{self, DEPARTURE, FLEET};

/// Sets of changes that are asked for, then made, one after the other.
const SETS: usize = 32;

const VEHICLES: [&str; 4] = ["v1", "v2", "v3", "v4"];

fn change(kind: Kind) -> v1::Change {
    v1::Change { change: Some(kind) }
}

async fn ask(client: &Client, changes: &[v1::Change]) -> Result<v1::AssessChangesResponse, Status> {
    let request = v1::AssessChangesRequest {
        departure: DEPARTURE.into(),
        changes: changes.to_vec(),
    };
    client.ask(request).await
}

async fn make(client: &Client, changes: &[v1::Change]) -> Result<v1::ApplyChangesResponse, Status> {
    let request = v1::ApplyChangesRequest {
        parent: FLEET.into(),
        changes: changes.to_vec(),
        ..Default::default()
    };
    client.ask(request).await
}

fn leave_behind(cargo_item: &str) -> v1::Change {
    change(Kind::DeleteCargoItem(v1::DeleteCargoItemRequest {
        name: demo::name(&format!("cargoItems/{cargo_item}")),
        ..Default::default()
    }))
}

fn move_to(cargo_item: &str, vehicle: &str) -> v1::Change {
    change(Kind::UpdateCargoItem(v1::UpdateCargoItemRequest {
        cargo_item: Some(v1::CargoItem {
            name: demo::name(&format!("cargoItems/{cargo_item}")),
            vehicle: demo::name(&format!("vehicles/{vehicle}")),
            ..Default::default()
        }),
        update_mask: Some(FieldMask {
            paths: ["vehicle", "zone"].map(str::to_owned).to_vec(),
        }),
        ..Default::default()
    }))
}

fn fix(defect: &str) -> v1::Change {
    change(Kind::FixDefect(v1::FixDefectRequest {
        name: demo::name(&format!("defects/{defect}")),
        fix: "put right".into(),
        fixed_date: "2027-04-20".into(),
        ..Default::default()
    }))
}

fn fit(substitution: &str) -> v1::Change {
    change(Kind::FitSubstitution(v1::FitSubstitutionRequest {
        name: demo::name(&format!("substitutions/{substitution}")),
        fitted_date: "2027-04-20".into(),
        ..Default::default()
    }))
}

fn withdraw(substitution: &str) -> v1::Change {
    change(Kind::WithdrawSubstitution(v1::WithdrawSubstitutionRequest {
        name: demo::name(&format!("substitutions/{substitution}")),
        ..Default::default()
    }))
}

fn depart_on(departure_date: &str) -> v1::Change {
    change(Kind::UpdateDeparture(v1::UpdateDepartureRequest {
        departure: Some(v1::Departure {
            name: DEPARTURE.into(),
            departure_date: departure_date.into(),
            ..Default::default()
        }),
        update_mask: Some(FieldMask {
            paths: vec!["departure_date".into()],
        }),
        ..Default::default()
    }))
}

fn removable_tank(yes: bool) -> v1::Change {
    let fact = |yes| v1::Fact {
        value: Some(v1::fact::Value::Yes(yes)),
    };
    let facts = [("removable_without_tools", fact(yes)), ("plumbed", fact(!yes))];
    change(Kind::UpdateRegulatedItem(v1::UpdateRegulatedItemRequest {
        regulated_item: Some(v1::RegulatedItem {
            name: demo::name("regulatedItems/k07"),
            facts: facts.map(|(id, fact)| (id.to_owned(), fact)).into(),
            ..Default::default()
        }),
        update_mask: Some(FieldMask {
            paths: vec!["facts".into()],
        }),
        ..Default::default()
    }))
}

fn substitution_step(random: &mut ChaCha8Rng) -> v1::Change {
    let name = demo::name(&format!("substitutions/s{:02}", random.random_range(1..=10)));
    change(match random.random_range(0..5) {
        0 => Kind::KeepAssessment(v1::KeepAssessmentRequest {
            name,
            ..Default::default()
        }),
        1 => Kind::SettleInterface(v1::SettleInterfaceRequest {
            name,
            settlement: Some(v1::Settlement {
                slot: "alternator".into(),
                interface_kind: "pulley_ribs".into(),
                how: "pulley swapped".into(),
                ..Default::default()
            }),
            ..Default::default()
        }),
        2 => Kind::ApproveSubstitution(v1::ApproveSubstitutionRequest {
            name,
            approved_by: "workshop lead".into(),
            approved_date: "2027-04-19".into(),
            ..Default::default()
        }),
        3 => Kind::ProveSubstitution(v1::ProveSubstitutionRequest {
            name,
            evidence: vec![demo::name("evidence/td1-v1")],
            ..Default::default()
        }),
        _ => Kind::UndoFitting(v1::UndoFittingRequest {
            name,
            undone_date: "2027-04-21".into(),
            ..Default::default()
        }),
    })
}

/// The alternator of v2 through its whole life: settled, assessed, approved, in.
fn whole_life() -> Vec<v1::Change> {
    let name = || demo::name("substitutions/s07");
    let settle = |interface_kind: &str| {
        Kind::SettleInterface(v1::SettleInterfaceRequest {
            name: name(),
            settlement: Some(v1::Settlement {
                slot: "alternator".into(),
                interface_kind: interface_kind.into(),
                how: "done".into(),
                ..Default::default()
            }),
            ..Default::default()
        })
    };
    let keep = Kind::KeepAssessment(v1::KeepAssessmentRequest {
        name: name(),
        ..Default::default()
    });
    let approve = Kind::ApproveSubstitution(v1::ApproveSubstitutionRequest {
        name: name(),
        approved_by: "workshop lead".into(),
        approved_date: "2027-03-31".into(),
        ..Default::default()
    });
    let steps = [settle("pulley_ribs"), settle("connector"), keep, approve];
    steps.map(change).into_iter().chain([fit("s07")]).collect()
}

fn job_step(random: &mut ChaCha8Rng) -> v1::Change {
    let name = demo::name(&format!("jobs/j{:02}", random.random_range(1..=40)));
    change(match random.random_range(0..4) {
        0 => Kind::StartJob(v1::StartJobRequest {
            name,
            started_date: "2027-03-30".into(),
            ..Default::default()
        }),
        1 => Kind::ReportJob(v1::ReportJobRequest {
            name,
            actual_hours: 2.0,
            ..Default::default()
        }),
        2 => Kind::CompleteJob(v1::CompleteJobRequest {
            name,
            done_date: "2027-04-02".into(),
            ..Default::default()
        }),
        _ => Kind::ReopenJob(v1::ReopenJobRequest {
            name,
            ..Default::default()
        }),
    })
}

fn part_arrives(random: &mut ChaCha8Rng) -> v1::Change {
    part_arrived(&format!("pu{}", random.random_range(1..=7)))
}

fn part_arrived(awaited_part: &str) -> v1::Change {
    change(Kind::UpdateAwaitedPart(v1::UpdateAwaitedPartRequest {
        awaited_part: Some(v1::AwaitedPart {
            name: demo::name(&format!("awaitedParts/{awaited_part}")),
            ordered_date: "2027-03-29".into(),
            arrived_date: "2027-04-06".into(),
            ..Default::default()
        }),
        update_mask: Some(FieldMask {
            paths: ["ordered_date", "arrived_date"].map(str::to_owned).to_vec(),
        }),
        ..Default::default()
    }))
}

/// A job that takes longer than was thought.
fn slip(job: &str, by: f64) -> v1::Change {
    change(Kind::UpdateJob(v1::UpdateJobRequest {
        job: Some(v1::Job {
            name: demo::name(&format!("jobs/{job}")),
            work_hours: Some(v1::WorkHours {
                optimistic_hours: by,
                likely_hours: 2.0 * by,
                pessimistic_hours: 4.0 * by,
            }),
            ..Default::default()
        }),
        update_mask: Some(FieldMask {
            paths: vec!["work_hours".into()],
        }),
        ..Default::default()
    }))
}

/// Two things change places between two vehicles.
fn swap(one: (&str, &str), other: (&str, &str)) -> Vec<v1::Change> {
    vec![move_to(one.0, other.1), move_to(other.0, one.1)]
}

/// The vehicles of a departure become these, whatever order it was planned in.
fn go_with(departure: v1::Departure) -> v1::Change {
    change(Kind::UpdateDeparture(v1::UpdateDepartureRequest {
        departure: Some(departure),
        update_mask: Some(FieldMask {
            paths: vec!["vehicles".into(), "crew".into()],
        }),
        ..Default::default()
    }))
}

/// Every tank of every vehicle filled to this share of what it was.
fn refuel(mut departure: v1::Departure, share: f64) -> v1::Change {
    for fill in departure
        .vehicles
        .iter_mut()
        .flat_map(|vehicle| &mut vehicle.fills)
    {
        fill.volume_l *= share;
    }
    go_with(departure)
}

/// A vehicle is left behind; its crew have no seat yet.
fn without(mut departure: v1::Departure, vehicle: &str) -> v1::Change {
    let vehicle = demo::name(&format!("vehicles/{vehicle}"));
    departure.vehicles.retain(|going| going.vehicle != vehicle);
    for member in departure
        .crew
        .iter_mut()
        .filter(|member| member.vehicle == vehicle)
    {
        member.vehicle.clear();
        member.position = None;
    }
    go_with(departure)
}

/// The departure with who goes, as it is now; without an etag, for others change it in between.
async fn going(client: &Client) -> v1::Departure {
    let get = v1::GetDepartureRequest {
        name: DEPARTURE.into(),
    };
    let departure = client.ask::<v1::Departure>(get).await.unwrap();
    v1::Departure {
        name: departure.name,
        vehicles: departure.vehicles,
        crew: departure.crew,
        ..Default::default()
    }
}

/// One set of every sort of change that a lead asks about, by its name; each is made, so that none hides behind refusals.
fn of_every_sort(departure: &v1::Departure) -> Vec<(&'static str, Vec<v1::Change>)> {
    let fill = |share| refuel(departure.clone(), share);
    let arrived = |name: &str| part_arrived(name);
    vec![
        ("substitution fitted", whole_life()),
        (
            "job done",
            vec![job("j02", |name| {
                Kind::CompleteJob(v1::CompleteJobRequest {
                    name,
                    done_date: "2027-04-02".into(),
                    ..Default::default()
                })
            })],
        ),
        ("job slipped", vec![slip("j03", 40.0)]),
        ("part arrived", vec![arrived("pu2")]),
        ("defect fixed", vec![fix("d02")]),
        ("cargo moved", vec![move_to("c031", "v1")]),
        ("cargo dropped", vec![leave_behind("c032")]),
        ("cargo swapped", swap(("c005", "v1"), ("c050", "v2"))),
        ("fuel changed", vec![fill(0.8)]),
        ("fuel and cargo at once", vec![fill(1.0), leave_behind("c033")]),
        ("date moved", vec![depart_on("2027-06-01")]),
        ("facts changed", vec![removable_tank(true)]),
        ("vehicle left behind", vec![without(departure.clone(), "v3")]),
        ("and taken along again", vec![go_with(departure.clone())]),
    ]
}

fn job(id: &str, step: impl Fn(String) -> Kind) -> v1::Change {
    change(step(demo::name(&format!("jobs/{id}"))))
}

/// A change of any sort; some are refused, as they would be when made.
fn some_change(random: &mut ChaCha8Rng, departure: &v1::Departure) -> v1::Change {
    let cargo_item = format!("c{:03}", random.random_range(1..=121));
    let substitution = format!("s{:02}", random.random_range(1..=10));
    match random.random_range(0..18) {
        0 => leave_behind(&cargo_item),
        1 | 2 => move_to(&cargo_item, VEHICLES.choose(random).unwrap()),
        3 => fix(&format!("d{:02}", random.random_range(1..=12))),
        4 => fit(&substitution),
        5 => withdraw(&substitution),
        6 => depart_on(["2027-04-01", "2027-05-24", "2027-06-01"].choose(random).unwrap()),
        7 => removable_tank(random.random_bool(0.5)),
        8 | 9 => substitution_step(random),
        10 | 11 => job_step(random),
        12 | 13 => slip(
            &format!("j{:02}", random.random_range(1..=40)),
            random.random_range(1.0..60.0),
        ),
        14 | 15 => refuel(departure.clone(), random.random_range(0.5..1.0)),
        16 => without(departure.clone(), VEHICLES.choose(random).unwrap()),
        _ => part_arrives(random),
    }
}

/// Every gate by its vehicle, the convoy's under no vehicle.
fn gates(readiness: &v1::Readiness) -> Vec<(String, v1::Gate)> {
    let own = |vehicle: &v1::VehicleReadiness| {
        let name = vehicle.vehicle.clone();
        vehicle
            .gates
            .iter()
            .map(move |gate| (name.clone(), gate.clone()))
            .collect::<Vec<_>>()
    };
    let convoy = readiness.gates.iter().map(|gate| (String::new(), gate.clone()));
    readiness.vehicles.iter().flat_map(own).chain(convoy).collect()
}

/// What the gates of an answer make of those before.
fn foretold(before: &v1::Readiness, answer: &v1::AssessChangesResponse) -> Vec<(String, v1::Gate)> {
    let touched = |vehicle: &str, id: &str| {
        answer
            .gates
            .iter()
            .any(|gate| gate.vehicle == vehicle && gate.gate == id)
    };
    let mut gates: Vec<_> = gates(before)
        .into_iter()
        .filter(|(vehicle, gate)| !touched(vehicle, &gate.id))
        .collect();
    let after = answer.gates.iter().filter_map(|gate| {
        let after = gate.after.clone()?;
        Some((gate.vehicle.clone(), after))
    });
    gates.extend(after);
    gates
}

fn sorted(mut gates: Vec<(String, v1::Gate)>) -> Vec<(String, v1::Gate)> {
    gates.sort_by(|left, right| (&left.0, &left.1.id).cmp(&(&right.0, &right.1.id)));
    gates
}

on_both_databases! {
    async fn asking_what_changes_would_make_equals_making_them(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let mut random = ChaCha8Rng::seed_from_u64(2027);
        let (mut made, mut refusals) = (0, 0);
        let all = going(&admin).await;
        let sorts = of_every_sort(&all);
        for number in 0..sorts.len() + SETS {
            let sort = sorts.get(number);
            let set: Vec<v1::Change> = match sort {
                Some((_, set)) => set.clone(),
                None => {
                    let count = random.random_range(1..=4);
                    let now = going(&admin).await;
                    // Some of the time with every vehicle again.
                    let now = if random.random_bool(0.3) { &all } else { &now };
                    (0..count).map(|_| some_change(&mut random, now)).collect()
                }
            };
            let before = demo::readiness(&admin).await;
            let latest = demo::latest_change(&admin, FLEET).await;
            let asked = ask(&admin, &set).await;
            assert_eq!(demo::latest_change(&admin, FLEET).await, latest, "a question writes nothing");
            let answered = match asked {
                Ok(answer) => answer,
                Err(status) => {
                    assert!(sort.is_none(), "{}: {status}", sort.unwrap().0);
                    let refusal = Refusal::of(&make(&admin, &set).await.unwrap_err());
                    assert_eq!(Refusal::of(&status), refusal);
                    assert_eq!(demo::latest_change(&admin, FLEET).await, latest, "all of them or none");
                    refusals += 1;
                    continue;
                }
            };
            assert_eq!(answered.verdict_before, before.verdict);
            make(&admin, &set).await.unwrap();
            let after = demo::readiness(&admin).await;
            assert_eq!(answered.verdict_after, after.verdict);
            assert_eq!(sorted(foretold(&before, &answered)), sorted(gates(&after)), "{set:#?}");
            made += 1;
            if number == 0 {
                let get = v1::GetSubstitutionRequest { name: demo::name("substitutions/s07") };
                let fitted: v1::Substitution = admin.ask(get).await.unwrap();
                assert_eq!(fitted.state(), v1::SubstitutionState::Fitted, "a whole life in one set");
            }
        }
        assert!(made >= sorts.len() + 8 && refusals >= 1, "{made} sets made, {refusals} refused");
        server.stop().await;
    }

    async fn changes_are_refused_at_their_place(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let latest = demo::latest_change(&admin, FLEET).await;
        let wrong = [leave_behind("c001"), depart_on("2027-02-30"), leave_behind("c002")];
        for refusal in [refused(ask(&admin, &wrong).await), refused(make(&admin, &wrong).await)] {
            assert_eq!(refusal.code, Code::InvalidArgument);
            assert_eq!(refusal.fields(), ["changes[1].update_departure.departure.departure_date"]);
        }
        let backwards = [leave_behind("c001"), depart_on("2027-12-24")];
        for refusal in [refused(ask(&admin, &backwards).await), refused(make(&admin, &backwards).await)] {
            assert_eq!(refusal.code, Code::InvalidArgument, "{}", refusal.message);
            assert!(refusal.fields()[0].starts_with("changes[1].update_departure.departure."), "{:?}", refusal.fields());
        }
        let twice = [leave_behind("c001"), leave_behind("c001")];
        for refusal in [refused(ask(&admin, &twice).await), refused(make(&admin, &twice).await)] {
            assert_eq!((refusal.code, refusal.reason.as_str()), (Code::NotFound, "RESOURCE_NOT_FOUND"));
        }
        let nothing = v1::Change { change: None };
        assert_eq!(refused(ask(&admin, &[nothing]).await).fields(), ["changes[0]"]);
        assert_eq!(demo::latest_change(&admin, FLEET).await, latest);
        server.stop().await;
    }

    async fn whoever_makes_changes_may_make_each_of_them(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let workshop = server.add_token("workshop", v1::Role::Workshop).await;
        let reader = server.add_token("reader", v1::Role::Reader).await;
        make(&workshop, &[leave_behind("c001")]).await.unwrap();
        let latest = demo::latest_change(&admin, FLEET).await;
        let refusal = refused(make(&workshop, &[leave_behind("c002"), depart_on("2027-05-25")]).await);
        assert_eq!((refusal.code, refusal.reason.as_str()), (Code::PermissionDenied, "ROLE_TOO_WEAK"));
        assert_eq!(refusal.metadata["needed_role"], "lead");
        assert_eq!(demo::latest_change(&admin, FLEET).await, latest);
        ask(&reader, &[leave_behind("c002"), depart_on("2027-05-25")]).await.unwrap();
        assert_eq!(refused(make(&reader, &[leave_behind("c002")]).await).reason, "ROLE_TOO_WEAK");
        server.stop().await;
    }
}
