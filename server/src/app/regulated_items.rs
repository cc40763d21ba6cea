//! What the rule packs of a departure make of a regulated item.

use std::collections::{BTreeMap, BTreeSet};

use ostler_core::check::Violation;
use ostler_core::loads::ConvoyLoads;
use ostler_core::readiness::NoPack;
use ostler_core::record::{Departure, Record};
use ostler_core::rules::RecordFigures;
use ostler_proto::v1;

use super::kinds::{Departures, RegulatedItems, name_of};
use super::{App, AppError};
use crate::convert;

impl App {
    /// Assesses a regulated item, with other facts assumed where the caller says so.
    ///
    /// # Errors
    /// When the item or the departure does not exist, or no pack of the departure speaks of its topic.
    pub async fn assess_regulated_item(
        &self,
        request: v1::AssessRegulatedItemRequest,
    ) -> Result<v1::RegulatedItemAssessment, AppError> {
        let v1::AssessRegulatedItemRequest {
            name,
            departure,
            assumed_facts,
        } = request;
        let name = name_of::<RegulatedItems>("name", &name)?;
        let departure = name_of::<Departures>("departure", &departure)?;
        let stored = self.stored::<RegulatedItems>(&name).await?;
        let (read, departure) = self.read_departure(&departure).await?;
        check_assumed(&read.record, &departure, &assumed_facts)?;
        let mut item = convert::regulated_item::regulated_item(name, stored.message)?;
        let assumed = convert::regulated_item::assume(&mut item, assumed_facts)?;
        let packs = self.packs(&read.record, &departure);
        let incomplete = |no_pack: NoPack| AppError::RecordIncomplete {
            name: item.name.to_string(),
            missing: no_pack.to_string(),
        };
        let vehicle = item
            .vehicle
            .as_ref()
            .and_then(|name| read.record.vehicles.get(name));
        let loads = ConvoyLoads::of(&read.record, &departure);
        let figures = RecordFigures::of(&loads, vehicle);
        let assessment = packs
            .assess_assuming(&read.record, &departure, &item, &figures, &assumed)
            .map_err(incomplete)?;
        let changes = packs
            .category_changes(&departure, &item, &assessment.facts_used)
            .map_err(incomplete)?;
        Ok(convert::regulated_item::assessment_message(assessment, changes))
    }
}

/// Refuses assumed facts that no rule pack of the departure knows: a slip of the pen would read as an answer.
fn check_assumed(
    record: &Record,
    departure: &Departure,
    assumed: &BTreeMap<String, v1::Fact>,
) -> Result<(), AppError> {
    let packs = departure
        .rule_packs
        .iter()
        .filter_map(|name| record.rule_packs.get(name));
    let known: BTreeSet<&str> = packs
        .flat_map(|pack| pack.facts.iter().map(|fact| &*fact.id))
        .collect();
    let unknown = assumed.keys().filter(|fact| !known.contains(fact.as_str()));
    let violations = unknown.map(|fact| Violation {
        field: format!("assumed_facts[{fact:?}]"),
        problem: "is no fact of the departure's rule packs".to_owned(),
    });
    AppError::if_any(violations.collect())
}
