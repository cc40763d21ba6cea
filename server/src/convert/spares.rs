//! Spares: what is given, and results.

use ostler_core::answer::Answer;
use ostler_core::spares::advice::SparesAdvice;
use ostler_core::spares::best::{BestKit, KitMethod};
use ostler_core::spares::convoy::{ConvoyCover, NotCounted, PoolCover, SpareAboard, SparesInput};
use ostler_core::spares::demand::{FittedPart, Interchange};
use ostler_core::spares::issues::SparesIssue;
use ostler_core::spares::kit::FrontierStep;
use ostler_core::spares::placement::{Carrier, Placement, PlacementAdvice, PlacementReason};
use ostler_core::spares::{CAUTION, FORMULA_VERSION};
use ostler_proto::v1;

use super::readiness::answer_message;
use super::spare_data::spare_demand;
use super::{Converted, each};

/// What is given, as the core reads it.
pub(crate) fn given_spares(message: v1::GivenSpares) -> Converted<SparesInput> {
    let v1::GivenSpares {
        fitted,
        interchanges,
        aboard,
        vehicles,
        importance_by_need,
        cover_min,
        mass_budget_kg,
    } = message;
    let part_mass_kg = fitted.iter().map(|fitted| fitted.mass_kg).collect();
    let fitted: Vec<FittedPart> = fitted.into_iter().map(fitted_part).collect();
    let findings: Vec<Interchange> = interchanges
        .into_iter()
        .map(|known| Interchange {
            first: known.first.unsigned_abs() as usize,
            second: known.second.unsigned_abs() as usize,
            fits: known.fits,
        })
        .collect();
    let carriers: Vec<Carrier> = vehicles
        .into_iter()
        .zip(1_u32..)
        .map(|(carrier, convoy_place)| Carrier {
            name: carrier.vehicle,
            convoy_place,
            margin_kg: carrier.margin_kg,
        })
        .collect();
    let mut input = SparesInput {
        aboard: Vec::new(),
        fitted,
        part_mass_kg,
        findings,
        carriers,
        importance: importance_by_need.into_iter().collect(),
        cover_min,
        mass_budget_kg,
    };
    input.aboard = each("aboard", aboard, |spare| Ok(spare_aboard(spare, &input)))?;
    Ok(input)
}

fn fitted_part(message: v1::GivenFittedPart) -> FittedPart {
    let v1::GivenFittedPart {
        need,
        vehicle,
        part,
        quantity,
        demand,
        driven_km,
        days,
        mass_kg: _,
    } = message;
    let demand = demand.and_then(spare_demand);
    FittedPart {
        need,
        vehicle,
        part,
        quantity: quantity.map_or(1, i32::unsigned_abs),
        rate: demand.as_ref().map(|demand| demand.rate),
        provenance: demand.and_then(|demand| demand.provenance),
        distance_km: driven_km,
        days,
    }
}

/// A given spare serves fitments of its part, and those that a finding says interchange with one of them.
fn spare_aboard(message: v1::GivenSpare, input: &SparesInput) -> SpareAboard {
    let v1::GivenSpare {
        part,
        vehicle,
        pieces,
    } = message;
    let is_of = |index: usize| input.fitted.get(index).is_some_and(|fitted| fitted.part == part);
    let serves = |index: usize| {
        let said = input.findings.iter().filter_map(|finding| {
            let about = (finding.first == index && is_of(finding.second))
                || (finding.second == index && is_of(finding.first));
            about.then_some(finding.fits)
        });
        is_of(index) || said.max().unwrap_or(false)
    };
    SpareAboard {
        mass_kg: (0..input.fitted.len())
            .find(|index| is_of(*index))
            .and_then(|index| input.part_mass_kg.get(index).copied().flatten()),
        serves: (0..input.fitted.len()).map(|index| Some(serves(index))).collect(),
        name: part.clone(),
        carrier: input.carriers.iter().position(|carrier| carrier.name == vehicle),
        pieces: pieces.map_or(1, i32::unsigned_abs),
        part,
    }
}

/// The result as a message, without the name of the departure.
pub(crate) fn spares_message(
    input: &SparesInput,
    answer: Answer,
    issues: Vec<SparesIssue>,
    cover: Option<ConvoyCover>,
    advice: Option<SparesAdvice>,
) -> v1::SparesResult {
    let mut message = v1::SparesResult {
        answer: answer_message(answer).into(),
        issues: issues.into_iter().map(issue_message).collect(),
        cover_min: input.cover_min,
        mass_budget_kg: input.mass_budget_kg,
        caution: CAUTION.to_owned(),
        formula_version: FORMULA_VERSION.to_owned(),
        ..Default::default()
    };
    let Some(cover) = cover else { return message };
    let kit = cover.cover.as_ref();
    message.no_stock_out = kit.map(|kit| kit.no_stock_out);
    message.expected_backorders = kit.map(|kit| kit.expected_backorders);
    message.cautious_no_stock_out = cover.cautious_no_stock_out;
    message.aboard_mass_kg = cover.aboard_mass_kg;
    message.additions = steps(&cover, &cover.additions);
    message.not_counted = cover
        .not_counted
        .iter()
        .filter_map(|(index, why)| Some(not_counted(input.aboard.get(*index)?, *why)))
        .collect();
    message.interchange_not_known = not_known(input, &cover);
    if let Some(advice) = advice {
        let frontier = advice.frontier.iter().flat_map(|frontier| &frontier.steps);
        message.frontier = steps(&cover, frontier);
        message.best_kit = advice.best.map(|best| best_kit(&cover, best));
        if let Some(placement) = advice.placement {
            place(&mut message, input, &cover, placement);
        }
    }
    message.pools = cover.pools.into_iter().map(pool_message).collect();
    message
}

