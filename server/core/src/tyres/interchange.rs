//! Which spare serves which vehicle of a convoy, point by point, with the reason of each.
//!
//! The points are common practice of the trade; no standard states them together. A verdict here is
//! an aid for packing: try the wheel on the hub before leaving.

use super::designation::{Construction, Hundredths, TubeMark};
use super::interchange_points as points;
use super::size::DIAMETER_MAX_MM;
use super::thread::{BoltCircle, StudThread};
use super::wheel_fit::{NutSeat, RimSeat, Tube};
use crate::check::{Check, InvalidInput};

/// Most spares or vehicles compared in one call.
const COUNT_MAX: usize = 200;

/// Caution for every pair of unlike tyres on one axle. Common practice, no source.
pub const UNLIKE_TYRES_CAUTION: &str = "Unlike tyres on one axle: emergency only, slowly to the next repair, and with a \
     locked or limited-slip differential not at all on hard ground.";

/// What a vehicle offers and needs at its wheel ends. `None` is not known.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct WheelEnd {
    /// Its name, for the result.
    pub vehicle: String,
    /// Bolt circle of the hubs.
    pub bolt_circle: Option<BoltCircle>,
    /// Diameter of the hub's spigot, which the wheel's bore must clear, mm.
    pub hub_diameter_mm: Option<f64>,
    /// Thread of the studs.
    pub stud_thread: Option<StudThread>,
    /// Length of stud standing out of the hub face, mm.
    pub stud_protrusion_mm: Option<f64>,
    /// Seats of the wheel nuts that the vehicle carries.
    pub nut_seats: Option<Vec<NutSeat>>,
    /// Diameter of the tyres fitted, mm, measured or nominal.
    pub tyre_diameter_mm: Option<f64>,
    /// Largest load of one tyre over the trip, kg.
    pub wheel_load_max_kg: Option<f64>,
    /// Two tyres stand side by side.
    pub is_dual: bool,
    /// Tubeless or tube type, as fitted.
    pub tube_mark: Option<TubeMark>,
    /// Construction of the tyres fitted.
    pub construction: Option<Construction>,
    /// Its rims, for spare tyres that come without one.
    pub rim: Option<RimSeat>,
    /// Offset of the wheels fitted, mm.
    pub offset_mm: Option<f64>,
}

/// The rim of a spare wheel. `None` is not known.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct SpareRim {
    /// Bolt circle.
    pub bolt_circle: Option<BoltCircle>,
    /// Bore, mm.
    pub hub_bore_mm: Option<f64>,
    /// Thread of the studs that the holes are made for.
    pub stud_thread: Option<StudThread>,
    /// Form of the nut seats.
    pub nut_seat: Option<NutSeat>,
    /// Thickness between hub face and nut seat, mm.
    pub nave_thickness_mm: Option<f64>,
    /// Offset, mm.
    pub offset_mm: Option<f64>,
}

/// The tyre of a spare. `None` is not known.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct SpareTyre {
    /// Rim diameter, inches, as designated; needed for a tyre without rim.
    pub rim_in: Option<Hundredths>,
    /// Diameter, mm, measured or nominal.
    pub diameter_mm: Option<f64>,
    /// Capacity of one tyre in single fitting, kg.
    pub capacity_kg: Option<f64>,
    /// Capacity of one tyre beside another, kg.
    pub dual_capacity_kg: Option<f64>,
    /// Tubeless or tube type.
    pub tube_mark: Option<TubeMark>,
    /// Construction.
    pub construction: Option<Construction>,
    /// Tube that goes with it; needed for a tyre without rim.
    pub tube: Option<Tube>,
}

/// A spare: a complete wheel, a rim alone or a tyre alone.
#[derive(Debug, Clone, PartialEq)]
pub struct Spare {
    /// Its name, for the result.
    pub name: String,
    /// What is carried.
    pub kind: SpareKind,
}

/// What of a wheel is carried.
#[derive(Debug, Clone, PartialEq)]
pub enum SpareKind {
    /// Rim and tyre, fitted together.
    Wheel(SpareRim, SpareTyre),
    /// A rim without tyre.
    Rim(SpareRim),
    /// A tyre without rim, to be fitted to a rim of the vehicle.
    Tyre(SpareTyre),
}

