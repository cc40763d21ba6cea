//! Litres of one vehicle over each leg: rate per surface, map and driven distance, mass, idling.
//!
//! `litres = sum over surfaces (driven km x rate / 100) + idling hours x litres per hour`, with
//! `driven km = map km x route allowance factor` and
//! `rate = measured rate / odometer factor x (1 + mass share x (mass / mass measured at - 1))`.
//!
//! Litres per 100 km by surface are the trade's way of stating consumption (common practice, no
//! source). No reliable published surface multipliers were found: measure, or derive by [`super::rolling`].

use std::collections::HashMap;

use super::FuelError;
use super::error::Missing;
use crate::check::{Check, InvalidInput, element};

/// Most legs accepted for one route.
pub const LEGS_MAX: usize = 10_000;

/// Highest rate accepted, litres per 100 km.
pub const RATE_MAX_L_PER_100KM: f64 = 1_000.0;

/// Longest distance accepted for one surface of one leg, km.
pub const DISTANCE_MAX_KM: f64 = 100_000.0;

/// Where a rate comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RateProvenance {
    /// Measured on this surface with the vehicle loaded as for the departure.
    MeasuredLoaded,
    /// Measured on this surface with the vehicle unloaded.
    MeasuredUnloaded,
    /// Derived from a measured rate by rolling resistance.
    Derived,
    /// Assumed.
    Assumed,
}

/// How a rate follows the mass of the vehicle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MassCorrection {
    /// Mass of the vehicle when the rate was measured, kg, greater than 0.
    pub measured_at_kg: f64,
    /// Share of the consumption that grows in proportion to mass (rolling and climbing), 0 to 1.
    pub mass_share: f64,
}

/// Consumption of one vehicle on one surface.
#[derive(Debug, Clone, PartialEq)]
pub struct SurfaceRate {
    /// Name of the surface as the legs use it.
    pub surface: String,
    /// Litres per 100 km as measured, by the odometer of that day; greater than 0.
    pub rate_l_per_100km: f64,
    /// Where the rate comes from.
    pub provenance: RateProvenance,
    /// True km per indicated km when the rate was measured; 1 for a true distance; 0.5 to 2.
    pub odometer_factor: f64,
    /// Standard deviation as a fraction of the rate, 0 to 1; `None` when nobody declared one.
    pub spread_fraction: Option<f64>,
    /// Correction for mass; `None` to use the rate as it stands.
    pub mass_correction: Option<MassCorrection>,
}

/// What is known of the consumption of one vehicle.
#[derive(Debug, Clone, PartialEq)]
pub struct VehicleConsumption {
    /// One rate per surface.
    pub rates: Vec<SurfaceRate>,
    /// Litres per hour at idle; `None` when not known.
    pub idling_l_per_h: Option<f64>,
    /// True km per indicated km with what is fitted now, 0.5 to 2.
    pub odometer_factor_now: f64,
}

/// Part of a leg on one surface.
#[derive(Debug, Clone, PartialEq)]
pub struct SurfaceDistance {
    /// Name of the surface.
    pub surface: String,
    /// Distance on the map, km, 0 or more.
    pub map_km: f64,
}

/// One leg as one vehicle drives it.
#[derive(Debug, Clone, PartialEq)]
pub struct RouteLeg {
    /// Identifier of the leg.
    pub leg: String,
    /// Map distance by surface.
    pub surfaces: Vec<SurfaceDistance>,
    /// Hours the engine idles over the leg (camp, winching, welding by engine), 0 or more.
    pub idling_h: f64,
    /// Mass of the vehicle over the leg, kg; `None` when not known.
    pub mass_kg: Option<f64>,
}

/// Litres on one surface of one leg.
#[derive(Debug, Clone, PartialEq)]
pub struct SurfaceConsumption {
    /// Name of the surface.
    pub surface: String,
    /// Distance to drive, km.
    pub driven_km: f64,
    /// Rate after all corrections, litres per 100 true km.
    pub rate_l_per_100km: f64,
    /// Litres.
    pub litres: f64,
    /// Where the rate comes from.
    pub provenance: RateProvenance,
    /// Standard deviation as a fraction, as declared.
    pub spread_fraction: Option<f64>,
}

