//! The vehicle as elastic elements over seven coordinates, and its energy's slope and curvature.
//!
//! Coordinates, all in mm: body heave at mid wheelbase, body pitch times the wheelbase (rear up
//! positive), body roll times the mean track (right up positive), and the rise of the four hubs. Scaled so,
//! all are of one size and the matrices are well conditioned. The slope of the energy by a coordinate
//! is a force in N.

use nalgebra::{SMatrix, SVector};

use super::springs::SpringForce;
use super::vehicle::{AxlePosition, SprungVehicle, TyreRate, Wheel, WheelStation};
use crate::units::STANDARD_GRAVITY_M_PER_S2;

pub(super) const COORDINATES: usize = 7;
const HEAVE: usize = 0;
const PITCH: usize = 1;
const ROLL: usize = 2;
const HUBS: usize = 3;

/// Rate of a droop stop (strap, damper end, bracket), N/mm. Common practice, no source: stiff beside any
/// spring; the loads do not depend on it and heights by a millimetre per 2 000 N.
pub(super) const DROOP_STOP_RATE_N_PER_MM: f64 = 2_000.0;

pub(super) type Coordinates = SVector<f64, COORDINATES>;
pub(super) type Curvature = SMatrix<f64, COORDINATES, COORDINATES>;

/// Coordinate of a wheel's hub.
pub(super) fn hub(wheel: usize) -> usize {
    HUBS + wheel
}

/// Spring, helper and stops of one wheel; they all act along its travel.
#[derive(Debug, Clone, Copy)]
pub(super) struct Strut<'a> {
    station: &'a WheelStation,
    ratio: f64,
    travel: Coordinates,
}

/// Forces of one strut at the wheel (independent) or at the spring (beam).
#[derive(Debug, Clone, Copy)]
pub(super) struct StrutForces {
    pub(super) spring: SpringForce,
    pub(super) helper: SpringForce,
    pub(super) bump_n: f64,
    pub(super) droop_n: f64,
    pub(super) total: SpringForce,
    pub(super) spring_length_mm: f64,
}

impl Strut<'_> {
    /// Wheel travel from the reference position, bump positive, mm.
    pub(super) fn travel_mm(&self, coordinates: &Coordinates) -> f64 {
        self.travel.dot(coordinates)
    }

    pub(super) fn forces(&self, travel_mm: f64) -> StrutForces {
        let station = self.station;
        let spring_length_mm = station.spring_length_at_reference_mm - self.ratio * travel_mm;
        let spring = station.spring.force_at_length(spring_length_mm);
        let helper = match station.air_helper {
            Some(helper) => helper.force_at(self.ratio * travel_mm),
            None => SpringForce {
                force_n: 0.0,
                rate_n_per_mm: 0.0,
            },
        };
        let mut force_n = self.ratio * (spring.force_n + helper.force_n);
        let mut rate_n_per_mm = self.ratio.powi(2) * (spring.rate_n_per_mm + helper.rate_n_per_mm);
        let mut bump_n = 0.0;
        let mut droop_n = 0.0;
        if let Some(stop) = station.bump_stop
            && travel_mm > stop.gap_mm
        {
            bump_n = stop.rate_n_per_mm * (travel_mm - stop.gap_mm);
            force_n += bump_n;
            rate_n_per_mm += stop.rate_n_per_mm;
        }
        if let Some(limit_mm) = station.droop_limit_mm
            && travel_mm < -limit_mm
        {
            droop_n = DROOP_STOP_RATE_N_PER_MM * (travel_mm + limit_mm);
            force_n += droop_n;
            rate_n_per_mm += DROOP_STOP_RATE_N_PER_MM;
        }
        let total = SpringForce {
            force_n,
            rate_n_per_mm,
        };
        StrutForces {
            spring,
            helper,
            bump_n,
            droop_n,
            total,
            spring_length_mm,
        }
    }
}

/// An anti-roll bar: a linear spring against roll between body and axle.
#[derive(Debug, Clone, Copy)]
struct AntiRollBar {
    stiffness_n_mm_per_rad: f64,
    twist: Coordinates,
}

