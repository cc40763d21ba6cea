//! Several changes at once: what they would make of the verdict, and done as one.
//!
//! Both run the same work of the same use cases on a unit; only what the unit stands on differs.

use std::collections::BTreeSet;

use ostler_core::readiness::{self, Readiness, differences};
use ostler_proto::v1;
use ostler_proto::v1::change::Change as Kind;
use prost_reflect::ReflectMessage;

use super::backing::{Backing, RecordCopy};
use super::kinds::{
    AwaitedParts, CargoItems, Defects, Departures, EvidenceRecords, Fitments, Jobs, Parts, RegulatedItems,
    Vehicles, Weighings, Workshops, name_of,
};
use super::requests::{Create, Delete, Update};
use super::unit::Unit;
use super::{
    Actor, App, AppError, Call, acceptances, defects, jobs, standard, substitution_life, substitutions,
};
use crate::contract::{self, Presence};
use crate::convert;

impl App {
    /// Says what changes would make of a departure's readiness. Nothing is written.
    ///
    /// # Errors
    /// When a change is refused as it would be when it is made, its path before the fields.
    pub async fn assess_changes(
        &self,
        actor: Actor,
        request: v1::AssessChangesRequest,
    ) -> Result<v1::AssessChangesResponse, AppError> {
        let v1::AssessChangesRequest { departure, changes } = request;
        let departure = name_of::<Departures>("departure", &departure)?;
        let before = self.assessed(&departure, None).await?;
        let copy = RecordCopy::of(self.store().clone());
        let mut unit = Unit::on(Backing::Copy(copy), actor, self);
        apply_all(&mut unit, changes).await?;
        let (record, departure) = unit.read_departure(&departure).await?;
        let after = self.assess_readiness(record, departure).await?;
        Ok(response(&before.readiness, &after, before.read.version()))
    }

    /// Makes changes, all of them or none.
    ///
    /// # Errors
    /// When one is refused, its path before the fields.
    pub async fn apply_changes(
        &self,
        call: &Call,
        request: v1::ApplyChangesRequest,
    ) -> Result<v1::ApplyChangesResponse, AppError> {
        let v1::ApplyChangesRequest { parent, changes, .. } = request;
        let fleet = name_of::<super::kinds::Fleets>("parent", &parent)?;
        self.write(call, async |unit: &mut Unit| {
            unit.get::<super::kinds::Fleets>(&fleet).await?;
            apply_all(unit, changes).await?;
            let changed: BTreeSet<String> = unit.entries.iter().map(|entry| entry.resource.clone()).collect();
            let below = format!("{fleet}/");
            if let Some(stranger) = changed.iter().find(|name| !name.starts_with(&below)) {
                return Err(AppError::field(
                    "changes",
                    format!("change {stranger}, which belongs to another fleet"),
                ));
            }
            Ok(v1::ApplyChangesResponse {
                changed: changed.into_iter().collect(),
            })
        })
        .await
    }
}

fn response(before: &Readiness, after: &Readiness, record_version: String) -> v1::AssessChangesResponse {
    v1::AssessChangesResponse {
        verdict_before: convert::readiness::verdict_message(before.verdict).into(),
        verdict_after: convert::readiness::verdict_message(after.verdict).into(),
        gates: differences(before, after)
            .into_iter()
            .map(convert::readiness::gate_change_message)
            .collect(),
        record_version,
        caution: readiness::CAUTION.to_owned(),
    }
}

async fn apply_all(unit: &mut Unit, changes: Vec<v1::Change>) -> Result<(), AppError> {
    for (index, change) in changes.into_iter().enumerate() {
        let path = format!("changes[{index}]");
        let change = change
            .change
            .ok_or_else(|| AppError::field(&*path, "must be set"))?;
        // On the heap: a change may be of any kind.
        Box::pin(apply(unit, change, &path)).await?;
    }
    Ok(())
}

