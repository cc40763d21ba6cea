//! Ratios: gearbox gear x transfer range x axle x hub, and whether both axles turn alike.

use crate::check::{Check, InvalidInput};

/// Ratios of one stage that are accepted: engine side turns over wheel side turns.
pub const STAGE_RATIO: (f64, f64) = (0.1, 50.0);

/// Overall ratios that are accepted: engine turns per wheel turn.
pub const OVERALL_RATIO: (f64, f64) = (0.1, 2_000.0);

/// Greatest number of gears, and of ranges, that is accepted.
pub const GEARS_MAX: usize = 32;

/// One gear of a gearbox.
#[derive(Debug, Clone, PartialEq)]
pub struct Gear {
    /// Its name, unique in the gearbox: `1`, `5`, `R`.
    pub name: String,
    /// Input turns per output turn, without a sign.
    pub ratio: f64,
    /// Whether it drives backwards.
    pub is_reverse: bool,
}

/// One range of a transfer case.
#[derive(Debug, Clone, PartialEq)]
pub struct TransferRange {
    /// Its name, unique in the transfer case: `high`, `low`.
    pub name: String,
    /// Input turns per output turn.
    pub ratio: f64,
}

/// Everything between engine and wheel that changes speed.
#[derive(Debug, Clone, PartialEq)]
pub struct Driveline {
    /// Gears of the gearbox; forward gears in falling order of their ratios.
    pub gears: Vec<Gear>,
    /// Ranges of the transfer case; one of ratio 1 where there is no transfer case.
    pub ranges: Vec<TransferRange>,
    /// Ratio of the axle drive.
    pub axle_ratio: f64,
    /// Ratio of the hub reduction; 1 where there is none.
    pub hub_ratio: f64,
}

/// Overall ratio of one gear in one range.
#[derive(Debug, Clone, PartialEq)]
pub struct OverallRatio {
    /// Name of the gear.
    pub gear: String,
    /// Name of the range.
    pub range: String,
    /// Whether it drives backwards.
    pub is_reverse: bool,
    /// Engine turns per wheel turn.
    pub ratio: f64,
}

impl Driveline {
    /// Checks names, ratios and their order.
    ///
    /// # Errors
    /// No gears, no ranges or too many; a name that is empty or used twice; a ratio out of range; a
    /// forward gear whose ratio is not below that of the forward gear before it; a gear whose overall
    /// ratio is outside [`OVERALL_RATIO`] in some range.
    pub fn check(&self) -> Result<(), InvalidInput> {
        let mut check = Check::new();
        check_gears(&mut check, &self.gears);
        check_ranges(&mut check, &self.ranges);
        check_ratio(&mut check, "axle_ratio", self.axle_ratio);
        check_ratio(&mut check, "hub_ratio", self.hub_ratio);
        if check.passes() {
            self.check_overall(&mut check);
        }
        check.finish()
    }

    fn check_overall(&self, check: &mut Check) {
        let (least, most) = OVERALL_RATIO;
        for (index, gear) in self.gears.iter().enumerate() {
            for range in &self.ranges {
                let overall = gear.ratio * range.ratio * self.axle_ratio * self.hub_ratio;
                if !(least..=most).contains(&overall) {
                    let problem = format!(
                        "must give an overall ratio between {least} and {most}, gives {overall} in range {}",
                        range.name
                    );
                    check.refuse(format_args!("gears[{index}].ratio"), problem);
                }
            }
        }
    }
}

/// Overall ratio of every gear in every range: ranges in their order, gears in theirs within each.
///
/// # Errors
/// A driveline that does not pass its check.
pub fn overall_ratios(driveline: &Driveline) -> Result<Vec<OverallRatio>, InvalidInput> {
    driveline.check()?;
    let behind_transfer = driveline.axle_ratio * driveline.hub_ratio;
    let ratios = driveline.ranges.iter().flat_map(|range| {
        driveline.gears.iter().map(move |gear| OverallRatio {
            gear: gear.name.clone(),
            range: range.name.clone(),
            is_reverse: gear.is_reverse,
            ratio: gear.ratio * range.ratio * behind_transfer,
        })
    });
    Ok(ratios.collect())
}

