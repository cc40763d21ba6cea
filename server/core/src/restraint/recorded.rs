//! Restraint as the record holds it: what is asked by a departure, and what holds a cargo item or a
//! container.
//!
//! A stated capacity is what the means hold in a direction by themselves, as a block does. Without any
//! lashing it is all there is, and a friction that is not recorded counts as none; with lashings a
//! friction that is not known is missing where they rely on it. The aggregate and the count of lashings
//! that a standard asks for are asked of what is held by lashings.

use super::assess::{Assessment, Closing, Item, Remedy, assess};
use super::lashing::{Block, Geometry, LashingGroup, Lead};
use super::standard::{Direction, Factors, Standard};
use crate::check::{Check, InvalidInput, Violation};
use crate::record::{ClosingLashing, Policy, Restraint, RestraintStandard};

/// What a policy asks for.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Asked {
    /// Each must be met.
    pub standards: Vec<Standard>,
    /// What the policy does not say.
    pub missing: Vec<String>,
}

/// The standards by which a policy judges restraint: the one it names, and its own multiples.
///
/// Own multiples ask for all four directions; a part of them is missing the rest. Neither a standard nor
/// multiples is missing both.
pub fn asked(policy: &Policy) -> Asked {
    let mut asked = Asked::default();
    asked.standards.extend(policy.restraint_standard.map(standard));
    let multiples = [
        ("restraint_forward_g", policy.restraint_forward_g),
        ("restraint_rearward_g", policy.restraint_rearward_g),
        ("restraint_sideways_g", policy.restraint_sideways_g),
        ("restraint_up_g", policy.restraint_up_g),
    ];
    match multiples.map(|(_, multiple)| multiple) {
        [Some(forward), Some(rearward), Some(sideways), Some(upward)] => {
            let factors = Factors {
                forward,
                rearward,
                sideways,
                upward,
            };
            asked
                .standards
                .push(Standard::policy(factors, "the policy of the departure"));
        }
        [None, None, None, None] if policy.restraint_standard.is_some() => {}
        _ => asked.missing.extend(
            multiples
                .iter()
                .filter(|(_, multiple)| multiple.is_none())
                .map(|(name, _)| format!("the policy's {name}")),
        ),
    }
    asked
}

/// The data of a named standard.
pub fn standard(named: RestraintStandard) -> Standard {
    match named {
        RestraintStandard::AustralianGuide2018 => Standard::australian_guide_2018(),
        RestraintStandard::En12195Part1Of2010 => Standard::en_12195_1_2010(),
        RestraintStandard::Us49Cfr393 => Standard::us_49_cfr_393(),
    }
}

/// A thing and how it is held.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HeldThing<'a> {
    /// Mass of all of it, kg.
    pub mass_kg: f64,
    /// By how much the mass may be larger, kg.
    pub mass_uncertainty_kg: f64,
    /// How it is held.
    pub restraint: &'a Restraint,
}

/// Assesses a thing by one standard. With a closing lashing, a shortfall also says how many of those
/// close it, each set directly against the movement.
///
/// # Errors
/// Numbers out of range, with their field.
pub fn assess_held(
    held: &HeldThing<'_>,
    asked: &Standard,
    gross_mass_kg: Option<f64>,
    closing: Option<&ClosingLashing>,
) -> Result<Assessment, InvalidInput> {
    let HeldThing {
        mass_kg,
        mass_uncertainty_kg,
        restraint,
    } = *held;
    let own_count = restraint.lashings.len();
    let by_lashings = own_count > 0;
    let mut check = Check::new();
    if let Some(closing) = closing {
        check.between(
            "closing_lashing.angle_to_deck_deg",
            closing.angle_to_deck_deg,
            0.0,
            90.0,
        );
    }
    for (field, capacity_n) in capacities(restraint) {
        if let Some(capacity_n) = capacity_n {
            check.between(field, capacity_n, 0.0, super::lashing::FORCE_MAX_N);
        }
    }
    check.finish()?;
    let item = Item {
        mass_kg,
        mass_uncertainty_kg,
        friction: restraint.friction.or((!by_lashings).then_some(0.0)),
        fully_contained: restraint.fully_contained,
        length_mm: restraint.length_mm,
    };
    let mut lashings = restraint.lashings.clone();
    lashings.extend(closing.into_iter().flat_map(closing_groups));
    let asked = Standard {
        aggregate_fraction: asked.aggregate_fraction.filter(|_| by_lashings),
        ..asked.clone()
    };
    let blocks = blocks(restraint, by_lashings);
    let path = |field: &str| record_path(field, &blocks, own_count);
    let mut assessment =
        assess(&item, &lashings, &blocks, &asked, gross_mass_kg).map_err(|refused| InvalidInput {
            violations: refused
                .violations
                .into_iter()
                .map(|violation| Violation {
                    field: path(&violation.field),
                    ..violation
                })
                .collect(),
        })?;
    let rename = |missing: &mut Vec<String>| {
        for field in missing {
            *field = path(field);
        }
    };
    for row in &mut assessment.rows {
        keep_best_closing(&mut row.closing, own_count);
        rename(&mut row.missing);
    }
    if let Some(aggregate) = &mut assessment.aggregate {
        keep_best_closing(&mut aggregate.closing, own_count);
        rename(&mut aggregate.missing);
    }
    Ok(assessment)
}

