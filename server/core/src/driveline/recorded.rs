//! The driveline of a vehicle of the record: ratios and tyres of the parts in its slots, what it was built with, and
//! what a substitution makes of them.

use super::fitted::{Fitted, Side, designation, tyre_diameter_mm};
use super::report::{Driving, Report, State, report, speedometer_change};
use super::speed::{DIAGONAL_CIRCUMFERENCE_FACTOR, RADIAL_CIRCUMFERENCE_FACTOR};
use super::speedometer::odometer_factor;
use super::{Driveline, DrivenAxles, Gear, Setup, TransferRange};
use crate::check::InvalidInput;
use crate::driveline::ratios::{AxleDrive, axle_mismatch_percent};
use crate::loads;
use crate::record::{
    Departure, DrivelineSpecification, Gearing, InterfaceValue, Part, Record, Substitution, Vehicle,
};
use crate::tyres::Construction;

/// What is asked of a vehicle of the record.
#[derive(Debug, Clone, Copy, Default)]
pub struct Asked<'a> {
    /// The change. `None`: the vehicle as it is.
    pub substitution: Option<&'a Substitution>,
    /// The departure whose loads count. `None`: the gross mass.
    pub departure: Option<&'a Departure>,
    /// Cruising speed in place of the recorded one.
    pub cruise_km_per_h: Option<f64>,
    /// Friction between tyre and ground.
    pub friction_coefficient: Option<f64>,
}

/// A driveline as the record has it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Recorded {
    /// Complete, or `None` with what is missing.
    pub state: Option<State>,
    /// Where each figure comes from, in words.
    pub sources: Vec<String>,
    /// What is missing, in sentences.
    pub missing: Vec<String>,
    /// How much faster the front wheels would roll than the rear ones with the axles locked, percent. `None`: not
    /// known, or only one axle drives.
    pub axle_mismatch_percent: Option<f64>,
}

/// What the driveline of a vehicle comes to, as it is and after a substitution.
#[derive(Debug, Clone, PartialEq)]
pub struct RecordedReport {
    /// As it is, or before the substitution.
    pub before: Recorded,
    /// After it. `None`: none was asked about.
    pub after: Option<Recorded>,
    /// The figures. `None`: a state is not complete.
    pub report: Option<Report>,
    /// What the figures of climbs hold for, in words.
    pub mass_source: String,
    /// Remarks to show.
    pub remarks: Vec<String>,
}

/// The driveline of a vehicle with what is fitted now.
pub fn as_fitted(record: &Record, vehicle: &Vehicle) -> Recorded {
    recorded(vehicle, &Fitted::of(record, vehicle, None))
}

/// True kilometres per kilometre on the odometer with what is fitted now, from the calibration on record. `None`:
/// something is missing.
pub fn odometer_factor_now(record: &Record, vehicle: &Vehicle) -> Option<f64> {
    let calibration = vehicle.specification.driveline.as_ref()?.speedometer.as_ref()?;
    let then = calibration.odometer_factor?;
    let state = as_fitted(record, vehicle).state?;
    let change = speedometer_change(&state, calibration, &mut Vec::new()).ok()??;
    // Beyond these the recorded ratios and tyres cannot belong together.
    odometer_factor(&change)
        .ok()
        .map(|factor| then * factor)
        .filter(|factor| (0.5..=2.0).contains(factor))
}

