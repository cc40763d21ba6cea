//! Tanks: does fuel have room when it warms, does it reach its pump, do the walls bear the leak test, and how much
//! does what shifts raise the centre of mass?

use super::against_limit::Subject;
use super::{Finding, Gate, gate as build};
use crate::answer::Answer;
use crate::check::InvalidInput;
use crate::readiness::Figure;
use crate::record::{SupplyGate, Tank, TankMounting, TankPolicy};
use crate::supplies::tanks::supply_kind_of;
use crate::tanks::figures::{FILL_SHARE_MAX, FORMULA_VERSION, brimful_l, room, surface_of, wall_loads};
use crate::tanks::flow::{Starvation, starvation};
use crate::tanks::ullage::FillVerdict;
use crate::tanks::{FreeSurface, Warming, free_surface, leak_test, ullage};

const QUESTION: &str = "Has fuel room to expand, does it reach its pump, and do the tanks hold?";

/// Litres by which what the pump leaves may exceed what is taken as unusable: rounding of the record.
const UNUSABLE_SLACK_L: f64 = 0.05;

/// Tanks.
pub(super) fn gate(subject: &Subject<'_>) -> Gate {
    if let Some(finding) = super::not_asked(&subject.loads.departure, SupplyGate::Tanks) {
        let summary = finding.text.clone();
        return build("tanks", QUESTION, vec![finding], summary);
    }
    let Some(policy) = &subject.loads.departure.policy.tanks else {
        let missing = "the policy does not say what it asks of tanks";
        let finding = subject.not_known(
            missing.to_owned(),
            "state it, or that this departure does not ask about tanks",
        );
        return build("tanks", QUESTION, vec![finding], String::new());
    };
    let mut findings = rooms(subject, policy);
    let fixed = subject.vehicle.specification.tanks.iter();
    for tank in fixed.filter(|tank| tank.mounting == TankMounting::Fixed && tank.fluid.is_fuel()) {
        if policy.pump_flow {
            findings.extend(flow(subject, tank));
        }
        if let Some(pressure_kpa) = policy.leak_test_kpa {
            findings.extend(walls(
                subject,
                tank,
                pressure_kpa,
                policy.yield_share_max.unwrap_or(1.0),
            ));
        }
    }
    if let Some(most_mm) = policy.free_surface_rise_max_mm {
        findings.extend(shifting(subject, most_mm));
    }
    let met = match findings.iter().find(|finding| finding.answer == Answer::Met) {
        Some(tightest) => tightest.text.clone(),
        None => "the vehicle carries no fuel".to_owned(),
    };
    build("tanks", QUESTION, findings, met)
}

impl Subject<'_> {
    fn about_tanks(&self, answer: Answer, text: String) -> Finding {
        Finding::new(answer, text, vec![self.vehicle.name.clone()]).basis(FORMULA_VERSION)
    }

    fn not_known(&self, missing: String, remedy: &str) -> Finding {
        let mut finding = self.about_tanks(Answer::NotKnown, missing.clone()).remedy(remedy);
        finding.missing.push(missing);
        finding
    }

    /// Data that a formula refuses: what is wrong is said as what is missing.
    fn refused(&self, tank: &Tank, refused: &InvalidInput) -> Finding {
        self.not_known(
            format!("{} ({}): {refused}", tank.display_name, tank.id),
            "correct the record",
        )
    }
}

/// Whether fuel has room in every tank and container; the least free room first.
fn rooms(subject: &Subject<'_>, policy: &TankPolicy) -> Vec<Finding> {
    let (Some(fill_temperature_c), Some(hottest_temperature_c)) =
        (policy.fill_temperature_c, policy.hottest_temperature_c)
    else {
        let missing = "the policy does not say between which temperatures fuel must have room";
        return vec![subject.not_known(missing.to_owned(), "state both temperatures")];
    };
    let warming = Warming {
        fill_temperature_c,
        hottest_temperature_c,
        fill_share_max: policy.fill_share_max.unwrap_or(FILL_SHARE_MAX),
    };
    let mut found: Vec<(f64, Finding)> = Vec::new();
    let tanks = &subject.vehicle.specification.tanks;
    for tank in tanks.iter().filter(|tank| tank.fluid.is_fuel()) {
        match filled_l(subject, tank) {
            // What the loads are missing, the gates of masses and fuel say too.
            None => {
                let missing = format!("what is in {} ({}) is not known", tank.display_name, tank.id);
                found.push((f64::NEG_INFINITY, subject.not_known(missing, "record it")));
            }
            Some(volume_l) if volume_l > 0.0 => found.push(room_of(subject, tank, &warming, volume_l)),
            Some(_) => {}
        }
    }
    found.sort_by(|(one, _), (other, _)| one.total_cmp(other));
    found.into_iter().map(|(_, finding)| finding).collect()
}

