//! `ostlerd token`: make, list and revoke access tokens.

use std::io::Write as _;

use anyhow::Context as _;
use clap::{Args, Subcommand, ValueEnum};
use jiff::Timestamp;
use ostler_proto::v1::Role;
use ostler_server::access::{self, LimitedTo};
use ostler_server::clock::{Clock as _, SystemClock};
use ostler_store::{Store, Token};

use crate::Place;

/// Microseconds of a day.
const DAY: i64 = 86_400_000_000;

#[derive(Debug, Args)]
pub(crate) struct TokenArguments {
    #[command(flatten)]
    place: Place,
    #[command(subcommand)]
    command: TokenCommand,
}

#[derive(Debug, Subcommand)]
enum TokenCommand {
    /// Make a token and print it: it is shown this once.
    Add {
        /// Name of the token, as the history shows it.
        id: String,
        /// What its holder may do.
        #[arg(long, value_enum)]
        role: RoleArgument,
        #[command(flatten)]
        limits: LimitArguments,
    },
    /// List the tokens.
    List,
    /// Revoke a token. Servers take notice within seconds.
    Revoke {
        /// Name of the token.
        id: String,
    },
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum RoleArgument {
    Reader,
    Workshop,
    Lead,
    Admin,
}

impl From<RoleArgument> for Role {
    fn from(argument: RoleArgument) -> Self {
        match argument {
            RoleArgument::Reader => Self::Reader,
            RoleArgument::Workshop => Self::Workshop,
            RoleArgument::Lead => Self::Lead,
            RoleArgument::Admin => Self::Admin,
        }
    }
}

/// What a token is limited to.
#[derive(Debug, Args)]
struct LimitArguments {
    /// A fleet that the token is limited to, such as `orrin`; may be repeated. Default: all fleets.
    #[arg(long = "fleet", value_name = "FLEET")]
    fleets: Vec<String>,
    /// A vehicle that the token is limited to, such as `v1` with one --fleet, or its full name; may be repeated. For
    /// workshops and readers. Default: all vehicles.
    #[arg(long = "vehicle", value_name = "VEHICLE")]
    vehicles: Vec<String>,
    /// Days until it expires, 1 to 3,650. Default: never.
    #[arg(long, value_name = "DAYS", value_parser = clap::value_parser!(i64).range(1..=3_650))]
    expires_in_days: Option<i64>,
}

impl LimitArguments {
    fn resolve(self, role: Role, now_micros: i64) -> anyhow::Result<LimitedTo> {
        let fleets: Vec<String> = self.fleets.iter().map(|fleet| full("fleets", fleet)).collect();
        anyhow::ensure!(
            self.vehicles.is_empty() || role <= Role::Workshop,
            "only a workshop's or a reader's token can be limited to vehicles"
        );
        let mut vehicles = Vec::new();
        for vehicle in self.vehicles {
            match (vehicle.contains('/'), fleets.as_slice()) {
                (true, _) => vehicles.push(vehicle),
                (false, [fleet]) => vehicles.push(full(&format!("{fleet}/vehicles"), &vehicle)),
                (false, _) => {
                    anyhow::bail!("say of which fleet {vehicle} is: give one --fleet, or its full name")
                }
            }
        }
        for vehicle in &vehicles {
            let within = |fleet: &String| vehicle.starts_with(&format!("{fleet}/vehicles/"));
            anyhow::ensure!(
                fleets.is_empty() || fleets.iter().any(within),
                "{vehicle} is in none of the fleets given"
            );
        }
        Ok(LimitedTo {
            fleets,
            vehicles,
            expire_time: self.expires_in_days.map(|days| now_micros + days * DAY),
        })
    }
}

fn full(collection: &str, text: &str) -> String {
    match text.contains('/') {
        true => text.to_owned(),
        false => format!("{collection}/{text}"),
    }
}

/// A slip of the pen must not make a token that opens nothing, or later something else.
async fn check_exist(store: &Store, limits: &LimitedTo) -> anyhow::Result<()> {
    let kinds = [("fleet", &limits.fleets), ("vehicle", &limits.vehicles)];
    for (kind, names) in kinds {
        for name in names {
            let found = store.get(name).await?.is_some_and(|row| row.kind == kind);
            anyhow::ensure!(found, "there is no {kind} {name}");
        }
    }
    Ok(())
}

/// Carries out `ostlerd token`.
pub(crate) async fn run(arguments: TokenArguments) -> anyhow::Result<()> {
    let file = arguments.place.file()?;
    let (location, data_folder) = arguments.place.resolve(&file)?;
    std::fs::create_dir_all(&data_folder)
        .with_context(|| format!("cannot make the data folder {}", data_folder.display()))?;
    let now = SystemClock::default().now_micros();
    let store = Store::open(&location, now)
        .await
        .context("cannot open the record")?;
    let outcome = token_command(&store, arguments.command, now).await;
    store.close().await;
    outcome
}

async fn token_command(store: &Store, command: TokenCommand, now_micros: i64) -> anyhow::Result<()> {
    let mut out = std::io::stdout();
    match command {
        TokenCommand::Add { id, role, limits } => {
            let limits = limits.resolve(role.into(), now_micros)?;
            check_exist(store, &limits).await?;
            let secret = access::add_limited_token(store, &id, role.into(), limits, now_micros)
                .await
                .with_context(|| format!("cannot make the token {id}"))?;
            writeln!(out, "{secret}")?;
        }
        TokenCommand::List => {
            for token in store.tokens().await? {
                writeln!(out, "{}", line(&token, now_micros))?;
            }
        }
        TokenCommand::Revoke { id } => {
            anyhow::ensure!(
                store.revoke_token(&id, now_micros).await?,
                "there is no token {id} to revoke"
            );
        }
    }
    Ok(())
}

/// Name, role, state, scope, expiry and last use of a token, parted by tabs.
fn line(token: &Token, now_micros: i64) -> String {
    let state = match (token.revoke_time, token.expire_time) {
        (Some(_), _) => "revoked",
        (None, Some(time)) if time <= now_micros => "expired",
        _ => "valid",
    };
    let limits = match token.vehicles.is_empty() {
        true => &token.fleets,
        false => &token.vehicles,
    };
    let scope = match limits.is_empty() {
        true => "everything".to_owned(),
        false => limits.join(" "),
    };
    format!(
        "{}\t{}\t{state}\t{scope}\texpires {}\tlast used {}",
        token.id,
        token.role,
        moment(token.expire_time),
        moment(token.last_use_time)
    )
}

/// A time to the second, UTC.
fn moment(micros: Option<i64>) -> String {
    let time = micros.map(|micros| Timestamp::from_second(micros.div_euclid(1_000_000)));
    match time {
        None => "never".to_owned(),
        Some(Ok(time)) => time.to_string(),
        Some(Err(_)) => "at no time of the calendar".to_owned(),
    }
}
