//! A command's conversation with the server, and the names that short ids stand for.

use ostler_proto::v1;
use ostler_proto::v1::fleet_service_client::FleetServiceClient;
use tokio::sync::OnceCell;

use crate::connection::{ANSWER_BYTES_MAX, Connection};
use crate::errors::CliError;
use crate::kinds::Kind;
use crate::settings::Settings;

/// An open connection, and the fleet that ids belong to.
#[derive(Debug)]
pub(crate) struct Session {
    /// The connection.
    pub connection: Connection,
    given_fleet: Option<String>,
    only_fleet: OnceCell<String>,
}

impl Session {
    /// Connects to the server of `settings`.
    ///
    /// # Errors
    /// When it cannot be reached.
    pub(crate) async fn open(settings: &Settings) -> Result<Self, CliError> {
        let given_fleet = settings
            .fleet
            .as_deref()
            .map(|fleet| match fleet.strip_prefix("fleets/") {
                Some(_) => fleet.to_owned(),
                None => format!("fleets/{fleet}"),
            });
        Ok(Self {
            connection: Connection::open(settings).await?,
            given_fleet,
            only_fleet: OnceCell::new(),
        })
    }

    /// Full name of the fleet: the given one, or the only one on the server.
    ///
    /// # Errors
    /// When there is none or more than one.
    pub(crate) async fn fleet(&self) -> Result<String, CliError> {
        if let Some(fleet) = &self.given_fleet {
            return Ok(fleet.clone());
        }
        self.only_fleet
            .get_or_try_init(|| self.find_only_fleet())
            .await
            .cloned()
    }

    async fn find_only_fleet(&self) -> Result<String, CliError> {
        let request = v1::ListFleetsRequest {
            page_size: 10,
            ..Default::default()
        };
        let answer = self
            .connection
            .call(request, async |service, request| {
                FleetServiceClient::new(service)
                    .max_decoding_message_size(ANSWER_BYTES_MAX)
                    .list_fleets(request)
                    .await
            })
            .await?;
        match answer.fleets.as_slice() {
            [fleet] => Ok(fleet.name.clone()),
            [] => Err(CliError::Usage {
                problem: "there is no fleet on the server".to_owned(),
                hint: "bring one in with `ostler import FILE`, or make one with `ostler create fleet`"
                    .to_owned(),
            }),
            fleets => {
                let names: Vec<_> = fleets.iter().map(|fleet| short(&fleet.name)).collect();
                let more = if answer.next_page_token.is_empty() {
                    ""
                } else {
                    " and more"
                };
                Err(CliError::Usage {
                    problem: "there is more than one fleet on the server".to_owned(),
                    hint: format!(
                        "say which with --fleet or OSTLER_FLEET: {}{more}",
                        names.join(", ")
                    ),
                })
            }
        }
    }

    /// Full name of the record of `kind` that `text` stands for.
    ///
    /// # Errors
    /// When the fleet is needed and not known, or `text` does not fit the kind.
    pub(crate) async fn name(&self, kind: Kind, text: &str) -> Result<String, CliError> {
        let fleet = match needs_fleet(kind, text) {
            true => self.fleet().await?,
            false => String::new(),
        };
        expand(kind, text, &fleet)
    }

    /// As `name`, for a record of the same fleet as the record named `neighbour`.
    ///
    /// # Errors
    /// When `text` does not fit the kind.
    pub(crate) fn name_beside(&self, neighbour: &str, kind: Kind, text: &str) -> Result<String, CliError> {
        expand(kind, text, fleet_of(neighbour))
    }

    /// As `name_beside`, for a record that may be left out.
    ///
    /// # Errors
    /// When `text` does not fit the kind.
    pub(crate) fn optional_name_beside(
        &self,
        neighbour: &str,
        kind: Kind,
        text: Option<&String>,
    ) -> Result<String, CliError> {
        text.map_or_else(
            || Ok(String::new()),
            |text| self.name_beside(neighbour, kind, text),
        )
    }

    /// Full name of the record that `text`, such as `vehicles/v1`, stands for.
    ///
    /// # Errors
    /// When the fleet is needed and not known, or `text` does not say the kind.
    pub(crate) async fn name_of_any_kind(&self, text: &str) -> Result<String, CliError> {
        if text.starts_with("fleets/") {
            return Ok(text.to_owned());
        }
        let (word, id) = text.split_once('/').unwrap_or(("", text));
        let kind = Kind::of_word(word).ok_or_else(|| CliError::Usage {
            problem: format!("{text:?} does not say what kind of record it is"),
            hint: "put the kind before the id, for example vehicles/v1".to_owned(),
        })?;
        if id.contains("/fitments/") {
            return self.name(Kind::Fitment, text).await;
        }
        self.name(kind, id).await
    }
}

