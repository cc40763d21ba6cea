//! `ostler list`, `show`, `create`, `change`, `delete`: the standard methods, alike for every kind.

use prost_reflect::{DynamicMessage, MethodDescriptor, ReflectMessage, Value};

use super::{Outcome, former_state};
use crate::cli::{ChangeArgs, CreateArgs, DeleteArgs, ListArgs, ShowArgs, WriteArgs};
use crate::dynamic;
use crate::errors::CliError;
use crate::flatten;
use crate::input::{self, Input};
use crate::kinds::{Kind, Methods};
use crate::output::{Block, Cell, Document, Records, Tone, count};
use crate::session::{Session, fleet_of, id_of, short};

/// Most records of one page.
const PAGE_SIZE: usize = 1000;

fn methods(kind: Kind) -> Result<Methods, CliError> {
    kind.methods().ok_or_else(|| CliError::Answer {
        problem: format!("the API has no {}", kind.word()),
    })
}

fn text(text: impl Into<String>) -> Value {
    Value::String(text.into())
}

/// Lists records.
pub(super) async fn list(session: &Session, args: &ListArgs) -> Result<Outcome, CliError> {
    let vehicle = match &args.vehicle {
        Some(vehicle) => Some(session.name(Kind::Vehicle, vehicle).await?),
        None => None,
    };
    let (parent, filter) = match (args.kind, vehicle) {
        (Kind::Fitment, Some(vehicle)) => (Some(vehicle), args.filter.clone()),
        (Kind::Fitment, None) => {
            return Err(CliError::Usage {
                problem: "fitments belong to a vehicle".to_owned(),
                hint: "say which with --vehicle".to_owned(),
            });
        }
        (Kind::Fleet, _) => (None, args.filter.clone()),
        (_, None) => (Some(session.fleet().await?), args.filter.clone()),
        (kind, Some(vehicle)) => {
            let condition = format!("vehicle = \"{vehicle}\"");
            let has_vehicle = methods(kind)?.resource.get_field_by_name("vehicle").is_some();
            if !has_vehicle {
                return Err(CliError::Usage {
                    problem: format!("a {} does not belong to a vehicle", kind.word()),
                    hint: "leave out --vehicle".to_owned(),
                });
            }
            (
                Some(fleet_of(&vehicle).to_owned()),
                joined(Some(condition), args.filter.clone()),
            )
        }
    };
    list_of(
        session,
        args.kind,
        parent,
        filter,
        args.limit.map_or(usize::MAX, |limit| limit as usize),
    )
    .await
}

/// Conditions joined by AND.
pub(super) fn joined(one: Option<String>, other: Option<String>) -> Option<String> {
    match (one, other) {
        (Some(one), Some(other)) => Some(format!("{one} AND {other}")),
        (one, other) => one.or(other),
    }
}

/// Lists at most `limit` records of `kind` below `parent` that pass `filter`, page by page.
pub(super) async fn list_of(
    session: &Session,
    kind: Kind,
    parent: Option<String>,
    filter: Option<String>,
    limit: usize,
) -> Result<Outcome, CliError> {
    let methods = methods(kind)?;
    let mut records: Vec<Value> = Vec::new();
    let mut page_token = String::new();
    loop {
        let page_size = PAGE_SIZE.min(limit - records.len());
        let mut fields = vec![
            ("page_size", Value::I32(page_size as i32)),
            ("page_token", text(page_token)),
        ];
        fields.extend(parent.as_ref().map(|parent| ("parent", text(parent.as_str()))));
        fields.extend(filter.as_ref().map(|filter| ("filter", text(filter.as_str()))));
        let request = dynamic::request(&methods.list, fields)?;
        let answer = dynamic::call(&session.connection, &methods.list, request).await?;
        if let Value::List(page) = answer.get_field(&methods.page).into_owned() {
            records.extend(page);
        }
        page_token = string_field(&answer, "next_page_token");
        if page_token.is_empty() || records.len() >= limit {
            break;
        }
    }
    let left_off = !page_token.is_empty();
    records.truncate(limit);
    let document = list_document(kind, &methods, records);
    let outcome = Outcome::document(document);
    Ok(if left_off {
        outcome.with_note("there are more: raise --limit to see them")
    } else {
        outcome
    })
}

fn string_field(message: &DynamicMessage, name: &str) -> String {
    message
        .get_field_by_name(name)
        .and_then(|value| value.as_str().map(str::to_owned))
        .unwrap_or_default()
}

