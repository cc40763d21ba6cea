//! Electrical systems and what departures ask of them.

use ostler_core::electrical::battery::{BatteryBank, Chemistry, ChemistryFamily, DeratingPoint};
use ostler_core::electrical::budget::Draw;
use ostler_core::electrical::cable::ConductorClass;
use ostler_core::electrical::charging::{AlternatorCharging, PanelCharging};
use ostler_core::electrical::inverter::Inverter;
use ostler_core::electrical::peukert::CapacityBasis;
use ostler_core::electrical::welder::Welder;
use ostler_core::record::{
    Circuit, DeviceDuty, ElectricalDevice, ElectricalSystem, Generator, PowerDemand, PowerDemandKind,
    PowerPlan, RecordedBank, RecordedGeneratorQuestion, ReplacementItem,
};
use ostler_proto::v1;

use super::common::position;
use super::{Converted, Within, each, id, missing, names};

pub(crate) fn electrical_system(message: v1::ElectricalSystem) -> Converted<ElectricalSystem> {
    let v1::ElectricalSystem {
        bank: battery,
        alternator: alternators,
        panels: solar,
        inverter: inverters,
        welder: arc,
        generator: generators,
        devices,
        circuits,
    } = message;
    Ok(ElectricalSystem {
        bank: battery.map(bank).transpose().within("bank")?,
        alternator: alternators.map(alternator),
        panels: solar.map(panels),
        inverter: inverters.map(inverter),
        welder: arc.map(welder),
        generator: generators.map(generator),
        devices: each("devices", devices, device)?,
        circuits: each("circuits", circuits, circuit)?,
    })
}

fn bank(message: v1::BatteryBank) -> Converted<RecordedBank> {
    let v1::BatteryBank {
        family,
        voltage_v,
        capacity_ah,
        capacity_rated_h,
        health_share,
        values,
    } = message;
    let typical = match v1::BatteryFamily::try_from(family) {
        Ok(v1::BatteryFamily::LeadAcid) => Chemistry::lead_acid_typical(),
        Ok(v1::BatteryFamily::LithiumIronPhosphate) => Chemistry::lithium_iron_phosphate_typical(),
        Ok(v1::BatteryFamily::Unspecified) | Err(_) => return Err(missing("family")),
    };
    let values_are_typical = values.is_none();
    let chemistry = match values {
        None => typical,
        Some(values) => maker_values(typical.family, values),
    };
    Ok(RecordedBank {
        bank: BatteryBank {
            chemistry,
            voltage_v,
            capacity_ah,
            capacity_basis: capacity_rated_h.map(CapacityBasis::RatedHours),
            temperature_c: None,
            health_share,
        },
        values_are_typical,
    })
}

fn maker_values(family: ChemistryFamily, message: v1::BatteryValues) -> Chemistry {
    let v1::BatteryValues {
        usable_share,
        discharge_limit_c_rate,
        charge_limit_c_rate,
        charge_efficiency,
        charge_temperature_min_c,
        peukert_exponent,
        derating,
        provenance,
    } = message;
    Chemistry {
        family,
        usable_share,
        discharge_limit_c_rate,
        charge_limit_c_rate,
        charge_efficiency,
        charge_temperature_least_c: charge_temperature_min_c,
        peukert_exponent,
        derating: derating
            .into_iter()
            .map(|point| DeratingPoint {
                temperature_c: point.temperature_c,
                capacity_share: point.capacity_share,
            })
            .collect(),
        provenance,
    }
}

/// Its hours are the departure's.
fn alternator(message: v1::Alternator) -> AlternatorCharging {
    let v1::Alternator {
        rated_current_a,
        hot_share,
        vehicle_current_a,
        charger_limit_a,
        charge_voltage_v,
    } = message;
    AlternatorCharging {
        rated_current_a,
        hot_share,
        vehicle_current_a,
        charger_limit_a,
        charge_voltage_v,
        hours_per_day: 0.0,
    }
}

/// Their hours of sun are the departure's.
fn panels(message: v1::SolarPanels) -> PanelCharging {
    let v1::SolarPanels {
        rated_power_w,
        loss_shares,
        controller_efficiency,
        controller_limit_a,
        charge_voltage_v,
    } = message;
    PanelCharging {
        rated_power_w,
        peak_sun_hours: 0.0,
        loss_shares,
        controller_efficiency,
        controller_limit_a,
        charge_voltage_v,
    }
}

fn inverter(message: v1::Inverter) -> Inverter {
    let v1::Inverter {
        rated_power_w,
        rated_va,
        efficiency,
    } = message;
    Inverter {
        rated_power_w,
        rated_va,
        efficiency,
    }
}

