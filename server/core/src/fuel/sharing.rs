//! What the vehicles of a convoy can give each other, by fuel kind: how much must move, and where.
//!
//! Stop `k` is the halt before leg `k` (stop 0 is the departure). A linear programme finds, in this
//! order of weight: the fewest litres that stay uncovered, the fewest litres moved, the earliest
//! stops that have the room (a vehicle parted from the convoy then has its own fuel). A donor keeps
//! what it needs itself with its reserve: moving a deficit about covers nothing.
//!
//! Caution: decanting is spill and vapour work: in the open, engines off, bonded and earthed, a fire
//! extinguisher at hand, approved containers only.

use std::collections::{BTreeMap, HashSet};

use good_lp::{Expression, ProblemVariables, Solution, SolverModel, Variable, constraint, microlp, variable};

use super::{FuelError, FuelKind};
use crate::check::{Check, InvalidInput, element};

/// Most vehicles times stops accepted.
pub const CELLS_MAX: usize = 2_000;

/// Litres below which a move is rounding of the solver and is dropped.
const MOVE_LEAST_L: f64 = 1e-6;

/// Weight of a litre of reserve that stays uncovered, against 1 for a litre moved.
const RESERVE_SHORT_WEIGHT: f64 = 1_000.0;

/// Weight of a litre that a leg lacks: a little dearer than reserve, so that a vehicle spends its own
/// reserve first, by less than moving costs, so that nobody else's reserve is spent for it.
const LEG_SHORT_WEIGHT: f64 = 1_000.5;

/// Weight of waiting from the first stop to the last with a litre.
const LATE_WEIGHT: f64 = 1e-3;

/// One vehicle of the convoy.
#[derive(Debug, Clone, PartialEq)]
pub struct ConvoyVehicle {
    /// Identifier, unique in the convoy.
    pub vehicle: String,
    /// The fuel it burns.
    pub kind: FuelKind,
    /// Usable litres at departure, from 0 to the usable capacity.
    pub usable_at_start_l: f64,
    /// Usable litres with everything full, greater than 0.
    pub usable_capacity_l: f64,
    /// Litres each leg burns, one per leg of the convoy, each 0 or more.
    pub leg_needs_l: Vec<f64>,
    /// Litres to have left at the end, 0 or more.
    pub reserve_l: f64,
}

impl ConvoyVehicle {
    /// Usable litres less need and reserve: negative means short.
    pub fn balance_l(&self) -> f64 {
        self.usable_at_start_l - self.leg_needs_l.iter().sum::<f64>() - self.reserve_l
    }
}

/// A convoy between two confirmed fuel points.
#[derive(Debug, Clone, PartialEq)]
pub struct Convoy {
    /// Names of the stops: the departure, then the end of every leg but the last.
    pub stops: Vec<String>,
    /// The vehicles.
    pub vehicles: Vec<ConvoyVehicle>,
}

/// Fuel to move from one vehicle to another.
#[derive(Debug, Clone, PartialEq)]
pub struct Move {
    /// Vehicle that gives.
    pub from: String,
    /// Vehicle that takes.
    pub to: String,
    /// Index of the stop.
    pub stop: usize,
    /// Its name.
    pub stop_name: String,
    /// Litres, greater than 0.
    pub litres: f64,
}

/// The vehicles of one fuel kind together.
#[derive(Debug, Clone, PartialEq)]
pub struct KindSharing {
    /// The fuel.
    pub kind: FuelKind,
    /// Vehicles that burn it.
    pub vehicles: Vec<String>,
    /// Usable litres of all.
    pub usable_l: f64,
    /// Litres with reserve of all.
    pub required_l: f64,
    /// Sum of the surpluses.
    pub surplus_l: f64,
    /// Sum of the shortfalls.
    pub shortfall_l: f64,
    /// What of the shortfall stays uncovered after all moves.
    pub uncovered_l: f64,
    /// What to move, by stop; the best plan for what can be covered.
    pub moves: Vec<Move>,
    /// Sum of the moves.
    pub moved_l: f64,
    /// Balance of every vehicle after the moves, in the order of `vehicles`.
    pub balance_after_l: Vec<f64>,
}

impl KindSharing {
    /// Whether the surplus covers the shortfall.
    pub fn covers(&self) -> bool {
        self.uncovered_l <= MOVE_LEAST_L
    }
}

