//! Tyres and wheels as the record has them: what is fitted at each wheel, and what the hubs offer.

use super::cursor::Cursor;
use super::designation::Hundredths;
use super::interchange::{SpareRim, SpareTyre, WheelEnd};
use super::service::{Fitting, capacity_kg, load_index_source};
use super::size::{DIAMETER_MAX_MM, nominal_diameter_mm};
use super::thread::{BoltCircle, StudThread};
use super::wheel_fit::{NutSeat, RimSeat, TyreSeat};
use crate::record::{Interface, InterfaceValue, Name, Part, Record, Slot, TyreMarking, TyrePlacard, Vehicle};
use crate::stance::Wheel;

/// Version of how the record becomes findings about tyres. It changes when an answer may change for the same record.
pub const FORMULA_VERSION: &str = "tyres/1";

/// Difference between a marked and a recorded capacity up to which they count as one figure, kilograms.
const CAPACITY_ROUNDING_KG: f64 = 1.0;

/// What is at one wheel. `None`: not on record.
#[derive(Debug, Clone, Copy)]
pub(crate) struct AtWheel<'a> {
    pub(crate) wheel: Wheel,
    /// Slot of the wheel: its requirements are the hub's studs, bore and nuts.
    pub(crate) hub: Option<&'a Slot>,
    pub(crate) rim: Option<&'a Part>,
    pub(crate) tyre: Option<&'a Part>,
    /// One tyre, or two side by side.
    pub(crate) fitting: Fitting,
    /// The inner one of two.
    pub(crate) inner_tyre: Option<&'a Part>,
}

/// The slot of a wheel: `wheel.rear.left`.
pub(crate) const fn wheel_slot(wheel: Wheel) -> &'static str {
    match wheel {
        Wheel::FrontLeft => "wheel.front.left",
        Wheel::FrontRight => "wheel.front.right",
        Wheel::RearLeft => "wheel.rear.left",
        Wheel::RearRight => "wheel.rear.right",
    }
}

/// The slot of its tyre: `tyre.rear.left`.
pub(crate) const fn tyre_slot(wheel: Wheel) -> &'static str {
    match wheel {
        Wheel::FrontLeft => "tyre.front.left",
        Wheel::FrontRight => "tyre.front.right",
        Wheel::RearLeft => "tyre.rear.left",
        Wheel::RearRight => "tyre.rear.right",
    }
}

/// The four wheels of a vehicle, in the order of [`Wheel::ALL`].
pub(crate) fn at_wheels<'a>(record: &'a Record, vehicle: &'a Vehicle) -> [AtWheel<'a>; 4] {
    Wheel::ALL.map(|wheel| {
        let fitted = |slot: &str| {
            let (_, fitment) = vehicle.fitments.iter().find(|(id, _)| ***id == *slot)?;
            record.parts.get(fitment.part.as_ref()?)
        };
        AtWheel {
            wheel,
            fitting: fitting_at(vehicle, wheel),
            inner_tyre: fitted(inner_tyre_slot(wheel)),
            hub: vehicle.specification.slot(wheel_slot(wheel)),
            rim: fitted(wheel_slot(wheel)),
            tyre: fitted(tyre_slot(wheel)),
        }
    })
}

/// The slot of the inner tyre of two side by side: `tyre.rear.left.inner`. That the vehicle has it says that the end is dual.
pub(crate) const fn inner_tyre_slot(wheel: Wheel) -> &'static str {
    match wheel {
        Wheel::FrontLeft => "tyre.front.left.inner",
        Wheel::FrontRight => "tyre.front.right.inner",
        Wheel::RearLeft => "tyre.rear.left.inner",
        Wheel::RearRight => "tyre.rear.right.inner",
    }
}

/// Whether one tyre stands at a wheel, or two.
pub(crate) fn fitting_at(vehicle: &Vehicle, wheel: Wheel) -> Fitting {
    match vehicle.specification.slot(inner_tyre_slot(wheel)) {
        Some(_) => Fitting::Dual,
        None => Fitting::Single,
    }
}

/// Slots of tyres beside one or two at each end of two axles; what stands there is not computed.
pub(crate) fn further_tyres(vehicle: &Vehicle) -> Vec<&str> {
    let known: Vec<&str> = Wheel::ALL
        .into_iter()
        .flat_map(|wheel| [tyre_slot(wheel), inner_tyre_slot(wheel)])
        .collect();
    let slots = vehicle.specification.slots.iter().map(|slot| &*slot.id);
    slots
        .filter(|slot| slot.starts_with("tyre.") && !slot.starts_with("tyre.spare"))
        .filter(|slot| !known.contains(slot))
        .collect()
}