/// Tolerances of interchange: policy, not nature.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct InterchangePolicy {
    /// Difference of diameter up to which tyres count as alike, per cent of the fitted one.
    pub diameter_difference_max_percent: f64,
    /// Difference up to which a spare may still serve in emergency, per cent.
    pub diameter_difference_emergency_percent: f64,
    /// Clearance of bore over hub up to which the hub still centres the wheel, mm.
    pub hub_clearance_max_mm: f64,
    /// Stud engagement asked for, in diameters; `None` leaves engagement out of the comparison, and
    /// the result says so.
    pub stud_engagement_min_diameters: Option<f64>,
    /// Difference of offset up to which a wheel stands as the fitted ones do, mm; beyond it serves in
    /// emergency only. `None` leaves offset out of the comparison.
    pub offset_difference_max_mm: Option<f64>,
}

/// Answer to one point or to the whole, from best to worst of what is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Outcome {
    /// It serves.
    Serves,
    /// It serves to reach help, no further.
    EmergencyOnly,
    /// A datum is missing.
    NotKnown,
    /// It does not serve, whatever else is found.
    DoesNotServe,
}

/// One point of comparison.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Point {
    /// Number of studs and bolt circle.
    BoltCircle,
    /// Bore of the wheel over the hub.
    HubBore,
    /// Stud diameter against the wheel's holes.
    StudThread,
    /// Nut seat.
    NutSeat,
    /// Thread engagement.
    StudEngagement,
    /// Offset of the wheel.
    Offset,
    /// A loose tyre on the vehicle's rim, with or without tube.
    TyreOnRim,
    /// Diameter of the tyre.
    TyreDiameter,
    /// Capacity of the tyre.
    TyreCapacity,
    /// Tubeless against tube type on one axle.
    TyreType,
    /// Radial against diagonal on one axle.
    Construction,
}

impl Point {
    /// Its name for people.
    pub fn words(self) -> &'static str {
        match self {
            Self::BoltCircle => "bolt circle",
            Self::HubBore => "hub bore",
            Self::StudThread => "stud thread",
            Self::NutSeat => "nut seat",
            Self::StudEngagement => "stud engagement",
            Self::Offset => "offset",
            Self::TyreOnRim => "tyre on rim",
            Self::TyreDiameter => "tyre diameter",
            Self::TyreCapacity => "tyre capacity",
            Self::TyreType => "tyre type",
            Self::Construction => "construction",
        }
    }

    /// Whether the point speaks about the rim (as against the tyre).
    pub fn is_of_rim(self) -> bool {
        matches!(
            self,
            Self::BoltCircle
                | Self::HubBore
                | Self::StudThread
                | Self::NutSeat
                | Self::StudEngagement
                | Self::Offset
        )
    }
}

/// The finding on one point.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Finding {
    /// The point.
    pub point: Point,
    /// The answer.
    pub outcome: Outcome,
    /// Why, with the numbers; for a missing datum its field, as `vehicle.hub_diameter_mm`.
    pub reason: String,
}

/// Whether one spare serves one vehicle.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Interchange {
    /// Name of the spare.
    pub spare: String,
    /// Name of the vehicle.
    pub vehicle: String,
    /// The answer: does not serve if any point fails for certain; else not known if a datum is
    /// missing; else the weakest of the points.
    pub outcome: Outcome,
    /// The answer if all missing data turn out well.
    pub at_best: Outcome,
    /// Every point looked at.
    pub findings: Vec<Finding>,
    /// Whether stud engagement was compared. If not, it must be measured before the wheel is used.
    pub engagement_compared: bool,
}

impl Interchange {
    /// The answer for the rim alone: a rim that serves can carry another tyre.
    pub fn rim_outcome(&self) -> Outcome {
        worst(self.findings.iter().filter(|finding| finding.point.is_of_rim()))
    }

    /// The data that are missing, as field names.
    pub fn missing(&self) -> impl Iterator<Item = &str> {
        let unknown = |finding: &&Finding| finding.outcome == Outcome::NotKnown;
        self.findings
            .iter()
            .filter(unknown)
            .map(|finding| finding.reason.as_str())
    }
}

fn worst<'a>(findings: impl Iterator<Item = &'a Finding>) -> Outcome {
    findings
        .map(|finding| finding.outcome)
        .max()
        .unwrap_or(Outcome::Serves)
}