/// The most that is filled into a tank: what is in it at departure, and all it holds where it is filled up on the way.
/// Containers are never filled further than at departure.
fn filled_l(subject: &Subject<'_>, tank: &Tank) -> Option<f64> {
    let departure = &subject.loads.departure;
    let going = departure
        .vehicles
        .iter()
        .find(|going| going.vehicle == subject.vehicle.name)?;
    let fill_l = going.fills.iter().find(|fill| fill.tank == tank.id)?.volume_l;
    let filled_up = tank.mounting == TankMounting::Fixed
        && departure.supply_points.iter().any(|point| {
            point.confirmed && supply_kind_of(tank.fluid).is_some_and(|kind| point.supplies.contains(&kind))
        });
    Some(if filled_up {
        fill_l.max(tank.capacity_l)
    } else {
        fill_l
    })
}

fn room_of(subject: &Subject<'_>, tank: &Tank, warming: &Warming, volume_l: f64) -> (f64, Finding) {
    let first = f64::NEG_INFINITY;
    let name = format!("{} ({})", tank.display_name, tank.id);
    let brimful_l = match brimful_l(&tank.build) {
        Ok(Some(brimful_l)) => brimful_l,
        Ok(None) => {
            let missing = format!("the brimful volume of {name} is not known");
            return (
                first,
                subject.not_known(missing, "fill it to the brim and measure, or record its inside"),
            );
        }
        Err(refused) => return (first, subject.refused(tank, &refused)),
    };
    let density_kg_per_l = match density_kg_per_l(subject, tank) {
        Ok(density_kg_per_l) => density_kg_per_l,
        Err(unknown) => return (first, *unknown),
    };
    let room = match room(warming, brimful_l, density_kg_per_l, volume_l.min(brimful_l)) {
        Ok(room) => room,
        Err(refused) => return (first, subject.refused(tank, &refused)),
    };
    let hottest_c = warming.hottest_temperature_c;
    let (answer, ullage_l, text) = match room.verdict {
        FillVerdict::WithinLimit { ullage_l } => (
            Answer::Met,
            ullage_l,
            format!("{name}, filled with {volume_l:.1} l, has {ullage_l:.1} l free at {hottest_c} °C"),
        ),
        FillVerdict::OverLimit { excess_l, ullage_l } => (
            Answer::NotMet,
            ullage_l,
            format!(
                "{name}, filled with {volume_l:.1} l, has only {ullage_l:.1} l free at {hottest_c} °C: {excess_l:.1} l \
                 too much"
            ),
        ),
        FillVerdict::Spills { excess_l, spill_l } => (
            Answer::NotMet,
            -spill_l,
            format!(
                "{name}, filled with {volume_l:.1} l, would spill {spill_l:.1} l at {hottest_c} °C: {excess_l:.1} l too \
                 much"
            ),
        ),
    };
    let mut finding = subject.about_tanks(answer, text);
    finding.key = format!("room_{}", tank.id);
    finding.figures = vec![
        figure("filled_l", volume_l, Some(room.fill_limit_l)),
        figure("ullage_l", ullage_l, None),
    ];
    if answer != Answer::Met {
        let [fire, .., rules] = ullage::CAUTIONS;
        let limit_l = room.fill_limit_l;
        finding = finding.remedy(format!("fill in at most {limit_l:.1} l. {fire} {rules}"));
    }
    (ullage_l / brimful_l, finding)
}

/// Whether the pump of a tank draws air too early.
fn flow(subject: &Subject<'_>, tank: &Tank) -> Option<Finding> {
    let name = format!("{} ({})", tank.display_name, tank.id);
    let Some(inside) = &tank.build.inside else {
        let missing = format!("the inside of {name} is not known, so neither is the flow to its pump");
        return Some(subject.not_known(missing, "record its inside"));
    };
    // In a tank without walls across nothing holds fuel back.
    let chain = inside.chain.as_ref().filter(|chain| chain.cells.len() > 1)?;
    let Some(pump) = &tank.build.pump else {
        let missing = format!("the draw of the pump of {name} is not known");
        return Some(subject.not_known(missing, "record the pump"));
    };
    let Some(unusable_l) = tank.unusable_l else {
        let missing = format!("how much of {name} cannot be drawn is not known");
        return Some(subject.not_known(missing, "record it"));
    };
    Some(match starvation(chain, pump) {
        Ok(starves) => starving(subject, tank, unusable_l, &starves),
        Err(refused) => subject.refused(tank, &refused),
    })
}

