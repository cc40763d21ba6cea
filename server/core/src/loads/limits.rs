//! Loads held against limits: gross mass, axles, roof, zones.

use super::result::{LoadAgainstLimit, ZoneLoad};
use super::tally::{Sum, is_number};
use crate::answer::Answer;
use crate::record::{Policy, Roof, Specification, Zone};

/// Standard deviations that a margin must be away from zero where the policy does not say.
pub const CONFIDENCE_DEVIATIONS: f64 = 2.0;

/// How limits are judged.
#[derive(Debug, Clone, Copy)]
pub(super) struct Judge {
    warn_fraction: f64,
    confidence_deviations: f64,
    /// Nothing is missing from the loads.
    complete: bool,
}

/// A limit and its name. `limit_kg` is `None` when it is not known; the name then says why.
#[derive(Debug)]
pub(super) struct Limit {
    limit_kg: Option<f64>,
    name: &'static str,
    /// Another limit may be tighter, but it is not known: why.
    unknown: Option<&'static str>,
}

impl Limit {
    /// A limit of the specification. What is not a number, or negative, is not known.
    pub(super) fn of(limit_kg: Option<f64>, name: &'static str) -> Self {
        let limit_kg = limit_kg.filter(|limit_kg| is_number(*limit_kg) && *limit_kg >= 0.0);
        Self {
            limit_kg,
            name,
            unknown: None,
        }
    }
}

impl Judge {
    /// A judge by `policy`. What of it is not a number is said and makes the loads incomplete.
    pub(super) fn new(policy: &Policy, missing: &mut Vec<String>) -> Self {
        let mut sound = |number: Option<f64>, default: f64, name: &str| match number {
            Some(number) if is_number(number) && number >= 0.0 => number,
            Some(_) => {
                missing.push(format!("the policy's {name} cannot be used"));
                default
            }
            None => default,
        };
        let warn_fraction = sound(policy.margin_warn_fraction, 0.0, "margin_warn_fraction");
        let confidence_deviations = sound(
            policy.confidence_deviations,
            CONFIDENCE_DEVIATIONS,
            "confidence_deviations",
        );
        Self {
            warn_fraction,
            confidence_deviations,
            complete: missing.is_empty(),
        }
    }

    /// Holds a load against a limit: over it is not met; what is missing or not known comes next; then
    /// a margin in doubt or below the share that the policy warns at; else met.
    pub(super) fn hold(&self, sum: Sum, limit: Limit) -> LoadAgainstLimit {
        let uncertainty_kg = sum.variance_kg2.sqrt();
        let margin_kg = limit.limit_kg.map(|limit_kg| limit_kg - sum.load_kg);
        let over = margin_kg.is_some_and(|margin_kg| margin_kg < 0.0);
        // A tighter limit that is not known matters only while the known one holds.
        let (limit_kg, margin_kg, limit_name) = match limit.unknown {
            Some(unknown) if !over => (None, None, unknown),
            _ => (limit.limit_kg, margin_kg, limit.name),
        };
        let lifts = sum.load_kg < 0.0;
        let answer = match (limit_kg, margin_kg) {
            _ if over || lifts => Answer::NotMet,
            (Some(limit_kg), Some(margin_kg)) if self.complete => {
                let in_doubt = margin_kg < self.confidence_deviations * uncertainty_kg;
                let scarce = margin_kg < self.warn_fraction * limit_kg;
                if in_doubt || scarce {
                    Answer::MetWithConditions
                } else {
                    Answer::Met
                }
            }
            _ => Answer::NotKnown,
        };
        LoadAgainstLimit {
            load_kg: sum.load_kg,
            uncertainty_kg,
            limit_kg,
            limit_name,
            margin_kg,
            answer,
            untoleranced_count: sum.untoleranced_count,
        }
    }
}

/// Whether any zone has a limit of its own or counts against the roof's.
pub(super) fn any_limited(zones: &[Zone]) -> bool {
    zones.iter().any(|zone| zone.on_roof || zone.limit_kg.is_some())
}

/// Cargo by zone.
#[derive(Debug)]
pub(super) struct ZoneSums<'a> {
    sums: Vec<(&'a Zone, Sum)>,
}

