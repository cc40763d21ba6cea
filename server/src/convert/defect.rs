//! Defects.

use ostler_core::record::{AcceptedCondition, Defect, Disposition, Name, Severity};
use ostler_proto::v1;

use super::{Converted, Within, by_id, date, missing, name as resource_name, names, optional_date};

/// A defect. One without a disposition, as in a request, is an open one.
pub(crate) fn defect(name: Name, message: v1::Defect) -> Converted<Defect> {
    let v1::Defect {
        name: _,
        etag: _,
        create_time: _,
        update_time: _,
        vehicle,
        description,
        severity,
        disposition,
        found_date,
        accepted_condition: condition,
        fix,
        fixed_date,
        related,
        proposal,
        measurements,
        closing_evidence,
        caused_by,
    } = message;
    let severity = match v1::DefectSeverity::try_from(severity) {
        Ok(v1::DefectSeverity::Minor) => Severity::Minor,
        Ok(v1::DefectSeverity::Restricting) => Severity::Restricting,
        Ok(v1::DefectSeverity::Grounding) => Severity::Grounding,
        Ok(v1::DefectSeverity::Unspecified) | Err(_) => return Err(missing("severity")),
    };
    let disposition = match v1::DefectDisposition::try_from(disposition) {
        Ok(v1::DefectDisposition::Fixed) => Disposition::Fixed {
            fix,
            fixed_date: optional_date("fixed_date", &fixed_date)?,
            evidence: names("closing_evidence", closing_evidence)?,
        },
        Ok(v1::DefectDisposition::Accepted) => {
            let condition = condition.ok_or_else(|| missing("accepted_condition"))?;
            Disposition::Accepted(accepted_condition(condition).within("accepted_condition")?)
        }
        Ok(v1::DefectDisposition::Open | v1::DefectDisposition::Unspecified) | Err(_) => Disposition::Open,
    };
    Ok(Defect {
        name,
        vehicle: resource_name("vehicle", vehicle)?,
        description,
        severity,
        disposition,
        found_date: optional_date("found_date", &found_date)?,
        related: names("related", related)?,
        caused_by: names("caused_by", caused_by)?,
        proposal,
        measurements: by_id("measurements", measurements, Ok)?,
    })
}

pub(crate) fn accepted_condition(message: v1::AcceptedCondition) -> Converted<AcceptedCondition> {
    let v1::AcceptedCondition {
        condition,
        owner,
        check_interval,
        accepted_by,
        accepted_date,
    } = message;
    let accepted_date = date("accepted_date", &accepted_date)?;
    Ok(AcceptedCondition {
        condition,
        owner,
        check_interval,
        accepted_by,
        accepted_date,
    })
}

pub(crate) fn accepted_condition_message(condition: AcceptedCondition) -> v1::AcceptedCondition {
    let AcceptedCondition {
        condition,
        owner,
        check_interval,
        accepted_by,
        accepted_date,
    } = condition;
    v1::AcceptedCondition {
        condition,
        owner,
        check_interval,
        accepted_by,
        accepted_date: accepted_date.to_string(),
    }
}