/// Plans the sharing of fuel over the convoy, one entry per fuel kind.
///
/// # Errors
/// [`FuelError::Invalid`] with every violation; [`FuelError::NotSolved`] if the solver gives up.
pub fn plan_sharing(convoy: &Convoy) -> Result<Vec<KindSharing>, FuelError> {
    check_convoy(convoy)?;
    let mut by_kind: BTreeMap<FuelKind, Vec<&ConvoyVehicle>> = BTreeMap::new();
    for vehicle in &convoy.vehicles {
        by_kind.entry(vehicle.kind).or_default().push(vehicle);
    }
    by_kind
        .into_iter()
        .map(|(kind, vehicles)| share(kind, &vehicles, &convoy.stops))
        .collect()
}

fn share(kind: FuelKind, vehicles: &[&ConvoyVehicle], stops: &[String]) -> Result<KindSharing, FuelError> {
    let balances: Vec<f64> = vehicles.iter().map(|vehicle| vehicle.balance_l()).collect();
    let surplus_l: f64 = balances.iter().map(|balance| balance.max(0.0)).sum();
    let shortfall_l: f64 = balances.iter().map(|balance| (-balance).max(0.0)).sum();
    let possible = kind.can_be_decanted() && surplus_l > 0.0 && shortfall_l > 0.0;
    let moves = if possible {
        pair(&solve(vehicles)?, vehicles, stops)
    } else {
        Vec::new()
    };
    let balance_after_l: Vec<f64> = vehicles
        .iter()
        .zip(&balances)
        .map(|(vehicle, balance)| {
            let sum = |of: fn(&Move) -> &String| -> f64 {
                moves
                    .iter()
                    .filter(|one| *of(one) == vehicle.vehicle)
                    .map(|one| one.litres)
                    .sum()
            };
            balance + sum(|one| &one.to) - sum(|one| &one.from)
        })
        .collect();
    Ok(KindSharing {
        kind,
        vehicles: vehicles.iter().map(|vehicle| vehicle.vehicle.clone()).collect(),
        usable_l: vehicles.iter().map(|vehicle| vehicle.usable_at_start_l).sum(),
        required_l: vehicles
            .iter()
            .map(|vehicle| vehicle.leg_needs_l.iter().sum::<f64>() + vehicle.reserve_l)
            .sum(),
        surplus_l,
        shortfall_l,
        uncovered_l: balance_after_l.iter().map(|balance| (-balance).max(0.0)).sum(),
        moved_l: moves.iter().map(|one| one.litres).sum(),
        moves,
        balance_after_l,
    })
}

/// Litres given and taken, `[vehicle][stop]`.
struct Flows {
    given_l: Vec<Vec<f64>>,
    taken_l: Vec<Vec<f64>>,
}

/// The linear programme. After the exchange at a stop a vehicle holds at most its capacity; after the
/// leg it holds what is left, and what the leg lacked; at the end the reserve, less what that lacks.
fn solve(vehicles: &[&ConvoyVehicle]) -> Result<Flows, FuelError> {
    let stops = vehicles.first().map_or(0, |vehicle| vehicle.leg_needs_l.len());
    let mut problem = ProblemVariables::new();
    let grid = |problem: &mut ProblemVariables| -> Vec<Vec<Variable>> {
        vehicles
            .iter()
            .map(|_| problem.add_vector(variable().min(0.0), stops))
            .collect()
    };
    let (given, taken, left) = (grid(&mut problem), grid(&mut problem), grid(&mut problem));
    let mut cost = Expression::default();
    let mut constraints = Vec::new();
    for stop in 0..stops {
        let balance = sum(given.iter().map(|of| of[stop])) - sum(taken.iter().map(|of| of[stop]));
        constraints.push(constraint!(balance == 0.0));
    }
    for (index, vehicle) in vehicles.iter().enumerate() {
        let mut aboard = Expression::from(vehicle.usable_at_start_l);
        for (stop, need_l) in vehicle.leg_needs_l.iter().enumerate() {
            let (gives, takes, leaves) = (given[index][stop], taken[index][stop], left[index][stop]);
            let lacks = problem.add(variable().min(0.0).max(*need_l));
            cost += (1.0 + LATE_WEIGHT * stop as f64 / stops as f64) * gives + LEG_SHORT_WEIGHT * lacks;
            // Nothing is given out of what is taken in at the same stop.
            constraints.push(constraint!(gives <= aboard.clone()));
            constraints.push(constraint!(
                aboard.clone() + takes - gives <= vehicle.usable_capacity_l
            ));
            constraints.push(constraint!(leaves == aboard + takes - gives - *need_l + lacks));
            aboard = leaves.into();
        }
        let lacks_reserve = problem.add(variable().min(0.0).max(vehicle.reserve_l));
        cost += RESERVE_SHORT_WEIGHT * lacks_reserve;
        constraints.push(constraint!(aboard + lacks_reserve >= vehicle.reserve_l));
    }
    let model = problem.minimise(cost).using(microlp).with_all(constraints);
    let solution = model
        .solve()
        .map_err(|error| FuelError::NotSolved(error.to_string()))?;
    let values = |of: Vec<Vec<Variable>>| -> Vec<Vec<f64>> {
        of.iter()
            .map(|row| row.iter().map(|one| solution.value(*one)).collect())
            .collect()
    };
    Ok(Flows {
        given_l: values(given),
        taken_l: values(taken),
    })
}

