//! What holds one item under one criterion: the forces behind each row of an assessment.

use super::assess::{Closing, Item, Remedy, Row, Verdict};
use super::lashing::{Block, Geometry, LASHINGS_MAX, LashingGroup};
use super::standard::{Criterion, Direction, Standard, UpwardRule};
use crate::units::STANDARD_GRAVITY_M_PER_S2;

/// Slack for rounding when forces are compared, as a part of the item's weight.
const ROUNDING: f64 = 1e-9;

/// Everything that one row is computed from.
pub(super) struct Holding<'a> {
    pub(super) item: &'a Item,
    pub(super) lashings: &'a [LashingGroup],
    pub(super) blocks: &'a [Block],
    pub(super) standard: &'a Standard,
    pub(super) criterion: &'a Criterion,
}

/// Forces in one direction at one mass, N.
struct Provided {
    friction_n: f64,
    direct_n: f64,
    missing: Vec<String>,
}

impl Provided {
    /// Friction and direct means do not simply add up where a standard cuts friction beside direct means:
    /// then the better of friction alone and both together counts, so that a further means never hurts.
    fn total_n(&self, fraction_beside_direct: f64) -> f64 {
        self.friction_n
            .max(fraction_beside_direct * self.friction_n + self.direct_n)
    }
}