/// The field of a held thing, as the record and the API name it, that a computation's input came from.
fn record_path(field: &str, blocks: &[Block], own_count: usize) -> String {
    if let Some(of_item) = field.strip_prefix("item.") {
        return match of_item {
            "friction" | "length_mm" | "fully_contained" => format!("restraint.{of_item}"),
            mass => mass.to_owned(),
        };
    }
    let indexed = |list: &str| {
        let (index, rest) = field.strip_prefix(list)?.strip_prefix('[')?.split_once(']')?;
        Some((index.parse::<usize>().ok()?, rest))
    };
    if let Some((index, rest)) = indexed("lashings") {
        return if index < own_count {
            format!("restraint.{field}")
        } else {
            format!("closing_lashing{rest}")
        };
    }
    if let Some(block) = indexed("blocks").and_then(|(index, _)| blocks.get(index)) {
        return capacity_field(block.direction).to_owned();
    }
    match field {
        "vehicle_gross_mass_kg" => "gross_mass_kg".to_owned(),
        other => other.to_owned(),
    }
}

/// The field that holds the capacity in a direction.
fn capacity_field(direction: Direction) -> &'static str {
    match direction {
        Direction::Forward => "restraint.capacity_forward_n",
        Direction::Rearward => "restraint.capacity_rearward_n",
        Direction::Left | Direction::Right => "restraint.capacity_sideways_n",
        Direction::Upward => "restraint.capacity_upward_n",
    }
}

fn capacities(restraint: &Restraint) -> [(&'static str, Option<f64>); 4] {
    [
        (capacity_field(Direction::Forward), restraint.capacity_forward_n),
        (capacity_field(Direction::Rearward), restraint.capacity_rearward_n),
        (capacity_field(Direction::Left), restraint.capacity_sideways_n),
        (capacity_field(Direction::Upward), restraint.capacity_upward_n),
    ]
}

/// A block for each direction with a stated capacity; without lashings one for each direction, so that
/// what is not stated is missing.
fn blocks(restraint: &Restraint, by_lashings: bool) -> Vec<Block> {
    let capacity_n = |direction| match direction {
        Direction::Forward => restraint.capacity_forward_n,
        Direction::Rearward => restraint.capacity_rearward_n,
        Direction::Left | Direction::Right => restraint.capacity_sideways_n,
        Direction::Upward => restraint.capacity_upward_n,
    };
    Direction::ALL
        .into_iter()
        .map(|direction| Block {
            direction,
            capacity_n: capacity_n(direction),
        })
        .filter(|block| !by_lashings || block.capacity_n.is_some())
        .collect()
}

/// One group without lashings for each direction, leading against the movement.
fn closing_groups(closing: &ClosingLashing) -> Vec<LashingGroup> {
    // Seen from above, clockwise from forward: a lashing to the rear holds against moving forward.
    [180.0, 0.0, 90.0, 270.0]
        .into_iter()
        .map(|bearing_deg| LashingGroup {
            name: closing.name.clone(),
            count: 0,
            ratings: closing.ratings,
            geometry: Geometry::Direct {
                lead: Lead::from_angles(closing.angle_to_deck_deg, bearing_deg),
            },
        })
        .collect()
}

/// Of the groups after the first `own_count`, which stand for one lashing, keeps the best answer.
fn keep_best_closing(closing: &mut Vec<Closing>, own_count: usize) {
    if closing.len() <= own_count {
        return;
    }
    let best = closing.split_off(own_count).into_iter().min_by_key(rank);
    closing.extend(best);
}

fn rank(closing: &Closing) -> (u8, u32) {
    match closing.remedy {
        Remedy::Further(count) => (0, count),
        Remedy::NotKnown => (1, 0),
        Remedy::CannotClose => (2, 0),
    }
}
