//! All gears and ranges before and after a substitution, side by side.

use super::ratios::{Driveline, crawl_ratio, overall_ratios};
use super::speed::{check_circumference_factor, engine_speed_rpm, speed_per_1000_rpm_km_per_h};
use super::{check_engine_speed, check_speed, check_tyre_diameter};
use crate::check::{Check, InvalidInput};

/// A driveline on its tyres.
#[derive(Debug, Clone, PartialEq)]
pub struct Setup {
    /// Gearbox, transfer case, axle and hub.
    pub driveline: Driveline,
    /// Outer diameter of the tyres.
    pub tyre_diameter_mm: f64,
    /// Rolling circumference over outer diameter; see
    /// [`RADIAL_CIRCUMFERENCE_FACTOR`](super::speed::RADIAL_CIRCUMFERENCE_FACTOR).
    pub circumference_factor: f64,
}

/// Speeds at which setups are compared.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ReferenceSpeeds {
    /// Cruising speed on the road. `None`: not known.
    pub cruise_km_per_h: Option<f64>,
    /// Engine speed at which the vehicle crawls, usually idle. `None`: not known.
    pub crawl_rpm: Option<f64>,
}

/// One gear in one range on its tyres.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GearFigures {
    /// Engine turns per wheel turn.
    pub overall_ratio: f64,
    /// Road speed per 1000 rpm.
    pub speed_per_1000_rpm_km_per_h: f64,
    /// Engine speed at the cruising speed, whether or not the engine may turn so fast. `None`: that speed is not
    /// known.
    pub cruise_engine_speed_rpm: Option<f64>,
}

/// One line of the table: a gear in a range, which one side may lack.
#[derive(Debug, Clone, PartialEq)]
pub struct GearRow {
    /// Name of the gear.
    pub gear: String,
    /// Name of the range.
    pub range: String,
    /// Whether it drives backwards.
    pub is_reverse: bool,
    /// Before; `None` where there was no such gear.
    pub before: Option<GearFigures>,
    /// After; `None` where there is no such gear any more.
    pub after: Option<GearFigures>,
}

/// The lowest forward gear in the lowest range.
#[derive(Debug, Clone, PartialEq)]
pub struct Crawl {
    /// Name of the gear.
    pub gear: String,
    /// Name of the range.
    pub range: String,
    /// Engine turns per wheel turn.
    pub overall_ratio: f64,
    /// Road speed at the crawling engine speed. `None`: that is not known.
    pub speed_km_per_h: Option<f64>,
}

/// Before and after.
#[derive(Debug, Clone, PartialEq)]
pub struct Comparison {
    /// Rows of the setup before in their order, then those that only the setup after has.
    pub rows: Vec<GearRow>,
    /// Crawl before; `None` without a forward gear.
    pub crawl_before: Option<Crawl>,
    /// Crawl after; `None` without a forward gear.
    pub crawl_after: Option<Crawl>,
    /// Rolling circumference after over before.
    pub circumference_change: f64,
}

impl Setup {
    /// Checks driveline, tyre and factor.
    ///
    /// # Errors
    /// Everything that is out of range, with its path.
    pub fn check(&self) -> Result<(), InvalidInput> {
        let mut check = Check::new();
        check.merge("driveline", self.driveline.check());
        check_tyre_diameter(&mut check, "tyre_diameter_mm", self.tyre_diameter_mm);
        check_circumference_factor(&mut check, self.circumference_factor);
        check.finish()
    }

    /// Rolling circumference in metres.
    pub fn circumference_m(&self) -> f64 {
        self.circumference_factor * self.tyre_diameter_mm / 1e3
    }
}

/// Figures of every gear in every range of one setup, as rows whose `after` is missing.
///
/// # Errors
/// A setup or speed out of range.
pub fn gear_figures(setup: &Setup, cruise_km_per_h: Option<f64>) -> Result<Vec<GearRow>, InvalidInput> {
    let mut check = Check::new();
    check.merge("setup", setup.check());
    if let Some(cruise_km_per_h) = cruise_km_per_h {
        check_speed(&mut check, "cruise_km_per_h", cruise_km_per_h);
    }
    check.finish()?;
    let circumference_m = setup.circumference_m();
    let ratios = overall_ratios(&setup.driveline)?;
    ratios
        .into_iter()
        .map(|overall| {
            let figures = GearFigures {
                overall_ratio: overall.ratio,
                speed_per_1000_rpm_km_per_h: speed_per_1000_rpm_km_per_h(overall.ratio, circumference_m)?,
                cruise_engine_speed_rpm: cruise_km_per_h
                    .map(|speed| engine_speed_rpm(speed, overall.ratio, circumference_m))
                    .transpose()?,
            };
            Ok(GearRow {
                gear: overall.gear,
                range: overall.range,
                is_reverse: overall.is_reverse,
                before: Some(figures),
                after: None,
            })
        })
        .collect()
}

/// All gears and ranges before and after, matched by their names, and the crawl of both.
///
/// # Errors
/// A setup or speed out of range, below `before`, `after` or `speeds`.
pub fn compare(before: &Setup, after: &Setup, speeds: &ReferenceSpeeds) -> Result<Comparison, InvalidInput> {
    let mut check = Check::new();
    check.merge("before", before.check());
    check.merge("after", after.check());
    if let Some(cruise_km_per_h) = speeds.cruise_km_per_h {
        check_speed(&mut check, "speeds.cruise_km_per_h", cruise_km_per_h);
    }
    if let Some(crawl_rpm) = speeds.crawl_rpm {
        check_engine_speed(&mut check, "speeds.crawl_rpm", crawl_rpm);
    }
    check.finish()?;
    let mut rows = gear_figures(before, speeds.cruise_km_per_h)?;
    for found in gear_figures(after, speeds.cruise_km_per_h)? {
        let same = |row: &&mut GearRow| {
            row.gear == found.gear && row.range == found.range && row.is_reverse == found.is_reverse
        };
        match rows.iter_mut().find(same) {
            Some(row) => row.after = found.before,
            None => rows.push(GearRow {
                before: None,
                after: found.before,
                ..found
            }),
        }
    }
    Ok(Comparison {
        rows,
        crawl_before: crawl(before, speeds.crawl_rpm)?,
        crawl_after: crawl(after, speeds.crawl_rpm)?,
        circumference_change: after.circumference_m() / before.circumference_m(),
    })
}

/// The crawl of one setup; `None` without a forward gear.
///
/// # Errors
/// A setup or engine speed out of range.
pub fn crawl(setup: &Setup, crawl_rpm: Option<f64>) -> Result<Option<Crawl>, InvalidInput> {
    let Some(overall) = crawl_ratio(&setup.driveline)? else {
        return Ok(None);
    };
    let per_1000_rpm = speed_per_1000_rpm_km_per_h(overall.ratio, setup.circumference_m())?;
    Ok(Some(Crawl {
        gear: overall.gear,
        range: overall.range,
        overall_ratio: overall.ratio,
        speed_km_per_h: crawl_rpm.map(|crawl_rpm| per_1000_rpm * crawl_rpm / 1e3),
    }))
}
