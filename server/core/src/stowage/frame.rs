//! The question as rows and places: every load that has a limit is a row, linear in what is placed where.

use super::model::{Ban, Convoy, ConvoyVehicle, Item};
use super::rows::{Row, rows};
use crate::loads::LimitedLoad;

/// What a placement must keep.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Limit {
    /// A load is within its limit.
    Load(LimitedLoad),
    /// The sideways moment is within its bound, either way.
    LateralMoment,
    /// The front axle does not lift. It must hold and counts for no margin.
    FrontAxleDown,
    /// The rear axle does not lift. It must hold and counts for no margin.
    RearAxleDown,
}

impl Limit {
    /// Its id: that of the load, `lateral_moment`, `front_axle_down` or `rear_axle_down`.
    pub fn id(&self) -> String {
        match self {
            Self::Load(load) => load.id(),
            Self::LateralMoment => "lateral_moment".to_owned(),
            Self::FrontAxleDown => "front_axle_down".to_owned(),
            Self::RearAxleDown => "rear_axle_down".to_owned(),
        }
    }
}

/// A place: what a kilogram in it adds to each row of its vehicle.
#[derive(Debug, Clone)]
pub(super) struct Spot {
    pub(super) vehicle: usize,
    pub(super) zone: usize,
    pub(super) adds: Vec<f64>,
}

/// An item and the spots it may be in.
#[derive(Debug, Clone)]
pub(super) struct Piece {
    pub(super) mass_kg: f64,
    pub(super) consumed: bool,
    /// In ascending order.
    pub(super) spots: Vec<usize>,
    /// Where it is, if it may stay there.
    pub(super) now: Option<usize>,
    /// Where it is, allowed or not.
    pub(super) stood: Option<usize>,
}

/// The compiled question.
#[derive(Debug)]
pub(super) struct Frame {
    /// Rows of each vehicle.
    pub(super) rows: Vec<Vec<Row>>,
    pub(super) spots: Vec<Spot>,
    /// Zones come first in `spots`; what follows are the items' own places.
    pub(super) zone_spots: usize,
    pub(super) pieces: Vec<Piece>,
    /// What moves together: an item alone, or a group. Every item is in exactly one.
    pub(super) units: Vec<Vec<usize>>,
    /// The unit of each item.
    pub(super) unit_of: Vec<usize>,
}

impl Frame {
    /// Compiles a checked question.
    pub(super) fn new(convoy: &Convoy) -> Self {
        let any_consumed = convoy
            .items
            .iter()
            .any(|item| item.consumed && item.mass_kg > 0.0);
        let mut frame = Self {
            rows: Vec::new(),
            spots: Vec::new(),
            zone_spots: 0,
            pieces: Vec::new(),
            units: Vec::new(),
            unit_of: Vec::new(),
        };
        for (index, vehicle) in convoy.vehicles.iter().enumerate() {
            let here = convoy
                .items
                .iter()
                .filter_map(|item| item.now)
                .filter(|now| now.vehicle == index);
            let own = here.filter_map(|now| now.own.map(|own| (now.zone, (own.x_mm, own.y_mm))));
            let zones = vehicle.zones.iter().enumerate();
            let places: Vec<_> = zones
                .map(|(zone, at)| (zone, (at.x_mm, at.y_mm)))
                .chain(own)
                .collect();
            frame.rows.push(rows(vehicle, &places, any_consumed));
        }
        for (vehicle, of) in convoy.vehicles.iter().enumerate() {
            for (zone, at) in of.zones.iter().enumerate() {
                frame.add_spot(of, vehicle, zone, (at.x_mm, at.y_mm));
            }
        }
        frame.zone_spots = frame.spots.len();
        for item in &convoy.items {
            frame.add_piece(convoy, item);
        }
        frame.units = convoy
            .groups
            .iter()
            .filter(|group| !group.is_empty())
            .cloned()
            .collect();
        let mut grouped = vec![false; convoy.items.len()];
        frame
            .units
            .iter()
            .flatten()
            .for_each(|item| grouped[*item] = true);
        let alone = (0..convoy.items.len()).filter(|item| !grouped[*item]);
        frame.units.extend(alone.map(|item| vec![item]));
        frame.unit_of = vec![0; convoy.items.len()];
        for (unit, items) in frame.units.iter().enumerate() {
            items.iter().for_each(|item| frame.unit_of[*item] = unit);
        }
        frame
    }