/// How the pump of a tank starves, against what counts as unusable.
fn starving(subject: &Subject<'_>, tank: &Tank, unusable_l: f64, starves: &Starvation) -> Finding {
    let name = format!("{} ({})", tank.display_name, tank.id);
    let stops = |text: String, remedy: &str| subject.about_tanks(Answer::NotMet, text).remedy(remedy);
    match *starves {
        Starvation::HolesTooSmall {
            baffle,
            needed_l_per_min,
            passes_l_per_min,
        } => stops(
            format!(
                "the pump of {name} runs dry whatever the fill: the holes of wall {} pass {passes_l_per_min:.2} \
                 l/min where {needed_l_per_min:.2} are needed",
                baffle + 1
            ),
            "larger or lower holes in the wall, or a pump that draws less",
        ),
        Starvation::AirLocked { cell } => stops(
            format!("cell {} of {name} gets no air and keeps its fuel", cell + 1),
            "give the cell an air hole",
        ),
        Starvation::AtFill {
            volume_l,
            holes_are_covered,
            most_volume_l,
            ..
        } => {
            // With holes above the liquid only the bound is certain.
            let surely_l = if holes_are_covered {
                Some(volume_l)
            } else {
                most_volume_l
            };
            left(subject, tank, unusable_l, volume_l, surely_l)
        }
    }
}

/// What a pump leaves behind, against what counts as unusable: `left_l` by the slow state, `surely_l` at most.
fn left(subject: &Subject<'_>, tank: &Tank, unusable_l: f64, left_l: f64, surely_l: Option<f64>) -> Finding {
    let name = format!("{} ({})", tank.display_name, tank.id);
    let allowed_l = unusable_l + UNUSABLE_SLACK_L;
    let counts = format!("{unusable_l:.1} l count as unusable");
    let (answer, text) = if left_l > allowed_l {
        let text = format!("the pump of {name} draws air with {left_l:.1} l left; {counts}");
        (Answer::NotMet, text)
    } else if surely_l.is_some_and(|surely_l| surely_l <= allowed_l) {
        let text = format!("the pump of {name} draws down to {left_l:.1} l; {counts}");
        (Answer::Met, text)
    } else {
        let text = format!(
            "the pump of {name} may draw air with more left; {counts}: holes of its walls lie above the liquid"
        );
        (Answer::MetWithConditions, text)
    };
    let mut finding = subject.about_tanks(answer, text);
    finding.key = format!("flow_{}", tank.id);
    finding.figures = vec![figure("left_when_dry_l", left_l, Some(unusable_l))];
    if answer == Answer::Met {
        finding
    } else {
        finding.remedy("count more as unusable, or drill larger or lower holes")
    }
}

/// Whether the walls of a tank bear the leak test.
fn walls(subject: &Subject<'_>, tank: &Tank, pressure_kpa: f64, share_max: f64) -> Vec<Finding> {
    let name = format!("{} ({})", tank.display_name, tank.id);
    let Some(walls) = &tank.build.walls else {
        return vec![subject.not_known(format!("the walls of {name} are not known"), "record them")];
    };
    let Some(yield_mpa) = walls.yield_mpa else {
        let missing = format!("the yield strength of the walls of {name} is not known");
        return vec![subject.not_known(missing, "record it")];
    };
    let loads = match wall_loads(walls, pressure_kpa) {
        Ok(loads) => loads,
        Err(refused) => return vec![subject.refused(tank, &refused)],
    };
    let [fire, air, ..] = leak_test::CAUTIONS;
    let of_bay = |load: &crate::tanks::figures::WallLoad| {
        let (long_mm, short_mm) = load.sides_mm;
        let bay = format!("the bay of {long_mm:.0} x {short_mm:.0} mm of {name}");
        // The true wall lies between the two kinds of edge.
        let edges = [&load.simply_supported, &load.clamped];
        let stress_mpa = edges
            .map(|edge| edge.result.stress_mpa)
            .into_iter()
            .fold(0.0, f64::max);
        let limit_mpa = share_max * yield_mpa;
        if edges
            .iter()
            .any(|edge| !edge.result.is_thin || !edge.result.is_small_deflection)
        {
            let reach_kpa = edges
                .map(|edge| edge.valid_to_kpa)
                .into_iter()
                .fold(f64::INFINITY, f64::min);
            let missing = format!(
                "the stress in {bay} at {pressure_kpa} kPa is not known: the formula holds up to {reach_kpa:.2} kPa, beyond \
                 which the sheet bulges"
            );
            let remedy =
                format!("stiffen the bay, or have it judged by whoever approves the tank. {fire} {air}");
            return subject.not_known(missing, &remedy);
        }
        let answer = if stress_mpa <= limit_mpa {
            Answer::Met
        } else {
            Answer::NotMet
        };
        let text =
            format!("{bay} sees {stress_mpa:.0} MPa at {pressure_kpa} kPa, {limit_mpa:.0} MPa are allowed");
        let mut finding = subject.about_tanks(answer, text);
        finding.figures = vec![figure("wall_stress_mpa", stress_mpa, Some(limit_mpa))];
        if answer == Answer::NotMet {
            finding = finding.remedy(format!("a thicker or stiffened wall. {fire} {air}"));
        }
        finding
    };
    loads.iter().map(of_bay).collect()
}

