//! The life of a substitution: recorded, fitted, withdrawn; and how its parts fit.

use ostler_core::fit::{self as fitting, AssessmentChange, LifeStep, SubstitutionAssessment};
use ostler_core::record::{Id, Name, Substitution};
use ostler_proto::v1;

use super::kinds::{Fitments, Fleets, Kind, Substitutions, Vehicles, name_of};
use super::record::Read;
use super::standard::{check_etag, fresh, new_name};
use super::stored::{Stored, decode};
use super::unit::Unit;
use super::{App, AppError, Call, references};
use crate::contract::{self, Presence};
use crate::convert;
use crate::convert::substitution::{state_message, state_of};

impl App {
    /// Records a substitution, proposed or already fitted.
    ///
    /// # Errors
    /// When it exists, is not valid, or supersedes one that is not proposed.
    pub async fn record_substitution(
        &self,
        call: &Call,
        request: v1::RecordSubstitutionRequest,
    ) -> Result<v1::Substitution, AppError> {
        self.write(call, async |unit: &mut Unit| record(unit, request).await)
            .await
    }

    /// Says that the parts of an approved substitution are in.
    ///
    /// # Errors
    /// When it is not approved.
    pub async fn fit_substitution(
        &self,
        call: &Call,
        request: v1::FitSubstitutionRequest,
    ) -> Result<v1::Substitution, AppError> {
        self.write(call, async |unit: &mut Unit| fit(unit, request).await)
            .await
    }

    /// Withdraws a substitution that is not in.
    ///
    /// # Errors
    /// When it is fitted or withdrawn.
    pub async fn withdraw_substitution(
        &self,
        call: &Call,
        request: v1::WithdrawSubstitutionRequest,
    ) -> Result<v1::Substitution, AppError> {
        self.write(call, async |unit: &mut Unit| withdraw(unit, request).await)
            .await
    }

    /// Assesses how the parts of a substitution fit.
    ///
    /// # Errors
    /// When the substitution or its vehicle does not exist.
    pub async fn assess_substitution(
        &self,
        request: v1::AssessSubstitutionRequest,
    ) -> Result<v1::SubstitutionAssessment, AppError> {
        let v1::AssessSubstitutionRequest { subject, parent } = request;
        let (name, message) = match subject {
            None => return Err(AppError::field("name", "or `substitution` must be set")),
            Some(v1::assess_substitution_request::Subject::Name(name)) => {
                let name = name_of::<Substitutions>("name", &name)?;
                let stored = self.stored::<Substitutions>(&name).await?;
                (name, stored.message)
            }
            Some(v1::assess_substitution_request::Subject::Substitution(message)) => {
                contract::check_within("substitution", &message, Presence::Full)?;
                let fleet = name_of::<Fleets>("parent", &parent)?;
                self.stored::<Fleets>(&fleet).await?;
                let name = fleet.child(Substitutions::COLLECTION, &Id::new("unrecorded")?);
                self.check_references::<Substitutions>(&name, &message).await?;
                (name, message)
            }
        };
        let recorded = !message.name.is_empty();
        let fresh = self.fresh_assessment(name, message).await?;
        let changes = fresh.changes();
        Ok(convert::assessment::assessment_message(
            fresh.assessment,
            recorded,
            fresh.record_version,
            changes,
        ))
    }

    /// Assesses a substitution on the record as it is now.
    ///
    /// # Errors
    /// When its vehicle does not exist, or it names what is not on record.
    async fn fresh_assessment(
        &self,
        name: Name,
        message: v1::Substitution,
    ) -> Result<FreshAssessment, AppError> {
        let vehicle = name_of::<Vehicles>("substitution.vehicle", &message.vehicle)?;
        FreshAssessment::of(self.read_vehicle(&vehicle).await?, name, message)
    }
}

pub(super) async fn record(
    unit: &mut Unit,
    request: v1::RecordSubstitutionRequest,
) -> Result<v1::Substitution, AppError> {
    let name = new_name::<Substitutions>(&request.parent, &request.substitution_id)?;
    let mut substitution = fresh::<Substitutions>(request.substitution)?;
    look_ahead(unit, &name, &substitution).await?;
    complete_outgoing(unit, &mut substitution).await?;
    if !substitution.supersedes.is_empty() {
        withdraw_superseded(unit, &substitution).await?;
    }
    let fitted = !substitution.fitted_date.is_empty();
    if fitted {
        substitution.set_state(v1::SubstitutionState::Fitted);
        substitution.outgoing_fitments = in_slots(unit, &substitution).await?;
    }
    let created = unit
        .create::<Substitutions>(&name, substitution, "record")
        .await?;
    if fitted {
        fit_parts(unit, &created).await?;
    }
    Ok(created)
}

