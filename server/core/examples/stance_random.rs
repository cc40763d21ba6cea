//! Prints random linear vehicles with their solution, one JSON object a line, for a check against an
//! independent solver: `cargo run -p ostler-core --example stance_random -- SEED COUNT`.
//!
//! Vehicles are linear throughout (captive springs, no stops) and all wheels stay on the ground. Numbers have
//! 17 significant digits, enough to read back the same `f64`.

use std::io::{BufWriter, Write};
use std::process::ExitCode;

use ostler_core::stance::springs::Spring;
use ostler_core::stance::vehicle::{AxlePosition, Tyre, TyreRate};
use ostler_core::stance::{
    Axle, AxleKind, SprungMass, SprungVehicle, Stance, Wheel, WheelContact, WheelStation, solve,
};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

fn main() -> ExitCode {
    let mut arguments = std::env::args().skip(1).map(|argument| argument.parse::<u64>());
    let (Some(Ok(seed)), Some(Ok(count)), None) = (arguments.next(), arguments.next(), arguments.next())
    else {
        eprintln!("usage: stance_random SEED COUNT");
        return ExitCode::FAILURE;
    };
    match write_vehicles(seed, count) {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("stance_random: {error}");
            ExitCode::FAILURE
        }
    }
}

fn write_vehicles(seed: u64, count: u64) -> std::io::Result<()> {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let mut output = BufWriter::new(std::io::stdout().lock());
    let mut written = 0;
    // Random springs may let a wheel lift, which is no linear problem: such vehicles are left out.
    for _ in 0..count.saturating_mul(100) {
        if written == count {
            break;
        }
        let vehicle = random_vehicle(&mut random);
        if let Ok(stance) = solve(&vehicle)
            && stance
                .wheels
                .iter()
                .all(|wheel| wheel.contact == WheelContact::Riding)
        {
            writeln!(output, "{}", line(&vehicle, &stance))?;
            written += 1;
        }
    }
    output.flush()?;
    if written == count {
        Ok(())
    } else {
        Err(std::io::Error::other("too few vehicles keep all wheels down"))
    }
}

fn random_vehicle(random: &mut ChaCha8Rng) -> SprungVehicle {
    let wheelbase_mm = random.random_range(2_000.0..4_500.0);
    SprungVehicle {
        wheelbase_mm,
        sprung: SprungMass {
            mass_kg: random.random_range(1_000.0..6_000.0),
            x_mm: wheelbase_mm * random.random_range(0.3..0.7),
            y_mm: random.random_range(-120.0..120.0),
            z_mm: 900.0,
            roll_axis_height_mm: None,
        },
        front: random_axle(random),
        rear: random_axle(random),
    }
}

fn random_axle(random: &mut ChaCha8Rng) -> Axle {
    let kind = if random.random_bool(0.5) {
        AxleKind::Independent
    } else {
        AxleKind::Beam {
            spring_spacing_mm: random.random_range(700.0..1_250.0),
        }
    };
    let vertical = random.random_bool(0.5).then(|| TyreRate {
        rate_n_per_mm: random.random_range(150.0..900.0),
        load_at_radius_n: random.random_range(3_000.0..12_000.0),
    });
    let has_bar = random.random_bool(0.5);
    Axle {
        kind,
        track_mm: random.random_range(1_250.0..2_000.0),
        anti_roll_bar_nm_per_rad: if has_bar {
            random.random_range(1_000.0..40_000.0)
        } else {
            0.0
        },
        tyre: Tyre {
            loaded_radius_mm: random.random_range(300.0..500.0),
            vertical,
        },
        left: random_station(random),
        right: random_station(random),
    }
}

fn random_station(random: &mut ChaCha8Rng) -> WheelStation {
    let length_mm = random.random_range(200.0..400.0);
    WheelStation {
        spring: Spring::leaf_pack(
            random.random_range(20.0..200.0),
            length_mm + random.random_range(40.0..180.0),
        ),
        spring_length_at_reference_mm: length_mm,
        air_helper: None,
        motion_ratio: random.random_range(0.5..1.2),
        installation_angle_deg: random.random_range(0.0..40.0),
        bump_stop: None,
        droop_limit_mm: None,
        unsprung_mass_kg: random.random_range(10.0..200.0),
    }
}

/// One vehicle and its solution as a JSON object.
fn line(vehicle: &SprungVehicle, stance: &Stance) -> String {
    let axles = list(AxlePosition::ALL.map(|position| axle(vehicle.axle(position))));
    let stations = list(Wheel::ALL.map(|wheel| station(vehicle.station(wheel))));
    let loads = list(stance.wheels.map(|wheel| number(wheel.load_n)));
    let springs = list(stance.wheels.map(|wheel| number(wheel.spring_force_n)));
    let hubs = list(stance.wheels.map(|wheel| number(wheel.hub_rise_mm)));
    format!(
        "{{\"wheelbase_mm\":{},\"mass_kg\":{},\"x_mm\":{},\"y_mm\":{},\"axles\":{axles},\"stations\":{stations},\
         \"heave_mm\":{},\"pitch_slope\":{},\"roll_slope\":{},\"load_n\":{loads},\"spring_force_n\":{springs},\
         \"hub_rise_mm\":{hubs}}}",
        number(vehicle.wheelbase_mm),
        number(vehicle.sprung.mass_kg),
        number(vehicle.sprung.x_mm),
        number(vehicle.sprung.y_mm),
        number(stance.heave_mm),
        number(stance.pitch_slope),
        number(stance.roll_slope),
    )
}

fn axle(axle: &Axle) -> String {
    let spacing = match axle.kind {
        AxleKind::Independent => "null".to_owned(),
        AxleKind::Beam { spring_spacing_mm } => number(spring_spacing_mm),
    };
    let tyre = match axle.tyre.vertical {
        None => "null".to_owned(),
        Some(tyre) => list([number(tyre.rate_n_per_mm), number(tyre.load_at_radius_n)]),
    };
    format!(
        "{{\"track_mm\":{},\"spring_spacing_mm\":{spacing},\"anti_roll_bar_nm_per_rad\":{},\"tyre\":{tyre}}}",
        number(axle.track_mm),
        number(axle.anti_roll_bar_nm_per_rad),
    )
}

fn station(station: &WheelStation) -> String {
    let rate = station
        .spring
        .force_at_length(station.spring_length_at_reference_mm)
        .rate_n_per_mm;
    format!(
        "{{\"rate_n_per_mm\":{},\"free_length_mm\":{},\"length_at_reference_mm\":{},\"motion_ratio\":{},\
         \"installation_angle_deg\":{},\"unsprung_mass_kg\":{}}}",
        number(rate),
        number(station.spring.free_length_mm),
        number(station.spring_length_at_reference_mm),
        number(station.motion_ratio),
        number(station.installation_angle_deg),
        number(station.unsprung_mass_kg),
    )
}

fn list<const LENGTH: usize>(items: [String; LENGTH]) -> String {
    format!("[{}]", items.join(","))
}

fn number(value: f64) -> String {
    format!("{value:.16e}")
}
