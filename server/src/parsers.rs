//! Everything here that reads bytes from outside, in one list, so that fuzzing and tests reach all of it.
//!
//! A new parser is a new line in [`PARSERS`]. Whatever the bytes, each must end, without a panic and in bounded time and
//! memory, and what it accepts must say the same when it is written and read again.

use std::str::FromStr;

use ostler_core::record::{
    FactDeclaration, FactType, Id, Name, RuleCategory, RuleGate, RulePack, RuleSource, RuleTopic,
};
use ostler_core::rules;
use ostler_core::tyres::{BoltCircle, Designation, StudThread};
use ostler_proto::DESCRIPTOR_POOL;
use prost_reflect::DynamicMessage;

use crate::app;
use crate::http_json;

/// What became of some bytes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Outcome {
    /// They were refused.
    Refused,
    /// They were read, and written and read again they said the same.
    Accepted,
}

/// What was read says something else once it is written and read again.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("what was read became different by writing it: {what}")]
pub struct Unfaithful {
    /// What became different.
    pub what: String,
}

/// A parser of bytes from outside.
#[derive(Debug, Clone, Copy)]
pub struct Parser {
    /// What it reads.
    pub name: &'static str,
    /// Reads the bytes, and when they are accepted, writes and reads them again.
    pub read: fn(&[u8]) -> Result<Outcome, Unfaithful>,
    /// Inputs to start from.
    pub seeds: &'static [&'static [u8]],
}

/// All of them.
pub const PARSERS: &[Parser] = &[
    Parser {
        name: "fleet_file",
        read: app::fleet_file_reads,
        seeds: &[
            b"fleet_file: 1\nfleet: { id: a, display_name: A }\n",
            b"fleet_file: 1\nfleet:\n  id: a\n  display_name: A\nparts:\n  p: {display_name: P, kind: seal, figures: {lip_mm: 52.0}}\n",
            b"a: &x [1, 2]\nb: *x\n",
        ],
    },
    Parser {
        name: "cargo_list",
        read: app::cargo_list_reads,
        seeds: &[
            b"id,display_name,vehicle,zone,quantity,unit_mass_kg,mass_provenance\nc1,\"water, can\",v1,bed,2,20.5,weighed\n",
            b"id,display_name,vehicle,zone,quantity,unit_mass_kg,mass_provenance,mass_tolerance_kg,x_mm,y_mm,z_mm,category,restraint_method,restraint_capacity_forward_n,consumed,critical,hazard,shared_with,pinned\nc1,\"water, can\",v1,bed,2,20.5,weighed,0.1,3050,100,650,water,strap,1176.8,,true,,v3 v4,\n",
            b"id;display_name\r\nc1;'=1+1\r\n",
        ],
    },
    Parser {
        name: "json_body",
        read: json_body,
        seeds: &[
            b"{\"fleet\":{\"displayName\":\"A\",\"fluidDensities\":[{\"fluid\":\"FLUID_DIESEL\",\"densityKgPerL\":0.84}]},\"fleetId\":\"a\"}",
            b"{\"fleet\":{\"createTime\":\"2027-01-01T00:00:00.5Z\"},\"validateOnly\":true}",
            b"{\"flet\":{}}",
        ],
    },
    Parser {
        name: "page_token",
        read: app::page_token_reads,
        seeds: &[b"AQ", b"AQAAAAAAAAAAZmxlZXRz"],
    },
    Parser {
        name: "resume_token",
        read: app::resume_token_reads,
        seeds: &[b"AQ"],
    },
    Parser {
        name: "expression",
        read: expression,
        seeds: &[
            b"yes && size >= 2.5",
            b"!(kind == 'a' || kind in ['b', 'c']) ? size < 3.0 : yes",
            b"(size + 1.0) * 2.0 > 7.0 - size",
            b"nowhere > 1.0",
        ],
    },
    Parser {
        name: "tyre_designation",
        read: by_text::<Designation>,
        seeds: &[
            b"265/75R16 123/120Q",
            b"LT285/75R16 122/119R",
            b"33x12.50R15LT 108Q",
            b"7.50-16 8PR 116/114L",
            b"7.50R16C",
            b"265/75",
        ],
    },
    Parser {
        name: "stud_thread",
        read: by_text::<StudThread>,
        seeds: &[b"M14x1.5", b"9/16-18", b"M12 x 1.25", b"thick"],
    },
    Parser {
        name: "bolt_circle",
        read: by_text::<BoltCircle>,
        seeds: &[b"6x139.7", b"5x165.1", b"8 x 6.5 in", b"six"],
    },
];

