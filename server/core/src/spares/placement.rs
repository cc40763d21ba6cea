//! Placement: which vehicle carries which pooled spare.
//!
//! The rules are common practice, no source: copies of one spare ride in different vehicles, so that one
//! vehicle lost, or stuck away from the others, does not take them all; a spare rides with a vehicle that needs
//! it, or near one; the rest evens out the masses. It is advice: what a vehicle may carry is judged with the loads.

use super::{ITEMS_MAX, MASS_LEAST_KG, MASS_MAX_KG};
use crate::check::{Check, InvalidInput, element};

/// Most copies placed at once.
pub const COPIES_MAX: u32 = 10_000;

/// Most vehicles of a convoy.
pub const VEHICLES_MAX: usize = 100;

/// A spare to be placed.
#[derive(Debug, Clone, PartialEq)]
pub struct SpareToPlace {
    /// Name for the report.
    pub name: String,
    /// Mass of one, kg, [`MASS_LEAST_KG`] to [`MASS_MAX_KG`].
    pub mass_kg: f64,
    /// How many, 0 to [`COPIES_MAX`] over all spares.
    pub copies: u32,
    /// Indices of the vehicles that it serves; at least one.
    pub users: Vec<usize>,
}

/// A vehicle that may carry spares.
#[derive(Debug, Clone, PartialEq)]
pub struct Carrier {
    /// Name for the report.
    pub name: String,
    /// Place in the convoy, 1 foremost, up to 1,000.
    pub convoy_place: u32,
    /// Mass it may still take, kg, 0 to 100,000; `None` when not known, and then it is given nothing.
    pub margin_kg: Option<f64>,
}

/// Why a copy rides where it does, the strongest reason first.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PlacementReason {
    /// No other copy of this spare rides there.
    SplitFromOtherCopies,
    /// Every vehicle that could take it has a copy already.
    AllHaveACopy,
    /// The vehicle needs this spare itself.
    RidesWithUser,
    /// No user could take it; it rides this many places from the nearest.
    PlacesFromUser(u32),
    /// Of several such vehicles this one has the most mass margin left.
    MostMargin,
}

/// One copy placed.
#[derive(Debug, Clone, PartialEq)]
pub struct Placement {
    /// Index of the spare.
    pub spare: usize,
    /// Which copy, 1 up.
    pub copy: u32,
    /// Index of the vehicle.
    pub vehicle: usize,
    /// Why there.
    pub reasons: Vec<PlacementReason>,
}

/// The advice.
#[derive(Debug, Clone, PartialEq)]
pub struct PlacementAdvice {
    /// Copies placed, by spare and copy.
    pub placements: Vec<Placement>,
    /// Index of a spare and how many copies found no room.
    pub unplaced: Vec<(usize, u32)>,
    /// Spares of several copies that all ride in one vehicle.
    pub not_split: Vec<usize>,
    /// Vehicles left out because their margin is not known.
    pub margin_not_known: Vec<usize>,
    /// Margin left in each vehicle, kg.
    pub margin_left_kg: Vec<Option<f64>>,
}

/// Advises where the copies ride: heaviest spares first, each copy to the vehicle with the fewest copies of it,
/// then with or nearest to a user, then with the most margin left, then the first named.
///
/// # Errors
/// Values outside the ranges of their fields; users that do not exist; more than [`ITEMS_MAX`] spares,
/// [`VEHICLES_MAX`] vehicles or [`COPIES_MAX`] copies.
pub fn advise_placement(
    spares: &[SpareToPlace],
    vehicles: &[Carrier],
) -> Result<PlacementAdvice, InvalidInput> {
    check_placement(spares, vehicles)?;
    let mut margin_left_kg: Vec<_> = vehicles.iter().map(|vehicle| vehicle.margin_kg).collect();
    let mut order: Vec<usize> = (0..spares.len()).collect();
    order.sort_by(|&left, &right| {
        spares[right]
            .mass_kg
            .total_cmp(&spares[left].mass_kg)
            .then(left.cmp(&right))
    });
    let (mut placements, mut unplaced, mut not_split) = (Vec::new(), Vec::new(), Vec::new());
    for spare in order {
        let places = places_from_users(&spares[spare], vehicles);
        let mut carried = vec![0_u32; vehicles.len()];
        for copy in 1..=spares[spare].copies {
            let Some(choice) = choose(spares[spare].mass_kg, &places, &margin_left_kg, &carried) else {
                unplaced.push((spare, spares[spare].copies - copy + 1));
                break;
            };
            carried[choice.vehicle] += 1;
            margin_left_kg[choice.vehicle] =
                margin_left_kg[choice.vehicle].map(|left| left - spares[spare].mass_kg);
            placements.push(Placement {
                spare,
                copy,
                vehicle: choice.vehicle,
                reasons: choice.reasons,
            });
        }
        if carried
            .iter()
            .any(|&copies| copies > 1 && copies == carried.iter().sum())
        {
            not_split.push(spare);
        }
    }
    placements.sort_by_key(|placement| (placement.spare, placement.copy));
    unplaced.sort_unstable();
    not_split.sort_unstable();
    Ok(PlacementAdvice {
        placements,
        unplaced,
        not_split,
        margin_not_known: (0..vehicles.len())
            .filter(|&index| vehicles[index].margin_kg.is_none())
            .collect(),
        margin_left_kg,
    })
}

