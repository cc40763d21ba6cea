//! What a server is told: where to listen, where the record is kept, how it is protected and what it takes on.

pub mod file;
pub mod fonts;
pub mod tls;

use std::net::SocketAddr;
use std::path::{Path, PathBuf};

use ostler_store::Location;

use crate::limits::Limits;
use crate::traces::Collector;
use tls::Tls;

/// Port when none is given.
pub const PORT_DEFAULT: u16 = 7350;

/// Name of the SQLite file within the data folder.
pub const DATABASE_FILE: &str = "record.sqlite";

/// What a server is told.
#[derive(Debug, Clone)]
pub struct Config {
    /// Where the record is kept.
    pub location: Location,
    /// Hot standby of it that is read where that is right. `None`: there is none.
    pub read_location: Option<Location>,
    /// Folder for the admin token and, by default, the SQLite file.
    pub data_folder: PathBuf,
    /// Bind addresses other than loopback without TLS: tokens then cross the network readable.
    pub allow_plain_network: bool,
    /// Certificate and key. `None`: calls come in without TLS.
    pub tls: Option<Tls>,
    /// What is taken on at once.
    pub limits: Limits,
    /// Where the measurements of operation are served. `None`: nowhere.
    pub metrics: Option<SocketAddr>,
    /// Where the traces of operation go. `None`: nowhere.
    pub traces: Option<Collector>,
    /// Folder of fonts for what those of the program lack. `None`: there are no others.
    pub fonts: Option<PathBuf>,
}

impl Config {
    /// A server with this record and data folder, on loopback, with everything else as it is by default.
    pub fn new(location: Location, data_folder: PathBuf) -> Self {
        Self {
            location,
            read_location: None,
            data_folder,
            allow_plain_network: false,
            tls: None,
            limits: Limits::default(),
            metrics: None,
            traces: None,
            fonts: None,
        }
    }
}

/// The listening address is not allowed.
#[derive(Debug, thiserror::Error)]
#[error(
    "{address} is not a loopback address and there is no TLS: tokens and records would cross the network readable"
)]
pub struct PlainNetworkRefused {
    /// The address.
    pub address: SocketAddr,
}

/// Refuses to listen beyond loopback without TLS unless it was asked for.
///
/// # Errors
/// When `address` is not loopback, and calls would cross the network readable that were not allowed to.
pub fn check_address(address: SocketAddr, config: &Config) -> Result<(), PlainNetworkRefused> {
    if address.ip().is_loopback() || config.tls.is_some() || config.allow_plain_network {
        Ok(())
    } else {
        Err(PlainNetworkRefused { address })
    }
}

/// The user's data folder for Ostler, when the account has one.
pub fn data_folder_default() -> Option<PathBuf> {
    directories::ProjectDirs::from("", "", "ostler").map(|folders| folders.data_dir().to_owned())
}

/// The SQLite file of a data folder.
pub fn database_default(data_folder: &Path) -> Location {
    Location::SqliteFile(data_folder.join(DATABASE_FILE))
}
