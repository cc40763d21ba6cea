//! Evidence.

use ostler_core::record::{Evidence, EvidenceKind, EvidenceResult, Name};
use ostler_proto::v1;

use super::common::facts;
use super::{Converted, id, missing, names, optional_date, optional_name};

pub(crate) fn evidence(name: Name, message: v1::Evidence) -> Converted<Evidence> {
    let v1::Evidence {
        name: _,
        etag: _,
        create_time: _,
        update_time: _,
        display_name,
        kind,
        vehicle,
        topic,
        regulated_items,
        result,
        reference,
        issued_date,
        valid_until_date,
        facts: known,
        carried,
        note,
    } = message;
    let result = match v1::EvidenceResult::try_from(result) {
        Ok(v1::EvidenceResult::Passed) => EvidenceResult::Passed,
        Ok(v1::EvidenceResult::Failed) => EvidenceResult::Failed,
        Ok(v1::EvidenceResult::Pending) => EvidenceResult::Pending,
        Ok(v1::EvidenceResult::Unspecified) | Err(_) => return Err(missing("result")),
    };
    Ok(Evidence {
        name,
        display_name,
        kind: evidence_kind(kind)?,
        vehicle: optional_name("vehicle", vehicle)?,
        topic: id("topic", topic)?,
        regulated_items: names("regulated_items", regulated_items)?,
        result,
        reference,
        issued_date: optional_date("issued_date", &issued_date)?,
        valid_until_date: optional_date("valid_until_date", &valid_until_date)?,
        facts: facts("facts", known)?,
        carried,
        note,
    })
}

fn evidence_kind(value: i32) -> Converted<EvidenceKind> {
    use v1::EvidenceKind as Message;
    Ok(match Message::try_from(value) {
        Ok(Message::Certificate) => EvidenceKind::Certificate,
        Ok(Message::Test) => EvidenceKind::Test,
        Ok(Message::Measurement) => EvidenceKind::Measurement,
        Ok(Message::Inspection) => EvidenceKind::Inspection,
        Ok(Message::Document) => EvidenceKind::Document,
        Ok(Message::ShopRecord) => EvidenceKind::ShopRecord,
        Ok(Message::Unspecified) | Err(_) => return Err(missing("kind")),
    })
}
