//! Departures.

use std::collections::{BTreeMap, BTreeSet};

use super::{
    ClosingLashing, Date, Id, Mass, Name, Position, PowerPlan, RestraintStandard, SparesPolicy, TankFill,
    TankPolicy, TyrePolicy, TyrePressure,
};
use crate::fuel::consumption::{MassCorrection, RateProvenance};
use crate::fuel::reserve::ReservePolicy;

/// A planned trip: when, where, who and what goes.
#[derive(Debug, Clone, PartialEq)]
pub struct Departure {
    /// Its name.
    pub name: Name,
    /// Name for people.
    pub display_name: String,
    /// Day of departure.
    pub departure_date: Date,
    /// Time of departure at its place, `HH:MM`. Empty: not fixed.
    pub departure_time_of_day: String,
    /// Planned day of return, not before the departure.
    pub return_date: Date,
    /// The way, in order.
    pub legs: Vec<Leg>,
    /// The vehicles that go, each once.
    pub vehicles: Vec<DepartureVehicle>,
    /// The people who go.
    pub crew: Vec<CrewMember>,
    /// What the lead asks for.
    pub policy: Policy,
    /// The rule packs that hold.
    pub rule_packs: Vec<Name>,
    /// Places where fuel or water can be taken on.
    pub supply_points: Vec<SupplyPoint>,
    /// Kinds of container in which more fuel could be carried.
    pub fuel_containers: Vec<FuelContainer>,
    /// Day at whose start the progress of jobs and orders is as recorded. `None`: today.
    pub status_date: Option<Date>,
    /// Jobs in the order in which they go first where they compete: the plan that people work by. Jobs that
    /// are not listed follow; ids of jobs that are gone mean nothing. Empty: no plan was adopted.
    pub job_order: Vec<Id>,
}

/// Part of the way.
#[derive(Debug, Clone, PartialEq)]
pub struct Leg {
    /// Id within the departure.
    pub id: Id,
    /// Where it starts.
    pub start_place: String,
    /// Where it ends.
    pub end_place: String,
    /// Days planned for it.
    pub planned_days: f64,
    /// Distance on the map, kilometres.
    pub map_distance_km: f64,
    /// Kilometres by surface.
    pub surface_km: BTreeMap<Id, f64>,
    /// Hours for which the engine of each vehicle idles over the leg. 0: none planned.
    pub idling_h: f64,
}

/// A vehicle that goes, and what is in its tanks at departure.
#[derive(Debug, Clone, PartialEq)]
pub struct DepartureVehicle {
    /// The vehicle.
    pub vehicle: Name,
    /// Litres at departure. A tank that is not listed has no known fill.
    pub fills: Vec<TankFill>,
    /// Tanks and containers in the order in which they are emptied, fuel and water in one list. Those
    /// that are not listed follow in the order of the specification.
    pub drawdown_order: Vec<Id>,
    /// Litres of fuel per 100 driven kilometres by surface, with the vehicle loaded as for the departure.
    /// A surface that is not listed has no known consumption.
    pub consumption_l_per_100km: BTreeMap<Id, f64>,
    /// Where the consumption comes from, in words. Empty: not stated.
    pub consumption_provenance: String,
    /// How the consumption was found and how well it is known. `None`: not stated.
    pub consumption_basis: Option<ConsumptionBasis>,
    /// The same for single surfaces where it differs.
    pub consumption_basis_by_surface: BTreeMap<Id, ConsumptionBasis>,
    /// Litres of fuel per hour at idle. `None`: not known.
    pub idling_l_per_h: Option<f64>,
    /// True kilometres per kilometre on the odometer, with what is fitted now. `None`: from the calibration of its
    /// speedometer and what is fitted, if those are known.
    pub odometer_factor: Option<f64>,
    /// Where more fuel containers could stand. `None`: nowhere.
    pub extra_fuel_places: Option<ExtraFuelPlaces>,
    /// What is asked of its electrical system. `None`: not known.
    pub power_plan: Option<PowerPlan>,
    /// Planned tyre pressures. A surface that is in none has no known pressure.
    pub tyre_pressures: Vec<TyrePressure>,
}

impl DepartureVehicle {
    /// How the consumption on `surface` was found. `None`: not stated.
    pub fn basis_on(&self, surface: &Id) -> Option<&ConsumptionBasis> {
        self.consumption_basis_by_surface
            .get(surface)
            .or(self.consumption_basis.as_ref())
    }
}

/// How a consumption was found and how well it is known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ConsumptionBasis {
    /// Where it comes from.
    pub provenance: RateProvenance,
    /// Standard deviation as a share of the consumption, 0 to 1. `None`: not known.
    pub spread_fraction: Option<f64>,
    /// True kilometres per kilometre on the odometer of that day. `None`: the distance was a true one.
    pub odometer_factor: Option<f64>,
    /// Mass at which it was measured, and how it follows the mass. `None`: it is used as it stands.
    pub mass_correction: Option<MassCorrection>,
}

