//! Tanks: how they are built, what is asked of them, what follows.

use ostler_core::check::InvalidInput;
use ostler_core::record::{TankBuild, TankInside, TankPolicy, TankWalls};
use ostler_core::tanks::figures::{
    FILL_SHARE_MAX, FORMULA_VERSION, PlateLoad, Room, TankContents, TankFigures, WallLoad, Warming,
};
use ostler_core::tanks::flow::{Levelling, Starvation};
use ostler_core::tanks::ullage::FillVerdict;
use ostler_core::tanks::{
    Baffle, Cell, CellChain, CylinderAxis, Division, Draw, FreeSurface, Hole, Passage, Shape, leak_test,
    ullage,
};
use ostler_proto::v1;
use v1::tank_inside::Shape as ShapeMessage;

use super::{Converted, Within};

/// Discharge coefficient of a sharp edge (read; see `ostler_core::tanks::Hole`).
const SHARP_EDGE: f64 = 0.6;

/// How a tank is built.
pub(crate) fn build(
    brimful_l: Option<f64>,
    inside: Option<v1::TankInside>,
    pump: Option<v1::TankPump>,
    walls: Option<v1::TankWalls>,
) -> Converted<TankBuild> {
    Ok(TankBuild {
        brimful_l,
        inside: inside.map(inside_of).transpose().within("inside")?,
        pump: pump.map(draw),
        walls: walls.map(walls_of),
    })
}

fn inside_of(message: v1::TankInside) -> Converted<TankInside> {
    let v1::TankInside {
        shape,
        count,
        cells,
        baffles,
        lengthwise_walls,
    } = message;
    let shape =
        shape_of(shape.ok_or_else(|| {
            InvalidInput::one("box", "or `lying_cylinder` or `standing_cylinder` must be set")
        })?);
    if cells.is_empty() && !baffles.is_empty() {
        return Err(InvalidInput::one("baffles", "must be empty without cells"));
    }
    // A cell is as wide as the box; in another shape the check of the record refuses cells.
    let width_mm = match shape {
        Shape::RectangularPrism { width_mm, .. } => width_mm,
        Shape::HorizontalCylinder { diameter_mm, .. } | Shape::VerticalCylinder { diameter_mm, .. } => {
            diameter_mm
        }
    };
    let chain = (!cells.is_empty()).then(|| CellChain {
        height_mm: shape.height_mm(),
        cells: cells
            .into_iter()
            .map(|v1::TankCell { length_mm, airless }| Cell {
                length_mm,
                width_mm,
                is_vented: !airless,
            })
            .collect(),
        baffles: baffles
            .into_iter()
            .map(|v1::TankBaffle { holes }| Baffle {
                holes: holes.into_iter().map(hole).collect(),
            })
            .collect(),
    });
    Ok(TankInside {
        shape,
        count: count.unsigned_abs().max(1),
        chain,
        lengthwise_walls: lengthwise_walls
            .into_iter()
            .map(|v1::LengthwiseWall { from_left_mm, open }| Division {
                from_left_mm,
                passage: if open { Passage::Open } else { Passage::Closed },
            })
            .collect(),
    })
}

fn shape_of(message: ShapeMessage) -> Shape {
    match message {
        ShapeMessage::Box(v1::TankBox {
            length_mm,
            width_mm,
            height_mm,
        }) => Shape::RectangularPrism {
            length_mm,
            width_mm,
            height_mm,
        },
        ShapeMessage::LyingCylinder(v1::LyingCylinder {
            diameter_mm,
            length_mm,
            crosswise,
        }) => Shape::HorizontalCylinder {
            diameter_mm,
            length_mm,
            axis: if crosswise {
                CylinderAxis::Crosswise
            } else {
                CylinderAxis::Lengthwise
            },
        },
        ShapeMessage::StandingCylinder(v1::StandingCylinder {
            diameter_mm,
            height_mm,
        }) => Shape::VerticalCylinder {
            diameter_mm,
            height_mm,
        },
    }
}

fn hole(message: v1::BaffleHole) -> Hole {
    let v1::BaffleHole {
        height_mm,
        diameter_mm,
        count,
        discharge_coefficient,
    } = message;
    Hole {
        height_mm,
        diameter_mm,
        count: count.unsigned_abs().max(1),
        discharge_coefficient: discharge_coefficient.unwrap_or(SHARP_EDGE),
    }
}

fn draw(message: v1::TankPump) -> Draw {
    let v1::TankPump {
        cell,
        draw_l_per_min,
        pickup_height_mm,
    } = message;
    Draw {
        // The contract keeps it from 0 to 31.
        cell: usize::try_from(cell).unwrap_or(usize::MAX),
        rate_l_per_min: draw_l_per_min,
        pickup_height_mm,
    }
}

fn walls_of(message: v1::TankWalls) -> TankWalls {
    let v1::TankWalls {
        thickness_mm,
        modulus_gpa,
        yield_mpa,
        bays,
    } = message;
    TankWalls {
        thickness_mm,
        modulus_gpa,
        yield_mpa,
        bays_mm: bays
            .into_iter()
            .map(|v1::WallBay { length_mm, width_mm }| (length_mm, width_mm))
            .collect(),
    }
}

