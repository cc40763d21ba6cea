//! The standard methods, once for all kinds of resources.

use ostler_core::check::InvalidInput;
use ostler_core::record::{Id, Name};
use ostler_store::List;
use prost_reflect::ReflectMessage;

use super::filter::Filter;
use super::kinds::{Identity, Kind, name_of, parent_of};
use super::scope::Scope;
use super::stored::{Stored, decode};
use super::unit::Unit;
use super::{App, AppError, Call, page};
use crate::contract;

/// Rows read at a time while a filter looks for matches.
const BATCH: u32 = 500;

/// Most rows that one page of a filtered list looks at.
const SCAN_MAX: usize = 20_000;

/// A page of a list.
#[derive(Debug)]
pub struct Page<M> {
    /// The results.
    pub items: Vec<M>,
    /// Token of the next page; empty: this was the last.
    pub next_page_token: String,
}

/// What a list request asks for.
#[derive(Debug, Clone, Copy)]
pub struct ListCall<'a> {
    /// Name of the parent; empty for fleets.
    pub parent: &'a str,
    /// Most results.
    pub page_size: i32,
    /// Token of the page before.
    pub page_token: &'a str,
    /// Conditions.
    pub filter: &'a str,
    /// What the list is limited to.
    pub scope: &'a Scope,
}

impl App {
    /// Reads a resource.
    ///
    /// # Errors
    /// When the name is not one of the kind or nothing has it.
    pub async fn get<K: Kind>(&self, name: &str) -> Result<K::Message, AppError> {
        Ok(self.stored::<K>(&name_of::<K>("name", name)?).await?.message)
    }

    /// Reads a resource with its row.
    ///
    /// # Errors
    /// When nothing has the name.
    pub async fn stored<K: Kind>(&self, name: &Name) -> Result<Stored<K>, AppError> {
        let row = self.store.get(name).await?;
        decode(row.ok_or_else(|| AppError::NotFound {
            name: name.to_string(),
        })?)
    }

    /// Lists resources in order of their names.
    ///
    /// # Errors
    /// When the parent does not exist, or the token or the filter is not valid.
    pub async fn list<K: Kind>(&self, call: ListCall<'_>) -> Result<Page<K::Message>, AppError> {
        let parent = parent_of::<K>("parent", call.parent)?;
        let filter = Filter::parse(&K::Message::default().descriptor(), call.filter)?;
        let list = format!("{} {} {}", K::WORD, call.parent, call.filter);
        let mut after = page::last(&list, call.page_token)?;
        if let Some(parent) = &parent
            && self.store.get(parent).await?.is_none()
        {
            return Err(AppError::NotFound {
                name: parent.to_string(),
            });
        }
        let size = page::size(call.page_size);
        let limit = if filter.is_empty() && call.scope.is_everything() {
            u32::try_from(size).unwrap_or(BATCH) + 1
        } else {
            BATCH
        };
        let mut items = Vec::new();
        let mut scanned = 0;
        loop {
            let rows = self
                .store
                .list(&List {
                    kind: K::WORD,
                    parent: parent.as_deref(),
                    after: after.as_deref(),
                    limit,
                })
                .await?;
            let last = rows.len() < limit as usize;
            for row in rows {
                if items.len() == size || scanned == SCAN_MAX {
                    // After a full page the token names what was shown, never what was left out.
                    let shown = items.last().map(|last: &K::Message| last.name());
                    let resume = shown.filter(|_| items.len() == size).or(after.as_deref());
                    let next_page_token = page::token(&list, resume.unwrap_or_default());
                    return Ok(Page {
                        items,
                        next_page_token,
                    });
                }
                scanned += 1;
                after = Some(row.name.clone());
                let message = decode::<K>(row)?.message;
                if !call.scope.shows_message(message.name(), &message) {
                    continue;
                }
                if filter.is_empty() || filter.passes(&message.transcode_to_dynamic()) {
                    items.push(message);
                }
            }
            if last {
                return Ok(Page {
                    items,
                    next_page_token: String::new(),
                });
            }
        }
    }

    /// Creates a resource.
    ///
    /// # Errors
    /// When it exists, its parent does not, or it is not valid.
    pub async fn create<K: Kind>(
        &self,
        call: &Call,
        parent: &str,
        id: &str,
        message: Option<K::Message>,
    ) -> Result<K::Message, AppError> {
        self.write(call, async |unit: &mut Unit| {
            create::<K>(unit, parent, id, message).await
        })
        .await
    }

    /// Changes a resource.
    ///
    /// # Errors
    /// When it does not exist, was changed in between, or the change is not valid.
    pub async fn update<K: Kind>(
        &self,
        call: &Call,
        message: Option<K::Message>,
        mask: Option<&[String]>,
    ) -> Result<K::Message, AppError> {
        self.write(call, async |unit: &mut Unit| {
            update::<K>(unit, message, mask).await
        })
        .await
    }

