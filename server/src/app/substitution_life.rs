//! Steps in the life of a substitution: an assessment kept, an interface settled, approval, proof, undoing.

use ostler_core::check::Violation;
use ostler_core::fit::{self, LifeStep};
use ostler_core::proof;
use ostler_core::record::Name;
use ostler_proto::v1;

use super::kinds::{Substitutions, Vehicles, name_of};
use super::standard::check_etag;
use super::stored::utc_date;
use super::substitutions::{FreshAssessment, put, step};
use super::unit::Unit;
use super::{App, AppError, Call};
use crate::convert::assessment::kept_message;
use crate::convert::names;

impl App {
    /// Assesses a substitution that is not in yet and keeps the assessment; an approval lapses.
    ///
    /// # Errors
    /// When it is fitted or withdrawn.
    pub async fn keep_assessment(
        &self,
        call: &Call,
        request: v1::KeepAssessmentRequest,
    ) -> Result<v1::Substitution, AppError> {
        self.write(call, async |unit: &mut Unit| keep(unit, request).await)
            .await
    }

    /// Settles one interface of a substitution. What settled it before in the same way is replaced.
    ///
    /// # Errors
    /// When it is withdrawn, or the slot or the measured value does not belong to it.
    pub async fn settle_interface(
        &self,
        call: &Call,
        request: v1::SettleInterfaceRequest,
    ) -> Result<v1::Substitution, AppError> {
        self.write(call, async |unit: &mut Unit| settle(unit, request).await)
            .await
    }

    /// Approves an assessed substitution.
    ///
    /// # Errors
    /// When it is not assessed, an interface clashes or is not known, or the record says something else
    /// than the kept assessment.
    pub async fn approve_substitution(
        &self,
        call: &Call,
        request: v1::ApproveSubstitutionRequest,
    ) -> Result<v1::Substitution, AppError> {
        self.write(call, async |unit: &mut Unit| approve(unit, request).await)
            .await
    }

    /// Names the evidence that proves a fitted substitution.
    ///
    /// # Errors
    /// When it is not fitted, or the evidence does not prove it.
    pub async fn prove_substitution(
        &self,
        call: &Call,
        request: v1::ProveSubstitutionRequest,
    ) -> Result<v1::Substitution, AppError> {
        self.write(call, async |unit: &mut Unit| prove(unit, request).await)
            .await
    }

    /// Undoes a fitting: the old parts are in their slots again.
    ///
    /// # Errors
    /// When it is not fitted, or something else went into one of its slots since.
    pub async fn undo_fitting(
        &self,
        call: &Call,
        request: v1::UndoFittingRequest,
    ) -> Result<v1::Substitution, AppError> {
        self.write(call, async |unit: &mut Unit| undo(unit, request).await)
            .await
    }
}

pub(super) async fn keep(
    unit: &mut Unit,
    request: v1::KeepAssessmentRequest,
) -> Result<v1::Substitution, AppError> {
    let v1::KeepAssessmentRequest {
        name,
        etag,
        request_id: _,
        validate_only: _,
    } = request;
    let (stored, mut substitution) = step(unit, &name, &etag, LifeStep::Assess).await?;
    let fresh = FreshAssessment::within(unit, &stored).await?;
    let date = utc_date(unit.time());
    substitution.kept_assessment = Some(kept_message(&fresh.assessment, date, fresh.record_version));
    substitution.approved_by.clear();
    substitution.approved_date.clear();
    unit.update(&stored, substitution, "assess").await
}

pub(super) async fn settle(
    unit: &mut Unit,
    request: v1::SettleInterfaceRequest,
) -> Result<v1::Substitution, AppError> {
    let v1::SettleInterfaceRequest {
        name,
        etag,
        settlement,
        request_id: _,
        validate_only: _,
    } = request;
    let name = name_of::<Substitutions>("name", &name)?;
    let stored = unit.get::<Substitutions>(&name).await?;
    check_etag(&stored, &etag)?;
    let mut substitution = stored.message.clone();
    if substitution.state() == v1::SubstitutionState::Withdrawn {
        return Err(AppError::WrongState {
            name: name.to_string(),
            problem: "is withdrawn: record another one".to_owned(),
        });
    }
    let settlement = settlement.unwrap_or_default();
    substitution.settlements.retain(|old| !same(old, &settlement));
    substitution.settlements.push(settlement);
    unit.update(&stored, substitution, "settle").await
}