/// What a policy asks of tanks.
pub(crate) fn tank_policy(message: v1::TankPolicy) -> TankPolicy {
    let v1::TankPolicy {
        fill_temperature_c,
        hottest_temperature_c,
        fill_share_max,
        pump_flow,
        leak_test_kpa,
        yield_share_max,
        free_surface_rise_max_mm,
    } = message;
    TankPolicy {
        fill_temperature_c,
        hottest_temperature_c,
        fill_share_max,
        pump_flow,
        leak_test_kpa,
        yield_share_max,
        free_surface_rise_max_mm,
    }
}

/// Temperatures between which fuel must have room.
pub(crate) fn warming(message: v1::TankWarming) -> Warming {
    let v1::TankWarming {
        fill_temperature_c,
        hottest_temperature_c,
        fill_share_max,
    } = message;
    Warming {
        fill_temperature_c,
        hottest_temperature_c,
        fill_share_max: fill_share_max.unwrap_or(FILL_SHARE_MAX),
    }
}

/// What follows from the data of a tank.
pub(crate) fn figures_message(figures: TankFigures) -> v1::TankFigures {
    let TankFigures {
        brimful_l,
        now,
        brimful,
        room,
        free_surface,
        slosh_hz,
        starvation,
        levelling,
        walls,
        missing,
    } = figures;
    let mut cautions: Vec<&str> = ullage::CAUTIONS.into();
    if !walls.is_empty() {
        cautions.extend(leak_test::CAUTIONS);
    }
    v1::TankFigures {
        brimful_l,
        now: now.map(contents_message),
        brimful: brimful.map(contents_message),
        room: room.map(room_message),
        free_surface: free_surface.map(surface_message),
        slosh: slosh_hz
            .into_iter()
            .map(|(lengthwise_hz, crosswise_hz)| v1::TankSlosh {
                lengthwise_hz,
                crosswise_hz,
            })
            .collect(),
        flow: flow_message(starvation, levelling),
        walls: walls.into_iter().map(wall_message).collect(),
        missing,
        cautions: cautions.into_iter().map(str::to_owned).collect(),
        formula_version: FORMULA_VERSION.to_owned(),
    }
}

fn contents_message(contents: TankContents) -> v1::TankContents {
    let TankContents {
        volume_l,
        mass_kg,
        weight_n,
        level_mm,
        centre_mm,
    } = contents;
    v1::TankContents {
        volume_l,
        mass_kg,
        weight_n,
        level_mm,
        centre_mm,
    }
}

fn room_message(room: Room) -> v1::TankRoom {
    let (excess_l, ullage_l) = match room.verdict {
        FillVerdict::WithinLimit { ullage_l } => (0.0, ullage_l),
        FillVerdict::OverLimit { excess_l, ullage_l } => (excess_l, ullage_l),
        FillVerdict::Spills { excess_l, spill_l } => (excess_l, -spill_l),
    };
    v1::TankRoom {
        fill_limit_l: room.fill_limit_l,
        excess_l,
        ullage_l,
    }
}

fn surface_message(surface: FreeSurface) -> v1::TankFreeSurface {
    v1::TankFreeSurface {
        moment_kgm: surface.moment_kg_m,
        virtual_rise_mm: surface.virtual_rise_mm,
        saved_share: surface.saved_fraction,
        valid_to_deg: surface.valid_to_deg,
    }
}

/// Flow of a tank with cells. `None`: it has none.
fn flow_message(starvation: Option<Starvation>, levelling: Option<Levelling>) -> Option<v1::TankFlow> {
    let levelling = levelling?;
    // At most 32 cells.
    let number = |index: usize| i32::try_from(index).ok();
    let flow = match starvation {
        None => v1::TankFlow::default(),
        Some(Starvation::AtFill {
            volume_l,
            holes_are_covered,
            most_volume_l,
            ..
        }) => v1::TankFlow {
            starving: v1::TankStarving::AtFill.into(),
            left_l: if holes_are_covered {
                Some(volume_l)
            } else {
                most_volume_l
            },
            ..Default::default()
        },
        Some(Starvation::HolesTooSmall {
            baffle,
            needed_l_per_min,
            passes_l_per_min,
        }) => v1::TankFlow {
            starving: v1::TankStarving::HolesTooSmall.into(),
            at_fault: number(baffle),
            needed_l_per_min: Some(needed_l_per_min),
            passes_l_per_min: Some(passes_l_per_min),
            ..Default::default()
        },
        Some(Starvation::AirLocked { cell }) => v1::TankFlow {
            starving: v1::TankStarving::Airless.into(),
            at_fault: number(cell),
            ..Default::default()
        },
    };
    Some(v1::TankFlow {
        levels_within_s: levelling.within_s,
        ..flow
    })
}

fn wall_message(load: WallLoad) -> v1::TankWallLoad {
    let WallLoad {
        sides_mm: (length_mm, width_mm),
        simply_supported,
        clamped,
    } = load;
    v1::TankWallLoad {
        length_mm,
        width_mm,
        simply_supported: Some(plate_message(simply_supported)),
        clamped: Some(plate_message(clamped)),
    }
}

fn plate_message(load: PlateLoad) -> v1::PlateLoad {
    v1::PlateLoad {
        stress_mpa: load.result.stress_mpa,
        deflection_mm: load.result.deflection_mm,
        valid: load.result.is_valid(),
        valid_to_kpa: load.valid_to_kpa,
    }
}
