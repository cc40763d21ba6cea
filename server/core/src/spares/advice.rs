//! The best kit under the mass budget, the efficient frontier to it, and where to carry what.

use super::best::{BestKit, best_kit};
use super::convoy::{ConvoyCover, SparesInput, choices};
use super::kit::{Frontier, frontier};
use super::placement::{PlacementAdvice, SpareToPlace, advise_placement};
use crate::check::InvalidInput;

/// Step to which the search for the best kit rounds masses, kg.
pub const MASS_STEP_KG: f64 = 0.1;

/// What to carry, and where.
#[derive(Debug, Clone, PartialEq)]
pub struct SparesAdvice {
    /// The frontier from an empty kit to the budget. `None`: no budget is set, or a demand or mass is not known.
    pub frontier: Option<Frontier>,
    /// The best kit within the budget, its stocks in the order of the pools.
    pub best: Option<BestKit>,
    /// Copies that are placed: those aboard that count, and the additions. In the order of the pools.
    pub placed: Vec<u32>,
    /// Where they ride best. `None`: a mass is not known, or there is nothing to place or nowhere.
    pub placement: Option<PlacementAdvice>,
}

/// Advice on the spares of a convoy.
///
/// Placement takes what is aboard and counts out of the vehicles first and places it anew with what is to be
/// added, so that it does not depend on where things lie now.
///
/// # Errors
/// As for [`frontier`], [`best_kit`] and [`advise_placement`].
pub fn advise(input: &SparesInput, cover: &ConvoyCover) -> Result<SparesAdvice, InvalidInput> {
    let spares = choices(&cover.pools, |_| 0);
    let (frontier, best) = match (input.mass_budget_kg, &spares) {
        (Some(budget_kg), Some(spares)) if !spares.is_empty() => (
            Some(frontier(spares, budget_kg)?),
            Some(best_kit(spares, budget_kg, MASS_STEP_KG)?),
        ),
        _ => (None, None),
    };
    let mut placed: Vec<u32> = cover.pools.iter().map(|pool| pool.aboard).collect();
    for step in &cover.additions {
        placed[step.spare] += 1;
    }
    Ok(SparesAdvice {
        frontier,
        best,
        placement: place(input, cover, &placed)?,
        placed,
    })
}

fn place(
    input: &SparesInput,
    cover: &ConvoyCover,
    placed: &[u32],
) -> Result<Option<PlacementAdvice>, InvalidInput> {
    if input.carriers.is_empty() || placed.iter().all(|copies| *copies == 0) {
        return Ok(None);
    }
    let user = |vehicle: &String| input.carriers.iter().position(|carrier| carrier.name == *vehicle);
    let spares: Option<Vec<SpareToPlace>> = cover
        .pools
        .iter()
        .zip(placed)
        .map(|(pool, copies)| {
            let mut users: Vec<usize> = pool.pool.vehicles.iter().filter_map(user).collect();
            if users.is_empty() {
                // Its vehicles carry nothing themselves: then it matters to all that do.
                users = (0..input.carriers.len()).collect();
            }
            Some(SpareToPlace {
                name: pool.spare.clone(),
                mass_kg: pool.spare_mass_kg?,
                copies: *copies,
                users,
            })
        })
        .collect();
    let mut carriers = input.carriers.clone();
    for allotment in &cover.allotments {
        let spare = &input.aboard[allotment.aboard];
        let Some(carrier) = spare.carrier.and_then(|carrier| carriers.get_mut(carrier)) else {
            continue;
        };
        let freed_kg = spare.mass_kg.map(|mass_kg| mass_kg * f64::from(allotment.pieces));
        carrier.margin_kg = carrier
            .margin_kg
            .zip(freed_kg)
            .map(|(margin_kg, freed_kg)| margin_kg + freed_kg);
    }
    for carrier in &mut carriers {
        carrier.margin_kg = carrier.margin_kg.map(|margin_kg| margin_kg.max(0.0));
    }
    spares
        .map(|spares| advise_placement(&spares, &carriers))
        .transpose()
}
