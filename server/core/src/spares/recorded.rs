//! The spares of a departure from the record.
//!
//! Demand comes from the part, else from the policy's need; exposure from the legs with the allowance for the
//! route, and from the days from departure to return. Spare parts are cargo items on vehicles that go and say
//! so (`spares`); complete spare wheels count for tyres and wheels where they serve ([`convoy_spares`]). Two
//! fitments interchange when their parts are equal or each part serves the other's slot by its interfaces,
//! without adapters; wheel ends do not where a spare wheel aboard serves the one and not the other.

use std::collections::BTreeMap;

use super::advice::{SparesAdvice, advise};
use super::convoy::{ConvoyCover, SpareAboard, SparesInput, convoy_cover};
use super::demand::{FittedPart, Interchange};
use super::placement::Carrier;
use crate::check::InvalidInput;
use crate::fit::Serving;
use crate::loads::{self, ConvoyLoads, LimitedLoad, worst_of};
use crate::record::{
    CargoItem, Departure, Name, Part, Record, Slot, SpareContent, SpareNeed, SparesPolicy, Vehicle,
};
use crate::tyres::convoy::{ConvoySpares, convoy_spares};
use crate::tyres::interchange::{Outcome, SpareKind};

/// Kinds of slot that a complete spare wheel serves.
const WHEEL_KINDS: [&str; 2] = ["tyre", "wheel"];

/// The spares of a departure.
#[derive(Debug, Clone, PartialEq)]
pub struct DepartureSpares {
    /// What they were computed from.
    pub input: SparesInput,
    /// The cargo item of each spare aboard.
    pub items: Vec<Name>,
    /// What is missing, in sentences.
    pub missing: Vec<String>,
    /// The cover. `None`: it cannot be computed at all; the reason is missing.
    pub cover: Option<ConvoyCover>,
}

/// What of the record the spares are computed from.
#[derive(Debug, PartialEq)]
pub(crate) struct OnRecord {
    /// `None`: the policy says nothing of spares.
    input: Option<SparesInput>,
    items: Vec<Name>,
    missing: Vec<String>,
}

/// The cover, or why it cannot be computed. `None`: nothing is asked.
pub(crate) type Covered = Option<Result<ConvoyCover, String>>;

/// The spares of `departure`. Never fails: what cannot be computed is missing.
pub fn departure_spares(record: &Record, departure: &Departure) -> DepartureSpares {
    let wheels = convoy_spares(&ConvoyLoads::of(record, departure));
    let on_record = OnRecord::of(record, departure, &wheels);
    let covered = on_record.covered();
    on_record.with(&covered)
}

impl OnRecord {
    /// What is fitted and aboard, with the spare `wheels` of the departure compared before.
    pub(crate) fn of(record: &Record, departure: &Departure, wheels: &ConvoySpares) -> Self {
        let Some(policy) = &departure.policy.spares else {
            return Self {
                input: None,
                items: Vec::new(),
                missing: vec!["the policy's spares are not known".to_owned()],
            };
        };
        let mut missing = Vec::new();
        if policy.needs.is_empty() {
            missing.push("the policy's spares.needs are not known".to_owned());
        }
        if policy.cover_min.is_none() {
            missing.push("the policy's spares.cover_min is not known".to_owned());
        }
        let fitted = fitted(record, departure, policy, &mut missing);
        let (aboard, items) = aboard(record, departure, wheels, &fitted, &mut missing);
        let part_mass_kg = (0..fitted.len()).map(|index| spare_mass_kg(&fitted[index], index, &aboard));
        let carriers = departure.vehicles.iter().zip(1_u32..);
        let importance = |need: &SpareNeed| (need.slot_kind.to_string(), need.importance);
        let input = SparesInput {
            part_mass_kg: part_mass_kg.collect(),
            findings: findings(record, &fitted, &aboard),
            fitted: fitted.into_iter().map(|fitted| fitted.data).collect(),
            aboard,
            carriers: carriers
                .map(|(going, convoy_place)| Carrier {
                    name: going.vehicle.to_string(),
                    convoy_place,
                    margin_kg: None,
                })
                .collect(),
            importance: policy.needs.iter().map(importance).collect(),
            cover_min: policy.cover_min,
            mass_budget_kg: policy.mass_budget_kg,
        };
        Self {
            input: Some(input),
            items,
            missing,
        }
    }

    /// The cover of what is aboard.
    pub(crate) fn covered(&self) -> Covered {
        let cover = |input| convoy_cover(input).map_err(|refused| refused.to_string());
        self.input.as_ref().map(cover)
    }

    /// The same with what [`OnRecord::covered`] made of it.
    pub(crate) fn with(&self, covered: &Covered) -> DepartureSpares {
        let mut missing = self.missing.clone();
        if let Some(Err(refused)) = covered {
            missing.push(format!("the spares cannot be computed: {refused}"));
        }
        DepartureSpares {
            input: self.input.clone().unwrap_or_default(),
            items: self.items.clone(),
            missing,
            cover: covered.as_ref().and_then(|cover| cover.clone().ok()),
        }
    }
}

