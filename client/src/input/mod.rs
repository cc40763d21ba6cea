//! Records as people write them: YAML or JSON files, and `FIELD=VALUE` on the command line.
//!
//! Beside the JSON form of the API this takes field names with underscores, enum values as words
//! (`grounding`), ids where names are asked for (`v1`), and plain values as facts (`torqued: yes`).

mod read;
mod yaml;

use std::io::Read;
use std::path::Path;
use std::{fs, io};

use ostler_proto::v1;
use prost_reflect::{DeserializeOptions, DynamicMessage, MessageDescriptor, ReflectMessage};
use serde_json::{Map, Value};

use crate::errors::{CliError, Fault};
use read::Reader;

/// A record, and which of its fields were written.
#[derive(Debug, Clone)]
pub(crate) struct Input {
    /// The record.
    pub message: DynamicMessage,
    /// Paths of the fields that were written, those that the server sets left out.
    pub paths: Vec<String>,
}

/// Fields that a change never names.
const IDENTITY: [&str; 4] = ["name", "etag", "create_time", "update_time"];

/// Reads the whole of a file, or of standard input for `-`.
///
/// # Errors
/// When it cannot be read.
pub(crate) fn read_bytes(path: &Path) -> Result<Vec<u8>, CliError> {
    let bytes = if path == Path::new("-") {
        let mut bytes = Vec::new();
        io::stdin().lock().read_to_end(&mut bytes).map(|_| bytes)
    } else {
        fs::read(path)
    };
    bytes.map_err(|source| CliError::File {
        doing: "read",
        path: path.to_owned(),
        source,
    })
}

/// Takes the file at `path` as a request; ids in it belong to `fleet`, which is empty where every record is named in full.
///
/// # Errors
/// When it cannot be read or holds something else; every fault is named.
pub(crate) fn request<M: ReflectMessage + Default>(path: &Path, fleet: &str) -> Result<M, CliError> {
    let message = from_file(path, &M::default().descriptor(), fleet)?.message;
    message.transcode_to().map_err(|error| CliError::Faulty {
        what: path.display().to_string(),
        faults: vec![Fault {
            field: String::new(),
            problem: error.to_string(),
        }],
    })
}

/// Takes the file at `path` as a record of `descriptor`; ids in it belong to `fleet`.
///
/// # Errors
/// When it cannot be read or holds something else; every fault is named.
pub(crate) fn from_file(path: &Path, descriptor: &MessageDescriptor, fleet: &str) -> Result<Input, CliError> {
    let bytes = read_bytes(path)?;
    let what = path.display().to_string();
    let faulty = |problem: String| CliError::Faulty {
        what: what.clone(),
        faults: vec![Fault {
            field: String::new(),
            problem,
        }],
    };
    let text = String::from_utf8(bytes).map_err(|_| faulty("must be text in UTF-8".to_owned()))?;
    let value = yaml::parse(&text).map_err(faulty)?;
    let Value::Object(fields) = &value else {
        return Err(faulty("must hold fields and their values".to_owned()));
    };
    let paths = fields
        .keys()
        .filter_map(|key| read::field(descriptor, key))
        .filter(|field| !IDENTITY.contains(&field.name()) && !read::rule(field).output_only)
        .map(|field| field.name().to_owned())
        .collect();
    Ok(Input {
        message: message(&what, &value, descriptor, fleet)?,
        paths,
    })
}

/// Takes `settings`, each `FIELD=VALUE`, as fields of a record of `descriptor`; ids in it belong to `fleet`.
///
/// # Errors
/// When one is not of that form, or names no field, or its value does not fit.
pub(crate) fn from_settings(
    settings: &[String],
    descriptor: &MessageDescriptor,
    fleet: &str,
) -> Result<Input, CliError> {
    let mut root = Map::new();
    let mut paths = Vec::new();
    let mut faults = Vec::new();
    for setting in settings {
        let Some((path, text)) = setting.split_once('=') else {
            faults.push(Fault {
                field: setting.clone(),
                problem: "must be FIELD=VALUE".to_owned(),
            });
            continue;
        };
        match read::setting(descriptor, path.trim(), text) {
            Ok((steps, value)) => {
                paths.push(steps.join("."));
                place(&mut root, &steps, value);
            }
            Err(problem) => faults.push(Fault {
                field: path.trim().to_owned(),
                problem,
            }),
        }
    }
    let what = "what --set gives".to_owned();
    if !faults.is_empty() {
        return Err(CliError::Faulty { what, faults });
    }
    Ok(Input {
        message: message(&what, &Value::Object(root), descriptor, fleet)?,
        paths,
    })
}

/// Puts `value` where `steps` lead; nothing for a field that is cleared.
fn place(root: &mut Map<String, Value>, steps: &[String], value: Value) {
    match steps {
        [] => {}
        [last] if value.is_null() => {
            root.remove(last);
        }
        [last] => {
            root.insert(last.clone(), value);
        }
        [first, rest @ ..] => {
            let inner = root
                .entry(first.clone())
                .or_insert_with(|| Value::Object(Map::new()));
            if let Value::Object(inner) = inner {
                place(inner, rest, value);
            }
        }
    }
}

fn message(
    what: &str,
    value: &Value,
    descriptor: &MessageDescriptor,
    fleet: &str,
) -> Result<DynamicMessage, CliError> {
    let faulty = |faults| CliError::Faulty {
        what: what.to_owned(),
        faults,
    };
    let mut reader = Reader::new(fleet);
    let value = reader.message(value, descriptor, "");
    if !reader.faults.is_empty() {
        return Err(faulty(reader.faults));
    }
    DynamicMessage::deserialize_with_options(descriptor.clone(), value, &DeserializeOptions::new()).map_err(
        |error| {
            faulty(vec![Fault {
                field: String::new(),
                problem: error.to_string(),
            }])
        },
    )
}

/// A fact as the command line writes it: yes, no, a number, `unknown`, or a text.
pub(crate) fn fact(text: &str) -> v1::Fact {
    use v1::fact::Value;
    let text = text.trim();
    let value = match text.to_lowercase().as_str() {
        "yes" | "true" => Some(Value::Yes(true)),
        "no" | "false" => Some(Value::Yes(false)),
        "unknown" | "" => None,
        _ => match text.parse::<f64>() {
            Ok(number) if number.is_finite() => Some(Value::Number(number)),
            _ => Some(Value::Text(text.to_owned())),
        },
    };
    v1::Fact { value }
}

#[cfg(test)]
mod tests;
