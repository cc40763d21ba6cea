//! Every input of the repaired demo record taken away in turn, by reflection: no gate may read better for it, and nothing that is kept
//! of the assessment before may be left in this one.
//!
//! Taken away is what can be there or not: optional numbers and whole messages, wherever they stand, also within lists; every list and
//! map as a whole; every entry of a map. A plain text or word that is cleared says something else instead of nothing, and so does a
//! list with one thing less, so those are not inputs in this sense. Every resource and every place in it is visited: no list of fields
//! is kept by hand but the one of those that rightly ask for less.

use std::collections::{BTreeMap, BTreeSet};

use ostler_core::answer::Answer;
use ostler_core::plan::outlook::PlanOutlook;
use ostler_core::plan::search::Unwatched;
use ostler_core::plan::shop::stated;
use ostler_core::readiness::{Earlier, Packs, Readiness, assess_by};
use ostler_core::record::{Date, Departure, Name, Record};
use ostler_proto::v1;
use ostler_server::app::kind_table::entry;
use ostler_server::app::record::assemble;
use ostler_store::Row;
use ostler_tests::databases::Database;
use prost_reflect::{DynamicMessage, Value};

use crate::demo::{self, DEPARTURE, FLEET};
use crate::path_to_go::repairs;

/// Fields that are no input of a gate but a limit, a wish or a fact whose absence rightly asks for less: field by its path without
/// indices, and why.
const ASKS_FOR_LESS: &[(&str, &str)] = &[
    (
        "vehicle.specification.zones.limit_kg",
        "a zone without a limit of its own has none",
    ),
    (
        "vehicle.specification.zones.position",
        "things in it have places of their own",
    ),
    (
        "departure.policy.fuel_chance_max",
        "the chance decides only where the policy asks",
    ),
    (
        "departure.policy.ready_chance_min",
        "the chance decides only where the policy asks",
    ),
    (
        "departure.vehicles.consumption_basis_by_surface",
        "without one of its own a surface has the basis that is stated for all of them",
    ),
    ("departure.vehicles.consumption_basis_by_surface[]", "the same"),
    (
        "departure.policy.margin_warn_fraction",
        "without it the general threshold holds",
    ),
];

/// One step into a message: a field, and the place in it when it is a list, or the key when it is a map.
#[derive(Debug, Clone)]
enum Step {
    Field(String),
    Item(String, usize),
    Entry(String, prost_reflect::MapKey),
}

impl Step {
    fn field(&self) -> &str {
        match self {
            Self::Field(field) | Self::Item(field, _) | Self::Entry(field, _) => field,
        }
    }
}

/// Paths of everything in `message` that has a presence of its own and is set.
fn inputs(message: &DynamicMessage, way: &[Step], found: &mut Vec<Vec<Step>>) {
    for (field, value) in message.fields() {
        let name = field.name().to_owned();
        let with = |step: Step| way.iter().cloned().chain([step]).collect::<Vec<_>>();
        if field.supports_presence() || field.is_list() || field.is_map() {
            found.push(with(Step::Field(name.clone())));
        }
        match value {
            Value::Message(inner) => inputs(inner, &with(Step::Field(name)), found),
            Value::List(items) => {
                for (index, item) in items.iter().enumerate() {
                    if let Value::Message(inner) = item {
                        inputs(inner, &with(Step::Item(name.clone(), index)), found);
                    }
                }
            }
            Value::Map(entries) => {
                for (key, item) in entries {
                    found.push(with(Step::Entry(name.clone(), key.clone())));
                    if let Value::Message(inner) = item {
                        inputs(inner, &with(Step::Entry(name.clone(), key.clone())), found);
                    }
                }
            }
            _ => {}
        }
    }
}

fn take(message: &mut DynamicMessage, way: &[Step]) {
    let Some((step, rest)) = way.split_first() else {
        return;
    };
    if rest.is_empty() {
        match step {
            Step::Entry(field, key) => {
                let entries = message.get_field_by_name_mut(field).unwrap().as_map_mut();
                entries.unwrap().remove(key);
            }
            Step::Field(field) | Step::Item(field, _) => message.clear_field_by_name(field),
        }
        return;
    }
    let value = message.get_field_by_name_mut(step.field()).unwrap();
    let inner = match (step, value) {
        (Step::Field(_), value) => value.as_message_mut(),
        (Step::Item(_, index), value) => value.as_list_mut().and_then(|list| list[*index].as_message_mut()),
        (Step::Entry(_, key), value) => value
            .as_map_mut()
            .and_then(|map| map.get_mut(key)?.as_message_mut()),
    };
    take(inner.unwrap(), rest);
}

