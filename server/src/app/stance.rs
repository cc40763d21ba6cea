//! A vehicle on its springs, and why it leans.

use ostler_core::loads::{self, Carried, LoadResult, carried_when_weighed};
use ostler_core::record::{Departure, Record, Vehicle};
use ostler_core::stability;
use ostler_core::stability::recorded::{NotStable, bare_height, stability_of};
use ostler_core::stance::Stance;
use ostler_core::stance::recorded::{Springs, sprung_vehicle, stand};
use ostler_core::stance::recorded_heights::{Diagnoses, diagnose_weighing};
use ostler_core::stance::recorded_underside::{Underside, underside};
use ostler_proto::v1;
use ostler_sheet::Fonts;

use super::kinds::{Vehicles, Weighings, name_of};
use super::loads::known;
use super::pictures::plan_picture;
use super::{App, AppError};
use crate::convert::Within;
use crate::convert::given::{AS_GIVEN, Scale, given};
use crate::convert::given_suspension::refuse_unusable;
use crate::convert::stability::{stability_message, stability_request, vehicle_stability_message};
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
        let v1::ComputeStanceRequest {
            departure,
            vehicle,
            picture_of,
        } = request;
        let (read, departure, vehicle) = self.read_going("", &departure, &vehicle).await?;
        let vehicle = known(&read, &vehicle)?;
        let states = loads::states(&read.record, &departure, vehicle);
        let drawn = match picture_of.as_str() {
            "" => None,
            asked => Some(
                states
                    .iter()
                    .position(|state| state.load_state == asked)
                    .ok_or_else(|| {
                        let moments: Vec<&str> =
                            states.iter().map(|state| state.load_state.as_str()).collect();
                        AppError::field("picture_of", format!("must be one of: {}", moments.join(", ")))
                    })?,
            ),
        };
        Ok(stances(
            &read.record,
            &departure,
            vehicle,
            &states,
            drawn,
            &self.fonts,
        ))
    }

    /// Puts a vehicle on its springs from the data of the request.
    ///
    /// # Errors
    /// Data that contradict themselves or are out of range.
    pub fn calculate_stance(
        &self,
        request: v1::CalculateStanceRequest,
    ) -> Result<v1::CalculateStanceResponse, AppError> {
        let v1::CalculateStanceRequest {
            vehicle,
            load,
            picture,
        } = request;
        let given = given(vehicle, load, Scale::default())?;
        let state = LoadResult {
            load_state: AS_GIVEN.to_owned(),
            ..loads::compute(&given.record, &given.departure, &given.vehicle)
        };
        refuse_unusable(&given, &Carried::of(&state))?;
        let drawn = picture.then_some(0);
        let v1::ComputeStanceResponse {
            mut states,
            formula_version,
            caution,
            picture_svg,
        } = stances(
            &given.record,
            &given.departure,
            &given.vehicle,
            &[state],
            drawn,
            &self.fonts,
        );
        Ok(v1::CalculateStanceResponse {
            state: states.pop(),
            formula_version,
            caution,
            picture_svg,
        })
    }

    /// Ranks the causes of heights from the data of the request.
    ///
    /// # Errors
    /// Data that contradict themselves or are out of range.
    pub fn calculate_lean(&self, request: v1::CalculateLeanRequest) -> Result<v1::LeanDiagnosis, AppError> {
        let v1::CalculateLeanRequest {
            vehicle,
            load,
            heights,
        } = request;
        let heights = heights_of(heights.unwrap_or_default()).within("heights")?;
        let given = given(vehicle, load, Scale::default())?;
        let state = loads::compute(&given.record, &given.departure, &given.vehicle);
        let carried = Carried::of(&state);
        refuse_unusable(&given, &carried)?;
        let diagnosed = diagnose_weighing(
            &given.record,
            &given.vehicle,
            &given.weighing,
            &heights,
            &carried,
            &Diagnoses::default(),
        );
        Ok(v1::LeanDiagnosis {
            weighing: String::new(),
            vehicle: String::new(),
            ..diagnosis_message(&given.weighing, diagnosed)
        })
    }

    /// Computes the stability of a vehicle of a departure at every moment.
    ///
    /// # Errors
    /// When the departure or the vehicle does not exist, or the vehicle does not go.
    pub async fn compute_vehicle_stability(
        &self,
        request: v1::ComputeVehicleStabilityRequest,
    ) -> Result<v1::VehicleStability, AppError> {
        let v1::ComputeVehicleStabilityRequest { departure, vehicle } = request;
        let (read, departure, vehicle) = self.read_going("", &departure, &vehicle).await?;
        let vehicle = known(&read, &vehicle)?;
        let bare = bare_height(&read.record, vehicle);
        let states = loads::states(&read.record, &departure, vehicle)
            .into_iter()
            .map(|state| {
                let found = match &bare {
                    Ok(bare) => stability_of(vehicle, &state, bare),
                    Err(_) => Err(NotStable::Missing(state.missing.clone())),
                };
                (state.load_state, found)
            })
            .collect();
        Ok(vehicle_stability_message(vehicle, bare, states))
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
        let diagnosed = diagnose_weighing(
            &read.record,
            vehicle,
            weighing,
            heights,
            &carried,
            &self.earlier.diagnoses,
        );
        Ok(diagnosis_message(weighing, diagnosed))
    }
}

/// A vehicle on its springs in every state, and a picture of the one that is asked for.
fn stances(
    record: &Record,
    departure: &Departure,
    vehicle: &Vehicle,
    states: &[LoadResult],
    drawn: Option<usize>,
    fonts: &Fonts,
) -> v1::ComputeStanceResponse {
    let mut picture_svg = String::new();
    let mut messages = Vec::new();
    for (index, state) in states.iter().enumerate() {
        let carried = Carried::of(state);
        let stood = stand(record, vehicle, &carried, Springs::AsFitted);
        let below = stood
            .as_ref()
            .ok()
            .and_then(|stance| below(record, vehicle, &carried, stance));
        if drawn == Some(index) {
            picture_svg = plan_picture(record, departure, vehicle, states, state, &stood, fonts);
        }
        let below = below.unwrap_or_default();
        messages.push(state_message(vehicle, &state.load_state, stood, below));
    }
    v1::ComputeStanceResponse {
        picture_svg,
        ..states_message(messages)
    }
}

/// Clearance and angles. `None`: no points are on record.
fn below(record: &Record, vehicle: &Vehicle, carried: &Carried, stance: &Stance) -> Option<Underside> {
    let points = &vehicle.specification.suspension.as_ref()?.underside;
    let sprung = sprung_vehicle(record, vehicle, carried, Springs::AsFitted).ok()?;
    underside(&sprung, stance, points).ok()
}
