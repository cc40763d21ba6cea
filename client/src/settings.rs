//! Where the server is and what to call it with: flags, then the environment, then the config file, then
//! the token that a server of the same account wrote down.

use std::path::{Path, PathBuf};
use std::time::Duration;
use std::{fs, io};

use directories::ProjectDirs;
use serde::Deserialize;

use crate::cli::GlobalArgs;
use crate::errors::CliError;

/// Address used when none is given: where a server listens by default.
pub(crate) const DEFAULT_SERVER: &str = "http://127.0.0.1:7350";

/// What a call needs to know beside what it is about.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Settings {
    /// Address of the server, with its scheme.
    pub server: String,
    /// The token. `None`: calls go without, and the server refuses them.
    pub token: Option<String>,
    /// Fleet that ids belong to. `None`: the only one there is.
    pub fleet: Option<String>,
    /// How long to wait for an answer.
    pub timeout: Duration,
    /// What is needed for TLS. `None`: calls go without.
    pub tls: Option<Tls>,
}

/// What TLS needs, as PEM.
#[derive(Clone, PartialEq, Eq)]
pub(crate) struct Tls {
    /// Certificates that the server's is vouched for by.
    pub ca_pem: Vec<u8>,
    /// A certificate of the caller's own and its private key.
    pub identity_pem: Option<Vec<u8>>,
}

impl std::fmt::Debug for Tls {
    /// Leaves the key out.
    fn fmt(&self, formatter: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        formatter.debug_struct("Tls").finish_non_exhaustive()
    }
}

/// The config file.
#[derive(Debug, Clone, Default, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct ConfigFile {
    /// Address of the server.
    pub server: Option<String>,
    /// The token.
    pub token: Option<String>,
    /// Fleet that ids belong to.
    pub fleet: Option<String>,
    /// File of the certificates that the server's is vouched for by.
    pub ca: Option<PathBuf>,
    /// File of a certificate and its private key.
    pub identity: Option<PathBuf>,
}

/// Where the config file is: `ostler/config.toml` in the user's config folder.
pub(crate) fn config_file_path() -> Option<PathBuf> {
    Some(project_dirs()?.config_dir().join("config.toml"))
}

/// Where a server of this account writes its admin token: `ostler/admin-token` in the user's data folder.
pub(crate) fn admin_token_path() -> Option<PathBuf> {
    Some(project_dirs()?.data_dir().join("admin-token"))
}

fn project_dirs() -> Option<ProjectDirs> {
    ProjectDirs::from("", "", "ostler")
}

impl Settings {
    /// Reads the files that `global` leaves to be read and puts everything together.
    ///
    /// # Errors
    /// A file that is there but cannot be read or understood, and an address that is none.
    pub(crate) fn load(global: &GlobalArgs) -> Result<Self, CliError> {
        let config = match config_file_path() {
            Some(path) => read_config(&path)?,
            None => ConfigFile::default(),
        };
        let admin_token = || match admin_token_path() {
            Some(path) => read_token(&path, Absent::IsFine),
            None => Ok(None),
        };
        Self::resolve(global, config, admin_token)
    }

    /// Puts flags and environment (`global`, where clap has put the flag first), config file and the
    /// admin token together.
    ///
    /// The admin token of this account only goes to a server on this machine.
    fn resolve(
        global: &GlobalArgs,
        config: ConfigFile,
        admin_token: impl FnOnce() -> Result<Option<String>, CliError>,
    ) -> Result<Self, CliError> {
        let server = given(global.server.as_ref()).or(given(config.server.as_ref()));
        let ca = global.ca.clone().or(config.ca);
        let server = address(server.as_deref().unwrap_or(DEFAULT_SERVER), ca.is_some())?;
        let tls = match (ca, global.identity.clone().or(config.identity)) {
            (None, None) => None,
            (None, Some(_)) => {
                return Err(CliError::Usage {
                    problem: "a certificate is only shown over TLS, and no --ca says whom to trust"
                        .to_owned(),
                    hint: "give the file of the certificates that vouch for the server's with --ca"
                        .to_owned(),
                });
            }
            (Some(ca), identity) => Some(Tls {
                ca_pem: read_pem(&ca, &["CERTIFICATE-----"])?,
                identity_pem: identity
                    .map(|path| read_pem(&path, &["CERTIFICATE-----", "PRIVATE KEY-----"]))
                    .transpose()?,
            }),
        };
        let token = match (given(global.token.as_ref()), given(global.token_file.as_ref())) {
            (Some(token), _) => Some(token),
            (None, Some(path)) => read_token(Path::new(&path), Absent::IsAnError)?,
            (None, None) => match given(config.token.as_ref()) {
                Some(token) => Some(token),
                None if is_loopback(&server) => admin_token()?,
                None => None,
            },
        };
        let fleet = given(global.fleet.as_ref()).or(given(config.fleet.as_ref()));
        Ok(Self {
            server,
            token,
            fleet,
            timeout: Duration::from_secs(global.timeout),
            tls,
        })
    }
}

