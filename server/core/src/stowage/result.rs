//! What a search answers.

use std::collections::BTreeMap;

use super::bound::Bound;
use super::frame::{Frame, Limit};
use super::model::{Convoy, Place};
use super::rows::Row;
use super::state::{ROUNDING, loads, standing};
use super::{CAUTION, FORMULA_VERSION};
use crate::answer::Answer;
use crate::check::InvalidInput;
use crate::record::{Id, Name, Position};

/// A limit of a vehicle.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LimitRef {
    /// The vehicle.
    pub vehicle: Name,
    /// The limit.
    pub limit: Limit,
}

/// A load held against its limit, in the load state where it is tightest.
#[derive(Debug, Clone, PartialEq)]
pub struct LimitMargin {
    /// The vehicle.
    pub vehicle: Name,
    /// Which limit.
    pub limit: Limit,
    /// The load state.
    pub load_state: String,
    /// The load, kilograms; of the sideways moment kilogram metres, positive to the right.
    pub load: f64,
    /// The most it may be, in the same unit; of an axle that must not lift, 0: the least.
    pub limit_value: f64,
    /// (limit - load) / limit. `None`: the limit is 0, or an axle's not lifting; kept or not.
    pub margin: Option<f64>,
    /// The limit holds.
    pub kept: bool,
}

/// What an item adds to a load.
#[derive(Debug, Clone, PartialEq)]
pub struct ItemLoad {
    /// The cargo item.
    pub cargo_item: Name,
    /// Kilograms, or kilogram metres; negative when it lightens.
    pub load: f64,
}

/// The limit with the smallest margin, and what loads it.
#[derive(Debug, Clone, PartialEq)]
pub struct Binding {
    /// The limit.
    pub limit: LimitMargin,
    /// Load by everything that is not an item.
    pub base: f64,
    /// The items that load it, what loads it most first. Empty: cargo has no part in it.
    pub items: Vec<ItemLoad>,
}

/// One item to move. Made, the item has this vehicle, zone and position in the record.
#[derive(Debug, Clone, PartialEq)]
pub struct Move {
    /// The cargo item.
    pub cargo_item: Name,
    /// All of it, kilograms.
    pub mass_kg: f64,
    /// Where it is: vehicle and zone. `None`: not stowed.
    pub from: Option<(Name, Id)>,
    /// The vehicle it goes to.
    pub to_vehicle: Name,
    /// The zone it goes to.
    pub to_zone: Id,
    /// Where in the zone it is taken to sit; the margins are promised for this place.
    pub to_position: Position,
}

/// A proposed stowage.
#[derive(Debug, Clone, PartialEq)]
pub struct Stowage {
    /// Met: every limit is kept. Not met: no placement keeps every limit, and that is proven. Not known: none was
    /// found, and none is proven impossible. Never met with conditions.
    pub answer: Answer,
    /// Where every item goes, in the order of the items. Without an answer of met, the best that was found:
    /// for explanation, not for use. Empty when an item has no place at all.
    pub places: Vec<Place>,
    /// What to move, largest mass first. Empty unless the answer is met.
    pub moves: Vec<Move>,
    /// Mass of the moves, kilograms.
    pub moved_mass_kg: f64,
    /// Smallest relative margin with the items in `places`. `None`: nothing has one.
    pub smallest_margin: Option<f64>,
    /// The same as things are now. `None`: nothing has one, or an item is not stowed.
    pub smallest_margin_now: Option<f64>,
    /// No placement has a larger smallest margin. `None`: not even the limits that have no margin can be kept.
    pub margin_bound: Option<f64>,
    /// Bound less smallest margin: what a better placement could gain at most. `None`: one of them is missing.
    pub gap: Option<f64>,
    /// Every limit, what is tightest first.
    pub margins: Vec<LimitMargin>,
    /// The tightest limit and what loads it.
    pub binding: Option<Binding>,
    /// Limits that together keep the smallest margin from being larger than the bound of split items. When
    /// the answer is not met they are those that cannot all be kept.
    pub held_by: Vec<LimitRef>,
    /// Cargo items that may go nowhere, by their bans or those of their group.
    pub without_place: Vec<Name>,
    /// Steps of the search.
    pub steps: u64,
    /// How it was computed: [`FORMULA_VERSION`].
    pub formula_version: &'static str,
    /// What to show with it: [`CAUTION`].
    pub caution: &'static str,
}