/// What the driveline of a vehicle comes to.
///
/// # Errors
/// Recorded numbers that cannot be computed with.
pub fn driveline_of(
    record: &Record,
    vehicle: &Vehicle,
    asked: &Asked<'_>,
) -> Result<RecordedReport, InvalidInput> {
    let side = |side| asked.substitution.map(|substitution| (substitution, side));
    let before = recorded(vehicle, &Fitted::of(record, vehicle, side(Side::Before)));
    let after = asked
        .substitution
        .map(|_| recorded(vehicle, &Fitted::of(record, vehicle, side(Side::After))));
    let (driving, mass_source) = driving(record, vehicle, asked);
    driving.check()?;
    let calibration = vehicle
        .specification
        .driveline
        .as_ref()
        .and_then(|driveline| driveline.speedometer.as_ref());
    let complete = match (&before.state, after.as_ref().map(|after| &after.state)) {
        (Some(before), None) => Some((before, None)),
        (Some(before), Some(Some(after))) => Some((before, Some(after))),
        _ => None,
    };
    let report = complete
        .map(|(before, after)| report(before, after, &driving, calibration))
        .transpose()?;
    let remarks = remarks(&before, after.as_ref());
    Ok(RecordedReport {
        before,
        after,
        report,
        mass_source,
        remarks,
    })
}

fn remarks(before: &Recorded, after: Option<&Recorded>) -> Vec<String> {
    let states = [("as it is", Some(before)), ("after the substitution", after)];
    states
        .into_iter()
        .filter_map(|(when, state)| {
            let percent = state?.axle_mismatch_percent?;
            // About 1 percent is the most that is commonly let pass: common practice, no source.
            (percent.abs() > 1.0).then(|| {
                format!(
                    "{when} the front wheels roll {percent:+.1} % against the rear ones: with both axles locked the \
                     driveline winds up"
                )
            })
        })
        .collect()
}

fn driving(record: &Record, vehicle: &Vehicle, asked: &Asked<'_>) -> (Driving, String) {
    let specification = &vehicle.specification;
    let none = DrivelineSpecification::default();
    let driveline = specification.driveline.as_ref().unwrap_or(&none);
    let loads = asked
        .departure
        .map(|departure| loads::compute(record, departure, vehicle));
    let (mass_kg, front_load_share, mass_source) = match &loads {
        Some(loads) if loads.missing.is_empty() => {
            let share = loads
                .front_axle
                .as_ref()
                .zip(loads.rear_axle.as_ref())
                .map(|(front, rear)| front.load_kg / (front.load_kg + rear.load_kg));
            let source = format!(
                "{:.0} kg, computed for {}",
                loads.total.load_kg,
                loads.departure.id()
            );
            (Some(loads.total.load_kg), share, source)
        }
        Some(loads) => (
            None,
            None,
            format!("the mass is not known: {}", loads.missing.join("; ")),
        ),
        None => match specification.gross_mass_kg {
            Some(gross_kg) => (
                Some(gross_kg),
                None,
                format!("{gross_kg:.0} kg, the gross mass of the specification"),
            ),
            None => (None, None, "the gross mass is not known".to_owned()),
        },
    };
    let driving = Driving {
        cruise_km_per_h: asked.cruise_km_per_h.or(driveline.cruise_km_per_h),
        idle_rpm: driveline.idle_rpm,
        engine_max_rpm: driveline.engine_max_rpm,
        torque_nm: driveline.torque_nm,
        efficiency: driveline.efficiency,
        mass_kg,
        friction_coefficient: asked.friction_coefficient,
        driven: driveline.driven,
        front_load_share,
        centre_height_mm: None,
        wheelbase_mm: specification.wheelbase_mm,
    };
    (driving, mass_source)
}

