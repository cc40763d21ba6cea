//! A wheel on its studs and a tyre on its rim: nut seat, thread engagement, tube or tubeless.

use std::fmt;
use std::str::FromStr;

use super::cursor::{Cursor, DesignationError};
use super::designation::{Construction, Hundredths, TubeMark};
use super::thread::StudThread;
use crate::check::{Check, InvalidInput};

/// What to show with every change of wheels. Common practice, no source.
pub const WHEEL_NUT_CAUTION: &str = "Tighten to the vehicle maker's torque with the wheel off the ground and retighten after the first 50 to 100 km.";

/// Form of the face on which a wheel nut sits. A nut on a seat of another form touches on a line only
/// and works loose.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum NutSeat {
    /// Cone with this included angle, degrees (60 is the usual one).
    Cone {
        /// Included angle, degrees.
        included_angle_deg: f64,
    },
    /// Part of a ball.
    Spherical {
        /// Radius of the ball, mm.
        radius_mm: f64,
    },
    /// Flat face under a washer, no shank into the wheel.
    FlatWithWasher,
    /// Flat face under a washer with a plain shank that reaches into the wheel's hole.
    FlatWithShank {
        /// Diameter of the shank, mm.
        shank_diameter_mm: f64,
    },
}

impl NutSeat {
    /// Whether a nut of this seat belongs on a wheel of `wheel`.
    pub fn fits(&self, wheel: &Self) -> bool {
        let same = |a: f64, b: f64| (a - b).abs() <= 0.05;
        match (*self, *wheel) {
            (
                Self::Cone {
                    included_angle_deg: a,
                },
                Self::Cone {
                    included_angle_deg: b,
                },
            ) => same(a, b),
            (Self::Spherical { radius_mm: a }, Self::Spherical { radius_mm: b }) => same(a, b),
            (Self::FlatWithShank { shank_diameter_mm: a }, Self::FlatWithShank { shank_diameter_mm: b }) => {
                same(a, b)
            }
            (Self::FlatWithWasher, Self::FlatWithWasher) => true,
            _ => false,
        }
    }

    /// Whether the seat itself centres the wheel; a flat one leaves that to the hub.
    pub fn centres(&self) -> bool {
        matches!(self, Self::Cone { .. } | Self::Spherical { .. })
    }
}

impl fmt::Display for NutSeat {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Cone { included_angle_deg } => write!(formatter, "{included_angle_deg} degree cone"),
            Self::Spherical { radius_mm } => write!(formatter, "ball of radius {radius_mm} mm"),
            Self::FlatWithWasher => formatter.write_str("flat with washer"),
            Self::FlatWithShank { shank_diameter_mm } => {
                write!(formatter, "flat with washer and {shank_diameter_mm} mm shank")
            }
        }
    }
}

impl FromStr for NutSeat {
    type Err = DesignationError;

    /// Reads `60 degree cone`, `ball of radius 14 mm`, `flat with washer` or `flat with washer and 20 mm shank`.
    ///
    /// # Errors
    /// The first place that does not fit. A cone without its angle is refused rather than guessed.
    fn from_str(text: &str) -> Result<Self, DesignationError> {
        let mut cursor = Cursor::new(text)?;
        let words = |cursor: &mut Cursor, words: &[&str]| -> Result<(), DesignationError> {
            for word in words {
                cursor.skip_spaces();
                if !cursor.take_whole_word(word) {
                    return Err(cursor.expected(word.to_lowercase()));
                }
            }
            cursor.skip_spaces();
            Ok(())
        };
        let seat = if cursor.take_whole_word("FLAT") {
            words(&mut cursor, &["WITH", "WASHER"])?;
            if cursor.at_end() {
                Self::FlatWithWasher
            } else {
                words(&mut cursor, &["AND"])?;
                let shank_diameter_mm = cursor.decimal("a shank diameter in mm")?.value();
                words(&mut cursor, &["MM", "SHANK"])?;
                Self::FlatWithShank { shank_diameter_mm }
            }
        } else if cursor.take_whole_word("BALL") {
            words(&mut cursor, &["OF", "RADIUS"])?;
            let radius_mm = cursor.decimal("a radius in mm")?.value();
            words(&mut cursor, &["MM"])?;
            Self::Spherical { radius_mm }
        } else {
            let expected = "flat, ball or the angle of a cone in degrees";
            let included_angle_deg = cursor.decimal(expected)?.value();
            words(&mut cursor, &["DEGREE", "CONE"])?;
            Self::Cone { included_angle_deg }
        };
        if cursor.at_end() {
            Ok(seat)
        } else {
            Err(cursor.expected("the end"))
        }
    }
}