    /// Deletes a resource.
    ///
    /// # Errors
    /// When it does not exist, was changed in between, or is in use.
    pub async fn delete<K: Kind>(
        &self,
        call: &Call,
        name: &str,
        etag: &str,
        force: bool,
    ) -> Result<(), AppError> {
        self.write(call, async |unit: &mut Unit| {
            delete::<K>(unit, name, etag, force).await
        })
        .await
    }
}

pub(super) async fn create<K: Kind>(
    unit: &mut Unit,
    parent: &str,
    id: &str,
    message: Option<K::Message>,
) -> Result<K::Message, AppError> {
    let name = new_name::<K>(parent, id)?;
    let mut message = fresh::<K>(message)?;
    K::complete(unit, &mut message).await?;
    unit.create::<K>(&name, message, "create").await
}

pub(super) async fn update<K: Kind>(
    unit: &mut Unit,
    message: Option<K::Message>,
    mask: Option<&[String]>,
) -> Result<K::Message, AppError> {
    let change = message.unwrap_or_default();
    let name = name_of::<K>(&format!("{}.name", K::FIELD), change.name())?;
    let stored = unit.get::<K>(&name).await?;
    check_etag(&stored, change.etag())?;
    let merged = merged::<K>(&stored.message, &change, mask)?;
    unit.update(&stored, merged, "update").await
}

pub(super) async fn delete<K: Kind>(
    unit: &mut Unit,
    name: &str,
    etag: &str,
    force: bool,
) -> Result<(), AppError> {
    let name = name_of::<K>("name", name)?;
    let stored = unit.get::<K>(&name).await?;
    check_etag(&stored, etag)?;
    unit.delete(&stored, force).await
}

/// Takes a step in the life of a `K`: the stored one as `change` makes it.
///
/// # Errors
/// When it does not exist, was changed in between, or `change` refuses.
pub(super) async fn step<K: Kind>(
    unit: &mut Unit,
    name: &str,
    etag: &str,
    action: &'static str,
    change: impl FnOnce(&Stored<K>) -> Result<K::Message, AppError>,
) -> Result<K::Message, AppError> {
    let name = name_of::<K>("name", name)?;
    let stored = unit.get::<K>(&name).await?;
    check_etag(&stored, etag)?;
    let changed = change(&stored)?;
    unit.update(&stored, changed, action).await
}

/// The refusal of a step that the state of a `K` does not allow; `problem` is a predicate.
pub(super) fn wrong_state<K: Kind>(stored: &Stored<K>, problem: &str) -> AppError {
    AppError::WrongState {
        name: stored.name.to_string(),
        problem: problem.to_owned(),
    }
}

/// The name of a new `K`.
///
/// # Errors
/// When the parent or the id is not valid.
pub fn new_name<K: Kind>(parent: &str, id: &str) -> Result<Name, AppError> {
    let parent = parent_of::<K>("parent", parent)?;
    let id = Id::new(id).map_err(|refused| refused.within(&format!("{}_id", K::FIELD)))?;
    Ok(match parent {
        Some(parent) => parent.child(K::COLLECTION, &id),
        None => Name::new(format!("{}/{id}", K::COLLECTION))?,
    })
}

/// A new `K` from a request: what only the server sets is cleared and begun.
///
/// # Errors
/// When the request holds none.
pub fn fresh<K: Kind>(message: Option<K::Message>) -> Result<K::Message, AppError> {
    let message = message.ok_or_else(|| AppError::field(K::FIELD, "must be set"))?;
    let mut dynamic = contract::dynamic(&message);
    contract::clear_output_only(&mut dynamic);
    let mut message: K::Message = transcode::<K>(&dynamic)?;
    K::begin(&mut message);
    Ok(message)
}

/// `current` with the changes that a request asks for.
///
/// # Errors
/// When the mask is not valid or an immutable field would change.
pub fn merged<K: Kind>(
    current: &K::Message,
    change: &K::Message,
    mask: Option<&[String]>,
) -> Result<K::Message, AppError> {
    let before = contract::dynamic(current);
    let after = contract::merge(&before, &contract::dynamic(change), mask)?;
    if let Some(field) = contract::unchangeable(&before, &after).first() {
        return Err(AppError::field(
            format!("{}.{field}", K::FIELD),
            "cannot be changed once set",
        ));
    }
    let after = transcode::<K>(&after)?;
    let violations = K::guard(current, &after);
    if violations.is_empty() {
        Ok(after)
    } else {
        Err(InvalidInput { violations }.within(K::FIELD).into())
    }
}

fn transcode<K: Kind>(dynamic: &prost_reflect::DynamicMessage) -> Result<K::Message, AppError> {
    dynamic.transcode_to().map_err(|error| AppError::Corrupt {
        name: K::WORD.to_owned(),
        source: Box::new(error),
    })
}

/// Refuses an etag that is not the current one.
///
/// # Errors
/// When it is set and differs.
pub fn check_etag<K: Kind>(stored: &Stored<K>, etag: &str) -> Result<(), AppError> {
    if etag.is_empty() || etag == stored.message.etag() {
        Ok(())
    } else {
        Err(AppError::Stale {
            name: stored.name.to_string(),
        })
    }
}