/// The assembled vehicle.
#[derive(Debug, Clone, Copy)]
pub(super) struct Model<'a> {
    pub(super) struts: [Strut<'a>; 4],
    bars: [AntiRollBar; 2],
    tyres: [Option<TyreRate>; 4],
    pub(super) floor_mm: [f64; 4],
    load: Coordinates,
    overturning_n_per_mm: f64,
    wheelbase_mm: f64,
    mean_track_mm: f64,
    pub(super) weight_n: f64,
}

/// Energy slope and curvature at one position.
#[derive(Debug, Clone, Copy)]
pub(super) struct Slope {
    pub(super) slope: Coordinates,
    pub(super) curvature: Curvature,
}

impl<'a> Model<'a> {
    pub(super) fn new(vehicle: &'a SprungVehicle, floor_mm: [f64; 4]) -> Self {
        let mean_track_mm = (vehicle.front.track_mm + vehicle.rear.track_mm) / 2.0;
        let frame = Frame {
            wheelbase_mm: vehicle.wheelbase_mm,
            mean_track_mm,
        };
        let struts = Wheel::ALL.map(|wheel| strut(vehicle, &frame, wheel));
        let bars = AxlePosition::ALL.map(|position| bar(vehicle, &frame, position));
        let tyres = Wheel::ALL.map(|wheel| vehicle.axle(wheel.axle()).tyre.vertical);
        let unsprung_n =
            Wheel::ALL.map(|wheel| vehicle.station(wheel).unsprung_mass_kg * STANDARD_GRAVITY_M_PER_S2);
        let sprung = &vehicle.sprung;
        let sprung_n = sprung.mass_kg * STANDARD_GRAVITY_M_PER_S2;
        let mut load = frame.body_row(sprung.x_mm, sprung.y_mm) * sprung_n;
        for (wheel, weight_n) in unsprung_n.iter().enumerate() {
            load[hub(wheel)] += weight_n;
        }
        let arm_mm = sprung
            .roll_axis_height_mm
            .map_or(0.0, |height_mm| sprung.z_mm - height_mm);
        Self {
            struts,
            bars,
            tyres,
            floor_mm,
            load,
            overturning_n_per_mm: sprung_n * arm_mm / mean_track_mm.powi(2),
            wheelbase_mm: vehicle.wheelbase_mm,
            mean_track_mm,
            weight_n: sprung_n + unsprung_n.iter().sum::<f64>(),
        }
    }

    pub(super) fn has_rigid_tyre(&self, wheel: usize) -> bool {
        self.tyres[wheel].is_none()
    }

    /// Slope and curvature of the energy. The moment of a leaning body is left out of the curvature
    /// when `convex_part_only`, which keeps a descent direction where the whole is not convex.
    pub(super) fn slope(&self, coordinates: &Coordinates, convex_part_only: bool) -> Slope {
        let mut slope = self.load;
        let mut curvature = Curvature::zeros();
        for strut in &self.struts {
            let force = strut.forces(strut.travel_mm(coordinates)).total;
            slope.axpy(force.force_n, &strut.travel, 1.0);
            curvature.ger(force.rate_n_per_mm, &strut.travel, &strut.travel, 1.0);
        }
        for bar in &self.bars {
            if bar.stiffness_n_mm_per_rad > 0.0 {
                slope.axpy(
                    bar.stiffness_n_mm_per_rad * bar.twist.dot(coordinates),
                    &bar.twist,
                    1.0,
                );
                curvature.ger(bar.stiffness_n_mm_per_rad, &bar.twist, &bar.twist, 1.0);
            }
        }
        for wheel in 0..4 {
            if let Some(force) = self.tyre_force(wheel, coordinates) {
                slope[hub(wheel)] -= force.force_n;
                curvature[(hub(wheel), hub(wheel))] += force.rate_n_per_mm;
            }
        }
        slope[ROLL] -= self.overturning_n_per_mm * coordinates[ROLL];
        if !convex_part_only {
            curvature[(ROLL, ROLL)] -= self.overturning_n_per_mm;
        }
        Slope { slope, curvature }
    }

    /// Ground force of a tyre that yields, never pulling; `None` for a rigid one.
    pub(super) fn tyre_force(&self, wheel: usize, coordinates: &Coordinates) -> Option<SpringForce> {
        self.tyres[wheel].map(|tyre| {
            let compression_mm = self.floor_mm[wheel] - coordinates[hub(wheel)];
            let force_n = tyre.load_at_radius_n + tyre.rate_n_per_mm * compression_mm;
            if force_n > 0.0 {
                SpringForce {
                    force_n,
                    rate_n_per_mm: tyre.rate_n_per_mm,
                }
            } else {
                SpringForce {
                    force_n: 0.0,
                    rate_n_per_mm: 0.0,
                }
            }
        })
    }

