//! Everything that the data of one tank give, recorded or not: what is not known is left out and named.

use super::contents::{ContentsInput, contents};
use super::flow::{Levelling, Starvation, level_out, starvation};
use super::free_surface::{FreeSurface, FreeSurfaceInput, free_surface};
use super::plates::{Edge, Panel, PanelResult, greatest_valid_pressure_kpa, panel_under_pressure};
use super::slosh::{SloshCell, slosh_frequencies};
use super::ullage::{FillInput, FillVerdict, fill_limit, judge_fill};
use super::{Shape, TankPosition};
use crate::check::{Check, InvalidInput};
use crate::record::{Fluid, TankBuild, TankInside, TankWalls};
use crate::units::STANDARD_GRAVITY_M_PER_S2;

/// How the figures are computed.
pub const FORMULA_VERSION: &str = "tanks-1";

/// Share of the brimful volume that fuel may take when hottest, unless a policy says another: the 98 percent of
/// ADR 4.1.1.4 (read, see [`ullage`](super::ullage)).
pub const FILL_SHARE_MAX: f64 = 0.98;

/// Difference of levels that counts as level, millimetres: common practice, no source.
const LEVEL_WITHIN_MM: f64 = 5.0;
/// Longest time that levelling is followed, seconds.
const LEVEL_LIMIT_S: f64 = 3_600.0;

/// What is asked of a tank.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TankQuestion<'a> {
    /// What it holds.
    pub fluid: Fluid,
    /// How it is built.
    pub build: &'a TankBuild,
    /// Mass of the empty tank, 0 when it is counted elsewhere, kilograms.
    pub empty_mass_kg: f64,
    /// Litres in it. `None`: brimful.
    pub volume_l: Option<f64>,
    /// Density at 15 C, kilograms per litre. `None`: not known.
    pub density_kg_per_l: Option<f64>,
    /// Temperatures between which fuel must have room. `None`: not asked.
    pub warming: Option<Warming>,
    /// Pressure of a leak test, kilopascals. `None`: not asked.
    pub leak_test_kpa: Option<f64>,
    /// Mass of the loaded vehicle, kilograms. `None`: the free surface is not asked for.
    pub vehicle_mass_kg: Option<f64>,
}

/// How warm fuel becomes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Warming {
    /// Temperature when it is filled, degrees Celsius.
    pub fill_temperature_c: f64,
    /// Hottest temperature, degrees Celsius.
    pub hottest_temperature_c: f64,
    /// Greatest share of the brimful volume that it may take when hottest.
    pub fill_share_max: f64,
}

/// What the data give.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct TankFigures {
    /// Brimful volume, litres.
    pub brimful_l: Option<f64>,
    /// Contents now.
    pub now: Option<TankContents>,
    /// Contents brimful: what restraint must hold.
    pub brimful: Option<TankContents>,
    /// Room to expand; of fuel.
    pub room: Option<Room>,
    /// Free surface.
    pub free_surface: Option<FreeSurface>,
    /// First slosh frequencies cell by cell, along and across, hertz; of a box.
    pub slosh_hz: Vec<(f64, f64)>,
    /// When the pump's cell falls to its pickup.
    pub starvation: Option<Starvation>,
    /// How long the cells take to level, the first full to its roof beside half-full others.
    pub levelling: Option<Levelling>,
    /// Bays under test pressure.
    pub walls: Vec<WallLoad>,
    /// What is missing, in sentences.
    pub missing: Vec<String>,
}

/// Liquid and tank at rest.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TankContents {
    /// Litres.
    pub volume_l: f64,
    /// Liquid and empty tank, kilograms.
    pub mass_kg: f64,
    /// The same as a weight, newtons.
    pub weight_n: f64,
    /// Level above the floor, millimetres. `None`: the inside is not known.
    pub level_mm: Option<f64>,
    /// Centre of liquid and tank above the floor, millimetres. `None`: the inside is not known.
    pub centre_mm: Option<f64>,
}

/// Room to expand.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Room {
    /// Most litres to fill in.
    pub fill_limit_l: f64,
    /// What becomes of what is filled in.
    pub verdict: FillVerdict,
}