impl DepartureSpares {
    /// Advice, with the margins to the gross mass that the loads leave at the worst moment. `None`: there is no cover.
    ///
    /// # Errors
    /// As [`advise`].
    pub fn advice(
        &self,
        record: &Record,
        departure: &Departure,
    ) -> Result<Option<SparesAdvice>, InvalidInput> {
        let Some(cover) = &self.cover else {
            return Ok(None);
        };
        let mut input = self.input.clone();
        for (carrier, going) in input.carriers.iter_mut().zip(&departure.vehicles) {
            carrier.margin_kg = record
                .vehicles
                .get(&going.vehicle)
                .and_then(|vehicle| margin_kg(record, departure, vehicle));
        }
        advise(&input, cover).map(Some)
    }
}

/// The least margin to the gross mass over all load states. `None`: not known.
fn margin_kg(record: &Record, departure: &Departure, vehicle: &Vehicle) -> Option<f64> {
    let states = loads::states(record, departure, vehicle);
    if states.iter().any(|state| !state.missing.is_empty()) {
        return None;
    }
    worst_of(&states, &LimitedLoad::Total).and_then(|(_, load)| load.margin_kg)
}

/// A fitment that is asked about, with its records.
struct Fitted<'record> {
    vehicle: &'record Vehicle,
    slot: &'record Slot,
    part: &'record Part,
    data: FittedPart,
}

fn fitted<'record>(
    record: &'record Record,
    departure: &Departure,
    policy: &SparesPolicy,
    missing: &mut Vec<String>,
) -> Vec<Fitted<'record>> {
    let distance_km = driven_km(departure);
    let days = departure
        .departure_date
        .until(departure.return_date)
        .ok()
        .map(|span| f64::from(span.get_days()) + 1.0);
    let mut found = Vec::new();
    for need in &policy.needs {
        let before = found.len();
        for going in &departure.vehicles {
            let Some(vehicle) = record.vehicles.get(&going.vehicle) else {
                let sentence = format!("{} is not on record", going.vehicle);
                if !missing.contains(&sentence) {
                    missing.push(sentence);
                }
                continue;
            };
            let slots = vehicle.specification.slots.iter();
            for slot in slots.filter(|slot| slot.kind == need.slot_kind) {
                let Some(fitment) = vehicle.fitments.get(&slot.id) else {
                    missing.push(format!(
                        "what is in {} of {} is not known",
                        slot.id,
                        vehicle.name.id()
                    ));
                    continue;
                };
                // An empty slot needs no spare.
                let Some(name) = &fitment.part else { continue };
                let Some(part) = record.parts.get(name) else {
                    missing.push(format!("the part {} is not on record", name.id()));
                    continue;
                };
                let demand = part.spare_demand.as_ref().or(need.demand.as_ref());
                found.push(Fitted {
                    vehicle,
                    slot,
                    part,
                    data: FittedPart {
                        need: need.slot_kind.to_string(),
                        vehicle: vehicle.name.to_string(),
                        part: name.to_string(),
                        quantity: 1,
                        rate: demand.map(|demand| demand.rate),
                        provenance: demand.and_then(|demand| demand.provenance.clone()),
                        distance_km,
                        days,
                    },
                });
            }
        }
        if found.len() == before {
            missing.push(format!(
                "no vehicle that goes has a part on record in a slot of the kind {}",
                need.slot_kind
            ));
        }
    }
    say_unknown_demand(&found, missing);
    found
}

