//! The sprung vehicle as the record has it: suspension, the parts in its spring slots, and a load.

use super::result::{Stance, StanceError};
use super::solve::solve;
use super::springs::{AirHelper, Characteristic, Hold, Spring};
use super::vehicle::{
    Axle, AxleKind, AxlePosition, BumpStop, Side, SprungMass, SprungVehicle, Tyre, Wheel, WheelStation,
};
use crate::loads::Carried;
use crate::record::{AxleSuspension, Hand, Part, Record, Suspension, SuspensionKind, Vehicle};

/// Version of how the record becomes a sprung vehicle, and of the solve. It changes when a result may change for the
/// same record.
pub const FORMULA_VERSION: &str = "stance/1";

/// Which springs stand where.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Springs {
    /// As they are fitted.
    AsFitted,
    /// Handed springs that are exchanged put on the sides they are made for.
    AsIntended,
}

/// The slot of the spring of a wheel: `spring.rear.left`.
pub const fn spring_slot(wheel: Wheel) -> &'static str {
    match wheel {
        Wheel::FrontLeft => "spring.front.left",
        Wheel::FrontRight => "spring.front.right",
        Wheel::RearLeft => "spring.rear.left",
        Wheel::RearRight => "spring.rear.right",
    }
}

/// What a vehicle of the record stands on, whatever it carries: axles with their springs, and what is missing of them.
#[derive(Debug)]
pub struct RunningGear<'a> {
    vehicle: &'a Vehicle,
    front: Option<Axle>,
    rear: Option<Axle>,
    missing: Missing,
}

impl<'a> RunningGear<'a> {
    /// That of `vehicle` with these springs.
    pub fn of(record: &Record, vehicle: &'a Vehicle, springs: Springs) -> Self {
        let mut missing = Missing::default();
        let [front, rear] = match &vehicle.specification.suspension {
            Some(_) => {
                let fitted = fitted_springs(record, vehicle, springs, &mut missing);
                AxlePosition::ALL.map(|position| axle(vehicle, position, &fitted, &mut missing))
            }
            None => {
                missing.say(format!("the suspension of {} is not known", vehicle.display_name));
                [None, None]
            }
        };
        Self {
            vehicle,
            front,
            rear,
            missing,
        }
    }

    /// The sprung vehicle under a load.
    ///
    /// # Errors
    /// What is missing, in sentences, all of it.
    pub fn under(&self, carried: &Carried) -> Result<SprungVehicle, Vec<String>> {
        let mut missing = Missing(carried.missing.clone());
        self.missing
            .0
            .iter()
            .for_each(|sentence| missing.say(sentence.clone()));
        let specification = &self.vehicle.specification;
        let suspension = specification.suspension.as_ref();
        let sprung =
            suspension.and_then(|suspension| sprung_mass(self.vehicle, suspension, carried, &mut missing));
        match (&self.front, &self.rear, sprung, specification.wheelbase_mm) {
            (Some(front), Some(rear), Some(sprung), Some(wheelbase_mm)) if missing.0.is_empty() => {
                Ok(SprungVehicle {
                    wheelbase_mm,
                    sprung,
                    front: front.clone(),
                    rear: rear.clone(),
                })
            }
            _ => Err(missing.0),
        }
    }

    /// The same, and how it stands.
    ///
    /// # Errors
    /// What is missing, or why it does not come to rest.
    pub fn at_rest(&self, carried: &Carried) -> Result<(SprungVehicle, Stance), NotStanding> {
        let sprung = self.under(carried).map_err(NotStanding::Missing)?;
        let stance = solve(&sprung).map_err(NotStanding::Problem)?;
        Ok((sprung, stance))
    }
}

/// The sprung vehicle of the record under a load.
///
/// # Errors
/// What is missing, in sentences, all of it.
pub fn sprung_vehicle(
    record: &Record,
    vehicle: &Vehicle,
    carried: &Carried,
    springs: Springs,
) -> Result<SprungVehicle, Vec<String>> {
    RunningGear::of(record, vehicle, springs).under(carried)
}

/// Why a vehicle of the record is not at rest.
#[derive(Debug, Clone, PartialEq)]
pub enum NotStanding {
    /// Something is missing: sentences.
    Missing(Vec<String>),
    /// It does not come to rest, or the recorded numbers cannot be computed with.
    Problem(StanceError),
}

/// The vehicle of the record at rest under a load.
///
/// # Errors
/// What is missing, or why it does not come to rest.
pub fn stand(
    record: &Record,
    vehicle: &Vehicle,
    carried: &Carried,
    springs: Springs,
) -> Result<Stance, NotStanding> {
    let gear = RunningGear::of(record, vehicle, springs);
    gear.at_rest(carried).map(|(_, stance)| stance)
}

