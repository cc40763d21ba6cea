//! Supply points between the legs of a departure.

use crate::record::{Departure, SupplyKind, SupplyPoint};

/// The points that give something of `kinds` between leg `index` and the next one, confirmed or not. There
/// are none after the last leg: what can be had on arrival helps nobody on the way.
pub(crate) fn points_after<'a>(
    departure: &'a Departure,
    index: usize,
    kinds: &'a [SupplyKind],
) -> impl Iterator<Item = &'a SupplyPoint> {
    let places = departure
        .legs
        .get(index)
        .zip(departure.legs.get(index + 1))
        .map(|(leg, next)| [&leg.end_place, &next.start_place]);
    departure.supply_points.iter().filter(move |point| {
        places.is_some_and(|places| places.contains(&&point.place))
            && point.supplies.iter().any(|supply| kinds.contains(supply))
    })
}

/// Whether something of `kinds` is surely taken on between leg `index` and the next one.
pub(crate) fn is_supplied(departure: &Departure, index: usize, kinds: &[SupplyKind]) -> bool {
    points_after(departure, index, kinds).any(|point| point.confirmed)
}
