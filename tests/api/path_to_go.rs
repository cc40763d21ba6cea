//! The path of the demo departure from no-go to go: what stands in its way, the repairs of `server/demo/repairs.yaml`, and the
//! signatures.

use std::collections::BTreeSet;

use ostler_proto::v1;
use ostler_proto::v1::change::Change as Kind;
use ostler_tests::client::Client;
use ostler_tests::on_both_databases;
use prost_reflect::{DynamicMessage, ReflectMessage as _};

use crate::demo::{self, DEPARTURE, FLEET};

/// What the workshops do.
const REPAIRS: &str = include_str!("../../server/demo/repairs.yaml");

/// What blocks the demo at first: the vehicle (none: the convoy), the gate, and a part of the text of every finding that it
/// has. A new gate puts its rows here, when the demo's story has them.
const BLOCKING: &[(&str, &str, &[&str])] = &[
    (
        "v1",
        "substitutions",
        &["S08: end_inside_diameter.engine", "S10: spigot_thread"],
    ),
    (
        "v1",
        "defects",
        &["rear sits 23 mm lower", "HF radio", "roof-rack clamp"],
    ),
    ("v1", "rules", &["rear seats removed"]),
    ("v1", "restraint", &["sleeping kit (c012)"]),
    (
        "v1",
        "stance",
        &["rear coil spring, heavy load, right belongs on the right"],
    ),
    (
        "v1",
        "wheels",
        &["lean at the arches 30.0 mm", "the rear right arch is 23 mm lower"],
    ),
    (
        "v1",
        "papers",
        &["inspection report expires on 2027-05-09, 15 days before"],
    ),
    (
        "v2",
        "substitutions",
        &[
            "S04: closed_length of damper.rear.right",
            "S04: closed_length of damper.rear.left",
            "S05: thread_engagement of wheel.rear.right",
            "S05: thread_engagement of wheel.rear.left",
            "S05: thread_engagement of wheel.front.right",
            "S05: thread_engagement of wheel.front.left",
        ],
    ),
    (
        "v2",
        "defects",
        &[
            "battery tray weld crack",
            "shock absorber leaking",
            "canopy door latch",
        ],
    ),
    ("v2", "rules", &["LPG cylinder 4 kg"]),
    ("v2", "axles", &["the rear axle carries 2057.8 kg, 37.8 kg over"]),
    ("v2", "proof", &["test drive TD2 failed"]),
    ("v2", "papers", &["inspection report is only booked"]),
    (
        "v3",
        "substitutions",
        &[
            "S01: parking_brake",
            "S01: output_flange.rear",
            "S03: u_bolt_leg_length of spring.rear.right",
            "S03: u_bolt_leg_length of spring.rear.left",
        ],
    ),
    (
        "v3",
        "defects",
        &["gearbox jumps out of fifth", "fuel smell at auxiliary tank"],
    ),
    (
        "v3",
        "rules",
        &["fixed auxiliary tank 110 l", "suspension +46 mm"],
    ),
    ("v3", "restraint", &["sleeping kit (c069)", "personal bag (c070)"]),
    (
        "v3",
        "proof",
        &[
            "test drive TD0: `loaded` is not yes",
            "weighing WB-1154 of 2027-02-26 is stale",
        ],
    ),
    ("v3", "papers", &["Roadworthiness inspection is missing"]),
    (
        "v4",
        "substitutions",
        &[
            "S06: load_capacity_kg of tyre.rear.right",
            "S06: load_capacity_kg of tyre.rear.left",
        ],
    ),
    ("v4", "defects", &["front wheel bearing", "generator trips"]),
    ("v4", "restraint", &["petrol generator 3.0 kVA (c089)"]),
    ("v4", "fuel", &["36.7 l, 6.0 % short"]),
    (
        "v4",
        "papers",
        &["licence class of driver p9", "inspection report is only booked"],
    ),
    ("", "fuel_shared", &["the 8.7 l over on others cannot cover it"]),
    (
        "",
        "papers",
        &["insurer informed of modifications", "basin permit"],
    ),
];

/// The repairs as changes.
pub(crate) fn repairs() -> Vec<v1::Change> {
    let json: serde_json::Value = serde_saphyr::from_str(REPAIRS).unwrap();
    let descriptor = v1::AssessChangesRequest::default().descriptor();
    let message = DynamicMessage::deserialize(descriptor, json).unwrap();
    message
        .transcode_to::<v1::AssessChangesRequest>()
        .unwrap()
        .changes
}

async fn ask(client: &Client, changes: &[v1::Change]) -> v1::AssessChangesResponse {
    let request = v1::AssessChangesRequest {
        departure: DEPARTURE.into(),
        changes: changes.to_vec(),
    };
    client.ask(request).await.unwrap()
}

async fn make(client: &Client, changes: Vec<v1::Change>) {
    let request = v1::ApplyChangesRequest {
        parent: FLEET.into(),
        changes,
        ..Default::default()
    };
    client.ask::<v1::ApplyChangesResponse>(request).await.unwrap();
}

/// Every gate with the id of its vehicle; the convoy's under none.
fn gates(readiness: &v1::Readiness) -> Vec<(&str, &v1::Gate)> {
    let own = readiness.vehicles.iter().flat_map(|own| {
        let id = own.vehicle.rsplit('/').next().unwrap();
        own.gates.iter().map(move |gate| (id, gate))
    });
    own.chain(readiness.gates.iter().map(|gate| ("", gate))).collect()
}

fn blocks(answer: v1::Answer) -> bool {
    matches!(answer, v1::Answer::NotMet | v1::Answer::NotKnown)
}