/// What is missing, each sentence once.
#[derive(Debug, Default)]
struct Missing(Vec<String>);

impl Missing {
    fn say(&mut self, sentence: String) {
        if !self.0.contains(&sentence) {
            self.0.push(sentence);
        }
    }

    /// A number that must be known.
    fn need(&mut self, number: Option<f64>, what: impl FnOnce() -> String) -> Option<f64> {
        if number.is_none() {
            self.say(format!("{} is not known", what()));
        }
        number
    }
}

/// The four springs in the order of [`Wheel::ALL`].
fn fitted_springs(
    record: &Record,
    vehicle: &Vehicle,
    springs: Springs,
    missing: &mut Missing,
) -> [Option<(Spring, Option<AirHelper>)>; 4] {
    let mut parts = Wheel::ALL.map(|wheel| spring_part(record, vehicle, wheel));
    if springs == Springs::AsIntended {
        for axle in AxlePosition::ALL {
            let [left, right] = [Side::Left, Side::Right].map(|side| Wheel::of(axle, side).index());
            if hand_at(parts[left]) == Some(Hand::Right) && hand_at(parts[right]) == Some(Hand::Left) {
                parts.swap(left, right);
            }
        }
    }
    Wheel::ALL.map(|wheel| {
        let Some(part) = parts[wheel.index()] else {
            missing.say(format!(
                "the spring in {} of {} is not known",
                spring_slot(wheel),
                vehicle.display_name
            ));
            return None;
        };
        match spring_of(part) {
            Ok(spring) => Some((spring, helper_of(part))),
            Err(figure) => {
                missing.say(format!(
                    "{figure} of {} ({}) is not known",
                    part.display_name,
                    part.name.id()
                ));
                None
            }
        }
    })
}

/// The part that is fitted as the spring of a wheel. `None`: none is on record.
pub fn spring_part<'a>(record: &'a Record, vehicle: &Vehicle, wheel: Wheel) -> Option<&'a Part> {
    let slot = spring_slot(wheel);
    let fitment = vehicle
        .fitments
        .iter()
        .find(|(id, _)| &***id == slot)
        .map(|(_, fitment)| fitment)?;
    record.parts.get(fitment.part.as_ref()?)
}

fn hand_at(part: Option<&Part>) -> Option<Hand> {
    part.and_then(|part| part.hand)
}

/// The spring that a part is, from its figures. With `free_camber_mm` it is a leaf pack, clamped; else a coil that
/// stands loose.
///
/// # Errors
/// The figure that is missing.
pub fn spring_of(part: &Part) -> Result<Spring, &'static str> {
    let figure = |key: &str| figure(part, key);
    let rate_n_per_mm = figure("rate_n_per_mm").ok_or("rate_n_per_mm")?;
    let (free_length_mm, hold) = match (figure("free_length_mm"), figure("free_camber_mm")) {
        (Some(length_mm), None) => (length_mm, Hold::Loose),
        (_, Some(camber_mm)) => (camber_mm, Hold::Captive),
        (None, None) => return Err("free_length_mm or free_camber_mm"),
    };
    let characteristic = match (figure("second_rate_n_per_mm"), figure("second_rate_from_mm")) {
        (Some(final_rate_n_per_mm), Some(transition_compression_mm)) => Characteristic::TwoStage {
            initial_rate_n_per_mm: rate_n_per_mm,
            transition_compression_mm,
            final_rate_n_per_mm,
        },
        (None, None) => Characteristic::Linear { rate_n_per_mm },
        (Some(_), None) => return Err("second_rate_from_mm"),
        (None, Some(_)) => return Err("second_rate_n_per_mm"),
    };
    if figure("helper_rate_n_per_mm").is_some() && figure("helper_preload_n").is_none() {
        return Err("helper_preload_n");
    }
    Ok(Spring {
        characteristic,
        free_length_mm,
        hold,
        solid_length_mm: figure("solid_length_mm"),
    })
}

/// The air helper that a spring part comes with: a rate added, and its preload at the reference height.
pub fn helper_of(part: &Part) -> Option<AirHelper> {
    Some(AirHelper {
        preload_n: figure(part, "helper_preload_n")?,
        rate_n_per_mm: figure(part, "helper_rate_n_per_mm")?,
    })
}

fn figure(part: &Part, key: &str) -> Option<f64> {
    let found = part.figures.iter().find(|(id, _)| ***id == *key);
    found.map(|(_, value)| *value)
}

