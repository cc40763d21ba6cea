//! Bridging what does not match in one slot: adapters on record and noted work, put together.

use super::adapters::{Bridge, BridgeCost, BridgeOption, Crossing, Gap, bridge};
use super::compare::{Match, shown};
use super::requirements::Asked;
use super::result::{BridgeChain, BridgeStep, Fit, Means, SlotBridge};
use super::verdict::Judged;
use crate::check::InvalidInput;
use crate::record::{Comparison, Id, InterfaceValue, Part};

/// Hours that a mass, a time or a waiting counts as in the search where it is not known: a chain that is
/// known is preferred. It never shows in a result. Own choice, no source.
const NOT_KNOWN_HOURS: f64 = 1_000.0;

/// Most gaps that one search takes.
const GAPS_MAX: usize = 32;

/// Other chains shown beside the cheapest.
const ALTERNATIVES: usize = 3;

/// An interface with what was found about it.
pub(super) type Found<'record> = (Asked, Judged<'record>);

/// Finds the cheapest chain for a slot, and marks the clashes that an adapter bridges.
///
/// # Errors
/// Adapters whose figures are not finite or are negative.
pub(super) fn bridge_slot(
    slot: &Id,
    found: &mut [Found<'_>],
    adapters: &[&Part],
) -> Result<SlotBridge, InvalidInput> {
    let (open, still) = gaps(found);
    let mut none = SlotBridge {
        slot: slot.clone(),
        chain: None,
        unbridged: hopeless(found),
        alternatives: Vec::new(),
    };
    if open.is_empty() {
        none.chain = none.unbridged.is_empty().then(BridgeChain::default);
        return Ok(none);
    }
    let mut closable = Vec::new();
    for gap in open {
        let mut alone = vec![gap.clone()];
        alone.extend(still.iter().cloned());
        let choice = Choice::of(found, adapters, &alone);
        if choice.search(&alone, 0)?.is_empty() {
            none.unbridged.push(gap.kind);
        } else {
            closable.push(gap);
        }
    }
    none.unbridged.sort();
    let kinds: Vec<Id> = closable.iter().map(|gap| gap.kind.clone()).collect();
    closable.extend(still);
    closable.truncate(GAPS_MAX);
    let choice = Choice::of(found, adapters, &closable);
    let mut chains = choice.search(&closable, ALTERNATIVES)?.into_iter();
    let chain = chains.next().map(|best| choice.chain(&best));
    let result = SlotBridge {
        alternatives: chains.map(|other| choice.chain(&other)).collect(),
        chain,
        ..none
    };
    for (asked, judged) in found.iter_mut().filter(|(asked, _)| kinds.contains(&asked.kind)) {
        judged.bridged_by(asked, &result);
    }
    Ok(result)
}

/// What is to be closed, and what matches and must stay so.
fn gaps(found: &[Found<'_>]) -> (Vec<Gap>, Vec<Gap>) {
    let mut open = Vec::new();
    let mut still = Vec::new();
    for (asked, judged) in found {
        let to_bridge = match judged.assessment.fit {
            Fit::Clashes => !judged.never_fits,
            Fit::Bridged => !judged.assessment.remedy_done,
            Fit::Matches | Fit::NotKnown => false,
        };
        let gap = match (&asked.required, &asked.offered, judged.compared) {
            (Some(required), Some(offered), Match::Mismatch) if to_bridge => Gap {
                kind: asked.kind.clone(),
                offered: offered.clone(),
                required: required.clone(),
                comparison: asked.comparison,
                tolerance: asked.tolerance,
            },
            (Some(required), Some(offered), Match::Matches) if !to_bridge => {
                still.push(Gap {
                    kind: asked.kind.clone(),
                    offered: offered.clone(),
                    required: required.clone(),
                    comparison: asked.comparison,
                    tolerance: asked.tolerance,
                });
                continue;
            }
            // Only the note says that there is work: the values have nothing to add.
            _ if to_bridge && !judged.works.is_empty() => Gap {
                kind: asked.kind.clone(),
                offered: InterfaceValue::Text("as it is".to_owned()),
                required: InterfaceValue::Text("as the note asks".to_owned()),
                comparison: Comparison::Equal,
                tolerance: 0.0,
            },
            _ => continue,
        };
        open.push(gap);
    }
    open.truncate(GAPS_MAX);
    still.truncate(GAPS_MAX - open.len());
    (open, still)
}

/// What clashes and has nothing to search with.
fn hopeless(found: &[Found<'_>]) -> Vec<Id> {
    found
        .iter()
        .filter(|(_, judged)| {
            judged.assessment.fit == Fit::Clashes && (judged.never_fits || judged.compared != Match::Mismatch)
        })
        .map(|(asked, _)| asked.kind.clone())
        .collect()
}

/// The options of a search, each with what it shows as in a result.
struct Choice {
    options: Vec<BridgeOption>,
    steps: Vec<BridgeStep>,
}

impl Choice {
    fn of(found: &[Found<'_>], adapters: &[&Part], gaps: &[Gap]) -> Self {
        let mut choice = Self {
            options: Vec::new(),
            steps: Vec::new(),
        };
        let known = |crossing: &Crossing| gaps.iter().any(|gap| gap.kind == *crossing.kind());
        for part in adapters {
            let Some(adapter) = &part.adapter else { continue };
            let crossings: Option<Vec<Crossing>> = adapter.crossings.iter().map(Crossing::of).collect();
            let Some(crossings) = crossings.filter(|crossings| crossings.iter().all(known)) else {
                continue;
            };
            let step = BridgeStep {
                means: Means::Adapter(part.name.clone()),
                text: part.display_name.clone(),
                interface_kinds: crossings.iter().map(|crossing| crossing.kind().clone()).collect(),
                mass_kg: part.mass.map(|mass| mass.mass_kg),
                hours: adapter.fitting_hours,
                lead_days: adapter.lead_days,
            };
            choice.add(step, crossings);
        }
        for gap in gaps {
            let works = found
                .iter()
                .filter(|(asked, _)| asked.kind == gap.kind)
                .flat_map(|(_, judged)| &judged.works);
            for note in works {
                let step = BridgeStep {
                    means: Means::Work(note.name.clone()),
                    text: note.remedy.clone(),
                    interface_kinds: vec![gap.kind.clone()],
                    mass_kg: note.remedy_mass_kg,
                    hours: note.remedy_hours,
                    lead_days: note.remedy_lead_days,
                };
                let crossing = Crossing::Replaces {
                    kind: gap.kind.clone(),
                    from: gap.offered.clone(),
                    to: gap.required.clone(),
                };
                choice.add(step, vec![crossing]);
            }
        }
        choice
    }

    fn add(&mut self, step: BridgeStep, crossings: Vec<Crossing>) {
        let not_known = [step.mass_kg, step.hours, step.lead_days]
            .iter()
            .filter(|value| value.is_none())
            .map(|_| NOT_KNOWN_HOURS)
            .sum::<f64>();
        self.options.push(BridgeOption {
            display_name: step.text.clone(),
            crossings,
            mass_kg: step.mass_kg.unwrap_or(0.0),
            hours: step.hours.unwrap_or(0.0) + not_known,
            lead_days: step.lead_days.unwrap_or(0.0),
        });
        self.steps.push(step);
    }

    fn search(&self, gaps: &[Gap], alternatives: usize) -> Result<Vec<Bridge>, InvalidInput> {
        bridge(gaps, &self.options, BridgeCost::default(), alternatives)
    }

    fn chain(&self, found: &Bridge) -> BridgeChain {
        let steps: Vec<BridgeStep> = found
            .options
            .iter()
            .filter_map(|index| self.steps.get(*index).cloned())
            .collect();
        BridgeChain::of(steps)
    }
}

impl Judged<'_> {
    /// Takes up what the search found about this interface: a clash that is bridged, and what bridges it.
    fn bridged_by(&mut self, asked: &Asked, result: &SlotBridge) {
        let chains = result.chain.iter().chain(&result.alternatives);
        for step in chains.flat_map(|chain| &chain.steps) {
            if let Means::Adapter(_) = step.means
                && step.interface_kinds.contains(&asked.kind)
                && !self
                    .assessment
                    .remedies
                    .iter()
                    .any(|remedy| remedy.means == step.means)
            {
                self.assessment.remedies.push(step.remedy());
            }
        }
        if self.assessment.fit == Fit::Clashes && result.chain.is_some() {
            self.assessment.fit = Fit::Bridged;
            self.assessment.blocks = asked.essential;
            let offered = asked.offered.as_ref().map_or_else(String::new, shown);
            self.assessment.reason = format!("{offered} does not match; an adapter on record bridges it");
        }
    }
}
