//! Drivelines, as they are and after a change.

use ostler_core::driveline::recorded::{Asked, driveline_of};
use ostler_core::driveline::{Report, report};
use ostler_proto::v1;
use ostler_sheet::speed_picture;

use super::kinds::{Substitutions, Vehicles, name_of};
use super::loads::known;
use super::{App, AppError};
use crate::convert::Within;
use crate::convert::driveline::{given_driving, given_state, recorded_message, report_message};
use crate::convert::gearing::calibration;

impl App {
    /// Computes the driveline of a vehicle, with a substitution before and after it.
    ///
    /// # Errors
    /// When the vehicle, the substitution or the departure does not exist, the substitution is of another vehicle, or
    /// the vehicle does not go on the departure.
    pub async fn compute_driveline(
        &self,
        request: v1::ComputeDrivelineRequest,
    ) -> Result<v1::DrivelineReport, AppError> {
        let v1::ComputeDrivelineRequest {
            vehicle,
            substitution,
            departure,
            cruise_km_per_h,
            friction_coefficient,
            picture,
        } = request;
        let (read, departure, vehicle) = if departure.is_empty() {
            let vehicle = name_of::<Vehicles>("vehicle", &vehicle)?;
            (self.read_vehicle(&vehicle).await?, None, vehicle)
        } else {
            let (read, departure, vehicle) = self.read_going("", &departure, &vehicle).await?;
            (read, Some(departure), vehicle)
        };
        let substitution = match substitution.as_str() {
            "" => None,
            name => {
                let name = name_of::<Substitutions>("substitution", name)?;
                let Some(found) = read.record.substitutions.get(&name) else {
                    let other = self.stored::<Substitutions>(&name).await?.message.vehicle;
                    return Err(of_another(&vehicle, &other));
                };
                Some(found)
            }
        };
        if let Some(other) = substitution.filter(|substitution| substitution.vehicle != vehicle) {
            return Err(of_another(&vehicle, &other.vehicle));
        }
        let asked = Asked {
            substitution,
            departure: departure.as_ref(),
            cruise_km_per_h,
            friction_coefficient,
        };
        let found = driveline_of(&read.record, known(&read, &vehicle)?, &asked)?;
        let drawn = found.report.as_ref().filter(|_| picture);
        let svg = drawn.map_or_else(String::new, draw);
        Ok(recorded_message(found, svg))
    }

    /// Computes a driveline, before and after a change, from the data of the request.
    ///
    /// # Errors
    /// Numbers out of range, or a driveline that is not complete.
    pub fn compare_drivelines(
        &self,
        request: v1::CompareDrivelinesRequest,
    ) -> Result<v1::DrivelineReport, AppError> {
        let v1::CompareDrivelinesRequest {
            before,
            after,
            driving,
            calibration: calibrated,
            picture,
        } = request;
        let before = given_state(before.unwrap_or_default()).within("before")?;
        let after = after.map(given_state).transpose().within("after")?;
        let driving = given_driving(driving.unwrap_or_default());
        driving.check().within("driving")?;
        let calibrated = calibrated.map(calibration).transpose().within("calibration")?;
        let found = report(&before, after.as_ref(), &driving, calibrated.as_ref())?;
        let svg = if picture { draw(&found) } else { String::new() };
        Ok(report_message(found, svg))
    }
}

/// The picture, or nothing where the engine's speeds are not known.
fn draw(report: &Report) -> String {
    let Some(now) = &report.before.chart else {
        return String::new();
    };
    let after = report.after.as_ref().and_then(|after| after.chart.as_ref());
    speed_picture(now, after, report.cruise_km_per_h)
}

/// The refusal of a substitution that is of another vehicle.
fn of_another(vehicle: &str, other: &str) -> AppError {
    AppError::field(
        "substitution",
        format!("must be one of {vehicle}, is one of {other}"),
    )
}
