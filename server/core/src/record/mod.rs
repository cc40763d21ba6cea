//! The record: everything known about a fleet, as the computations read it.
//!
//! Types here mirror the resources of the API, with names in place of links. They hold facts and no
//! results. A value that is `None` is not known; nothing here turns it into a number.

mod acceptance;
mod cargo;
mod centre_height;
mod defect;
mod departure;
mod electrical;
mod evidence;
mod fleet;
mod gearing;
mod id;
pub mod integrity;
mod items;
mod job;
mod mass;
mod note;
mod part;
mod precedence;
mod restraint;
mod rule_pack;
mod shared;
mod spares;
mod substitution;
mod suspension;
mod tank;
mod tyre;
mod vehicle;
mod weighing;
mod workshop;

pub use acceptance::Acceptance;
pub use cargo::{CargoItem, StowageTerms};
pub use centre_height::{CentreHeight, CentreHeightSource};
pub use defect::{AcceptedCondition, Defect, Disposition, Severity};
pub use departure::{
    ConsumptionBasis, CrewMember, Departure, DepartureVehicle, ExtraFuelPlaces, FactCondition, FactTest,
    FoodPlan, FuelContainer, Leg, Policy, ProofRequirement, SupplyGate, SupplyKind, SupplyPoint,
    UndersidePolicy, WaterLossRule, WaterPlan,
};
pub use electrical::{
    Circuit, DeviceDuty, ElectricalDevice, ElectricalSystem, Generator, PowerDemand, PowerDemandKind,
    PowerPlan, RecordedBank, RecordedGeneratorQuestion, ReplacementItem,
};
pub use evidence::{Evidence, EvidenceKind, EvidenceResult, Fact, RegulatedItem};
pub use fleet::{Fleet, Record, STAGES_DEFAULT, Table};
pub use gearing::{DrivelineSpecification, Gearing, SpeedometerCalibration, SpeedometerDrive};
pub use id::{Id, Name, is_id};
pub use items::Items;
pub(crate) use items::is_equal;
pub use job::{Job, Progress};
pub use mass::{Mass, MassProvenance, Position};
pub use note::{CompatibilityNote, NoteBasis, NoteFinding};
pub use part::{
    Adapter, BoltCircle, Comparison, Hand, Interface, InterfaceCrossing, InterfaceValue, Part, Requirement,
};
pub use precedence::Circles;
pub use restraint::{ClosingLashing, Restraint, RestraintStandard};
pub use rule_pack::{
    Demand, DemandKind, FactDeclaration, FactType, RecordFigure, RuleCategory, RuleGate, RulePack,
    RuleSource, RuleTopic,
};
pub use shared::Shared;
pub use spares::{SpareContent, SpareDemand, SpareNeed, SparesPolicy};
pub use substitution::{
    KeptAssessment, KeptInterface, Replacement, Settlement, Substitution, SubstitutionLife, SubstitutionState,
};
pub use suspension::{AxleSuspension, Suspension, SuspensionKind, UndersidePoint};
pub use tank::{TankBuild, TankInside, TankPolicy, TankWalls};
pub use tyre::{SpareWheel, TyreMarking, TyrePlacard, TyrePolicy, TyrePressure, WheelData};
pub use vehicle::{
    DeclaredMass, Fitment, Fluid, Roof, Slot, Specification, Tank, TankFill, TankMounting, Vehicle,
    VehicleSystem, Zone,
};
pub use weighing::{AboardMass, HeightKind, HeightReading, Heights, Readings, Weighing, WheelPosition};
pub use workshop::{AwaitedPart, Worker, Workshop};

/// A civil date. Departures, expiries and findings have days, not instants.
pub use jiff::civil::Date;
