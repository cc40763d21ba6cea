//! What a token is limited to. What lies outside reads as if it did not exist.
//!
//! Three places ask: every request before its use case ([`App::within_scope`]), lists and the history
//! ([`Scope::shows`]), and every unit of work before it writes ([`Scope::check_change`]).

use std::collections::BTreeSet;

use ostler_core::record::Name;
use ostler_proto::DESCRIPTOR_POOL;
use ostler_store::{Row, Token};
use prost_reflect::{DynamicMessage, ReflectMessage, Value};

use super::kind_table::name_of_any;
use super::kinds::{Kind as _, MESSAGES, Vehicles};
use super::unit::Unit;
use super::{App, AppError};
use crate::contract;

/// Most names of one request that a limited token may use.
const NAMES_MAX: usize = 10_000;

/// The fleets and vehicles that a token is limited to.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Scope {
    fleets: BTreeSet<String>,
    vehicles: BTreeSet<String>,
}

impl Scope {
    /// The scope of a token. One that is limited to vehicles sees these vehicles' fleets.
    pub fn of(token: &Token) -> Self {
        let vehicles: BTreeSet<String> = token.vehicles.iter().cloned().collect();
        let mut fleets: BTreeSet<String> = token.fleets.iter().cloned().collect();
        if fleets.is_empty() {
            fleets.extend(vehicles.iter().filter_map(|vehicle| fleet_of(vehicle)));
        }
        Self { fleets, vehicles }
    }

    /// Whether everything lies inside.
    pub fn is_everything(&self) -> bool {
        self.fleets.is_empty() && self.vehicles.is_empty()
    }

    /// Whether what lies in the fleet of `name` may lie inside.
    pub fn holds_fleet_of(&self, name: &str) -> bool {
        self.fleets.is_empty() || fleet_of(name).is_some_and(|fleet| self.fleets.contains(&fleet))
    }

    /// Whether a resource that belongs to `owners` is shown: one of these vehicles lies inside, or it belongs to none.
    pub fn shows(&self, name: &str, owners: &BTreeSet<String>) -> bool {
        self.holds_fleet_of(name)
            && (self.vehicles.is_empty()
                || owners.is_empty()
                || owners.iter().any(|owner| self.vehicles.contains(owner)))
    }

    /// Whether a resource is shown.
    pub fn shows_message(&self, name: &str, message: &impl ReflectMessage) -> bool {
        self.is_everything() || self.shows(name, &owners(name, &message.transcode_to_dynamic()))
    }

    /// Whether a resource that belongs to `owners`, before and after, may be changed.
    ///
    /// # Errors
    /// As if it did not exist when it lies outside; when it belongs to no vehicle and the token is limited to some.
    pub fn check_change(&self, name: &str, owners: &BTreeSet<String>) -> Result<(), AppError> {
        if !self.holds_fleet_of(name) {
            return Err(not_found(name));
        }
        if self.vehicles.is_empty() {
            return Ok(());
        }
        if owners.is_empty() {
            return Err(AppError::OutOfScope);
        }
        match owners.iter().all(|owner| self.vehicles.contains(owner)) {
            true => Ok(()),
            false => Err(not_found(name)),
        }
    }
}

impl App {
    /// Checks that everything a request names lies inside of `scope`.
    ///
    /// # Errors
    /// As if it did not exist when something lies outside; when the token is limited to vehicles, the method's
    /// answer is not limited by itself, and the request names nothing of them.
    pub async fn within_scope(&self, scope: &Scope, request: &impl ReflectMessage) -> Result<(), AppError> {
        if scope.is_everything() {
            return Ok(());
        }
        let request = request.transcode_to_dynamic();
        let mut names = BTreeSet::new();
        collect_names(&request, &mut names);
        if names.len() > NAMES_MAX {
            return Err(AppError::field(
                "",
                format!("must name at most {NAMES_MAX} resources"),
            ));
        }
        if let Some(outside) = names.iter().find(|name| !scope.holds_fleet_of(name)) {
            return Err(not_found(outside));
        }
        if scope.vehicles.is_empty() {
            return Ok(());
        }
        let mut own = false;
        let asked: Vec<String> = names.iter().cloned().collect();
        let rows = self.store().many(&asked).await?;
        for name in &names {
            let row = rows.iter().find(|row| row.name == *name);
            let owners = match row {
                Some(row) => owners_of_row(row)?,
                None => vehicle_of(name).into_iter().collect(),
            };
            if !scope.shows(name, &owners) {
                return Err(not_found(name));
            }
            own |= !owners.is_empty();
        }
        // A reference to something hidden must not read otherwise than one to nothing.
        let references = contract::references(&request);
        if let Some(dangling) = references
            .iter()
            .find(|one| rows.iter().all(|row| row.name != one.target))
        {
            return Err(not_found(&dangling.target));
        }
        match own || contract::is_shared(&request.descriptor()) {
            true => Ok(()),
            false => Err(AppError::OutOfScope),
        }
    }
}