/// A value that is there: an empty one counts as not given.
fn given(value: Option<&String>) -> Option<String> {
    value
        .map(|value| value.trim())
        .filter(|value| !value.is_empty())
        .map(str::to_owned)
}

/// The address with its scheme; over TLS where it is known whom to trust.
fn address(text: &str, over_tls: bool) -> Result<String, CliError> {
    let refuse = |problem: String| CliError::Usage {
        problem,
        hint: format!(
            "give host and port, for example --server {}",
            authority(DEFAULT_SERVER)
        ),
    };
    let scheme = if over_tls { "https" } else { "http" };
    let with_scheme = match text.split_once("://") {
        None => format!("{scheme}://{text}"),
        Some(("https", _)) if !over_tls => {
            return Err(CliError::Usage {
                problem: "over TLS it must be known whom to trust".to_owned(),
                hint: "give the file of the certificates that vouch for the server's with --ca".to_owned(),
            });
        }
        Some(("http", _)) if over_tls => {
            return Err(refuse(
                "an address of http:// is called without TLS, but --ca is given".to_owned(),
            ));
        }
        Some(_) => text.to_owned(),
    };
    match with_scheme.parse::<tonic::transport::Uri>() {
        Ok(uri) if uri.scheme_str() == Some(scheme) && uri.host().is_some_and(|host| !host.is_empty()) => {
            Ok(with_scheme)
        }
        _ => Err(refuse(format!("{text:?} is not the address of a server"))),
    }
}

/// A file that holds every one of these in PEM form.
fn read_pem(path: &Path, labels: &[&str]) -> Result<Vec<u8>, CliError> {
    let bytes = fs::read(path).map_err(|source| CliError::File {
        doing: "read",
        path: path.to_owned(),
        source,
    })?;
    let holds = |label: &&str| {
        bytes
            .windows(label.len())
            .any(|window| window == label.as_bytes())
    };
    if labels.iter().all(holds) {
        return Ok(bytes);
    }
    let wanted = match labels.len() {
        1 => "a certificate",
        _ => "a certificate and its private key",
    };
    Err(CliError::Usage {
        problem: format!("{} does not hold {wanted} in PEM form", path.display()),
        hint: "ask whoever looks after the server for the file".to_owned(),
    })
}

fn authority(server: &str) -> &str {
    server
        .split_once("://")
        .map_or(server, |(_, authority)| authority)
}

/// Whether `server` is on this machine.
pub(crate) fn is_loopback(server: &str) -> bool {
    let Ok(uri) = server.parse::<tonic::transport::Uri>() else {
        return false;
    };
    let host = uri
        .host()
        .unwrap_or_default()
        .trim_start_matches('[')
        .trim_end_matches(']');
    host == "localhost" || host.parse::<std::net::IpAddr>().is_ok_and(|ip| ip.is_loopback())
}

