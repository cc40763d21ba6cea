//! A vehicle on its springs, and why it leans.

use ostler_core::loads::{self, Carried, carried_when_weighed};
use ostler_core::stability;
use ostler_core::stance::recorded::{Springs, stand};
use ostler_core::stance::recorded_heights::diagnose_weighing;
use ostler_proto::v1;

use super::kinds::{Vehicles, Weighings, name_of};
use super::loads::known;
use super::{App, AppError};
use crate::convert::Within;
use crate::convert::stability::{stability_message, stability_request};
use crate::convert::stance::{diagnosis_message, state_message, states_message};
use crate::convert::weighing::heights as heights_of;

impl App {
    /// Puts a vehicle of a departure on its springs at every moment.
    ///
    /// # Errors
    /// When the departure or the vehicle does not exist, or the vehicle does not go.
    pub async fn compute_stance(
        &self,
        request: v1::ComputeStanceRequest,
    ) -> Result<v1::ComputeStanceResponse, AppError> {
        let v1::ComputeStanceRequest { departure, vehicle } = request;
        let (read, departure, vehicle) = self.read_going("", &departure, &vehicle).await?;
        let vehicle = known(&read, &vehicle)?;
        let states = loads::states(&read.record, &departure, vehicle)
            .iter()
            .map(|state| {
                let stood = stand(&read.record, vehicle, &Carried::of(state), Springs::AsFitted);
                state_message(vehicle, &state.load_state, stood)
            })
            .collect();
        Ok(states_message(states))
    }

    /// Computes stability from the data of the request.
    ///
    /// # Errors
    /// Numbers out of range, no height, or a centre of mass outside the wheels.
    pub fn compute_stability(&self, request: v1::ComputeStabilityRequest) -> Result<v1::Stability, AppError> {
        let asked = stability_request(request)?;
        Ok(stability_message(stability::summary(&asked)?))
    }

    /// Ranks the causes of the heights measured on a vehicle.
    ///
    /// # Errors
    /// When the weighing or its vehicle does not exist, or neither it nor the request holds heights.
    pub async fn diagnose_lean(
        &self,
        request: v1::DiagnoseLeanRequest,
    ) -> Result<v1::LeanDiagnosis, AppError> {
        let v1::DiagnoseLeanRequest { name, heights } = request;
        let given = heights.map(heights_of).transpose().within("heights")?;
        let name = name_of::<Weighings>("name", &name)?;
        let stored = self.stored::<Weighings>(&name).await?;
        let vehicle = name_of::<Vehicles>("weighing.vehicle", &stored.message.vehicle)?;
        let read = self.read_vehicle(&vehicle).await?;
        // The weighing as it is in the same snapshot; it may have changed since the first read.
        let Some(weighing) = read.record.weighings.get(&name) else {
            return Err(AppError::NotFound {
                name: name.to_string(),
            });
        };
        let Some(heights) = given.as_ref().or(weighing.heights.as_ref()) else {
            return Err(AppError::field(
                "heights",
                format!("must be given: {name} holds none"),
            ));
        };
        let vehicle = known(&read, &vehicle)?;
        let carried = carried_when_weighed(&read.record, vehicle, weighing);
        let diagnosed = diagnose_weighing(&read.record, vehicle, weighing, heights, &carried);
        Ok(diagnosis_message(weighing, diagnosed))
    }
}