fn issue_message(issue: SparesIssue) -> v1::SparesIssue {
    let SparesIssue {
        answer,
        text,
        remedy,
        missing,
        figure: _,
    } = issue;
    v1::SparesIssue {
        answer: answer_message(answer).into(),
        text,
        remedy,
        missing,
    }
}

fn count(number: u32) -> i32 {
    i32::try_from(number).unwrap_or(i32::MAX)
}

fn part_of(cover: &ConvoyCover, pool: usize) -> String {
    cover
        .pools
        .get(pool)
        .map(|pool| pool.spare.clone())
        .unwrap_or_default()
}

fn steps<'a>(cover: &ConvoyCover, steps: impl IntoIterator<Item = &'a FrontierStep>) -> Vec<v1::KitStep> {
    steps
        .into_iter()
        .map(|step| v1::KitStep {
            part: part_of(cover, step.spare),
            copies: count(step.stock),
            gain_per_kg: step.gain_per_kg,
            mass_kg: step.mass_kg,
            expected_backorders: step.expected_backorders,
            no_stock_out: step.no_stock_out,
        })
        .collect()
}

fn not_counted(spare: &SpareAboard, why: NotCounted) -> v1::SpareNotCounted {
    let reason = match why {
        NotCounted::ServesSome => "serves some of the fitments that it would have to serve, not all",
        NotCounted::NotKnown => "whether it serves is not known",
        NotCounted::ServesNone => "serves nothing that is asked about",
    };
    v1::SpareNotCounted {
        display_name: spare.name.clone(),
        part: spare.part.clone(),
        reason: reason.to_owned(),
    }
}

/// Pairs of parts in words, each once.
fn not_known(input: &SparesInput, cover: &ConvoyCover) -> Vec<String> {
    let mut pairs = Vec::new();
    for &(first, second) in &cover.not_known {
        let (Some(first), Some(second)) = (input.fitted.get(first), input.fitted.get(second)) else {
            continue;
        };
        let pair = format!("{}: {} and {}", first.need, first.part, second.part);
        if !pairs.contains(&pair) {
            pairs.push(pair);
        }
    }
    pairs
}

fn best_kit(cover: &ConvoyCover, best: BestKit) -> v1::BestSparesKit {
    let BestKit { kit, method } = best;
    let method = match method {
        KitMethod::Proven => v1::KitMethod::Proven,
        KitMethod::Rounded => v1::KitMethod::Rounded,
        KitMethod::Marginal => v1::KitMethod::Marginal,
    };
    v1::BestSparesKit {
        copies: kit
            .stocks
            .iter()
            .enumerate()
            .map(|(pool, copies)| v1::KitCopies {
                part: part_of(cover, pool),
                count: count(*copies),
            })
            .collect(),
        mass_kg: kit.mass_kg,
        expected_backorders: kit.expected_backorders,
        expected_backorders_bound: kit.expected_backorders_bound,
        no_stock_out: kit.no_stock_out,
        method: method.into(),
    }
}

fn place(
    message: &mut v1::SparesResult,
    input: &SparesInput,
    cover: &ConvoyCover,
    placement: PlacementAdvice,
) {
    let vehicle = |index: usize| {
        input
            .carriers
            .get(index)
            .map(|carrier| carrier.name.clone())
            .unwrap_or_default()
    };
    let one = |placed: Placement| v1::SparePlacement {
        part: part_of(cover, placed.spare),
        copy: count(placed.copy),
        vehicle: vehicle(placed.vehicle),
        reasons: placed.reasons.into_iter().map(reason).collect(),
    };
    let PlacementAdvice {
        placements,
        unplaced,
        not_split,
        margin_not_known,
        margin_left_kg: _,
    } = placement;
    message.placements = placements.into_iter().map(one).collect();
    let unplaced = unplaced
        .into_iter()
        .map(|(pool, copies)| format!("no room for {copies} of {}", part_of(cover, pool)));
    let together = not_split.into_iter().map(|pool| {
        format!(
            "all of {} ride in one vehicle: no other has room",
            part_of(cover, pool)
        )
    });
    let unknown = margin_not_known.into_iter().map(|index| {
        format!(
            "what {} may still take is not known: it is given nothing",
            vehicle(index)
        )
    });
    message.placement_notes = unplaced.chain(together).chain(unknown).collect();
}

fn reason(reason: PlacementReason) -> String {
    match reason {
        PlacementReason::SplitFromOtherCopies => "no other copy rides there".to_owned(),
        PlacementReason::AllHaveACopy => "every vehicle that could take it has one already".to_owned(),
        PlacementReason::RidesWithUser => "it needs it itself".to_owned(),
        PlacementReason::PlacesFromUser(1) => "next in the convoy to one that needs it".to_owned(),
        PlacementReason::PlacesFromUser(places) => {
            format!("{places} places in the convoy from one that needs it")
        }
        PlacementReason::MostMargin => "it has the most margin left".to_owned(),
    }
}

fn pool_message(pool: PoolCover) -> v1::SparePool {
    let PoolCover {
        pool: demand,
        parts,
        fitted,
        importance,
        spare,
        spare_mass_kg,
        cautious_mean,
        judged,
        aboard,
        all_in_one_vehicle,
        cover,
    } = pool;
    v1::SparePool {
        need: demand.need,
        vehicles: demand.vehicles,
        parts,
        fitted_count: count(fitted),
        mean_demand: demand.mean,
        cautious_mean_demand: cautious_mean,
        judged,
        spare_part: spare,
        spare_mass_kg,
        aboard_count: count(aboard),
        all_in_one_vehicle,
        no_stock_out: cover.map(|cover| cover.no_stock_out),
        expected_backorders: cover.map(|cover| cover.expected_backorders),
        importance,
    }
}
