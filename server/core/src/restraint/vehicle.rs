//! Everything that a vehicle carries at a departure, held against every standard that is asked.
//!
//! Cargo counts with the mass of all its pieces, a container with its shell and brimful of what it holds,
//! whatever its fill: it may be filled under way. What is fixed to the vehicle is judged only where how it
//! is held is on record.

use std::sync::Arc;

use super::assess::{Assessment, Verdict};
use super::recorded::{Asked, HeldThing, asked, assess_held};
use crate::answer::Answer;
use crate::loads::CONFIDENCE_DEVIATIONS;
use crate::record::{
    CargoItem, ClosingLashing, Departure, Id, Mass, MassProvenance, Name, Record, Restraint, Tank,
    TankMounting, Vehicle, is_equal,
};
use crate::units::STANDARD_GRAVITY_M_PER_S2;

/// One thing that a vehicle carries, and how it is held.
#[derive(Debug, Clone, PartialEq)]
pub struct HeldRecord {
    /// The cargo item, or the vehicle that the tank belongs to. `None`: no record.
    pub record: Option<Name>,
    /// The tank. `None`: a cargo item.
    pub tank: Option<Id>,
    /// Name for people.
    pub display_name: String,
    /// Mass that is to be held, kg. `None`: not known.
    pub mass_kg: Option<f64>,
    /// Standard tolerance of that mass, kg. `None`: not stated.
    pub mass_tolerance_kg: Option<f64>,
    /// By each standard that is asked, in their order; empty when something is missing.
    pub assessments: Vec<Assessment>,
    /// What keeps it from being assessed.
    pub missing: Vec<String>,
}

impl HeldRecord {
    /// What it means: not known when something is missing, else the worst of the standards.
    pub fn answer(&self) -> Answer {
        if !self.missing.is_empty() {
            return Answer::NotKnown;
        }
        let verdicts = self.assessments.iter().map(|assessment| assessment.verdict);
        verdicts.max().map_or(Answer::NotKnown, Verdict::answer)
    }

    /// Its id: that of the cargo item or the tank; empty without a record.
    pub fn id(&self) -> &str {
        let record = self.record.as_ref().map_or("", Name::id);
        self.tank.as_deref().unwrap_or(record)
    }

    /// Weight, N. `None`: the mass is not known.
    pub fn weight_n(&self) -> Option<f64> {
        self.mass_kg.map(|mass_kg| mass_kg * STANDARD_GRAVITY_M_PER_S2)
    }
}

/// What a vehicle carries, and what is asked.
#[derive(Debug, Clone, PartialEq)]
pub struct VehicleRestraint {
    /// What the departure's policy asks.
    pub asked: Asked,
    /// Cargo in order of names, then the vehicle's tanks in the order of its specification.
    pub held: Vec<HeldRecord>,
}

/// Assesses what `vehicle` carries at `departure`.
pub fn assess_vehicle(record: &Record, departure: &Departure, vehicle: &Vehicle) -> VehicleRestraint {
    let Aboard { by, cargo, tanks } = Aboard::of(record, departure, vehicle, None);
    let cargo = cargo.into_iter().map(|(_, held)| Arc::unwrap_or_clone(held));
    VehicleRestraint {
        held: cargo.chain(tanks).collect(),
        asked: by.asked,
    }
}

/// What a vehicle carries, assessed, each with what it was assessed from: a fleet's cargo changes item by item.
#[derive(Debug, PartialEq)]
pub(crate) struct Aboard {
    by: By,
    /// In order of names.
    cargo: Vec<(Arc<CargoItem>, Arc<HeldRecord>)>,
    tanks: Vec<HeldRecord>,
}

impl Aboard {
    /// What `vehicle` carries at `departure`. What is as it was `before` is taken from there.
    pub(crate) fn of(
        record: &Record,
        departure: &Departure,
        vehicle: &Vehicle,
        before: Option<&Self>,
    ) -> Self {
        let by = By {
            asked: asked(&departure.policy),
            confidence_deviations: departure.policy.confidence_deviations,
            closing: departure.policy.closing_lashing.clone(),
            gross_mass_kg: vehicle.specification.gross_mass_kg,
        };
        let known = before
            .filter(|before| before.by == by)
            .map(|before| &before.cargo);
        let held = |item: &Arc<CargoItem>| {
            let known = known.and_then(|known| {
                let at = known
                    .binary_search_by(|(other, _)| other.name.cmp(&item.name))
                    .ok()?;
                known.get(at).filter(|(other, _)| is_equal(other, item))
            });
            match known {
                Some((_, held)) => held.clone(),
                None => by.cargo_item(item).into(),
            }
        };
        let items = record.cargo_items.shared().map(|(_, item)| item);
        let aboard = items.filter(|item| item.vehicle.as_ref() == Some(&vehicle.name));
        let tanks = vehicle.specification.tanks.iter();
        let asked_about =
            tanks.filter(|tank| tank.mounting == TankMounting::Container || tank.restraint.is_some());
        Self {
            cargo: aboard.map(|item| (item.clone(), held(item))).collect(),
            tanks: asked_about.map(|tank| by.tank(tank, record, vehicle)).collect(),
            by,
        }
    }

