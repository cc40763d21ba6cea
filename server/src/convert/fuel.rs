//! Results about fuel.

use ostler_core::fuel::chance::LegChance;
use ostler_core::fuel::consumption::LegConsumption;
use ostler_core::fuel::drawdown::{LegState, TankFill, Transfer};
use ostler_core::fuel::requirement::{FuelInterval, LegBalance};
use ostler_core::fuel::sharing::{KindSharing, Move};
use ostler_core::record::{Departure, Name};
use ostler_core::supplies::{
    DepartureFuel, ExtraFuel, ExtraLoad, FUEL_CAUTION, FUEL_FORMULA_VERSION, FuelSums, IntervalSharing,
    VehicleFuel, fuel_answer,
};
use ostler_proto::v1;

use super::fleet::fluid_message;
use super::loads::worst_message;
use super::readiness::answer_message;

/// The fuel of a departure as a message; with `only`, of one vehicle of it.
pub(crate) fn fuel_message(
    departure: &Departure,
    fuel: DepartureFuel,
    only: Option<&Name>,
) -> v1::FuelResult {
    let vehicles = fuel
        .vehicles
        .iter()
        .filter(|vehicle| only.is_none_or(|only| *only == vehicle.vehicle))
        .map(|vehicle| vehicle_message(departure, &fuel, vehicle))
        .collect();
    let DepartureFuel {
        vehicles: _,
        sharing,
        sharing_missing,
        extra,
    } = fuel;
    v1::FuelResult {
        departure: departure.name.to_string(),
        vehicles,
        sharing: sharing.into_iter().map(sharing_message).collect(),
        sharing_missing,
        extra: extra.into_iter().map(extra_message).collect(),
        caution: FUEL_CAUTION.to_owned(),
        formula_version: FUEL_FORMULA_VERSION.to_owned(),
    }
}

fn vehicle_message(departure: &Departure, all: &DepartureFuel, fuel: &VehicleFuel) -> v1::VehicleFuel {
    let mut message = v1::VehicleFuel {
        vehicle: fuel.vehicle.to_string(),
        answer: answer_message(fuel_answer(departure, all, fuel)).into(),
        fuel: fuel.fuel.map_or(v1::Fluid::Unspecified, fluid_message).into(),
        missing: fuel.missing.clone(),
        ..Default::default()
    };
    if let Some(sums) = &fuel.sums {
        add_sums(&mut message, departure, sums);
    }
    message
}

fn add_sums(message: &mut v1::VehicleFuel, departure: &Departure, sums: &FuelSums) {
    message.nominal_capacity_l = Some(sums.nominal_capacity_l);
    message.usable_capacity_l = Some(sums.usable_capacity_l);
    message.usable_at_start_l = Some(sums.usable_at_start_l);
    message.map_km = Some(sums.route.map_km);
    message.driven_km = Some(sums.route.driven_km);
    let intervals = sums.requirement.intervals.iter().enumerate();
    message.intervals = intervals
        .map(|(index, interval)| interval_message(departure, interval, sums.nominal_balance_fraction(index)))
        .collect();
    let balances = sums
        .route
        .legs
        .iter()
        .zip(&sums.requirement.legs)
        .zip(&sums.states);
    message.legs = balances
        .enumerate()
        .map(|(index, ((leg, balance), state))| {
            let chance = sums.chance.as_ref().and_then(|chance| chance.legs.get(index));
            leg_message(leg, balance, state, chance, sums.odometer_known)
        })
        .collect();
    message.chance_least = sums.chance.as_ref().and_then(|chance| chance.route_least);
    message.chance_most = sums.chance.as_ref().and_then(|chance| chance.route_most);
    message.chance_notes.clone_from(&sums.chance_notes);
    message
        .points_not_counted
        .clone_from(&sums.requirement.points_not_counted);
    message.cautions.clone_from(&sums.route.cautions);
}

fn interval_message(
    departure: &Departure,
    interval: &FuelInterval,
    nominal_balance_fraction: Option<f64>,
) -> v1::FuelInterval {
    let leg = |index: usize| {
        departure
            .legs
            .get(index)
            .map(|leg| leg.id.to_string())
            .unwrap_or_default()
    };
    let FuelInterval {
        start,
        end,
        legs,
        driven_km,
        days,
        litres,
        reserve_l,
        required_l,
        usable_at_start_l,
        balance_l,
        balance_fraction,
        mean_l_per_100km,
        range_without_reserve_km,
    } = interval.clone();
    v1::FuelInterval {
        start_place: start,
        end_place: end,
        first_leg: leg(legs.start),
        last_leg: leg(legs.end.saturating_sub(1)),
        driven_km,
        days,
        litres,
        reserve_l,
        required_l,
        usable_at_start_l,
        balance_l,
        balance_fraction,
        nominal_balance_fraction,
        mean_l_per_100km,
        range_without_reserve_km,
    }
}