fn axle(
    vehicle: &Vehicle,
    position: AxlePosition,
    springs: &[Option<(Spring, Option<AirHelper>)>; 4],
    missing: &mut Missing,
) -> Option<Axle> {
    let specification = &vehicle.specification;
    let suspension = specification.suspension.as_ref()?;
    let (of, track_mm) = match position {
        AxlePosition::Front => (&suspension.front, specification.front_track_mm),
        AxlePosition::Rear => (&suspension.rear, specification.rear_track_mm),
    };
    let words = position.words();
    let name = vehicle.display_name.as_str();
    let mut need = |number: Option<f64>, what: &str| {
        missing.need(number, || format!("{what} of the {words} axle of {name}"))
    };
    let track_mm = need(track_mm, "the track");
    let motion_ratio = need(of.motion_ratio, "the motion ratio");
    let bar = need(of.anti_roll_bar_nm_per_rad, "the stiffness of the anti-roll bar");
    let length_mm = need(of.spring_length_mm, "the spring length at the reference height");
    let unsprung_kg = need(of.unsprung_mass_kg, "the unsprung mass");
    let radius_mm = need(of.loaded_radius_mm, "the loaded radius");
    let kind = match of.kind {
        SuspensionKind::Independent => Some(AxleKind::Independent),
        SuspensionKind::Beam => need(of.spring_spacing_mm, "the spring spacing")
            .map(|spring_spacing_mm| AxleKind::Beam { spring_spacing_mm }),
    };
    let (motion_ratio, length_mm, unsprung_kg) = (motion_ratio?, length_mm?, unsprung_kg?);
    let station = |side: Side| {
        let spring = springs[Wheel::of(position, side).index()].clone()?;
        Some(station(of, spring, motion_ratio, length_mm, unsprung_kg / 2.0))
    };
    Some(Axle {
        kind: kind?,
        track_mm: track_mm?,
        anti_roll_bar_nm_per_rad: bar?,
        tyre: Tyre {
            loaded_radius_mm: radius_mm?,
            vertical: None,
        },
        left: station(Side::Left)?,
        right: station(Side::Right)?,
    })
}

fn station(
    of: &AxleSuspension,
    (spring, air_helper): (Spring, Option<AirHelper>),
    motion_ratio: f64,
    spring_length_at_reference_mm: f64,
    unsprung_mass_kg: f64,
) -> WheelStation {
    WheelStation {
        spring,
        spring_length_at_reference_mm,
        air_helper,
        motion_ratio,
        installation_angle_deg: of.installation_angle_deg.unwrap_or(0.0),
        bump_stop: of
            .bump_travel_mm
            .zip(of.bump_stop_rate_n_per_mm)
            .map(|(gap_mm, rate_n_per_mm)| BumpStop {
                gap_mm,
                rate_n_per_mm,
            }),
        droop_limit_mm: of.droop_travel_mm,
        unsprung_mass_kg,
    }
}

/// What the springs carry: everything less the axles.
fn sprung_mass(
    vehicle: &Vehicle,
    suspension: &Suspension,
    carried: &Carried,
    missing: &mut Missing,
) -> Option<SprungMass> {
    let name = vehicle.display_name.as_str();
    // Weighed wheel by wheel the sides are known; a stated centre stands in for readings by axle.
    let lateral_kgm = carried.whole_lateral_moment_kgm(suspension.bare_centre_y_mm);
    let lateral_kgm = missing.need(lateral_kgm, || {
        format!("how far the bare centre of {name} lies to a side")
    })?;
    let rear_kg = missing.need(carried.rear_axle_kg, || {
        format!("the load of the rear axle of {name}")
    })?;
    let (front_unsprung_kg, rear_unsprung_kg) = (
        suspension.front.unsprung_mass_kg?,
        suspension.rear.unsprung_mass_kg?,
    );
    let mass_kg = carried.mass_kg - front_unsprung_kg - rear_unsprung_kg;
    if mass_kg <= 0.0 {
        missing.say(format!("a mass of {name} above its unsprung mass is not known"));
        return None;
    }
    let roll_axis = suspension.sprung_centre_z_mm.zip(suspension.roll_axis_z_mm);
    Some(SprungMass {
        mass_kg,
        x_mm: (rear_kg - rear_unsprung_kg) * vehicle.specification.wheelbase_mm? / mass_kg,
        y_mm: lateral_kgm * 1_000.0 / mass_kg,
        z_mm: suspension.sprung_centre_z_mm.unwrap_or(0.0),
        roll_axis_height_mm: roll_axis.map(|(_, axis_mm)| axis_mm),
    })
}
