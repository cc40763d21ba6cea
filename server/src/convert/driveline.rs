//! Drivelines: what is given, and what they come to.

use ostler_core::check::InvalidInput;
use ostler_core::driveline::climb::Climb;
use ostler_core::driveline::compare::{Crawl, GearFigures, GearRow};
use ostler_core::driveline::recorded::{Recorded, RecordedReport};
use ostler_core::driveline::report::{SpeedometerReport, StateReport};
use ostler_core::driveline::speed::{DIAGONAL_CIRCUMFERENCE_FACTOR, RADIAL_CIRCUMFERENCE_FACTOR};
use ostler_core::driveline::{
    CAUTION, Driveline, Driving, FORMULA_VERSION, Report, Setup, SpeedometerReading, SpeedometerVerdict,
    State, Surface,
};
use ostler_core::tyres::size::nominal_diameter_mm;
use ostler_core::tyres::{Construction, Designation};
use ostler_proto::v1;

use super::gearing::{driven, gearing};
use super::{Converted, missing};

/// A driveline of a request.
pub(crate) fn given_state(message: v1::GivenDriveline) -> Converted<State> {
    let v1::GivenDriveline {
        gearing: ratios,
        tyre_diameter_mm,
        tyre_designation,
        circumference_factor,
        speedometer_ratio,
    } = message;
    let ratios = gearing(ratios.ok_or_else(|| missing("gearing"))?);
    let designation: Option<Designation> = match tyre_designation.as_str() {
        "" => None,
        text => Some(text.parse().map_err(|error| {
            InvalidInput::one("tyre_designation", format!("must be a tyre designation: {error}"))
        })?),
    };
    let nominal_mm = designation
        .as_ref()
        .and_then(|tyre| nominal_diameter_mm(&tyre.size));
    let Some(tyre_diameter_mm) = tyre_diameter_mm.or(nominal_mm) else {
        let problem = "must be set, or `tyre_designation` to one that gives a diameter";
        return Err(InvalidInput::one("tyre_diameter_mm", problem));
    };
    let by_construction = match designation.map(|tyre| tyre.construction) {
        Some(Construction::Diagonal | Construction::BiasBelted) => DIAGONAL_CIRCUMFERENCE_FACTOR,
        Some(Construction::Radial) | None => RADIAL_CIRCUMFERENCE_FACTOR,
    };
    Ok(State {
        setup: Setup {
            driveline: Driveline {
                gears: ratios.gears,
                ranges: ratios.ranges,
                axle_ratio: ratios.axle_ratio.ok_or_else(|| missing("gearing.axle_ratio"))?,
                hub_ratio: ratios.hub_ratio.unwrap_or(1.0),
            },
            tyre_diameter_mm,
            circumference_factor: circumference_factor.unwrap_or(by_construction),
        },
        speedometer_ratio,
    })
}

/// How it is driven.
pub(crate) fn given_driving(message: v1::GivenDriving) -> Driving {
    let v1::GivenDriving {
        cruise_km_per_h,
        idle_rpm,
        engine_max_rpm,
        torque_nm,
        efficiency,
        mass_kg,
        friction_coefficient,
        driven: axles,
        front_load_share,
        centre_height_mm,
        wheelbase_mm,
    } = message;
    Driving {
        cruise_km_per_h,
        idle_rpm,
        engine_max_rpm,
        torque_nm,
        efficiency,
        mass_kg,
        friction_coefficient,
        driven: driven(axles),
        front_load_share,
        centre_height_mm,
        wheelbase_mm,
    }
}

/// What a driveline of the record comes to.
pub(crate) fn recorded_message(found: RecordedReport, picture_svg: String) -> v1::DrivelineReport {
    let RecordedReport {
        before,
        after,
        report,
        mass_source,
        remarks,
    } = found;
    let mut missing = before.missing.clone();
    for sentence in after.iter().flat_map(|after| &after.missing) {
        if !missing.contains(sentence) {
            missing.push(format!("after the substitution: {sentence}"));
        }
    }
    let mut message = match report {
        Some(report) => report_message(report, picture_svg),
        None => v1::DrivelineReport {
            before: Some(v1::DrivelineState::default()),
            after: after.as_ref().map(|_| v1::DrivelineState::default()),
            formula_version: FORMULA_VERSION.to_owned(),
            caution: CAUTION.to_owned(),
            ..Default::default()
        },
    };
    message.mass_source = mass_source;
    message.missing.splice(0..0, missing);
    message.remarks = remarks;
    for (state, recorded) in [(&mut message.before, Some(before)), (&mut message.after, after)] {
        if let (Some(state), Some(recorded)) = (state, recorded) {
            add_record(state, recorded);
        }
    }
    message
}

