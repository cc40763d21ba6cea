//! A server that cannot do its work does not start: it says why, and its exit code is not 0.

use std::fs;
use std::path::Path;

use ostler_tests::databases::Database;
use ostler_tests::on_both_databases;
use ostler_tests::process::Launch;

/// The server ends by itself with a failure, and says `words`.
fn refuses(launch: &Launch, words: &[&str]) {
    let ended = launch.run_to_its_end();
    assert!(ended.code != 0 && ended.code < 128, "{ended:?}");
    for word in words {
        assert!(ended.log.contains(word), "{word:?} is not in\n{}", ended.log);
    }
    assert!(!ended.log.contains("panicked"), "{}", ended.log);
}

on_both_databases! {
    async fn a_record_of_a_newer_version_is_refused_with_both_versions(database: &Database) {
        database.open().await.close().await;
        database.sql("INSERT INTO schema_version VALUES (999, 'from the future', 0)").await.unwrap();
        let folder = tempfile::tempdir().unwrap();
        let known = ostler_store::KNOWN_SCHEMA_VERSION.to_string();
        let launch = Launch::on(folder.path()).database(&url(database));
        refuses(&launch, &["schema version 999", &format!("up to {known}")]);
        assert!(!folder.path().join("admin-token").exists());
    }
}

/// The form that the command line takes.
fn url(database: &Database) -> String {
    match &database.location {
        ostler_store::Location::SqliteFile(path) => format!("sqlite:{}", path.display()),
        ostler_store::Location::Postgres(url) => url.clone(),
    }
}

#[test]
fn the_network_is_refused_without_the_flag() {
    let folder = tempfile::tempdir().unwrap();
    for address in ["0.0.0.0:0", "[::]:0"] {
        let launch = Launch::on(folder.path()).listening(address);
        refuses(
            &launch,
            &[address, "not a loopback address", "--allow-plain-network"],
        );
    }
    assert_eq!(
        fs::read_dir(folder.path()).unwrap().count(),
        0,
        "nothing was begun"
    );
}

#[test]
fn a_database_that_is_none_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let on = |url: &str| Launch::on(folder.path()).database(url);
    refuses(
        &on("mysql://shop/record"),
        &["mysql://shop/record", "sqlite:", "postgres://"],
    );
    refuses(&on("record.db"), &["record.db", "sqlite:", "postgres://"]);
    refuses(&on("sqlite:"), &["--database"]);
    // Nobody listens on port 1.
    refuses(
        &on("postgres://nobody@127.0.0.1:1/record"),
        &["cannot be reached"],
    );
    let missing = format!("sqlite:{}/no/such/record.db", folder.path().display());
    refuses(&on(&missing), &["the record cannot be opened"]);
}

#[tokio::test]
async fn a_postgres_database_that_is_not_there_is_refused() {
    let database = Database::empty_postgres().await;
    let url = url(&database);
    database.remove().await;
    let folder = tempfile::tempdir().unwrap();
    refuses(
        &Launch::on(folder.path()).database(&url),
        &["the record cannot be opened", "does not exist"],
    );
}

#[test]
fn a_file_that_is_no_database_is_refused_and_left_alone() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("record.sqlite");
    let text = "not a database, but somebody's notes. ".repeat(200);
    fs::write(&file, &text).unwrap();
    refuses(&Launch::on(folder.path()), &["the record cannot be opened"]);
    assert_eq!(fs::read_to_string(&file).unwrap(), text);
}

#[test]
fn a_data_folder_that_cannot_be_made_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("file");
    fs::write(&file, "").unwrap();
    // Not even root can make a folder below a file, or in the kernel's own tree.
    for path in [file.join("data"), Path::new("/proc/ostler-data").to_owned()] {
        refuses(&Launch::on(&path), &["data folder", path.to_str().unwrap()]);
    }
}

#[test]
fn an_address_that_is_taken_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let other = std::net::TcpListener::bind("127.0.0.1:0").unwrap();
    let address = other.local_addr().unwrap().to_string();
    refuses(
        &Launch::on(folder.path()).listening(&address),
        &[&format!("cannot listen on {address}")],
    );
}
