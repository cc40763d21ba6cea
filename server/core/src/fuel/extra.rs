//! The least fuel to carry in addition, and in which containers on which vehicle.
//!
//! Chosen in whole containers, each filled. First the least mass, then the fewest litres that must
//! later move to another vehicle, then the fewest containers. The search is exact: combinations are
//! built vehicle by vehicle and one that another beats in every respect is dropped.
//!
//! The mass margin of a vehicle is an input. What the containers do to axles and roof depends on
//! where they stand: compute the loads again with them aboard.

use std::cmp::Ordering;

use crate::check::{Check, InvalidInput, element};

/// Most kinds of container accepted.
pub const CONTAINER_KINDS_MAX: usize = 3;

/// Most vehicles accepted.
pub const VEHICLES_MAX: usize = 100;

/// Most combinations compared at once; beyond it the question is refused rather than answered badly.
pub const COMBINATIONS_MAX: usize = 1_000_000;

/// Most containers considered on one vehicle, of all kinds together.
pub const CONTAINERS_PER_VEHICLE_MAX: u32 = 24;

/// A kind of container that can be had.
#[derive(Debug, Clone, PartialEq)]
pub struct ContainerKind {
    /// Its name: `20 l can`.
    pub name: String,
    /// Litres it is filled with, expansion space left free; greater than 0.
    pub fill_l: f64,
    /// Litres that stay in it, from 0 to less than the fill.
    pub unusable_l: f64,
    /// Empty mass with its share of the frame, kg, 0 or more.
    pub empty_mass_kg: f64,
}

/// A vehicle of the fuel kind in question.
#[derive(Debug, Clone, PartialEq)]
pub struct ExtraVehicle {
    /// Identifier.
    pub vehicle: String,
    /// Litres it is short after any sharing, 0 or more.
    pub shortfall_l: f64,
    /// Mass it can still take, kg, 0 or more: the least of its margins.
    pub mass_margin_kg: f64,
    /// Places for further containers, up to [`CONTAINERS_PER_VEHICLE_MAX`].
    pub places: u32,
}

/// What is asked.
#[derive(Debug, Clone, PartialEq)]
pub struct ExtraInput {
    /// Kinds of container, one to [`CONTAINER_KINDS_MAX`].
    pub containers: Vec<ContainerKind>,
    /// Vehicles of one fuel kind, up to [`VEHICLES_MAX`].
    pub vehicles: Vec<ExtraVehicle>,
    /// Density of the fuel, kg per litre, 0.3 to 1.2.
    pub density_kg_per_l: f64,
    /// Whether other vehicles may carry it and pass it on. That the receiving vehicles have the room at
    /// some stop is not looked at here: plan the sharing again with the containers aboard.
    pub pooled: bool,
}

/// Containers to add to one vehicle.
#[derive(Debug, Clone, PartialEq)]
pub struct ExtraCarried {
    /// The vehicle.
    pub vehicle: String,
    /// Number of each kind, in the order of the input.
    pub counts: Vec<u32>,
    /// Usable litres added.
    pub usable_l: f64,
    /// Mass added, kg.
    pub mass_kg: f64,
    /// Mass margin left, kg.
    pub margin_left_kg: f64,
}

/// The least to carry in addition.
#[derive(Debug, Clone, PartialEq)]
pub struct ExtraPlan {
    /// Only vehicles that get containers.
    pub carried: Vec<ExtraCarried>,
    /// Usable litres added.
    pub usable_l: f64,
    /// Mass added, kg.
    pub mass_kg: f64,
    /// Litres to move later to the vehicles that are short.
    pub to_move_l: f64,
}

/// What can be had.
#[derive(Debug, Clone, PartialEq)]
pub enum Extra {
    /// The shortfall can be covered.
    Covered(ExtraPlan),
    /// Margins and places do not suffice.
    NotCovered {
        /// The most usable litres that could be added towards the shortfalls.
        most_l: f64,
        /// The sum of the shortfalls.
        shortfall_l: f64,
    },
}