/// Compares every spare with every vehicle, spares outermost.
///
/// # Errors
/// Numbers out of range with their field, or more than 200 spares or vehicles.
pub fn interchange(
    spares: &[Spare],
    vehicles: &[WheelEnd],
    policy: &InterchangePolicy,
) -> Result<Vec<Interchange>, InvalidInput> {
    let mut check = Check::new();
    check_input(&mut check, spares, vehicles, policy);
    check.finish()?;
    let mut results = Vec::with_capacity(spares.len() * vehicles.len());
    for spare in spares {
        for vehicle in vehicles {
            let mut findings = Vec::new();
            if let SpareKind::Wheel(rim, _) | SpareKind::Rim(rim) = &spare.kind {
                points::of_rim(rim, vehicle, policy, &mut findings);
            }
            match &spare.kind {
                SpareKind::Wheel(_, tyre) => points::of_tyre(tyre, vehicle, policy, &mut findings),
                SpareKind::Tyre(tyre) => {
                    findings.push(points::tyre_on_rim(tyre, vehicle));
                    points::of_tyre(tyre, vehicle, policy, &mut findings);
                }
                SpareKind::Rim(_) => {}
            }
            results.push(Interchange {
                spare: spare.name.clone(),
                vehicle: vehicle.vehicle.clone(),
                outcome: worst(findings.iter()),
                at_best: worst(
                    findings
                        .iter()
                        .filter(|finding| finding.outcome != Outcome::NotKnown),
                ),
                engagement_compared: findings
                    .iter()
                    .any(|finding| finding.point == Point::StudEngagement),
                findings,
            });
        }
    }
    Ok(results)
}

fn check_policy(check: &mut Check, policy: &InterchangePolicy) {
    let first = policy.diameter_difference_max_percent;
    check.between("policy.diameter_difference_max_percent", first, 0.0, 100.0);
    let second = policy.diameter_difference_emergency_percent;
    check.between(
        "policy.diameter_difference_emergency_percent",
        second,
        first.clamp(0.0, 100.0),
        100.0,
    );
    check.between(
        "policy.hub_clearance_max_mm",
        policy.hub_clearance_max_mm,
        0.0,
        100.0,
    );
    for (field, value, least, most) in [
        (
            "policy.stud_engagement_min_diameters",
            policy.stud_engagement_min_diameters,
            0.1,
            5.0,
        ),
        (
            "policy.offset_difference_max_mm",
            policy.offset_difference_max_mm,
            0.0,
            300.0,
        ),
    ] {
        if let Some(value) = value {
            check.between(field, value, least, most);
        }
    }
}

fn check_input(check: &mut Check, spares: &[Spare], vehicles: &[WheelEnd], policy: &InterchangePolicy) {
    check_policy(check, policy);
    let mut optional = |field: String, value: Option<f64>, least: f64, most: f64| {
        if let Some(value) = value {
            check.between(&field, value, least, most);
        }
    };
    for (index, vehicle) in vehicles.iter().enumerate().take(COUNT_MAX) {
        let field = |name: &str| format!("vehicles[{index}].{name}");
        optional(field("hub_diameter_mm"), vehicle.hub_diameter_mm, 20.0, 500.0);
        optional(
            field("stud_protrusion_mm"),
            vehicle.stud_protrusion_mm,
            0.0,
            200.0,
        );
        optional(
            field("tyre_diameter_mm"),
            vehicle.tyre_diameter_mm,
            100.0,
            DIAMETER_MAX_MM,
        );
        optional(
            field("wheel_load_max_kg"),
            vehicle.wheel_load_max_kg,
            0.0,
            100_000.0,
        );
    }
    for (index, spare) in spares.iter().enumerate().take(COUNT_MAX) {
        let field = |name: &str| format!("spares[{index}].{name}");
        if let SpareKind::Wheel(rim, _) | SpareKind::Rim(rim) = &spare.kind {
            optional(field("rim.hub_bore_mm"), rim.hub_bore_mm, 20.0, 500.0);
            optional(field("rim.nave_thickness_mm"), rim.nave_thickness_mm, 0.0, 200.0);
        }
        if let SpareKind::Wheel(_, tyre) | SpareKind::Tyre(tyre) = &spare.kind {
            optional(
                field("tyre.diameter_mm"),
                tyre.diameter_mm,
                100.0,
                DIAMETER_MAX_MM,
            );
            optional(field("tyre.capacity_kg"), tyre.capacity_kg, 0.0, 100_000.0);
            optional(
                field("tyre.dual_capacity_kg"),
                tyre.dual_capacity_kg,
                0.0,
                100_000.0,
            );
        }
    }
    for (field, count) in [("spares", spares.len()), ("vehicles", vehicles.len())] {
        if count > COUNT_MAX {
            check.refuse(field, format!("must be at most {COUNT_MAX}, are {count}"));
        }
    }
}
