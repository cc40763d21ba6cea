//! Required against provided restraint of one item, direction by direction.

use super::holding::Holding;
use super::lashing::{Block, FORCE_MAX_N, LashingGroup};
use super::standard::{Direction, ScopeLimit, Standard};
use super::us_rules::{self, AggregateCheck, CountCheck};
use crate::answer::Answer;
use crate::check::{Check, InvalidInput};
use crate::units::STANDARD_GRAVITY_M_PER_S2;

/// Most groups of lashings or blocks on one item.
const GROUPS_MAX: usize = 100;

/// The item to be held.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Item {
    /// Mass, kg.
    pub mass_kg: f64,
    /// Uncertainty of the mass, kg; 0 if it counts as exact.
    pub mass_uncertainty_kg: f64,
    /// Friction coefficient between item and deck. `None` is not known, and then no friction counts.
    pub friction: Option<f64>,
    /// Whether the vehicle's structure contains the item on all sides and above.
    pub fully_contained: bool,
    /// Length along the vehicle, mm; some standards ask for a number of lashings by it.
    pub length_mm: Option<f64>,
}

/// Answer for a direction or the whole, best first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Verdict {
    /// Held.
    Held,
    /// Held at the stated mass but not at its upper uncertainty.
    Doubtful,
    /// Not shown to be held, because data are missing.
    NotKnown,
    /// Not held.
    Short,
}

impl Verdict {
    /// What it means for a question of readiness.
    pub fn answer(self) -> Answer {
        match self {
            Self::Held => Answer::Met,
            Self::Doubtful => Answer::MetWithConditions,
            Self::NotKnown => Answer::NotKnown,
            Self::Short => Answer::NotMet,
        }
    }
}

/// Whether more lashings of one group's kind close a shortfall.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Closing {
    /// Name of the group.
    pub group: String,
    /// The answer.
    pub remedy: Remedy,
}

/// What more lashings of a kind can do about a shortfall.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Remedy {
    /// So many further lashings close it.
    Further(u32),
    /// It cannot be closed by this method: the lashing gives nothing in this direction, or far too
    /// little.
    CannotClose,
    /// A rating or the friction is not known.
    NotKnown,
}

/// One criterion in one direction.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// Name of the criterion.
    pub criterion: String,
    /// Direction.
    pub direction: Direction,
    /// Force asked for, N.
    pub required_n: f64,
    /// Force known to be there, N.
    pub provided_n: f64,
    /// Force missing, N; 0 when held.
    pub shortfall_n: f64,
    /// Answer.
    pub verdict: Verdict,
    /// Data whose absence kept something from counting: `lashings[0].ratings.tension_n`.
    pub missing: Vec<String>,
    /// Ways to close the shortfall, one per group of lashings; empty when held or when there are none.
    pub closing: Vec<Closing>,
}

/// Whether the standard covers the vehicle.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ScopeStatement {
    /// The limit in words.
    pub text: String,
    /// Whether the vehicle is outside it; `None` when that is a matter of reading, or when the gross mass
    /// is not known.
    pub outside: Option<bool>,
}

/// The restraint of one item by one standard.
#[derive(Debug, Clone, PartialEq)]
pub struct Assessment {
    /// Standard applied.
    pub standard_id: String,
    /// The worst of all rows, aggregate and count.
    pub verdict: Verdict,
    /// Every criterion in every direction.
    pub rows: Vec<Row>,
    /// Aggregate working load limit, where the standard asks for it.
    pub aggregate: Option<AggregateCheck>,
    /// Number of lashings by length and mass, where the standard asks for it.
    pub count: Option<CountCheck>,
    /// Limits of the standard's scope, with whether the vehicle is outside them.
    pub scope: Vec<ScopeStatement>,
}

impl Assessment {
    /// Whether the vehicle is known to be outside the standard's scope: the figures are then guidance only.
    pub fn is_outside_scope(&self) -> bool {
        self.scope.iter().any(|statement| statement.outside == Some(true))
    }
}

