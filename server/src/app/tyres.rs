//! Tyres and wheels: of a vehicle over a trip, at the bench, and the spares of a convoy.

use ostler_core::loads::{self, ConvoyLoads};
use ostler_core::tyres::bench;
use ostler_core::tyres::convoy::convoy_spares;
use ostler_core::tyres::trip::trip_tyres;
use ostler_proto::v1;

use super::kinds::{Departures, name_of};
use super::loads::known;
use super::{App, AppError};
use crate::convert::tyres::{bench_message, bench_request, spares_message, trip_message};

impl App {
    /// Judges the tyres and wheels of a vehicle of a departure.
    ///
    /// # Errors
    /// When the departure or the vehicle does not exist, or the vehicle does not go.
    pub async fn compute_tyres(
        &self,
        request: v1::ComputeTyresRequest,
    ) -> Result<v1::ComputeTyresResponse, AppError> {
        let v1::ComputeTyresRequest { departure, vehicle } = request;
        let (read, departure, vehicle) = self.read_going("", &departure, &vehicle).await?;
        let vehicle = known(&read, &vehicle)?;
        let states = loads::states(&read.record, &departure, vehicle);
        let tyres = trip_tyres(&read.record, &departure, vehicle, &states);
        Ok(trip_message(&departure, vehicle, tyres))
    }

    /// Computes with a designation and the numbers of the request.
    ///
    /// # Errors
    /// A designation that cannot be read, or numbers out of range.
    pub fn calculate_tyre(&self, request: v1::CalculateTyreRequest) -> Result<v1::TyreCalculation, AppError> {
        let asked = bench_request(request)?;
        Ok(bench_message(bench::calculate(&asked)?))
    }

    /// Compares every spare that is carried with every vehicle of a departure.
    ///
    /// # Errors
    /// When the departure does not exist.
    pub async fn compute_spare_interchange(
        &self,
        request: v1::ComputeSpareInterchangeRequest,
    ) -> Result<v1::ComputeSpareInterchangeResponse, AppError> {
        let departure = name_of::<Departures>("departure", &request.departure)?;
        let (read, departure) = self.read_departure(&departure).await?;
        Ok(spares_message(convoy_spares(&ConvoyLoads::of(
            &read.record,
            &departure,
        ))))
    }
}
