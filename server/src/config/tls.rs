//! Certificate and key of the server, and who may connect at all.

use std::fmt;
use std::fs;
use std::path::{Path, PathBuf};

use tonic::transport::{Certificate, Identity, ServerTlsConfig};

/// What TLS needs, as PEM.
#[derive(Clone, PartialEq, Eq)]
pub struct Tls {
    /// The certificate, followed by those that vouch for it.
    pub certificate_pem: Vec<u8>,
    /// Its private key.
    pub key_pem: Vec<u8>,
    /// Certificates that client certificates must be vouched for by. `None`: clients need no certificate.
    pub client_ca_pem: Option<Vec<u8>>,
}

impl fmt::Debug for Tls {
    /// Leaves the key out, so that no log can hold it.
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter
            .debug_struct("Tls")
            .field("client_certificates", &self.client_ca_pem.is_some())
            .finish_non_exhaustive()
    }
}

/// A file of TLS cannot be used.
#[derive(Debug, thiserror::Error)]
pub enum TlsFileError {
    /// It cannot be read.
    #[error("{} cannot be read", .path.display())]
    Unreadable {
        /// The file.
        path: PathBuf,
        /// Why.
        #[source]
        source: std::io::Error,
    },
    /// It holds something else.
    #[error("{} holds no {wanted} in PEM form", .path.display())]
    NotPem {
        /// The file.
        path: PathBuf,
        /// What was looked for.
        wanted: &'static str,
    },
}

impl Tls {
    /// Reads the files.
    ///
    /// # Errors
    /// When one cannot be read or holds something else.
    pub fn read(certificate: &Path, key: &Path, client_ca: Option<&Path>) -> Result<Self, TlsFileError> {
        Ok(Self {
            certificate_pem: pem(certificate, "certificate", "CERTIFICATE-----")?,
            key_pem: pem(key, "private key", "PRIVATE KEY-----")?,
            client_ca_pem: client_ca
                .map(|path| pem(path, "certificate", "CERTIFICATE-----"))
                .transpose()?,
        })
    }

    /// The same for the transport.
    pub(crate) fn for_transport(&self) -> ServerTlsConfig {
        let identity = Identity::from_pem(&self.certificate_pem, &self.key_pem);
        let config = ServerTlsConfig::new().identity(identity);
        match &self.client_ca_pem {
            Some(pem) => config.client_ca_root(Certificate::from_pem(pem)),
            None => config,
        }
    }
}

fn pem(path: &Path, wanted: &'static str, label: &str) -> Result<Vec<u8>, TlsFileError> {
    let bytes = fs::read(path).map_err(|source| TlsFileError::Unreadable {
        path: path.to_owned(),
        source,
    })?;
    let holds = bytes
        .windows(label.len())
        .any(|window| window == label.as_bytes());
    if holds {
        Ok(bytes)
    } else {
        Err(TlsFileError::NotPem {
            path: path.to_owned(),
            wanted,
        })
    }
}
