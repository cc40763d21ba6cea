//! Masses of what is in tanks and containers.

use super::moment::{Fills, Moment};
use super::result::LoadGroup;
use super::tally::{Entry, Tally, is_number};
use crate::record::{Departure, Fluid, MassProvenance, Record, Tank, Vehicle};

/// Mass of `volume_l` of what `tank` holds, kilograms: volume times the fleet's density. `None`: not
/// known, and `tally` says why.
pub(super) fn fluid_mass_kg(record: &Record, tank: &Tank, volume_l: f64, tally: &mut Tally) -> Option<f64> {
    if !is_number(volume_l) || volume_l < 0.0 {
        tally.miss(format!("{}: its volume cannot be used", tank.display_name));
        return None;
    }
    if volume_l == 0.0 {
        return Some(0.0);
    }
    let density_kg_per_l = record
        .fleet
        .fluid_densities_kg_per_l
        .get(&tank.fluid)
        .copied()
        .filter(|density_kg_per_l| is_number(*density_kg_per_l) && *density_kg_per_l > 0.0);
    if density_kg_per_l.is_none() {
        let fluid = tank.fluid.word();
        let sentence = format!("the density of {fluid} is not known to the fleet");
        // One sentence serves every tank of the fluid.
        if !tally.missing.contains(&sentence) {
            tally.miss(sentence);
        }
    }
    density_kg_per_l.map(|density_kg_per_l| volume_l * density_kg_per_l)
}

/// Adds what is in the tanks at `moment`, and the containers that the baseline does not hold.
pub(super) fn add_fluids(
    record: &Record,
    departure: &Departure,
    vehicle: &Vehicle,
    moment: &Moment,
    tally: &mut Tally,
) {
    let Some(going) = departure
        .vehicles
        .iter()
        .find(|going| going.vehicle == vehicle.name)
    else {
        tally.miss(format!(
            "{} does not go on this departure, so its fluids are not known",
            vehicle.display_name
        ));
        return;
    };
    for fill in &going.fills {
        if vehicle.specification.tank(&fill.tank).is_none() {
            tally.miss(format!(
                "the departure fills {}, which {} does not have",
                fill.tank, vehicle.display_name
            ));
        }
    }
    for tank in &vehicle.specification.tanks {
        add_container(vehicle, tank, tally);
        let filled = going.fills.iter().find(|fill| fill.tank == tank.id);
        let volume_l = match &moment.fills {
            // Why a tank is not known under way is told by the moment.
            Fills::UnderWay(fills) if filled.is_some() => fills.get(&tank.id).copied(),
            _ => filled.map(|fill| fill.volume_l),
        };
        if filled.is_none() {
            tally.miss(format!(
                "the departure does not say what is in {} ({})",
                tank.display_name, tank.id
            ));
        }
        let Some(volume_l) = volume_l else { continue };
        if let Some(mass_kg) = fluid_mass_kg(record, tank, volume_l, tally)
            && mass_kg > 0.0
        {
            tally.add(&Entry {
                group: group(tank.fluid),
                title: &|| {
                    let litres = moment.litres(volume_l);
                    format!("{}: {litres} {}", tank.display_name, tank.fluid.word()).into()
                },
                record: &vehicle.name,
                mass_kg,
                provenance: MassProvenance::Estimated,
                tolerance_kg: None,
                position: Some(tank.position),
            });
        }
    }
}

fn add_container(vehicle: &Vehicle, tank: &Tank, tally: &mut Tally) {
    if let Some(empty) = tank.empty_mass
        && empty.mass_kg != 0.0
    {
        tally.add(&Entry {
            group: group(tank.fluid),
            title: &|| format!("{}, empty", tank.display_name).into(),
            record: &vehicle.name,
            mass_kg: empty.mass_kg,
            provenance: empty.provenance,
            tolerance_kg: empty.tolerance_kg,
            position: Some(tank.position),
        });
    }
}

fn group(fluid: Fluid) -> LoadGroup {
    if fluid.is_fuel() {
        LoadGroup::Fuel
    } else {
        LoadGroup::Water
    }
}
