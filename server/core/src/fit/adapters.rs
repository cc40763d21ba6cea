//! The cheapest chain of adapters and work that bridges what does not match.

use std::cmp::Ordering;
use std::collections::{BTreeMap, BTreeSet, BinaryHeap, HashMap};

use super::compare::{Match, compare};
use crate::check::{Check, InvalidInput};
use crate::record::{Comparison, Id, InterfaceValue};

/// Most options in one chain.
pub const CHAIN_MAX: usize = 6;

/// Most states of the interfaces that one search looks at.
const STATES_MAX: usize = 50_000;

/// What an adapter or a piece of work does to one interface.
#[derive(Debug, Clone, PartialEq)]
pub enum Crossing {
    /// Turns one value into another.
    Replaces {
        /// Kind of interface.
        kind: Id,
        /// The value it takes up.
        from: InterfaceValue,
        /// The value it then offers.
        to: InterfaceValue,
    },
    /// Adds to a length.
    Lengthens {
        /// Kind of interface.
        kind: Id,
        /// Millimetres; negative shortens.
        by_mm: f64,
    },
}

impl Crossing {
    fn kind(&self) -> &Id {
        match self {
            Self::Replaces { kind, .. } | Self::Lengthens { kind, .. } => kind,
        }
    }
}

/// An adapter or a piece of work.
#[derive(Debug, Clone, PartialEq)]
pub struct BridgeOption {
    /// What it is called.
    pub display_name: String,
    /// What it does, all at once. One that touches a kind that is not asked for is not used.
    pub crossings: Vec<Crossing>,
    /// Mass that it adds, kilograms; negative when it saves.
    pub mass_kg: f64,
    /// Hours that it takes, 0 or more.
    pub hours: f64,
    /// Days until it is there, 0 or more.
    pub lead_days: f64,
}

/// What mass and waiting count against hours of work. Money is left out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BridgeCost {
    /// Hours that a kilogram added counts as, 0 or more. A kilogram saved counts nothing.
    pub hours_per_kg: f64,
    /// Hours that a day of waiting counts as, 0 or more. Options are waited for at the same time.
    pub hours_per_lead_day: f64,
}

impl Default for BridgeCost {
    /// Half an hour a kilogram, an hour a day: own choice, no source.
    fn default() -> Self {
        Self {
            hours_per_kg: 0.5,
            hours_per_lead_day: 1.0,
        }
    }
}

/// An interface to bridge: what is offered and what is required.
#[derive(Debug, Clone, PartialEq)]
pub struct Gap {
    /// Kind of interface.
    pub kind: Id,
    /// What the part offers.
    pub offered: InterfaceValue,
    /// What is required.
    pub required: InterfaceValue,
    /// How the offered value must stand to the required one.
    pub comparison: Comparison,
    /// Allowed difference, 0 or more.
    pub tolerance: f64,
}

/// A chain that bridges all gaps.
#[derive(Debug, Clone, PartialEq)]
pub struct Bridge {
    /// Indices of the options, in the order of the chain from the part outwards.
    pub options: Vec<usize>,
    /// Mass that they add together, kilograms.
    pub mass_kg: f64,
    /// Hours that they take together.
    pub hours: f64,
    /// Days until the last of them is there.
    pub lead_days: f64,
    /// What it counts together, in hours.
    pub cost_hours: f64,
}

/// The cheapest chain of `options` that bridges all `gaps`, and up to `alternatives` others that each
/// do without one option of it; cheapest first. Empty: none of at most [`CHAIN_MAX`] options was found
/// within 50,000 states. No gaps need no options: one empty chain.
///
/// The cost is hours, plus mass added and the longest waiting counted as hours. It is the least there
/// is: for each waiting time the cheapest chain of the options that are there by then is found.
///
/// # Errors
/// Numbers that are not finite or, except for masses, negative, as `options[i].hours` and so on; more
/// than 32 gaps, or a kind twice.
pub fn bridge(
    gaps: &[Gap],
    options: &[BridgeOption],
    cost: BridgeCost,
    alternatives: usize,
) -> Result<Vec<Bridge>, InvalidInput> {
    check_input(gaps, options, cost)?;
    let search = Search::new(gaps, options, cost);
    let Some(best) = search.cheapest(None) else {
        return Ok(Vec::new());
    };
    let mut others: Vec<Bridge> = Vec::new();
    let left_out: BTreeSet<usize> = best.options.iter().copied().collect();
    for option in left_out {
        let other = search.cheapest(Some(option));
        others.extend(other.filter(|other| !others.contains(other)));
    }
    others.sort_by(|left, right| {
        left.cost_hours
            .total_cmp(&right.cost_hours)
            .then_with(|| left.options.cmp(&right.options))
    });
    others.truncate(alternatives);
    others.insert(0, best);
    Ok(others)
}

