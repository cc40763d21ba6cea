//! Random operations of eight clients at once, over two servers where the database allows it, held against a sequential
//! model: there must be one order of all operations, in keeping with when each of them began and ended, in which a plain
//! register would have answered the same.
//!
//! Every resource is a register of its own, so each is checked by itself. The history is the witness of the order of
//! its writes: each write that was answered stands there exactly once, none that was refused does, each found what its
//! place says it had to find, and a write that ended before another began stands before it. A read, or a refusal, must fit
//! some place between the last write that had ended when it began and the last that had begun when it ended, and no earlier
//! one than what somebody had seen before.
//!
//! `OSTLER_MODEL_OPERATIONS` is how many operations there are in all, 3,000 unless set.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

use ostler_proto::v1;
use ostler_tests::client::Client;
use ostler_tests::databases::Database;
use ostler_tests::server::Server;
use prost::Message;
use prost_reflect::ReflectMessage;
use rand::{RngExt as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;
use serde_json::Value as Json;
use tonic::{Code, Status};

const CLIENTS: u64 = 8;
const PARTS: usize = 6;
const FLEET: &str = "fleets/model";

/// What an operation came to.
#[derive(Debug, Clone, PartialEq)]
enum Outcome {
    /// It was done, and the register has this etag since; none when it was emptied.
    Wrote {
        request_id: String,
        etag: Option<String>,
        wanted_etag: Option<String>,
    },
    /// It found this value; none when there was nothing.
    Saw(Option<u64>),
    /// It found something where nothing was to be.
    Occupied,
    /// It found nothing, or another version than this.
    NotAt(String),
}

/// An operation on a register, with when it began and ended by one clock.
#[derive(Debug, Clone)]
struct Operation {
    part: usize,
    began: u64,
    ended: u64,
    outcome: Outcome,
}

fn name(part: usize) -> String {
    format!("{FLEET}/parts/p{part}")
}

fn value_of(part: &v1::Part) -> u64 {
    // Whole numbers far below 2^53.
    part.figures["value"] as u64
}

/// One client: its random numbers, and the etags that it has seen.
struct Caller {
    client: Client,
    random: ChaCha8Rng,
    number: u64,
    written: u64,
    etags: BTreeMap<usize, String>,
    clock: Arc<AtomicU64>,
}

impl Caller {
    fn now(&self) -> u64 {
        self.clock.fetch_add(1, Ordering::SeqCst)
    }

    /// Does one operation to its end: what the server could not take up is sent again under the same request id.
    async fn step(&mut self) -> Operation {
        let part = self.random.random_range(0..PARTS);
        let choice = self.random.random_range(0..100);
        let began = self.now();
        let outcome = match choice {
            0..35 => self.read(part).await,
            35..55 => self.create(part).await,
            55..70 => self.update(part, None).await,
            70..88 => {
                let etag = self.etags.get(&part).cloned();
                self.update(part, etag).await
            }
            _ => self.delete(part).await,
        };
        Operation {
            part,
            began,
            ended: self.now(),
            outcome,
        }
    }

    fn fresh(&mut self) -> (String, v1::Part) {
        self.written += 1;
        let value = self.number * 1_000_000 + self.written;
        let request_id = format!("{value:08x}-0000-4000-8000-000000000000");
        let part = v1::Part {
            display_name: "register".to_owned(),
            kind: "lamp".to_owned(),
            figures: BTreeMap::from([("value".to_owned(), value as f64)]),
            ..Default::default()
        };
        (request_id, part)
    }

    async fn read(&mut self, part: usize) -> Outcome {
        let request = v1::GetPartRequest { name: name(part) };
        match until_definite::<_, v1::Part>(&self.client, &request, true).await {
            Ok(found) => {
                self.etags.insert(part, found.etag.clone());
                Outcome::Saw(Some(value_of(&found)))
            }
            Err(status) => {
                assert_eq!(status.code(), Code::NotFound, "{status}");
                Outcome::Saw(None)
            }
        }
    }

    async fn create(&mut self, part: usize) -> Outcome {
        let (request_id, message) = self.fresh();
        let request = v1::CreatePartRequest {
            parent: FLEET.to_owned(),
            part_id: format!("p{part}"),
            part: Some(message),
            request_id: request_id.clone(),
            ..Default::default()
        };
        match until_definite::<_, v1::Part>(&self.client, &request, true).await {
            Ok(made) => Outcome::Wrote {
                request_id,
                etag: Some(made.etag),
                wanted_etag: None,
            },
            Err(status) => {
                assert_eq!(status.code(), Code::AlreadyExists, "{status}");
                Outcome::Occupied
            }
        }
    }

    async fn update(&mut self, part: usize, etag: Option<String>) -> Outcome {
        let (request_id, mut message) = self.fresh();
        message.name = name(part);
        message.etag = etag.clone().unwrap_or_default();
        let request = v1::UpdatePartRequest {
            part: Some(message),
            request_id: request_id.clone(),
            ..Default::default()
        };
        match until_definite::<_, v1::Part>(&self.client, &request, etag.is_none()).await {
            Ok(made) => Outcome::Wrote {
                request_id,
                etag: Some(made.etag),
                wanted_etag: etag,
            },
            Err(status) if status.code() == Code::Aborted => Outcome::NotAt(etag.unwrap()),
            Err(status) => {
                assert_eq!(status.code(), Code::NotFound, "{status}");
                Outcome::Saw(None)
            }
        }
    }

    async fn delete(&mut self, part: usize) -> Outcome {
        let (request_id, _) = self.fresh();
        let request = v1::DeletePartRequest {
            name: name(part),
            request_id: request_id.clone(),
            ..Default::default()
        };
        match until_definite::<_, ()>(&self.client, &request, true).await {
            Ok(()) => Outcome::Wrote {
                request_id,
                etag: None,
                wanted_etag: None,
            },
            Err(status) => {
                assert_eq!(status.code(), Code::NotFound, "{status}");
                Outcome::Saw(None)
            }
        }
    }
}

/// Calls until the answer says whether it was done. What asks for no version (`any`) may be overtaken within the server,
/// which then says that it was not done.
async fn until_definite<R, A>(client: &Client, request: &R, any: bool) -> Result<A, Status>
where
    R: ReflectMessage + Clone,
    A: Message + Default,
{
    loop {
        match client.ask::<A>(request.clone()).await {
            Err(status) if status.code() == Code::Unavailable => {}
            Err(status) if any && status.code() == Code::Aborted => {}
            answer => return answer,
        }
    }
}

/// A register after a write: its value and etag, none when it was emptied.
#[derive(Debug, Clone, PartialEq, Default)]
struct Place {
    request_id: String,
    value: Option<u64>,
    etag: Option<String>,
}

/// The places of a register in the order of the history, the empty one first.
async fn places(admin: &Client, part: usize) -> Vec<Place> {
    let mut places = Vec::new();
    let mut page_token = String::new();
    loop {
        let request = v1::ListHistoryRequest {
            parent: FLEET.to_owned(),
            resource: name(part),
            page_size: 1_000,
            page_token,
            ..Default::default()
        };
        let page: v1::ListHistoryResponse = admin.ask(request).await.unwrap();
        for entry in page.entries {
            let after: Json = match entry.after_json.as_str() {
                "" => Json::Null,
                text => serde_json::from_str(text).unwrap(),
            };
            places.push(Place {
                request_id: entry.request_id,
                value: after["figures"]["value"].as_f64().map(|value| value as u64),
                etag: None,
            });
        }
        page_token = page.next_page_token;
        if page_token.is_empty() {
            break;
        }
    }
    places.push(Place::default());
    places.reverse();
    places
}

/// Holds the operations on one register against the model.
fn check(places: &mut [Place], mut operations: Vec<Operation>) {
    let at: BTreeMap<String, usize> = places
        .iter()
        .enumerate()
        .skip(1)
        .map(|(place, written)| (written.request_id.clone(), place))
        .collect();
    assert_eq!(at.len() + 1, places.len(), "a write stands in the history twice");
    let mut answered = BTreeSet::new();
    for operation in &operations {
        if let Outcome::Wrote { request_id, etag, .. } = &operation.outcome {
            let place = *at
                .get(request_id)
                .unwrap_or_else(|| panic!("{operation:?} is not in the history"));
            assert!(answered.insert(place), "{operation:?}");
            places[place].etag.clone_from(etag);
        }
    }
    assert_eq!(
        answered.len() + 1,
        places.len(),
        "the history holds a write that was not answered"
    );
    // By their ends: whatever ended before an operation began has been looked at before it.
    operations.sort_by_key(|operation| operation.ended);
    let begins: Vec<(u64, usize)> = operations
        .iter()
        .filter_map(|one| Some((one.began, place_of(one, &at)?)))
        .collect();
    // Ends, and the latest place that anybody had seen by then.
    let mut seen: Vec<(u64, usize)> = vec![(0, 0)];
    for operation in &operations {
        let earlier = seen.partition_point(|(ended, _)| *ended < operation.began);
        let first = seen[earlier.saturating_sub(1)].1;
        let last = begins
            .iter()
            .filter(|(began, _)| *began < operation.ended)
            .map(|(_, place)| *place)
            .max()
            .unwrap_or(0);
        let fits = |place: &usize| match &operation.outcome {
            Outcome::Saw(value) => places[*place].value == *value,
            Outcome::Occupied => places[*place].value.is_some(),
            Outcome::NotAt(etag) => places[*place].etag.as_ref() != Some(etag),
            Outcome::Wrote {
                request_id,
                wanted_etag,
                ..
            } => {
                let before = &places[*place - 1];
                places[*place].request_id == *request_id
                    && (wanted_etag.is_none() || before.etag == *wanted_etag)
            }
        };
        let range = if matches!(operation.outcome, Outcome::Wrote { .. }) {
            first + 1..=last
        } else {
            first..=last
        };
        let place = range.clone().find(fits).unwrap_or_else(|| {
            panic!(
                "{operation:?} fits no place of {range:?}: {:?}",
                &places[first..=last]
            )
        });
        let latest = seen.last().map_or(0, |(_, latest)| *latest).max(place);
        seen.push((operation.ended, latest));
    }
}

fn place_of(operation: &Operation, at: &BTreeMap<String, usize>) -> Option<usize> {
    match &operation.outcome {
        Outcome::Wrote { request_id, .. } => at.get(request_id).copied(),
        _ => None,
    }
}

async fn run(database: &Database, servers: usize) {
    let operations: u64 =
        std::env::var("OSTLER_MODEL_OPERATIONS").map_or(3_000, |text| text.parse().unwrap());
    let first = Server::start(database).await;
    let second = first.another(database).await;
    let admin = first.admin();
    let fleet = v1::CreateFleetRequest {
        fleet: Some(v1::Fleet {
            display_name: "Model".to_owned(),
            ..Default::default()
        }),
        fleet_id: "model".to_owned(),
        ..Default::default()
    };
    let _: v1::Fleet = admin.ask(fleet).await.unwrap();
    let clock = Arc::new(AtomicU64::new(1));
    let tasks: Vec<_> = (0..CLIENTS)
        .map(|number| {
            let on = if servers == 2 && number % 2 == 1 {
                &second
            } else {
                &first
            };
            let mut caller = Caller {
                client: on.admin(),
                random: ChaCha8Rng::seed_from_u64(7_000 + number),
                number: number + 1,
                written: 0,
                etags: BTreeMap::new(),
                clock: clock.clone(),
            };
            tokio::spawn(async move {
                let mut done = Vec::new();
                for _ in 0..operations / CLIENTS {
                    done.push(caller.step().await);
                }
                done
            })
        })
        .collect();
    let mut of: Vec<Vec<Operation>> = vec![Vec::new(); PARTS];
    for task in tasks {
        for operation in task.await.unwrap() {
            of[operation.part].push(operation);
        }
    }
    let mut counted = 0;
    for (part, operations) in of.into_iter().enumerate() {
        counted += operations.len();
        check(&mut places(&admin, part).await, operations);
    }
    println!("{counted} operations of {CLIENTS} clients over {servers} servers: one order explains them all");
    first.stop().await;
    second.stop().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn one_order_explains_everything_on_one_sqlite_file() {
    let database = Database::sqlite();
    run(&database, 1).await;
    database.remove().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn one_order_explains_everything_over_two_servers_on_postgres() {
    let database = Database::postgres().await;
    run(&database, 2).await;
    database.remove().await;
}

/// The check itself finds what must not be: a read of what was overwritten before it began, and a lost update.
#[test]
fn the_model_tells_a_stale_read_and_a_lost_update() {
    let place = |request_id: &str, value| Place {
        request_id: request_id.to_owned(),
        value: Some(value),
        etag: None,
    };
    let wrote = |began, ended, request_id: &str, wanted: Option<&str>| Operation {
        part: 0,
        began,
        ended,
        outcome: Outcome::Wrote {
            request_id: request_id.to_owned(),
            etag: Some(format!("e-{request_id}")),
            wanted_etag: wanted.map(str::to_owned),
        },
    };
    let read = |began, ended, value| Operation {
        part: 0,
        began,
        ended,
        outcome: Outcome::Saw(Some(value)),
    };
    let places = || vec![Place::default(), place("a", 1), place("b", 2)];
    let fails = |operations: Vec<Operation>| {
        std::panic::catch_unwind(move || check(&mut places(), operations)).is_err()
    };
    assert!(!fails(vec![
        wrote(1, 2, "a", None),
        wrote(3, 4, "b", Some("e-a")),
        read(5, 6, 2)
    ]));
    // While b is being written, either may be read, but not the older one after the newer one.
    assert!(!fails(vec![
        wrote(1, 2, "a", None),
        read(4, 5, 1),
        wrote(3, 8, "b", None),
        read(6, 7, 2)
    ]));
    assert!(fails(vec![
        wrote(1, 2, "a", None),
        read(4, 5, 2),
        wrote(3, 8, "b", None),
        read(6, 7, 1)
    ]));
    assert!(fails(vec![
        wrote(1, 2, "a", None),
        wrote(3, 4, "b", None),
        read(5, 6, 1)
    ]));
    assert!(fails(vec![
        wrote(1, 2, "a", None),
        wrote(3, 4, "b", Some("e-older"))
    ]));
    assert!(fails(vec![wrote(1, 2, "a", None), wrote(3, 4, "c", None)]));
}
