//! The steepest climbs in the crawling gear, by ground.

use super::compare::Setup;
use super::grade::{
    DrivenAxles, GradeInput, GradeLimit, ROLLING_RESISTANCE, Surface, grade_ability, torque_angle_deg,
    tractive_force_n,
};
use super::ratios::crawl_ratio;
use super::report::Driving;
use crate::check::InvalidInput;

/// The steepest climb in the crawling gear on one kind of ground, in degrees; negative: only downhill.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Climb {
    /// Ground.
    pub surface: Surface,
    /// With the least published rolling resistance.
    pub easiest_deg: f64,
    /// With a resistance to plan with.
    pub typical_deg: f64,
    /// With the highest published.
    pub hardest_deg: f64,
    /// What ends the typical climb is the grip, not the torque.
    pub ended_by_grip: bool,
}

/// What a climb needs, complete.
pub(super) struct Climbing {
    mass_kg: f64,
    torque_nm: f64,
    efficiency: f64,
    grip: Option<Grip>,
}

#[derive(Clone, Copy)]
struct Grip {
    friction_coefficient: f64,
    driven: DrivenAxles,
    front_load_share: f64,
    centre_height_mm: f64,
    wheelbase_mm: f64,
}

impl Climbing {
    pub(super) fn of(driving: &Driving, missing: &mut Vec<String>) -> Option<Self> {
        let mut need = |number: Option<f64>, what: &str| {
            if number.is_none() {
                missing.push(format!("{what} is not known: no climb"));
            }
            number
        };
        let mass_kg = need(driving.mass_kg, "the mass");
        let torque_nm = need(driving.torque_nm, "the engine's torque");
        let efficiency = need(driving.efficiency, "the efficiency of the driveline");
        let grip = driving
            .friction_coefficient
            .map(|friction_coefficient| Grip::of(driving, friction_coefficient, missing));
        let grip = match grip {
            None => {
                let text = "the friction of the ground is not given: climbs are what torque allows, grip is left out";
                missing.push(text.to_owned());
                None
            }
            Some(grip) => Some(grip?),
        };
        Some(Self {
            mass_kg: mass_kg?,
            torque_nm: torque_nm?,
            efficiency: efficiency?,
            grip,
        })
    }

    pub(super) fn climbs(&self, setup: &Setup) -> Result<Vec<Climb>, InvalidInput> {
        let Some(crawl) = crawl_ratio(&setup.driveline)? else {
            return Ok(Vec::new());
        };
        ROLLING_RESISTANCE
            .iter()
            .map(|ground| {
                let (easiest_deg, _) = self.climb(setup, crawl.ratio, ground.low)?;
                let (typical_deg, ended_by_grip) = self.climb(setup, crawl.ratio, ground.typical)?;
                let (hardest_deg, _) = self.climb(setup, crawl.ratio, ground.high)?;
                Ok(Climb {
                    surface: ground.surface,
                    easiest_deg,
                    typical_deg,
                    hardest_deg,
                    ended_by_grip,
                })
            })
            .collect()
    }

    /// Angle, and whether grip ends it.
    fn climb(&self, setup: &Setup, ratio: f64, resistance: f64) -> Result<(f64, bool), InvalidInput> {
        // The radius on which the wheel rolls: its circumference over 2 pi.
        let radius_mm = 1e3 * setup.circumference_m() / std::f64::consts::TAU;
        let Some(grip) = self.grip else {
            let force_n = tractive_force_n(self.torque_nm, ratio, self.efficiency, radius_mm)?;
            return Ok((torque_angle_deg(self.mass_kg, force_n, resistance)?, false));
        };
        let found = grade_ability(&GradeInput {
            mass_kg: self.mass_kg,
            torque_nm: self.torque_nm,
            overall_ratio: ratio,
            efficiency: self.efficiency,
            rolling_radius_mm: radius_mm,
            rolling_resistance: resistance,
            friction_coefficient: grip.friction_coefficient,
            driven: grip.driven,
            front_load_share: grip.front_load_share,
            centre_height_mm: grip.centre_height_mm,
            wheelbase_mm: grip.wheelbase_mm,
        })?;
        Ok((found.angle_deg, found.limit == GradeLimit::Traction))
    }
}

impl Grip {
    fn of(driving: &Driving, friction_coefficient: f64, missing: &mut Vec<String>) -> Option<Self> {
        let Some(driven) = driving.driven else {
            missing.push("which axles drive is not known: no climb".to_owned());
            return None;
        };
        if driven == DrivenAxles::Both {
            // With all wheels driven the transfer of weight between the axles has no part in it.
            return Some(Self {
                friction_coefficient,
                driven,
                front_load_share: 0.5,
                centre_height_mm: 0.0,
                wheelbase_mm: 2_500.0,
            });
        }
        let parts = driving
            .front_load_share
            .zip(driving.centre_height_mm)
            .zip(driving.wheelbase_mm);
        let Some(((front_load_share, centre_height_mm), wheelbase_mm)) = parts else {
            missing.push(
                "with one driven axle the grip needs the share of weight on the front axle, the height of the centre \
                 of mass and the wheelbase: no climb"
                    .to_owned(),
            );
            return None;
        };
        Some(Self {
            friction_coefficient,
            driven,
            front_load_share,
            centre_height_mm,
            wheelbase_mm,
        })
    }
}
