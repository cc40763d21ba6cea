//! Calls over TLS: a workshop away from the server, with a certificate of its own where the server asks for one.

use std::path::{Path, PathBuf};
use std::process::Command;

use ostler_tests::process::{Launch, Server, admin_token, program};
use rcgen::{BasicConstraints, CertificateParams, DnType, ExtendedKeyUsagePurpose, IsCa, Issuer, KeyPair};
use tempfile::TempDir;
use tonic::transport::{Certificate, ClientTlsConfig, Identity};

use crate::shop::{Said, said};

/// An authority of its own, with certificates for a server and a workshop, and a stranger of another authority.
pub(crate) struct Papers {
    folder: TempDir,
}

impl Papers {
    pub(crate) fn issue() -> Self {
        let papers = Self {
            folder: tempfile::tempdir().unwrap(),
        };
        let shop = papers.authority("shop");
        papers.certificate(
            &shop,
            "server",
            &["localhost"],
            ExtendedKeyUsagePurpose::ServerAuth,
        );
        papers.certificate(
            &shop,
            "workshop",
            &["workshop"],
            ExtendedKeyUsagePurpose::ClientAuth,
        );
        let strange = papers.authority("strange");
        papers.certificate(
            &strange,
            "stranger",
            &["workshop"],
            ExtendedKeyUsagePurpose::ClientAuth,
        );
        papers
    }

    pub(crate) fn path(&self, file: &str) -> PathBuf {
        self.folder.path().join(file)
    }

    pub(crate) fn text(&self, file: &str) -> String {
        self.path(file).to_str().unwrap().to_owned()
    }

    fn authority(&self, name: &str) -> Issuer<'static, KeyPair> {
        let key = KeyPair::generate().unwrap();
        let mut params = CertificateParams::new(Vec::<String>::new()).unwrap();
        params.is_ca = IsCa::Ca(BasicConstraints::Unconstrained);
        params
            .distinguished_name
            .push(DnType::CommonName, format!("{name} authority"));
        let own = params.self_signed(&key).unwrap();
        std::fs::write(self.path(&format!("{name}-ca.pem")), own.pem()).unwrap();
        Issuer::new(params, key)
    }

    /// Writes `NAME.pem`, `NAME.key` and both together, `NAME-both.pem`.
    fn certificate(
        &self,
        by: &Issuer<'static, KeyPair>,
        name: &str,
        names: &[&str],
        usage: ExtendedKeyUsagePurpose,
    ) {
        let key = KeyPair::generate().unwrap();
        let names: Vec<String> = names.iter().map(|&name| name.to_owned()).collect();
        let mut params = CertificateParams::new(names).unwrap();
        params.extended_key_usages = vec![usage];
        params.distinguished_name.push(DnType::CommonName, name);
        let certificate = params.signed_by(&key, by).unwrap().pem();
        let key = key.serialize_pem();
        std::fs::write(self.path(&format!("{name}.pem")), &certificate).unwrap();
        std::fs::write(self.path(&format!("{name}.key")), &key).unwrap();
        std::fs::write(self.path(&format!("{name}-both.pem")), certificate + &key).unwrap();
    }

    fn launch(&self, data_folder: &Path) -> Launch {
        Launch::on(data_folder)
            .argument("--tls-certificate")
            .argument(&self.text("server.pem"))
            .argument("--tls-key")
            .argument(&self.text("server.key"))
    }

    fn trust(&self) -> ClientTlsConfig {
        let ca = std::fs::read(self.path("shop-ca.pem")).unwrap();
        ClientTlsConfig::new()
            .ca_certificate(Certificate::from_pem(ca))
            .domain_name("localhost")
    }
}

/// `ostler list fleet` on the server at localhost, in a home of its own.
fn list(server: &Server, folder: &Path, arguments: &[&str]) -> Said {
    let mut command = Command::new(program("ostler"));
    command
        .env_clear()
        .env("HOME", folder.join("nobody"))
        .env("OSTLER_TOKEN", admin_token(folder))
        .args(["list", "fleet"])
        .args(arguments);
    if !arguments.contains(&"--server") {
        command.args(["--server", &format!("localhost:{}", server.address().port())]);
    }
    said(&mut command)
}

#[tokio::test(flavor = "multi_thread")]
async fn a_workshop_calls_over_tls_and_nothing_else_gets_through() {
    let (papers, data) = (Papers::issue(), tempfile::tempdir().unwrap());
    let server = Server::start(papers.launch(data.path()).called_over(papers.trust())).await;
    let (ca, strange) = (papers.text("shop-ca.pem"), papers.text("strange-ca.pem"));
    list(&server, data.path(), &["--ca", &ca]).well();
    // Not vouched for by whom the caller trusts, not called over TLS, and by a name that the certificate does not have.
    list(&server, data.path(), &["--ca", &strange]).failed(1, &["reach"]);
    list(&server, data.path(), &[]).failed(1, &["--ca"]);
    let by_number = format!("127.0.0.1:{}", server.address().port());
    list(&server, data.path(), &["--ca", &ca, "--server", &by_number]).failed(1, &["reach"]);
    list(&server, data.path(), &["--ca", &papers.text("server.key")]).failed(2, &["certificate"]);
    server.ask_to_stop();
    assert_eq!(server.end().code, 0);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_server_may_ask_for_the_certificate_of_the_caller() {
    let (papers, data) = (Papers::issue(), tempfile::tempdir().unwrap());
    let own = std::fs::read(papers.path("workshop-both.pem")).unwrap();
    let launch = papers
        .launch(data.path())
        .argument("--tls-client-ca")
        .argument(&papers.text("shop-ca.pem"))
        .called_over(papers.trust().identity(Identity::from_pem(&own, &own)));
    let server = Server::start(launch).await;
    let ca = papers.text("shop-ca.pem");
    let (workshop, stranger) = (papers.text("workshop-both.pem"), papers.text("stranger-both.pem"));
    list(&server, data.path(), &["--ca", &ca, "--identity", &workshop]).well();
    list(&server, data.path(), &["--ca", &ca]).failed(1, &[]);
    list(&server, data.path(), &["--ca", &ca, "--identity", &stranger]).failed(1, &[]);
    server.ask_to_stop();
    let ended = server.end();
    assert_eq!(ended.code, 0);
    let key = std::fs::read_to_string(papers.path("server.key")).unwrap();
    let secret = key.lines().nth(1).unwrap();
    assert!(
        !ended.log.contains(secret) && !ended.log.contains(&admin_token(data.path())),
        "a secret in the log"
    );
}

#[test]
fn half_of_what_tls_needs_is_refused() {
    let (papers, data) = (Papers::issue(), tempfile::tempdir().unwrap());
    let launch = |arguments: &[&str]| {
        let start = Launch::on(data.path());
        arguments
            .iter()
            .fold(start, |launch, argument| launch.argument(argument))
            .run_to_its_end()
    };
    let (certificate, key) = (papers.text("server.pem"), papers.text("server.key"));
    let ended = launch(&["--tls-certificate", &certificate]);
    assert!(
        ended.code == 1 && ended.log.contains("--tls-key"),
        "{}",
        ended.log
    );
    let ended = launch(&["--tls-client-ca", &papers.text("shop-ca.pem")]);
    assert!(
        ended.code == 1 && ended.log.contains("client certificates"),
        "{}",
        ended.log
    );
    let ended = launch(&["--tls-certificate", &key, "--tls-key", &certificate]);
    assert!(
        ended.code == 1 && ended.log.contains("no certificate"),
        "{}",
        ended.log
    );
}