/// Vehicle, gate and finding of everything with an answer that `is_meant`.
fn findings(
    readiness: &v1::Readiness,
    is_meant: impl Fn(v1::Answer) -> bool,
) -> Vec<(&str, &str, &v1::Finding)> {
    let all = gates(readiness).into_iter().flat_map(|(vehicle, gate)| {
        let own = gate.findings.iter();
        own.map(move |finding| (vehicle, gate.id.as_str(), finding))
    });
    all.filter(|(_, _, finding)| is_meant(finding.answer())).collect()
}

/// Conditions that nobody has signed for, as changes that sign.
fn signatures(readiness: &v1::Readiness) -> Vec<v1::Change> {
    let open = findings(readiness, |answer| answer == v1::Answer::MetWithConditions);
    let open = open
        .into_iter()
        .filter(|(_, _, finding)| finding.acceptance.is_empty());
    let sign = |(index, (vehicle, gate, finding)): (usize, (&str, &str, &v1::Finding))| {
        assert!(!finding.key.is_empty(), "{vehicle} {gate}: {}", finding.text);
        let request = v1::AcceptFindingRequest {
            parent: FLEET.into(),
            acceptance_id: format!("a{index:03}"),
            acceptance: Some(v1::Acceptance {
                departure: DEPARTURE.into(),
                vehicle: match vehicle {
                    "" => String::new(),
                    vehicle => demo::name(&format!("vehicles/{vehicle}")),
                },
                gate: gate.into(),
                finding: finding.key.clone(),
                condition: Some(v1::AcceptedCondition {
                    condition: if finding.remedy.is_empty() {
                        finding.text.clone()
                    } else {
                        finding.remedy.clone()
                    },
                    owner: "driver".into(),
                    check_interval: "every evening".into(),
                    accepted_by: "convoy lead".into(),
                    accepted_date: "2027-05-22".into(),
                }),
                ..Default::default()
            }),
            ..Default::default()
        };
        v1::Change {
            change: Some(Kind::AcceptFinding(request)),
        }
    };
    open.enumerate().map(sign).collect()
}

on_both_databases! {
    async fn what_blocks_the_demo_is_its_story_and_nothing_else(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let readiness = demo::readiness(&admin).await;
        assert_eq!(readiness.verdict(), v1::Verdict::NoGo);
        let found = findings(&readiness, blocks);
        let expected = BLOCKING.iter().flat_map(|(vehicle, gate, texts)| texts.iter().map(move |text| (*vehicle, *gate, *text)));
        let expected: Vec<_> = expected.collect();
        for (vehicle, gate, text) in &expected {
            let count = found.iter().filter(|(own, id, finding)| own == vehicle && id == gate && finding.text.contains(text)).count();
            assert_eq!(count, 1, "{vehicle} {gate} {text}");
        }
        let invented: Vec<_> = found.iter().filter(|(own, id, finding)| {
            !expected.iter().any(|(vehicle, gate, text)| vehicle == own && gate == id && finding.text.contains(text))
        }).collect();
        assert!(invented.is_empty(), "{invented:#?}");
        // Everything that blocks is said again in the order in which to see to it.
        assert_eq!(readiness.first_steps.len(), found.len());
        let last_dates: Vec<Option<&str>> = readiness.first_steps.iter().map(|step| {
            let jobs = &step.finding.as_ref().unwrap().clearing_jobs;
            jobs.iter().map(|job| job.finish_date.as_str()).max()
        }).collect();
        let unplanned = last_dates.iter().take_while(|date| date.is_none()).count();
        assert!(last_dates[unplanned..].iter().all(Option::is_some), "{last_dates:?}");
        assert!(last_dates[unplanned..].windows(2).all(|pair| pair[0] >= pair[1]), "{last_dates:?}");
        // The engineer is the longest lead time: the tank's certificate comes with the inspection after 2027-04-26.
        let tank = readiness.first_steps.iter().find(|step| step.finding.as_ref().unwrap().text.contains("fixed auxiliary tank"));
        let jobs = &tank.unwrap().finding.as_ref().unwrap().clearing_jobs;
        assert_eq!(jobs.iter().map(|job| job.job.clone()).collect::<Vec<_>>(), [demo::name("jobs/j11")]);
        assert!(jobs[0].finish_date.as_str() >= "2027-04-26" && jobs[0].hours_left.unwrap() > 3.0, "{jobs:?}");
        server.stop().await;
    }

    async fn repaired_it_goes_with_conditions_and_signed_it_goes(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let repairs = repairs();
        let asked = ask(&admin, &repairs).await;
        assert_eq!(asked.verdict_before(), v1::Verdict::NoGo);
        make(&admin, repairs).await;
        let repaired = demo::readiness(&admin).await;
        let blocking: Vec<_> = findings(&repaired, blocks).into_iter().map(|(own, gate, finding)| (own, gate, &finding.text)).collect();
        assert!(blocking.is_empty(), "{blocking:#?}");
        assert_eq!(repaired.verdict(), v1::Verdict::GoWithConditions);
        assert_eq!(asked.verdict_after(), repaired.verdict(), "what was asked came true");
        assert!(repaired.first_steps.is_empty());

        let signatures = signatures(&repaired);
        assert!(!signatures.is_empty());
        make(&admin, signatures).await;
        let signed = demo::readiness(&admin).await;
        let open: BTreeSet<_> = gates(&signed).into_iter().filter(|(_, gate)| gate.answer() != v1::Answer::Met)
            .map(|(own, gate)| (own, gate.id.as_str(), gate.summary.as_str())).collect();
        assert!(open.is_empty(), "{open:#?}");
        assert_eq!(signed.verdict(), v1::Verdict::Go);
        server.stop().await;
    }
}