    /// Roll stiffness of an axle's springs and bar at a position, about the centre plane, N m/rad.
    pub(super) fn roll_stiffness_nm_per_rad(&self, axle: usize, coordinates: &Coordinates) -> f64 {
        let springs: f64 = self.struts[2 * axle..2 * axle + 2]
            .iter()
            .map(|strut| {
                let lever_mm = strut.travel[ROLL] * self.mean_track_mm;
                strut.forces(strut.travel_mm(coordinates)).total.rate_n_per_mm * lever_mm.powi(2)
            })
            .sum();
        (springs + self.bars[axle].stiffness_n_mm_per_rad) / 1_000.0
    }

    /// Moment of an anti-roll bar, N m, positive when it pushes the right side of the body up.
    pub(super) fn bar_moment_nm(&self, axle: usize, coordinates: &Coordinates) -> f64 {
        let bar = &self.bars[axle];
        0.0 - bar.stiffness_n_mm_per_rad * bar.twist.dot(coordinates) / 1_000.0
    }

    /// Moment of the leaning body per radian, N m/rad.
    pub(super) fn overturning_nm_per_rad(&self) -> f64 {
        self.overturning_n_per_mm * self.mean_track_mm.powi(2) / 1_000.0
    }

    /// Rise at mid wheelbase, slope by x and slope by y of the body.
    pub(super) fn body(&self, coordinates: &Coordinates) -> (f64, f64, f64) {
        (
            coordinates[HEAVE],
            coordinates[PITCH] / self.wheelbase_mm,
            coordinates[ROLL] / self.mean_track_mm,
        )
    }

    /// A position with the body in the reference position above the mean floor and the hubs on the floor.
    pub(super) fn start(&self) -> Coordinates {
        let mut start = Coordinates::zeros();
        start[HEAVE] = self.floor_mm.iter().sum::<f64>() / 4.0;
        for wheel in 0..4 {
            start[hub(wheel)] = self.floor_mm[wheel];
        }
        start
    }
}

struct Frame {
    wheelbase_mm: f64,
    mean_track_mm: f64,
}

impl Frame {
    /// Rise of a body point per unit of each coordinate.
    fn body_row(&self, x_mm: f64, y_mm: f64) -> Coordinates {
        let mut row = Coordinates::zeros();
        row[HEAVE] = 1.0;
        row[PITCH] = x_mm / self.wheelbase_mm - 0.5;
        row[ROLL] = y_mm / self.mean_track_mm;
        row
    }
}

fn strut<'a>(vehicle: &'a SprungVehicle, frame: &Frame, wheel: Wheel) -> Strut<'a> {
    let axle = vehicle.axle(wheel.axle());
    let station = vehicle.station(wheel);
    let y_mm = wheel.side().sign() * axle.spring_half_base_mm();
    let mut travel = -frame.body_row(vehicle.axle_x_mm(wheel.axle()), y_mm);
    // The axle at the spring lies between the hubs; for independent wheels this is the hub itself.
    let share = axle.spring_half_base_mm() / axle.track_mm;
    let other = Wheel::of(wheel.axle(), wheel.side().other());
    travel[hub(wheel.index())] = 0.5 + share;
    travel[hub(other.index())] = 0.5 - share;
    Strut {
        station,
        ratio: station.effective_ratio(),
        travel,
    }
}

fn bar(vehicle: &SprungVehicle, frame: &Frame, position: AxlePosition) -> AntiRollBar {
    let axle = vehicle.axle(position);
    let mut twist = Coordinates::zeros();
    twist[ROLL] = 1.0 / frame.mean_track_mm;
    let first = match position {
        AxlePosition::Front => hub(0),
        AxlePosition::Rear => hub(2),
    };
    twist[first] = 1.0 / axle.track_mm;
    twist[first + 1] = -1.0 / axle.track_mm;
    AntiRollBar {
        stiffness_n_mm_per_rad: axle.anti_roll_bar_nm_per_rad * 1_000.0,
        twist,
    }
}
