//! Short ways to write records down.

use std::collections::BTreeMap;

use ostler_core::fit::Crossing;
use ostler_core::record::{
    Adapter, BoltCircle, Comparison, CompatibilityNote, Fitment, Fleet, Hand, Id, Interface,
    InterfaceCrossing, InterfaceValue, Mass, MassProvenance, Name, NoteBasis, NoteFinding, Part, Record,
    Replacement, Requirement, Settlement, Slot, Specification, Substitution, SubstitutionLife,
    SubstitutionState, Table, Vehicle, VehicleSystem,
};

pub(crate) fn id(text: &str) -> Id {
    Id::new(text).unwrap_or_else(|refused| panic!("{text}: {refused}"))
}

pub(crate) fn name(collection: &str, text: &str) -> Name {
    Name::new(format!("fleets/orrin/{collection}/{text}"))
        .unwrap_or_else(|refused| panic!("{text}: {refused}"))
}

pub(crate) fn mm(length_mm: f64) -> InterfaceValue {
    InterfaceValue::LengthMm(length_mm)
}

pub(crate) fn text(value: &str) -> InterfaceValue {
    InterfaceValue::Text(value.to_owned())
}

pub(crate) fn count(value: i64) -> InterfaceValue {
    InterfaceValue::Count(value)
}

pub(crate) fn thread(value: &str) -> InterfaceValue {
    InterfaceValue::Thread(value.to_owned())
}

pub(crate) fn plug(value: &str) -> InterfaceValue {
    InterfaceValue::Connector(value.to_owned())
}

pub(crate) fn number(value: f64) -> InterfaceValue {
    InterfaceValue::Number(value)
}

pub(crate) fn ratio(value: f64) -> InterfaceValue {
    InterfaceValue::Ratio(value)
}

pub(crate) fn circle(holes: u32, circle_mm: f64, thread: &str) -> InterfaceValue {
    InterfaceValue::BoltCircle(BoltCircle {
        count: holes,
        circle_mm,
        thread: thread.to_owned(),
    })
}

pub(crate) fn interface(kind: &str, value: Option<InterfaceValue>) -> Interface {
    Interface {
        kind: id(kind),
        value,
    }
}

pub(crate) fn requirement(kind: &str, value: InterfaceValue) -> Requirement {
    Requirement {
        interface: interface(kind, Some(value)),
        comparison: Comparison::Equal,
        tolerance: 0.0,
        essential: None,
    }
}

pub(crate) fn at_least(kind: &str, value: InterfaceValue) -> Requirement {
    Requirement {
        comparison: Comparison::AtLeast,
        ..requirement(kind, value)
    }
}

pub(crate) fn at_most(kind: &str, value: InterfaceValue) -> Requirement {
    Requirement {
        comparison: Comparison::AtMost,
        ..requirement(kind, value)
    }
}

pub(crate) fn within(tolerance: f64, requirement: Requirement) -> Requirement {
    Requirement {
        tolerance,
        ..requirement
    }
}

pub(crate) fn not_essential(requirement: Requirement) -> Requirement {
    Requirement {
        essential: Some(false),
        ..requirement
    }
}

/// A record that is built up piece by piece.
pub(crate) struct Build {
    pub(crate) record: Record,
}

impl Build {
    pub(crate) fn new() -> Self {
        Self {
            record: Record::new(Fleet {
                name: Name::new("fleets/orrin").unwrap(),
                display_name: "Orrin".to_owned(),
                description: String::new(),
                fluid_densities_kg_per_l: BTreeMap::new(),
                stages: Vec::new(),
            }),
        }
    }

    pub(crate) fn vehicle(&mut self, vehicle: &str, slots: Vec<Slot>) {
        let made = Vehicle {
            name: name("vehicles", vehicle),
            display_name: vehicle.to_owned(),
            role: String::new(),
            kind: Some(id(&format!("{vehicle}-kind"))),
            specification: Specification {
                slots,
                ..Specification::default()
            },
            baseline_weighing: None,
            fitments: BTreeMap::new(),
        };
        self.record.vehicles.insert(made.name.clone(), made);
    }

    pub(crate) fn fit(&mut self, vehicle: &str, slot: &str, part: Option<&str>) {
        let fitment = Fitment {
            name: name("vehicles", vehicle).child("fitments", &id(slot)),
            part: part.map(|part| name("parts", part)),
            fitted_date: None,
            facts: BTreeMap::new(),
            substitution: None,
            note: String::new(),
        };
        let vehicle = self.record.vehicles.get_mut(&name("vehicles", vehicle)).unwrap();
        vehicle.fitments.insert(id(slot), fitment);
    }