impl Holding<'_> {
    pub(super) fn row(&self, direction: Direction) -> Row {
        let weight_n = self.item.mass_kg * STANDARD_GRAVITY_M_PER_S2;
        let required_n = self.required_n(direction, self.item.mass_kg);
        let provided = self.provided(direction, self.item.mass_kg);
        let provided_n = provided.total_n(self.fraction_beside_direct());
        let shortfall_n = required_n - provided_n;
        let held = shortfall_n <= ROUNDING * weight_n;
        let verdict = match (held, provided.missing.is_empty()) {
            (true, _) if self.holds_at_upper_mass(direction) => Verdict::Held,
            (true, _) => Verdict::Doubtful,
            (false, false) => Verdict::NotKnown,
            (false, true) => Verdict::Short,
        };
        let closing = if held {
            Vec::new()
        } else {
            self.closing(direction, &provided, required_n)
        };
        Row {
            criterion: self.criterion.name.clone(),
            direction,
            required_n,
            provided_n,
            shortfall_n: if held { 0.0 } else { shortfall_n },
            verdict,
            missing: provided.missing,
            closing,
        }
    }

    fn fraction_beside_direct(&self) -> f64 {
        self.standard.friction.fraction_beside_direct
    }

    fn holds_at_upper_mass(&self, direction: Direction) -> bool {
        let mass_kg = self.item.mass_kg + self.item.mass_uncertainty_kg;
        let provided_n = self
            .provided(direction, mass_kg)
            .total_n(self.fraction_beside_direct());
        self.required_n(direction, mass_kg) - provided_n <= ROUNDING * mass_kg * STANDARD_GRAVITY_M_PER_S2
    }

    fn required_n(&self, direction: Direction, mass_kg: f64) -> f64 {
        let asked = match (direction, self.standard.upward) {
            (Direction::Upward, UpwardRule::UnlessFullyContained) => !self.item.fully_contained,
            (Direction::Upward, UpwardRule::WhenRelyingOnFriction) => self.relies_on_friction(mass_kg),
            _ => true,
        };
        if asked {
            self.criterion.factors.in_direction(direction) * mass_kg * STANDARD_GRAVITY_M_PER_S2
        } else {
            0.0
        }
    }

    /// Whether some horizontal direction is not held by lashings and blocks alone, while there is friction.
    fn relies_on_friction(&self, mass_kg: f64) -> bool {
        let horizontal = [
            Direction::Forward,
            Direction::Rearward,
            Direction::Left,
            Direction::Right,
        ];
        self.item.friction.is_some_and(|friction| friction > 0.0)
            && horizontal.into_iter().any(|direction| {
                let required_n = self.required_n(direction, mass_kg);
                self.provided(direction, mass_kg).direct_n < required_n * (1.0 - ROUNDING)
            })
    }

    fn provided(&self, direction: Direction, mass_kg: f64) -> Provided {
        let mut provided = Provided {
            friction_n: 0.0,
            direct_n: 0.0,
            missing: Vec::new(),
        };
        if direction != Direction::Upward {
            match self.item.friction {
                Some(friction) => {
                    let part = self.standard.friction.weight_fraction;
                    provided.friction_n += friction * part * mass_kg * STANDARD_GRAVITY_M_PER_S2;
                }
                None => provided.missing.push("item.friction".to_owned()),
            }
        }
        for (index, group) in self
            .lashings
            .iter()
            .enumerate()
            .filter(|(_, group)| group.count > 0)
        {
            match self.one_lashing(group, direction) {
                Ok((friction_n, direct_n)) => {
                    provided.friction_n += f64::from(group.count) * friction_n;
                    provided.direct_n += f64::from(group.count) * direct_n;
                }
                Err(field) => provided.missing.push(format!("lashings[{index}].{field}")),
            }
        }
        for (index, block) in self
            .blocks
            .iter()
            .enumerate()
            .filter(|(_, block)| block.direction == direction)
        {
            match block.capacity_n {
                Some(capacity_n) => provided.direct_n += capacity_n,
                None => provided.missing.push(format!("blocks[{index}].capacity_n")),
            }
        }
        provided
    }

    /// What one lashing gives: by friction and by its own pull, N; or the field that is missing.
    fn one_lashing(&self, group: &LashingGroup, direction: Direction) -> Result<(f64, f64), &'static str> {
        match group.geometry {
            Geometry::TieDown { angle_to_deck_deg } if direction == Direction::Upward => {
                let strength_n = group.ratings.strength_n(self.criterion.strength)?;
                Ok((0.0, 2.0 * strength_n * angle_to_deck_deg.to_radians().sin()))
            }
            Geometry::TieDown { angle_to_deck_deg } => {
                // Unknown friction is reported once, for the item.
                let Some(friction) = self.item.friction else {
                    return Ok((0.0, 0.0));
                };
                let tension_n = group.ratings.tension_n(self.standard.friction.tension)?;
                let clamp_n = 2.0 * tension_n * angle_to_deck_deg.to_radians().sin();
                Ok((
                    friction * clamp_n / self.standard.friction.tie_down_safety(direction),
                    0.0,
                ))
            }
            Geometry::Direct { lead } => {
                let effect = lead.effect(direction);
                if effect <= 0.0 {
                    return Ok((0.0, 0.0));
                }
                Ok((0.0, effect * group.ratings.strength_n(self.criterion.strength)?))
            }
        }
    }

    fn closing(&self, direction: Direction, provided: &Provided, required_n: f64) -> Vec<Closing> {
        let beside = self.fraction_beside_direct();
        let remedy = |group: &LashingGroup| {
            let tie_down = matches!(group.geometry, Geometry::TieDown { .. });
            if tie_down && direction != Direction::Upward && self.item.friction.is_none() {
                return Remedy::NotKnown;
            }
            let Ok((friction_n, direct_n)) = self.one_lashing(group, direction) else {
                return Remedy::NotKnown;
            };
            let by_friction = further(required_n - provided.friction_n, friction_n);
            let together_n = beside * provided.friction_n + provided.direct_n;
            let by_both = further(required_n - together_n, beside * friction_n + direct_n);
            let fewest = by_friction.into_iter().chain(by_both).min();
            fewest.map_or(Remedy::CannotClose, Remedy::Further)
        };
        let closing = |group: &LashingGroup| Closing {
            group: group.name.clone(),
            remedy: remedy(group),
        };
        self.lashings.iter().map(closing).collect()
    }
}

/// How many times `each_n` closes `shortfall_n`; `None` if never or only by more than [`LASHINGS_MAX`].
pub(super) fn further(shortfall_n: f64, each_n: f64) -> Option<u32> {
    let needed = (shortfall_n / each_n - ROUNDING).ceil().max(1.0);
    // The bound keeps the conversion exact.
    (each_n > 0.0 && needed <= f64::from(LASHINGS_MAX)).then_some(needed as u32)
}
