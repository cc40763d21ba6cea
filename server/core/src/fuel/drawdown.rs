//! Every tank and container after every leg, emptied in a chosen order.
//!
//! The tanks are given in the order in which their fuel is used. Fuel of a container is poured into
//! a plumbed tank during the leg that needs it; how many stops that takes depends on the room there
//! and is not worked out. Fuel taken on goes into the plumbed tanks first, in order, then into the
//! containers, each as far as it may be filled.

use super::tank::{Feed, Tank, check_tanks, receiving_tank, usable_of};
use crate::check::{Check, InvalidInput};
use crate::fuel::consumption::LEGS_MAX;

/// What one leg does to the fuel aboard.
#[derive(Debug, Clone, PartialEq)]
pub struct LegDraw {
    /// Identifier of the leg.
    pub leg: String,
    /// Litres the leg burns, 0 or more.
    pub litres: f64,
    /// Litres on offer at its end, 0 or more: only confirmed ones.
    pub taken_on_l: f64,
}

/// Fuel poured from a container into a plumbed tank.
#[derive(Debug, Clone, PartialEq)]
pub struct Transfer {
    /// Container.
    pub from: String,
    /// Plumbed tank.
    pub to: String,
    /// Litres, greater than 0.
    pub litres: f64,
}

/// Content of one tank.
#[derive(Debug, Clone, PartialEq)]
pub struct TankFill {
    /// Identifier of the tank.
    pub id: String,
    /// Litres in it, heel included.
    pub fill_l: f64,
}

/// The fuel of a vehicle after one leg and what was taken on at its end.
#[derive(Debug, Clone, PartialEq)]
pub struct LegState {
    /// Identifier of the leg.
    pub leg: String,
    /// Litres burnt.
    pub burnt_l: f64,
    /// Litres the leg asked for and the tanks did not have: greater than 0 means the vehicle stands.
    pub short_l: f64,
    /// What was poured from containers during the leg.
    pub transfers: Vec<Transfer>,
    /// Litres taken on at the end.
    pub taken_on_l: f64,
    /// Litres offered at the end for which there was no room.
    pub refused_l: f64,
    /// Every tank, in the order given.
    pub fills: Vec<TankFill>,
    /// Litres the engine can still burn.
    pub usable_l: f64,
}

/// Runs the tanks, given in the order of use, through the legs.
///
/// Litres are conserved: fills at the start plus taken on less burnt are the fills at the end. No
/// fill is ever negative, drawn below its heel, or filled above its limit. Nothing is rounded.
///
/// # Errors
/// As [`check_tanks`], and every leg with litres out of range.
pub fn drawdown(tanks: &[Tank], legs: &[LegDraw]) -> Result<Vec<LegState>, InvalidInput> {
    let mut check = Check::new();
    check.merge("", check_tanks(tanks));
    if legs.len() > LEGS_MAX {
        check.refuse("legs", format!("must be at most {LEGS_MAX}, are {}", legs.len()));
        return check.finish().map(|()| Vec::new());
    }
    for (index, leg) in legs.iter().enumerate() {
        check.non_negative(format_args!("legs[{index}].litres"), leg.litres);
        check.non_negative(format_args!("legs[{index}].taken_on_l"), leg.taken_on_l);
    }
    check.finish()?;
    let mut tanks = tanks.to_vec();
    Ok(legs.iter().map(|leg| drive(&mut tanks, leg)).collect())
}

fn drive(tanks: &mut [Tank], leg: &LegDraw) -> LegState {
    let mut transfers = Vec::new();
    let mut open_l = leg.litres;
    for index in 0..tanks.len() {
        if open_l <= 0.0 {
            break;
        }
        open_l -= match tanks[index].feed {
            Feed::Engine => draw(&mut tanks[index], open_l),
            Feed::Decanted => decant(tanks, index, open_l, &mut transfers),
        };
    }
    let short_l = open_l.max(0.0);
    let taken_on_l = take_on(tanks, leg.taken_on_l);
    LegState {
        leg: leg.leg.clone(),
        burnt_l: leg.litres - short_l,
        short_l,
        transfers,
        taken_on_l,
        refused_l: leg.taken_on_l - taken_on_l,
        fills: tanks
            .iter()
            .map(|tank| TankFill {
                id: tank.id.clone(),
                fill_l: tank.fill_l,
            })
            .collect(),
        usable_l: usable_of(tanks),
    }
}

/// Takes up to `wanted_l` out of a tank; gives what came.
fn draw(tank: &mut Tank, wanted_l: f64) -> f64 {
    let drawn_l = tank.usable_l().min(wanted_l);
    if drawn_l > 0.0 {
        // `max` keeps a rounding error from leaving less than the heel.
        tank.fill_l = (tank.fill_l - drawn_l).max(tank.unusable_l);
    }
    drawn_l
}

/// Pours from a container what the engine wants; gives what reached the engine. A plumbed tank below
/// its heel swallows the gap first.
fn decant(tanks: &mut [Tank], container: usize, wanted_l: f64, transfers: &mut Vec<Transfer>) -> f64 {
    let Some(receiving) = receiving_tank(tanks) else {
        return 0.0;
    };
    let gap_l = tanks[receiving].heel_gap_l();
    let poured_l = draw(&mut tanks[container], wanted_l + gap_l);
    let kept_l = poured_l.min(gap_l);
    tanks[receiving].fill_l += kept_l;
    if poured_l > 0.0 {
        let (from, to) = (tanks[container].id.clone(), tanks[receiving].id.clone());
        transfers.push(Transfer {
            from,
            to,
            litres: poured_l,
        });
    }
    poured_l - kept_l
}

/// Fills up from `offered_l`; gives what went in.
fn take_on(tanks: &mut [Tank], offered_l: f64) -> f64 {
    let mut left_l = offered_l;
    for feed in [Feed::Engine, Feed::Decanted] {
        for tank in tanks.iter_mut().filter(|tank| tank.feed == feed) {
            let poured_l = tank.room_l().min(left_l);
            if poured_l > 0.0 {
                // `min` keeps a rounding error from lifting the fill above the limit.
                tank.fill_l = (tank.fill_l + poured_l).min(tank.fill_limit_l);
            }
            left_l -= poured_l;
        }
    }
    offered_l - left_l.max(0.0)
}
