//! Where the server is, what it is called with, and how a failure is told.

use std::process::Command;

use ostler_tests::process::program;

use crate::shop::{DEPARTURE, Shop, said};

#[tokio::test(flavor = "multi_thread")]
async fn the_token_of_the_account_is_found_and_a_wrong_one_is_refused() {
    // That everything here works at all shows that the token is found without being given.
    let shop = Shop::with_demo().await;
    let token = shop.home.path().join("data/ostler/admin-token");
    #[cfg(unix)]
    {
        let metadata = std::fs::metadata(&token).unwrap();
        let mode = std::os::unix::fs::PermissionsExt::mode(&metadata.permissions());
        assert_eq!(mode & 0o777, 0o600, "only its user can read it");
    }
    shop.ostler(&["ready", DEPARTURE, "--token", "ost_wrong"])
        .failed(1, &["token", "OSTLER_TOKEN"]);
    let refused = said(
        shop.command()
            .args(["ready", DEPARTURE])
            .env("OSTLER_TOKEN", "ost_wrong"),
    );
    refused.failed(1, &["token"]);
    shop.ostler(&["list", "fleet", "--token-file", token.to_str().unwrap()])
        .well();
    std::fs::rename(&token, shop.home.path().join("elsewhere")).unwrap();
    shop.ostler(&["list", "fleet"]).failed(1, &["token"]);
    shop.ostler(&["list", "fleet", "--token-file", token.to_str().unwrap()])
        .failed(1, &["admin-token"]);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_weak_token_may_read_and_no_more() {
    let shop = Shop::with_demo().await;
    let folder = shop.home.path().join("data/ostler");
    let made = said(Command::new(program("ostlerd")).args([
        "token",
        "--data-folder",
        folder.to_str().unwrap(),
        "add",
        "board",
        "--role",
        "reader",
    ]));
    let token = made.well().trim().to_owned();
    let said = shop.ostler(&["ready", DEPARTURE, "--token", &token]);
    assert_eq!(said.code, Some(4), "{said:?}");
    shop.ostler(&["withdraw", "s07", "--token", &token])
        .failed(1, &["workshop", "reader"]);
}

#[tokio::test(flavor = "multi_thread")]
async fn failures_say_what_to_do_and_end_with_their_code() {
    let shop = Shop::with_demo().await;
    // Nobody listens on port 1.
    shop.ostler(&["ready", DEPARTURE, "--server", "127.0.0.1:1"])
        .failed(1, &["127.0.0.1:1", "ostlerd serve"]);
    shop.ostler(&["ready", DEPARTURE, "--server", "no address"])
        .failed(2, &["no address"]);
    shop.ostler(&["ready", "crossing-2028"])
        .failed(1, &["crossing-2028", "ostler list"]);
    shop.ostler(&["ready", DEPARTURE, "--vehicle", "v9"])
        .failed(1, &["v9"]);
    shop.ostler(&["load", "axles", DEPARTURE, "--vehicle", "v9"])
        .failed(1, &["v9"]);
    shop.ostler(&["import", "missing.yaml"])
        .failed(1, &["missing.yaml"]);
    shop.ostler(&["create", "part", "p", "--file", "missing.yaml"])
        .failed(1, &["missing.yaml"]);
    let file = shop.file("in-the-way", "");
    shop.ostler(&["sheet", DEPARTURE, "--format", "csv", "--out", &file])
        .failed(1, &["in-the-way"]);
    let substitute = |id: &str| {
        let rest = ["--vehicle", "v9", "--slot", "gearbox", "--part", "none"];
        shop.ostler(&[&["substitute", id], &rest[..]].concat())
    };
    substitute("Not An Id").failed(1, &["substitution_id", "lower-case"]);
    substitute("s99").failed(
        1,
        &[
            "substitution.vehicle",
            "substitution.replacements[0].incoming_part",
        ],
    );
    let wrong = shop.ostler(&["redy"]);
    assert_eq!((wrong.code, wrong.data.as_str()), (Some(2), ""), "{wrong:?}");
}

#[tokio::test(flavor = "multi_thread")]
async fn the_config_file_says_where_and_as_whom() {
    let shop = Shop::with_demo().await;
    let folder = shop.home.path().join("config/ostler");
    std::fs::create_dir_all(&folder).unwrap();
    let write = |text: &str| std::fs::write(folder.join("config.toml"), text).unwrap();
    let plain = || {
        said(
            shop.command()
                .env_remove("OSTLER_SERVER")
                .args(["list", "departure"]),
        )
    };
    write(&format!(
        "server = \"{}\"\nfleet = \"orrin\"\n",
        shop.server.address()
    ));
    assert!(plain().well().contains(DEPARTURE));
    write(&format!(
        "server = \"{}\"\ntoken = \"ost_wrong\"\n",
        shop.server.address()
    ));
    plain().failed(1, &["token"]);
    write("sever = \"x\"\n");
    plain().failed(1, &["config.toml", "sever"]);
}

#[tokio::test(flavor = "multi_thread")]
async fn colour_is_for_terminals_and_never_the_only_carrier() {
    let shop = Shop::with_demo().await;
    // `script` gives the command a terminal of its own.
    let on_terminal = |variables: &[(&str, &str)]| {
        let mut command = Command::new("script");
        let line = format!("{} ready {DEPARTURE}", program("ostler").display());
        command
            .args(["--quiet", "--return", "--command", &line, "/dev/null"])
            .env_clear();
        command.envs(
            shop.command()
                .get_envs()
                .filter_map(|(name, value)| Some((name, value?))),
        );
        let output = command
            .env("TERM", "xterm")
            .envs(variables.iter().copied())
            .output()
            .unwrap();
        assert_eq!(output.status.code(), Some(4), "{output:?}");
        String::from_utf8(output.stdout).unwrap().replace('\r', "")
    };
    let plain = shop.ostler(&["ready", DEPARTURE]).data;
    let coloured = on_terminal(&[]);
    assert!(coloured.contains('\u{1b}'));
    assert!(!on_terminal(&[("NO_COLOR", "1")]).contains('\u{1b}'));
    let mut bare = String::new();
    let mut parts = coloured.split('\u{1b}');
    bare.push_str(parts.next().unwrap());
    for part in parts {
        bare.push_str(part.split_once('m').unwrap().1);
    }
    assert_eq!(bare, plain, "colour adds nothing but colour");
}