fn add_record(message: &mut v1::DrivelineState, recorded: Recorded) {
    message.axle_mismatch_percent = recorded.axle_mismatch_percent;
    message.tyre_diameter_mm = recorded.state.map(|state| state.setup.tyre_diameter_mm);
    message.sources = recorded.sources;
}

/// What a driveline comes to.
pub(crate) fn report_message(report: Report, picture_svg: String) -> v1::DrivelineReport {
    let Report {
        rows,
        before,
        after,
        odometer_change,
        cruise_km_per_h: _,
        missing,
    } = report;
    v1::DrivelineReport {
        gears: rows.into_iter().map(row_message).collect(),
        before: Some(state_message(before)),
        after: after.map(state_message),
        odometer_change,
        mass_source: String::new(),
        missing,
        remarks: Vec::new(),
        picture_svg,
        formula_version: FORMULA_VERSION.to_owned(),
        caution: CAUTION.to_owned(),
    }
}

fn row_message(row: GearRow) -> v1::GearFigures {
    let speeds = |figures: GearFigures| v1::GearSpeeds {
        overall_ratio: figures.overall_ratio,
        speed_per_1000_rpm_km_per_h: figures.speed_per_1000_rpm_km_per_h,
        cruise_engine_speed_rpm: figures.cruise_engine_speed_rpm,
    };
    v1::GearFigures {
        gear: row.gear,
        range: row.range,
        reverse: row.is_reverse,
        before: row.before.map(speeds),
        after: row.after.map(speeds),
    }
}

fn state_message(state: StateReport) -> v1::DrivelineState {
    let StateReport {
        circumference_m,
        crawl,
        climbs,
        speedometer,
        chart: _,
    } = state;
    let (calibration_change, odometer_factor, readings) = match speedometer {
        Some(SpeedometerReport {
            change_factor,
            odometer_factor,
            readings,
        }) => (Some(change_factor), odometer_factor, readings),
        None => (None, None, Vec::new()),
    };
    v1::DrivelineState {
        tyre_diameter_mm: None,
        circumference_m: Some(circumference_m),
        crawl: crawl.map(crawl_message),
        climbs: climbs.into_iter().map(climb_message).collect(),
        calibration_change,
        odometer_factor,
        speedometer: readings.into_iter().map(reading_message).collect(),
        axle_mismatch_percent: None,
        sources: Vec::new(),
    }
}

fn crawl_message(crawl: Crawl) -> v1::CrawlGear {
    let Crawl {
        gear,
        range,
        overall_ratio,
        speed_km_per_h,
    } = crawl;
    v1::CrawlGear {
        gear,
        range,
        overall_ratio,
        speed_km_per_h,
    }
}

fn climb_message(climb: Climb) -> v1::SurfaceClimb {
    let ground = match climb.surface {
        Surface::Sealed => v1::Ground::Sealed,
        Surface::PackedGravel => v1::Ground::PackedGravel,
        Surface::LooseGravel => v1::Ground::LooseGravel,
        Surface::MediumSoil => v1::Ground::MediumSoil,
        Surface::FirmSand => v1::Ground::FirmSand,
        Surface::Sand => v1::Ground::Sand,
        Surface::LooseSand => v1::Ground::LooseSand,
    };
    v1::SurfaceClimb {
        ground: ground.into(),
        easiest_deg: climb.easiest_deg,
        typical_deg: climb.typical_deg,
        hardest_deg: climb.hardest_deg,
        ended_by_grip: climb.ended_by_grip,
    }
}

fn reading_message(reading: SpeedometerReading) -> v1::SpeedometerReading {
    let verdict = match reading.verdict {
        SpeedometerVerdict::Within => v1::SpeedometerVerdict::Within,
        SpeedometerVerdict::ReadsLow => v1::SpeedometerVerdict::ReadsLow,
        SpeedometerVerdict::ReadsHigh => v1::SpeedometerVerdict::ReadsHigh,
        SpeedometerVerdict::NotKnown => v1::SpeedometerVerdict::NotKnown,
    };
    v1::SpeedometerReading {
        true_speed_km_per_h: reading.true_speed_km_per_h,
        indicated_km_per_h: reading.indicated_km_per_h,
        least_km_per_h: reading.band.least_km_per_h,
        most_km_per_h: reading.band.most_km_per_h,
        verdict: verdict.into(),
    }
}
