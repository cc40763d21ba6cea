//! A vehicle at every moment of its departure, before its cargo is on it.
//!
//! Cargo is what is moved about most, in the shop and in trials of a move: all else is added up once, whatever is put on then.

use std::iter;
use std::sync::Arc;

use super::aboard::{Cargo, add_crew};
use super::baseline::{self, Start};
use super::limits::{Judge, Limit, ZoneSums};
use super::moment::Moment;
use super::result::{LoadGroup, LoadLine, LoadResult};
use super::states::{Consumed, under_way};
use super::tally::{Split, Tally, is_number};
use super::{FORMULA_VERSION, fitments, fluids};
use crate::record::{Departure, Record, Vehicle};
use crate::supplies::consumption::follows_mass;

/// How much of loads is wanted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Detail {
    /// Every mass that enters them, and what they rest on.
    Lines,
    /// The sums alone, to hold them against limits.
    Sums,
}

/// What a vehicle weighs at moments of its departure without its cargo.
#[derive(Debug, PartialEq)]
pub(crate) struct BeforeCargo {
    start: Start,
    departure: AtMoment,
    under_way: Vec<AtMoment>,
    consumed: Consumed,
    follows_mass: bool,
}

#[derive(Debug, PartialEq)]
struct AtMoment {
    moment: Moment,
    /// What was fitted since the baseline, the people, and what is in the tanks.
    tally: Tally,
}

impl BeforeCargo {
    /// At departure, at the end of each leg, and after each supply under way.
    pub(crate) fn of(record: &Record, departure: &Departure, vehicle: &Vehicle) -> Self {
        let moments = under_way(record, departure, vehicle);
        Self::at(moments, record, departure, vehicle, Detail::Lines)
    }

    /// The same without lines.
    pub(super) fn in_sums(record: &Record, departure: &Departure, vehicle: &Vehicle) -> Self {
        let moments = under_way(record, departure, vehicle);
        Self::at(moments, record, departure, vehicle, Detail::Sums)
    }

    /// At departure alone.
    pub(super) fn at_departure(record: &Record, departure: &Departure, vehicle: &Vehicle) -> Self {
        Self::at(Vec::new(), record, departure, vehicle, Detail::Lines)
    }

    /// At departure and at the `moments` under way.
    fn at(
        moments: Vec<Moment>,
        record: &Record,
        departure: &Departure,
        vehicle: &Vehicle,
        detail: Detail,
    ) -> Self {
        let mut constant = Tally::new(vehicle.specification.wheelbase_mm);
        constant.lines = constant.lines.filter(|_| detail == Detail::Lines);
        let start = baseline::start(record, vehicle, &mut constant);
        fitments::add_fitment_changes(record, vehicle, &mut constant);
        add_crew(departure, vehicle, &mut constant);
        let at_moment = |moment| {
            let mut tally = constant.clone();
            fluids::add_fluids(record, departure, vehicle, &moment, &mut tally);
            AtMoment { moment, tally }
        };
        let going = departure.vehicles.iter();
        Self {
            start,
            departure: at_moment(Moment::departure()),
            under_way: moments.into_iter().map(at_moment).collect(),
            consumed: Consumed::of(departure),
            follows_mass: going
                .filter(|going| going.vehicle == vehicle.name)
                .any(follows_mass),
        }
    }

    /// Whether what is in the tanks under way follows from the cargo aboard: the heavier vehicle burns more. Then this holds for
    /// the cargo of its record and no other.
    pub(super) fn follows_mass(&self) -> bool {
        self.follows_mass
    }

    /// The loads with `cargo` on the vehicle, in the order of the moments, in the detail in which it was asked for.
    pub(super) fn laden(
        &self,
        cargo: &Cargo<'_>,
        departure: &Departure,
        vehicle: &Vehicle,
    ) -> Vec<LoadResult> {
        let laden = |at| self.laden_at(at, cargo, departure, vehicle);
        iter::once(&self.departure)
            .chain(&self.under_way)
            .map(laden)
            .collect()
    }

    /// The loads at departure alone.
    pub(super) fn laden_at_departure(
        &self,
        cargo: &Cargo<'_>,
        departure: &Departure,
        vehicle: &Vehicle,
    ) -> LoadResult {
        self.laden_at(&self.departure, cargo, departure, vehicle)
    }

    fn laden_at(
        &self,
        at: &AtMoment,
        cargo: &Cargo<'_>,
        departure: &Departure,
        vehicle: &Vehicle,
    ) -> LoadResult {
        let mut tally = match cargo.detail() {
            // One more for the baseline.
            Detail::Lines => at.tally.with_room_for(cargo.line_count() + 1),
            Detail::Sums => at.tally.without_lines(),
        };
        let consumed = at.moment.leg.filter(|_| cargo.has_consumed());
        let share_left = consumed.map_or(1.0, |leg| self.consumed.share_left(leg));
        let mut zones = ZoneSums::new(&vehicle.specification);
        cargo.add(share_left, &mut zones, &mut tally);
        let unknown = consumed.and_then(|_| self.consumed.missing());
        tally.miss_each_once(at.moment.missing.iter().map(String::as_str).chain(unknown));
        let notes = match cargo.detail() {
            Detail::Lines => {
                let notes = at.moment.notes.iter().cloned();
                notes
                    .chain(consumed.and_then(|leg| self.consumed.note(leg)))
                    .collect()
            }
            Detail::Sums => Vec::new(),
        };
        let judge = Judge::new(&departure.policy, &mut tally.missing);
        let laden = Laden {
            start: &self.start,
            zones,
            judge,
            departure,
            vehicle,
        };
        laden.result(at.moment.load_state.clone(), tally, notes)
    }
}

/// A vehicle with all on it at one moment, before it is held against its limits.
struct Laden<'a> {
    start: &'a Start,
    zones: ZoneSums<'a>,
    judge: Judge,
    departure: &'a Departure,
    vehicle: &'a Vehicle,
}

impl Laden<'_> {
    fn result(&self, load_state: String, tally: Tally, notes: Vec<String>) -> LoadResult {
        let (start, judge, specification) = (self.start, &self.judge, &self.vehicle.specification);
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
            load_state,
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
            roof: self.zones.roof(specification.roof, judge),
            zones: self.zones.against_limits(judge),
            centre_x_mm,
            lateral_moment_kgm: tally.load.lateral_moment_kgm,
            lines: tally
                .lines
                .map(|lines| sorted(start.line.clone(), lines))
                .unwrap_or_default(),
            baseline: start.baseline.clone(),
            missing: tally.missing,
            notes,
            formula_version: FORMULA_VERSION,
        }
    }
}

/// The lines with that of the baseline, largest first.
pub(super) fn sorted(baseline: Option<Arc<LoadLine>>, mut lines: Vec<Arc<LoadLine>>) -> Vec<Arc<LoadLine>> {
    lines.extend(baseline);
    lines.sort_by(|left, right| right.mass_kg.abs().total_cmp(&left.mass_kg.abs()));
    lines
}