fn welder(message: v1::ArcWelder) -> Welder {
    let v1::ArcWelder {
        source_efficiency,
        power_factor,
        current_max_a,
    } = message;
    Welder {
        source_efficiency,
        power_factor,
        current_max_a,
    }
}

fn generator(message: v1::Generator) -> Generator {
    let v1::Generator {
        rated_power_w,
        rated_va,
    } = message;
    Generator {
        rated_power_w,
        rated_va,
    }
}

fn device(message: v1::ElectricalDevice) -> Converted<ElectricalDevice> {
    use v1::electrical_device::Draw as Message;
    let v1::ElectricalDevice {
        id: device_id,
        display_name,
        quantity,
        draw,
        via_inverter,
        converter_efficiency,
        spread_share,
    } = message;
    Ok(ElectricalDevice {
        id: id("id", device_id)?,
        display_name,
        quantity: quantity.unsigned_abs(),
        draw: draw.map(|draw| match draw {
            Message::PowerW(power_w) => Draw::PowerW(power_w),
            Message::CurrentA(current_a) => Draw::CurrentA(current_a),
        }),
        via_inverter,
        converter_efficiency,
        spread_share,
    })
}

fn circuit(message: v1::ElectricalCircuit) -> Converted<Circuit> {
    let v1::ElectricalCircuit {
        id: circuit_id,
        display_name,
        current_a,
        length_one_way_m,
        size_mm2,
        stranding,
        conductor_temperature_c,
        critical,
        ampacity_a,
        fuse_a,
    } = message;
    Ok(Circuit {
        id: id("id", circuit_id)?,
        display_name,
        current_a,
        length_one_way_m,
        size_mm2,
        class: match v1::ConductorStranding::try_from(stranding) {
            Ok(v1::ConductorStranding::Class2) => ConductorClass::Class2,
            Ok(v1::ConductorStranding::Class5) => ConductorClass::Class5,
            Ok(v1::ConductorStranding::Unspecified) | Err(_) => return Err(missing("stranding")),
        },
        conductor_temperature_c,
        critical,
        ampacity_a,
        fuse_a,
    })
}

pub(crate) fn power_plan(message: v1::PowerPlan) -> Converted<PowerPlan> {
    let v1::PowerPlan {
        duties,
        engine_h_per_day,
        peak_sun_h_per_day,
        battery_temperature_c,
        welding_current_a,
        welding_duty_share,
        generator_question: question,
    } = message;
    Ok(PowerPlan {
        duties: each("duties", duties, duty)?,
        engine_h_per_day,
        peak_sun_h_per_day,
        battery_temperature_c,
        welding_current_a,
        welding_duty_share,
        generator_question: question
            .map(generator_question)
            .transpose()
            .within("generator_question")?,
    })
}

fn duty(message: v1::DeviceDuty) -> Converted<DeviceDuty> {
    let v1::DeviceDuty {
        device,
        on_h_per_day,
        duty_share,
    } = message;
    Ok(DeviceDuty {
        device: id("device", device)?,
        on_h_per_day,
        duty_share: duty_share.unwrap_or(1.0),
    })
}

fn generator_question(message: v1::GeneratorQuestion) -> Converted<RecordedGeneratorQuestion> {
    let v1::GeneratorQuestion {
        demands,
        days,
        bank: battery,
        inverter: inverters,
        left_at_home,
        comes_instead,
    } = message;
    Ok(RecordedGeneratorQuestion {
        demands: each("demands", demands, demand)?,
        days: days.map(i32::unsigned_abs),
        bank: battery.map(bank).transpose().within("bank")?,
        inverter: inverters.map(inverter),
        left_at_home: names("left_at_home", left_at_home)?,
        comes_instead: each("comes_instead", comes_instead, replacement)?,
    })
}

fn demand(message: v1::PowerDemand) -> Converted<PowerDemand> {
    use v1::power_demand::Kind;
    let v1::PowerDemand {
        display_name,
        kind,
        power_factor,
        full_power_h,
        every_days,
    } = message;
    let kind = match kind {
        Some(Kind::PowerW(power_w)) => PowerDemandKind::Mains {
            power_w,
            power_factor,
        },
        Some(Kind::WeldingCurrentA(current_a)) => PowerDemandKind::Welding { current_a },
        None => return Err(missing("power_w")),
    };
    Ok(PowerDemand {
        display_name,
        kind,
        full_power_h,
        every_days: every_days.unsigned_abs(),
    })
}

fn replacement(message: v1::ReplacementItem) -> Converted<ReplacementItem> {
    let v1::ReplacementItem {
        display_name,
        mass_kg,
        position: place,
    } = message;
    Ok(ReplacementItem {
        display_name,
        mass_kg,
        position: place.map(position).ok_or_else(|| missing("position"))?,
    })
}