/// Litres over one leg.
#[derive(Debug, Clone, PartialEq)]
pub struct LegConsumption {
    /// Identifier of the leg.
    pub leg: String,
    /// Distance on the map, km.
    pub map_km: f64,
    /// Distance to drive, km.
    pub driven_km: f64,
    /// Distance the odometer will show, km.
    pub indicated_km: f64,
    /// By surface, only those with a distance.
    pub surfaces: Vec<SurfaceConsumption>,
    /// Litres burnt at idle.
    pub idling_l: f64,
    /// Litres in all.
    pub litres: f64,
    /// Standard deviation of the litres with the errors of all surfaces moving together (the larger
    /// of the plausible answers); idling is taken as certain. `None` when a spread is not declared.
    pub spread_l: Option<f64>,
}

/// Litres over a route.
#[derive(Debug, Clone, PartialEq)]
pub struct RouteConsumption {
    /// Every leg in order.
    pub legs: Vec<LegConsumption>,
    /// Distance on the map, km.
    pub map_km: f64,
    /// Distance to drive, km.
    pub driven_km: f64,
    /// Litres in all.
    pub litres: f64,
    /// Litres per 100 driven km over the route, idling included; `None` without distance.
    pub mean_l_per_100km: Option<f64>,
    /// What the reader should know of the rates.
    pub cautions: Vec<String>,
}

impl SurfaceRate {
    /// The rate in litres per 100 **true** km at the mass `mass_kg`.
    fn corrected(&self, mass_kg: Option<f64>) -> Option<f64> {
        let true_rate = self.rate_l_per_100km / self.odometer_factor;
        match self.mass_correction {
            None => Some(true_rate),
            Some(by) => {
                mass_kg.map(|mass| true_rate * (1.0 + by.mass_share * (mass / by.measured_at_kg - 1.0)))
            }
        }
    }
}

/// Litres of one vehicle over each leg of a route.
///
/// `route_allowance_factor` is driven km per map km (detours, recovery, search for the track), 1 to 3.
/// Nothing is rounded.
///
/// # Errors
/// [`FuelError::Invalid`] with every violation; [`FuelError::NotKnown`] naming each surface without
/// a rate, each leg whose mass is needed but not known, and the idling rate where a leg idles.
pub fn route_consumption(
    vehicle: &VehicleConsumption,
    legs: &[RouteLeg],
    route_allowance_factor: f64,
) -> Result<RouteConsumption, FuelError> {
    check_inputs(vehicle, legs, route_allowance_factor)?;
    let by_surface: HashMap<&str, &SurfaceRate> = vehicle
        .rates
        .iter()
        .map(|rate| (rate.surface.as_str(), rate))
        .collect();
    let mut missing = Missing::default();
    let legs: Vec<LegConsumption> = legs
        .iter()
        .map(|leg| leg_consumption(vehicle, &by_surface, leg, route_allowance_factor, &mut missing))
        .collect();
    missing.finish()?;
    let driven_km: f64 = legs.iter().map(|leg| leg.driven_km).sum();
    let litres: f64 = legs.iter().map(|leg| leg.litres).sum();
    Ok(RouteConsumption {
        map_km: legs.iter().map(|leg| leg.map_km).sum(),
        driven_km,
        litres,
        mean_l_per_100km: (driven_km > 0.0)
            .then(|| 100.0 * litres / driven_km)
            .filter(|mean| mean.is_finite()),
        cautions: cautions(&by_surface, &legs),
        legs,
    })
}

fn leg_consumption(
    vehicle: &VehicleConsumption,
    by_surface: &HashMap<&str, &SurfaceRate>,
    leg: &RouteLeg,
    route_allowance_factor: f64,
    missing: &mut Missing,
) -> LegConsumption {
    let mut surfaces = Vec::with_capacity(leg.surfaces.len());
    for part in leg.surfaces.iter().filter(|part| part.map_km > 0.0) {
        let Some(rate) = by_surface.get(part.surface.as_str()) else {
            missing.note(format!("consumption on {}", part.surface));
            continue;
        };
        let Some(corrected) = rate.corrected(leg.mass_kg) else {
            missing.note(format!("mass over leg {}", leg.leg));
            continue;
        };
        let driven_km = part.map_km * route_allowance_factor;
        surfaces.push(SurfaceConsumption {
            surface: part.surface.clone(),
            driven_km,
            rate_l_per_100km: corrected,
            litres: driven_km * corrected / 100.0,
            provenance: rate.provenance,
            spread_fraction: rate.spread_fraction,
        });
    }
    if leg.idling_h > 0.0 && vehicle.idling_l_per_h.is_none() {
        missing.note("consumption at idle".to_owned());
    }
    let map_km: f64 = leg.surfaces.iter().map(|part| part.map_km).sum();
    let driven_km = map_km * route_allowance_factor;
    let idling_l = leg.idling_h * vehicle.idling_l_per_h.unwrap_or(0.0);
    LegConsumption {
        leg: leg.leg.clone(),
        map_km,
        driven_km,
        indicated_km: driven_km / vehicle.odometer_factor_now,
        idling_l,
        litres: surfaces.iter().map(|part| part.litres).sum::<f64>() + idling_l,
        spread_l: surfaces
            .iter()
            .map(|part| part.spread_fraction.map(|spread| spread * part.litres))
            .sum(),
        surfaces,
    }
}