impl<'a> ZoneSums<'a> {
    pub(super) fn new(specification: &'a Specification) -> Self {
        Self {
            sums: specification
                .zones
                .iter()
                .map(|zone| (zone, Sum::default()))
                .collect(),
        }
    }

    /// Adds to the zone at a place among those of the specification.
    pub(super) fn take(&mut self, zone: usize, load: Sum) {
        if let Some((_, sum)) = self.sums.get_mut(zone) {
            sum.take_over(load);
        }
    }

    /// The zones that have a limit.
    pub(super) fn against_limits(&self, judge: &Judge) -> Vec<ZoneLoad> {
        self.sums
            .iter()
            .filter(|(zone, _)| zone.limit_kg.is_some())
            .map(|(zone, sum)| ZoneLoad {
                zone: zone.id.clone(),
                load: judge.hold(*sum, Limit::of(zone.limit_kg, "zone limit")),
            })
            .collect()
    }

    /// The roof.
    pub(super) fn roof(&self, roof: Option<Roof>, judge: &Judge) -> LoadAgainstLimit {
        let mut sum = Sum::default();
        for (_, zone_sum) in self.sums.iter().filter(|(zone, _)| zone.on_roof) {
            sum.load_kg += zone_sum.load_kg;
            sum.variance_kg2 += zone_sum.variance_kg2;
            sum.untoleranced_count += zone_sum.untoleranced_count;
        }
        let roof = roof.unwrap_or_default();
        let mut load = judge.hold(sum, roof_limit(&roof, sum.load_kg));
        // Nothing on a roof without a rack is within any limit, also one that nobody wrote down.
        let empty = sum.load_kg == 0.0 && roof.rack_mass_kg.unwrap_or(0.0) == 0.0 && roof.limit_kg.is_none();
        if empty && judge.complete {
            load.answer = Answer::Met;
        }
        load
    }
}

/// The most that may lie on a roof that something is put on, kilograms. `None`: one of the limits is not
/// known, or there is nothing left for load.
pub(crate) fn loaded_roof_limit_kg(roof: Option<Roof>) -> Option<f64> {
    let limit = roof_limit(&roof.unwrap_or_default(), f64::MIN_POSITIVE);
    let known = limit.limit_kg.filter(|_| limit.unknown.is_none());
    known.filter(|limit_kg| *limit_kg >= 0.0)
}

/// The tighter of the rack's rating for load on it, off road, and the vehicle's limit less the rack.
fn roof_limit(roof: &Roof, load_kg: f64) -> Limit {
    let factor = roof.rack_offroad_factor.unwrap_or(1.0);
    let rack_kg = roof.rack_rating_kg.map(|rating_kg| rating_kg * factor);
    let vehicle_kg = roof
        .limit_kg
        .zip(roof.rack_mass_kg)
        .map(|(limit_kg, rack_mass_kg)| limit_kg - rack_mass_kg);
    let rack_name = if roof.rack_offroad_factor.is_some() {
        "rack rating off road"
    } else {
        "rack rating"
    };
    let vehicle_name = "roof limit less the rack";
    let known = |limit_kg: Option<f64>| limit_kg.filter(|limit_kg| is_number(*limit_kg));
    // An empty rack is within its rating, whatever that is.
    let rack_unknown =
        (known(rack_kg).is_none() && load_kg > 0.0).then_some("roof: the rating of the rack is not known");
    let vehicle_unknown = known(vehicle_kg).is_none().then(|| {
        if roof.limit_kg.is_none() {
            "roof: the limit of the vehicle's roof is not known"
        } else {
            "roof: the mass of the rack is not known"
        }
    });
    let (limit_kg, name) = match (known(rack_kg), known(vehicle_kg)) {
        (Some(rack_kg), Some(vehicle_kg)) if rack_kg <= vehicle_kg => (Some(rack_kg), rack_name),
        (_, Some(vehicle_kg)) => (Some(vehicle_kg), vehicle_name),
        (rack_kg, None) => (rack_kg, rack_name),
    };
    Limit {
        limit_kg,
        name,
        unknown: rack_unknown.or(vehicle_unknown),
    }
}
