//! The electrical system of a vehicle, and what a departure asks of it.
//!
//! The values are those of [`crate::electrical`]; what depends on the departure (temperature, hours) is
//! `None` or 0 here and filled in by [`crate::electrical::recorded`].

use super::{Id, Name, Position};
use crate::electrical::battery::BatteryBank;
use crate::electrical::budget::Draw;
use crate::electrical::cable::ConductorClass;
use crate::electrical::charging::{AlternatorCharging, PanelCharging};
use crate::electrical::inverter::Inverter;
use crate::electrical::welder::Welder;

/// What stores, makes and takes electrical energy in a vehicle.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct ElectricalSystem {
    /// The bank that feeds the devices. `None`: not known.
    pub bank: Option<RecordedBank>,
    /// The alternator that charges it; its hours are the departure's. `None`: none does.
    pub alternator: Option<AlternatorCharging>,
    /// The panels that charge it; their hours of sun are the departure's. `None`: there are none.
    pub panels: Option<PanelCharging>,
    /// The inverter on it. `None`: there is none.
    pub inverter: Option<Inverter>,
    /// The welder that is carried. `None`: there is none.
    pub welder: Option<Welder>,
    /// The generator that is carried. `None`: there is none.
    pub generator: Option<Generator>,
    /// What takes energy from the bank.
    pub devices: Vec<ElectricalDevice>,
    /// Cables and their fuses.
    pub circuits: Vec<Circuit>,
}

impl ElectricalSystem {
    /// The device `id`.
    pub fn device(&self, id: &str) -> Option<&ElectricalDevice> {
        self.devices.iter().find(|device| &*device.id == id)
    }
}

/// A bank and how its values are known.
#[derive(Debug, Clone, PartialEq)]
pub struct RecordedBank {
    /// The bank; its temperature is the departure's.
    pub bank: BatteryBank,
    /// Its values are those typical of the family, not its maker's.
    pub values_are_typical: bool,
}

/// A generator that is carried.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Generator {
    /// Continuous active power, W. `None`: not stated.
    pub rated_power_w: Option<f64>,
    /// Continuous apparent power, VA. `None`: not stated.
    pub rated_va: Option<f64>,
}

/// What takes energy from the bank.
#[derive(Debug, Clone, PartialEq)]
pub struct ElectricalDevice {
    /// Id within the vehicle.
    pub id: Id,
    /// Name for people.
    pub display_name: String,
    /// How many there are.
    pub quantity: u32,
    /// What one takes while it runs. `None`: not known.
    pub draw: Option<Draw>,
    /// Fed through the inverter.
    pub via_inverter: bool,
    /// Efficiency of a converter of its own. `None`: none.
    pub converter_efficiency: Option<f64>,
    /// Standard deviation of its daily energy as a share of it. `None`: not known.
    pub spread_share: Option<f64>,
}

/// A cable of copper, there and back, and its fuse.
#[derive(Debug, Clone, PartialEq)]
pub struct Circuit {
    /// Id within the vehicle.
    pub id: Id,
    /// Name for people.
    pub display_name: String,
    /// Highest continuous current, A.
    pub current_a: f64,
    /// Length one way, m.
    pub length_one_way_m: f64,
    /// Nominal area, mm2, one of [`crate::electrical::cable::CONDUCTORS`].
    pub size_mm2: f64,
    /// Stranding.
    pub class: ConductorClass,
    /// Temperature of the loaded conductor, degrees Celsius.
    pub conductor_temperature_c: f64,
    /// It must not fail: the lower drop is allowed.
    pub critical: bool,
    /// What the cable carries continuously as laid, A. `None`: not known.
    pub ampacity_a: Option<f64>,
    /// Rating of its fuse, A. `None`: not known.
    pub fuse_a: Option<f64>,
}

/// What a departure asks of the electrical system of a vehicle.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct PowerPlan {
    /// How long each device runs in a day. A device that is not listed has no known duty.
    pub duties: Vec<DeviceDuty>,
    /// Hours of engine running on a day. `None`: not known.
    pub engine_h_per_day: Option<f64>,
    /// Hours of full sun that give the irradiation of a day. `None`: not known.
    pub peak_sun_h_per_day: Option<f64>,
    /// Temperature of the cells to count with, degrees Celsius. `None`: not known.
    pub battery_temperature_c: Option<f64>,
    /// Welding current that must be possible with what is carried, A. `None`: none.
    pub welding_current_a: Option<f64>,
    /// Share of the time in which the arc burns. `None`: 0.35.
    pub welding_duty_share: Option<f64>,
    /// Whether the generator can stay at home. `None`: nobody asks.
    pub generator_question: Option<RecordedGeneratorQuestion>,
}

/// How long a device runs in a day.
#[derive(Debug, Clone, PartialEq)]
pub struct DeviceDuty {
    /// The device.
    pub device: Id,
    /// Hours of a day for which it is switched on, 0 to 24.
    pub on_h_per_day: f64,
    /// Share of them in which it runs, 0 to 1.
    pub duty_share: f64,
}

/// The question whether the generator can stay at home.
#[derive(Debug, Clone, PartialEq)]
pub struct RecordedGeneratorQuestion {
    /// What it is carried for.
    pub demands: Vec<PowerDemand>,
    /// Days to last. `None`: the planned days of the departure.
    pub days: Option<u32>,
    /// The bank that would do its work. `None`: that of the vehicle.
    pub bank: Option<RecordedBank>,
    /// The inverter that would. `None`: that of the vehicle.
    pub inverter: Option<Inverter>,
    /// Cargo that would stay at home with it.
    pub left_at_home: Vec<Name>,
    /// What would come instead.
    pub comes_instead: Vec<ReplacementItem>,
}

/// What a generator is carried for.
#[derive(Debug, Clone, PartialEq)]
pub struct PowerDemand {
    /// Name for people.
    pub display_name: String,
    /// What is wanted.
    pub kind: PowerDemandKind,
    /// Hours at full power (of burning arc) on a day with this demand, 0 to 24.
    pub full_power_h: f64,
    /// It comes on the first day and on every so many days after.
    pub every_days: u32,
}

/// What is wanted of a generator.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum PowerDemandKind {
    /// A mains device.
    Mains {
        /// Active power, W.
        power_w: f64,
        /// Active over apparent power. `None`: not known.
        power_factor: Option<f64>,
    },
    /// Welding with the welder of the vehicle.
    Welding {
        /// Welding current, A.
        current_a: f64,
    },
}

/// A thing that would come instead of another.
#[derive(Debug, Clone, PartialEq)]
pub struct ReplacementItem {
    /// Name for people.
    pub display_name: String,
    /// Mass, kg.
    pub mass_kg: f64,
    /// Where it would be.
    pub position: Position,
}
