//! A load held against a limit, as a finding.

use super::Finding;
use crate::answer::Answer;
use crate::loads::{
    Baseline, CONFIDENCE_DEVIATIONS, ConvoyLoads, DEPARTURE_STATE, LimitedLoad, LoadAgainstLimit, LoadResult,
    worst_of,
};
use crate::readiness::Figure;
use crate::record::{Name, Vehicle};

/// The vehicle that loads are about, at every moment of its departure.
#[derive(Debug, Clone, Copy)]
pub(super) struct Subject<'a> {
    pub(super) loads: &'a ConvoyLoads,
    pub(super) states: &'a [LoadResult],
    pub(super) vehicle: &'a Vehicle,
}

impl Subject<'_> {
    /// What the moment at which `limited` is tightest means for `name`, whose figures start with `id`.
    /// `None`: no state has that load.
    pub(super) fn finding(&self, name: &str, id: &str, limited: &LimitedLoad) -> Option<Finding> {
        let (state, held) = worst_of(self.states, limited)?;
        let (text, remedy) = self.words(name, held);
        let when = match state.load_state.as_str() {
            DEPARTURE_STATE => "at departure".to_owned(),
            moment => format!("at the {moment}"),
        };
        let mut finding = Finding::new(held.answer, format!("{text}, {when}"), self.records(state))
            .remedy(remedy)
            .basis(state.formula_version);
        if held.limit_kg.is_none() && held.answer != Answer::Met {
            finding
                .missing
                .push(format!("limit of the {name}: {}", held.limit_name));
        }
        let uncertainty = Some(held.uncertainty_kg);
        let figure = |what: &str, value: f64, limit: Option<f64>| Figure {
            id: format!("{id}_{what}_kg"),
            value,
            limit,
            uncertainty,
        };
        finding.figures.push(figure("load", held.load_kg, held.limit_kg));
        finding
            .figures
            .extend(held.margin_kg.map(|margin_kg| figure("margin", margin_kg, None)));
        Some(finding)
    }

    fn words(&self, name: &str, held: &LoadAgainstLimit) -> (String, String) {
        let LoadAgainstLimit {
            load_kg, limit_name, ..
        } = held;
        let carries = format!("the {name} carries {load_kg:.1} kg");
        match (held.answer, held.margin_kg, held.limit_kg) {
            (_, Some(margin_kg), Some(limit_kg)) if margin_kg < 0.0 => (
                format!(
                    "{carries}, {:.1} kg over the {limit_name} of {limit_kg:.0} kg",
                    -margin_kg
                ),
                "move load to where there is margin, to another vehicle, or leave it behind; then weigh"
                    .to_owned(),
            ),
            (Answer::NotMet, _, _) => (format!("{carries}: it would lift"), "move load".to_owned()),
            (Answer::MetWithConditions, Some(margin_kg), Some(limit_kg)) => (
                format!(
                    "{carries}, only {margin_kg:.1} kg below the {limit_name} of {limit_kg:.0} kg ({})",
                    self.certainty(held)
                ),
                "weigh the loaded vehicle axle by axle before departure".to_owned(),
            ),
            (_, Some(margin_kg), Some(limit_kg)) => (
                format!("{carries}, {margin_kg:.1} kg below the {limit_name} of {limit_kg:.0} kg"),
                String::new(),
            ),
            (Answer::Met, _, _) => (format!("{carries}: {limit_name}"), String::new()),
            _ => (
                format!("{carries}; its limit is not known: {limit_name}"),
                "record the limit".to_owned(),
            ),
        }
    }

    /// How well a load is known, in words.
    fn certainty(&self, held: &LoadAgainstLimit) -> String {
        let deviations = self
            .loads
            .departure
            .policy
            .confidence_deviations
            .unwrap_or(CONFIDENCE_DEVIATIONS);
        let known = format!("known to ±{:.0} kg", deviations * held.uncertainty_kg);
        match held.untoleranced_count {
            0 => known,
            count => format!("{known}, which leaves out {count} masses without a stated tolerance"),
        }
    }

    fn records(&self, state: &LoadResult) -> Vec<Name> {
        let mut records = vec![self.vehicle.name.clone()];
        if let Baseline::Weighing(weighing) = &state.baseline {
            records.push(weighing.clone());
        }
        records
    }
}
