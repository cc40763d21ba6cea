//! The search for the cheapest chain.

use std::cmp::Ordering;
use std::collections::{BTreeSet, BinaryHeap, HashMap};

use super::adapters::{Bridge, BridgeCost, BridgeOption, CHAIN_MAX, Crossing, Gap};
use super::compare::coarse_key;
use super::values::{Coarse, Number, Values};
use crate::record::InterfaceValue;

/// Most states of the interfaces that one search looks at.
const STATES_MAX: usize = 50_000;

/// Gaps and options made ready for searching.
pub(super) struct Search<'input> {
    gaps: &'input [Gap],
    options: &'input [BridgeOption],
    cost: BridgeCost,
    values: Values,
    /// Values that the gaps are offered, in their order.
    offered: State,
    /// What each option does that some chain can take up.
    crossings: HashMap<usize, Vec<Step>>,
    /// These options by the gap and the kind of value that their first crossing takes up.
    by_value: HashMap<(usize, Coarse), Vec<usize>>,
    /// Waiting times of these options, ascending, 0 among them.
    waits_days: Vec<f64>,
}

/// Values of the gaps' interfaces, in their order, by their numbers.
type State = Vec<Number>;

/// A crossing of an option at one gap.
#[derive(Debug, Clone, Copy)]
enum Step {
    Replaces { at: usize, from: Number, to: Number },
    Lengthens { at: usize, by_mm: f64 },
}

/// A state reached, cheapest first, then in the order of the options.
struct Reached {
    cost_hours: f64,
    chain: Vec<usize>,
    state: State,
}

impl PartialEq for Reached {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Reached {}

impl PartialOrd for Reached {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Reached {
    /// Turned round: the heap gives the greatest first.
    fn cmp(&self, other: &Self) -> Ordering {
        other
            .cost_hours
            .total_cmp(&self.cost_hours)
            .then_with(|| other.chain.cmp(&self.chain))
    }
}

impl<'input> Search<'input> {
    pub(super) fn new(gaps: &'input [Gap], options: &'input [BridgeOption], cost: BridgeCost) -> Self {
        let places: HashMap<&str, usize> = gaps
            .iter()
            .enumerate()
            .map(|(at, gap)| (&*gap.kind, at))
            .collect();
        let place = |crossing: &Crossing| places.get(&**crossing.kind()).copied();
        let mut by_value: HashMap<(usize, String), Vec<usize>> = HashMap::new();
        for (index, option) in options.iter().enumerate() {
            let within = option.crossings.iter().all(|crossing| place(crossing).is_some());
            let first = option.crossings.first();
            if let (true, Some(first), Some(at)) = (within, first, first.and_then(place)) {
                let key = match first {
                    Crossing::Replaces { from, .. } => coarse_key(from),
                    Crossing::Lengthens { .. } => coarse_key(&InterfaceValue::LengthMm(0.0)),
                };
                by_value.entry((at, key)).or_default().push(index);
            }
        }
        let mut waits_days = vec![0.0];
        keep_reachable(gaps, options, &mut by_value, &mut waits_days, &place);
        let mut values = Values::default();
        let mut crossings = HashMap::new();
        for index in by_value.values().flatten() {
            let steps = options[*index].crossings.iter().filter_map(|crossing| {
                let at = place(crossing)?;
                Some(match crossing {
                    Crossing::Replaces { from, to, .. } => Step::Replaces {
                        at,
                        from: values.number(from),
                        to: values.number(to),
                    },
                    Crossing::Lengthens { by_mm, .. } => Step::Lengthens { at, by_mm: *by_mm },
                })
            });
            let steps = steps.collect();
            crossings.insert(*index, steps);
        }
        let by_value = by_value
            .into_iter()
            .map(|((at, key), indices)| ((at, values.coarse(key)), indices))
            .collect();
        Self {
            gaps,
            options,
            cost,
            offered: gaps.iter().map(|gap| values.number(&gap.offered)).collect(),
            values,
            crossings,
            by_value,
            waits_days,
        }
    }

    /// The options that may take up a value of `state`.
    fn next_options(&self, state: &State) -> impl Iterator<Item = usize> {
        let taking = state
            .iter()
            .enumerate()
            .filter_map(|(at, value)| self.by_value.get(&(at, self.values.coarse_of(*value))));
        taking.flatten().copied()
    }

    /// The cheapest chain that does without the option `without`.
    pub(super) fn cheapest(&mut self, without: Option<usize>) -> Option<Bridge> {
        let mut best: Option<Bridge> = None;
        for wait_days in self.waits_days.clone() {
            let waiting_hours = wait_days * self.cost.hours_per_lead_day;
            if best.as_ref().is_some_and(|best| waiting_hours >= best.cost_hours) {
                break;
            }
            // What waits this long must be cheaper by itself to be the best; what waits less was found before.
            let most_hours = best
                .as_ref()
                .map_or(f64::INFINITY, |best| best.cost_hours - waiting_hours);
            let found = self
                .chain(wait_days, without, most_hours)
                .map(|chain| self.total(chain));
            best = match (best, found) {
                (Some(best), Some(found)) if found.cost_hours >= best.cost_hours => Some(best),
                (best, found) => found.or(best),
            };
        }
        best
    }