fn list_document(kind: Kind, methods: &Methods, items: Vec<Value>) -> Document {
    let headers = flatten::headers(&methods.resource);
    let mut records = Records::new(headers.clone());
    for message in items.iter().filter_map(Value::as_message) {
        records.push(flatten::row(message));
    }
    let shown: Vec<_> = kind
        .columns()
        .iter()
        .filter_map(|column| headers.iter().position(|header| header == column))
        .collect();
    let mut table =
        Records::new(std::iter::once("id").chain(kind.columns().iter().map(|column| heading(column))));
    for row in &records.rows {
        let id = match row.first() {
            Some(Cell::Text(name)) => Cell::text(id_of(name)),
            _ => Cell::None(""),
        };
        let cells = shown
            .iter()
            .filter_map(|index| row.get(*index).cloned())
            .map(shortened);
        table.push(std::iter::once(id).chain(cells));
    }
    let total = count(items.len(), kind.word(), &plural(kind));
    let mut answer = DynamicMessage::new(methods.list.output());
    answer.set_field(&methods.page, Value::List(items));
    let mut blocks = vec![Block::Table(table), Block::Gap];
    if records.rows.is_empty() {
        blocks.clear();
    }
    blocks.push(Block::toned(0, Tone::Dim, total));
    Document::of_dynamic(answer, blocks, records)
}

fn plural(kind: Kind) -> String {
    match kind {
        Kind::Evidence => "pieces of evidence".to_owned(),
        kind => format!("{}s", kind.word()),
    }
}

/// The heading of a column for people: `unit_mass.mass_kg` reads `mass_kg`.
fn heading(column: &'static str) -> &'static str {
    column.rsplit('.').next().unwrap_or(column)
}

/// Names without their fleet.
fn shortened(cell: Cell) -> Cell {
    match cell {
        Cell::Text(name) if name.starts_with("fleets/") && !name.contains("; ") => Cell::text(short(&name)),
        other => other,
    }
}

/// Shows one record.
pub(super) async fn show(session: &Session, args: &ShowArgs) -> Result<Outcome, CliError> {
    let methods = methods(args.kind)?;
    let name = session.name(args.kind, &args.id).await?;
    if let Some(at) = &args.at {
        return former_state::show(session, &methods.resource, name, at).await;
    }
    let request = dynamic::request(&methods.get, [("name", text(name))])?;
    let answer = dynamic::call(&session.connection, &methods.get, request).await?;
    Ok(Outcome::document(record_document(None, &answer)))
}

/// A record, field by field.
pub(super) fn record_document(head: Option<&str>, message: &DynamicMessage) -> Document {
    let mut records = Records::new(flatten::headers(&message.descriptor()));
    records.push(flatten::row(message));
    let mut table = Records::new(["field", "value"]);
    for (path, cell) in flatten::leaves(message) {
        let shown = match shortened(cell) {
            // As text, so that the column stays aligned to the left.
            Cell::Number(value) => Cell::Text(value.to_string()),
            Cell::Count(value) => Cell::Text(value.to_string()),
            other => other,
        };
        table.push([Cell::Text(path), shown]);
    }
    let mut blocks = Vec::new();
    if let Some(head) = head {
        blocks.extend([Block::toned(0, Tone::Heading, head), Block::Gap]);
    }
    blocks.push(Block::Table(table));
    Document::of_dynamic(message.clone(), blocks, records)
}

/// A record that was written, under a line that says what was done.
pub(super) fn written(head: &str, message: &DynamicMessage, write: &WriteArgs) -> Result<Outcome, CliError> {
    let head = if write.dry_run {
        format!("{head} (dry run)")
    } else {
        head.to_owned()
    };
    Ok(Outcome::document(record_document(Some(&head), message)).after_writing(write))
}

fn write_fields(write: &WriteArgs) -> [(&'static str, Value); 2] {
    [
        ("request_id", text(write.request_id())),
        ("validate_only", Value::Bool(write.dry_run)),
    ]
}

/// Creates a record.
pub(super) async fn create(session: &Session, args: &CreateArgs) -> Result<Outcome, CliError> {
    let methods = methods(args.kind)?;
    let create = method(methods.create.as_ref(), args.kind, "created")?;
    let name = session.name(args.kind, &args.id).await?;
    let input = input::from_file(&args.file, &methods.resource, fleet_of(&name))?;
    let id_field = format!("{}_id", methods.field);
    let mut fields = vec![
        (id_field.as_str(), text(id_of(&name))),
        (methods.field.as_str(), Value::Message(input.message)),
    ];
    let parent = parent_of(&name);
    if args.kind != Kind::Fleet {
        fields.push(("parent", text(parent)));
    }
    fields.extend(write_fields(&args.write));
    let request = dynamic::request(create, fields)?;
    let answer = dynamic::call(&session.connection, create, request).await?;
    written(
        &format!("{} {} created", args.kind.word(), id_of(&name)),
        &answer,
        &args.write,
    )
}

/// What a record stands below: its name without the last collection and id.
fn parent_of(name: &str) -> &str {
    name.rmatch_indices('/')
        .nth(1)
        .and_then(|(index, _)| name.get(..index))
        .unwrap_or_default()
}

/// The method for what is to be done to a kind.
fn method<'a>(
    method: Option<&'a MethodDescriptor>,
    kind: Kind,
    done: &str,
) -> Result<&'a MethodDescriptor, CliError> {
    method.ok_or_else(|| CliError::Usage {
        problem: format!("a {} cannot be {done}", kind.word()),
        hint: "create another one under a new id instead".to_owned(),
    })
}

