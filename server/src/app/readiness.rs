//! Whether the vehicles of a departure are ready.

use std::collections::BTreeMap;
use std::sync::Arc;

use moka::sync::Cache;
use ostler_core::readiness;
use ostler_core::record::Name;
use ostler_proto::v1;

use super::kinds::{Departures, Vehicles, name_of};
use super::{App, AppError};
use crate::convert;

/// Most answers that are kept.
const ANSWERS_MAX: u64 = 1_000;

/// Answers kept for as long as none of the revisions they were computed from changes.
#[derive(Debug, Clone)]
pub struct Answers {
    kept: Cache<(String, String), Arc<Answer>>,
}

#[derive(Debug)]
struct Answer {
    revisions: BTreeMap<String, i64>,
    readiness: v1::Readiness,
}

impl Default for Answers {
    fn default() -> Self {
        Self {
            kept: Cache::new(ANSWERS_MAX),
        }
    }
}

impl App {
    /// Computes the readiness of a departure, or of one of its vehicles.
    ///
    /// # Errors
    /// When the departure does not exist or the vehicle does not go.
    pub async fn get_readiness(&self, request: v1::GetReadinessRequest) -> Result<v1::Readiness, AppError> {
        let key = (request.departure, request.vehicle);
        if let Some(answer) = self.answers.kept.get(&key) {
            let scopes: Vec<String> = answer.revisions.keys().cloned().collect();
            if self.store().revisions(&scopes).await? == answer.revisions {
                return Ok(answer.readiness.clone());
            }
        }
        let departure = name_of::<Departures>("departure", &key.0)?;
        let only = match key.1.as_str() {
            "" => None,
            vehicle => Some(name_of::<Vehicles>("vehicle", vehicle)?),
        };
        let (revisions, readiness) = self.compute_readiness(&departure, only.as_ref()).await?;
        let answer = Answer {
            revisions,
            readiness: readiness.clone(),
        };
        self.answers.kept.insert(key, Arc::new(answer));
        Ok(readiness)
    }

    async fn compute_readiness(
        &self,
        departure: &Name,
        only: Option<&Name>,
    ) -> Result<(BTreeMap<String, i64>, v1::Readiness), AppError> {
        let (read, departure) = self.read_departure(departure).await?;
        if let Some(only) = only
            && !departure.vehicles.iter().any(|going| going.vehicle == *only)
        {
            return Err(AppError::field(
                "vehicle",
                format!("{only} does not go on this departure"),
            ));
        }
        let result = readiness::assess(&read.record, &departure, only);
        let message = convert::readiness::readiness_message(result, read.version());
        Ok((read.revisions, message))
    }
}
