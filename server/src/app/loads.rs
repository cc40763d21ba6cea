//! Masses and axle loads of a vehicle of a departure.

use ostler_core::loads;
use ostler_core::record::{Departure, Name, Vehicle};
use ostler_proto::v1;

use super::kinds::{Departures, Vehicles, name_of};
use super::record::Read;
use super::{App, AppError};
use crate::convert::loads::{load_result_message, load_states_message};

impl App {
    /// Computes the loads of a vehicle at departure.
    ///
    /// # Errors
    /// When the departure or the vehicle does not exist, or the vehicle does not go.
    pub async fn compute_loads(&self, request: v1::ComputeLoadsRequest) -> Result<v1::LoadResult, AppError> {
        let v1::ComputeLoadsRequest { departure, vehicle } = request;
        let (read, departure, vehicle) = self.read_going(&departure, &vehicle).await?;
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
        let (read, departure, vehicle) = self.read_going(&departure, &vehicle).await?;
        let vehicle = known(&read, &vehicle)?;
        Ok(load_states_message(loads::states(
            &read.record,
            &departure,
            vehicle,
        )))
    }

    /// Reads a departure and checks that the vehicle goes on it.
    async fn read_going(&self, departure: &str, vehicle: &str) -> Result<(Read, Departure, Name), AppError> {
        let departure = name_of::<Departures>("departure", departure)?;
        let vehicle = name_of::<Vehicles>("vehicle", vehicle)?;
        let (read, departure) = self.read_departure(&departure).await?;
        if !departure.vehicles.iter().any(|going| going.vehicle == vehicle) {
            return Err(AppError::field(
                "vehicle",
                format!("{vehicle} does not go on this departure"),
            ));
        }
        Ok((read, departure, vehicle))
    }
}

fn known<'a>(read: &'a Read, vehicle: &Name) -> Result<&'a Vehicle, AppError> {
    read.record
        .vehicles
        .get(vehicle)
        .ok_or_else(|| AppError::NotFound {
            name: vehicle.to_string(),
        })
}