pub(super) async fn approve(
    unit: &mut Unit,
    request: v1::ApproveSubstitutionRequest,
) -> Result<v1::Substitution, AppError> {
    let v1::ApproveSubstitutionRequest {
        name,
        etag,
        approved_by,
        approved_date,
        request_id: _,
        validate_only: _,
    } = request;
    let (stored, mut substitution) = step(unit, &name, &etag, LifeStep::Approve).await?;
    let fresh = FreshAssessment::within(unit, &stored).await?;
    check_approvable(&name, &fresh)?;
    substitution.approved_by = approved_by;
    substitution.approved_date = approved_date;
    unit.update(&stored, substitution, "approve").await
}

pub(super) async fn prove(
    unit: &mut Unit,
    request: v1::ProveSubstitutionRequest,
) -> Result<v1::Substitution, AppError> {
    let v1::ProveSubstitutionRequest {
        name,
        etag,
        evidence,
        request_id: _,
        validate_only: _,
    } = request;
    check_evidence(unit, &evidence).await?;
    let (stored, mut substitution) = step(unit, &name, &etag, LifeStep::Prove).await?;
    let fresh = FreshAssessment::within(unit, &stored).await?;
    let named: Vec<Name> = names("evidence", evidence.clone())?;
    if let Some(vehicle) = fresh.read.record.vehicles.get(&fresh.substitution.vehicle) {
        proof::check_proof(&fresh.read.record, vehicle, &fresh.substitution, &named)?;
    }
    substitution.proven_by = evidence;
    unit.update(&stored, substitution, "prove").await
}

pub(super) async fn undo(
    unit: &mut Unit,
    request: v1::UndoFittingRequest,
) -> Result<v1::Substitution, AppError> {
    let v1::UndoFittingRequest {
        name,
        etag,
        undone_date,
        request_id: _,
        validate_only: _,
    } = request;
    let (stored, mut substitution) = step(unit, &name, &etag, LifeStep::Undo).await?;
    let vehicle = name_of::<Vehicles>("substitution.vehicle", &substitution.vehicle)?;
    for replacement in &stored.message.replacements {
        let before = stored
            .message
            .outgoing_fitments
            .iter()
            .find(|outgoing| outgoing.slot == replacement.slot);
        let fitment = v1::Fitment {
            part: before.map_or_else(|| replacement.outgoing_part.clone(), |before| before.part.clone()),
            fitted_date: match (undone_date.as_str(), before) {
                ("", Some(before)) => before.fitted_date.clone(),
                _ => undone_date.clone(),
            },
            ..v1::Fitment::default()
        };
        let was = put(unit, &vehicle, &replacement.slot, fitment, "undo").await?;
        if was.substitution != stored.message.name {
            return Err(AppError::WrongState {
                name: stored.message.name.clone(),
                problem: format!("cannot be undone: something else is in {} now", replacement.slot),
            });
        }
    }
    substitution.fitted_date.clear();
    substitution.proven_by.clear();
    substitution.outgoing_fitments.clear();
    substitution.old_parts_place.clear();
    unit.update(&stored, substitution, "undo").await
}

/// Whether two settlements settle the same interface in the same way.
fn same(left: &v1::Settlement, right: &v1::Settlement) -> bool {
    let measures = |settlement: &v1::Settlement| {
        settlement.measured_on_part.is_some() || settlement.measured_on_vehicle.is_some()
    };
    left.slot == right.slot
        && left.interface_kind == right.interface_kind
        && measures(left) == measures(right)
}

fn check_approvable(name: &str, fresh: &FreshAssessment) -> Result<(), AppError> {
    let changes = fresh.changes();
    if !changes.is_empty() {
        let changes: Vec<String> = changes
            .iter()
            .map(|change| {
                let before = if change.before.is_empty() {
                    "not asked"
                } else {
                    &change.before
                };
                let now = if change.now.is_empty() {
                    "not asked"
                } else {
                    &change.now
                };
                format!(
                    "{}, {}: {before} became {now}",
                    change.slot, change.interface_kind
                )
            })
            .collect();
        return Err(AppError::AssessmentOutdated {
            name: name.to_owned(),
            changes: changes.join("; "),
        });
    }
    let open = fit::unsettled(&fresh.assessment);
    if open.is_empty() {
        Ok(())
    } else {
        Err(AppError::NotSettled {
            name: name.to_owned(),
            open: open.join("; "),
        })
    }
}

/// Refuses evidence that is not on record.
async fn check_evidence(unit: &mut Unit, evidence: &[String]) -> Result<(), AppError> {
    let rows = unit.backing().many(evidence).await?;
    let missing = evidence
        .iter()
        .enumerate()
        .filter(|(_, name)| !rows.iter().any(|row| row.name == **name))
        .map(|(index, name)| Violation {
            field: format!("evidence[{index}]"),
            problem: format!("refers to {name}, which does not exist"),
        });
    AppError::if_any(missing.collect())
}