struct Choice {
    vehicle: usize,
    reasons: Vec<PlacementReason>,
}

/// Places in the convoy from each vehicle to the nearest user of the spare; 0 for a user.
fn places_from_users(spare: &SpareToPlace, vehicles: &[Carrier]) -> Vec<u32> {
    let places = |index: usize, user: usize| {
        if user == index {
            return 0;
        }
        // Two vehicles given the same place are still two vehicles.
        vehicles[user]
            .convoy_place
            .abs_diff(vehicles[index].convoy_place)
            .max(1)
    };
    (0..vehicles.len())
        .map(|index| {
            spare
                .users
                .iter()
                .map(|&user| places(index, user))
                .min()
                .unwrap_or(0)
        })
        .collect()
}

fn choose(mass_kg: f64, places: &[u32], margin_left_kg: &[Option<f64>], carried: &[u32]) -> Option<Choice> {
    let able: Vec<(usize, f64)> = margin_left_kg
        .iter()
        .enumerate()
        .filter_map(|(index, left)| left.filter(|left| *left >= mass_kg).map(|left| (index, left)))
        .collect();
    let rank = |index: usize| (carried[index], places[index]);
    let &(vehicle, _) = able.iter().min_by(|(left, left_kg), (right, right_kg)| {
        rank(*left)
            .cmp(&rank(*right))
            .then(right_kg.total_cmp(left_kg))
            .then(left.cmp(right))
    })?;
    let mut reasons = Vec::new();
    if carried[vehicle] > 0 {
        reasons.push(PlacementReason::AllHaveACopy);
    } else if carried.iter().any(|&copies| copies > 0) {
        reasons.push(PlacementReason::SplitFromOtherCopies);
    }
    reasons.push(match places[vehicle] {
        0 => PlacementReason::RidesWithUser,
        apart => PlacementReason::PlacesFromUser(apart),
    });
    if able
        .iter()
        .any(|&(index, _)| index != vehicle && rank(index) == rank(vehicle))
    {
        reasons.push(PlacementReason::MostMargin);
    }
    Some(Choice { vehicle, reasons })
}

fn check_placement(spares: &[SpareToPlace], vehicles: &[Carrier]) -> Result<(), InvalidInput> {
    let mut check = Check::new();
    for (field, length, most) in [
        ("spares", spares.len(), ITEMS_MAX),
        ("vehicles", vehicles.len(), VEHICLES_MAX),
    ] {
        if length > most {
            check.refuse(field, format!("must be at most {most}, are {length}"));
        }
    }
    for (index, spare) in spares.iter().enumerate().take(ITEMS_MAX) {
        let field = |name| element("spares", index, name);
        check.between(field("mass_kg"), spare.mass_kg, MASS_LEAST_KG, MASS_MAX_KG);
        if spare.users.is_empty() || spare.users.len() > VEHICLES_MAX {
            check.refuse(
                field("users"),
                format!("must be 1 to {VEHICLES_MAX}, are {}", spare.users.len()),
            );
        } else if spare.users.iter().any(|&user| user >= vehicles.len()) {
            check.refuse(field("users"), "must be indices of vehicles");
        }
    }
    let copies: u64 = spares.iter().map(|spare| u64::from(spare.copies)).sum();
    if copies > u64::from(COPIES_MAX) {
        check.refuse(
            "spares",
            format!("must be at most {COPIES_MAX} copies, are {copies}"),
        );
    }
    for (index, vehicle) in vehicles.iter().enumerate().take(VEHICLES_MAX) {
        let field = |name| element("vehicles", index, name);
        check.between(
            field("convoy_place"),
            f64::from(vehicle.convoy_place),
            1.0,
            1_000.0,
        );
        if let Some(margin_kg) = vehicle.margin_kg {
            check.between(field("margin_kg"), margin_kg, 0.0, 100_000.0);
        }
    }
    check.finish()
}