    fn total(&self, options: Vec<usize>) -> Bridge {
        let mut bridge = Bridge {
            options: Vec::new(),
            mass_kg: 0.0,
            hours: 0.0,
            lead_days: 0.0,
            cost_hours: 0.0,
        };
        for index in &options {
            let option = &self.options[*index];
            bridge.mass_kg += option.mass_kg;
            bridge.hours += option.hours;
            bridge.lead_days = bridge.lead_days.max(option.lead_days);
            bridge.cost_hours += self.own_cost(option);
        }
        bridge.cost_hours += bridge.lead_days * self.cost.hours_per_lead_day;
        bridge.options = options;
        bridge
    }

    /// Cost of an option without waiting.
    fn own_cost(&self, option: &BridgeOption) -> f64 {
        option.hours + option.mass_kg.max(0.0) * self.cost.hours_per_kg
    }

    /// The chain that is cheapest without waiting, of options that are there within `wait_days`. `None` as well: it does not cost
    /// less than `most_hours`.
    fn chain(&mut self, wait_days: f64, without: Option<usize>, most_hours: f64) -> Option<Vec<usize>> {
        let start = Reached {
            cost_hours: 0.0,
            chain: Vec::new(),
            state: self.offered.clone(),
        };
        let most = CHAIN_MAX.max(self.left_open(&start.state) + 2);
        let mut open = BinaryHeap::from([start]);
        let mut cheapest: HashMap<(State, usize), f64> = HashMap::new();
        while let Some(reached) = open.pop() {
            if self.left_open(&reached.state) == 0 {
                return Some(reached.chain);
            }
            if reached.chain.len() == most {
                continue;
            }
            let next: Vec<usize> = self.next_options(&reached.state).collect();
            for index in next {
                let option = &self.options[index];
                if Some(index) == without || option.lead_days > wait_days {
                    continue;
                }
                let Some(state) = self.crossed(&reached.state, index) else {
                    continue;
                };
                let cost_hours = reached.cost_hours + self.own_cost(option);
                if cost_hours >= most_hours {
                    continue;
                }
                let key = (state, reached.chain.len() + 1);
                if cheapest.get(&key).is_some_and(|known| *known <= cost_hours) {
                    continue;
                }
                if cheapest.len() >= STATES_MAX {
                    return None;
                }
                let state = key.0.clone();
                cheapest.insert(key, cost_hours);
                let mut chain = reached.chain.clone();
                chain.push(index);
                open.push(Reached {
                    cost_hours,
                    chain,
                    state,
                });
            }
        }
        None
    }

    /// How many gaps a state leaves open.
    fn left_open(&mut self, state: &State) -> usize {
        let values = &mut self.values;
        let gaps = self.gaps.iter().enumerate().zip(state);
        gaps.filter(|((at, gap), value)| !values.close(*at, gap, **value))
            .count()
    }

    /// The state after an option; `None` when it does not take up what is there.
    fn crossed(&mut self, state: &State, option: usize) -> Option<State> {
        // Most options fail at their first crossing: nothing is copied for these.
        let mut next: Option<State> = None;
        for step in self.crossings.get(&option)? {
            let (at, value) = match *step {
                Step::Replaces { at, from, to } => {
                    let present = *next.as_ref().unwrap_or(state).get(at)?;
                    if !self.values.takes_up(from, present) {
                        return None;
                    }
                    (at, to)
                }
                Step::Lengthens { at, by_mm } => {
                    let present = *next.as_ref().unwrap_or(state).get(at)?;
                    (at, self.values.lengthened(present, by_mm)?)
                }
            };
            *next.get_or_insert_with(|| state.clone()).get_mut(at)? = value;
        }
        Some(next.unwrap_or_else(|| state.clone()))
    }
}

/// Leaves out the options whose first crossing takes up a value that no chain comes to.
fn keep_reachable(
    gaps: &[Gap],
    options: &[BridgeOption],
    by_value: &mut HashMap<(usize, String), Vec<usize>>,
    waits_days: &mut Vec<f64>,
    place: &impl Fn(&Crossing) -> Option<usize>,
) {
    let offered = gaps.iter().enumerate();
    let mut open: Vec<(usize, String)> = offered.map(|(at, gap)| (at, coarse_key(&gap.offered))).collect();
    let mut seen: BTreeSet<(usize, String)> = open.iter().cloned().collect();
    let mut kept = HashMap::new();
    while let Some(key) = open.pop() {
        let Some(indices) = by_value.remove(&key) else {
            continue;
        };
        for option in indices.iter().filter_map(|index| options.get(*index)) {
            waits_days.push(option.lead_days);
            for crossing in &option.crossings {
                if let (Crossing::Replaces { to, .. }, Some(at)) = (crossing, place(crossing)) {
                    let reached = (at, coarse_key(to));
                    if seen.insert(reached.clone()) {
                        open.push(reached);
                    }
                }
            }
        }
        kept.insert(key, indices);
    }
    *by_value = kept;
    waits_days.sort_by(f64::total_cmp);
    waits_days.dedup();
}