/// One combination so far: what it costs, and its counts per vehicle.
#[derive(Debug, Clone, Default)]
struct Combination {
    useful_l: f64,
    usable_l: f64,
    mass_kg: f64,
    to_move_l: f64,
    containers: u32,
    counts: Vec<Vec<u32>>,
    /// Where it was joined from: a combination of the vehicles before, and an option of the last.
    joined: (usize, usize),
}

impl Combination {
    fn cost(&self) -> [f64; 3] {
        [self.mass_kg, self.to_move_l, f64::from(self.containers)]
    }

    fn cheaper(&self, other: &Self) -> Ordering {
        let pairs = self.cost().into_iter().zip(other.cost());
        pairs.fold(Ordering::Equal, |so_far, (mine, theirs)| {
            so_far.then(mine.total_cmp(&theirs))
        })
    }
}

/// Finds the least extra fuel to carry that covers the shortfalls.
///
/// # Errors
/// Every number out of its range; a question with more than [`COMBINATIONS_MAX`] combinations.
pub fn least_extra(input: &ExtraInput) -> Result<Extra, InvalidInput> {
    check_input(input)?;
    let shortfall_l: f64 = input.vehicles.iter().map(|vehicle| vehicle.shortfall_l).sum();
    let mut kept = vec![Combination::default()];
    let mut most_l = 0.0;
    for vehicle in &input.vehicles {
        let options = options(input, vehicle, shortfall_l);
        most_l += options.iter().map(|option| option.useful_l).fold(0.0, f64::max);
        if kept.len() * options.len() > COMBINATIONS_MAX {
            return Err(InvalidInput::one(
                "vehicles",
                "give too many combinations of containers to compare",
            ));
        }
        kept = grow(
            &kept,
            &options,
            |option| input.pooled || option.useful_l >= vehicle.shortfall_l,
            shortfall_l,
        );
    }
    let enough = |one: &&Combination| !input.pooled || one.useful_l >= shortfall_l;
    let best = kept.iter().filter(enough).min_by(|a, b| a.cheaper(b));
    Ok(best.map_or(
        Extra::NotCovered {
            most_l: most_l.min(shortfall_l),
            shortfall_l,
        },
        |best| Extra::Covered(plan(input, best)),
    ))
}

/// Joins every combination so far with every option of one more vehicle that is allowed.
fn grow(
    kept: &[Combination],
    options: &[Combination],
    allowed: impl Fn(&Combination) -> bool,
    shortfall_l: f64,
) -> Vec<Combination> {
    let mut grown = Vec::with_capacity(kept.len() * options.len());
    for (i, sofar) in kept.iter().enumerate() {
        for (j, option) in options.iter().enumerate().filter(|(_, option)| allowed(option)) {
            grown.push(Combination {
                useful_l: (sofar.useful_l + option.useful_l).min(shortfall_l),
                usable_l: sofar.usable_l + option.usable_l,
                mass_kg: sofar.mass_kg + option.mass_kg,
                to_move_l: sofar.to_move_l + option.to_move_l,
                containers: sofar.containers + option.containers,
                counts: Vec::new(),
                joined: (i, j),
            });
        }
    }
    let mut grown = prune(grown);
    for one in &mut grown {
        let (sofar, option) = (&kept[one.joined.0], &options[one.joined.1]);
        one.counts = sofar.counts.iter().chain(&option.counts).cloned().collect();
    }
    grown
}

/// What one vehicle can take: all counts within its places and margin that no other option beats.
fn options(input: &ExtraInput, vehicle: &ExtraVehicle, shortfall_l: f64) -> Vec<Combination> {
    let asked_l = if input.pooled {
        shortfall_l
    } else {
        vehicle.shortfall_l
    };
    let mut all = vec![vec![]];
    for _ in &input.containers {
        all = all
            .into_iter()
            .flat_map(|counts: Vec<u32>| {
                let used: u32 = counts.iter().sum();
                (0..=vehicle.places.saturating_sub(used)).map(move |count| {
                    let mut longer = counts.clone();
                    longer.push(count);
                    longer
                })
            })
            .collect();
    }
    let within = all.into_iter().filter_map(|counts| {
        let (usable_l, mass_kg) = totals(input, &counts);
        (mass_kg <= vehicle.mass_margin_kg).then(|| Combination {
            useful_l: usable_l.min(asked_l),
            usable_l,
            mass_kg,
            to_move_l: (usable_l.min(asked_l) - vehicle.shortfall_l).max(0.0),
            containers: counts.iter().sum(),
            counts: vec![counts],
            joined: (0, 0),
        })
    });
    prune(within.collect())
}