/// Says for each change which work makes it.
macro_rules! dispatch {
    ($unit:ident, $change:ident, $path:ident,
     create: [$($create:ident => $create_kind:ident),* $(,)?],
     update: [$($update:ident => $update_kind:ident),* $(,)?],
     delete: [$($delete:ident => $delete_kind:ident),* $(,)?],
     own: [$($own:ident => $work:path),* $(,)?]) => {
        match $change {
            $(Kind::$create(request) => {
                allow($unit, &request, Presence::Full, &$path)?;
                let (parent, id) = (request.parent().to_owned(), request.id().to_owned());
                let work = standard::create::<$create_kind>($unit, &parent, &id, request.resource());
                work.await.map(drop)
            })*
            $(Kind::$update(request) => {
                allow($unit, &request, Presence::Top, &$path)?;
                let mask = request.update_mask().map(|mask| mask.paths.clone());
                let work = standard::update::<$update_kind>($unit, request.resource(), mask.as_deref());
                work.await.map(drop)
            })*
            $(Kind::$delete(request) => {
                allow($unit, &request, Presence::Full, &$path)?;
                let work = standard::delete::<$delete_kind>($unit, request.name(), request.etag(), request.force());
                work.await.map(drop)
            })*
            $(Kind::$own(request) => {
                allow($unit, &request, Presence::Full, &$path)?;
                $work($unit, request).await.map(drop)
            })*
        }
    };
}

async fn apply(unit: &mut Unit, change: Kind, path: &str) -> Result<(), AppError> {
    let path = format!("{path}.{}", word(&change));
    let done = dispatch!(unit, change, path,
        create: [
            CreateFitment => Fitments,
            CreatePart => Parts,
            CreateDefect => Defects,
            CreateCargoItem => CargoItems,
            CreateWeighing => Weighings,
            CreateEvidence => EvidenceRecords,
            CreateJob => Jobs,
        ],
        update: [
            UpdateVehicle => Vehicles,
            UpdateFitment => Fitments,
            UpdatePart => Parts,
            UpdateCargoItem => CargoItems,
            UpdateEvidence => EvidenceRecords,
            UpdateRegulatedItem => RegulatedItems,
            UpdateDeparture => Departures,
            UpdateJob => Jobs,
            UpdateWorkshop => Workshops,
            UpdateAwaitedPart => AwaitedParts,
        ],
        delete: [
            DeleteFitment => Fitments,
            DeleteCargoItem => CargoItems,
            DeleteRegulatedItem => RegulatedItems,
            DeleteJob => Jobs,
        ],
        own: [
            RecordSubstitution => substitutions::record,
            FitSubstitution => substitutions::fit,
            WithdrawSubstitution => substitutions::withdraw,
            KeepAssessment => substitution_life::keep,
            SettleInterface => substitution_life::settle,
            ApproveSubstitution => substitution_life::approve,
            ProveSubstitution => substitution_life::prove,
            UndoFitting => substitution_life::undo,
            AcceptDefect => defects::accept,
            FixDefect => defects::fix,
            AcceptFinding => acceptances::accept,
            StartJob => jobs::start,
            ReportJob => jobs::report,
            CompleteJob => jobs::complete,
            ReopenJob => jobs::reopen,
        ]
    );
    done.map_err(|error| match error {
        AppError::Invalid(refused) => AppError::Invalid(refused.within(&path)),
        other => other,
    })
}

/// Field of the change, for paths.
fn word(change: &Kind) -> String {
    let message = v1::Change {
        change: Some(change.clone()),
    };
    let dynamic = message.transcode_to_dynamic();
    let set = message
        .descriptor()
        .fields()
        .find(|field| dynamic.has_field(field));
    set.map(|field| field.name().to_owned()).unwrap_or_default()
}

/// Holds a change against its contract and its caller against the method that would make it alone.
fn allow<R: ReflectMessage>(
    unit: &Unit,
    request: &R,
    presence: Presence,
    path: &str,
) -> Result<(), AppError> {
    contract::check_within(path, request, presence)?;
    // A question changes nothing, so that who may ask for readiness may ask for this.
    if matches!(unit.backing, Backing::Copy(_)) {
        return Ok(());
    }
    let needed = contract::role_of_request(&request.descriptor()).unwrap_or(v1::Role::Admin);
    let has = unit.actor().role;
    if has < needed {
        return Err(AppError::RoleTooWeak { has, needed });
    }
    Ok(())
}
