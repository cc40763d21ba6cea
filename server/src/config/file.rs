//! The configuration file of a server: TOML, every key optional, none unknown.

use std::net::SocketAddr;
use std::path::{Path, PathBuf};

use serde::Deserialize;

/// What a file may say. Flags and the environment count before it.
#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ConfigFile {
    /// Where the record is kept.
    pub database: Option<String>,
    /// Hot standby of the database to read from.
    pub read_database: Option<String>,
    /// Folder for the admin token and the SQLite file.
    pub data_folder: Option<PathBuf>,
    /// Address and port to listen on.
    pub listen: Option<SocketAddr>,
    /// Listen beyond this machine without TLS.
    pub allow_plain_network: Option<bool>,
    /// Where measurements are served.
    pub metrics: Option<SocketAddr>,
    /// Collector that traces go to.
    pub traces: Option<String>,
    /// Certificates that vouch for the collector.
    pub traces_ca: Option<PathBuf>,
    /// Folder of fonts for what those of the program lack.
    pub fonts: Option<PathBuf>,
    /// Form of the log: `text` or `json`.
    pub log_format: Option<String>,
    /// Files of TLS.
    #[serde(default)]
    pub tls: TlsFiles,
    /// What is taken on at once.
    #[serde(default)]
    pub limits: LimitsInFile,
}

/// Files of TLS.
#[derive(Debug, Clone, Default, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TlsFiles {
    /// Certificate, followed by those that vouch for it.
    pub certificate: Option<PathBuf>,
    /// Its private key.
    pub key: Option<PathBuf>,
    /// Certificates that vouch for those of clients.
    pub client_ca: Option<PathBuf>,
}

/// What is taken on at once; see [`Limits`](crate::limits::Limits).
#[derive(Debug, Clone, Default, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LimitsInFile {
    /// Calls of one token a second.
    pub calls_per_second: Option<u32>,
    /// Calls of one token at once.
    pub calls_in_flight: Option<u32>,
    /// Streams of one token at once.
    pub streams_in_flight: Option<u32>,
    /// Calls of all tokens at once.
    pub server_calls_in_flight: Option<u32>,
}

/// The file cannot be used.
#[derive(Debug, thiserror::Error)]
pub enum ConfigFileError {
    /// It cannot be read.
    #[error("the configuration file {} cannot be read", .path.display())]
    Unreadable {
        /// The file.
        path: PathBuf,
        /// Why.
        #[source]
        source: std::io::Error,
    },
    /// It cannot be understood.
    #[error("the configuration file {} cannot be understood", .path.display())]
    Faulty {
        /// The file.
        path: PathBuf,
        /// Why and where.
        #[source]
        source: Box<toml::de::Error>,
    },
}

impl ConfigFile {
    /// Reads a file.
    ///
    /// # Errors
    /// When it cannot be read or understood.
    pub fn read(path: &Path) -> Result<Self, ConfigFileError> {
        let text = std::fs::read_to_string(path).map_err(|source| ConfigFileError::Unreadable {
            path: path.to_owned(),
            source,
        })?;
        toml::from_str(&text).map_err(|source| ConfigFileError::Faulty {
            path: path.to_owned(),
            source: Box::new(source),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_key_is_read_and_no_other_taken() {
        let text = r#"
            database = "postgres://ostler@db/ostler"
            listen = "0.0.0.0:7350"
            log_format = "json"
            [tls]
            certificate = "server.pem"
            key = "server.key"
            [limits]
            calls_per_second = 50
        "#;
        let file: ConfigFile = toml::from_str(text).unwrap();
        assert_eq!(file.limits.calls_per_second, Some(50));
        assert_eq!(file.tls.key, Some(PathBuf::from("server.key")));
        for wrong in [
            "listen = \"7350\"",
            "lisen = \"x\"",
            "[limits]\ncalls_per_second = -1",
            "[",
        ] {
            assert!(toml::from_str::<ConfigFile>(wrong).is_err(), "{wrong}");
        }
    }
}
