//! A tank: on record, or of data that are given.

use ostler_core::record::{Fluid, TankBuild};
use ostler_core::tanks::figures::check_build;
use ostler_core::tanks::{TankQuestion, figures};
use ostler_proto::v1;
use v1::compute_tank_request::Subject;

use super::kinds::{Vehicles, name_of};
use super::loads::known;
use super::{App, AppError};
use crate::convert::Within as _;
use crate::convert::fleet::fluid;
use crate::convert::tank::{build, figures_message, warming};

/// A tank to be computed.
struct Asked {
    fluid: Fluid,
    build: TankBuild,
    empty_mass_kg: f64,
    capacity_l: Option<f64>,
    density_kg_per_l: Option<f64>,
}

impl App {
    /// Computes a tank.
    ///
    /// # Errors
    /// When none is named or given, the vehicle or its tank does not exist, or numbers are out of range.
    pub async fn compute_tank(&self, request: v1::ComputeTankRequest) -> Result<v1::TankFigures, AppError> {
        let v1::ComputeTankRequest {
            subject,
            volume_l,
            density_kg_per_l,
            warming: asked_warming,
            leak_test_kpa,
            vehicle_mass_kg,
        } = request;
        let asked = match subject {
            Some(Subject::Recorded(recorded)) => self.recorded_tank(recorded).await?,
            Some(Subject::Given(given)) => given_tank(given)?,
            None => return Err(AppError::field("recorded", "or `given` must be set")),
        };
        let found = figures(&TankQuestion {
            fluid: asked.fluid,
            build: &asked.build,
            empty_mass_kg: asked.empty_mass_kg,
            volume_l: volume_l.or(asked.capacity_l),
            density_kg_per_l: density_kg_per_l.or(asked.density_kg_per_l),
            warming: asked_warming.map(warming),
            leak_test_kpa,
            vehicle_mass_kg,
        })?;
        Ok(figures_message(found))
    }

    async fn recorded_tank(&self, recorded: v1::RecordedTank) -> Result<Asked, AppError> {
        let v1::RecordedTank { vehicle, tank } = recorded;
        let name = name_of::<Vehicles>("recorded.vehicle", &vehicle)?;
        // That it is there is known before its record is read.
        self.stored::<Vehicles>(&name).await?;
        let read = self.read_vehicle(&name).await?;
        let found = known(&read, &name)?.specification.tank(&tank);
        let found = found
            .ok_or_else(|| AppError::field("recorded.tank", format!("{tank} is no tank of {vehicle}")))?;
        Ok(Asked {
            fluid: found.fluid,
            build: found.build.clone(),
            empty_mass_kg: found.empty_mass.as_ref().map_or(0.0, |mass| mass.mass_kg),
            capacity_l: Some(found.capacity_l),
            density_kg_per_l: read
                .record
                .fleet
                .fluid_densities_kg_per_l
                .get(&found.fluid)
                .copied(),
        })
    }
}

fn given_tank(given: v1::GivenTank) -> Result<Asked, AppError> {
    let v1::GivenTank {
        fluid: held,
        brimful_l,
        inside,
        pump,
        walls,
        empty_mass_kg,
    } = given;
    let build = build(brimful_l, inside, pump, walls).within("given")?;
    check_build(&build).within("given")?;
    Ok(Asked {
        fluid: fluid(held).within("given.fluid")?,
        build,
        empty_mass_kg,
        capacity_l: None,
        density_kg_per_l: None,
    })
}
