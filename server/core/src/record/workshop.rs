//! Workshops, and what is still to come.

use super::{Date, Id, Name};
use crate::plan::calendar::WorkingCalendar;
use crate::plan::three_point::ThreePoint;

/// A place with bays and people, and the hours it works.
#[derive(Debug, Clone, PartialEq)]
pub struct Workshop {
    /// Its name.
    pub name: Name,
    /// Name for people.
    pub display_name: String,
    /// Jobs that can be under way in bays at one moment, 1 or more. `None`: not known.
    pub bay_count: Option<u32>,
    /// When it works. `None`: not known.
    pub working_calendar: Option<WorkingCalendar>,
    /// The people whose skills jobs ask for.
    pub workers: Vec<Worker>,
    /// Anything worth knowing.
    pub note: String,
}

/// A person who works in a workshop.
#[derive(Debug, Clone, PartialEq)]
pub struct Worker {
    /// Id within the workshop; a role, not a name.
    pub id: Id,
    /// What they can do.
    pub skills: Vec<Id>,
    /// When they work. `None`: when the workshop does.
    pub working_calendar: Option<WorkingCalendar>,
}

/// A part, an appointment or a confirmation that jobs wait for.
#[derive(Debug, Clone, PartialEq)]
pub struct AwaitedPart {
    /// Its name.
    pub name: Name,
    /// Name for people.
    pub display_name: String,
    /// The part in the catalogue. `None`: it is not in it, or no part.
    pub part: Option<Name>,
    /// How many. `None`: not stated.
    pub quantity: Option<u32>,
    /// Days from its order to its arrival. `None`: not known.
    pub lead_time_days: Option<ThreePoint>,
    /// When it was ordered. `None`: it is not ordered.
    pub ordered_date: Option<Date>,
    /// When it arrived. `None`: it has not.
    pub arrived_date: Option<Date>,
    /// Last day on which its supplier takes the order. `None`: no such day.
    pub order_by_date: Option<Date>,
    /// Anything worth knowing.
    pub note: String,
}
