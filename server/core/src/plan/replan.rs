//! Replanning that moves little: the order people work by is changed only for a gain that is worth it.

use super::generate::generator;
use super::model::Model;
use super::population::as_order;
use super::schedule::{Cost, Schedule};
use super::search::{Found, SearchOptions, Watch, check_order, search};
use crate::check::{Check, InvalidInput};

/// What a change of plan must bring.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ReplanOptions {
    /// The order stays as it is unless the search gains at least this much makespan (time units, 0 or more), or
    /// lateness. 0: any gain counts.
    pub gain_min: i64,
    /// The search for something better.
    pub search: SearchOptions,
}

/// A plan made from the plan before it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Replanned {
    /// The schedule, its cost and the lower bound.
    pub found: Found,
    /// Cost of simply going on in the order as it was.
    pub unchanged: Cost,
    /// The order of the schedule given. For the next replanning.
    pub order: Vec<usize>,
    /// Jobs that changed their place in the order, in pairs with other jobs: number of pairs of jobs in the opposite
    /// order, of n(n-1)/2.
    pub exchanged_pairs: u64,
}

/// An order of all jobs of `model` that keeps `previous` as far as precedence allows; jobs that it does not know
/// follow as soon as their predecessors are done. Jobs that no longer exist must be removed and the others
/// renumbered before.
///
/// # Errors
/// `previous[k]`: no job, or a job twice.
pub fn repaired_order(model: &Model, previous: &[usize]) -> Result<Vec<usize>, InvalidInput> {
    let count = model.job_count();
    let mut rank: Vec<Option<i64>> = vec![None; count];
    for (position, &job) in previous.iter().enumerate() {
        match rank.get_mut(job) {
            Some(place @ None) => *place = Some(position as i64),
            _ => {
                return Err(InvalidInput::one(
                    format!("previous[{position}]"),
                    format!("must be a new job, is {job}"),
                ));
            }
        }
    }
    // A new job takes the place behind its last predecessor, in front of those that wait for it.
    let mut ranks = vec![0; count];
    for &job in model.network.order() {
        let before = model
            .network
            .predecessors(job)
            .iter()
            .map(|&before| ranks[before])
            .max();
        ranks[job] = rank[job].unwrap_or(before.unwrap_or(0));
    }
    Ok(super::rules::order_by(model, &ranks))
}

/// The schedule of going on in `order`: whoever comes free takes the first job of it that can start.
///
/// # Errors
/// `order`: not an order of all jobs.
pub fn follow(model: &Model, order: &[usize]) -> Result<Schedule, InvalidInput> {
    check_order(model, order).map_err(|refused| refused.within("order"))?;
    let mut schedule = Schedule::blank(model.job_count());
    generator(model).forward(&as_order(order), false, &mut schedule);
    Ok(schedule)
}

/// Plans anew from the order of the plan before (see [`repaired_order`]), changing little.
///
/// If the search gains less than `options.gain_min`, the order stays. Otherwise the order is led from the old to
/// the found one job by job, from the front, and the first that gains what was found is taken: behind it everything
/// stays in the old order.
///
/// # Errors
/// `previous`: not an order of all jobs. `options.gain_min`: negative. See [`search`].
pub fn replan(
    model: &Model,
    previous: &[usize],
    options: &ReplanOptions,
    watch: &dyn Watch,
) -> Result<Replanned, InvalidInput> {
    let mut check = Check::new();
    check.merge("previous", check_order(model, previous));
    if options.gain_min < 0 {
        check.refuse(
            "options.gain_min",
            format!("must be 0 or more, is {}", options.gain_min),
        );
    }
    check.finish()?;
    let mut maker = generator(model);
    let mut schedule = Schedule::blank(model.job_count());
    let mut make = |order: &[usize]| {
        maker.forward(&as_order(order), false, &mut schedule);
        (schedule.cost(model), schedule.clone())
    };
    let (unchanged, kept) = make(previous);
    let found = search(model, &[previous.to_vec()], &options.search, watch)?;
    let gains = Cost {
        lateness: unchanged.lateness,
        makespan: unchanged.makespan - options.gain_min.max(1),
    };
    let settle = |(cost, schedule): (Cost, Schedule), order: Vec<usize>, found: Found| Replanned {
        exchanged_pairs: exchanged_pairs(previous, &order),
        found: Found {
            cost,
            schedule,
            ..found
        },
        unchanged,
        order,
    };
    if found.cost.lateness >= unchanged.lateness && found.cost > gains {
        return Ok(settle((unchanged, kept), previous.to_vec(), found));
    }
    let goal = found.schedule.order(model);
    let mut order = previous.to_vec();
    for place in 0..order.len() {
        let Some(from) = order.iter().position(|&job| job == goal[place]) else {
            continue;
        };
        if from == place {
            continue;
        }
        // The jobs before `place` are those of the goal: all predecessors of this job are among them.
        order[place..=from].rotate_right(1);
        let made = make(&order);
        if made.0 <= found.cost {
            return Ok(settle(made, order, found));
        }
    }
    let made = (found.cost, found.schedule.clone());
    Ok(settle(made, goal, found))
}

/// Pairs of jobs that stand in the opposite order in the two.
fn exchanged_pairs(left: &[usize], right: &[usize]) -> u64 {
    let mut place = vec![0; left.len()];
    right.iter().enumerate().for_each(|(at, &job)| place[job] = at);
    let mut seen: Vec<usize> = Vec::with_capacity(left.len());
    let mut pairs = 0;
    for &job in left {
        let position = seen.partition_point(|&other| other < place[job]);
        pairs += (seen.len() - position) as u64;
        seen.insert(position, place[job]);
    }
    pairs
}