/// A stud, a wheel and a nut.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StudJoint {
    /// Thread of stud and nut.
    pub thread: StudThread,
    /// Length of thread standing out of the hub face (or of the drum or disc on it), mm.
    pub stud_protrusion_mm: f64,
    /// Thickness of the wheel's centre between hub face and nut seat, mm.
    pub nave_thickness_mm: f64,
    /// How far the nut's thread reaches into the wheel beyond its seat, mm: 0 for a plain nut,
    /// the threaded part of the shank for a shank nut.
    pub nut_thread_into_nave_mm: f64,
    /// Length of thread in the nut, mm; the engagement cannot be longer. Not known: the engagement
    /// given is the most there can be.
    pub nut_thread_length_mm: Option<f64>,
    /// Fewest stud diameters of engagement asked for. Policy: common practice, no source.
    pub engagement_min_diameters: f64,
}

/// How far a nut engages its stud.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StudEngagement {
    /// Engaged thread, mm; 0 when the stud does not reach the nut.
    pub engagement_mm: f64,
    /// The same in turns of the nut.
    pub turns: f64,
    /// The same in stud diameters.
    pub diameters: f64,
    /// Engagement asked for, mm.
    pub required_mm: f64,
    /// Engagement missing, mm: how much longer the studs must stand out; 0 when there is enough.
    pub shortfall_mm: f64,
    /// Whether the nut's own thread length limits the engagement (longer studs will not help).
    pub limited_by_nut: bool,
}

impl StudEngagement {
    /// Whether there is enough.
    pub fn is_enough(&self) -> bool {
        self.shortfall_mm <= 0.0
    }
}

/// Engagement of a wheel nut: stud protrusion less nave thickness, plus what a shank nut reaches in.
/// Own statement of the geometry.
///
/// # Errors
/// A length out of 0 to 200 mm, or a minimum out of 0.1 to 5 diameters.
pub fn stud_engagement(joint: &StudJoint) -> Result<StudEngagement, InvalidInput> {
    const LENGTH_MAX_MM: f64 = 200.0;
    let mut check = Check::new();
    check.between("stud_protrusion_mm", joint.stud_protrusion_mm, 0.0, LENGTH_MAX_MM);
    check.between("nave_thickness_mm", joint.nave_thickness_mm, 0.0, LENGTH_MAX_MM);
    check.between(
        "nut_thread_into_nave_mm",
        joint.nut_thread_into_nave_mm,
        0.0,
        LENGTH_MAX_MM,
    );
    if joint.nut_thread_into_nave_mm > joint.nave_thickness_mm {
        check.refuse(
            "nut_thread_into_nave_mm",
            "must not be longer than the nave is thick",
        );
    }
    if let Some(length_mm) = joint.nut_thread_length_mm {
        check.between("nut_thread_length_mm", length_mm, 0.0, LENGTH_MAX_MM);
    }
    check.between(
        "engagement_min_diameters",
        joint.engagement_min_diameters,
        0.1,
        5.0,
    );
    check.positive("thread.diameter_mm", joint.thread.diameter_mm());
    check.positive("thread.pitch_mm", joint.thread.pitch_mm());
    check.finish()?;
    let reach_mm =
        (joint.stud_protrusion_mm - joint.nave_thickness_mm + joint.nut_thread_into_nave_mm).max(0.0);
    let engagement_mm = joint
        .nut_thread_length_mm
        .map_or(reach_mm, |length_mm| reach_mm.min(length_mm));
    let required_mm = joint.engagement_min_diameters * joint.thread.diameter_mm();
    Ok(StudEngagement {
        engagement_mm,
        turns: engagement_mm / joint.thread.pitch_mm(),
        diameters: engagement_mm / joint.thread.diameter_mm(),
        required_mm,
        shortfall_mm: (required_mm - engagement_mm).max(0.0),
        limited_by_nut: engagement_mm < reach_mm,
    })
}