/// Assesses one item.
///
/// In each direction the required force is factor × weight. Friction counts with the standard's part of
/// the weight and, for each tie-down, with twice its tension × sine of its angle; direct lashings with the
/// part of their rating that points against the movement; blocks with their capacity. The downward pull
/// of direct lashings is not counted as friction (on the safe side).
///
/// # Errors
/// Numbers out of range, with their field.
pub fn assess(
    item: &Item,
    lashings: &[LashingGroup],
    blocks: &[Block],
    standard: &Standard,
    vehicle_gross_mass_kg: Option<f64>,
) -> Result<Assessment, InvalidInput> {
    check_input(item, lashings, blocks, standard, vehicle_gross_mass_kg)?;
    let mut rows = Vec::new();
    for criterion in &standard.criteria {
        let held = Holding {
            item,
            lashings,
            blocks,
            standard,
            criterion,
        };
        for direction in Direction::ALL {
            rows.push(held.row(direction));
        }
    }
    let aggregate = standard
        .aggregate_fraction
        .map(|fraction| us_rules::aggregate(item, fraction * STANDARD_GRAVITY_M_PER_S2, lashings));
    let count = standard
        .aggregate_fraction
        .map(|_| us_rules::count(item, lashings));
    let verdicts = rows.iter().map(|row| row.verdict);
    let further = aggregate
        .iter()
        .map(|check| check.verdict)
        .chain(count.iter().map(|check| check.verdict));
    Ok(Assessment {
        standard_id: standard.id.clone(),
        verdict: verdicts.chain(further).max().unwrap_or(Verdict::NotKnown),
        rows,
        aggregate,
        count,
        scope: scope(standard, vehicle_gross_mass_kg),
    })
}

fn scope(standard: &Standard, vehicle_gross_mass_kg: Option<f64>) -> Vec<ScopeStatement> {
    let statement = |limit: &ScopeLimit| ScopeStatement {
        text: limit.text.clone(),
        outside: limit
            .gross_mass_above_kg
            .zip(vehicle_gross_mass_kg)
            .map(|(above_kg, gross_kg)| gross_kg <= above_kg),
    };
    standard.scope.iter().map(statement).collect()
}

fn check_input(
    item: &Item,
    lashings: &[LashingGroup],
    blocks: &[Block],
    standard: &Standard,
    vehicle_gross_mass_kg: Option<f64>,
) -> Result<(), InvalidInput> {
    let mut check = Check::new();
    check.between("item.mass_kg", item.mass_kg, 0.001, 1e6);
    check.between("item.mass_uncertainty_kg", item.mass_uncertainty_kg, 0.0, 1e6);
    if let Some(friction) = item.friction {
        check.between("item.friction", friction, 0.0, 1.5);
    }
    if let Some(length_mm) = item.length_mm {
        check.between("item.length_mm", length_mm, 1.0, 100_000.0);
    }
    if let Some(gross_kg) = vehicle_gross_mass_kg {
        check.between("vehicle_gross_mass_kg", gross_kg, 1.0, 1e6);
    }
    for (field, count) in [("lashings", lashings.len()), ("blocks", blocks.len())] {
        if count > GROUPS_MAX {
            check.refuse(field, format!("must be at most {GROUPS_MAX}, are {count}"));
        }
    }
    for (index, group) in lashings.iter().enumerate().take(GROUPS_MAX) {
        check.merge(format_args!("lashings[{index}]"), group.check());
    }
    for (index, block) in blocks.iter().enumerate().take(GROUPS_MAX) {
        if let Some(capacity_n) = block.capacity_n {
            check.between(
                format_args!("blocks[{index}].capacity_n"),
                capacity_n,
                0.0,
                FORCE_MAX_N,
            );
        }
    }
    for (index, criterion) in standard.criteria.iter().enumerate() {
        for direction in Direction::ALL {
            let factor = criterion.factors.in_direction(direction);
            check.between(
                format_args!("standard.criteria[{index}].factors"),
                factor,
                0.0,
                10.0,
            );
        }
    }
    let friction = &standard.friction;
    check.between(
        "standard.friction.weight_fraction",
        friction.weight_fraction,
        0.0,
        1.0,
    );
    check.between(
        "standard.friction.fraction_beside_direct",
        friction.fraction_beside_direct,
        0.0,
        1.0,
    );
    check.between(
        "standard.friction.tie_down_safety_forward",
        friction.tie_down_safety_forward,
        1.0,
        10.0,
    );
    check.between(
        "standard.friction.tie_down_safety_otherwise",
        friction.tie_down_safety_otherwise,
        1.0,
        10.0,
    );
    check.finish()
}
