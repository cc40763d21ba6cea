//! The servers of `docker-compose.yml` started by hand with the environment that it gives them, since no container engine is at hand:
//! they work on one database, and one goes on when the other is killed.

use std::path::Path;

use ostler_proto::v1::part_service_client::PartServiceClient;
use ostler_proto::v1::{CreatePartRequest, GetPartRequest, Part};
use ostler_tests::postgres::Cluster;
use ostler_tests::process::{AuthorizedChannel, Launch, Server, admin_token};

use crate::record;
use crate::writes::FLEET;

const COMPOSE: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../docker-compose.yml");

/// The variables that the file gives a server, in their order.
fn environment() -> Vec<(String, String)> {
    let text = std::fs::read_to_string(COMPOSE).unwrap();
    let block = text
        .lines()
        .skip_while(|line| !line.trim().starts_with("environment: &ostlerd-environment"))
        .skip(1)
        .take_while(|line| line.starts_with("    "));
    let variables = block.map(|line| {
        let (name, value) = line.trim().split_once(": ").unwrap();
        (name.to_owned(), value.trim_matches('"').to_owned())
    });
    variables.collect()
}

/// A server as the file starts it: only where things are on this machine is put in.
fn launch(database: &str, data_folder: &Path) -> Launch {
    let mut launch = Launch::told_by_its_environment();
    for (name, value) in environment() {
        let value = match name.as_str() {
            "OSTLERD_DATABASE" => database.to_owned(),
            "OSTLERD_DATA_FOLDER" => data_folder.to_str().unwrap().to_owned(),
            // Any port: the file's own may be taken here.
            "OSTLERD_LISTEN" => format!("{}:0", value.rsplit_once(':').unwrap().0),
            _ => value,
        };
        launch = launch.variable(&name, &value);
    }
    launch
}

async fn create(channel: &AuthorizedChannel, id: &str) {
    let request = CreatePartRequest {
        parent: FLEET.to_owned(),
        part_id: id.to_owned(),
        part: Some(Part {
            display_name: "Seal".to_owned(),
            kind: "seal".to_owned(),
            ..Default::default()
        }),
        ..Default::default()
    };
    PartServiceClient::new(channel.clone())
        .create_part(request)
        .await
        .unwrap();
}

async fn assert_there(channel: &AuthorizedChannel, id: &str) {
    let name = format!("{FLEET}/parts/{id}");
    PartServiceClient::new(channel.clone())
        .get_part(GetPartRequest { name })
        .await
        .unwrap();
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn the_servers_of_the_compose_file_work_on_one_database() {
    let names: Vec<String> = environment().into_iter().map(|(name, _)| name).collect();
    let needed = ["OSTLERD_DATABASE", "OSTLERD_DATA_FOLDER", "OSTLERD_LISTEN"];
    assert!(
        needed.iter().all(|name| names.iter().any(|given| given == name)),
        "{names:?}"
    );
    let cluster = Cluster::start(true);
    let database = cluster.empty_database().await;
    // A volume each, as in the file; the first to start writes the token.
    let folders = [tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap()];
    let first = Server::start(launch(&database, folders[0].path())).await;
    let second = Server::start(launch(&database, folders[1].path())).await;
    let token = admin_token(folders[0].path());
    let one = first.authorized(&token).await.unwrap();
    let other = second.authorized(&token).await.unwrap();
    record::import(&one).await;
    create(&one, "from-one").await;
    assert_there(&other, "from-one").await;
    drop(first.kill());
    create(&other, "from-the-other").await;
    let again = Server::start(launch(&database, folders[0].path())).await;
    assert_there(&again.authorized(&token).await.unwrap(), "from-the-other").await;
}
