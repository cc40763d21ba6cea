//! Masses and axle loads of a vehicle: of a departure, and against a weighing.

use ostler_core::loads;
use ostler_core::record::{Departure, Name, Vehicle};
use ostler_proto::v1;

use super::kinds::{Departures, Vehicles, Weighings, name_of};
use super::record::Read;
use super::{App, AppError};
use crate::convert::loads::{load_result_message, load_states_message};
use crate::convert::weighing::reconciliation_message;

impl App {
    /// Computes the loads of a vehicle at departure.
    ///
    /// # Errors
    /// When the departure or the vehicle does not exist, or the vehicle does not go.
    pub async fn compute_loads(&self, request: v1::ComputeLoadsRequest) -> Result<v1::LoadResult, AppError> {
        let v1::ComputeLoadsRequest { departure, vehicle } = request;
        let (read, departure, vehicle) = self.read_going("", &departure, &vehicle).await?;
        let vehicle = known(&read, &vehicle)?;
        Ok(load_result_message(loads::compute(
            &read.record,
            &departure,
            vehicle,
        )))
    }

    /// Computes the loads of a vehicle at every moment of a departure.
    ///
    /// # Errors
    /// As [`App::compute_loads`].
    pub async fn compute_load_states(
        &self,
        request: v1::ComputeLoadStatesRequest,
    ) -> Result<v1::ComputeLoadStatesResponse, AppError> {
        let v1::ComputeLoadStatesRequest { departure, vehicle } = request;
        let (read, departure, vehicle) = self.read_going("", &departure, &vehicle).await?;
        let vehicle = known(&read, &vehicle)?;
        Ok(load_states_message(loads::states(
            &read.record,
            &departure,
            vehicle,
        )))
    }

    /// Holds a weighing against what is computed for its moment.
    ///
    /// # Errors
    /// When the weighing or its vehicle does not exist, or the one to compute from is not another
    /// weighing of the vehicle.
    pub async fn reconcile_weighing(
        &self,
        request: v1::ReconcileWeighingRequest,
    ) -> Result<v1::Reconciliation, AppError> {
        let v1::ReconcileWeighingRequest { name, against } = request;
        let name = name_of::<Weighings>("name", &name)?;
        let against = match against.as_str() {
            "" => None,
            against => Some(name_of::<Weighings>("against", against)?),
        };
        let stored = self.stored::<Weighings>(&name).await?;
        let vehicle = name_of::<Vehicles>("weighing.vehicle", &stored.message.vehicle)?;
        let read = self.read_vehicle(&vehicle).await?;
        // The weighing as it is in the same snapshot; it may have changed since the first read.
        let Some(weighing) = read.record.weighings.get(&name) else {
            return Err(AppError::NotFound {
                name: name.to_string(),
            });
        };
        let reconciliation = loads::reconcile(&read.record, weighing, against.as_ref())?;
        Ok(reconciliation_message(reconciliation))
    }

    /// Reads a departure and checks that the vehicle goes on it; both are fields of `parent` of the request.
    pub(super) async fn read_going(
        &self,
        parent: &str,
        departure: &str,
        vehicle: &str,
    ) -> Result<(Read, Departure, Name), AppError> {
        let field = |name: &str| match parent {
            "" => name.to_owned(),
            parent => format!("{parent}.{name}"),
        };
        let departure = name_of::<Departures>(&field("departure"), departure)?;
        let vehicle = name_of::<Vehicles>(&field("vehicle"), vehicle)?;
        let (read, departure) = self.read_departure(&departure).await?;
        if !departure.vehicles.iter().any(|going| going.vehicle == vehicle) {
            return Err(AppError::field(
                field("vehicle"),
                format!("{vehicle} does not go on this departure"),
            ));
        }
        Ok((read, departure, vehicle))
    }
}

/// The vehicle in what was read.
///
/// # Errors
/// When it is not there.
pub(super) fn known<'a>(read: &'a Read, vehicle: &Name) -> Result<&'a Vehicle, AppError> {
    read.record
        .vehicles
        .get(vehicle)
        .ok_or_else(|| AppError::NotFound {
            name: vehicle.to_string(),
        })
}