fn recorded(vehicle: &Vehicle, fitted: &Fitted<'_>) -> Recorded {
    let none = DrivelineSpecification::default();
    let specification = vehicle.specification.driveline.as_ref().unwrap_or(&none);
    let mut found = Recorded::default();
    let built = &specification.built;
    let of_gears = |gearing: &Gearing| (!gearing.gears.is_empty()).then(|| gearing.gears.clone());
    let gears: Option<Vec<Gear>> = found.one("the gears", fitted.stated(of_gears), of_gears(built), true);
    let of_ranges = |gearing: &Gearing| (!gearing.ranges.is_empty()).then(|| gearing.ranges.clone());
    let ranges: Option<Vec<TransferRange>> = found.one(
        "the transfer ranges",
        fitted.stated(of_ranges),
        of_ranges(built),
        true,
    );
    let driven = specification.driven;
    if driven.is_none() {
        found.missing.push("which axles drive is not known".to_owned());
    }
    let axles = Axle::BOTH.map(|axle| found.axle(axle, specification, fitted));
    let [front, rear] = &axles;
    let driven_axle = match driven {
        Some(DrivenAxles::Front) => front,
        _ => rear,
    };
    if driven == Some(DrivenAxles::Both) {
        found.axle_mismatch_percent = mismatch(front, rear);
    }
    found.say_what_is_missing(driven, &axles);
    let factor = specification
        .circumference_factor
        .or(driven_axle.circumference_factor);
    if factor.is_none() {
        found
            .missing
            .push("the rolling circumference of the tyres over their diameter is not known".to_owned());
    }
    let speedometer_ratio = found.speedometer_ratio(fitted);
    let parts = (
        gears,
        ranges,
        driven_axle.axle_ratio,
        driven_axle.hub_ratio,
        driven_axle.tyre_diameter_mm,
    );
    if let (Some(gears), Some(ranges), Some(axle_ratio), Some(hub_ratio), Some(tyre_diameter_mm)) = parts
        && let Some(circumference_factor) = factor
        && found.missing.is_empty()
    {
        found.state = Some(State {
            setup: Setup {
                driveline: Driveline {
                    gears,
                    ranges,
                    axle_ratio,
                    hub_ratio,
                },
                tyre_diameter_mm,
                circumference_factor,
            },
            speedometer_ratio,
        });
    }
    found
}

fn mismatch(front: &AxleFound, rear: &AxleFound) -> Option<f64> {
    let drive = |axle: &AxleFound| {
        Some(AxleDrive {
            ratio: axle.axle_ratio? * axle.hub_ratio?,
            tyre_diameter_mm: axle.tyre_diameter_mm?,
        })
    };
    axle_mismatch_percent(&drive(front)?, &drive(rear)?).ok()
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Axle {
    Front,
    Rear,
}

impl Axle {
    const BOTH: [Self; 2] = [Self::Front, Self::Rear];

    fn word(self) -> &'static str {
        match self {
            Self::Front => "front",
            Self::Rear => "rear",
        }
    }

    /// Whether a slot is at this axle; one that names none, such as a single axle-gear set, is at both.
    fn has(self, slot: &str) -> bool {
        let names = |axle: Self| slot.split('.').any(|part| part == axle.word());
        names(self) || !Self::BOTH.into_iter().any(names)
    }
}

/// What is known of one axle.
struct AxleFound {
    axle: Axle,
    axle_ratio: Option<f64>,
    hub_ratio: Option<f64>,
    tyre_diameter_mm: Option<f64>,
    circumference_factor: Option<f64>,
}

impl Recorded {
    /// The one statement among those of the parts, else what was built; several that differ are missing.
    fn one<T: PartialEq + Clone>(
        &mut self,
        what: &str,
        stated: Vec<(&str, &Part, T)>,
        built: Option<T>,
        needed: bool,
    ) -> Option<T> {
        let Some((slot, part, first)) = stated.first() else {
            match (&built, needed) {
                (Some(_), _) => self.sources.push(format!("{what}: as the vehicle was built")),
                (None, true) => self.missing.push(format!("{what} are not known")),
                (None, false) => {}
            }
            return built;
        };
        if let Some((other, ..)) = stated.iter().find(|(_, _, value)| value != first) {
            self.missing.push(format!(
                "{what} are stated by the parts in {slot} and in {other}, differently"
            ));
            return None;
        }
        self.sources.push(format!("{what}: {} in {slot}", part.name.id()));
        Some(first.clone())
    }