pub(super) async fn fit(
    unit: &mut Unit,
    request: v1::FitSubstitutionRequest,
) -> Result<v1::Substitution, AppError> {
    let v1::FitSubstitutionRequest {
        name,
        etag,
        fitted_date,
        request_id: _,
        validate_only: _,
        old_parts_place,
    } = request;
    let (stored, mut substitution) = step(unit, &name, &etag, LifeStep::Fit).await?;
    substitution.fitted_date = fitted_date;
    if !old_parts_place.is_empty() {
        substitution.old_parts_place = old_parts_place;
    }
    substitution.outgoing_fitments = in_slots(unit, &substitution).await?;
    let fitted = unit.update(&stored, substitution, "fit").await?;
    fit_parts(unit, &fitted).await?;
    Ok(fitted)
}

pub(super) async fn withdraw(
    unit: &mut Unit,
    request: v1::WithdrawSubstitutionRequest,
) -> Result<v1::Substitution, AppError> {
    let v1::WithdrawSubstitutionRequest {
        name,
        etag,
        request_id: _,
        validate_only: _,
    } = request;
    let (stored, substitution) = step(unit, &name, &etag, LifeStep::Withdraw).await?;
    unit.update(&stored, substitution, "withdraw").await
}

/// An assessment and what it was made from.
pub(super) struct FreshAssessment {
    pub(super) assessment: SubstitutionAssessment,
    pub(super) record_version: String,
    pub(super) substitution: Substitution,
    pub(super) read: Read,
}

impl FreshAssessment {
    /// Assesses a stored substitution on the record as it is in `unit`.
    ///
    /// # Errors
    /// When its vehicle does not exist, or it names what is not on record.
    pub(super) async fn within(unit: &mut Unit, stored: &Stored<Substitutions>) -> Result<Self, AppError> {
        let vehicle = name_of::<Vehicles>("substitution.vehicle", &stored.message.vehicle)?;
        let read = unit.read_vehicle(&vehicle).await?;
        Self::of(read, stored.name.clone(), stored.message.clone())
    }

    fn of(read: Read, name: Name, message: v1::Substitution) -> Result<Self, AppError> {
        let mut substitution = Substitutions::record(name, message)?;
        let Some(known) = read.record.vehicles.get(&substitution.vehicle) else {
            return Err(AppError::NotFound {
                name: substitution.vehicle.to_string(),
            });
        };
        for replacement in &mut substitution.replacements {
            if replacement.outgoing_part.is_none() {
                replacement.outgoing_part = known
                    .fitments
                    .get(&replacement.slot)
                    .and_then(|fitment| fitment.part.clone());
            }
        }
        let assessment = fitting::assess(&read.record, known, &substitution)
            .map_err(|refused| refused.within("substitution"))?;
        Ok(Self {
            record_version: read.version(),
            assessment,
            substitution,
            read,
        })
    }

    /// What it says differently from the kept one.
    pub(super) fn changes(&self) -> Vec<AssessmentChange> {
        let kept = self.substitution.life.kept_assessment.as_ref();
        kept.map_or_else(Vec::new, |kept| fitting::changes_since(kept, &self.assessment))
    }
}

/// Takes a step in the life of a substitution: the stored one, and the one to store, in its new state.
///
/// # Errors
/// When the step is not allowed, or the etag is another.
pub(super) async fn step(
    unit: &mut Unit,
    name: &str,
    etag: &str,
    step: LifeStep,
) -> Result<(Stored<Substitutions>, v1::Substitution), AppError> {
    let name = name_of::<Substitutions>("name", name)?;
    let stored = unit.get::<Substitutions>(&name).await?;
    check_etag(&stored, etag)?;
    let mut substitution = stored.message.clone();
    let approved = !substitution.approved_by.is_empty();
    let now = state_of(substitution.state);
    let state = fitting::state_after(now, step, approved).map_err(|problem| AppError::WrongState {
        name: name.to_string(),
        problem: problem.to_owned(),
    })?;
    substitution.set_state(state_message(state));
    Ok((stored, substitution))
}

