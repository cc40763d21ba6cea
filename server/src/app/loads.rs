//! Masses and axle loads of a vehicle of a departure.

use ostler_core::loads;
use ostler_proto::v1;

use super::kinds::{Departures, Vehicles, name_of};
use super::{App, AppError};
use crate::convert;

impl App {
    /// Computes the loads of a vehicle at departure.
    ///
    /// # Errors
    /// When the departure or the vehicle does not exist, or the vehicle does not go.
    pub async fn compute_loads(&self, request: v1::ComputeLoadsRequest) -> Result<v1::LoadResult, AppError> {
        let v1::ComputeLoadsRequest { departure, vehicle } = request;
        let departure = name_of::<Departures>("departure", &departure)?;
        let vehicle = name_of::<Vehicles>("vehicle", &vehicle)?;
        let (read, departure) = self.read_departure(&departure).await?;
        if !departure.vehicles.iter().any(|going| going.vehicle == vehicle) {
            return Err(AppError::field(
                "vehicle",
                format!("{vehicle} does not go on this departure"),
            ));
        }
        let Some(known) = read.record.vehicles.get(&vehicle) else {
            return Err(AppError::NotFound {
                name: vehicle.to_string(),
            });
        };
        Ok(convert::loads::load_result_message(loads::compute(
            &read.record,
            &departure,
            known,
        )))
    }
}