/// A bay under test pressure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WallLoad {
    /// Its sides, the longer first, millimetres.
    pub sides_mm: (f64, f64),
    /// With edges that turn freely.
    pub simply_supported: PlateLoad,
    /// With edges held against turning.
    pub clamped: PlateLoad,
}

/// A plate under pressure, and how far the figures reach.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PlateLoad {
    /// What pressure does to it.
    pub result: PanelResult,
    /// Greatest pressure up to which the figures may be used, kilopascals.
    pub valid_to_kpa: f64,
}

/// Checks how a tank is built, of whatever capacity.
///
/// # Errors
/// Everything that is out of range or contradicts itself, with its path below the tank.
pub fn check_build(build: &TankBuild) -> Result<(), InvalidInput> {
    let mut check = Check::new();
    if let Some(brimful_l) = build.brimful_l {
        check.positive("brimful_l", brimful_l);
    }
    if let Some(inside) = &build.inside {
        check_inside(&mut check, inside);
        if let Some(pump) = &build.pump {
            let cells = inside.chain.as_ref().map_or(1, |chain| chain.cells.len());
            if pump.cell >= cells {
                check.refuse("pump.cell", format!("must be below the number of cells, {cells}"));
            }
            let height_mm = inside.shape.height_mm();
            if pump.pickup_height_mm > height_mm {
                check.refuse(
                    "pump.pickup_height_mm",
                    format!("must not be above the height of the inside, {height_mm} mm"),
                );
            }
        }
    }
    check.finish()
}

fn check_inside(check: &mut Check, inside: &TankInside) {
    if check.merge("inside", inside.shape.check()).is_none() {
        return;
    }
    let boxed = match inside.shape {
        Shape::RectangularPrism {
            length_mm, width_mm, ..
        } => Some((length_mm, width_mm)),
        _ => None,
    };
    if let Some(chain) = &inside.chain {
        match boxed {
            None => check.refuse("inside.cells", "must be empty unless the inside is a box"),
            Some((length_mm, _)) => {
                check.merge("inside", chain.check());
                let cells_mm: f64 = chain.cells.iter().map(|cell| cell.length_mm).sum();
                // A millimetre for rounding.
                if cells_mm > length_mm + 1.0 {
                    let problem = format!("must fit into the length of {length_mm} mm, take {cells_mm} mm");
                    check.refuse("inside.cells", problem);
                }
            }
        }
    }
    let across_mm = match inside.shape {
        Shape::RectangularPrism { width_mm, .. } => Some(width_mm),
        Shape::HorizontalCylinder { diameter_mm, .. } => Some(diameter_mm),
        Shape::VerticalCylinder { .. } => None,
    };
    let mut before_mm = 0.0;
    for (index, wall) in inside.lengthwise_walls.iter().enumerate() {
        let field = format!("inside.lengthwise_walls[{index}].from_left_mm");
        match across_mm {
            None => check.refuse(&field, "must be unset in a standing cylinder"),
            Some(across_mm) if !(wall.from_left_mm > before_mm && wall.from_left_mm < across_mm) => {
                let problem = format!(
                    "must be above {before_mm} and below {across_mm} mm, is {}",
                    wall.from_left_mm
                );
                check.refuse(&field, problem);
            }
            Some(_) => {}
        }
        before_mm = wall.from_left_mm;
    }
}

/// Brimful volume in litres. `None`: neither stated nor known from the inside.
///
/// # Errors
/// Dimensions out of range.
pub fn brimful_l(build: &TankBuild) -> Result<Option<f64>, InvalidInput> {
    match (build.brimful_l, &build.inside) {
        (Some(stated_l), _) => Ok(Some(stated_l)),
        (None, Some(inside)) => {
            let one_l = inside
                .shape
                .capacity_l()
                .map_err(|refused| refused.within("inside"))?;
            Ok(Some(one_l * f64::from(inside.count)))
        }
        (None, None) => Ok(None),
    }
}

