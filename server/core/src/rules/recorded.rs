//! Facts that the record of a vehicle knows, so that nobody has to state them twice.

use crate::loads::{ConvoyLoads, LoadAgainstLimit, LoadResult, unloaded};
use crate::record::{Fact, Fluid, RecordFigure, Roof, Specification, TankMounting, Vehicle};
use crate::stance::recorded::{Springs, stand};
use crate::tyres::recorded::{at_wheels, diameter_mm, placard_diameter_mm};
use crate::tyres::size::section_width_mm;

/// A figure of the record.
#[derive(Debug, Clone, PartialEq)]
pub struct Recorded {
    /// Its value.
    pub value: Fact,
    /// What it was made of, for people.
    pub description: String,
}

/// The figures of a vehicle on a departure; each is computed when it is asked for.
#[derive(Debug)]
pub struct RecordFigures<'record> {
    loads: &'record ConvoyLoads,
    vehicle: Option<&'record Vehicle>,
}

impl<'record> RecordFigures<'record> {
    /// The figures of `vehicle`. Without one, for things of the whole convoy, none is known.
    pub fn of(loads: &'record ConvoyLoads, vehicle: Option<&'record Vehicle>) -> Self {
        Self { loads, vehicle }
    }

    /// A figure. `None`: the record does not know it, or lacks something that it is made of.
    pub fn get(&self, figure: RecordFigure) -> Option<Recorded> {
        let vehicle = self.vehicle?;
        let specification = &vehicle.specification;
        match figure {
            RecordFigure::TyreDiameterIncreaseMm => self.tyre_diameters(vehicle)?.increase(),
            RecordFigure::TyreDiameterIncreasePercent => self.tyre_diameters(vehicle)?.increase_percent(),
            RecordFigure::TyreWidthRatio => self.tyre_width_ratio(vehicle),
            RecordFigure::SuspensionLiftMm => {
                let lift_mm = self.suspension_lift_mm(vehicle)?;
                number(
                    lift_mm,
                    "height of the body on the fitted springs, unloaded, less the reference height",
                )
            }
            RecordFigure::LiftMm => {
                let suspension_mm = self.suspension_lift_mm(vehicle)?;
                let tyres = self.tyre_diameters(vehicle)?;
                let text = format!(
                    "{suspension_mm:.0} mm by the springs and half of {:.0} mm by the tyres",
                    tyres.largest_mm - tyres.placard_mm
                );
                number(suspension_mm + (tyres.largest_mm - tyres.placard_mm) / 2.0, text)
            }
            RecordFigure::RoofTotalKg => {
                let rack_kg = rack_mass_kg(specification.roof.as_ref())?;
                let worst = self.most(|state| &state.roof)?;
                number(
                    rack_kg + worst.load_kg,
                    format!("{rack_kg:.0} kg of rack and {:.0} kg on it", worst.load_kg),
                )
            }
            RecordFigure::RoofLimitKg => number(specification.roof?.limit_kg?, "limit of the roof"),
            RecordFigure::RackLoadKg => number(
                self.most(|state| &state.roof)?.load_kg,
                "most on the roof on the way",
            ),
            RecordFigure::RackRatingKg => {
                let roof = specification.roof?;
                let factor = roof.rack_offroad_factor.unwrap_or(1.0);
                number(
                    roof.rack_rating_kg? * factor,
                    format!("rating of the rack times {factor}"),
                )
            }
            RecordFigure::TotalMassKg => number(
                self.most(|state| &state.total)?.load_kg,
                "largest computed mass on the way",
            ),
            RecordFigure::GrossMassKg => {
                number(specification.gross_mass_kg?, "gross mass of the specification")
            }
            RecordFigure::OriginalGrossMassKg => number(
                specification.original_gross_mass_kg?,
                "gross mass as built, of the specification",
            ),
            RecordFigure::SeatsRemoved => seats_removed(vehicle),
            RecordFigure::PackagedPetrolL => self.packaged_l(specification, Fluid::Petrol),
            RecordFigure::PackagedDieselL => self.packaged_l(specification, Fluid::Diesel),
        }
    }

    /// The moment at which a load is largest. `None`: something is missing from the loads.
    fn most(&self, load: impl Fn(&LoadResult) -> &LoadAgainstLimit) -> Option<LoadAgainstLimit> {
        let vehicle = self.vehicle?;
        let states = self.loads.states(vehicle);
        if states.iter().any(|state| !state.missing.is_empty()) {
            return None;
        }
        states
            .iter()
            .map(load)
            .max_by(|left, right| left.load_kg.total_cmp(&right.load_kg))
            .cloned()
    }

