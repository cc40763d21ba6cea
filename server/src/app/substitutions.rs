//! The life of a substitution: recorded, fitted, withdrawn; and how its parts fit.

use ostler_core::fit as fitting;
use ostler_core::record::{Id, Name};
use ostler_proto::v1;

use super::kinds::{Fitments, Fleets, Kind, Substitutions, Vehicles, name_of};
use super::standard::{check_etag, fresh, new_name};
use super::stored::{Stored, decode};
use super::unit::Unit;
use super::{App, AppError, Call};
use crate::contract::{self, Presence};
use crate::convert;

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

    /// Says that the parts of a proposed substitution are in.
    ///
    /// # Errors
    /// When it is not proposed.
    pub async fn fit_substitution(
        &self,
        call: &Call,
        request: v1::FitSubstitutionRequest,
    ) -> Result<v1::Substitution, AppError> {
        self.write(call, async |unit: &mut Unit| fit(unit, request).await)
            .await
    }

    /// Withdraws a proposed substitution.
    ///
    /// # Errors
    /// When it is not proposed.
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
        let vehicle = name_of::<Vehicles>("substitution.vehicle", &message.vehicle)?;
        let read = self.read_vehicle(&vehicle).await?;
        let Some(known) = read.record.vehicles.get(&vehicle) else {
            return Err(AppError::NotFound {
                name: vehicle.to_string(),
            });
        };
        let mut substitution = Substitutions::record(name, message)?;
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
        Ok(convert::assessment::assessment_message(assessment, recorded))
    }
}

pub(super) async fn record(
    unit: &mut Unit,
    request: v1::RecordSubstitutionRequest,
) -> Result<v1::Substitution, AppError> {
    let name = new_name::<Substitutions>(&request.parent, &request.substitution_id)?;
    let mut substitution = fresh::<Substitutions>(request.substitution)?;
    complete_outgoing(unit, &mut substitution).await?;
    if !substitution.supersedes.is_empty() {
        withdraw_superseded(unit, &substitution).await?;
    }
    let fitted = !substitution.fitted_date.is_empty();
    if fitted {
        substitution.set_state(v1::SubstitutionState::Fitted);
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
    } = request;
    let fitted = end_proposal(unit, &name, &etag, "fit", |substitution| {
        substitution.set_state(v1::SubstitutionState::Fitted);
        substitution.fitted_date = fitted_date;
    })
    .await?;
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
    end_proposal(unit, &name, &etag, "withdraw", |substitution| {
        substitution.set_state(v1::SubstitutionState::Withdrawn);
    })
    .await
}

/// Takes a substitution out of the state of being proposed.
async fn end_proposal(
    unit: &mut Unit,
    name: &str,
    etag: &str,
    action: &'static str,
    change: impl FnOnce(&mut v1::Substitution),
) -> Result<v1::Substitution, AppError> {
    let name = name_of::<Substitutions>("name", name)?;
    let stored = proposed(unit, &name).await?;
    check_etag(&stored, etag)?;
    let mut substitution = stored.message.clone();
    change(&mut substitution);
    unit.update(&stored, substitution, action).await
}

async fn proposed(unit: &mut Unit, name: &Name) -> Result<Stored<Substitutions>, AppError> {
    let stored = unit.get::<Substitutions>(name).await?;
    if stored.message.state() == v1::SubstitutionState::Proposed {
        Ok(stored)
    } else {
        Err(AppError::WrongState {
            name: name.to_string(),
            problem: "is not proposed any more".to_owned(),
        })
    }
}

/// Fills in the parts that come out, from what is fitted now.
async fn complete_outgoing(unit: &mut Unit, substitution: &mut v1::Substitution) -> Result<(), AppError> {
    let vehicle = name_of::<Vehicles>("substitution.vehicle", &substitution.vehicle)?;
    let open = |replacement: &&mut v1::Replacement| replacement.outgoing_part.is_empty();
    let fitment = |slot: &str| {
        Id::new(slot)
            .ok()
            .map(|slot| vehicle.child(Fitments::COLLECTION, &slot).to_string())
    };
    let names: Vec<String> = substitution
        .replacements
        .iter_mut()
        .filter(open)
        .filter_map(|replacement| fitment(&replacement.slot))
        .collect();
    if names.is_empty() {
        return Ok(());
    }
    let rows = unit.backing().many(&names).await?;
    for replacement in substitution.replacements.iter_mut().filter(open) {
        let name = fitment(&replacement.slot);
        if let Some(row) = rows.iter().find(|row| Some(&row.name) == name.as_ref()) {
            replacement.outgoing_part = decode::<Fitments>(row.clone())?.message.part;
        }
    }
    Ok(())
}

async fn withdraw_superseded(unit: &mut Unit, substitution: &v1::Substitution) -> Result<(), AppError> {
    let name = name_of::<Substitutions>("substitution.supersedes", &substitution.supersedes)?;
    let stored = proposed(unit, &name).await?;
    if stored.message.vehicle != substitution.vehicle {
        return Err(AppError::field(
            "substitution.supersedes",
            "must be a substitution of the same vehicle",
        ));
    }
    let mut superseded = stored.message.clone();
    superseded.set_state(v1::SubstitutionState::Withdrawn);
    unit.update(&stored, superseded, "supersede").await?;
    Ok(())
}

/// Puts the parts of a substitution into its slots.
async fn fit_parts(unit: &mut Unit, substitution: &v1::Substitution) -> Result<(), AppError> {
    let vehicle = name_of::<Vehicles>("substitution.vehicle", &substitution.vehicle)?;
    for replacement in &substitution.replacements {
        let slot = Id::new(replacement.slot.clone()).map_err(|refused| refused.within("substitution"))?;
        let name = vehicle.child(Fitments::COLLECTION, &slot);
        let row = unit.backing().get(&name).await?;
        let fitment = v1::Fitment {
            part: replacement.incoming_part.clone(),
            fitted_date: substitution.fitted_date.clone(),
            substitution: substitution.name.clone(),
            ..v1::Fitment::default()
        };
        match row {
            Some(row) => {
                let stored = decode::<Fitments>(row)?;
                unit.update(&stored, fitment, "fit").await?;
            }
            None => {
                unit.create::<Fitments>(&name, fitment, "fit").await?;
            }
        }
    }
    Ok(())
}