/// Keeps only combinations that add more useful litres than every cheaper one.
fn prune(mut all: Vec<Combination>) -> Vec<Combination> {
    all.sort_by(|a, b| a.cheaper(b).then(b.useful_l.total_cmp(&a.useful_l)));
    let mut most_l = f64::NEG_INFINITY;
    all.retain(|one| {
        let better = one.useful_l > most_l;
        most_l = most_l.max(one.useful_l);
        better
    });
    all
}

fn totals(input: &ExtraInput, counts: &[u32]) -> (f64, f64) {
    counts
        .iter()
        .zip(&input.containers)
        .fold((0.0, 0.0), |(usable_l, mass_kg), (count, kind)| {
            let count = f64::from(*count);
            (
                usable_l + count * (kind.fill_l - kind.unusable_l),
                mass_kg + count * (kind.empty_mass_kg + kind.fill_l * input.density_kg_per_l),
            )
        })
}

fn plan(input: &ExtraInput, best: &Combination) -> ExtraPlan {
    let carried = input
        .vehicles
        .iter()
        .zip(&best.counts)
        .filter(|(_, counts)| counts.iter().any(|n| *n > 0));
    ExtraPlan {
        carried: carried
            .map(|(vehicle, counts)| {
                let (usable_l, mass_kg) = totals(input, counts);
                ExtraCarried {
                    vehicle: vehicle.vehicle.clone(),
                    counts: counts.clone(),
                    usable_l,
                    mass_kg,
                    margin_left_kg: vehicle.mass_margin_kg - mass_kg,
                }
            })
            .collect(),
        usable_l: best.usable_l,
        mass_kg: best.mass_kg,
        to_move_l: best.to_move_l,
    }
}

fn check_input(input: &ExtraInput) -> Result<(), InvalidInput> {
    let mut check = Check::new();
    check.between("density_kg_per_l", input.density_kg_per_l, 0.3, 1.2);
    if input.containers.is_empty() || input.containers.len() > CONTAINER_KINDS_MAX {
        check.refuse(
            "containers",
            format!(
                "must be 1 to {CONTAINER_KINDS_MAX} kinds, are {}",
                input.containers.len()
            ),
        );
    }
    if input.vehicles.len() > VEHICLES_MAX {
        check.refuse(
            "vehicles",
            format!("must be at most {VEHICLES_MAX}, are {}", input.vehicles.len()),
        );
    }
    for (index, kind) in input.containers.iter().enumerate() {
        let path = |field| element("containers", index, field);
        check.between(path("fill_l"), kind.fill_l, 0.1, 1_000.0);
        check.non_negative(path("unusable_l"), kind.unusable_l);
        if kind.unusable_l >= kind.fill_l {
            check.refuse(path("unusable_l"), "must be less than fill_l");
        }
        check.between(path("empty_mass_kg"), kind.empty_mass_kg, 0.0, 1_000.0);
    }
    for (index, vehicle) in input.vehicles.iter().enumerate() {
        let path = |field| element("vehicles", index, field);
        check.between(path("shortfall_l"), vehicle.shortfall_l, 0.0, 1e5);
        check.between(path("mass_margin_kg"), vehicle.mass_margin_kg, 0.0, 1e5);
        if vehicle.places > CONTAINERS_PER_VEHICLE_MAX {
            check.refuse(
                path("places"),
                format!(
                    "must be at most {CONTAINERS_PER_VEHICLE_MAX}, are {}",
                    vehicle.places
                ),
            );
        }
    }
    check.finish()
}
