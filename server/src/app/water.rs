//! Water and food of a departure.

use ostler_core::supplies::departure_water;
use ostler_proto::v1;

use super::kinds::{Departures, name_of};
use super::{App, AppError};
use crate::convert::water::water_message;

impl App {
    /// Computes the water and the food of a departure.
    ///
    /// # Errors
    /// When the departure does not exist.
    pub async fn compute_water(&self, request: v1::ComputeWaterRequest) -> Result<v1::WaterResult, AppError> {
        let v1::ComputeWaterRequest { departure } = request;
        let departure = name_of::<Departures>("departure", &departure)?;
        let (read, departure) = self.read_departure(&departure).await?;
        let water = departure_water(&read.record, &departure);
        Ok(water_message(&departure, water))
    }
}
