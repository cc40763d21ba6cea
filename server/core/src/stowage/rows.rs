//! The loads of a vehicle that have a limit, one row for each load state that can be the tightest.

use super::frame::Limit;
use super::model::{BaseLoad, ConvoyVehicle};
use crate::loads::LimitedLoad;

/// One limit of one vehicle in one load state: the load must not be above the limit.
#[derive(Debug, Clone)]
pub(super) struct Row {
    pub(super) limit: Limit,
    /// Index of the load state.
    pub(super) state: usize,
    /// Load by everything that is not an item.
    pub(super) base: f64,
    /// Most that it may be.
    pub(super) most: f64,
    /// Its margin counts. A limit of 0 has no relative margin: it is kept or not.
    pub(super) counts: bool,
    /// What turns an excess into a share.
    pub(super) scale: f64,
    /// Share of consumed items that is left.
    pub(super) share: f64,
    /// -1: the row speaks of the load's opposite.
    sign: f64,
}

impl Row {
    /// Relative margin of a load.
    pub(super) fn margin(&self, load: f64) -> f64 {
        (self.most - load) * self.scale
    }

    /// A load of the row as the load it speaks of.
    pub(super) fn natural(&self, load: f64) -> f64 {
        self.sign * load
    }

    /// What a kilogram in a zone, at x and y, adds.
    pub(super) fn adds(&self, vehicle: &ConvoyVehicle, zone: usize, (x_mm, y_mm): (f64, f64)) -> f64 {
        let zone = &vehicle.zones[zone];
        let rear = x_mm / vehicle.wheelbase_mm;
        let if_so = |so: bool| if so { 1.0 } else { 0.0 };
        let adds = match &self.limit {
            Limit::Load(LimitedLoad::Total) => 1.0,
            Limit::Load(LimitedLoad::FrontAxle) | Limit::FrontAxleDown => 1.0 - rear,
            Limit::Load(LimitedLoad::RearAxle) | Limit::RearAxleDown => rear,
            Limit::Load(LimitedLoad::Roof) => if_so(zone.on_roof),
            Limit::Load(LimitedLoad::Zone(id)) => if_so(zone.id == *id),
            Limit::LateralMoment => y_mm / 1000.0,
        };
        self.sign * adds
    }
}

/// The rows of a vehicle into which things go at `places` (zone, x and y).
pub(super) fn rows(vehicle: &ConvoyVehicle, places: &[(usize, (f64, f64))], any_consumed: bool) -> Vec<Row> {
    let mut rows = Vec::new();
    for (limit, most, sign) in limits(vehicle) {
        let counts = most > 0.0;
        let states = vehicle.states.iter().enumerate().map(|(state, base)| Row {
            state,
            base: sign * base_of(vehicle, base, &limit),
            most,
            counts,
            scale: if counts {
                most
            } else {
                vehicle.gross_mass_kg.max(1.0)
            }
            .recip(),
            share: base.consumed_share_left,
            sign,
            limit: limit.clone(),
        });
        let mut kept: Vec<Row> = Vec::new();
        for row in states {
            let adds: Vec<f64> = places
                .iter()
                .map(|(zone, at)| row.adds(vehicle, *zone, *at))
                .collect();
            let dominated = |row: &Row, by: &Row| {
                let never_more = adds.iter().all(|adds| adds * row.share <= adds * by.share);
                by.base >= row.base && (!any_consumed || never_more)
            };
            if !kept.iter().any(|by| dominated(&row, by)) {
                kept.retain(|before| !dominated(before, &row));
                kept.push(row);
            }
        }
        rows.append(&mut kept);
    }
    rows
}

/// What has a limit, the limit, and whether the load (1) or its opposite (-1) must not be above it.
fn limits(vehicle: &ConvoyVehicle) -> Vec<(Limit, f64, f64)> {
    let load = |load| Limit::Load(load);
    let mut limits = vec![
        (load(LimitedLoad::Total), vehicle.gross_mass_kg, 1.0),
        (load(LimitedLoad::FrontAxle), vehicle.front_axle_rating_kg, 1.0),
        (load(LimitedLoad::RearAxle), vehicle.rear_axle_rating_kg, 1.0),
        (Limit::FrontAxleDown, 0.0, -1.0),
        (Limit::RearAxleDown, 0.0, -1.0),
    ];
    limits.extend(
        vehicle
            .roof_limit_kg
            .map(|most| (load(LimitedLoad::Roof), most, 1.0)),
    );
    for zone in &vehicle.zones {
        let of = || load(LimitedLoad::Zone(zone.id.clone()));
        limits.extend(zone.limit_kg.map(|most| (of(), most, 1.0)));
    }
    for sign in [1.0, -1.0] {
        limits.extend(
            vehicle
                .lateral_limit_kgm
                .map(|most| (Limit::LateralMoment, most, sign)),
        );
    }
    limits
}

fn base_of(vehicle: &ConvoyVehicle, base: &BaseLoad, limit: &Limit) -> f64 {
    match limit {
        Limit::Load(LimitedLoad::Total) => base.total_kg,
        Limit::Load(LimitedLoad::FrontAxle) | Limit::FrontAxleDown => base.front_axle_kg,
        Limit::Load(LimitedLoad::RearAxle) | Limit::RearAxleDown => base.rear_axle_kg,
        Limit::Load(LimitedLoad::Roof) => base.roof_kg,
        Limit::Load(LimitedLoad::Zone(id)) => {
            let mut zones = vehicle.zones.iter().zip(&base.zones_kg);
            zones
                .find(|(zone, _)| zone.id == *id)
                .map_or(0.0, |(_, load_kg)| *load_kg)
        }
        Limit::LateralMoment => base.lateral_moment_kgm,
    }
}