/// A kind of container in which more fuel could be carried.
#[derive(Debug, Clone, PartialEq)]
pub struct FuelContainer {
    /// Id within the departure.
    pub id: Id,
    /// Name for people.
    pub display_name: String,
    /// Litres it is filled with.
    pub fill_l: f64,
    /// Litres of it that stay in it.
    pub unusable_l: f64,
    /// Empty mass, with its share of what holds it, kilograms.
    pub empty_mass_kg: f64,
}

/// Where more fuel containers could stand.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ExtraFuelPlaces {
    /// How many containers, of any kind.
    pub count: u32,
    /// Their centre together.
    pub position: Position,
}

/// A person who goes.
#[derive(Debug, Clone, PartialEq)]
pub struct CrewMember {
    /// Id within the departure.
    pub id: Id,
    /// Role; not a name.
    pub role: String,
    /// The vehicle they sit in. `None`: none yet.
    pub vehicle: Option<Name>,
    /// Mass with what they wear.
    pub mass: Option<Mass>,
    /// Where they sit.
    pub position: Option<Position>,
    /// They drive.
    pub driver: bool,
}

/// What the lead asks for.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Policy {
    /// Share of a rating below which a margin is only met with conditions, 0 to 1. `None`: 0.
    pub margin_warn_fraction: Option<f64>,
    /// Forward restraint asked for, in multiples of the weight.
    pub restraint_forward_g: Option<f64>,
    /// Sideways.
    pub restraint_sideways_g: Option<f64>,
    /// Rearward.
    pub restraint_rearward_g: Option<f64>,
    /// Upward.
    pub restraint_up_g: Option<f64>,
    /// Standard deviations that a margin must be away from zero to count as certain. `None`: 2.
    pub confidence_deviations: Option<f64>,
    /// Driven kilometres per kilometre on the map, 1 to 3. `None`: not known.
    pub route_allowance_factor: Option<f64>,
    /// Drinking water used per person and day, litres. `None`: not known.
    pub water_plan_l_per_person_day: Option<f64>,
    /// Most lean at the wheel arches, millimetres, either way. `None`: not set.
    pub lean_max_mm: Option<f64>,
    /// Most change of rake against the reference ride height, rear against front, millimetres, either way.
    pub rake_change_max_mm: Option<f64>,
    /// Least travel that must be left to every bump stop, millimetres.
    pub bump_travel_min_mm: Option<f64>,
    /// Most that the cross weight may differ from one half of the weight, as a share of the weight.
    pub cross_weight_deviation_max: Option<f64>,
    /// Gates that are asked and shown but do not count for the verdict.
    pub not_binding_gates: Vec<Id>,
    /// Least chance that a vehicle is ready at departure, 0 to 1. `None`: not known.
    pub ready_chance_min: Option<f64>,
    /// Days after the start of the plan on which what is not ordered yet is taken to be ordered. `None`: not known.
    pub order_within_days: Option<u32>,
    /// What must be proven before the departure. Empty: not known what is asked for.
    pub proof_requirements: Vec<ProofRequirement>,
    /// Kilograms of parts changed since a weighing above which it is stale. `None`: 25.
    pub weighing_mass_change_kg: Option<f64>,
    /// The standard that restraint must meet, beside the multiples of this policy that are set.
    pub restraint_standard: Option<RestraintStandard>,
    /// The lashing with which shortfalls are closed. `None`: none named.
    pub closing_lashing: Option<ClosingLashing>,
    /// What is asked of tyres and wheels. `None`: not known.
    pub tyres: Option<TyrePolicy>,
    /// Fuel to have left on arrival at every confirmed fuel point. `None`: not known.
    pub fuel_reserve: Option<ReservePolicy>,
    /// Highest accepted chance of running out of fuel on the way, for each vehicle, 0 to 1. `None`: not
    /// asked for.
    pub fuel_chance_max: Option<f64>,
    /// Standard deviation of what a single leg burns, as a share of it, from what only that leg does.
    /// `None`: not stated.
    pub leg_consumption_spread_fraction: Option<f64>,
    /// Drinking water to carry, beside the plan per person and day. `None`: not known.
    pub water: Option<WaterPlan>,
    /// Food to carry. `None`: not asked about.
    pub food: Option<FoodPlan>,
    /// What is asked of tanks. `None`: not known.
    pub tanks: Option<TankPolicy>,
    /// Days that every battery bank must last without charging, 0 to 365. `None`: not known.
    pub power_autonomy_min_days: Option<f64>,
    /// What is asked of spares. `None`: not known.
    pub spares: Option<SparesPolicy>,
    /// Least static stability factor of every vehicle at every moment. `None`: not known.
    pub static_stability_factor_min: Option<f64>,
    /// Least rigid-body ceiling to either side, degrees. `None`: not asked for.
    pub side_ceiling_min_deg: Option<f64>,
    /// What is asked of the underside. `None`: not known.
    pub underside: Option<UndersidePolicy>,
    /// Gates that this departure does not ask about.
    pub gates_not_asked: BTreeSet<SupplyGate>,
}