fn check_input(gaps: &[Gap], options: &[BridgeOption], cost: BridgeCost) -> Result<(), InvalidInput> {
    let mut check = Check::new();
    check.non_negative("cost.hours_per_kg", cost.hours_per_kg);
    check.non_negative("cost.hours_per_lead_day", cost.hours_per_lead_day);
    if gaps.len() > 32 {
        check.refuse("gaps", format!("must be at most 32, are {}", gaps.len()));
    }
    let mut kinds = BTreeSet::new();
    for (index, gap) in gaps.iter().enumerate() {
        check.non_negative(&format!("gaps[{index}].tolerance"), gap.tolerance);
        if !kinds.insert(&gap.kind) {
            check.refuse(
                format!("gaps[{index}].kind"),
                format!("`{}` comes twice", gap.kind),
            );
        }
    }
    for (index, option) in options.iter().enumerate() {
        check.finite(&format!("options[{index}].mass_kg"), option.mass_kg);
        check.non_negative(&format!("options[{index}].hours"), option.hours);
        check.non_negative(&format!("options[{index}].lead_days"), option.lead_days);
        for (at, crossing) in option.crossings.iter().enumerate() {
            if let Crossing::Lengthens { by_mm, .. } = crossing {
                check.finite(&format!("options[{index}].crossings[{at}].by_mm"), *by_mm);
            }
        }
    }
    check.finish()
}

struct Search<'input> {
    gaps: &'input [Gap],
    options: &'input [BridgeOption],
    cost: BridgeCost,
    /// Options by the kind of their first crossing, those that only touch kinds of the gaps.
    by_kind: BTreeMap<&'input str, Vec<usize>>,
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
    fn new(gaps: &'input [Gap], options: &'input [BridgeOption], cost: BridgeCost) -> Self {
        let kinds: BTreeSet<&str> = gaps.iter().map(|gap| &*gap.kind).collect();
        let mut by_kind: BTreeMap<&str, Vec<usize>> = BTreeMap::new();
        for (index, option) in options.iter().enumerate() {
            let within = option
                .crossings
                .iter()
                .all(|crossing| kinds.contains(&**crossing.kind()));
            if let (true, Some(first)) = (within, option.crossings.first()) {
                by_kind.entry(first.kind()).or_default().push(index);
            }
        }
        Self {
            gaps,
            options,
            cost,
            by_kind,
        }
    }

    /// The cheapest chain that does without the option `without`.
    fn cheapest(&self, without: Option<usize>) -> Option<Bridge> {
        let usable = self
            .by_kind
            .values()
            .flatten()
            .filter(|index| Some(**index) != without);
        let mut waits: Vec<f64> = usable.map(|index| self.options[*index].lead_days).collect();
        waits.push(0.0);
        waits.sort_by(f64::total_cmp);
        waits.dedup();
        let mut best: Option<Bridge> = None;
        for wait_days in waits {
            let waiting_hours = wait_days * self.cost.hours_per_lead_day;
            if best.as_ref().is_some_and(|best| waiting_hours >= best.cost_hours) {
                break;
            }
            let found = self.chain(wait_days, without).map(|chain| self.total(chain));
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
        let mut open = BinaryHeap::from([start]);
        let mut cheapest: HashMap<(String, usize), f64> = HashMap::new();
        while let Some(reached) = open.pop() {
            if self.done(&reached.state) {
                return Some(reached.chain);
            }
            if reached.chain.len() == CHAIN_MAX {
                continue;
            }
            for index in self.by_kind.values().flatten() {
                let option = &self.options[*index];
                if Some(*index) == without || option.lead_days > wait_days {
                    continue;
                }
                let Some(state) = self.crossed(&reached.state, option) else {
                    continue;
                };
                let mut chain = reached.chain.clone();
                chain.push(*index);
                let cost_hours = reached.cost_hours + self.own_cost(option);
                let key = (format!("{state:?}"), chain.len());
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
        self.gaps.iter().zip(state).all(|(gap, value)| {
            compare(&gap.required, value, gap.comparison, gap.tolerance) == Match::Matches
        })
    }

    /// The state after an option; `None` when it does not take up what is there.
    fn crossed(&self, state: &State, option: &BridgeOption) -> Option<State> {
        let mut next = state.clone();
        for crossing in &option.crossings {
            let at = self.gaps.iter().position(|gap| gap.kind == *crossing.kind())?;
            let value = next.get_mut(at)?;
            match (crossing, &*value) {
                (Crossing::Replaces { from, to, .. }, present) => {
                    if compare(from, present, Comparison::Equal, 0.0) != Match::Matches {
                        return None;
                    }
                    *value = to.clone();
                }
                (Crossing::Lengthens { by_mm, .. }, InterfaceValue::LengthMm(length_mm)) => {
                    *value = InterfaceValue::LengthMm(length_mm + by_mm);
                }
                (Crossing::Lengthens { .. }, _) => return None,
            }
        }
        Some(next)
    }
}