/// Holds any placement (one place per item, in their order) against every limit, what is tightest first.
/// Pins, bans and groups are not asked.
///
/// # Errors
/// As for [`Convoy::check`]; `places`: not one per item, or not a zone.
pub fn margins(convoy: &Convoy, places: &[Place]) -> Result<Vec<LimitMargin>, InvalidInput> {
    if places.len() != convoy.items.len() {
        let problem = format!(
            "must be one per item ({}), are {}",
            convoy.items.len(),
            places.len()
        );
        return Err(InvalidInput::one("places", problem));
    }
    let mut placed = convoy.clone();
    for (item, place) in placed.items.iter_mut().zip(places) {
        item.now = Some(*place);
    }
    placed.check()?;
    let frame = Frame::new(&placed);
    let at: Vec<usize> = frame.pieces.iter().filter_map(|piece| piece.stood).collect();
    Ok(tightest(convoy, &frame, &at)
        .into_iter()
        .map(|one| one.margin)
        .collect())
}

/// A limit at its tightest row.
struct Tightest {
    margin: LimitMargin,
    /// The margin, also where it does not count.
    share: f64,
    /// Vehicle and row.
    row: (usize, usize),
}

/// Every limit at its tightest row, what is tightest first.
fn tightest(convoy: &Convoy, frame: &Frame, at: &[usize]) -> Vec<Tightest> {
    let loads = loads(frame, at);
    let mut all: BTreeMap<(usize, String), Tightest> = BTreeMap::new();
    let rank = |margin: &LimitMargin| (margin.kept, margin.margin.unwrap_or(f64::INFINITY));
    for (vehicle, rows) in frame.rows.iter().enumerate() {
        let of = &convoy.vehicles[vehicle];
        for (index, (row, load)) in rows.iter().zip(&loads[vehicle]).enumerate() {
            let share = row.margin(*load);
            let found = LimitMargin {
                vehicle: of.name.clone(),
                limit: row.limit.clone(),
                load_state: of.states[row.state].load_state.clone(),
                load: row.natural(*load),
                limit_value: row.most,
                margin: row.counts.then_some(share),
                kept: share >= -ROUNDING,
            };
            let key = (vehicle, row.limit.id());
            if all.get(&key).is_none_or(|before| share < before.share) {
                let row = (vehicle, index);
                all.insert(
                    key,
                    Tightest {
                        margin: found,
                        share,
                        row,
                    },
                );
            }
        }
    }
    let mut all: Vec<_> = all.into_values().collect();
    all.sort_by(|left, right| {
        let (left, right) = (rank(&left.margin), rank(&right.margin));
        left.0.cmp(&right.0).then(left.1.total_cmp(&right.1))
    });
    all
}

pub(super) fn report(convoy: &Convoy, frame: &Frame, at: &[usize], bound: &Bound, steps: u64) -> Stowage {
    let stands = standing(frame, at);
    let finite = |margin: f64| Some(margin).filter(|margin| margin.is_finite());
    let smallest_margin = finite(stands.margin);
    let answer = if stands.keeps_limits() {
        Answer::Met
    } else if bound.margin.is_none_or(|bound| bound < 0.0) {
        Answer::NotMet
    } else {
        Answer::NotKnown
    };
    let moves = if answer == Answer::Met {
        moves(convoy, frame, at)
    } else {
        Vec::new()
    };
    let margins = tightest(convoy, frame, at);
    let mut held_by: Vec<LimitRef> = Vec::new();
    for (vehicle, row) in &bound.held_by {
        let limit = LimitRef {
            vehicle: convoy.vehicles[*vehicle].name.clone(),
            limit: frame.rows[*vehicle][*row].limit.clone(),
        };
        if !held_by.contains(&limit) {
            held_by.push(limit);
        }
    }
    Stowage {
        answer,
        places: at
            .iter()
            .enumerate()
            .map(|(item, spot)| place_of(convoy, frame, item, *spot))
            .collect(),
        moved_mass_kg: moves.iter().map(|one| one.mass_kg).sum(),
        moves,
        smallest_margin,
        smallest_margin_now: margin_now(frame),
        margin_bound: bound.margin,
        gap: bound
            .margin
            .zip(smallest_margin)
            .map(|(bound, margin)| (bound - margin).max(0.0)),
        binding: binding(convoy, frame, at, &margins),
        margins: margins.into_iter().map(|one| one.margin).collect(),
        held_by,
        without_place: Vec::new(),
        steps,
        formula_version: FORMULA_VERSION,
        caution: CAUTION,
    }
}

