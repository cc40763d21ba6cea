//! Cargo lists as files.

use ostler_proto::v1;
use ostler_tests::client::{Client, refused};
use ostler_tests::on_both_databases;
use tonic::{Code, Status};

use crate::demo;

async fn export(client: &Client, name: &str) -> String {
    let request = v1::ExportCargoListRequest { name: name.into() };
    let v1::ExportCargoListResponse { cargo_list } = client.ask(request).await.unwrap();
    String::from_utf8(cargo_list).unwrap()
}

async fn import(client: &Client, list: &str) -> Result<v1::ImportCargoListResponse, Status> {
    let request = v1::ImportCargoListRequest {
        parent: demo::FLEET.into(),
        cargo_list: list.into(),
        ..Default::default()
    };
    client.ask(request).await
}

on_both_databases! {
    async fn a_list_goes_out_and_comes_in_unchanged(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let before = demo::latest_change(&admin, demo::FLEET).await;
        let list = export(&admin, demo::FLEET).await;
        assert_eq!(list.lines().count(), 1 + 121, "the demo carries 121 things");
        let answer = import(&admin, &list).await.unwrap();
        assert_eq!(answer, v1::ImportCargoListResponse { unchanged_count: 121, ..Default::default() });
        assert_eq!(demo::latest_change(&admin, demo::FLEET).await, before);

        let parts = async |vehicle: &str| export(&admin, &demo::name(&format!("vehicles/{vehicle}"))).await.lines().count() - 1;
        let mut stowed = 0;
        for vehicle in ["v1", "v2", "v3", "v4"] {
            stowed += parts(vehicle).await;
        }
        assert!(stowed <= 121 && stowed > 100, "{stowed}");

        let heading = list.lines().next().unwrap();
        let more = format!("{heading}\nspare-rope,rope,v1,,1,,,,,,,,,,,,,,\n");
        let answer = import(&admin, &more).await.unwrap();
        assert_eq!((answer.created_count, answer.updated_count), (1, 0));
        assert_eq!(demo::latest_change(&admin, demo::FLEET).await, before + 1);
        server.stop().await;
    }

    async fn a_faulty_list_is_refused_whole_with_its_lines(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let before = demo::latest_change(&admin, demo::FLEET).await;
        let list = export(&admin, demo::FLEET).await;
        let heading = list.lines().next().unwrap();
        let faulty = format!(
            "{heading}\nrope,rope,v1,,1,,,,,,,,,,,,,,\nBad Id,x,v1,,1,,,,,,,,,,,,,,\nok,x,v1,,none,,,,,,,,,,,,,,\nok-2,x,v1,,1,NaN,weighed,,,,,,,,,,,,\n"
        );
        let refusal = refused(import(&admin, &faulty).await);
        assert_eq!((refusal.code, refusal.reason.as_str()), (Code::InvalidArgument, "FILE_FAULTY"));
        for line in ["line 3", "line 4", "line 5"] {
            assert!(refusal.violations.iter().any(|(_, said)| said.contains(line)), "{line}: {:#?}", refusal.violations);
        }
        let missing = format!("{heading}\nrope,rope,v9,,1,,,,,,,,,,,,,,\n");
        let refusal = refused(import(&admin, &missing).await);
        assert_eq!((refusal.code, refusal.reason.as_str()), (Code::InvalidArgument, "FILE_FAULTY"));
        assert!(refusal.violations[0].1.contains("line 2"), "{:?}", refusal.violations);
        for list in ["x", "\u{feff}", "\"", &heading[1..]] {
            assert_eq!(refused(import(&admin, list).await).code, Code::InvalidArgument, "{list}");
        }
        assert_eq!(demo::latest_change(&admin, demo::FLEET).await, before);
        server.stop().await;
    }
}