/// Answers by vehicle and gate.
fn answers(readiness: &Readiness) -> BTreeMap<(String, &'static str), Answer> {
    let own = readiness.vehicles.iter().flat_map(|own| {
        let id = own.vehicle.id().to_owned();
        own.gates
            .iter()
            .map(move |gate| ((id.clone(), gate.id), gate.answer))
    });
    let convoy = readiness
        .gates
        .iter()
        .map(|gate| ((String::new(), gate.id), gate.answer));
    own.chain(convoy).collect()
}

fn of(rows: &[Row], departure: &Name) -> Result<(Record, Departure), String> {
    let fleet = Name::new(FLEET).unwrap();
    let record = assemble(&fleet, rows.to_vec()).map_err(|error| error.to_string())?;
    let departure = record.departures[departure].clone();
    Ok((record, departure))
}

#[expect(
    clippy::too_many_lines,
    reason = "one walk, told from its start to its counts"
)]
#[tokio::test(flavor = "multi_thread")]
async fn no_gate_reads_better_for_an_input_that_is_taken_away() {
    let database = Database::sqlite();
    let (server, admin) = demo::start(&database).await;
    let request = v1::ApplyChangesRequest {
        parent: FLEET.into(),
        changes: repairs(),
        ..Default::default()
    };
    admin.ask::<v1::ApplyChangesResponse>(request).await.unwrap();
    let name = Name::new(DEPARTURE).unwrap();
    let vehicles = ["v1", "v2", "v3", "v4"].map(|id| demo::name(&format!("vehicles/{id}")));
    let scopes: Vec<String> = [FLEET.to_owned(), DEPARTURE.to_owned()]
        .into_iter()
        .chain(vehicles)
        .collect();
    let rows = server.store().load(&scopes).await.unwrap().rows;
    server.stop().await;
    database.remove().await;

    let today: Date = "2027-05-23".parse().unwrap();
    let (record, departure) = of(&rows, &name).unwrap();
    let outlook = PlanOutlook::of(stated(&record, &departure, today), &Unwatched).into();
    let packs = Packs::of(&record, &departure);
    let assess = |record: &Record, departure: &Departure, earlier: &Earlier| {
        assess_by(record, departure, None, &outlook, &packs, earlier)
    };
    let before = answers(&assess(&record, &departure, &Earlier::default()));
    // One for all, so that each record is assessed by what is left of the one before.
    let earlier = Earlier::default();
    let mut stale = Vec::new();

    let mut taken: BTreeMap<String, usize> = BTreeMap::new();
    let (mut unknown, mut refused) = (BTreeSet::new(), 0);
    let mut better = Vec::new();
    for (index, row) in rows.iter().enumerate() {
        // Proofs of packs are kept for this test, and jobs and what they wait for are the plan's, whose outlook is computed once: without
        // something of these an answer may be any, but the same by what is kept as anew.
        let of_plan = ["rule pack", "job", "workshop", "awaited part"].contains(&row.kind.as_str());
        let kind = entry(&row.kind).unwrap();
        let message = kind.decode(row).unwrap();
        let mut ways = Vec::new();
        inputs(&message, &[], &mut ways);
        for way in ways {
            let fields: Vec<&str> = way.iter().map(Step::field).collect();
            let entry = match way.last() {
                Some(Step::Entry(_, _)) => "[]",
                _ => "",
            };
            let path = format!("{}.{}{entry}", row.kind, fields.join("."));
            if fields.iter().any(|field| field.ends_with("_time")) {
                continue;
            }
            let mut without = message.clone();
            take(&mut without, &way);
            let prepared = kind.prepare(&Name::new(row.name.clone()).unwrap(), &without);
            let mut rows = rows.clone();
            rows[index].body = prepared.unwrap().body;
            let Ok((record, departure)) = of(&rows, &name) else {
                refused += 1;
                continue;
            };
            let after = assess(&record, &departure, &Earlier::default());
            if assess(&record, &departure, &earlier) != after
                || *earlier.stated(&record, &departure, today) != stated(&record, &departure, today)
            {
                stale.push(format!("{path} of {}", row.name));
            }
            if of_plan || ASKS_FOR_LESS.iter().any(|(asks, _)| *asks == path) {
                continue;
            }
            *taken.entry(path.clone()).or_default() += 1;
            let after = answers(&after);
            for (gate, answer) in &after {
                match before.get(gate) {
                    Some(was) if answer < was => better.push(format!(
                        "{gate:?}: {was:?} -> {answer:?} without {path} of {}",
                        row.name
                    )),
                    Some(was) if answer != was && *answer == Answer::NotKnown => {
                        unknown.insert(path.clone());
                    }
                    _ => {}
                }
            }
        }
    }
    assert!(better.is_empty(), "{better:#?}");
    assert!(stale.is_empty(), "{stale:#?}");
    // So that the test does not pass by taking nothing.
    assert!(
        taken.len() > 100 && taken.values().sum::<usize>() > 1_000 && unknown.len() > 15,
        "{} taken, {} made a gate not known, {refused} refused: {unknown:#?}",
        taken.len(),
        unknown.len()
    );
}