    pub(crate) fn part(
        &mut self,
        part: &str,
        kind: &str,
        interfaces: Vec<(&str, InterfaceValue)>,
    ) -> &mut Part {
        let made = Part {
            name: name("parts", part),
            display_name: part.to_owned(),
            number: String::new(),
            variant: String::new(),
            kind: id(kind),
            mass: None,
            interfaces: interfaces
                .into_iter()
                .map(|(kind, value)| interface(kind, Some(value)))
                .collect(),
            figures: BTreeMap::new(),
            hand: None,
            note: String::new(),
            adapter: None,
            gearing: None,
            tyre: None,
            wheel: None,
            spare_demand: None,
        };
        put(&mut self.record.parts, made.name.clone(), made)
    }

    pub(crate) fn note(
        &mut self,
        note: &str,
        (part, against): (&str, Against<'_>),
        kind: &str,
        finding: NoteFinding,
        remedy: &str,
    ) -> &mut CompatibilityNote {
        let made = CompatibilityNote {
            name: name("compatibilityNotes", note),
            part: name("parts", part),
            other_part: match against {
                Against::Part(other) => Some(name("parts", other)),
                Against::Kind(_) => None,
            },
            vehicle_kind: match against {
                Against::Part(_) => None,
                Against::Kind(kind) => Some(id(kind)),
            },
            interface_kind: id(kind),
            finding,
            remedy: remedy.to_owned(),
            remedy_mass_kg: None,
            remedy_hours: None,
            remedy_lead_days: None,
            basis: NoteBasis::Measured,
            found_by: "workshop".to_owned(),
            found_date: None,
            note: String::new(),
        };
        put(&mut self.record.compatibility_notes, made.name.clone(), made)
    }

    pub(crate) fn substitute(
        &mut self,
        substitution: &str,
        vehicle: &str,
        swaps: &[(&str, Option<&str>, &str)],
    ) {
        let made = Substitution {
            name: name("substitutions", substitution),
            vehicle: name("vehicles", vehicle),
            replacements: swaps
                .iter()
                .map(|(slot, outgoing, incoming)| Replacement {
                    slot: id(slot),
                    outgoing_part: outgoing.map(|part| name("parts", part)),
                    incoming_part: name("parts", incoming),
                })
                .collect(),
            reason: String::new(),
            state: SubstitutionState::Proposed,
            fitted_date: None,
            settlements: Vec::new(),
            supersedes: None,
            note: String::new(),
            life: SubstitutionLife::default(),
        };
        self.record.substitutions.insert(made.name.clone(), made);
    }
}

impl Build {
    /// A part that is an adapter, of which everything is known.
    pub(crate) fn adapter(&mut self, part: &str, crossings: Vec<Crossing>, hours: f64) -> &mut Part {
        let value = |kind: &Id, value: &InterfaceValue| Some(interface(kind, Some(value.clone())));
        let recorded = crossings.iter().map(|crossing| match crossing {
            Crossing::Replaces { kind, from, to } => InterfaceCrossing {
                takes_up: value(kind, from),
                offers: value(kind, to),
                lengthens: None,
            },
            Crossing::Lengthens { kind, by_mm } => InterfaceCrossing {
                takes_up: None,
                offers: None,
                lengthens: value(kind, &mm(*by_mm)),
            },
        });
        let made = self.part(part, "adapter", Vec::new());
        made.mass = mass(0.5, None);
        made.adapter = Some(Adapter {
            crossings: recorded.collect(),
            fitting_hours: Some(hours),
            lead_days: Some(0.0),
        });
        made
    }
}

pub(crate) enum Against<'text> {
    Part(&'text str),
    Kind(&'text str),
}

pub(crate) fn slot(slot_id: &str, kind: &str, system: VehicleSystem, requirements: Vec<Requirement>) -> Slot {
    Slot {
        id: id(slot_id),
        kind: id(kind),
        system,
        position: None,
        requirements,
    }
}

pub(crate) fn settlement(slot: &str, kind: &str, how: &str) -> Settlement {
    Settlement {
        slot: id(slot),
        interface_kind: id(kind),
        how: how.to_owned(),
        settled_by: "workshop".to_owned(),
        settled_date: None,
        measured_on_vehicle: None,
        measured_on_part: None,
    }
}

pub(crate) fn mass(mass_kg: f64, tolerance_kg: Option<f64>) -> Option<Mass> {
    Some(Mass {
        mass_kg,
        provenance: MassProvenance::Weighed,
        tolerance_kg,
    })
}

pub(crate) const LEFT: Option<Hand> = Some(Hand::Left);
pub(crate) const RIGHT: Option<Hand> = Some(Hand::Right);

/// Puts a record in unless there is one, and gives the one that is there.
fn put<T: Clone>(table: &mut Table<T>, name: Name, made: T) -> &mut T {
    if !table.contains_key(&name) {
        table.insert(name.clone(), made);
    }
    table.get_mut(&name).unwrap()
}