    /// `None` unless every wheel's tyre and the placard are known.
    fn tyre_diameters(&self, vehicle: &Vehicle) -> Option<TyreDiameters> {
        let placard_mm = placard_diameter_mm(vehicle.specification.tyre_placard.as_ref()?)?;
        let mut largest_mm = f64::NEG_INFINITY;
        for wheel in at_wheels(&self.loads.record, vehicle) {
            largest_mm = largest_mm.max(diameter_mm(wheel.tyre?)?);
        }
        Some(TyreDiameters {
            placard_mm,
            largest_mm,
        })
    }

    fn tyre_width_ratio(&self, vehicle: &Vehicle) -> Option<Recorded> {
        let placard_mm = section_width_mm(&vehicle.specification.tyre_placard.as_ref()?.designation.size);
        let mut widest_mm = f64::NEG_INFINITY;
        for wheel in at_wheels(&self.loads.record, vehicle) {
            widest_mm = widest_mm.max(section_width_mm(&wheel.marking()?.designation.size));
        }
        number(
            widest_mm / placard_mm,
            format!("{widest_mm:.0} mm fitted, {placard_mm:.0} mm on the placard"),
        )
    }

    fn suspension_lift_mm(&self, vehicle: &Vehicle) -> Option<f64> {
        let unloaded = unloaded(&self.loads.record, vehicle);
        let stance = stand(&self.loads.record, vehicle, &unloaded, Springs::AsIntended).ok()?;
        let changes = stance.wheels.iter().map(|wheel| wheel.ride_height_change_mm);
        changes.max_by(|left, right| left.abs().total_cmp(&right.abs()))
    }

    fn packaged_l(&self, specification: &Specification, fluid: Fluid) -> Option<Recorded> {
        let going = self
            .loads
            .departure
            .vehicles
            .iter()
            .find(|going| self.vehicle.is_some_and(|vehicle| vehicle.name == going.vehicle))?;
        let mut sum_l = 0.0;
        for tank in &specification.tanks {
            if tank.fluid == fluid && tank.mounting == TankMounting::Container {
                sum_l += going.fills.iter().find(|fill| fill.tank == tank.id)?.volume_l;
            }
        }
        number(sum_l, format!("{} in containers at departure", fluid.word()))
    }
}

/// Diameters of tyres, millimetres.
struct TyreDiameters {
    placard_mm: f64,
    largest_mm: f64,
}

impl TyreDiameters {
    fn words(&self) -> String {
        format!(
            "{:.0} mm fitted, {:.0} mm on the placard",
            self.largest_mm, self.placard_mm
        )
    }

    fn increase(&self) -> Option<Recorded> {
        number(self.largest_mm - self.placard_mm, self.words())
    }

    fn increase_percent(&self) -> Option<Recorded> {
        number((self.largest_mm / self.placard_mm - 1.0) * 100.0, self.words())
    }
}

/// A number as a fact, to three decimals, so that a limit is not missed by the last bit of a sum; what is not finite is
/// not known.
fn number(value: f64, description: impl Into<String>) -> Option<Recorded> {
    value.is_finite().then(|| Recorded {
        value: Fact::Number((value * 1000.0).round() / 1000.0),
        description: description.into(),
    })
}

/// Mass of the rack; a roof of which neither a mass nor a rating of a rack is known may have one.
fn rack_mass_kg(roof: Option<&Roof>) -> Option<f64> {
    roof?.rack_mass_kg
}

/// Whether a seat is out. `None`: no slot of the kind `seat` is on record, or one has never been recorded.
fn seats_removed(vehicle: &Vehicle) -> Option<Recorded> {
    let seats: Vec<_> = vehicle
        .specification
        .slots
        .iter()
        .filter(|slot| &*slot.kind == "seat")
        .collect();
    let mut empty = Vec::new();
    for seat in &seats {
        if vehicle.fitments.get(&seat.id)?.part.is_none() {
            empty.push(&*seat.id);
        }
    }
    let description = match (seats.is_empty(), empty.is_empty()) {
        (true, _) => return None,
        (false, true) => "every seat is in".to_owned(),
        (false, false) => format!("out: {}", empty.join(", ")),
    };
    Some(Recorded {
        value: Fact::YesNo(!empty.is_empty()),
        description,
    })
}
