//! The search for the cheapest chain.

use std::cmp::Ordering;
use std::collections::{BTreeSet, BinaryHeap, HashMap};

use super::adapters::{Bridge, BridgeCost, BridgeOption, CHAIN_MAX, Crossing, Gap};
use super::compare::{Match, coarse_key, compare};
use crate::record::{BoltCircle, Comparison, InterfaceValue};

/// Most states of the interfaces that one search looks at.
const STATES_MAX: usize = 50_000;

/// Gaps and options made ready for searching.
pub(super) struct Search<'input> {
    gaps: &'input [Gap],
    options: &'input [BridgeOption],
    cost: BridgeCost,
    /// Options that some chain can take up, by the gap and the value that their first crossing takes up.
    by_value: HashMap<(usize, String), Vec<usize>>,
    /// Waiting times of these options, ascending, 0 among them.
    waits_days: Vec<f64>,
}

/// Values of the gaps' interfaces, in their order.
type State = Vec<InterfaceValue>;

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
        let mut search = Self {
            gaps,
            options,
            cost,
            by_value,
            waits_days: vec![0.0],
        };
        search.keep_reachable(&place);
        search
    }

    /// Leaves out the options whose first crossing takes up a value that no chain comes to.
    fn keep_reachable(&mut self, place: &impl Fn(&Crossing) -> Option<usize>) {
        let mut open: Vec<(usize, String)> = self
            .gaps
            .iter()
            .enumerate()
            .map(|(at, gap)| (at, coarse_key(&gap.offered)))
            .collect();
        let mut seen: BTreeSet<(usize, String)> = open.iter().cloned().collect();
        let mut kept = HashMap::new();
        while let Some(key) = open.pop() {
            let Some(indices) = self.by_value.remove(&key) else {
                continue;
            };
            for option in indices.iter().filter_map(|index| self.options.get(*index)) {
                self.waits_days.push(option.lead_days);
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
        self.by_value = kept;
        self.waits_days.sort_by(f64::total_cmp);
        self.waits_days.dedup();
    }

    /// The options that may take up a value of `state`.
    fn next_options<'search>(&'search self, state: &'search State) -> impl Iterator<Item = usize> + 'search {
        state
            .iter()
            .enumerate()
            .filter_map(|(at, value)| self.by_value.get(&(at, coarse_key(value))))
            .flatten()
            .copied()
    }

    /// The cheapest chain that does without the option `without`.
    pub(super) fn cheapest(&self, without: Option<usize>) -> Option<Bridge> {
        let mut best: Option<Bridge> = None;
        for wait_days in &self.waits_days {
            let waiting_hours = wait_days * self.cost.hours_per_lead_day;
            if best.as_ref().is_some_and(|best| waiting_hours >= best.cost_hours) {
                break;
            }
            let found = self.chain(*wait_days, without).map(|chain| self.total(chain));
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

    /// The chain that is cheapest without waiting, of options that are there within `wait_days`.
    fn chain(&self, wait_days: f64, without: Option<usize>) -> Option<Vec<usize>> {
        let start = Reached {
            cost_hours: 0.0,
            chain: Vec::new(),
            state: self.gaps.iter().map(|gap| gap.offered.clone()).collect(),
        };
        let to_close = self
            .gaps
            .iter()
            .zip(&start.state)
            .filter(|(gap, value)| !closed(gap, value))
            .count();
        let most = CHAIN_MAX.max(to_close + 2);
        let mut open = BinaryHeap::from([start]);
        let mut cheapest: HashMap<(Vec<u8>, usize), f64> = HashMap::new();
        while let Some(reached) = open.pop() {
            if self.done(&reached.state) {
                return Some(reached.chain);
            }
            if reached.chain.len() == most {
                continue;
            }
            for index in self.next_options(&reached.state) {
                let option = &self.options[index];
                if Some(index) == without || option.lead_days > wait_days {
                    continue;
                }
                let Some(state) = self.crossed(&reached.state, option) else {
                    continue;
                };
                let mut chain = reached.chain.clone();
                chain.push(index);
                let cost_hours = reached.cost_hours + self.own_cost(option);
                let key = (exact_key(&state), chain.len());
                if cheapest.get(&key).is_some_and(|known| *known <= cost_hours) {
                    continue;
                }
                if cheapest.len() >= STATES_MAX {
                    return None;
                }
                cheapest.insert(key, cost_hours);
                open.push(Reached {
                    cost_hours,
                    chain,
                    state,
                });
            }
        }
        None
    }

    fn done(&self, state: &State) -> bool {
        self.gaps.iter().zip(state).all(|(gap, value)| closed(gap, value))
    }

    /// The state after an option; `None` when it does not take up what is there.
    fn crossed(&self, state: &State, option: &BridgeOption) -> Option<State> {
        // Most options fail at their first crossing: nothing is copied for these.
        let mut next: Option<State> = None;
        for crossing in &option.crossings {
            let at = self.gaps.iter().position(|gap| gap.kind == *crossing.kind())?;
            let present = next.as_ref().unwrap_or(state).get(at)?;
            let value = match (crossing, present) {
                (Crossing::Replaces { from, to, .. }, present) => {
                    if compare(from, present, Comparison::Equal, 0.0) != Match::Matches {
                        return None;
                    }
                    to.clone()
                }
                (Crossing::Lengthens { by_mm, .. }, InterfaceValue::LengthMm(length_mm)) => {
                    InterfaceValue::LengthMm(length_mm + by_mm)
                }
                (Crossing::Lengthens { .. }, _) => return None,
            };
            *next.get_or_insert_with(|| state.clone()).get_mut(at)? = value;
        }
        Some(next.unwrap_or_else(|| state.clone()))
    }
}

/// Equal for states that are the same to the last bit, and for no others.
fn exact_key(state: &State) -> Vec<u8> {
    fn text(key: &mut Vec<u8>, sort: u8, text: &str) {
        key.push(sort);
        key.extend(text.len().to_le_bytes());
        key.extend(text.as_bytes());
    }
    fn number(key: &mut Vec<u8>, sort: u8, number: f64) {
        key.push(sort);
        key.extend(number.to_bits().to_le_bytes());
    }
    let mut key = Vec::with_capacity(32 * state.len());
    for value in state {
        match value {
            InterfaceValue::Text(value) => text(&mut key, 0, value),
            InterfaceValue::Thread(value) => text(&mut key, 1, value),
            InterfaceValue::Connector(value) => text(&mut key, 2, value),
            InterfaceValue::Hand(hand) => text(&mut key, 3, hand.word()),
            InterfaceValue::LengthMm(value) => number(&mut key, 4, *value),
            InterfaceValue::Ratio(value) => number(&mut key, 5, *value),
            InterfaceValue::Number(value) => number(&mut key, 6, *value),
            InterfaceValue::Count(count) => {
                key.push(7);
                key.extend(count.to_le_bytes());
            }
            InterfaceValue::BoltCircle(BoltCircle {
                count,
                circle_mm,
                thread,
            }) => {
                key.push(8);
                key.extend(count.to_le_bytes());
                number(&mut key, 9, *circle_mm);
                text(&mut key, 10, thread);
            }
        }
    }
    key
}

fn closed(gap: &Gap, value: &InterfaceValue) -> bool {
    compare(&gap.required, value, gap.comparison, gap.tolerance) == Match::Matches
}
