//! What can be measured on a vehicle, computed for one assumed state of it.

use super::heights::{VehiclePoint, height_mm};
use super::result::StanceError;
use super::solve::solve_checked;
use super::vehicle::{AxlePosition, Side, SprungMass, SprungVehicle, Wheel};
use crate::units::STANDARD_GRAVITY_M_PER_S2;

/// Every quantity that a reading or a next measurement may be about, per wheel.
#[derive(Debug, Clone, Copy)]
pub(super) struct Observables {
    /// Arch above the floor beside its tyre, mm.
    pub(super) arch_to_floor_mm: [f64; 4],
    /// Arch above a level line, mm.
    pub(super) arch_to_level_mm: [f64; 4],
    /// Arch above hub, mm.
    pub(super) hub_to_arch_mm: [f64; 4],
    /// Wheel load as a scale shows it, kg.
    pub(super) load_kg: [f64; 4],
    /// Free length of the fitted spring, mm.
    pub(super) free_length_mm: [f64; 4],
    /// Arch above the floor with the vehicle unladen, mm.
    pub(super) unladen_mm: Option<[f64; 4]>,
    /// Arch above the floor with the vehicle turned round on the same spot, mm; as it stands where nothing says otherwise.
    pub(super) turned_mm: [f64; 4],
}

/// One assumed state of a vehicle, whose fields are in their ranges.
pub(super) struct Assumed<'a> {
    pub(super) vehicle: &'a SprungVehicle,
    pub(super) unladen: Option<SprungMass>,
    pub(super) floor_mm: [f64; 4],
    pub(super) arches: &'a [VehiclePoint; 4],
}

impl Assumed<'_> {
    /// # Errors
    /// No position of rest in one of the states looked at.
    pub(super) fn observe(&self) -> Result<Observables, StanceError> {
        let stance = solve_checked(self.vehicle, self.floor_mm)?;
        let arch_to_level_mm = Wheel::ALL.map(|wheel| height_mm(&stance, &self.arches[wheel.index()]));
        let arch_to_floor_mm =
            Wheel::ALL.map(|wheel| arch_to_level_mm[wheel.index()] - self.floor_mm[wheel.index()]);
        let hub_to_arch_mm = Wheel::ALL.map(|wheel| {
            let radius_mm = self.vehicle.axle(wheel.axle()).tyre.loaded_radius_mm;
            arch_to_level_mm[wheel.index()] - radius_mm - stance.wheel(wheel).hub_rise_mm
        });
        let unladen_mm = match self.unladen {
            None => None,
            Some(sprung) => {
                let unladen = SprungVehicle {
                    sprung,
                    ..self.vehicle.clone()
                };
                unladen
                    .sprung
                    .check()
                    .map_err(|refused| refused.within("unladen"))?;
                Some(self.heights_above_floor(&unladen)?)
            }
        };
        Ok(Observables {
            arch_to_floor_mm,
            arch_to_level_mm,
            hub_to_arch_mm,
            load_kg: stance
                .wheels
                .map(|wheel| wheel.load_n / STANDARD_GRAVITY_M_PER_S2),
            free_length_mm: Wheel::ALL.map(|wheel| self.vehicle.station(wheel).spring.free_length_mm),
            unladen_mm,
            turned_mm: arch_to_floor_mm,
        })
    }

    fn heights_above_floor(&self, vehicle: &SprungVehicle) -> Result<[f64; 4], StanceError> {
        let stance = solve_checked(vehicle, self.floor_mm)?;
        Ok(Wheel::ALL
            .map(|wheel| height_mm(&stance, &self.arches[wheel.index()]) - self.floor_mm[wheel.index()]))
    }
}

/// Left minus right of an axle.
pub(super) fn side_difference(values: &[f64; 4], axle: AxlePosition) -> f64 {
    values[Wheel::of(axle, Side::Left).index()] - values[Wheel::of(axle, Side::Right).index()]
}