/// Computes a tank.
///
/// # Errors
/// Numbers out of range, or data that contradict each other, with their field.
pub fn figures(asked: &TankQuestion<'_>) -> Result<TankFigures, InvalidInput> {
    check_build(asked.build)?;
    let mut found = TankFigures {
        brimful_l: brimful_l(asked.build)?,
        ..TankFigures::default()
    };
    if asked.density_kg_per_l.is_none() {
        let text = format!("the density of {} is not known", asked.fluid.word());
        found.missing.push(text);
    }
    match found.brimful_l {
        None => found
            .missing
            .push("neither the brimful volume nor the inside is known".to_owned()),
        Some(brimful_l) => {
            let volume_l = asked.volume_l.unwrap_or(brimful_l);
            let mut check = Check::new();
            check.between("volume_l", volume_l, 0.0, brimful_l);
            check.finish()?;
            if let Some(density_kg_per_l) = asked.density_kg_per_l {
                found.now = Some(contents_of(asked, volume_l, density_kg_per_l)?);
                found.brimful = Some(contents_of(asked, brimful_l, density_kg_per_l)?);
                if let Some(warming) = asked.warming.filter(|_| asked.fluid.is_fuel()) {
                    let (least, most) = super::density::PRODUCT_DENSITY_KG_PER_M3;
                    let mut check = Check::new();
                    check.between("density_kg_per_l", density_kg_per_l, least / 1e3, most / 1e3);
                    check.finish()?;
                    let room = room(&warming, brimful_l, density_kg_per_l, volume_l);
                    found.room = Some(room.map_err(|refused| refused.within("warming"))?);
                }
            }
        }
    }
    match &asked.build.inside {
        Some(inside) => inside_figures(asked, inside, &mut found)?,
        None => found.missing.push("the inside is not known".to_owned()),
    }
    if let Some(pressure_kpa) = asked.leak_test_kpa {
        match &asked.build.walls {
            Some(walls) => found.walls = wall_loads(walls, pressure_kpa)?,
            None => found.missing.push("the walls are not known".to_owned()),
        }
    }
    Ok(found)
}

fn contents_of(
    asked: &TankQuestion<'_>,
    volume_l: f64,
    density_kg_per_l: f64,
) -> Result<TankContents, InvalidInput> {
    let mass_kg = volume_l * density_kg_per_l + asked.empty_mass_kg;
    let mut found = TankContents {
        volume_l,
        mass_kg,
        weight_n: mass_kg * STANDARD_GRAVITY_M_PER_S2,
        level_mm: None,
        centre_mm: None,
    };
    if let Some(inside) = &asked.build.inside {
        let count = f64::from(inside.count);
        let one = contents(&ContentsInput {
            shape: inside.shape,
            position: TankPosition {
                x_mm: 0.0,
                y_mm: 0.0,
                floor_z_mm: 0.0,
            },
            density_kg_per_m3: density_kg_per_l * 1e3,
            shell_mass_kg: asked.empty_mass_kg / count,
            // A stated brimful volume may be a little above that of the plain shape.
            volume_l: Some((volume_l / count).min(inside.shape.capacity_l()?)),
        })?;
        found.level_mm = Some(one.level_mm);
        found.centre_mm = Some(one.z_mm);
    }
    Ok(found)
}

/// Room of fuel to expand.
///
/// # Errors
/// Numbers out of range.
pub fn room(
    warming: &Warming,
    brimful_l: f64,
    density_kg_per_l: f64,
    volume_l: f64,
) -> Result<Room, InvalidInput> {
    let input = FillInput {
        capacity_l: brimful_l,
        density_15_kg_per_m3: density_kg_per_l * 1e3,
        fill_temperature_c: warming.fill_temperature_c,
        hottest_temperature_c: warming.hottest_temperature_c,
        greatest_fill_fraction: warming.fill_share_max,
    };
    Ok(Room {
        fill_limit_l: fill_limit(&input)?.volume_l,
        verdict: judge_fill(&input, volume_l)?,
    })
}

fn inside_figures(
    asked: &TankQuestion<'_>,
    inside: &TankInside,
    found: &mut TankFigures,
) -> Result<(), InvalidInput> {
    let level_mm = found.now.and_then(|now| now.level_mm);
    if let (Some(mass_kg), Some(level_mm), Some(density_kg_per_l)) =
        (asked.vehicle_mass_kg, level_mm, asked.density_kg_per_l)
    {
        found.free_surface = surface_of(inside, level_mm, density_kg_per_l, mass_kg)?;
    }
    if let Some(depth_mm) = level_mm.filter(|level_mm| *level_mm >= super::SIDE_MIN_MM) {
        found.slosh_hz = slosh_of(inside, depth_mm)?;
    }
    if let Some(chain) = inside.chain.as_ref().filter(|chain| chain.cells.len() > 1) {
        let mut levels_mm = vec![chain.height_mm / 2.0; chain.cells.len()];
        if let Some(first) = levels_mm.first_mut() {
            *first = chain.height_mm;
        }
        found.levelling = Some(level_out(chain, &levels_mm, LEVEL_WITHIN_MM, LEVEL_LIMIT_S)?);
        match &asked.build.pump {
            Some(pump) => {
                found.starvation = Some(starvation(chain, pump).map_err(|refused| refused.within("pump"))?);
            }
            None => found.missing.push("the draw of the pump is not known".to_owned()),
        }
    }
    Ok(())
}

