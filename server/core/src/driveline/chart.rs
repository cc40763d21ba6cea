//! Road speed over engine speed of every gear and range, as series for a chart.

use super::check_engine_speed;
use super::compare::Setup;
use super::ratios::overall_ratios;
use super::speed::road_speed_km_per_h;
use crate::check::{Check, InvalidInput};

/// One line of the chart. Road speed is proportional to engine speed, so two points draw it.
#[derive(Debug, Clone, PartialEq)]
pub struct SpeedSeries {
    /// Name of the gear.
    pub gear: String,
    /// Name of the range.
    pub range: String,
    /// Whether it drives backwards.
    pub is_reverse: bool,
    /// Road speed at the lower end of the engine speeds.
    pub from_km_per_h: f64,
    /// Road speed at the upper end.
    pub to_km_per_h: f64,
}

/// Road speed over engine speed.
#[derive(Debug, Clone, PartialEq)]
pub struct SpeedChart {
    /// Lower end of the engine speeds.
    pub from_rpm: f64,
    /// Upper end of the engine speeds.
    pub to_rpm: f64,
    /// One line per gear and range, in the order of the overall ratios.
    pub series: Vec<SpeedSeries>,
}

/// Road speed over engine speed of every gear and range between two engine speeds, such as idle and
/// governed speed.
///
/// # Errors
/// A setup or engine speed out of range; an upper end that is not above the lower.
pub fn speed_over_engine_speed(
    setup: &Setup,
    from_rpm: f64,
    to_rpm: f64,
) -> Result<SpeedChart, InvalidInput> {
    let mut check = Check::new();
    check.merge("setup", setup.check());
    check_engine_speed(&mut check, "from_rpm", from_rpm);
    check_engine_speed(&mut check, "to_rpm", to_rpm);
    if to_rpm <= from_rpm {
        check.refuse("to_rpm", format!("must be above from_rpm, {from_rpm}"));
    }
    check.finish()?;
    let circumference_m = setup.circumference_m();
    let series = overall_ratios(&setup.driveline)?.into_iter().map(|overall| {
        Ok(SpeedSeries {
            from_km_per_h: road_speed_km_per_h(from_rpm, overall.ratio, circumference_m)?,
            to_km_per_h: road_speed_km_per_h(to_rpm, overall.ratio, circumference_m)?,
            gear: overall.gear,
            range: overall.range,
            is_reverse: overall.is_reverse,
        })
    });
    Ok(SpeedChart {
        from_rpm,
        to_rpm,
        series: series.collect::<Result<_, InvalidInput>>()?,
    })
}
