//! The description of the API's plain HTTP form as an OpenAPI document, made from the descriptors.
//!
//! OpenAPI 3.1 (spec.openapis.org, from memory; the tests hold the document against its published schema), whose schemas are
//! JSON Schema 2020-12. Ranges, lengths and required fields are those of `contract.proto`, comments those of the proto
//! files. Methods that stream are left out: plain HTTP does not reach them.

mod comments;
mod schema;

use ostler_proto::{DESCRIPTOR_POOL, v1};
use prost_reflect::{MethodDescriptor, ReflectMessage as _, ServiceDescriptor};
use serde_json::{Map, Value, json};

use crate::access::role_word;
use crate::{contract, release};

/// The document.
pub fn document() -> Value {
    let services: Vec<ServiceDescriptor> = DESCRIPTOR_POOL
        .services()
        .filter(|service| service.full_name().starts_with("ostler."))
        .collect();
    let tags: Vec<Value> = services
        .iter()
        .map(|service| {
            json!({
                "name": service.name(),
                "description": comments::of(&service.parent_file(), service.path()),
            })
        })
        .collect();
    let paths: Map<String, Value> = services
        .iter()
        .flat_map(|service| service.methods().collect::<Vec<_>>())
        .filter(|method| !method.is_client_streaming() && !method.is_server_streaming())
        .map(|method| {
            let path = format!("/{}/{}", method.parent_service().full_name(), method.name());
            (path.clone(), json!({ "post": operation(&method, &path) }))
        })
        .collect();
    json!({
        "openapi": "3.1.0",
        "info": {
            "title": "ostler.v1",
            "version": release::VERSION,
            "description": "The record of a fleet being prepared and what is computed from it. Each method is a POST of one \
                            JSON message; fields that are left out have no value. A computed result is an aid: it replaces \
                            neither a weighbridge, an engineer's approval nor local law.",
            "license": { "name": env!("CARGO_PKG_LICENSE") },
        },
        "servers": [{ "url": "/" }],
        "tags": tags,
        "security": [{ "token": [] }],
        "paths": paths,
        "components": {
            "securitySchemes": { "token": { "type": "http", "scheme": "bearer" } },
            "responses": { "Refused": refused() },
            "schemas": schemas(&services),
        },
    })
}

fn operation(method: &MethodDescriptor, path: &str) -> Value {
    let comment = comments::of(&method.parent_service().parent_file(), method.path());
    let body = |message: &str| json!({ "application/json": { "schema": schema::reference(message) } });
    let role = contract::access_role(path).map(role_word);
    json!({
        "operationId": format!("{}.{}", method.parent_service().name(), method.name()),
        "tags": [method.parent_service().name()],
        "description": comment,
        "x-weakest-role": role,
        "requestBody": { "required": true, "content": body(method.input().full_name()) },
        "responses": {
            "200": { "description": "Done.", "content": body(method.output().full_name()) },
            "default": { "$ref": "#/components/responses/Refused" },
        },
    })
}

/// The answer that is not one: the error form of the Connect protocol.
fn refused() -> Value {
    json!({
        "description": "Refused; nothing was written.",
        "content": { "application/json": { "schema": {
            "type": "object",
            "required": ["code", "message"],
            "properties": {
                "code": { "type": "string", "description": "The canonical code, such as `invalid_argument`." },
                "message": { "type": "string", "description": "What is wrong, for people." },
                "details": {
                    "type": "array",
                    "description": "An `ErrorInfo` with a reason of `ErrorReason`, and every violation with its field's path.",
                    "items": {
                        "type": "object",
                        "required": ["type", "value"],
                        "properties": {
                            "type": { "type": "string", "description": "Full name of the detail's message." },
                            "value": { "type": "string", "description": "The message, in base64 without padding." },
                            "debug": { "type": "object", "description": "The same, to read." },
                        },
                    },
                },
            },
        } } },
    })
}

/// The JSON Schema of a load sheet in its JSON form, as files of it are written.
pub fn load_sheet_schema() -> Value {
    let mut schemas = schema::Schemas::default();
    let sheet = v1::LoadSheet::default().descriptor();
    schemas.add_message(&sheet);
    let mut defs = Value::Object(schemas.into_map());
    // What is never left out: every other field is absent while it has no value.
    defs[sheet.full_name()]["required"] = json!([
        "departure",
        "departureDate",
        "vehicle",
        "recordVersion",
        "loads",
        "verdict",
        "cautions",
        "returnDate",
        "departureVerdict",
    ]);
    schema::move_references(&mut defs, "#/components/schemas/", "#/$defs/");
    json!({
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Load sheet of ostler.v1",
        "$ref": format!("#/$defs/{}", sheet.full_name()),
        "$defs": defs,
    })
}

/// The schemas of all messages and enumerations that the methods reach.
fn schemas(services: &[ServiceDescriptor]) -> Map<String, Value> {
    let mut schemas = schema::Schemas::default();
    for method in services.iter().flat_map(ServiceDescriptor::methods) {
        if !method.is_client_streaming() && !method.is_server_streaming() {
            schemas.add_message(&method.input());
            schemas.add_message(&method.output());
        }
    }
    schemas.into_map()
}

#[cfg(test)]
mod tests {
    use super::load_sheet_schema;

    /// The file in the tree is the schema that the program prints.
    #[test]
    fn the_published_schema_of_a_load_sheet_is_this_one() {
        let file = include_str!("../../sheet/load-sheet.schema.json");
        let published: serde_json::Value = serde_json::from_str(file).unwrap();
        assert!(
            published == load_sheet_schema(),
            "write it anew: ostlerd describe --load-sheet > server/sheet/load-sheet.schema.json"
        );
    }
}