    fn add_spot(&mut self, of: &ConvoyVehicle, vehicle: usize, zone: usize, at: (f64, f64)) {
        let adds = self.rows[vehicle]
            .iter()
            .map(|row| row.adds(of, zone, at))
            .collect();
        self.spots.push(Spot { vehicle, zone, adds });
    }

    fn add_piece(&mut self, convoy: &Convoy, item: &Item) {
        let now = item.now.map(|place| match place.own {
            None => self.spot_of(convoy, place.vehicle, place.zone),
            Some(own) => {
                let of = &convoy.vehicles[place.vehicle];
                self.add_spot(of, place.vehicle, place.zone, (own.x_mm, own.y_mm));
                self.spots.len() - 1
            }
        });
        let allowed = |spot: &Spot| {
            let zone = &convoy.vehicles[spot.vehicle].zones[spot.zone];
            let roofless = zone.on_roof && convoy.vehicles[spot.vehicle].roof_limit_kg.is_none();
            let banned = item.bans.iter().any(|ban| match *ban {
                Ban::Roof => zone.on_roof,
                Ban::OccupantSpace => zone.occupant_space,
                Ban::Vehicle(vehicle) => spot.vehicle == vehicle,
                Ban::Zone(vehicle, of) => (spot.vehicle, spot.zone) == (vehicle, of),
            });
            !roofless && !banned
        };
        let stays = now.filter(|spot| item.pinned || allowed(&self.spots[*spot]));
        let spots = if item.pinned {
            stays.into_iter().collect()
        } else {
            let elsewhere = |spot: &Spot| {
                stays.is_none_or(|now| {
                    let here = &self.spots[now];
                    (here.vehicle, here.zone) != (spot.vehicle, spot.zone)
                })
            };
            let zones = (0..self.zone_spots)
                .filter(|spot| allowed(&self.spots[*spot]) && elsewhere(&self.spots[*spot]));
            let mut spots: Vec<usize> = zones.chain(stays).collect();
            spots.sort_unstable();
            spots
        };
        self.pieces.push(Piece {
            mass_kg: item.mass_kg,
            consumed: item.consumed,
            spots,
            now: stays,
            stood: now,
        });
    }

    fn spot_of(&self, convoy: &Convoy, vehicle: usize, zone: usize) -> usize {
        let before: usize = convoy.vehicles[..vehicle].iter().map(|of| of.zones.len()).sum();
        before + zone
    }

    /// What an item in a spot adds to each row of the spot's vehicle.
    pub(super) fn added(&self, piece: usize, spot: usize) -> impl Iterator<Item = f64> {
        let spot = &self.spots[spot];
        let piece = &self.pieces[piece];
        self.rows[spot.vehicle].iter().zip(&spot.adds).map(|(row, adds)| {
            let share = if piece.consumed { row.share } else { 1.0 };
            piece.mass_kg * share * adds
        })
    }

    /// The vehicles that have a spot for every item of a unit, in ascending order.
    pub(super) fn vehicles_of(&self, unit: usize) -> Vec<usize> {
        (0..self.rows.len())
            .filter(|vehicle| {
                self.units[unit].iter().all(|item| {
                    let mut spots = self.pieces[*item].spots.iter();
                    spots.any(|spot| self.spots[*spot].vehicle == *vehicle)
                })
            })
            .collect()
    }
}
