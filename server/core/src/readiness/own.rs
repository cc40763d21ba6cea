//! What of a record concerns one vehicle.

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError};

use super::results::{Input, Inputs};
use crate::record::{Items, Name, Record, Shared, Table, Vehicle, is_equal};

/// A vehicle, and the record without what is on record about others. What belongs to all, or to more than one, is in it.
#[derive(Debug)]
pub(super) struct Own {
    pub(super) vehicle: Shared<Vehicle>,
    pub(super) record: Record,
    /// The record that this is a part of.
    whole: Record,
}

impl Own {
    /// What of `whole` concerns `vehicle`; shared with what concerned it `before` as far as that is equal.
    fn of(whole: &Record, vehicle: &Vehicle, before: Option<&Self>) -> Self {
        let name = &vehicle.name;
        let record = Record {
            vehicles: part(whole, before, |record| &record.vehicles, |of| of.name == *name),
            substitutions: part(
                whole,
                before,
                |record| &record.substitutions,
                |of| of.vehicle == *name,
            ),
            defects: part(whole, before, |record| &record.defects, |of| of.vehicle == *name),
            cargo_items: part(
                whole,
                before,
                |record| &record.cargo_items,
                |of| of.vehicle.as_ref() == Some(name),
            ),
            weighings: part(
                whole,
                before,
                |record| &record.weighings,
                |of| of.vehicle == *name,
            ),
            regulated_items: part(
                whole,
                before,
                |record| &record.regulated_items,
                |of| of.vehicle.as_ref() == Some(name),
            ),
            acceptances: part(
                whole,
                before,
                |record| &record.acceptances,
                |of| of.vehicle.as_ref() == Some(name),
            ),
            ..whole.share()
        };
        let vehicle = match before {
            Some(before)
                if before.whole.vehicles.is_shared_with(&whole.vehicles)
                    || before.vehicle.is_equal_to_value(vehicle) =>
            {
                before.vehicle.share()
            }
            _ => vehicle.clone().into(),
        };
        Self {
            vehicle,
            record,
            whole: whole.share(),
        }
    }

    fn share(&self) -> Self {
        Self {
            vehicle: self.vehicle.share(),
            record: self.record.share(),
            whole: self.whole.share(),
        }
    }
}

impl Inputs for Own {
    type Own = Self;

    fn own(&self) -> Self {
        self.share()
    }

    fn list<'a>(&'a self, all: &mut Vec<&'a dyn Input>) {
        self.vehicle.list(all);
        self.record.list(all);
    }
}

/// The records of one kind that are kept, or those of `before` when they are equal.
fn part<T: Clone + PartialEq>(
    whole: &Record,
    before: Option<&Own>,
    table: fn(&Record) -> &Table<T>,
    keep: impl Fn(&T) -> bool,
) -> Table<T> {
    let now = table(whole);
    let before = before.map(|before| (table(&before.whole), table(&before.record)));
    if let Some((whole, own)) = before
        && whole.is_shared_with(now)
    {
        return own.share();
    }
    let kept = || now.shared().filter(|(_, of)| keep(of));
    match before {
        Some((_, own)) if is_equal_to(own, kept()) => own.share(),
        _ => kept()
            .map(|(name, of)| (name.clone(), of.clone()))
            .collect::<Items<T>>()
            .into(),
    }
}

fn is_equal_to<'a, T: PartialEq + 'a>(
    own: &Table<T>,
    mut kept: impl Iterator<Item = (&'a Name, &'a Arc<T>)>,
) -> bool {
    own.shared().all(|(name, of)| {
        kept.next()
            .is_some_and(|(kept_name, kept)| kept_name == name && is_equal(kept, of))
    }) && kept.next().is_none()
}

/// What concerned each vehicle when it was last asked for.
#[derive(Debug, Default)]
pub(super) struct Owns(Mutex<BTreeMap<Name, Own>>);

impl Owns {
    /// Most vehicles of which this is kept; beyond that all are forgotten.
    const VEHICLES_MAX: usize = 1_000;

    pub(super) fn of(&self, whole: &Record, vehicle: &Vehicle) -> Own {
        let lock = || self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let before = lock().get(&vehicle.name).map(Own::share);
        let own = Own::of(whole, vehicle, before.as_ref());
        let mut kept = lock();
        if kept.len() >= Self::VEHICLES_MAX {
            kept.clear();
        }
        kept.insert(vehicle.name.clone(), own.share());
        own
    }
}
