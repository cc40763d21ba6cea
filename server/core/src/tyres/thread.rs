//! Stud threads (`M14x1.5`, `1/2-20 UNF`) and bolt circles (`6x139.7`).

use std::fmt;
use std::str::FromStr;

use super::cursor::{Cursor, DesignationError};
use super::designation::{Hundredths, MM_PER_INCH};

/// Thread of a wheel stud.
///
/// ```
/// use ostler_core::tyres::StudThread;
///
/// let metric: StudThread = "m12 x 1.5".parse().unwrap();
/// assert_eq!((metric.diameter_mm(), metric.pitch_mm()), (12.0, 1.5));
/// let inch: StudThread = "1/2-20 UNF".parse().unwrap();
/// assert_eq!((inch.diameter_mm(), inch.pitch_mm()), (12.7, 1.27));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct StudThread {
    /// Diameter and pitch.
    pub form: ThreadForm,
    /// Left-hand thread, as on the left side of some older vehicles.
    pub left_hand: bool,
}

/// Diameter and pitch of a thread as designated.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum ThreadForm {
    /// `M14x1.5`.
    Metric {
        /// Nominal diameter, mm.
        diameter_mm: Hundredths,
        /// Pitch, mm.
        pitch_mm: Hundredths,
    },
    /// `1/2-20`: a fraction of an inch and threads per inch.
    Inch {
        /// Numerator of the diameter.
        numerator: u32,
        /// Denominator of the diameter, never 0.
        denominator: std::num::NonZeroU32,
        /// Threads per inch, never 0.
        threads_per_inch: std::num::NonZeroU32,
        /// Series, where written.
        series: Option<InchSeries>,
    },
}

/// Series of an inch thread.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum InchSeries {
    /// Unified coarse.
    Unc,
    /// Unified fine.
    Unf,
}

impl StudThread {
    /// Nominal diameter, mm.
    pub fn diameter_mm(&self) -> f64 {
        match self.form {
            ThreadForm::Metric { diameter_mm, .. } => diameter_mm.value(),
            ThreadForm::Inch {
                numerator,
                denominator,
                ..
            } => MM_PER_INCH * f64::from(numerator) / f64::from(denominator.get()),
        }
    }

    /// Pitch: travel of the nut in one turn, mm.
    pub fn pitch_mm(&self) -> f64 {
        match self.form {
            ThreadForm::Metric { pitch_mm, .. } => pitch_mm.value(),
            ThreadForm::Inch { threads_per_inch, .. } => MM_PER_INCH / f64::from(threads_per_inch.get()),
        }
    }

    /// Whether a nut of `other` runs on this stud: same diameter, pitch and hand. The name of an
    /// inch series adds nothing to diameter and pitch, so it is not compared.
    pub fn takes_nut_of(&self, other: &Self) -> bool {
        let same = |a: f64, b: f64| (a - b).abs() < 1e-9;
        self.left_hand == other.left_hand
            && same(self.diameter_mm(), other.diameter_mm())
            && same(self.pitch_mm(), other.pitch_mm())
    }
}

impl FromStr for StudThread {
    type Err = DesignationError;

    /// # Errors
    /// The first place that does not fit, with what was expected there. A metric thread without its
    /// pitch is refused: the nut of another pitch starts and then strips.
    fn from_str(text: &str) -> Result<Self, DesignationError> {
        let mut cursor = Cursor::new(text)?;
        let form = if cursor.take_word("M") {
            metric(&mut cursor)?
        } else {
            inch(&mut cursor)?
        };
        cursor.skip_spaces();
        let left_hand = cursor.take_whole_word("LH");
        cursor.skip_spaces();
        if cursor.at_end() {
            Ok(Self { form, left_hand })
        } else {
            Err(cursor.expected("LH or the end"))
        }
    }
}

fn metric(cursor: &mut Cursor) -> Result<ThreadForm, DesignationError> {
    cursor.skip_spaces();
    let start = cursor.position();
    let diameter_mm = cursor.decimal("a thread diameter in mm")?;
    if !(600..=3_600).contains(&diameter_mm.0) {
        return Err(cursor.expected_at(start, "a thread diameter of 6 to 36 mm"));
    }
    cursor.skip_spaces();
    if cursor.take_any(&['X', '×']).is_none() {
        return Err(cursor.expected("x and the pitch in mm"));
    }
    cursor.skip_spaces();
    let start = cursor.position();
    let pitch_mm = cursor.decimal("a pitch in mm")?;
    if !(50..=400).contains(&pitch_mm.0) {
        return Err(cursor.expected_at(start, "a pitch of 0.5 to 4 mm"));
    }
    Ok(ThreadForm::Metric {
        diameter_mm,
        pitch_mm,
    })
}