fn sum(variables: impl Iterator<Item = Variable>) -> Expression {
    variables.fold(Expression::default(), |sum, one| sum + one)
}

/// Pairs what is given with what is taken at each stop. Every pairing moves the same litres; in the
/// order of the vehicles it makes at most one move fewer than vehicles take part.
fn pair(flows: &Flows, vehicles: &[&ConvoyVehicle], stops: &[String]) -> Vec<Move> {
    let mut moves = Vec::new();
    for (stop, name) in stops.iter().enumerate() {
        let mut givers = flows
            .given_l
            .iter()
            .map(|of| of[stop])
            .enumerate()
            .filter(|(_, l)| *l > MOVE_LEAST_L);
        let mut takers = flows
            .taken_l
            .iter()
            .map(|of| of[stop])
            .enumerate()
            .filter(|(_, l)| *l > MOVE_LEAST_L);
        let (mut giver, mut taker) = (givers.next(), takers.next());
        while let (Some((from, gives_l)), Some((to, takes_l))) = (giver, taker) {
            let litres = gives_l.min(takes_l);
            if from != to && litres > MOVE_LEAST_L {
                moves.push(Move {
                    from: vehicles[from].vehicle.clone(),
                    to: vehicles[to].vehicle.clone(),
                    stop,
                    stop_name: name.clone(),
                    litres,
                });
            }
            giver = Some((from, gives_l - litres))
                .filter(|(_, l)| *l > MOVE_LEAST_L)
                .or_else(|| givers.next());
            taker = Some((to, takes_l - litres))
                .filter(|(_, l)| *l > MOVE_LEAST_L)
                .or_else(|| takers.next());
        }
    }
    moves
}

fn check_convoy(convoy: &Convoy) -> Result<(), InvalidInput> {
    let mut check = Check::new();
    let stops = convoy.stops.len();
    if stops == 0 || stops.saturating_mul(convoy.vehicles.len()) > CELLS_MAX {
        check.refuse(
            "stops",
            format!("must be at least 1 and at most {CELLS_MAX} times vehicles, are {stops}"),
        );
        return check.finish();
    }
    let mut seen = HashSet::new();
    for (index, vehicle) in convoy.vehicles.iter().enumerate() {
        let path = |field| element("vehicles", index, field);
        if !seen.insert(vehicle.vehicle.as_str()) {
            check.refuse(path("vehicle"), format!("is given twice: {}", vehicle.vehicle));
        }
        check.positive(path("usable_capacity_l"), vehicle.usable_capacity_l);
        check.between(path("usable_capacity_l"), vehicle.usable_capacity_l, 0.0, 1e5);
        check.non_negative(path("usable_at_start_l"), vehicle.usable_at_start_l);
        if vehicle.usable_at_start_l > vehicle.usable_capacity_l {
            check.refuse(
                path("usable_at_start_l"),
                "must not be more than usable_capacity_l",
            );
        }
        check.between(path("reserve_l"), vehicle.reserve_l, 0.0, 1e5);
        if vehicle.leg_needs_l.len() != stops {
            check.refuse(
                path("leg_needs_l"),
                format!(
                    "must be one per stop ({stops}), are {}",
                    vehicle.leg_needs_l.len()
                ),
            );
        }
        for (leg, need_l) in vehicle.leg_needs_l.iter().enumerate() {
            check.between(
                format_args!("vehicles[{index}].leg_needs_l[{leg}]"),
                *need_l,
                0.0,
                1e5,
            );
        }
    }
    check.finish()
}
