//! The cheapest chain of adapters and work that bridges what does not match.

use std::collections::BTreeSet;

use super::chain::Search;
use crate::check::{Check, InvalidInput};
use crate::record::{Comparison, Id, InterfaceCrossing, InterfaceValue};

/// Most options in one chain, or two more than there are gaps to close where that is more.
pub const CHAIN_MAX: usize = 6;

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
    /// Kind of the interface.
    pub fn kind(&self) -> &Id {
        match self {
            Self::Replaces { kind, .. } | Self::Lengthens { kind, .. } => kind,
        }
    }

    /// What a recorded crossing does. `None`: it is neither two values of one kind nor a length alone.
    pub fn of(recorded: &InterfaceCrossing) -> Option<Self> {
        match (&recorded.takes_up, &recorded.offers, &recorded.lengthens) {
            (Some(from), Some(to), None) if from.kind == to.kind => Some(Self::Replaces {
                kind: from.kind.clone(),
                from: from.value.clone()?,
                to: to.value.clone()?,
            }),
            (None, None, Some(length)) => match length.value {
                Some(InterfaceValue::LengthMm(by_mm)) => Some(Self::Lengthens {
                    kind: length.kind.clone(),
                    by_mm,
                }),
                _ => None,
            },
            _ => None,
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
    let mut search = Search::new(gaps, options, cost);
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
        check.non_negative(format_args!("gaps[{index}].tolerance"), gap.tolerance);
        if !kinds.insert(&gap.kind) {
            check.refuse(
                format_args!("gaps[{index}].kind"),
                format!("`{}` comes twice", gap.kind),
            );
        }
    }
    for (index, option) in options.iter().enumerate() {
        check.finite(format_args!("options[{index}].mass_kg"), option.mass_kg);
        check.non_negative(format_args!("options[{index}].hours"), option.hours);
        check.non_negative(format_args!("options[{index}].lead_days"), option.lead_days);
        for (at, crossing) in option.crossings.iter().enumerate() {
            if let Crossing::Lengthens { by_mm, .. } = crossing {
                check.finite(format_args!("options[{index}].crossings[{at}].by_mm"), *by_mm);
            }
        }
    }
    check.finish()
}
