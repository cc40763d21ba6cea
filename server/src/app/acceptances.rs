//! Conditions of readiness that somebody signs for.

use ostler_core::answer::Answer;
use ostler_core::readiness::{Finding, Gate};
use ostler_core::record::Name;
use ostler_proto::v1;

use super::kinds::{Acceptances, Departures, Fleets, Vehicles, name_of};
use super::standard::{fresh, new_name};
use super::unit::Unit;
use super::{App, AppError, Call};

impl App {
    /// Signs for a finding that is met with conditions.
    ///
    /// # Errors
    /// When there is no such finding, it is not met with conditions, or the caller may not sign for it.
    pub async fn accept_finding(
        &self,
        call: &Call,
        request: v1::AcceptFindingRequest,
    ) -> Result<v1::Acceptance, AppError> {
        if let Some(acceptance) = &request.acceptance {
            self.foresee(&acceptance.departure).await;
        }
        self.write(call, async |unit: &mut Unit| accept(unit, request).await)
            .await
    }
}

pub(super) async fn accept(
    unit: &mut Unit,
    request: v1::AcceptFindingRequest,
) -> Result<v1::Acceptance, AppError> {
    let name = new_name::<Acceptances>(&request.parent, &request.acceptance_id)?;
    let mut acceptance = fresh::<Acceptances>(request.acceptance)?;
    let departure = name_of::<Departures>("acceptance.departure", &acceptance.departure)?;
    let vehicle = match acceptance.vehicle.as_str() {
        "" => None,
        vehicle => Some(name_of::<Vehicles>("acceptance.vehicle", vehicle)?),
    };
    unit.get::<Fleets>(&name.fleet()).await?;
    // Whether what it refers to exists is told before whether there is such a finding.
    unit.check::<Acceptances>(&name, &acceptance).await?;
    let (record, departure) = unit.read_departure(&departure).await?;
    let needed = role_for(unit, &departure.name, &acceptance.gate).await?;
    if unit.actor().role < needed {
        return Err(AppError::RoleTooWeak {
            has: unit.actor().role,
            needed,
        });
    }
    let readiness = unit.readiness(&record, &departure, vehicle.as_ref());
    let gates = match &vehicle {
        None => &readiness.gates,
        Some(vehicle) => readiness
            .vehicles
            .iter()
            .find(|own| own.vehicle == *vehicle)
            .map(|own| &own.gates)
            .ok_or_else(|| AppError::field("acceptance.vehicle", "does not go on this departure"))?,
    };
    let finding = find(gates, &acceptance)?;
    let figure = finding.figures.first();
    acceptance.finding_text.clone_from(&finding.text);
    acceptance.signed_value = figure.map(|figure| figure.value);
    acceptance.signed_limit = figure.and_then(|figure| figure.limit);
    acceptance.signed_by.clone_from(&unit.actor().id);
    unit.create::<Acceptances>(&name, acceptance, "accept").await
}

/// The role that may sign for conditions of a gate.
async fn role_for(unit: &mut Unit, departure: &Name, gate: &str) -> Result<v1::Role, AppError> {
    let stored = unit.get::<Departures>(departure).await?;
    let policy = stored.message.policy.unwrap_or_default();
    let role = policy.acceptance_roles.get(gate).copied().unwrap_or_default();
    Ok(match v1::Role::try_from(role) {
        Ok(v1::Role::Unspecified) | Err(_) => v1::Role::Lead,
        Ok(role) => role,
    })
}

fn find<'a>(gates: &'a [Gate], acceptance: &v1::Acceptance) -> Result<&'a Finding, AppError> {
    let Some(gate) = gates.iter().find(|gate| gate.id == acceptance.gate) else {
        let known: Vec<&str> = gates.iter().map(|gate| gate.id).collect();
        return Err(AppError::field(
            "acceptance.gate",
            format!("must be one of {}", known.join(", ")),
        ));
    };
    let keyed = || gate.findings.iter().filter(|finding| !finding.key.is_empty());
    let Some(finding) = keyed().find(|finding| finding.key == acceptance.finding) else {
        let open = keyed().filter(|finding| finding.answer == Answer::MetWithConditions);
        let keys: Vec<&str> = open.map(|finding| finding.key.as_str()).collect();
        let known = match keys.as_slice() {
            [] => "the gate has no condition to sign for".to_owned(),
            keys => format!("conditions of the gate are {}", keys.join(", ")),
        };
        return Err(AppError::field(
            "acceptance.finding",
            format!("is no finding of the gate; {known}"),
        ));
    };
    match finding.answer {
        Answer::MetWithConditions => Ok(finding),
        answer => Err(AppError::field(
            "acceptance.finding",
            format!(
                "is {}: only what is met with conditions can be signed for",
                answer.word()
            ),
        )),
    }
}
