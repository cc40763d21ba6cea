//! The sentence that goes with a hypothesis.

use super::diagnosis::{DiagnosisInput, Hypothesis, RankedHypothesis};
use super::hypotheses::floor_axle;
use super::vehicle::{AxlePosition, Side, Wheel};

/// What a hypothesis means and what it predicts, in plain words.
pub(super) fn explanation(input: &DiagnosisInput<'_>, ranked: &RankedHypothesis) -> String {
    let length = |wheel: Wheel| input.recorded.station(wheel).spring.free_length_mm;
    let (mean, sd) = ranked
        .amount
        .map_or((0.0, 0.0), |amount| (amount.mean, amount.standard_deviation));
    let cause = match ranked.hypothesis {
        Hypothesis::AsRecorded => "springs, load and floor as recorded".to_owned(),
        Hypothesis::SpringsExchanged { axle } => {
            let [left, right] = [Side::Left, Side::Right].map(|side| length(Wheel::of(axle, side)));
            format!(
                "{} springs exchanged left for right: free length {right:.0} mm now on the left, {left:.0} mm on the right",
                axle.words()
            )
        }
        Hypothesis::OtherVariant { wheel, variant } => {
            let other = &input.variants[variant];
            format!(
                "{} fitted {} instead of the recorded spring: free length {:.0} mm instead of {:.0} mm",
                other.part,
                wheel.words(),
                other.spring.free_length_mm,
                length(wheel)
            )
        }
        Hypothesis::Sagged { wheel } => {
            format!(
                "{} spring sagged by {mean:.0} mm (standard deviation {sd:.0} mm)",
                wheel.words()
            )
        }
        Hypothesis::CargoOffCentre => format!(
            "load further to the {} than recorded, by a moment of {:.0} N m (standard deviation {sd:.0} N m)",
            Side::words(if mean < 0.0 { Side::Left } else { Side::Right }),
            mean.abs()
        ),
        Hypothesis::UnrecordedMass => {
            format!(
                "something of about {mean:.0} kg (standard deviation {sd:.0} kg) aboard that is not recorded"
            )
        }
        Hypothesis::FloorNotLevel => format!(
            "floor falling across the {} track by {:.0} mm to the {} (standard deviation {sd:.0} mm)",
            floor_axle(input).words(),
            mean.abs(),
            Side::words(if mean < 0.0 { Side::Left } else { Side::Right })
        ),
    };
    let predicted = AxlePosition::ALL.map(|axle| {
        let difference_mm = match axle {
            AxlePosition::Front => ranked.side_difference_mm[0],
            AxlePosition::Rear => ranked.side_difference_mm[1],
        };
        match (
            format!("{:.1}", difference_mm.abs()).as_str(),
            difference_mm > 0.0,
        ) {
            ("0.0", _) => format!("{} level", axle.words()),
            (height, true) => format!("{} right {height} mm lower", axle.words()),
            (height, false) => format!("{} left {height} mm lower", axle.words()),
        }
    });
    format!("{cause}; predicts at the arches: {}", predicted.join(", "))
}
