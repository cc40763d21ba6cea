//! Restraint: of what a vehicle carries at a departure, or of data that are given.

use ostler_core::check::Check;
use ostler_core::record::{Id, integrity};
use ostler_core::restraint::recorded::Asked;
use ostler_core::restraint::{HeldRecord, HeldThing, VehicleRestraint, assess_held, assess_vehicle};
use ostler_proto::v1;
use v1::assess_restraint_request::Subject;

use super::loads::known;
use super::{App, AppError};
use crate::convert::Within as _;
use crate::convert::restraint::{asked, closing_lashing, response, restraint};

impl App {
    /// Assesses how things are held.
    ///
    /// # Errors
    /// When nothing is to be assessed, the departure, the vehicle or a thing does not exist, or data given
    /// are out of range.
    pub async fn assess_restraint(
        &self,
        request: v1::AssessRestraintRequest,
    ) -> Result<v1::AssessRestraintResponse, AppError> {
        let v1::AssessRestraintRequest { subject } = request;
        let result = match subject {
            Some(Subject::Recorded(recorded)) => self.recorded_restraint(recorded).await?,
            Some(Subject::Given(given)) => given_restraint(given)?,
            None => return Err(AppError::field("recorded", "or `given` must be set")),
        };
        Ok(response(result))
    }

    async fn recorded_restraint(
        &self,
        recorded: v1::RecordedRestraint,
    ) -> Result<VehicleRestraint, AppError> {
        let v1::RecordedRestraint {
            departure,
            vehicle,
            ids,
        } = recorded;
        let (read, departure, vehicle) = self.read_going("recorded", &departure, &vehicle).await?;
        let mut result = assess_vehicle(&read.record, &departure, known(&read, &vehicle)?);
        for (index, id) in ids.iter().enumerate() {
            if !result.held.iter().any(|held| held.id() == id) {
                return Err(AppError::field(
                    format!("recorded.ids[{index}]"),
                    format!("{id} is no cargo item and no container on {vehicle}"),
                ));
            }
        }
        if !ids.is_empty() {
            result.held.retain(|held| ids.iter().any(|id| held.id() == id));
        }
        Ok(result)
    }
}

fn given_restraint(given: v1::GivenRestraint) -> Result<VehicleRestraint, AppError> {
    let v1::GivenRestraint {
        mass_kg,
        mass_uncertainty_kg,
        restraint: how,
        standard,
        factors,
        gross_mass_kg,
        closing_lashing: closing,
    } = given;
    let standards = asked(standard, factors);
    if standards.is_empty() {
        return Err(AppError::field("given.standard", "or `factors` must be set"));
    }
    let how = restraint(how.unwrap_or_default()).within("given.restraint")?;
    let mut check = Check::new();
    integrity::restraint::check(&mut check, "given.restraint", Some(&how));
    check.finish()?;
    let closing = closing.map(closing_lashing);
    let thing = HeldThing {
        mass_kg,
        mass_uncertainty_kg,
        restraint: &how,
    };
    let assessments = standards
        .iter()
        .map(|standard| assess_held(&thing, standard, gross_mass_kg, closing.as_ref()))
        .collect::<Result<Vec<_>, _>>()
        .within("given")?;
    let held = HeldRecord {
        record: None,
        tank: None::<Id>,
        display_name: how.method.clone(),
        mass_kg: Some(mass_kg),
        mass_tolerance_kg: None,
        assessments,
        missing: Vec::new(),
    };
    Ok(VehicleRestraint {
        asked: Asked {
            standards,
            missing: Vec::new(),
        },
        held: vec![held],
    })
}
