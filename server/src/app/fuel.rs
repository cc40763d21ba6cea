//! Fuel of a departure.

use ostler_core::loads::ConvoyLoads;
use ostler_core::supplies::departure_fuel;
use ostler_proto::v1;

use super::kinds::{Departures, Vehicles, name_of};
use super::{App, AppError};
use crate::convert::fuel::fuel_message;

impl App {
    /// Computes the fuel of a departure, or of one of its vehicles.
    ///
    /// # Errors
    /// When the departure does not exist or the vehicle does not go.
    pub async fn compute_fuel(&self, request: v1::ComputeFuelRequest) -> Result<v1::FuelResult, AppError> {
        let v1::ComputeFuelRequest { departure, vehicle } = request;
        let departure = name_of::<Departures>("departure", &departure)?;
        let only = match vehicle.as_str() {
            "" => None,
            vehicle => Some(name_of::<Vehicles>("vehicle", vehicle)?),
        };
        let (read, departure) = self.read_departure(&departure).await?;
        if let Some(only) = &only
            && !departure.vehicles.iter().any(|going| going.vehicle == *only)
        {
            return Err(AppError::field(
                "vehicle",
                format!("{only} does not go on this departure"),
            ));
        }
        let fuel = departure_fuel(&ConvoyLoads::of(&read.record, &departure));
        Ok(fuel_message(&departure, fuel, only.as_ref()))
    }
}
