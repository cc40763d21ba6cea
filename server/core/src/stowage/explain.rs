//! A stowage in sentences.

use super::frame::Limit;
use super::result::{LimitMargin, LimitRef, Stowage};
use crate::answer::Answer;
use crate::loads::LimitedLoad;
use crate::record::{Name, Record};

/// A gap below this counts as none: the solver's own tolerance and rounding are in it.
const GAP_LEAST: f64 = 1e-4;
/// Items of the binding limit that are named.
const NAMED_MAX: usize = 3;

/// What a stowage comes to, what holds it there, and what it would take to do better; cargo is named as `record` names it.
pub fn explanation(record: &Record, stowage: &Stowage) -> String {
    let words = Words { record };
    let mut sentences = Vec::new();
    match stowage.answer {
        Answer::Met | Answer::MetWithConditions => words.met(stowage, &mut sentences),
        Answer::NotMet => words.not_met(stowage, &mut sentences),
        Answer::NotKnown => sentences.push(format!(
            "No stowage that keeps every limit was found, and none is proven impossible: a longer search may find one. The best \
             found breaks {}.",
            words.broken(stowage)
        )),
    }
    if let Some(loaded) = words.loaded_by(stowage) {
        sentences.push(loaded);
    }
    sentences.join(" ")
}

struct Words<'a> {
    record: &'a Record,
}

impl Words<'_> {
    fn met(&self, stowage: &Stowage, sentences: &mut Vec<String>) {
        let Some(margin) = stowage.smallest_margin else {
            sentences.push("Every limit is kept; none of them has a margin.".to_owned());
            return;
        };
        let now = match stowage.smallest_margin_now {
            Some(now) if now < 0.0 => format!("; as things are, one is exceeded by {} of it", percent(-now)),
            Some(now) => format!("; as things are it is {}", percent(now)),
            None => String::new(),
        };
        sentences.push(format!(
            "Every limit is kept, with at least {} of it in hand{now}.",
            percent(margin)
        ));
        let held: Vec<String> = stowage.held_by.iter().map(|limit| self.limit(limit)).collect();
        match (stowage.margin_bound, stowage.gap) {
            (Some(_), Some(gap)) if gap <= GAP_LEAST => {
                sentences.push(format!("No stowage has more in hand{}.", because(&held)));
            }
            (Some(bound), _) => sentences.push(format!(
                "None has more than {} in hand{}.",
                percent(bound),
                because(&held)
            )),
            (None, _) => {}
        }
    }

    fn not_met(&self, stowage: &Stowage, sentences: &mut Vec<String>) {
        if !stowage.without_place.is_empty() {
            let names: Vec<&str> = stowage.without_place.iter().map(|name| self.item(name)).collect();
            sentences.push(format!(
                "No zone is open to {}: what is asked of where they go leaves none.",
                names.join(", ")
            ));
            return;
        }
        let held: Vec<String> = stowage.held_by.iter().map(|limit| self.limit(limit)).collect();
        let cannot = match held.as_slice() {
            [] => String::new(),
            [one] => format!(": {one} cannot be kept"),
            several => format!(": {} cannot all be kept", listed(several)),
        };
        sentences.push(format!(
            "No stowage keeps every limit{cannot}. Something must stay behind, be unpinned, or a limit be raised."
        ));
        sentences.push(format!("The best found breaks {}.", self.broken(stowage)));
    }

    fn broken(&self, stowage: &Stowage) -> String {
        let broken: Vec<String> = stowage
            .margins
            .iter()
            .filter(|margin| !margin.kept)
            .map(|margin| self.over(margin))
            .collect();
        match broken.is_empty() {
            true => "none of its own".to_owned(),
            false => broken.join(", "),
        }
    }

    fn over(&self, margin: &LimitMargin) -> String {
        let limit = self.limit(&LimitRef {
            vehicle: margin.vehicle.clone(),
            limit: margin.limit.clone(),
        });
        format!(
            "{limit} by {:.1} kg",
            (margin.load.abs() - margin.limit_value).abs()
        )
    }

    /// What the tightest limit is loaded by.
    fn loaded_by(&self, stowage: &Stowage) -> Option<String> {
        let binding = stowage.binding.as_ref()?;
        let limit = self.limit(&LimitRef {
            vehicle: binding.limit.vehicle.clone(),
            limit: binding.limit.limit.clone(),
        });
        let heaviest: Vec<String> = binding
            .items
            .iter()
            .filter(|item| item.load > 0.0)
            .take(NAMED_MAX)
            .map(|item| format!("{} ({:.1} kg)", self.item(&item.cargo_item), item.load))
            .collect();
        let items = match heaviest.is_empty() {
            true => "nothing that can be moved".to_owned(),
            false => format!("most by {}", heaviest.join(", ")),
        };
        Some(format!(
            "The tightest is {limit}: {:.1} of {:.1} kg, {:.1} kg of it without what can be moved, and {items}.",
            binding.limit.load, binding.limit.limit_value, binding.base
        ))
    }

    fn item<'n>(&'n self, name: &'n Name) -> &'n str {
        let item = self.record.cargo_items.get(name);
        item.map_or(name.id(), |item| item.display_name.as_str())
    }

    fn limit(&self, limit: &LimitRef) -> String {
        let vehicle = limit.vehicle.id();
        let what = match &limit.limit {
            Limit::Load(LimitedLoad::Total) => "the gross mass".to_owned(),
            Limit::Load(LimitedLoad::FrontAxle) => "the front axle".to_owned(),
            Limit::Load(LimitedLoad::RearAxle) => "the rear axle".to_owned(),
            Limit::Load(LimitedLoad::Roof) => "the roof".to_owned(),
            Limit::Load(LimitedLoad::Zone(id)) => format!("the zone {id}"),
            Limit::LateralMoment => "the sideways moment".to_owned(),
            Limit::FrontAxleDown => "the weight left on the front axle".to_owned(),
            Limit::RearAxleDown => "the weight left on the rear axle".to_owned(),
        };
        format!("{what} of {vehicle}")
    }
}

fn because(held: &[String]) -> String {
    match held {
        [] => String::new(),
        [one] => format!(": {one} holds it there"),
        several => format!(": {} together hold it there", listed(several)),
    }
}

/// `a, b and c`.
fn listed(words: &[String]) -> String {
    match words.split_last() {
        Some((last, before)) if !before.is_empty() => format!("{} and {last}", before.join(", ")),
        _ => words.concat(),
    }
}

fn percent(fraction: f64) -> String {
    format!("{:.2} %", 100.0 * fraction)
}
