//! What becomes of a defect: accepted with conditions, or fixed.

use ostler_core::proof::check_closing;
use ostler_proto::v1;

use super::kinds::{Defects, EvidenceRecords, Kind, name_of};
use super::standard::{step, wrong_state};
use super::stored::Stored;
use super::unit::Unit;
use super::{App, AppError, Call};

impl App {
    /// Accepts an open defect with conditions.
    ///
    /// # Errors
    /// When it is not open, or grounds the vehicle.
    pub async fn accept_defect(
        &self,
        call: &Call,
        request: v1::AcceptDefectRequest,
    ) -> Result<v1::Defect, AppError> {
        self.write(call, async |unit: &mut Unit| accept(unit, request).await)
            .await
    }

    /// Says that a defect is fixed.
    ///
    /// # Errors
    /// When it is fixed already, or the evidence does not show it.
    pub async fn fix_defect(
        &self,
        call: &Call,
        request: v1::FixDefectRequest,
    ) -> Result<v1::Defect, AppError> {
        self.write(call, async |unit: &mut Unit| fix(unit, request).await)
            .await
    }
}

pub(super) async fn accept(
    unit: &mut Unit,
    request: v1::AcceptDefectRequest,
) -> Result<v1::Defect, AppError> {
    let v1::AcceptDefectRequest {
        name,
        etag,
        accepted_condition,
        request_id: _,
        validate_only: _,
    } = request;
    step(unit, &name, &etag, "accept", |stored: &Stored<Defects>| {
        let mut defect = stored.message.clone();
        if defect.severity() == v1::DefectSeverity::Grounding {
            return Err(wrong_state(
                stored,
                "grounds the vehicle, so it cannot be accepted: fix it",
            ));
        }
        if defect.disposition() != v1::DefectDisposition::Open {
            return Err(wrong_state(stored, "is not open"));
        }
        defect.set_disposition(v1::DefectDisposition::Accepted);
        defect.accepted_condition = accepted_condition;
        Ok(defect)
    })
    .await
}

pub(super) async fn fix(unit: &mut Unit, request: v1::FixDefectRequest) -> Result<v1::Defect, AppError> {
    let v1::FixDefectRequest {
        name,
        etag,
        fix,
        fixed_date,
        request_id: _,
        validate_only: _,
        evidence,
    } = request;
    let mut named = Vec::with_capacity(evidence.len());
    for (index, text) in evidence.iter().enumerate() {
        let evidence = name_of::<EvidenceRecords>(&format!("evidence[{index}]"), text)?;
        let stored = unit.get::<EvidenceRecords>(&evidence).await?;
        named.push(EvidenceRecords::record(stored.name, stored.message)?);
    }
    step(unit, &name, &etag, "fix", |stored: &Stored<Defects>| {
        let mut defect = stored.message.clone();
        if defect.disposition() == v1::DefectDisposition::Fixed {
            return Err(wrong_state(stored, "is fixed already"));
        }
        check_closing(
            &Defects::record(stored.name.clone(), stored.message.clone())?,
            &named,
        )?;
        defect.set_disposition(v1::DefectDisposition::Fixed);
        defect.accepted_condition = None;
        defect.fix = fix;
        defect.fixed_date = fixed_date;
        defect.closing_evidence = evidence;
        Ok(defect)
    })
    .await
}