    fn axle(&mut self, axle: Axle, specification: &DrivelineSpecification, fitted: &Fitted<'_>) -> AxleFound {
        let here = |of: fn(&Gearing) -> Option<f64>| {
            let mut stated = fitted.stated(of);
            stated.retain(|(slot, ..)| axle.has(slot));
            stated
        };
        let built = &specification.built;
        let what = format!("the {} axle ratio", axle.word());
        let axle_ratio = self.one(&what, here(|gearing| gearing.axle_ratio), built.axle_ratio, false);
        let what = format!("the {} hub ratio", axle.word());
        let hub_ratio = self.one(&what, here(|gearing| gearing.hub_ratio), built.hub_ratio, false);
        let (tyre_diameter_mm, circumference_factor) = self.tyres(axle, fitted);
        AxleFound {
            axle,
            axle_ratio,
            // Most axles have no reduction in their hubs; where there is one, part or specification say so.
            hub_ratio: Some(hub_ratio.unwrap_or(1.0)),
            tyre_diameter_mm,
            circumference_factor,
        }
    }

    /// Mean diameter of the tyres of an axle, and the circumference factor of their construction.
    fn tyres(&mut self, axle: Axle, fitted: &Fitted<'_>) -> (Option<f64>, Option<f64>) {
        let parts: Vec<(&str, &Part)> = fitted
            .0
            .iter()
            .filter(|(slot, part)| &*part.kind == "tyre" && slot.starts_with("tyre.") && axle.has(slot))
            .map(|(slot, part)| (*slot, *part))
            .collect();
        let diameters: Option<Vec<f64>> = parts.iter().map(|(_, part)| tyre_diameter_mm(part)).collect();
        let Some(diameters) = diameters.filter(|diameters| !diameters.is_empty()) else {
            return (None, None);
        };
        let names: Vec<&str> = parts.iter().map(|(_, part)| part.name.id()).collect();
        let (least, most) = diameters.iter().fold((f64::MAX, f64::MIN), |(least, most), one| {
            (least.min(*one), most.max(*one))
        });
        let text = match names.as_slice() {
            [first, rest @ ..] if rest.iter().all(|name| name == first) => (*first).to_owned(),
            _ => names.join(", "),
        };
        let spread = if most > least {
            format!(", {least:.0} to {most:.0} mm")
        } else {
            format!(", {least:.0} mm")
        };
        self.sources
            .push(format!("the {} tyres: {text}{spread}", axle.word()));
        let count = diameters.len();
        let mean_mm = diameters.iter().sum::<f64>() / count as f64;
        let factor = parts.first().and_then(|(_, part)| {
            let tyre = designation(part)?;
            Some(match tyre.construction {
                Construction::Radial => RADIAL_CIRCUMFERENCE_FACTOR,
                Construction::Diagonal | Construction::BiasBelted => DIAGONAL_CIRCUMFERENCE_FACTOR,
            })
        });
        (Some(mean_mm), factor)
    }

    fn say_what_is_missing(&mut self, driven: Option<DrivenAxles>, axles: &[AxleFound; 2]) {
        for found in axles {
            let counts = match (driven, found.axle) {
                (Some(DrivenAxles::Front), Axle::Rear)
                | (Some(DrivenAxles::Rear), Axle::Front)
                | (None, _) => false,
                (Some(_), _) => true,
            };
            let word = found.axle.word();
            if counts && found.axle_ratio.is_none() {
                self.missing
                    .push(format!("the ratio of the {word} axle is not known"));
            }
            if counts && found.tyre_diameter_mm.is_none() {
                self.missing
                    .push(format!("the diameter of a tyre of the {word} axle is not known"));
            }
        }
    }

    fn speedometer_ratio(&mut self, fitted: &Fitted<'_>) -> Option<f64> {
        let mut stated = fitted.0.iter().filter_map(|(slot, part)| {
            match part.interface("speedometer_ratio")?.value.as_ref()? {
                InterfaceValue::Ratio(ratio) => Some((*slot, part.name.id(), *ratio)),
                _ => None,
            }
        });
        let (slot, part, ratio) = stated.next()?;
        if stated.any(|(_, _, other)| other != ratio) {
            return None;
        }
        self.sources.push(format!(
            "the speedometer drive: {part} in {slot}, without remedies of a substitution"
        ));
        Some(ratio)
    }
}
