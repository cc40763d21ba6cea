//! Where the server and the token come from, and what is said when nobody answers.

use crate::fake::{Fake, State, TOKEN, fake, ostler, run};

#[test]
fn server_and_token_come_from_flag_then_environment_then_file() {
    let fake = fake();
    let args = ["ready", "north"];
    let code = |command| run(command).2;

    // The token of a server of this account, with the address as a flag.
    fake.file("data/ostler/admin-token", &format!("{TOKEN}\nsecond line\n"));
    assert_eq!(
        code(fake.bare_ostler(&["ready", "north", "--server", &fake.address()])),
        0
    );

    // The config file goes before it.
    fake.file(
        "config/ostler/config.toml",
        &format!("server = \"{}\"\ntoken = \"wrong\"\n", fake.address()),
    );
    assert_eq!(code(fake.bare_ostler(&args)), 1);

    // The environment goes before the config file.
    let mut command = fake.bare_ostler(&args);
    command.env("OSTLER_TOKEN", TOKEN);
    assert_eq!(code(command), 0);

    // A flag goes before the environment.
    let mut command = fake.bare_ostler(&["ready", "north", "--token", "wrong"]);
    command.env("OSTLER_TOKEN", TOKEN);
    let (_, stderr, ended) = run(command);
    assert_eq!(ended, 1);
    assert!(
        stderr.contains("no valid token") && stderr.contains("OSTLER_TOKEN"),
        "{stderr}"
    );
}

#[test]
fn nobody_answering_says_how_to_start_a_server() {
    let home = tempfile::tempdir().unwrap();
    let free = std::net::TcpListener::bind("127.0.0.1:0").unwrap();
    let address = free.local_addr().unwrap().to_string();
    drop(free);
    let (stdout, stderr, ended) = run(ostler(
        home.path().to_owned(),
        &["ready", "north", "--fleet", "f", "--server", &address],
    ));
    assert_eq!((ended, stdout.as_str()), (1, ""));
    assert!(
        stderr.starts_with(&format!("error: no server can be reached at http://{address}\n")),
        "{stderr}"
    );
    assert!(
        stderr.contains("hint: start one with `ostlerd serve`"),
        "{stderr}"
    );
}

#[test]
fn a_silent_server_is_not_waited_for_longer_than_asked() {
    let fake = Fake::start(State {
        silent: true,
        ..State::default()
    });
    let (_, stderr, ended) = run(fake.ostler(&["ready", "fleets/f/departures/north", "--timeout", "1"]));
    assert_eq!(ended, 1);
    assert!(stderr.contains("did not answer within 1 s"), "{stderr}");
}
