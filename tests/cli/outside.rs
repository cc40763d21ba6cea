//! A client that shares no code with this project: the Python gRPC library, through reflection and
//! through generated stubs, does the three stories against `ostlerd`.

use std::path::Path;
use std::process::Command;

use ostler_tests::process::{Launch, Server, admin_token};

use crate::shop::{demo_fleet, said};

#[tokio::test(flavor = "multi_thread")]
async fn a_client_from_outside_does_the_three_stories() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("..");
    let python = root.join(".venv/bin/python");
    assert!(
        python.exists(),
        "{} is missing: `tests/run` makes it, with the packages of tests/python/requirements.txt",
        python.display()
    );
    let folder = tempfile::tempdir().unwrap();
    let server = Server::start(Launch::on(folder.path())).await;
    let said = said(
        Command::new(python)
            .arg(root.join("tests/python/outside_client.py"))
            .args([&server.address().to_string(), &admin_token(folder.path())])
            .arg(demo_fleet())
            .env("PYTHONDONTWRITEBYTECODE", "1"),
    );
    assert_eq!(said.code, Some(0), "{}\n{}", said.data, said.notes);
    for way in ["through reflection:", "through generated stubs:"] {
        assert!(said.data.contains(way), "{}", said.data);
    }
}