impl AtWheel<'_> {
    /// The records behind it.
    pub(crate) fn records(&self) -> Vec<Name> {
        [self.tyre, self.inner_tyre, self.rim]
            .into_iter()
            .flatten()
            .map(|part| part.name.clone())
            .collect()
    }

    /// The marking of its tyre.
    pub(crate) fn marking(&self) -> Option<&TyreMarking> {
        self.tyre?.tyre.as_ref()
    }

    fn asked(&self, kind: &str) -> Option<&Interface> {
        let requirements = &self.hub?.requirements;
        let requirement = requirements
            .iter()
            .find(|requirement| &*requirement.interface.kind == kind)?;
        Some(&requirement.interface)
    }

    /// A length that the hub states: `hub_bore`, `stud_protrusion`, `thread_engagement`.
    pub(crate) fn hub_length_mm(&self, kind: &str) -> Option<f64> {
        length_mm(self.asked(kind))
    }

    /// Thread of the studs.
    pub(crate) fn stud_thread(&self) -> Option<StudThread> {
        thread(self.asked("stud_thread"))
    }

    /// Seat of the nuts that belong to the hub.
    pub(crate) fn nuts(&self) -> Option<NutSeat> {
        seat(self.asked("nut_seat"))
    }

    /// The rim as the tyre sees it.
    pub(crate) fn rim_seat(&self) -> Option<RimSeat> {
        let rim = self.rim?;
        Some(RimSeat {
            diameter_in: hundredths(rim_diameter_in(rim)?)?,
            airtight: rim.wheel.and_then(|wheel| wheel.airtight),
        })
    }

    /// The wheel end as a spare sees it, with the largest load of one wheel.
    pub(crate) fn wheel_end(&self, name: String, wheel_load_max_kg: Option<f64>) -> WheelEnd {
        let marking = self.marking();
        WheelEnd {
            vehicle: name,
            bolt_circle: bolt_circle(self.asked("wheel_bolt_circle")),
            hub_diameter_mm: self.hub_length_mm("hub_bore"),
            stud_thread: self.stud_thread(),
            stud_protrusion_mm: self.hub_length_mm("stud_protrusion"),
            nut_seats: self.nuts().map(|nuts| vec![nuts]),
            tyre_diameter_mm: self.tyre.and_then(diameter_mm),
            wheel_load_max_kg,
            is_dual: self.fitting == Fitting::Dual,
            tube_mark: marking.and_then(|marking| marking.designation.tube),
            construction: marking.map(|marking| marking.designation.construction),
            rim: self.rim_seat(),
            offset_mm: self.rim.and_then(offset_mm),
        }
    }
}

/// Rim diameter of a wheel, inches: its interface or figure `rim_diameter_in`.
fn rim_diameter_in(rim: &Part) -> Option<f64> {
    match rim.interface("rim_diameter_in").map(|interface| &interface.value) {
        Some(Some(InterfaceValue::Number(inches))) => Some(*inches),
        _ => rim
            .figures
            .iter()
            .find(|(id, _)| &***id == "rim_diameter_in")
            .map(|(_, inches)| *inches),
    }
}

fn offset_mm(rim: &Part) -> Option<f64> {
    rim.wheel?.offset_mm
}

/// A number that is written with at most two decimals.
fn hundredths(value: f64) -> Option<Hundredths> {
    let mut cursor = Cursor::new(&value.to_string()).ok()?;
    let read = cursor.decimal("a number").ok()?;
    cursor.at_end().then_some(read)
}

/// Diameter of a tyre, millimetres: the measured one of its interface, else the nominal one.
pub(crate) fn diameter_mm(tyre: &Part) -> Option<f64> {
    length_mm(tyre.interface("overall_diameter"))
        .filter(|measured_mm| (100.0..=DIAMETER_MAX_MM).contains(measured_mm))
        .or_else(|| nominal_diameter_mm(&tyre.tyre.as_ref()?.designation.size))
}

/// Diameter of the placard's tyre, millimetres.
pub(crate) fn placard_diameter_mm(placard: &TyrePlacard) -> Option<f64> {
    placard
        .diameter_mm
        .or_else(|| nominal_diameter_mm(&placard.designation.size))
}

/// A capacity and where it comes from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Capacity {
    pub(crate) capacity_kg: f64,
    pub(crate) source: &'static str,
}