/// The forward gear and range with the greatest overall ratio; `None` without a forward gear.
///
/// # Errors
/// A driveline that does not pass its check.
pub fn crawl_ratio(driveline: &Driveline) -> Result<Option<OverallRatio>, InvalidInput> {
    let ratios = overall_ratios(driveline)?;
    Ok(ratios
        .into_iter()
        .filter(|overall| !overall.is_reverse)
        .max_by(|one, other| one.ratio.total_cmp(&other.ratio)))
}

/// What turns one axle of a vehicle whose axles may be locked together.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AxleDrive {
    /// Ratio from the transfer case to the wheel: axle times hub.
    pub ratio: f64,
    /// Outer diameter of its tyres, both axles measured alike.
    pub tyre_diameter_mm: f64,
}

/// How much faster the front wheels would roll than the rear ones with both axles locked together, in
/// percent: positive when the front pulls ahead, 0 when they turn alike.
///
/// Any difference winds the driveline up on firm ground. About 1 percent is the most that is commonly
/// let pass (common practice, no source); on gear sets of nearly equal ratio it is easily missed.
///
/// # Errors
/// Ratios or diameters out of range.
pub fn axle_mismatch_percent(front: &AxleDrive, rear: &AxleDrive) -> Result<f64, InvalidInput> {
    let mut check = Check::new();
    for (name, axle) in [("front", front), ("rear", rear)] {
        check_ratio(&mut check, &format!("{name}.ratio"), axle.ratio);
        super::check_tyre_diameter(
            &mut check,
            &format!("{name}.tyre_diameter_mm"),
            axle.tyre_diameter_mm,
        );
    }
    check.finish()?;
    let travel = |axle: &AxleDrive| axle.tyre_diameter_mm / axle.ratio;
    Ok(100.0 * (travel(front) / travel(rear) - 1.0))
}

/// Refuses gears that cannot be told apart or do not fall.
pub(crate) fn check_gears(check: &mut Check, gears: &[Gear]) {
    let names: Vec<&str> = gears.iter().map(|gear| gear.name.as_str()).collect();
    check_names(check, "gears", &names);
    let mut before = f64::INFINITY;
    for (index, gear) in gears.iter().enumerate() {
        let field = format!("gears[{index}].ratio");
        check_ratio(check, &field, gear.ratio);
        if !gear.is_reverse {
            if gear.ratio >= before {
                check.refuse(
                    field,
                    format!("must be below {before}, that of the forward gear before it"),
                );
            }
            before = gear.ratio;
        }
    }
}

/// Refuses ranges that cannot be told apart.
pub(crate) fn check_ranges(check: &mut Check, ranges: &[TransferRange]) {
    let names: Vec<&str> = ranges.iter().map(|range| range.name.as_str()).collect();
    check_names(check, "ranges", &names);
    for (index, range) in ranges.iter().enumerate() {
        check_ratio(check, &format!("ranges[{index}].ratio"), range.ratio);
    }
}

pub(crate) fn check_ratio(check: &mut Check, field: &str, ratio: f64) {
    check.between(field, ratio, STAGE_RATIO.0, STAGE_RATIO.1);
}

fn check_names(check: &mut Check, field: &str, names: &[&str]) {
    if !(1..=GEARS_MAX).contains(&names.len()) {
        check.refuse(field, format!("must be 1 to {GEARS_MAX}, are {}", names.len()));
    }
    for (index, name) in names.iter().enumerate().take(GEARS_MAX) {
        if name.trim().is_empty() {
            check.refuse(format_args!("{field}[{index}].name"), "must not be empty");
        } else if names[..index].contains(name) {
            check.refuse(
                format_args!("{field}[{index}].name"),
                format!("must be unique, is {name} again"),
            );
        }
    }
}