/// The fleet that a request is about: that of the first resource it names.
pub fn fleet_named(request: &impl ReflectMessage) -> Option<String> {
    let mut names = BTreeSet::new();
    collect_names(&request.transcode_to_dynamic(), &mut names);
    names.first().and_then(|name| fleet_of(name))
}

impl Unit {
    /// Whatever a use case did on its way, it did not leave the caller's scope.
    ///
    /// # Errors
    /// As [`Scope::check_change`], for the first change that did.
    pub(super) fn check_scope(&self) -> Result<(), AppError> {
        let scope = &self.actor().scope;
        if scope.is_everything() {
            return Ok(());
        }
        for entry in &self.entries {
            let (before, after) = (entry.before.as_deref(), entry.after.as_deref());
            let owners = owners_of_change(&entry.resource, &entry.kind, before, after)?;
            scope.check_change(&entry.resource, &owners)?;
        }
        Ok(())
    }
}

/// The vehicles that a resource belongs to: the one it is or stands below, or those of its own field `vehicle` or `vehicles`.
pub(super) fn owners(name: &str, message: &DynamicMessage) -> BTreeSet<String> {
    if let Some(vehicle) = vehicle_of(name) {
        return BTreeSet::from([vehicle]);
    }
    let descriptor = message.descriptor();
    let fields = descriptor.fields().filter(|field| {
        ["vehicle", "vehicles"].contains(&field.name())
            && contract::targets(contract::rule(field)).any(|target| target == Vehicles::COLLECTION)
    });
    let mut found = BTreeSet::new();
    for field in fields {
        texts(&message.get_field(&field), &mut |text| {
            if !text.is_empty() {
                found.insert(text.to_owned());
            }
        });
    }
    found
}

/// The vehicles that a stored body belongs to.
///
/// # Errors
/// When it cannot be read.
pub(super) fn owners_of_body(name: &str, kind: &str, body: &[u8]) -> Result<BTreeSet<String>, AppError> {
    let corrupt = |source: Box<dyn std::error::Error + Send + Sync>| AppError::Corrupt {
        name: name.to_owned(),
        source,
    };
    let descriptor = MESSAGES
        .iter()
        .find(|(word, _)| *word == kind)
        .and_then(|(_, message)| DESCRIPTOR_POOL.get_message_by_name(message))
        .ok_or_else(|| corrupt(format!("unknown kind {kind:?}").into()))?;
    let message = DynamicMessage::decode(descriptor, body).map_err(|error| corrupt(Box::new(error)))?;
    Ok(owners(name, &message))
}

/// The vehicles that a change is about: those of the body before and of the body after.
///
/// # Errors
/// When a body cannot be read.
pub(super) fn owners_of_change(
    name: &str,
    kind: &str,
    before: Option<&[u8]>,
    after: Option<&[u8]>,
) -> Result<BTreeSet<String>, AppError> {
    let mut owners = BTreeSet::new();
    for body in before.into_iter().chain(after) {
        owners.extend(owners_of_body(name, kind, body)?);
    }
    Ok(owners)
}

fn owners_of_row(row: &Row) -> Result<BTreeSet<String>, AppError> {
    owners_of_body(&row.name, &row.kind, &row.body)
}

fn not_found(name: &str) -> AppError {
    AppError::NotFound {
        name: name.to_owned(),
    }
}

/// `fleets/f` of anything that begins so.
fn fleet_of(name: &str) -> Option<String> {
    let mut segments = name.split('/');
    match (segments.next(), segments.next()) {
        (Some("fleets"), Some(id)) => Some(format!("fleets/{id}")),
        _ => None,
    }
}

/// `fleets/f/vehicles/v` of anything that begins so.
fn vehicle_of(name: &str) -> Option<String> {
    let segments: Vec<&str> = name.split('/').take(4).collect();
    match segments.as_slice() {
        ["fleets", _, "vehicles", _] => Some(segments.join("/")),
        _ => None,
    }
}

/// Every text of a message, however deep, that is the name of a resource: whatever field it stands in, so that a
/// new field needs no thought.
fn collect_names(message: &DynamicMessage, names: &mut BTreeSet<String>) {
    for (_, value) in message.fields() {
        collect_from(value, names);
    }
}

fn collect_from(value: &Value, names: &mut BTreeSet<String>) {
    match value {
        Value::String(text) if is_name(text) => {
            names.insert(text.clone());
        }
        Value::Message(message) => collect_names(message, names),
        Value::List(values) => values.iter().for_each(|value| collect_from(value, names)),
        Value::Map(entries) => entries.values().for_each(|value| collect_from(value, names)),
        _ => {}
    }
}

fn is_name(text: &str) -> bool {
    text.starts_with("fleets/") && Name::new(text).is_ok() && name_of_any("", text).is_ok()
}

fn texts(value: &Value, visit: &mut impl FnMut(&str)) {
    match value {
        Value::String(text) => visit(text),
        Value::List(values) => values.iter().for_each(|value| texts(value, visit)),
        _ => {}
    }
}