fn say_unknown_demand(fitted: &[Fitted<'_>], missing: &mut Vec<String>) {
    use super::demand::DemandRate;
    let mut say = |sentence: String| {
        if !missing.contains(&sentence) {
            missing.push(sentence);
        }
    };
    for fitted in fitted {
        match fitted.data.rate {
            None => say(format!(
                "how often {} ({}) needs a spare is not known",
                fitted.part.display_name,
                fitted.part.name.id()
            )),
            Some(DemandRate::PerDistance { .. }) if fitted.data.distance_km.is_none() => {
                say(
                    "the way is not known: the departure has no legs, or the policy no route_allowance_factor"
                        .to_owned(),
                );
            }
            Some(_) => {}
        }
    }
}

/// Driven kilometres of the whole way. `None`: not known.
fn driven_km(departure: &Departure) -> Option<f64> {
    let factor = departure.policy.route_allowance_factor?;
    let map_km: f64 = departure.legs.iter().map(|leg| leg.map_distance_km).sum();
    (!departure.legs.is_empty()).then_some(map_km * factor)
}

/// What is aboard vehicles that go, and the item of each.
fn aboard(
    record: &Record,
    departure: &Departure,
    wheels: &ConvoySpares,
    fitted: &[Fitted<'_>],
    missing: &mut Vec<String>,
) -> (Vec<SpareAboard>, Vec<Name>) {
    let serving = Serving::new(record);
    let carrier = |item: &CargoItem| carrier_of(departure, item.vehicle.as_ref()?);
    let (mut aboard, mut items) = (Vec::new(), Vec::new());
    for item in record.cargo_items.values() {
        let Some(carrier) = carrier(item) else { continue };
        for content in &item.spares {
            let Some(part) = record.parts.get(&content.part) else {
                missing.push(format!(
                    "the part {} in {} is not on record",
                    content.part.id(),
                    item.display_name
                ));
                continue;
            };
            aboard.push(SpareAboard {
                name: item.display_name.clone(),
                part: part.name.to_string(),
                carrier: Some(carrier),
                pieces: content.pieces.saturating_mul(item.quantity),
                mass_kg: piece_mass_kg(item, content, part),
                serves: fitted
                    .iter()
                    .map(|at| serving.serves(at.vehicle, at.slot, part))
                    .collect(),
            });
            items.push(item.name.clone());
        }
    }
    let about_wheels = |fitted: &Fitted<'_>| WHEEL_KINDS.contains(&&*fitted.slot.kind);
    if fitted.iter().any(about_wheels) {
        for (index, carried) in wheels.spares.iter().enumerate() {
            let Some(item) = record.cargo_items.get(&carried.item) else {
                continue;
            };
            if !matches!(carried.spare.kind, SpareKind::Wheel(..)) {
                continue;
            }
            let serves = |at: &Fitted<'_>| {
                if about_wheels(at) {
                    wheel_serves(wheels, index, &at.vehicle.name)
                } else {
                    Some(false)
                }
            };
            aboard.push(SpareAboard {
                name: item.display_name.clone(),
                part: item.name.to_string(),
                carrier: carrier_of(departure, &carried.carried_on),
                pieces: item.quantity,
                mass_kg: item.unit_mass.map(|mass| mass.mass_kg),
                serves: fitted.iter().map(serves).collect(),
            });
            items.push(item.name.clone());
        }
    }
    (aboard, items)
}

/// Mass of one piece, kilograms: what a thing that holds nothing else weighs, else what the part does.
fn piece_mass_kg(item: &CargoItem, content: &SpareContent, part: &Part) -> Option<f64> {
    let alone = item.spares.len() == 1 && content.pieces > 0;
    let weighed = item.unit_mass.filter(|_| alone);
    weighed
        .map(|mass| mass.mass_kg / f64::from(content.pieces))
        .or(part.mass.map(|mass| mass.mass_kg))
}

/// Mass of a spare for a fitment, kilograms: of the part, else of the lightest aboard that serves it. For a wheel
/// end a complete wheel is carried, whatever the tyre alone weighs.
fn spare_mass_kg(fitted: &Fitted<'_>, index: usize, aboard: &[SpareAboard]) -> Option<f64> {
    let own = fitted.part.mass.map(|mass| mass.mass_kg);
    let of_wheel = WHEEL_KINDS.contains(&&*fitted.slot.kind);
    own.filter(|_| !of_wheel).or_else(|| {
        aboard
            .iter()
            .filter(|spare| spare.serves[index] == Some(true))
            .filter_map(|spare| spare.mass_kg)
            .min_by(f64::total_cmp)
    })
}

fn carrier_of(departure: &Departure, vehicle: &Name) -> Option<usize> {
    departure
        .vehicles
        .iter()
        .position(|going| going.vehicle == *vehicle)
}

fn wheel_serves(spares: &ConvoySpares, index: usize, vehicle: &Name) -> Option<bool> {
    match spares.outcome(index, vehicle) {
        Some(Outcome::Serves) => Some(true),
        Some(Outcome::EmergencyOnly | Outcome::DoesNotServe) => Some(false),
        Some(Outcome::NotKnown) | None => None,
    }
}

/// What the record says of pairs of fitments of one need.
fn findings<'record>(
    record: &'record Record,
    fitted: &[Fitted<'record>],
    aboard: &[SpareAboard],
) -> Vec<Interchange> {
    let serving = Serving::new(record);
    let mut known: BTreeMap<(&'record Name, usize), Option<bool>> = BTreeMap::new();
    let mut findings = Vec::new();
    for second in 0..fitted.len() {
        for first in 0..second {
            let (left, right) = (&fitted[first], &fitted[second]);
            if left.data.need != right.data.need {
                continue;
            }
            if WHEEL_KINDS.contains(&&*left.slot.kind) {
                let parted = aboard
                    .iter()
                    .any(|spare| spare.serves[first] != spare.serves[second]);
                if parted {
                    findings.push(Interchange {
                        first,
                        second,
                        fits: false,
                    });
                }
                continue;
            }
            if left.data.part == right.data.part {
                continue;
            }
            let mut serves = |at: usize, part: &'record Part| {
                let Fitted { vehicle, slot, .. } = fitted[at];
                *known
                    .entry((&part.name, at))
                    .or_insert_with(|| serving.serves(vehicle, slot, part))
            };
            match (serves(first, right.part), serves(second, left.part)) {
                (Some(true), Some(true)) => findings.push(Interchange {
                    first,
                    second,
                    fits: true,
                }),
                (Some(false), _) | (_, Some(false)) => findings.push(Interchange {
                    first,
                    second,
                    fits: false,
                }),
                _ => {}
            }
        }
    }
    findings
}