/// What must be proven of the vehicles that go, and how.
#[derive(Debug, Clone, PartialEq)]
pub struct ProofRequirement {
    /// Topic of the evidence; weighings count under `weighing`.
    pub topic: Id,
    /// The vehicles it is asked of. Empty: all that go.
    pub vehicles: Vec<Name>,
    /// Conditions on the facts of the evidence; all must hold.
    pub conditions: Vec<FactCondition>,
    /// Days that it must lie before the departure, at least. `None`: it may be of the same day.
    pub days_before_departure: Option<u32>,
}

/// A condition on a fact of evidence.
#[derive(Debug, Clone, PartialEq)]
pub struct FactCondition {
    /// The fact, for example `loaded` or `distance_km`.
    pub fact: Id,
    /// How it must be.
    pub test: FactTest,
}

/// How a fact of evidence must be.
#[derive(Debug, Clone, PartialEq)]
pub enum FactTest {
    /// Yes.
    IsYes,
    /// A number of at least this.
    AtLeast(f64),
    /// A number of at most this.
    AtMost(f64),
    /// This text.
    Is(String),
    /// A number that, added up over all fresh evidence for which the other conditions hold, is at least
    /// this: two drives of 200 km are 400 km.
    TotalAtLeast(f64),
}

/// Gates that a policy can leave out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum SupplyGate {
    /// Fuel of each vehicle and of the convoy.
    Fuel,
    /// Water and food of the convoy.
    Water,
    /// Tanks of each vehicle.
    Tanks,
    /// Electrical power of each vehicle.
    Power,
    /// Cover of the spares of the convoy.
    Spares,
    /// Stability of each vehicle.
    Stability,
    /// Clearance and angles of each vehicle.
    Underside,
}

/// What the underside of every vehicle must keep at every moment, at rest on firm level ground.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct UndersidePolicy {
    /// Least height of its lowest point above ground, millimetres. `None`: not known.
    pub clearance_min_mm: Option<f64>,
    /// Least approach angle, tangent form, degrees. `None`: not known.
    pub approach_min_deg: Option<f64>,
    /// Least departure angle, tangent form, degrees. `None`: not known.
    pub departure_min_deg: Option<f64>,
    /// Least ramp breakover angle, tangent form, degrees. `None`: not known.
    pub breakover_min_deg: Option<f64>,
}

/// Drinking water to carry between confirmed points.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct WaterPlan {
    /// Litres per person and day below which no plan may go. `None`: not known.
    pub minimum_l_per_person_day: Option<f64>,
    /// Days of reserve. `None`: not known.
    pub reserve_days: Option<f64>,
    /// Litres per person and day of the reserve. `None`: not known.
    pub reserve_l_per_person_day: Option<f64>,
    /// Days added to every interval for delay. `None`: not known.
    pub buffer_days: Option<f64>,
    /// Rest and repair days planned but not placed on a leg.
    pub unplaced_rest_days: f64,
    /// What the loss of the largest container means.
    pub largest_loss: WaterLossRule,
}

/// What the loss of the largest single water container means where it is not survived.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum WaterLossRule {
    /// It is shown, and changes no answer.
    #[default]
    Shown,
    /// It is a condition.
    Condition,
    /// It must be survived.
    Required,
}

/// Food to carry: what counts is cargo of the category `food` that is consumed, by its mass.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FoodPlan {
    /// Days of reserve.
    pub reserve_days: f64,
    /// Kilograms, packing included, that feed one person for one day. `None`: not known.
    pub mass_kg_per_person_day: Option<f64>,
}

/// What a supply point gives.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum SupplyKind {
    /// Diesel.
    Diesel,
    /// Petrol.
    Petrol,
    /// Drinking water.
    Water,
    /// Water for washing only.
    WashingWater,
}

/// A place where fuel or water can be taken on.
#[derive(Debug, Clone, PartialEq)]
pub struct SupplyPoint {
    /// Id within the departure.
    pub id: Id,
    /// Where it is.
    pub place: String,
    /// What it gives.
    pub supplies: Vec<SupplyKind>,
    /// It can be counted on.
    pub confirmed: bool,
    /// Last day to order. `None`: no order needed.
    pub order_by_date: Option<Date>,
    /// Anything worth knowing.
    pub note: String,
}
