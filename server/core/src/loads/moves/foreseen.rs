//! What a move does to loads, foreseen without computing the load states anew.
//!
//! Loads are sums, so a move changes each by its own share and nothing else; unless something of it is consumed, or what is burnt follows
//! the mass: then at departure only. What is foreseen here to stay over a limit, or to go over one, would be refused in full as well;
//! everything else is left to the full computation, which alone decides.

use super::{Candidate, HEAVIER_KG};
use crate::loads::result::LoadResult;
use crate::loads::worst::LimitedLoad;

/// A change of one load, kilograms, before anything of the item is consumed.
struct Shift {
    limited: LimitedLoad,
    kg: f64,
}

/// A vehicle before the move.
#[derive(Clone, Copy)]
pub(super) struct Before<'a> {
    /// At every moment.
    pub(super) states: &'a [LoadResult],
    /// It burns more when it is heavier.
    pub(super) follows_mass: bool,
}

impl Candidate<'_> {
    /// Whether the move cannot be the answer: it does not clear `axle` of its `own` vehicle, whose wheelbase is given, or it puts something
    /// over a limit there or on the `other` vehicle, to which it goes.
    pub(super) fn is_hopeless(
        &self,
        axle: &LimitedLoad,
        own_wheelbase_mm: f64,
        own: Before<'_>,
        other: Before<'_>,
    ) -> bool {
        let from = Shifts::at(self.mass_kg, self.from_x_mm, own_wheelbase_mm);
        let refuses = |before: Before<'_>, shift: &Shift| self.goes_over(before, shift);
        if self.leaves {
            let left = from.times(-1.0);
            let other_wheelbase_mm = self.to.specification.wheelbase_mm;
            let came = other_wheelbase_mm
                .map(|wheelbase_mm| Shifts::at(self.mass_kg, self.place.x_mm, wheelbase_mm).all());
            let whole = Shift {
                limited: LimitedLoad::Total,
                kg: self.mass_kg,
            };
            self.stays_over(own, &left.of(axle))
                || left.all().iter().any(|shift| refuses(own, shift))
                || refuses(other, &whole)
                || refuses(other, &self.zone_entered())
                || came.iter().flatten().any(|shift| refuses(other, shift))
        } else {
            let to = Shifts::at(self.mass_kg, self.place.x_mm, own_wheelbase_mm);
            let moved = Shifts {
                front_kg: to.front_kg - from.front_kg,
                rear_kg: to.rear_kg - from.rear_kg,
            };
            self.stays_over(own, &moved.of(axle))
                || moved.all().iter().any(|shift| refuses(own, shift))
                || refuses(own, &self.zone_entered())
        }
    }

    fn zone_entered(&self) -> Shift {
        Shift {
            limited: LimitedLoad::Zone(self.zone.clone()),
            kg: self.mass_kg,
        }
    }

    /// The states that the move changes by the share of the whole item and nothing else.
    fn foreseen<'s>(&self, before: Before<'s>) -> &'s [LoadResult] {
        let at_departure = self.item.consumed || (self.leaves && before.follows_mass);
        let known = if at_departure { 1 } else { before.states.len() };
        before.states.get(..known).unwrap_or(before.states)
    }

    fn stays_over(&self, before: Before<'_>, shift: &Shift) -> bool {
        self.foreseen(before).iter().any(|state| {
            let margin_kg = shift.limited.of(state).and_then(|load| load.margin_kg);
            margin_kg.is_some_and(|margin_kg| margin_kg - shift.kg < -HEAVIER_KG)
        })
    }

    /// Over a limit, and heavier than this load was at any moment before.
    fn goes_over(&self, before: Before<'_>, shift: &Shift) -> bool {
        let most_kg = before
            .states
            .iter()
            .filter_map(|state| Some(shift.limited.of(state)?.load_kg))
            .fold(f64::NEG_INFINITY, f64::max);
        self.foreseen(before).iter().any(|state| {
            let Some(load) = shift.limited.of(state) else {
                return false;
            };
            let after_kg = load.load_kg + shift.kg;
            let over = load
                .limit_kg
                .is_some_and(|limit_kg| after_kg > limit_kg + HEAVIER_KG);
            over && after_kg > most_kg + 2.0 * HEAVIER_KG
        })
    }
}

/// Shares of a mass on the axles, kilograms.
struct Shifts {
    front_kg: f64,
    rear_kg: f64,
}

impl Shifts {
    fn at(mass_kg: f64, x_mm: f64, wheelbase_mm: f64) -> Self {
        let rear_kg = mass_kg * x_mm / wheelbase_mm;
        Self {
            front_kg: mass_kg - rear_kg,
            rear_kg,
        }
    }

    fn times(self, factor: f64) -> Self {
        Self {
            front_kg: self.front_kg * factor,
            rear_kg: self.rear_kg * factor,
        }
    }

    fn of(&self, axle: &LimitedLoad) -> Shift {
        let kg = match axle {
            LimitedLoad::RearAxle => self.rear_kg,
            _ => self.front_kg,
        };
        Shift {
            limited: axle.clone(),
            kg,
        }
    }

    fn all(&self) -> [Shift; 2] {
        [self.of(&LimitedLoad::FrontAxle), self.of(&LimitedLoad::RearAxle)]
    }
}
