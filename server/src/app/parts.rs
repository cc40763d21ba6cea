//! Searching parts and slots that would go together.

use ostler_core::fit::{self, Candidate};
use ostler_core::record::Record;
use ostler_proto::v1;

use super::kinds::{Parts, Vehicles, name_of};
use super::record::assemble;
use super::{App, AppError};
use crate::convert::assessment::candidate_message;

/// Results where the request does not say how many.
const RESULTS: usize = 50;

impl App {
    /// Searches for parts that would serve a slot.
    ///
    /// # Errors
    /// When the vehicle or the slot does not exist.
    pub async fn search_parts(
        &self,
        request: v1::SearchPartsRequest,
    ) -> Result<v1::SearchPartsResponse, AppError> {
        let v1::SearchPartsRequest {
            vehicle,
            slot,
            max_results,
        } = request;
        let vehicle = name_of::<Vehicles>("vehicle", &vehicle)?;
        let read = self.read_vehicle(&vehicle).await?;
        let known = read
            .record
            .vehicles
            .get(&vehicle)
            .ok_or_else(|| AppError::NotFound {
                name: vehicle.to_string(),
            })?;
        let found = fit::parts_for_slot(&read.record, known, &slot, most(max_results))?;
        Ok(v1::SearchPartsResponse {
            candidates: messages(found),
        })
    }

    /// Searches the fleet for slots that would take a part.
    ///
    /// # Errors
    /// When the part does not exist.
    pub async fn search_slots(
        &self,
        request: v1::SearchSlotsRequest,
    ) -> Result<v1::SearchSlotsResponse, AppError> {
        let v1::SearchSlotsRequest { part, max_results } = request;
        let part = name_of::<Parts>("part", &part)?;
        let fleet = part.fleet();
        let own = self.store().get(&fleet).await?;
        let rows = own.into_iter().chain(self.store().descendants(&fleet).await?);
        let record: Record = assemble(&fleet, rows.collect())?;
        let known = record.parts.get(&part).ok_or_else(|| AppError::NotFound {
            name: part.to_string(),
        })?;
        let found = fit::slots_for_part(&record, known, most(max_results))?;
        Ok(v1::SearchSlotsResponse {
            candidates: messages(found),
        })
    }
}

fn most(max_results: i32) -> usize {
    usize::try_from(max_results)
        .ok()
        .filter(|most| *most > 0)
        .unwrap_or(RESULTS)
}

fn messages(found: Vec<Candidate>) -> Vec<v1::FitCandidate> {
    found.into_iter().map(candidate_message).collect()
}
