//! Whether the vehicles of a departure are ready.

use std::sync::Arc;

use ostler_core::readiness;
use ostler_core::record::{Date, Name};
use ostler_proto::v1;

use super::kept::Revisions;
use super::kinds::{Departures, Vehicles, name_of};
use super::{App, AppError};
use crate::convert;

/// What was asked: the departure, and the vehicle of it or nothing; and the day, for a plan starts on it.
pub(super) type Asked = (String, String, Date);

impl App {
    /// Computes the readiness of a departure, or of one of its vehicles.
    ///
    /// # Errors
    /// When the departure does not exist or the vehicle does not go.
    pub async fn get_readiness(&self, request: v1::GetReadinessRequest) -> Result<v1::Readiness, AppError> {
        let v1::GetReadinessRequest {
            departure,
            vehicle,
            known_version,
        } = request;
        let readiness = self.readiness_of((departure, vehicle, self.today())).await?;
        if known_version.is_empty() || known_version != readiness.record_version {
            return Ok((*readiness).clone());
        }
        Ok(v1::Readiness {
            departure: readiness.departure.clone(),
            verdict: readiness.verdict,
            record_version: known_version,
            caution: readiness.caution.clone(),
            unchanged: true,
            ..v1::Readiness::default()
        })
    }

    async fn readiness_of(&self, asked: Asked) -> Result<Arc<v1::Readiness>, AppError> {
        if let Some(readiness) = self.readiness.get(&asked, &self.revisions).await? {
            return Ok(readiness);
        }
        let departure = name_of::<Departures>("departure", &asked.0)?;
        let only = match asked.1.as_str() {
            "" => None,
            vehicle => Some(name_of::<Vehicles>("vehicle", vehicle)?),
        };
        let (revisions, readiness) = self.compute_readiness(&departure, only.as_ref()).await?;
        let readiness = Arc::new(readiness);
        self.readiness.keep(asked, revisions, readiness.clone());
        Ok(readiness)
    }

    async fn compute_readiness(
        &self,
        departure: &Name,
        only: Option<&Name>,
    ) -> Result<(Revisions, v1::Readiness), AppError> {
        let (read, departure) = self.read_departure(departure).await?;
        if let Some(only) = only
            && !departure.vehicles.iter().any(|going| going.vehicle == *only)
        {
            return Err(AppError::field(
                "vehicle",
                format!("{only} does not go on this departure"),
            ));
        }
        let outlook = self.outlook(&read.record, &departure).await?;
        let result = readiness::assess(&read.record, &departure, only, &outlook);
        // The day is part of it: what work is still to do is planned from today.
        let version = format!("{} {}", read.version(), self.today());
        let message = convert::readiness::readiness_message(result, version);
        Ok((read.revisions, message))
    }
}