fn cautions(by_surface: &HashMap<&str, &SurfaceRate>, legs: &[LegConsumption]) -> Vec<String> {
    let mut cautions = Vec::new();
    for part in legs.iter().flat_map(|leg| &leg.surfaces) {
        let corrected = by_surface
            .get(part.surface.as_str())
            .is_some_and(|rate| rate.mass_correction.is_some());
        let caution = match part.provenance {
            RateProvenance::MeasuredLoaded => continue,
            RateProvenance::MeasuredUnloaded if corrected => continue,
            RateProvenance::MeasuredUnloaded => {
                format!(
                    "the rate on {} was measured unloaded and is not corrected for mass",
                    part.surface
                )
            }
            RateProvenance::Derived => format!("the rate on {} is derived, not measured", part.surface),
            RateProvenance::Assumed => format!("the rate on {} is assumed, not measured", part.surface),
        };
        if !cautions.contains(&caution) {
            cautions.push(caution);
        }
    }
    cautions
}

fn check_inputs(
    vehicle: &VehicleConsumption,
    legs: &[RouteLeg],
    route_allowance_factor: f64,
) -> Result<(), InvalidInput> {
    let mut check = Check::new();
    check.between("route_allowance_factor", route_allowance_factor, 1.0, 3.0);
    check.between("odometer_factor_now", vehicle.odometer_factor_now, 0.5, 2.0);
    if let Some(idling) = vehicle.idling_l_per_h {
        check.between("idling_l_per_h", idling, 0.0, 100.0);
    }
    check.merge("", check_rates(&vehicle.rates));
    if legs.len() > LEGS_MAX {
        check.refuse("legs", format!("must be at most {LEGS_MAX}, are {}", legs.len()));
        return check.finish();
    }
    for (index, leg) in legs.iter().enumerate() {
        let path = |field| element("legs", index, field);
        check.between(path("idling_h"), leg.idling_h, 0.0, 10_000.0);
        if let Some(mass_kg) = leg.mass_kg {
            check.between(path("mass_kg"), mass_kg, 1.0, 1e6);
        }
        for (part, distance) in leg.surfaces.iter().enumerate() {
            check.between(
                format_args!("legs[{index}].surfaces[{part}].map_km"),
                distance.map_km,
                0.0,
                DISTANCE_MAX_KM,
            );
        }
    }
    check.finish()
}

/// Checks rates: ranges, and each surface once.
pub(super) fn check_rates(rates: &[SurfaceRate]) -> Result<(), InvalidInput> {
    let mut check = Check::new();
    let mut seen = HashMap::new();
    for (index, rate) in rates.iter().enumerate() {
        let path = |field| element("rates", index, field);
        if seen.insert(rate.surface.as_str(), index).is_some() {
            check.refuse(path("surface"), format!("is given twice: {}", rate.surface));
        }
        check.positive(path("rate_l_per_100km"), rate.rate_l_per_100km);
        check.between(
            path("rate_l_per_100km"),
            rate.rate_l_per_100km,
            0.0,
            RATE_MAX_L_PER_100KM,
        );
        check.between(path("odometer_factor"), rate.odometer_factor, 0.5, 2.0);
        if let Some(spread) = rate.spread_fraction {
            check.between(path("spread_fraction"), spread, 0.0, 1.0);
        }
        if let Some(by) = rate.mass_correction {
            check.between(
                path("mass_correction.measured_at_kg"),
                by.measured_at_kg,
                1.0,
                1e6,
            );
            check.between(path("mass_correction.mass_share"), by.mass_share, 0.0, 1.0);
        }
    }
    check.finish()
}
