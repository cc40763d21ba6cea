//! Jobs.

use super::{Date, Id, Name};
use crate::plan::three_point::ThreePoint;

/// A piece of work: a job card.
#[derive(Debug, Clone, PartialEq)]
pub struct Job {
    /// Its name.
    pub name: Name,
    /// Name for people.
    pub display_name: String,
    /// The vehicles that are not ready before it is done. None unless `whole_fleet`: only other jobs wait for it.
    pub vehicles: Vec<Name>,
    /// No vehicle of the fleet is ready before it is done; `vehicles` is empty then.
    pub whole_fleet: bool,
    /// One of the fleet's stages. `None`: none.
    pub stage: Option<Id>,
    /// Hours of work from beginning to end. `None`: not known.
    pub work_hours: Option<ThreePoint>,
    /// Jobs that must be done before it can begin.
    pub after: Vec<Name>,
    /// Workshops that could do it. Empty: it needs neither bays nor people.
    pub workshops: Vec<Name>,
    /// It needs no bay of the workshop.
    pub without_bay: bool,
    /// People of the workshop that it holds: one for each skill listed.
    pub skills: Vec<Id>,
    /// What must have arrived before it can begin.
    pub awaited_parts: Vec<Name>,
    /// It cannot begin before this day.
    pub earliest_date: Option<Date>,
    /// It is to be done by the end of this day.
    pub latest_date: Option<Date>,
    /// What it clears: substitutions carried out, defects cured, regulated items, evidence and weighings made good, cargo held.
    pub serves: Vec<Name>,
    /// How far it is.
    pub progress: Progress,
    /// Anything worth knowing.
    pub note: String,
}

/// How far a job is.
#[derive(Debug, Clone, PartialEq)]
pub enum Progress {
    /// To do.
    ToDo,
    /// Under way.
    UnderWay {
        /// When it was begun.
        started_date: Option<Date>,
        /// Where. `None`: it needs no workshop.
        workshop: Option<Name>,
        /// Hours spent so far. `None`: not reported.
        actual_hours: Option<f64>,
        /// Hours left, as reported. `None`: not reported.
        remaining_hours: Option<ThreePoint>,
    },
    /// Done.
    Done {
        /// When.
        done_date: Option<Date>,
        /// Hours spent. `None`: not reported.
        actual_hours: Option<f64>,
    },
}

impl Job {
    /// Whether `vehicle` is not ready before it is done.
    pub fn concerns(&self, vehicle: &Name) -> bool {
        self.whole_fleet || self.vehicles.contains(vehicle)
    }

    /// Whether it is done.
    pub fn is_done(&self) -> bool {
        matches!(self.progress, Progress::Done { .. })
    }

    /// Hours of work left. `None`: not known, also when more hours were spent than the estimate allows
    /// and nobody said what is left.
    ///
    /// Without a report of what is left, the hours spent come off each of the three values, which are
    /// never below 0. Own rule: it says nothing about the work having gone better or worse than expected.
    pub fn hours_left(&self) -> Option<ThreePoint> {
        match &self.progress {
            Progress::Done { .. } => Some(ThreePoint::exactly(0.0)),
            Progress::ToDo => self.work_hours,
            Progress::UnderWay {
                remaining_hours: Some(left),
                ..
            } => Some(*left),
            Progress::UnderWay { actual_hours, .. } => {
                let (whole, spent) = (self.work_hours?, actual_hours.unwrap_or(0.0));
                let left = |hours: f64| (hours - spent).max(0.0);
                (whole.pessimistic > spent || whole.pessimistic == 0.0).then(|| ThreePoint {
                    optimistic: left(whole.optimistic),
                    likely: left(whole.likely),
                    pessimistic: left(whole.pessimistic),
                })
            }
        }
    }
}
