//! Masses and axle loads of a vehicle: of a departure, and against a weighing.

use ostler_core::loads;
use ostler_core::record::{Departure, Name, Vehicle};
use ostler_proto::v1;

use super::kinds::{Departures, Vehicles, Weighings, name_of};
use super::pictures::run_picture;
use super::record::Read;
use super::{App, AppError};
use crate::convert::given::{AS_GIVEN, Scale, given};
use crate::convert::loads::{load_result_message, load_states_message, without_records};
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

    /// Computes the loads of a vehicle from the data of the request.
    ///
    /// # Errors
    /// Data that contradict themselves or are out of range.
    pub fn calculate_loads(&self, request: v1::CalculateLoadsRequest) -> Result<v1::LoadResult, AppError> {
        let v1::CalculateLoadsRequest { vehicle, load } = request;
        let given = given(vehicle, load, Scale::default())?;
        let loads = loads::compute(&given.record, &given.departure, &given.vehicle);
        Ok(v1::LoadResult {
            vehicle: String::new(),
            departure: String::new(),
            load_state: AS_GIVEN.to_owned(),
            ..without_records(load_result_message(loads))
        })
    }

    /// Computes the loads of a vehicle at every moment of a departure.
    ///
    /// # Errors
    /// As [`App::compute_loads`].
    pub async fn compute_load_states(
        &self,
        request: v1::ComputeLoadStatesRequest,
    ) -> Result<v1::ComputeLoadStatesResponse, AppError> {
        let v1::ComputeLoadStatesRequest {
            departure,
            vehicle,
            picture,
        } = request;
        let (read, departure, vehicle) = self.read_going("", &departure, &vehicle).await?;
        let vehicle = known(&read, &vehicle)?;
        let states = loads::states(&read.record, &departure, vehicle);
        let picture_svg = if picture {
            run_picture(&departure, vehicle, &states, &self.fonts)
        } else {
            String::new()
        };
        Ok(v1::ComputeLoadStatesResponse {
            picture_svg,
            ..load_states_message(states)
        })
    }

    /// Holds scale readings against what is computed, both from the data of the request.
    ///
    /// # Errors
    /// No readings, or data that contradict themselves or are out of range.
    pub fn calculate_reconciliation(
        &self,
        request: v1::CalculateReconciliationRequest,
    ) -> Result<v1::Reconciliation, AppError> {
        use v1::calculate_reconciliation_request::Readings;
        let v1::CalculateReconciliationRequest {
            vehicle,
            load,
            readings,
            tolerance_kg,
        } = request;
        let readings = match readings {
            Some(Readings::Axles(axles)) => v1::weighing::Readings::Axles(axles),
            Some(Readings::Wheels(wheels)) => v1::weighing::Readings::Wheels(wheels),
            None => return Err(AppError::field("axles", "or `wheels` must be set")),
        };
        let scale = Scale {
            readings: Some(readings),
            tolerance_kg,
        };
        let given = given(vehicle, load, scale)?;
        let mut message = reconciliation_message(loads::reconcile(&given.record, &given.weighing, None)?);
        message.weighing.clear();
        message.vehicle.clear();
        for line in &mut message.lines {
            line.record.clear();
        }
        Ok(message)
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
