//! What becomes of a defect: accepted with conditions, or fixed.

use ostler_proto::v1;

use super::kinds::{Defects, name_of};
use super::standard::check_etag;
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
    /// When it is fixed already.
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
    change(unit, &name, &etag, "accept", |stored| {
        let mut defect = stored.message.clone();
        if defect.severity() == v1::DefectSeverity::Grounding {
            return Err(wrong(
                stored,
                "grounds the vehicle, so it cannot be accepted: fix it",
            ));
        }
        if defect.disposition() != v1::DefectDisposition::Open {
            return Err(wrong(stored, "is not open"));
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
    } = request;
    change(unit, &name, &etag, "fix", |stored| {
        let mut defect = stored.message.clone();
        if defect.disposition() == v1::DefectDisposition::Fixed {
            return Err(wrong(stored, "is fixed already"));
        }
        defect.set_disposition(v1::DefectDisposition::Fixed);
        defect.accepted_condition = None;
        defect.fix = fix;
        defect.fixed_date = fixed_date;
        Ok(defect)
    })
    .await
}

async fn change(
    unit: &mut Unit,
    name: &str,
    etag: &str,
    action: &'static str,
    change: impl FnOnce(&Stored<Defects>) -> Result<v1::Defect, AppError>,
) -> Result<v1::Defect, AppError> {
    let name = name_of::<Defects>("name", name)?;
    let stored = unit.get::<Defects>(&name).await?;
    check_etag(&stored, etag)?;
    let changed = change(&stored)?;
    unit.update(&stored, changed, action).await
}

fn wrong(stored: &Stored<Defects>, problem: &str) -> AppError {
    AppError::WrongState {
        name: stored.name.to_string(),
        problem: problem.to_owned(),
    }
}