pub(super) fn report_without_place(convoy: &Convoy, frame: &Frame, without: &[usize]) -> Stowage {
    let name = |item: &usize| convoy.items[*item].name.clone();
    Stowage {
        answer: Answer::NotMet,
        places: Vec::new(),
        moves: Vec::new(),
        moved_mass_kg: 0.0,
        smallest_margin: None,
        smallest_margin_now: margin_now(frame),
        margin_bound: None,
        gap: None,
        margins: Vec::new(),
        binding: None,
        held_by: Vec::new(),
        without_place: without.iter().map(name).collect(),
        steps: 0,
        formula_version: FORMULA_VERSION,
        caution: CAUTION,
    }
}

fn margin_now(frame: &Frame) -> Option<f64> {
    let at: Option<Vec<usize>> = frame.pieces.iter().map(|piece| piece.stood).collect();
    Some(standing(frame, &at?).margin).filter(|margin| margin.is_finite())
}

fn place_of(convoy: &Convoy, frame: &Frame, item: usize, spot: usize) -> Place {
    let own = convoy.items[item].now.and_then(|now| now.own);
    let stays = frame.pieces[item].now == Some(spot);
    let spot = &frame.spots[spot];
    Place {
        vehicle: spot.vehicle,
        zone: spot.zone,
        own: own.filter(|_| stays),
    }
}

fn moves(convoy: &Convoy, frame: &Frame, at: &[usize]) -> Vec<Move> {
    let mut moves: Vec<Move> = Vec::new();
    for (item, spot) in convoy
        .items
        .iter()
        .zip(at)
        .enumerate()
        .filter_map(|(index, (item, spot))| {
            let moved = frame.pieces[index].now != Some(*spot);
            moved.then_some((item, &frame.spots[*spot]))
        })
    {
        let to = &convoy.vehicles[spot.vehicle];
        let zone = &to.zones[spot.zone];
        let from = item.now.map(|now| {
            let vehicle = &convoy.vehicles[now.vehicle];
            (vehicle.name.clone(), vehicle.zones[now.zone].id.clone())
        });
        moves.push(Move {
            cargo_item: item.name.clone(),
            mass_kg: item.mass_kg,
            from,
            to_vehicle: to.name.clone(),
            to_zone: zone.id.clone(),
            to_position: Position {
                x_mm: zone.x_mm,
                y_mm: zone.y_mm,
                z_mm: zone.z_mm,
            },
        });
    }
    moves.sort_by(|left, right| right.mass_kg.total_cmp(&left.mass_kg));
    moves
}

fn binding(convoy: &Convoy, frame: &Frame, at: &[usize], margins: &[Tightest]) -> Option<Binding> {
    let tightest = margins.first()?;
    let (vehicle, index) = tightest.row;
    let row: &Row = &frame.rows[vehicle][index];
    let mut items: Vec<ItemLoad> = Vec::new();
    for (piece, spot) in at.iter().enumerate() {
        if frame.spots[*spot].vehicle == vehicle
            && let Some(added) = frame.added(piece, *spot).nth(index).filter(|added| *added != 0.0)
        {
            let cargo_item = convoy.items[piece].name.clone();
            items.push(ItemLoad {
                cargo_item,
                load: row.natural(added),
            });
        }
    }
    items.sort_by(|left, right| {
        let weight = |item: &ItemLoad| row.natural(item.load);
        weight(right).total_cmp(&weight(left))
    });
    Some(Binding {
        limit: tightest.margin.clone(),
        base: row.natural(row.base),
        items,
    })
}
