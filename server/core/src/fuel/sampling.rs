//! Chance of running short, by drawing the factors of [`super::chance`].
//!
//! Needed behind points with limited fuel, and as a check of the closed form elsewhere. The same
//! seed gives the same answer on every machine, however many threads share the work.

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rayon::prelude::*;
use statrs::function::erf::erfc_inv;

use super::chance::{ChanceInput, Shape, check_input, log_variance};
use crate::check::{Check, InvalidInput};

/// Most samples times legs accepted: some seconds of work.
pub const DRAWS_MAX: u64 = 200_000_000;

/// Samples drawn from one stream of the generator.
const SAMPLES_PER_STREAM: u32 = 4_096;

/// A chance estimated from samples.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SampledChance {
    /// Share of the samples that ran short, 0 to 1.
    pub chance: f64,
    /// Its standard error; 0 when no sample or every sample ran short, which proves nothing.
    pub standard_error: f64,
}

/// Sampled chances over a route.
#[derive(Debug, Clone, PartialEq)]
pub struct SampledShort {
    /// Per leg: short within its interval by its end.
    pub legs: Vec<SampledChance>,
    /// Short anywhere on the route.
    pub route: SampledChance,
    /// Samples drawn.
    pub samples: u32,
    /// Seed they were drawn from.
    pub seed: u64,
}

/// Draws the route `samples` times.
///
/// A vehicle that ran dry reaches the next confirmed point empty (towed, say) and goes on from there.
///
/// # Errors
/// As [`super::chance::chance_of_running_short`]; no samples, or more than [`DRAWS_MAX`] draws.
pub fn sample_running_short(
    input: &ChanceInput,
    samples: u32,
    seed: u64,
) -> Result<SampledShort, InvalidInput> {
    let mut check = Check::new();
    check.merge("", check_input(input));
    let draws = u64::from(samples) * (input.legs.len() as u64 + 1);
    if samples == 0 || draws > DRAWS_MAX {
        check.refuse(
            "samples",
            format!("must be at least 1 and give at most {DRAWS_MAX} draws, are {samples}"),
        );
    }
    check.finish()?;
    let counts = (0..samples.div_ceil(SAMPLES_PER_STREAM))
        .into_par_iter()
        .map(|stream| {
            let mut generator = ChaCha8Rng::seed_from_u64(seed);
            generator.set_stream(u64::from(stream));
            let begun = stream * SAMPLES_PER_STREAM;
            count_short(input, (samples - begun).min(SAMPLES_PER_STREAM), &mut generator)
        })
        .reduce(|| Counts::none(input.legs.len()), Counts::plus);
    let estimate = |count: u32| {
        let chance = f64::from(count) / f64::from(samples);
        SampledChance {
            chance,
            standard_error: (chance * (1.0 - chance) / f64::from(samples)).sqrt(),
        }
    };
    Ok(SampledShort {
        legs: counts.legs.iter().copied().map(estimate).collect(),
        route: estimate(counts.route),
        samples,
        seed,
    })
}

struct Counts {
    legs: Vec<u32>,
    route: u32,
}

impl Counts {
    fn none(legs: usize) -> Self {
        Self {
            legs: vec![0; legs],
            route: 0,
        }
    }

    fn plus(mut self, other: Self) -> Self {
        self.legs
            .iter_mut()
            .zip(&other.legs)
            .for_each(|(mine, theirs)| *mine += theirs);
        self.route += other.route;
        self
    }
}

/// One leg with what its factor needs, worked out once.
struct Drawn {
    mean_l: f64,
    own_deviation: f64,
    shift: f64,
    /// Litres offered at its end.
    refill_l: Option<f64>,
}

fn prepare(input: &ChanceInput) -> Vec<Drawn> {
    let shared = log_variance(input.vehicle_spread_fraction);
    let of = |spread_fraction: f64| match input.shape {
        Shape::Normal => (spread_fraction, 1.0),
        Shape::Lognormal => {
            let alone = log_variance(spread_fraction);
            (alone.sqrt(), -(shared + alone) / 2.0)
        }
    };
    let legs = input.legs.iter().map(|leg| {
        let (own_deviation, shift) = of(leg.spread_fraction);
        let refill_l = leg
            .refill
            .map(|refill| refill.available_l.unwrap_or(input.usable_capacity_l));
        Drawn {
            mean_l: leg.mean_l,
            own_deviation,
            shift,
            refill_l,
        }
    });
    legs.collect()
}

fn count_short(input: &ChanceInput, samples: u32, generator: &mut ChaCha8Rng) -> Counts {
    let legs = prepare(input);
    let vehicle_deviation = match input.shape {
        Shape::Normal => input.vehicle_spread_fraction,
        Shape::Lognormal => log_variance(input.vehicle_spread_fraction).sqrt(),
    };
    let mut counts = Counts::none(legs.len());
    for _ in 0..samples {
        let vehicle = vehicle_deviation * standard_normal(generator);
        let mut aboard_l = input.usable_at_start_l;
        let mut short_in_interval = false;
        let mut short_on_route = false;
        for (leg, count) in legs.iter().zip(&mut counts.legs) {
            let exponent = leg.shift + vehicle + leg.own_deviation * standard_normal(generator);
            let factor = match input.shape {
                Shape::Normal => exponent.max(0.0),
                Shape::Lognormal => exponent.exp(),
            };
            let burnt_l = leg.mean_l * factor;
            short_in_interval |= burnt_l > aboard_l;
            *count += u32::from(short_in_interval);
            short_on_route |= short_in_interval;
            aboard_l = (aboard_l - burnt_l).max(0.0);
            if let Some(offered_l) = leg.refill_l {
                aboard_l = (aboard_l + offered_l).min(input.usable_capacity_l);
                short_in_interval = false;
            }
        }
        counts.route += u32::from(short_on_route);
    }
    counts
}

/// One draw from the normal distribution with mean 0 and variance 1, by inversion.
fn standard_normal(generator: &mut ChaCha8Rng) -> f64 {
    // The middle of one of 2^52 equal cells: never 0 or 1, where the inverse is infinite.
    let cell = (generator.random::<u64>() >> 12) as f64 + 0.5;
    std::f64::consts::SQRT_2 * erfc_inv(2.0 * cell / 2f64.powi(52))
}