/// Reads in one question what recording a substitution asks for: what it names, and what is fitted now with the parts of it.
async fn look_ahead(unit: &mut Unit, name: &Name, substitution: &v1::Substitution) -> Result<(), AppError> {
    let fitted: Vec<String> = fitment_names(substitution)?.into_iter().flatten().collect();
    let mut names = references::targets(&contract::references(substitution));
    names.extend(name.parent().map(String::from));
    names.extend(fitted.iter().cloned());
    unit.look_ahead(&names, &fitted).await
}

/// The fitment that each replacement is about; none where its slot is no id.
fn fitment_names(substitution: &v1::Substitution) -> Result<Vec<Option<String>>, AppError> {
    let vehicle = name_of::<Vehicles>("substitution.vehicle", &substitution.vehicle)?;
    let names = substitution.replacements.iter().map(|replacement| {
        let slot = Id::new(replacement.slot.clone()).ok()?;
        Some(vehicle.child(Fitments::COLLECTION, &slot).to_string())
    });
    Ok(names.collect())
}

/// What is fitted now in the slot of each replacement.
async fn fitted_now(
    unit: &mut Unit,
    substitution: &v1::Substitution,
) -> Result<Vec<Option<v1::Fitment>>, AppError> {
    let names = fitment_names(substitution)?;
    let asked: Vec<String> = names.iter().flatten().cloned().collect();
    let rows = unit.rows(&asked).await?;
    let fitted = names.into_iter().map(|name| {
        let row = rows.iter().find(|row| Some(&row.name) == name.as_ref());
        row.map(|row| Ok(decode::<Fitments>(row.clone())?.message))
            .transpose()
    });
    fitted.collect()
}

/// Fills in the parts that come out, from what is fitted now.
async fn complete_outgoing(unit: &mut Unit, substitution: &mut v1::Substitution) -> Result<(), AppError> {
    let fitted = fitted_now(unit, substitution).await?;
    for (replacement, fitment) in substitution.replacements.iter_mut().zip(fitted) {
        if let Some(fitment) = fitment
            && replacement.outgoing_part.is_empty()
        {
            replacement.outgoing_part = fitment.part;
        }
    }
    Ok(())
}

async fn withdraw_superseded(unit: &mut Unit, substitution: &v1::Substitution) -> Result<(), AppError> {
    let (stored, superseded) = step(unit, &substitution.supersedes, "", LifeStep::Withdraw).await?;
    if stored.message.vehicle != substitution.vehicle {
        return Err(AppError::field(
            "substitution.supersedes",
            "must be a substitution of the same vehicle",
        ));
    }
    unit.update(&stored, superseded, "supersede").await?;
    Ok(())
}

/// What is in the slots of a substitution now.
async fn in_slots(
    unit: &mut Unit,
    substitution: &v1::Substitution,
) -> Result<Vec<v1::OutgoingFitment>, AppError> {
    let fitted = fitted_now(unit, substitution).await?;
    let outgoing = substitution.replacements.iter().zip(fitted);
    let outgoing = outgoing.filter_map(|(replacement, fitment)| {
        let fitment = fitment?;
        Some(v1::OutgoingFitment {
            slot: replacement.slot.clone(),
            part: fitment.part,
            fitted_date: fitment.fitted_date,
        })
    });
    Ok(outgoing.collect())
}

/// Puts the parts of a substitution into its slots.
async fn fit_parts(unit: &mut Unit, substitution: &v1::Substitution) -> Result<(), AppError> {
    let vehicle = name_of::<Vehicles>("substitution.vehicle", &substitution.vehicle)?;
    for replacement in &substitution.replacements {
        let fitment = v1::Fitment {
            part: replacement.incoming_part.clone(),
            fitted_date: substitution.fitted_date.clone(),
            substitution: substitution.name.clone(),
            ..v1::Fitment::default()
        };
        put(unit, &vehicle, &replacement.slot, fitment, "fit").await?;
    }
    Ok(())
}

/// Sets the fitment of a slot and returns the one before; an empty one when there was none.
pub(super) async fn put(
    unit: &mut Unit,
    vehicle: &Name,
    slot: &str,
    fitment: v1::Fitment,
    action: &'static str,
) -> Result<v1::Fitment, AppError> {
    let slot = Id::new(slot).map_err(|refused| refused.within("substitution"))?;
    let name = vehicle.child(Fitments::COLLECTION, &slot);
    match unit.backing().get(&name).await? {
        Some(row) => {
            let stored = decode::<Fitments>(row)?;
            unit.update(&stored, fitment, action).await?;
            Ok(stored.message)
        }
        None => {
            unit.create::<Fitments>(&name, fitment, action).await?;
            Ok(v1::Fitment::default())
        }
    }
}