fn needs_fleet(kind: Kind, text: &str) -> bool {
    kind != Kind::Fleet && !text.starts_with("fleets/")
}

/// The fleet of a full name.
pub(crate) fn fleet_of(name: &str) -> &str {
    let end = name
        .match_indices('/')
        .nth(1)
        .map_or(name.len(), |(index, _)| index);
    name.get(..end).unwrap_or(name)
}

/// A name without its fleet, for people: `vehicles/v1`.
pub(crate) fn short(name: &str) -> &str {
    match name.strip_prefix("fleets/") {
        Some(rest) => rest.split_once('/').map_or(rest, |(_, below)| below),
        None => name,
    }
}

/// The last part of a name.
pub(crate) fn id_of(name: &str) -> &str {
    name.rsplit('/').next().unwrap_or(name)
}

/// The full name that `text` stands for among the records of `kind` in `fleet`.
///
/// # Errors
/// When `text` has parts that names of this kind do not have.
pub(crate) fn expand(kind: Kind, text: &str, fleet: &str) -> Result<String, CliError> {
    if text.starts_with("fleets/") {
        return Ok(text.to_owned());
    }
    let collection = kind.collection();
    let parts: Vec<&str> = text.split('/').collect();
    match (kind, parts.as_slice()) {
        (Kind::Fleet, [id]) if !id.is_empty() => Ok(format!("fleets/{id}")),
        (Kind::Fitment, [vehicle, slot] | ["vehicles", vehicle, "fitments", slot])
            if !vehicle.is_empty() && !slot.is_empty() =>
        {
            Ok(format!("{fleet}/vehicles/{vehicle}/fitments/{slot}"))
        }
        (Kind::Fleet | Kind::Fitment, _) => Err(misfit(kind, text)),
        (_, [id]) if !id.is_empty() => Ok(format!("{fleet}/{collection}/{id}")),
        (_, [given, id])
            if !id.is_empty() && (*given == collection || Kind::of_word(given) == Some(kind)) =>
        {
            Ok(format!("{fleet}/{collection}/{id}"))
        }
        _ => Err(misfit(kind, text)),
    }
}

fn misfit(kind: Kind, text: &str) -> CliError {
    let example = match kind {
        Kind::Fleet => "orrin, or fleets/orrin".to_owned(),
        Kind::Fitment => "v1/gearbox, or fleets/orrin/vehicles/v1/fitments/gearbox".to_owned(),
        _ => format!("its id alone, or fleets/orrin/{}/ID", kind.collection()),
    };
    CliError::Usage {
        problem: format!("{text:?} is not the name of a {}", kind.word()),
        hint: format!("give {example}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ids_become_names() {
        let name = |kind, text| expand(kind, text, "fleets/orrin").unwrap();
        assert_eq!(name(Kind::Vehicle, "v1"), "fleets/orrin/vehicles/v1");
        assert_eq!(name(Kind::Vehicle, "vehicles/v1"), "fleets/orrin/vehicles/v1");
        assert_eq!(
            name(Kind::Vehicle, "fleets/other/vehicles/v1"),
            "fleets/other/vehicles/v1"
        );
        assert_eq!(
            name(Kind::Fitment, "v1/gearbox"),
            "fleets/orrin/vehicles/v1/fitments/gearbox"
        );
        assert_eq!(
            name(Kind::Fitment, "vehicles/v1/fitments/gearbox"),
            "fleets/orrin/vehicles/v1/fitments/gearbox"
        );
        assert_eq!(name(Kind::Fleet, "orrin"), "fleets/orrin");
        assert_eq!(name(Kind::Cargo, "cargo/c1"), "fleets/orrin/cargoItems/c1");
        assert_eq!(name(Kind::RulePack, "p1"), "fleets/orrin/rulePacks/p1");
    }

    #[test]
    fn what_is_no_name_of_the_kind_is_refused() {
        for (kind, text) in [
            (Kind::Vehicle, "parts/p1"),
            (Kind::Vehicle, ""),
            (Kind::Vehicle, "vehicles/"),
            (Kind::Vehicle, "a/b/c"),
            (Kind::Fitment, "gearbox"),
            (Kind::Fleet, "a/b"),
        ] {
            assert!(expand(kind, text, "fleets/orrin").is_err(), "{kind:?} {text:?}");
        }
    }

    #[test]
    fn names_come_apart() {
        assert_eq!(fleet_of("fleets/orrin/vehicles/v1"), "fleets/orrin");
        assert_eq!(fleet_of("fleets/orrin"), "fleets/orrin");
        assert_eq!(
            short("fleets/orrin/vehicles/v1/fitments/gearbox"),
            "vehicles/v1/fitments/gearbox"
        );
        assert_eq!(short("fleets/orrin"), "orrin");
        assert_eq!(short("declared"), "declared");
        assert_eq!(id_of("fleets/orrin/vehicles/v1"), "v1");
    }
}
