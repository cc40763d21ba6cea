//! What is asked besides the record: who may not go where, what stays together, what stays.

use std::collections::{BTreeMap, BTreeSet};

use crate::check::{Check, InvalidInput};
use crate::record::{CargoItem, Id, Name, Record, StowageTerms};

/// Mass above which a thing does not go on a roof unless somebody decides otherwise, kilograms. Common
/// practice, no source.
pub const ROOF_ITEM_MAX_KG: f64 = 20.0;

/// Terms of a stowage.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Terms {
    /// Who may not go where.
    pub bans: Vec<(Subject, Whereto)>,
    /// Cargo items that go into the same vehicle; an item is in at most one group.
    pub together: Vec<Vec<Name>>,
    /// Cargo items that stay where they are, besides those that the record pins.
    pub pinned: Vec<Name>,
    /// Cargo items that are on no vehicle and are to be stowed.
    pub unstowed: Vec<Name>,
    /// Largest sideways moment either way, kilogram metres, by vehicle. Others have no such limit.
    pub lateral_limits_kgm: BTreeMap<Name, f64>,
}

/// Whom a ban is about.
#[derive(Debug, Clone, PartialEq)]
pub enum Subject {
    /// One cargo item.
    CargoItem(Name),
    /// Cargo items of a category.
    Category(String),
    /// Cargo items with anything that makes them dangerous.
    AnyHazard,
    /// Cargo items of more than so many kilograms.
    HeavierThan(f64),
}

/// Where they may not be.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Whereto {
    /// On any roof.
    Roof,
    /// Inside any space where people sit.
    OccupantSpace,
    /// In a vehicle.
    Vehicle(Name),
    /// In a zone of a vehicle.
    Zone(Name, Id),
}

impl Terms {
    /// Common practice, no source: nothing dangerous where people sit, nothing heavier than
    /// [`ROOF_ITEM_MAX_KG`] on a roof.
    pub fn common_practice() -> Self {
        Self {
            bans: vec![
                (Subject::AnyHazard, Whereto::OccupantSpace),
                (Subject::HeavierThan(ROOF_ITEM_MAX_KG), Whereto::Roof),
            ],
            ..Self::default()
        }
    }

    /// These terms with what the cargo items ask for themselves. Groups that share an item become one.
    pub(super) fn with_items<'a>(&self, items: impl Iterator<Item = &'a CargoItem>) -> Self {
        let mut terms = self.clone();
        let mut together: BTreeMap<&Id, Vec<Name>> = BTreeMap::new();
        for item in items {
            let StowageTerms {
                not_on_roof,
                not_in_occupant_space,
                not_on_vehicles,
                not_in_zones,
                together: word,
            } = &item.stowage_terms;
            let vehicles = not_on_vehicles.iter().cloned().map(Whereto::Vehicle);
            let zones = not_in_zones
                .iter()
                .map(|(vehicle, zone)| Whereto::Zone(vehicle.clone(), zone.clone()));
            let bans = not_on_roof
                .then_some(Whereto::Roof)
                .into_iter()
                .chain(not_in_occupant_space.then_some(Whereto::OccupantSpace))
                .chain(vehicles)
                .chain(zones);
            terms
                .bans
                .extend(bans.map(|whereto| (Subject::CargoItem(item.name.clone()), whereto)));
            if let Some(word) = word {
                together.entry(word).or_default().push(item.name.clone());
            }
        }
        for mut group in together.into_values().filter(|group| group.len() > 1) {
            let (joined, apart): (Vec<_>, Vec<_>) = std::mem::take(&mut terms.together)
                .into_iter()
                .partition(|own| own.iter().any(|name| group.contains(name)));
            for name in joined.into_iter().flatten() {
                if !group.contains(&name) {
                    group.push(name);
                }
            }
            terms.together = apart;
            terms.together.push(group);
        }
        terms
    }

    /// Checks that everything named is there.
    pub(super) fn check(&self, record: &Record) -> Result<(), InvalidInput> {
        let mut check = Check::new();
        let item = |check: &mut Check, field: String, name: &Name| {
            if !record.cargo_items.contains_key(name) {
                check.refuse(field, format!("must be a cargo item, is {name}"));
            }
        };
        let vehicle = |check: &mut Check, field: String, name: &Name| {
            if !record.vehicles.contains_key(name) {
                check.refuse(field, format!("must be a vehicle, is {name}"));
            }
        };
        for (index, (subject, whereto)) in self.bans.iter().enumerate() {
            let field = format!("bans[{index}]");
            match subject {
                Subject::CargoItem(name) => item(&mut check, field.clone(), name),
                Subject::HeavierThan(most_kg) => check.non_negative(&field, *most_kg),
                Subject::Category(_) | Subject::AnyHazard => {}
            }
            match whereto {
                Whereto::Vehicle(name) => vehicle(&mut check, field, name),
                Whereto::Zone(name, id) => {
                    let of = record.vehicles.get(name);
                    if of.is_none_or(|of| of.specification.zone(id).is_none()) {
                        check.refuse(field, format!("must be a zone of a vehicle, is {id} of {name}"));
                    }
                }
                Whereto::Roof | Whereto::OccupantSpace => {}
            }
        }
        let mut grouped = BTreeSet::new();
        for (index, group) in self.together.iter().enumerate() {
            for (at, name) in group.iter().enumerate() {
                let field = format!("together[{index}][{at}]");
                if !grouped.insert(name) {
                    check.refuse(field.clone(), format!("must be in one group only: {name}"));
                }
                item(&mut check, field, name);
            }
        }
        for (field, names) in [("pinned", &self.pinned), ("unstowed", &self.unstowed)] {
            for (index, name) in names.iter().enumerate() {
                item(&mut check, format!("{field}[{index}]"), name);
            }
        }
        for (name, limit_kgm) in &self.lateral_limits_kgm {
            let field = format!("lateral_limits_kgm[{name}]");
            check.non_negative(&field, *limit_kgm);
            vehicle(&mut check, field, name);
        }
        check.finish()
    }
}

impl Subject {
    /// Whether a ban is about an item. What has no known mass is not heavy: it is not moved either.
    pub(super) fn is_about(&self, item: &CargoItem) -> bool {
        match self {
            Self::CargoItem(name) => item.name == *name,
            Self::Category(category) => item.category == *category,
            Self::AnyHazard => !item.hazard.is_empty(),
            Self::HeavierThan(most_kg) => item.mass_kg().is_some_and(|mass_kg| mass_kg > *most_kg),
        }
    }
}