/// How far free surfaces raise the centre of mass, every tank taken as slack and the vehicle at its lightest.
fn shifting(subject: &Subject<'_>, most_mm: f64) -> Option<Finding> {
    let known = subject.states.iter().all(|state| state.missing.is_empty());
    let lightest_kg = subject
        .states
        .iter()
        .map(|state| state.total.load_kg)
        .fold(f64::INFINITY, f64::min);
    if !known || !lightest_kg.is_finite() || lightest_kg <= 0.0 {
        let missing = "the mass of the vehicle is not known, so neither is what free surfaces do to it";
        return Some(subject.not_known(missing.to_owned(), "record what its mass is missing"));
    }
    let mut moment_kgm = 0.0;
    let mut valid_to_deg = f64::INFINITY;
    for tank in &subject.vehicle.specification.tanks {
        match slack(subject, tank, lightest_kg) {
            Ok(surface) => {
                moment_kgm += surface.as_ref().map_or(0.0, |surface| surface.moment_kg_m);
                valid_to_deg = surface.map_or(valid_to_deg, |surface| surface.valid_to_deg.min(valid_to_deg));
            }
            Err(finding) => return Some(*finding),
        }
    }
    let rise_mm = match free_surface::virtual_rise_mm(moment_kgm, lightest_kg) {
        Ok(rise_mm) => rise_mm,
        Err(refused) => return Some(subject.not_known(refused.to_string(), "correct the record")),
    };
    let answer = if rise_mm <= most_mm {
        Answer::Met
    } else {
        Answer::MetWithConditions
    };
    let mut finding = subject.about_tanks(
        answer,
        format!(
            "liquid that shifts raises the centre of mass by {rise_mm:.1} mm at {lightest_kg:.0} kg, {most_mm} mm are \
             allowed; the sum holds up to {valid_to_deg:.0} degrees of lean"
        ),
    );
    finding.key = "free_surface".to_owned();
    finding.figures = vec![figure("free_surface_rise_mm", rise_mm, Some(most_mm))];
    if answer != Answer::Met {
        finding = finding
            .remedy("keep tanks full or empty on side slopes, or divide them lengthwise by closed walls");
    }
    Some(finding)
}

/// A tank half full: what a box does at any level, a lying cylinder at its widest.
fn slack(subject: &Subject<'_>, tank: &Tank, mass_kg: f64) -> Result<Option<FreeSurface>, Box<Finding>> {
    let Some(inside) = &tank.build.inside else {
        let missing = format!("the inside of {} ({}) is not known", tank.display_name, tank.id);
        return Err(Box::new(subject.not_known(missing, "record its inside")));
    };
    let density_kg_per_l = density_kg_per_l(subject, tank)?;
    surface_of(inside, inside.shape.height_mm() / 2.0, density_kg_per_l, mass_kg)
        .map_err(|refused| Box::new(subject.refused(tank, &refused)))
}

/// Density of what the tank holds, or the finding that it is not known.
fn density_kg_per_l(subject: &Subject<'_>, tank: &Tank) -> Result<f64, Box<Finding>> {
    let densities = &subject.loads.record.fleet.fluid_densities_kg_per_l;
    densities.get(&tank.fluid).copied().ok_or_else(|| {
        let missing = format!("the density of {} is not known", tank.fluid.word());
        Box::new(subject.not_known(missing, "record it in the fleet"))
    })
}

fn figure(id: &str, value: f64, limit: Option<f64>) -> Figure {
    Figure {
        id: id.to_owned(),
        value,
        limit,
        uncertainty: None,
    }
}