/// Changes fields of a record.
pub(super) async fn change(session: &Session, args: &ChangeArgs) -> Result<Outcome, CliError> {
    let methods = methods(args.kind)?;
    let update = method(methods.update.as_ref(), args.kind, "changed")?;
    let name = session.name(args.kind, &args.id).await?;
    let fleet = fleet_of(&name);
    let Input { mut message, paths } = match &args.file {
        Some(file) => input::from_file(file, &methods.resource, fleet)?,
        None => input::from_settings(&args.set, &methods.resource, fleet)?,
    };
    let unknown = |error| CliError::Answer {
        problem: format!("a record has no such field: {error}"),
    };
    message
        .try_set_field_by_name("name", text(name.as_str()))
        .map_err(unknown)?;
    if let Some(etag) = &args.etag {
        message
            .try_set_field_by_name("etag", text(etag.as_str()))
            .map_err(unknown)?;
    }
    let paths = if args.replace { vec!["*".to_owned()] } else { paths };
    let mut fields = vec![
        (methods.field.as_str(), Value::Message(message)),
        ("update_mask", Value::Message(mask(update, &paths)?)),
    ];
    fields.extend(write_fields(&args.write));
    let request = dynamic::request(update, fields)?;
    let answer = dynamic::call(&session.connection, update, request).await?;
    written(
        &format!("{} {} changed", args.kind.word(), id_of(&name)),
        &answer,
        &args.write,
    )
}

fn mask(update: &MethodDescriptor, paths: &[String]) -> Result<DynamicMessage, CliError> {
    let unknown = || CliError::Answer {
        problem: format!("{} takes no mask", update.name()),
    };
    let field = update
        .input()
        .get_field_by_name("update_mask")
        .ok_or_else(unknown)?;
    let kind = field.kind();
    let mut mask = DynamicMessage::new(kind.as_message().ok_or_else(unknown)?.clone());
    let list = paths.iter().map(|path| text(path.as_str())).collect();
    mask.try_set_field_by_name("paths", Value::List(list))
        .map_err(|_| unknown())?;
    Ok(mask)
}

/// Deletes a record.
pub(super) async fn delete(session: &Session, args: &DeleteArgs) -> Result<Outcome, CliError> {
    let methods = methods(args.kind)?;
    let delete = method(methods.delete.as_ref(), args.kind, "deleted")?;
    if args.force && delete.input().get_field_by_name("force").is_none() {
        return Err(CliError::Usage {
            problem: format!("nothing stands below a {}", args.kind.word()),
            hint: "leave out --force; what refers to it has to be changed first".to_owned(),
        });
    }
    let name = session.name(args.kind, &args.id).await?;
    let mut fields = vec![("name", text(name.as_str()))];
    fields.extend(args.etag.as_ref().map(|etag| ("etag", text(etag.as_str()))));
    if args.force {
        fields.push(("force", Value::Bool(true)));
    }
    fields.extend(write_fields(&args.write));
    let request = dynamic::request(delete, fields)?;
    let answer = dynamic::call(&session.connection, delete, request).await?;
    let mut records = Records::new(["name"]);
    records.push([Cell::text(name.as_str())]);
    let head = format!("{} {} deleted", args.kind.word(), id_of(&name));
    let head = if args.write.dry_run {
        format!("{head} (dry run)")
    } else {
        head
    };
    let blocks = vec![Block::toned(0, Tone::Heading, head)];
    let document = Document::of_dynamic(answer, blocks, records);
    Ok(Outcome::document(document).after_writing(&args.write))
}

#[cfg(test)]
#[path = "resource_tests.rs"]
mod tests;