/// Capacity of one tyre of the record in its fitting. In single fitting that of its marking, else what its interface
/// `load_capacity_kg` says; of two side by side only the dual load index of the marking tells it.
///
/// # Errors
/// What is missing, or that the two contradict each other.
pub(crate) fn capacity_of(tyre: &Part, fitting: Fitting) -> Result<Capacity, String> {
    let title = &tyre.display_name;
    if fitting == Fitting::Dual {
        let designation = tyre.tyre.as_ref().map(|marking| marking.designation);
        let marked = designation.and_then(|designation| {
            let index = designation.service?.load_index_dual?;
            Some(Capacity {
                capacity_kg: capacity_kg(&designation, fitting).ok()?,
                source: load_index_source(index),
            })
        });
        return marked.ok_or_else(|| format!("the load index of {title} for two side by side"));
    }
    let stated_kg = match tyre
        .interface("load_capacity_kg")
        .map(|interface| &interface.value)
    {
        Some(Some(InterfaceValue::Number(kg))) if kg.is_finite() && *kg > 0.0 => Some(*kg),
        _ => None,
    };
    let marked = tyre
        .tyre
        .as_ref()
        .and_then(|marking| marking.designation.service)
        .map(|service| {
            let source = load_index_source(service.load_index_single);
            let designation = tyre.tyre.as_ref().map(|marking| marking.designation);
            designation
                .and_then(|designation| capacity_kg(&designation, Fitting::Single).ok())
                .map(|capacity_kg| Capacity { capacity_kg, source })
        });
    match (marked.flatten(), stated_kg) {
        (Some(marked), Some(stated_kg)) if (marked.capacity_kg - stated_kg).abs() > CAPACITY_ROUNDING_KG => {
            Err(format!(
                "which capacity of {title} is right: {:.0} kg by its marking, {stated_kg:.0} kg by its load_capacity_kg",
                marked.capacity_kg
            ))
        }
        (Some(marked), _) => Ok(marked),
        (None, Some(capacity_kg)) => Ok(Capacity {
            capacity_kg,
            source: "load_capacity_kg of the part",
        }),
        (None, None) => Err(format!("the load index of {title}")),
    }
}

/// The tyre as a rim sees it.
pub(crate) fn tyre_seat(marking: &TyreMarking) -> TyreSeat {
    TyreSeat {
        rim_in: marking.designation.size.rim_in(),
        construction: marking.designation.construction,
        tube_mark: marking.designation.tube,
    }
}

/// A wheel part as a spare.
pub(crate) fn spare_rim(rim: &Part) -> SpareRim {
    SpareRim {
        bolt_circle: bolt_circle(rim.interface("wheel_bolt_circle")),
        hub_bore_mm: length_mm(rim.interface("hub_bore")),
        stud_thread: thread(rim.interface("stud_thread")),
        nut_seat: seat(rim.interface("nut_seat")),
        nave_thickness_mm: length_mm(rim.interface("nave_thickness")),
        offset_mm: offset_mm(rim),
    }
}

/// A tyre part as a spare.
pub(crate) fn spare_tyre(tyre: &Part) -> SpareTyre {
    let marking = tyre.tyre.as_ref();
    let in_fitting = |fitting| {
        capacity_of(tyre, fitting)
            .ok()
            .map(|capacity| capacity.capacity_kg)
    };
    SpareTyre {
        rim_in: marking.map(|marking| marking.designation.size.rim_in()),
        diameter_mm: diameter_mm(tyre),
        capacity_kg: in_fitting(Fitting::Single),
        dual_capacity_kg: in_fitting(Fitting::Dual),
        tube_mark: marking.and_then(|marking| marking.designation.tube),
        construction: marking.map(|marking| marking.designation.construction),
        tube: marking.and_then(|marking| marking.tube),
    }
}

/// A length at an interface, millimetres.
pub(crate) fn length_mm(interface: Option<&Interface>) -> Option<f64> {
    match interface?.value {
        Some(InterfaceValue::LengthMm(mm)) => Some(mm),
        _ => None,
    }
}

fn thread(interface: Option<&Interface>) -> Option<StudThread> {
    match &interface?.value {
        Some(InterfaceValue::Thread(text)) => text.parse().ok(),
        _ => None,
    }
}

/// A nut seat at an interface, where its words can be read.
pub(crate) fn seat(interface: Option<&Interface>) -> Option<NutSeat> {
    match &interface?.value {
        Some(InterfaceValue::Text(text)) => text.parse().ok(),
        _ => None,
    }
}

fn bolt_circle(interface: Option<&Interface>) -> Option<BoltCircle> {
    match &interface?.value {
        Some(InterfaceValue::BoltCircle(circle)) => {
            format!("{}x{}", circle.count, circle.circle_mm).parse().ok()
        }
        _ => None,
    }
}
