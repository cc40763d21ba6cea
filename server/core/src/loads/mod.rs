//! Masses and axle loads: the vehicle as weighed, what was changed on it since, and what it carries.
//!
//! Everything is added up about the axles. With wheelbase `L`, a mass `m` at `x` aft of the front axle
//! puts `m x / L` on the rear axle and the rest on the front axle, so a mass behind the rear axle
//! lightens the front (statics; own derivation, checked against a published towing-weight example).
//!
//! Uncertainty is the root sum of squares of the stated tolerances, each with its lever: errors of
//! different masses are taken as independent, those of the pieces of one cargo item as common. A mass
//! without a stated tolerance adds nothing to it and is counted instead.
//!
//! What is missing is never taken as zero in silence: it is said, the numbers leave it out, and no
//! answer then is better than not known.
//!
//! Under way, fluids are drawn down leg by leg and what is consumed shrinks: [`states()`] gives every
//! moment of a departure and states its model, [`worst()`] names the moment at which each limit is tightest.
//!
//! A computed load is an aid: it does not replace a weighbridge.

mod aboard;
mod baseline;
mod carried;
mod convoy;
mod fitments;
mod fluids;
mod limits;
mod moment;
mod moves;
mod reconcile;
mod result;
mod states;
mod supplies;
mod tally;
mod worst;

pub use carried::{Carried, carried_when_weighed, unloaded};
pub use convoy::ConvoyLoads;
pub use limits::CONFIDENCE_DEVIATIONS;
pub(crate) use limits::loaded_roof_limit_kg;
pub(crate) use moves::place_of;
pub use moves::{CargoMove, smallest_move};
pub use reconcile::{
    Difference, RECONCILIATION_FORMULA_VERSION, Reconciliation, UnexplainedCentre, reconcile,
};
pub use result::{Baseline, LoadAgainstLimit, LoadGroup, LoadLine, LoadResult, ZoneLoad};
pub(crate) use states::consumed_shares_left;
pub use states::states;
pub(crate) use states::states_in_sums;
pub use worst::{LimitedLoad, WorstLoad, worst, worst_of};

use crate::record::{Departure, Record, Vehicle};
use aboard::Cargo;
use baseline::Start;
use limits::{Judge, Limit, ZoneSums};
use moment::Moment;
use tally::{Split, Tally, is_number};

/// Version of the formulas of this module. It changes when a result may change for the same record.
pub const FORMULA_VERSION: &str = "loads/2";

/// The load state at the moment of departure.
pub const DEPARTURE_STATE: &str = "departure";

/// What to show with every load result.
pub const CAUTION: &str = "A computed load is an aid: it does not replace a weighbridge.";

/// Masses and axle loads of `vehicle` at the moment of `departure`.
///
/// All of `record`'s cargo that is on the vehicle counts, with the departure's people and fills.
/// Numbers that cannot be computed with (not finite, absurdly large, negative masses) are missing.
pub fn compute(record: &Record, departure: &Departure, vehicle: &Vehicle) -> LoadResult {
    Constant::of(record, departure, vehicle, Detail::Lines).at(&Moment::departure())
}

/// How much of loads is wanted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Detail {
    /// Every mass that enters them.
    Lines,
    /// The sums alone, to hold them against limits.
    Sums,
}

/// What a vehicle's loads are made of, as far as it is the same at every moment of its departure.
struct Constant<'a> {
    record: &'a Record,
    departure: &'a Departure,
    vehicle: &'a Vehicle,
    start: Start,
    /// What was fitted since, and the people.
    tally: Tally,
    cargo: Vec<Cargo<'a>>,
}

impl<'a> Constant<'a> {
    fn of(record: &'a Record, departure: &'a Departure, vehicle: &'a Vehicle, detail: Detail) -> Self {
        let mut tally = Tally::new(vehicle.specification.wheelbase_mm);
        tally.without_lines = detail == Detail::Sums;
        let start = baseline::start(record, vehicle, &mut tally);
        fitments::add_fitment_changes(record, vehicle, &mut tally);
        aboard::add_crew(departure, vehicle, &mut tally);
        Self {
            record,
            departure,
            vehicle,
            start,
            tally,
            cargo: aboard::cargo_on(record, vehicle),
        }
    }

    fn at(&self, moment: &Moment) -> LoadResult {
        let vehicle = self.vehicle;
        let mut tally = self.tally.clone();
        fluids::add_fluids(self.record, self.departure, vehicle, moment, &mut tally);
        let mut zones = ZoneSums::new(&vehicle.specification);
        aboard::add_cargo(&self.cargo, vehicle, moment, &mut zones, &mut tally);
        moment.say_what_is_missing(&mut tally);
        let judge = Judge::new(&self.departure.policy, &mut tally.missing);
        self.judged(moment, tally, &zones, &judge)
    }

    fn judged(&self, moment: &Moment, tally: Tally, zones: &ZoneSums<'_>, judge: &Judge) -> LoadResult {
        let (start, specification) = (&self.start, &self.vehicle.specification);
        let mut whole: Split = start.split;
        whole.take_over(&tally.load);
        let axle = |sum, rating_kg, name| {
            start
                .axles_known
                .then(|| judge.hold(sum, Limit::of(rating_kg, name)))
        };
        let mass_of = |group| tally.mass_of(group);
        let on_axles_kg = whole.front.load_kg + whole.rear.load_kg;
        let centre_x_mm = tally
            .wheelbase_mm
            .filter(|_| start.axles_known && on_axles_kg > 0.0)
            .map(|wheelbase_mm| whole.rear.load_kg / on_axles_kg * wheelbase_mm)
            .filter(|x_mm| is_number(*x_mm));
        LoadResult {
            vehicle: self.vehicle.name.clone(),
            departure: self.departure.name.clone(),
            load_state: moment.load_state.clone(),
            baseline_mass_kg: start.split.total.load_kg,
            fitment_change_kg: mass_of(LoadGroup::Fitment),
            crew_mass_kg: mass_of(LoadGroup::Crew),
            fuel_mass_kg: mass_of(LoadGroup::Fuel),
            water_mass_kg: mass_of(LoadGroup::Water),
            cargo_mass_kg: mass_of(LoadGroup::Cargo),
            total: judge.hold(whole.total, Limit::of(specification.gross_mass_kg, "gross mass")),
            front_axle: axle(
                whole.front,
                specification.front_axle_rating_kg,
                "front axle rating",
            ),
            rear_axle: axle(whole.rear, specification.rear_axle_rating_kg, "rear axle rating"),
            roof: zones.roof(specification.roof, judge),
            zones: zones.against_limits(judge),
            centre_x_mm,
            lateral_moment_kgm: tally.load.lateral_moment_kgm,
            lines: sorted(start.line.clone(), tally.lines),
            baseline: start.baseline.clone(),
            missing: tally.missing,
            notes: moment.notes.clone(),
            formula_version: FORMULA_VERSION,
        }
    }
}

fn sorted(baseline: Option<LoadLine>, mut lines: Vec<LoadLine>) -> Vec<LoadLine> {
    lines.extend(baseline);
    lines.sort_by(|left, right| right.mass_kg.abs().total_cmp(&left.mass_kg.abs()));
    lines
}
