//! Fleets and fluids.

use ostler_core::record::{Fleet, Fluid, Name};
use ostler_proto::v1;

use super::{Converted, Within, missing};

pub(crate) fn fleet(name: Name, message: v1::Fleet) -> Converted<Fleet> {
    let v1::Fleet {
        name: _,
        etag: _,
        create_time: _,
        update_time: _,
        display_name,
        description,
        fluid_densities,
        stages,
    } = message;
    let fluid_densities_kg_per_l = super::each("fluid_densities", fluid_densities, |density| {
        let v1::FluidDensity {
            fluid: of,
            density_kg_per_l,
        } = density;
        Ok((fluid(of).within("fluid")?, density_kg_per_l))
    })?
    .into_iter()
    .collect();
    Ok(Fleet {
        name,
        display_name,
        description,
        fluid_densities_kg_per_l,
        stages: super::each("stages", stages, |stage| super::id("", stage))?,
    })
}

pub(crate) fn fluid(value: i32) -> Converted<Fluid> {
    match v1::Fluid::try_from(value) {
        Ok(v1::Fluid::Diesel) => Ok(Fluid::Diesel),
        Ok(v1::Fluid::Petrol) => Ok(Fluid::Petrol),
        Ok(v1::Fluid::Water) => Ok(Fluid::Water),
        Ok(v1::Fluid::Unspecified) | Err(_) => Err(missing("")),
    }
}

pub(crate) fn fluid_message(fluid: Fluid) -> v1::Fluid {
    match fluid {
        Fluid::Diesel => v1::Fluid::Diesel,
        Fluid::Petrol => v1::Fluid::Petrol,
        Fluid::Water => v1::Fluid::Water,
    }
}
