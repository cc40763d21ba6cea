//! Short cautions that belong beside results of this discipline. General trade knowledge, no single source.

/// Batteries: to show beside anything about a battery bank.
pub const CAUTION_BATTERY: &str = "Battery: short circuits burn and weld metal; charging lead-acid gives off explosive gas, ventilate and keep \
     sparks away; isolate before work; lithium cells must not be charged below their least temperature.";

/// Welding: to show beside anything about welding on or from a vehicle.
pub const CAUTION_WELDING: &str = "Welding: eye, skin and breathing protection, fire watch; disconnect batteries and electronics of the vehicle \
     welded on, clamp the return beside the weld; never on or near a tank that has held fuel, nor on wheels with \
     tyres; welder's mains side can kill. Structural welds need a qualified welder.";

/// Cables and fuses: to show beside any size or rating.
pub const CAUTION_CABLE: &str = "Cable and fuse: the fuse protects the cable, place it at the battery; its breaking capacity must exceed the \
     battery's short-circuit current; a size found here replaces neither the installation rules that apply nor a \
     competent person's check.";

/// Alternating current from an inverter or a generator: to show beside any verdict about either.
pub const CAUTION_MAINS: &str = "Mains voltage from an inverter or generator can kill: residual-current protection and earthing as its maker \
     and local rules ask. A generator runs outdoors only: carbon monoxide.";