fn inch(cursor: &mut Cursor) -> Result<ThreadForm, DesignationError> {
    let start = cursor.position();
    let numerator = cursor.whole("M, or a thread diameter as a fraction of an inch")?;
    if cursor.take_any(&['/']).is_none() {
        return Err(cursor.expected("/ of a fraction of an inch"));
    }
    let denominator = cursor.whole("the denominator of a fraction of an inch")?;
    let denominator = std::num::NonZeroU32::new(denominator).filter(|d| (2..=64).contains(&d.get()));
    let refused = cursor.expected_at(start, "a thread diameter of 1/4 to 1 1/2 inch, in up to 64ths");
    let denominator = denominator.ok_or_else(|| refused.clone())?;
    // 1/4 to 1 1/2 inch, in whole numbers.
    if 4 * numerator < denominator.get() || 2 * numerator > 3 * denominator.get() {
        return Err(refused);
    }
    cursor.skip_spaces();
    if cursor.take_any(&['-', 'X']).is_none() {
        return Err(cursor.expected("- and the threads per inch"));
    }
    cursor.skip_spaces();
    let start = cursor.position();
    let threads =
        std::num::NonZeroU32::new(cursor.whole("threads per inch")?).filter(|t| (4..=48).contains(&t.get()));
    let threads_per_inch = threads.ok_or_else(|| cursor.expected_at(start, "4 to 48 threads per inch"))?;
    cursor.skip_spaces();
    let series = if cursor.take_whole_word("UNF") {
        Some(InchSeries::Unf)
    } else if cursor.take_whole_word("UNC") {
        Some(InchSeries::Unc)
    } else {
        None
    };
    Ok(ThreadForm::Inch {
        numerator,
        denominator,
        threads_per_inch,
        series,
    })
}

impl fmt::Display for StudThread {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.form {
            ThreadForm::Metric {
                diameter_mm,
                pitch_mm,
            } => write!(formatter, "M{diameter_mm}x{pitch_mm}")?,
            ThreadForm::Inch {
                numerator,
                denominator,
                threads_per_inch,
                series,
            } => {
                write!(formatter, "{numerator}/{denominator}-{threads_per_inch}")?;
                match series {
                    Some(InchSeries::Unc) => formatter.write_str(" UNC")?,
                    Some(InchSeries::Unf) => formatter.write_str(" UNF")?,
                    None => {}
                }
            }
        }
        if self.left_hand {
            formatter.write_str(" LH")
        } else {
            Ok(())
        }
    }
}

/// Bolt circle of a wheel: number of studs and the diameter of the circle through them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct BoltCircle {
    /// Number of studs.
    pub studs: u32,
    /// Diameter, mm.
    pub diameter_mm: Hundredths,
}

impl FromStr for BoltCircle {
    type Err = DesignationError;

    /// # Errors
    /// The first place that does not fit. A diameter in inches is refused rather than guessed.
    fn from_str(text: &str) -> Result<Self, DesignationError> {
        let mut cursor = Cursor::new(text)?;
        let start = cursor.position();
        let studs = cursor.whole("a number of studs")?;
        if !(3..=12).contains(&studs) {
            return Err(cursor.expected_at(start, "3 to 12 studs"));
        }
        cursor.skip_spaces();
        if cursor.take_any(&['X', '×']).is_none() {
            return Err(cursor.expected("x and the diameter in mm"));
        }
        cursor.skip_spaces();
        let start = cursor.position();
        let diameter_mm = cursor.decimal("a bolt circle diameter in mm")?;
        if !(8_000..=40_000).contains(&diameter_mm.0) {
            return Err(cursor.expected_at(start, "a bolt circle diameter of 80 to 400 mm"));
        }
        cursor.skip_spaces();
        if cursor.at_end() {
            Ok(Self { studs, diameter_mm })
        } else {
            Err(cursor.expected("the end"))
        }
    }
}

impl fmt::Display for BoltCircle {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(formatter, "{}x{}", self.studs, self.diameter_mm)
    }
}