    /// What is asked.
    pub(crate) fn asked(&self) -> &Asked {
        &self.by.asked
    }

    /// Cargo in order of names, then the vehicle's tanks in the order of its specification.
    pub(crate) fn held(&self) -> impl Iterator<Item = &HeldRecord> {
        self.cargo.iter().map(|(_, held)| &**held).chain(&self.tanks)
    }
}

/// What everything aboard is judged by.
#[derive(Debug, PartialEq)]
struct By {
    asked: Asked,
    confidence_deviations: Option<f64>,
    closing: Option<ClosingLashing>,
    gross_mass_kg: Option<f64>,
}

impl By {
    fn cargo_item(&self, item: &CargoItem) -> HeldRecord {
        let pieces = f64::from(item.quantity);
        // All pieces of an item share the error of their unit mass.
        let mass = item.unit_mass.map(|one| Mass {
            mass_kg: one.mass_kg * pieces,
            tolerance_kg: one.tolerance_kg.map(|tolerance_kg| tolerance_kg * pieces),
            ..one
        });
        let missing = if mass.is_none() {
            vec!["its mass".to_owned()]
        } else {
            Vec::new()
        };
        self.held(
            item.name.clone(),
            None,
            &item.display_name,
            mass,
            missing,
            item.restraint.as_ref(),
        )
    }

    fn tank(&self, tank: &Tank, record: &Record, vehicle: &Vehicle) -> HeldRecord {
        let densities = &record.fleet.fluid_densities_kg_per_l;
        let density_kg_per_l = densities.get(&tank.fluid).copied();
        // A shell that the baseline holds is not known by itself, yet it hangs on the same mounts.
        let shell = tank.empty_mass;
        let mut missing = Vec::new();
        if shell.is_none() {
            missing.push("its empty mass".to_owned());
        }
        if density_kg_per_l.is_none() {
            missing.push(format!("the density of {}", tank.fluid.word()));
        }
        let mass = shell.zip(density_kg_per_l).map(|(shell, density_kg_per_l)| Mass {
            mass_kg: shell.mass_kg + tank.capacity_l * density_kg_per_l,
            provenance: MassProvenance::Estimated,
            tolerance_kg: shell.tolerance_kg,
        });
        self.held(
            vehicle.name.clone(),
            Some(tank.id.clone()),
            &tank.display_name,
            mass,
            missing,
            tank.restraint.as_ref(),
        )
    }

    fn held(
        &self,
        record: Name,
        tank: Option<Id>,
        display_name: &str,
        mass: Option<Mass>,
        missing: Vec<String>,
        restraint: Option<&Restraint>,
    ) -> HeldRecord {
        let mut held = HeldRecord {
            record: Some(record),
            tank,
            display_name: display_name.to_owned(),
            mass_kg: mass.map(|mass| mass.mass_kg),
            mass_tolerance_kg: mass.and_then(|mass| mass.tolerance_kg),
            assessments: Vec::new(),
            missing,
        };
        if restraint.is_none() {
            held.missing.push("how it is held".to_owned());
        }
        let (Some(mass), Some(restraint)) = (mass, restraint) else {
            return held;
        };
        let thing = HeldThing {
            mass_kg: mass.mass_kg,
            mass_uncertainty_kg: self.confidence_deviations.unwrap_or(CONFIDENCE_DEVIATIONS)
                * mass.tolerance_kg.unwrap_or(0.0),
            restraint,
        };
        for standard in &self.asked.standards {
            match assess_held(&thing, standard, self.gross_mass_kg, self.closing.as_ref()) {
                Ok(assessment) => held.assessments.push(assessment),
                Err(refused) => held.missing.push(refused.to_string()),
            }
        }
        if !held.missing.is_empty() {
            held.assessments.clear();
        }
        held
    }
}