fn leg_message(
    leg: &LegConsumption,
    balance: &LegBalance,
    state: &LegState,
    chance: Option<&LegChance>,
    odometer_known: bool,
) -> v1::FuelLeg {
    v1::FuelLeg {
        leg: leg.leg.clone(),
        driven_km: leg.driven_km,
        indicated_km: odometer_known.then_some(leg.indicated_km),
        litres: leg.litres,
        idling_l: leg.idling_l,
        spread_l: leg.spread_l,
        usable_before_l: balance.usable_before_l,
        usable_after_l: balance.usable_after_l,
        short_l: balance.short_l,
        to_next_point_l: balance.to_next_point_l,
        in_hand_l: balance.in_hand_l,
        taken_on_l: balance.taken_on_l,
        chance_of_short: chance.and_then(|chance| chance.chance),
        fills: state.fills.iter().cloned().map(fill_message).collect(),
        transfers: state.transfers.iter().cloned().map(transfer_message).collect(),
    }
}

fn fill_message(fill: TankFill) -> v1::TankFill {
    let TankFill { id, fill_l } = fill;
    v1::TankFill {
        tank: id,
        volume_l: fill_l,
    }
}

fn transfer_message(transfer: Transfer) -> v1::FuelTransfer {
    let Transfer { from, to, litres } = transfer;
    v1::FuelTransfer {
        from_tank: from,
        to_tank: to,
        litres,
    }
}

fn sharing_message(sharing: IntervalSharing) -> v1::FuelSharing {
    let IntervalSharing {
        fuel,
        interval: _,
        start,
        end,
        balance_before_l,
        plan,
    } = sharing;
    let KindSharing {
        kind: _,
        vehicles,
        usable_l,
        required_l,
        surplus_l,
        shortfall_l,
        uncovered_l,
        moves,
        moved_l: _,
        balance_after_l,
    } = plan;
    let shares = vehicles.into_iter().zip(balance_before_l).zip(balance_after_l);
    v1::FuelSharing {
        fuel: fluid_message(fuel).into(),
        start_place: start,
        end_place: end,
        usable_l,
        required_l,
        surplus_l,
        shortfall_l,
        uncovered_l,
        moves: moves.into_iter().map(move_message).collect(),
        shares: shares
            .map(|((vehicle, balance_before_l), balance_after_l)| v1::FuelShare {
                vehicle,
                balance_before_l,
                balance_after_l,
            })
            .collect(),
    }
}

fn move_message(one: Move) -> v1::FuelMove {
    let Move {
        from,
        to,
        stop: _,
        stop_name,
        litres,
    } = one;
    v1::FuelMove {
        from_vehicle: from,
        to_vehicle: to,
        place: stop_name,
        litres,
    }
}

fn extra_message(extra: ExtraFuel) -> v1::ExtraFuel {
    let ExtraFuel {
        fuel,
        covered,
        shortfall_l,
        most_l,
        passed_on,
        loads,
        missing,
    } = extra;
    v1::ExtraFuel {
        fuel: fluid_message(fuel).into(),
        covered,
        shortfall_l,
        most_l,
        passed_on,
        loads: loads.into_iter().map(load_message).collect(),
        missing,
    }
}

fn load_message(load: ExtraLoad) -> v1::ExtraFuelLoad {
    let ExtraLoad {
        vehicle,
        containers,
        usable_l,
        mass_kg,
        balance_after_l,
        before,
        after,
    } = load;
    v1::ExtraFuelLoad {
        vehicle: vehicle.into(),
        containers: containers
            .into_iter()
            .map(|(container, count)| v1::ExtraContainers {
                container: container.into(),
                count: i32::try_from(count).unwrap_or(i32::MAX),
            })
            .collect(),
        usable_l,
        mass_kg,
        balance_after_l,
        before: before.into_iter().map(worst_message).collect(),
        after: after.into_iter().map(worst_message).collect(),
    }
}
