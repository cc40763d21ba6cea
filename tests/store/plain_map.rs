//! The record in plain maps: what the databases are held against by the random test.

use std::collections::{BTreeMap, BTreeSet};

use ostler_store::{Loaded, Row, Seen, StoreError};

/// Name, kind, parent, scope: few enough that they meet often.
pub(crate) const RESOURCES: [(&str, &str, Option<&str>, &str); 8] = [
    ("fleets/a", "fleet", None, "fleets/a"),
    ("fleets/b", "fleet", None, "fleets/b"),
    ("fleets/a/parts/p", "part", Some("fleets/a"), "fleets/a"),
    (
        "fleets/a/vehicles/v1",
        "vehicle",
        Some("fleets/a"),
        "fleets/a/vehicles/v1",
    ),
    (
        "fleets/a/vehicles/v1/fitments/f",
        "fitment",
        Some("fleets/a/vehicles/v1"),
        "fleets/a/vehicles/v1",
    ),
    (
        "fleets/a/vehicles/v1/fitments/g",
        "fitment",
        Some("fleets/a/vehicles/v1"),
        "fleets/a/vehicles/v1",
    ),
    (
        "fleets/a/vehicles/v2",
        "vehicle",
        Some("fleets/a"),
        "fleets/a/vehicles/v2",
    ),
    (
        "fleets/b/vehicles/v1",
        "vehicle",
        Some("fleets/b"),
        "fleets/b/vehicles/v1",
    ),
];

/// One step of a transaction; `resource` is an index into [`RESOURCES`].
#[derive(Clone, Debug)]
pub(crate) enum Operation {
    Insert {
        resource: usize,
        body: Vec<u8>,
        time: i64,
    },
    Update {
        resource: usize,
        seen: Seen,
        scope: &'static str,
        body: Vec<u8>,
        time: i64,
    },
    Delete {
        resource: usize,
        seen: Seen,
    },
    SetReferences {
        resource: usize,
        targets: Vec<String>,
    },
    Append {
        resource: usize,
        action: String,
    },
    Bump {
        scope: &'static str,
    },
    Look {
        resource: usize,
    },
}

/// What an operation or a commit came to, in a form that can be compared.
pub(crate) type Outcome = Result<String, &'static str>;

pub(crate) fn outcome(result: Result<String, StoreError>) -> Outcome {
    result.map_err(|error| match error {
        StoreError::AlreadyExists { .. } => "already exists",
        StoreError::Stale { .. } => "stale",
        StoreError::Reference { .. } => "reference",
        StoreError::Abandoned => "abandoned",
        other => panic!("{other:?}"),
    })
}

/// The whole record in plain maps.
#[derive(Clone, Debug, Default)]
pub(crate) struct Model {
    pub(crate) rows: BTreeMap<String, Row>,
    references: BTreeSet<(String, String)>,
    revisions: BTreeMap<String, i64>,
    /// Resource and action, oldest first.
    pub(crate) history: Vec<(String, String)>,
}

impl Model {
    /// Runs a transaction, kept only if it commits, and returns what each step of it came to.
    pub(crate) fn run(&mut self, operations: &[Operation], commits: bool) -> Vec<Outcome> {
        let (mut changed, mut touched, mut failed) = (self.clone(), BTreeSet::new(), false);
        let mut outcomes = Vec::new();
        for operation in operations {
            let outcome = if failed {
                Err("abandoned")
            } else {
                changed.apply(operation, &mut touched)
            };
            failed |= outcome.is_err();
            outcomes.push(outcome);
        }
        if commits {
            let outcome = if failed {
                Err("abandoned")
            } else {
                changed.commit(touched)
            };
            if outcome.is_ok() {
                *self = changed;
            }
            outcomes.push(outcome);
        }
        outcomes
    }

    fn apply(&mut self, operation: &Operation, touched: &mut BTreeSet<String>) -> Outcome {
        match operation {
            Operation::Insert { resource, body, time } => {
                let (name, kind, parent, scope) = RESOURCES[*resource];
                if self.rows.contains_key(name) {
                    return Err("already exists");
                }
                let row = Row {
                    name: name.to_owned(),
                    kind: kind.to_owned(),
                    parent: parent.map(str::to_owned),
                    scope: scope.to_owned(),
                    revision: 1,
                    create_time: *time,
                    update_time: *time,
                    body: body.clone(),
                };
                self.rows.insert(name.to_owned(), row);
                touched.insert(scope.to_owned());
                Ok("1".to_owned())
            }
            Operation::Update {
                resource,
                seen,
                scope,
                body,
                time,
            } => {
                let row = self.seen(*resource, *seen)?;
                touched.insert(std::mem::replace(&mut row.scope, (*scope).to_owned()));
                touched.insert((*scope).to_owned());
                row.revision += 1;
                row.update_time = *time;
                row.body.clone_from(body);
                Ok(row.revision.to_string())
            }
            Operation::Delete { resource, seen } => {
                touched.insert(self.seen(*resource, *seen)?.scope.clone());
                self.rows.remove(RESOURCES[*resource].0);
                self.set_references(*resource, &[]);
                Ok(String::new())
            }
            Operation::SetReferences { resource, targets } => {
                self.set_references(*resource, targets);
                Ok(String::new())
            }
            Operation::Append { resource, action } => {
                self.history
                    .push((RESOURCES[*resource].0.to_owned(), action.clone()));
                Ok(String::new())
            }
            Operation::Bump { scope } => {
                touched.insert((*scope).to_owned());
                Ok(String::new())
            }
            Operation::Look { resource } => {
                let name = RESOURCES[*resource].0;
                Ok(format!("{:?} {:?}", self.rows.get(name), self.referrers(name)))
            }
        }
    }

    /// The row, if it still is as its writer has seen it.
    fn seen(&mut self, resource: usize, seen: Seen) -> Result<&mut Row, &'static str> {
        let row = self.rows.get_mut(RESOURCES[resource].0);
        row.filter(|row| row.seen() == seen).ok_or("stale")
    }

    fn set_references(&mut self, resource: usize, targets: &[String]) {
        let name = RESOURCES[resource].0;
        self.references.retain(|(source, _)| source != name);
        self.references
            .extend(targets.iter().map(|target| (name.to_owned(), target.clone())));
    }

    fn commit(&mut self, touched: BTreeSet<String>) -> Outcome {
        let parents = self.rows.values().filter_map(|row| row.parent.as_ref());
        let ends = self
            .references
            .iter()
            .flat_map(|(source, target)| [source, target]);
        if !parents.chain(ends).all(|name| self.rows.contains_key(name)) {
            return Err("reference");
        }
        for scope in touched {
            *self.revisions.entry(scope).or_default() += 1;
        }
        Ok(String::new())
    }

    pub(crate) fn referrers(&self, target: &str) -> Vec<&str> {
        self.references
            .iter()
            .filter(|(_, other)| other == target)
            .map(|(source, _)| source.as_str())
            .collect()
    }

    pub(crate) fn loaded(&self) -> Loaded {
        Loaded {
            rows: self.rows.values().cloned().collect(),
            revisions: self.revisions.clone(),
        }
    }
}