fn read_config(path: &Path) -> Result<ConfigFile, CliError> {
    match fs::read_to_string(path) {
        Ok(text) => toml::from_str(&text).map_err(|error| CliError::Config {
            path: path.to_owned(),
            problem: error.to_string().trim_end().to_owned(),
        }),
        Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(ConfigFile::default()),
        Err(source) => Err(CliError::File {
            doing: "read",
            path: path.to_owned(),
            source,
        }),
    }
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Absent {
    IsFine,
    IsAnError,
}

/// The first line of a token file.
fn read_token(path: &Path, absent: Absent) -> Result<Option<String>, CliError> {
    match fs::read_to_string(path) {
        Ok(text) => Ok(text
            .lines()
            .next()
            .map(|line| line.trim().to_owned())
            .filter(|line| !line.is_empty())),
        Err(error) if error.kind() == io::ErrorKind::NotFound && absent == Absent::IsFine => Ok(None),
        Err(source) => Err(CliError::File {
            doing: "read",
            path: path.to_owned(),
            source,
        }),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cli::Format;

    fn flags() -> GlobalArgs {
        GlobalArgs {
            server: None,
            token: None,
            token_file: None,
            fleet: None,
            timeout: 30,
            ca: None,
            identity: None,
            output: Format::Table,
        }
    }

    fn config() -> ConfigFile {
        ConfigFile {
            server: Some("10.0.0.5:7350".to_owned()),
            token: Some("from-config".to_owned()),
            fleet: Some("orrin".to_owned()),
            ..ConfigFile::default()
        }
    }

    fn written() -> Result<Option<String>, CliError> {
        Ok(Some("written-by-server".to_owned()))
    }

    #[test]
    fn flags_win_over_the_config_file() {
        let global = GlobalArgs {
            server: Some("localhost:9".to_owned()),
            token: Some("from-flag".to_owned()),
            fleet: Some("other".to_owned()),
            ..flags()
        };
        let settings = Settings::resolve(&global, config(), written).unwrap();
        assert_eq!(settings.server, "http://localhost:9");
        assert_eq!(settings.token.as_deref(), Some("from-flag"));
        assert_eq!(settings.fleet.as_deref(), Some("other"));
    }

    #[test]
    fn the_config_file_wins_over_the_written_token_and_defaults() {
        let settings = Settings::resolve(&flags(), config(), written).unwrap();
        assert_eq!(settings.server, "http://10.0.0.5:7350");
        assert_eq!(settings.token.as_deref(), Some("from-config"));
        assert_eq!(settings.fleet.as_deref(), Some("orrin"));
    }

    #[test]
    fn without_anything_the_server_of_this_account_is_used() {
        let settings = Settings::resolve(&flags(), ConfigFile::default(), written).unwrap();
        assert_eq!(settings.server, DEFAULT_SERVER);
        assert_eq!(settings.token.as_deref(), Some("written-by-server"));
        assert_eq!(settings.fleet, None);
        assert_eq!(settings.timeout, Duration::from_secs(30));
    }

    #[test]
    fn the_written_token_stays_on_this_machine() {
        let global = GlobalArgs {
            server: Some("shop.example:7350".to_owned()),
            ..flags()
        };
        let settings = Settings::resolve(&global, ConfigFile::default(), written).unwrap();
        assert_eq!(settings.token, None);
        assert!(is_loopback("http://[::1]:7350") && is_loopback("http://127.0.0.9:1"));
        assert!(!is_loopback("http://127.0.0.1.example:7350"));
    }

    #[test]
    fn a_token_file_comes_after_the_token_and_must_be_there() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("token");
        fs::write(&path, "first line\nsecond\n").unwrap();
        let file = |path: &Path| GlobalArgs {
            token_file: Some(path.display().to_string()),
            ..flags()
        };
        let settings = Settings::resolve(&file(&path), config(), written).unwrap();
        assert_eq!(settings.token.as_deref(), Some("first line"));
        assert!(Settings::resolve(&file(&folder.path().join("none")), config(), written).is_err());
    }

    #[test]
    fn empty_values_count_as_not_given() {
        let global = GlobalArgs {
            token: Some(String::new()),
            fleet: Some(" ".to_owned()),
            ..flags()
        };
        let settings = Settings::resolve(&global, config(), written).unwrap();
        assert_eq!(settings.token.as_deref(), Some("from-config"));
        assert_eq!(settings.fleet.as_deref(), Some("orrin"));
    }

    #[test]
    fn addresses_that_are_none_are_refused() {
        for bad in ["https://shop:1", "http://", "ftp://shop", "a b"] {
            assert!(address(bad, false).is_err(), "{bad}");
        }
        assert_eq!(address("shop:1", false).unwrap(), "http://shop:1");
        assert_eq!(address("shop:1", true).unwrap(), "https://shop:1");
        assert_eq!(address("https://shop:1", true).unwrap(), "https://shop:1");
        assert!(
            address("http://shop:1", true).is_err(),
            "it would go out readable"
        );
    }

    #[test]
    fn unknown_keys_of_the_config_file_are_refused() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("config.toml");
        assert_eq!(read_config(&path).unwrap(), ConfigFile::default());
        fs::write(&path, "server = \"shop:1\"\nfleet = \"orrin\"\n").unwrap();
        assert_eq!(read_config(&path).unwrap().server.as_deref(), Some("shop:1"));
        fs::write(&path, "sever = \"shop:1\"\n").unwrap();
        let refused = read_config(&path).unwrap_err().to_string();
        assert!(refused.contains("config.toml"), "{refused}");
    }
}