/// A rim as a tyre sees it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct RimSeat {
    /// Rim diameter, inches.
    pub diameter_in: Hundredths,
    /// Whether the rim holds air by itself: one-piece rims do; split, multi-piece and spoked rims do
    /// not unless made with a seal. Not known until somebody looked.
    pub airtight: Option<bool>,
}

/// A tyre as a rim sees it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TyreSeat {
    /// Rim diameter of the tyre, inches.
    pub rim_in: Hundredths,
    /// Construction.
    pub construction: Construction,
    /// Made to run without or with a tube.
    pub tube_mark: Option<TubeMark>,
}

/// The tube to be fitted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tube {
    /// None.
    None,
    /// A tube of the tyre's size; whether it is rated for radial tyres, if known.
    Fitted {
        /// Marked for radial tyres.
        radial_rated: Option<bool>,
    },
}

/// Whether a tyre may be fitted to a rim with or without a tube.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TubeFit {
    /// It may.
    Fits,
    /// It may, as a makeshift.
    Makeshift(&'static str),
    /// It may not.
    Refused(&'static str),
    /// Undecided; names the missing datum.
    NotKnown(&'static str),
}

/// Judges tyre, rim and tube together. The rules are from memory, not verified: a rim that is not
/// airtight needs a tube; a tube-type tyre is never run without; a tubeless radial may take a
/// radial-rated tube of its size. Makers' instructions stand above them.
pub fn tube_fit(tyre: &TyreSeat, rim: &RimSeat, tube: Tube) -> TubeFit {
    if tyre.rim_in != rim.diameter_in {
        // 16 and 16.5 inch look alike and have killed fitters.
        return TubeFit::Refused("tyre and rim are of different diameters: never force or inflate it");
    }
    let Some(mark) = tyre.tube_mark else {
        return TubeFit::NotKnown("tube mark of the tyre");
    };
    match (mark, tube) {
        (TubeMark::TubeType, Tube::None) => TubeFit::Refused("a tube-type tyre must not run without a tube"),
        (TubeMark::Tubeless, Tube::None) => match rim.airtight {
            Some(true) => TubeFit::Fits,
            Some(false) => TubeFit::Refused("the rim is not airtight: a tube is needed"),
            None => TubeFit::NotKnown("whether the rim is airtight"),
        },
        (_, Tube::Fitted { radial_rated }) if tyre.construction == Construction::Radial => match radial_rated
        {
            Some(true) if mark == TubeMark::TubeType => TubeFit::Fits,
            Some(true) => TubeFit::Makeshift("a tube in a tubeless tyre runs hot: keep speed down"),
            Some(false) => TubeFit::Refused("a radial tyre needs a tube rated for radials"),
            None => TubeFit::NotKnown("whether the tube is rated for radials"),
        },
        (TubeMark::TubeType, Tube::Fitted { .. }) => TubeFit::Fits,
        (TubeMark::Tubeless, Tube::Fitted { .. }) => {
            TubeFit::Makeshift("a tube in a tubeless tyre runs hot: keep speed down")
        }
    }
}