fn by_text<T: FromStr + std::fmt::Display + PartialEq>(bytes: &[u8]) -> Result<Outcome, Unfaithful> {
    let Ok(text) = str::from_utf8(bytes) else {
        return Ok(Outcome::Refused);
    };
    let Ok(read) = text.parse::<T>() else {
        return Ok(Outcome::Refused);
    };
    let written = read.to_string();
    match written.parse::<T>() {
        Ok(again) if again == read => Ok(Outcome::Accepted),
        _ => Err(Unfaithful {
            what: format!("{text:?} is written as {written:?}"),
        }),
    }
}

fn json_body(bytes: &[u8]) -> Result<Outcome, Unfaithful> {
    let Some(input) = DESCRIPTOR_POOL.get_message_by_name("ostler.v1.CreateFleetRequest") else {
        return Ok(Outcome::Refused);
    };
    let Ok(encoded) = http_json::from_json(bytes, &input) else {
        return Ok(Outcome::Refused);
    };
    let unfaithful = |what: String| Unfaithful { what };
    let read = DynamicMessage::decode(input.clone(), encoded.clone())
        .map_err(|error| unfaithful(error.to_string()))?;
    let written = serde_json::to_vec(&read).map_err(|error| unfaithful(error.to_string()))?;
    match http_json::from_json(&written, &input) {
        Ok(again) if again == encoded => Ok(Outcome::Accepted),
        _ => Err(unfaithful(String::from_utf8_lossy(&written).into_owned())),
    }
}

/// A pack whose one topic has the expression and its opposite as categories.
fn expression(bytes: &[u8]) -> Result<Outcome, Unfaithful> {
    let Ok(source) = str::from_utf8(bytes) else {
        return Ok(Outcome::Refused);
    };
    let Some(pack) = pack_of(source) else {
        return Ok(Outcome::Refused);
    };
    match rules::check_pack(pack) {
        Ok(_) => Ok(Outcome::Accepted),
        Err(_) => Ok(Outcome::Refused),
    }
}

fn pack_of(source: &str) -> Option<RulePack> {
    let id = |text: &str| Id::new(text).ok();
    let fact = |text: &str, fact_type| {
        Some(FactDeclaration {
            id: id(text)?,
            fact_type,
            question: "what is it?".to_owned(),
            from_record: None,
        })
    };
    let category = |text: &str, when: String| {
        Some(RuleCategory {
            id: id(text)?,
            display_name: "a".to_owned(),
            when,
            demands: Vec::new(),
            source: RuleSource {
                text: "nowhere".to_owned(),
                seen: "invented".to_owned(),
            },
        })
    };
    Some(RulePack {
        name: Name::new("fleets/a/rulePacks/a").ok()?,
        display_name: "a".to_owned(),
        jurisdiction: "a".to_owned(),
        version: "1".to_owned(),
        effective_date: jiff::civil::date(2027, 1, 1),
        facts: vec![
            fact("yes", FactType::YesNo)?,
            fact("size", FactType::Number)?,
            fact("kind", FactType::Text)?,
        ],
        topics: vec![RuleTopic {
            id: id("a")?,
            display_name: "a".to_owned(),
            gate: RuleGate::Rules,
            categories: vec![
                category("is", source.to_owned())?,
                category("is-not", format!("!({source})"))?,
            ],
        }],
        caution: String::new(),
    })
}
