//! Lashings and blocks: geometry, ratings, and what each gives in a direction.

use super::standard::{Direction, Strength, TensionRule};
use crate::check::{Check, InvalidInput};

/// Most lashings in one group.
pub const LASHINGS_MAX: u32 = 1_000;

/// Largest force accepted, N.
pub const FORCE_MAX_N: f64 = 1e8;

/// Ratings of one lashing, N. `None` is not known; one rating is never derived from another.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Ratings {
    /// Lashing capacity (LC).
    pub lashing_capacity_n: Option<f64>,
    /// Tension in a tightened tie-down: the label's standard tension force (STF), or measured.
    pub tension_n: Option<f64>,
    /// Working load limit (WLL).
    pub working_load_limit_n: Option<f64>,
    /// Breaking strength.
    pub breaking_strength_n: Option<f64>,
}

impl Ratings {
    /// The rating of one kind, or the name of its field when it is missing.
    pub(super) fn strength_n(&self, strength: Strength) -> Result<f64, &'static str> {
        match strength {
            Strength::LashingCapacity => self.lashing_capacity_n.ok_or("ratings.lashing_capacity_n"),
            Strength::WorkingLoadLimit => self.working_load_limit_n.ok_or("ratings.working_load_limit_n"),
            Strength::BreakingStrength => self.breaking_strength_n.ok_or("ratings.breaking_strength_n"),
        }
    }

    /// The tension that counts, or the name of the missing field.
    pub(super) fn tension_n(&self, rule: TensionRule) -> Result<f64, &'static str> {
        let half_capacity_n = self.lashing_capacity_n.map(|capacity_n| capacity_n / 2.0);
        match (rule, self.tension_n, half_capacity_n) {
            (TensionRule::AtMostHalfLashingCapacity, Some(tension_n), Some(half_n)) => {
                Ok(tension_n.min(half_n))
            }
            (TensionRule::AtMostHalfLashingCapacity, None, Some(half_n)) => Ok(half_n),
            (_, Some(tension_n), _) => Ok(tension_n),
            (_, None, _) => Err("ratings.tension_n"),
        }
    }
}

/// Where a direct lashing leads: from its hold on the item to its anchor on the vehicle, as measured with a
/// tape, mm. Only the proportions count.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lead {
    /// Aft; negative leads forward.
    pub aft_mm: f64,
    /// To the right; negative leads to the left.
    pub right_mm: f64,
    /// Down; negative leads upward.
    pub down_mm: f64,
}

impl Lead {
    /// A lead by its angles: down from the horizontal, and its bearing seen from above, clockwise with 0
    /// forward and 90 to the right.
    pub fn from_angles(angle_to_deck_deg: f64, bearing_deg: f64) -> Self {
        let (down, level) = angle_to_deck_deg.to_radians().sin_cos();
        let (right, forward) = bearing_deg.to_radians().sin_cos();
        Self {
            aft_mm: -1_000.0 * level * forward,
            right_mm: 1_000.0 * level * right,
            down_mm: 1_000.0 * down,
        }
    }

    fn length_mm(&self) -> f64 {
        self.aft_mm.hypot(self.right_mm).hypot(self.down_mm)
    }

    /// The part of the lashing's force that holds the item against moving in a direction, 0 to 1.
    pub fn effect(&self, direction: Direction) -> f64 {
        let along_mm = match direction {
            Direction::Forward => self.aft_mm,
            Direction::Rearward => -self.aft_mm,
            Direction::Left => self.right_mm,
            Direction::Right => -self.right_mm,
            Direction::Upward => self.down_mm,
        };
        let length_mm = self.length_mm();
        if length_mm > 0.0 {
            (along_mm / length_mm).clamp(0.0, 1.0)
        } else {
            0.0
        }
    }
}

/// How a lashing holds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Geometry {
    /// Over the item and tightened: presses it down, friction holds it.
    TieDown {
        /// Angle of the lashing to the deck, degrees; 90 straight down.
        angle_to_deck_deg: f64,
    },
    /// From the item to an anchor: holds it by its own pull.
    Direct {
        /// Where it leads.
        lead: Lead,
    },
}

/// Equal lashings.
#[derive(Debug, Clone, PartialEq)]
pub struct LashingGroup {
    /// Its name, for the result.
    pub name: String,
    /// How many.
    pub count: u32,
    /// Ratings of one.
    pub ratings: Ratings,
    /// How each holds.
    pub geometry: Geometry,
}

impl LashingGroup {
    /// Whether it is a direct lashing without length, which holds nothing.
    pub fn leads_nowhere(&self) -> bool {
        matches!(self.geometry, Geometry::Direct { lead } if lead.length_mm() < 1e-3)
    }

    /// Checks the group.
    ///
    /// # Errors
    /// More than [`LASHINGS_MAX`] lashings, a rating that is not above 0, an angle outside 0 to 90 degrees,
    /// a lead without length.
    pub fn check(&self) -> Result<(), InvalidInput> {
        let mut check = Check::new();
        if self.count > LASHINGS_MAX {
            check.refuse(
                "count",
                format!("must be at most {LASHINGS_MAX}, is {}", self.count),
            );
        }
        let ratings = [
            ("ratings.lashing_capacity_n", self.ratings.lashing_capacity_n),
            ("ratings.tension_n", self.ratings.tension_n),
            ("ratings.working_load_limit_n", self.ratings.working_load_limit_n),
            ("ratings.breaking_strength_n", self.ratings.breaking_strength_n),
        ];
        for (field, rating) in ratings {
            if let Some(rating_n) = rating {
                check.between(field, rating_n, 1.0, FORCE_MAX_N);
            }
        }
        match self.geometry {
            Geometry::TieDown { angle_to_deck_deg } => {
                check.between("tie_down_angle_deg", angle_to_deck_deg, 0.0, 90.0);
            }
            Geometry::Direct { lead } => {
                for (axis, value) in [
                    ("aft_mm", lead.aft_mm),
                    ("right_mm", lead.right_mm),
                    ("down_mm", lead.down_mm),
                ] {
                    check.between(format_args!("direct_lead.{axis}"), value, -100_000.0, 100_000.0);
                }
                if check.passes() && self.leads_nowhere() {
                    check.refuse("direct_lead", "must have a length");
                }
            }
        }
        check.finish()
    }
}

/// Something solid that the item bears against: headboard, barrier, bolted frame.
#[derive(Debug, Clone, PartialEq)]
pub struct Block {
    /// Direction of movement that it stops.
    pub direction: Direction,
    /// Force it takes, N. `None` is not known.
    pub capacity_n: Option<f64>,
}