/// First slosh frequencies of a box, cell by cell, along and across.
fn slosh_of(inside: &TankInside, depth_mm: f64) -> Result<Vec<(f64, f64)>, InvalidInput> {
    let Shape::RectangularPrism {
        length_mm,
        width_mm,
        height_mm,
    } = inside.shape
    else {
        return Ok(Vec::new());
    };
    let lengths_mm: Vec<f64> = match &inside.chain {
        Some(chain) => chain.cells.iter().map(|cell| cell.length_mm).collect(),
        None => vec![length_mm],
    };
    let mut found = Vec::with_capacity(lengths_mm.len());
    for length_mm in lengths_mm {
        let modes = slosh_frequencies(
            &SloshCell {
                length_mm,
                width_mm,
                height_mm,
                depth_mm: depth_mm.min(height_mm),
            },
            1,
        )?;
        if let ([along_hz], [across_hz]) = (&*modes.lengthwise_hz, &*modes.crosswise_hz) {
            found.push((*along_hz, *across_hz));
        }
    }
    Ok(found)
}

/// Free surface of a tank or of a set of containers together, at a level. `None`: it has none there.
///
/// # Errors
/// Numbers out of range.
pub fn surface_of(
    inside: &TankInside,
    level_mm: f64,
    density_kg_per_l: f64,
    vehicle_mass_kg: f64,
) -> Result<Option<FreeSurface>, InvalidInput> {
    let Some(surface) = inside.shape.free_surface(level_mm)? else {
        return Ok(None);
    };
    // In a lying cylinder the walls are measured over the diameter, the surface is narrower.
    let divisions = match inside.shape {
        Shape::RectangularPrism { .. } => inside.lengthwise_walls.clone(),
        _ => Vec::new(),
    };
    let mut one = free_surface(&FreeSurfaceInput {
        surface,
        divisions,
        density_kg_per_m3: density_kg_per_l * 1e3,
        level_mm,
        height_mm: inside.shape.height_mm(),
        vehicle_mass_kg,
    })?;
    let count = f64::from(inside.count);
    one.moment_kg_m *= count;
    one.second_moment_m4 *= count;
    one.virtual_rise_mm *= count;
    Ok(Some(one))
}

/// Bays of walls under a pressure, with either kind of edge.
///
/// # Errors
/// Numbers out of range.
pub fn wall_loads(walls: &TankWalls, pressure_kpa: f64) -> Result<Vec<WallLoad>, InvalidInput> {
    let load = |(length_mm, width_mm): (f64, f64), edge: Edge| {
        let panel = Panel {
            length_mm,
            width_mm,
            thickness_mm: walls.thickness_mm,
            modulus_gpa: walls.modulus_gpa,
            yield_mpa: walls.yield_mpa,
            edge,
        };
        Ok::<_, InvalidInput>(PlateLoad {
            result: panel_under_pressure(&panel, pressure_kpa)?,
            valid_to_kpa: greatest_valid_pressure_kpa(&panel)?,
        })
    };
    let bays = walls.bays_mm.iter().enumerate();
    bays.map(|(index, sides_mm)| {
        let path = format!("walls.bays[{index}]");
        Ok(WallLoad {
            sides_mm: (sides_mm.0.max(sides_mm.1), sides_mm.0.min(sides_mm.1)),
            simply_supported: load(*sides_mm, Edge::SimplySupported)
                .map_err(|refused: InvalidInput| refused.within(&path))?,
            clamped: load(*sides_mm, Edge::Clamped).map_err(|refused: InvalidInput| refused.within(&path))?,
        })
    })
    .collect()
}
