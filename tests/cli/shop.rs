//! One account on one machine: a server in its own data folder, and the client beside it.

use std::path::{Path, PathBuf};
use std::process::Command;

use ostler_tests::process::{Launch, Server, program};
use serde_json::Value;
use tempfile::TempDir;

pub(crate) const DEPARTURE: &str = "crossing-2027";

/// The demo fleet.
pub(crate) fn demo_fleet() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../server/demo/orrin.yaml")
}

/// An account with a server that runs.
pub(crate) struct Shop {
    // Dropped first: it ends before its folder does.
    pub(crate) server: Server,
    pub(crate) home: TempDir,
}

/// What a command came to.
#[derive(Debug)]
pub(crate) struct Said {
    pub(crate) code: Option<i32>,
    pub(crate) data: String,
    pub(crate) notes: String,
}

impl Said {
    /// The data, of a command that must have gone well.
    pub(crate) fn well(self) -> String {
        assert_eq!(self.code, Some(0), "{self:?}");
        self.data
    }

    pub(crate) fn json(self) -> Value {
        let data = self.well();
        serde_json::from_str(&data).unwrap_or_else(|error| panic!("{error}: {data}"))
    }

    /// It failed with code 1, said `words` and printed no data: a command of `ostlerd`.
    pub(crate) fn refused(self, words: &[&str]) {
        assert_eq!((self.code, self.data.as_str()), (Some(1), ""), "{self:?}");
        for word in words {
            assert!(self.notes.contains(word), "{word:?} is not in {self:?}");
        }
    }

    /// It failed with `code`, said `words`, printed no data, and its last line is a hint.
    pub(crate) fn failed(self, code: i32, words: &[&str]) {
        assert_eq!(self.code, Some(code), "{self:?}");
        assert_eq!(self.data, "", "{self:?}");
        for word in words {
            assert!(self.notes.contains(word), "{word:?} is not in {self:?}");
        }
        assert!(
            self.notes.lines().last().unwrap().starts_with("hint: "),
            "{self:?}"
        );
    }
}

impl Shop {
    /// Nothing is given but the home of the account: server and client meet by it.
    pub(crate) async fn open() -> Self {
        Self::launched(Launch::plain()).await
    }

    /// The same with a server that is told more.
    pub(crate) async fn launched(mut launch: Launch) -> Self {
        let home = tempfile::tempdir().unwrap();
        for (name, value) in variables(home.path()) {
            launch = launch.variable(name, &value);
        }
        let server = Server::start(launch).await;
        Self { home, server }
    }

    /// With the demo fleet in it.
    pub(crate) async fn with_demo() -> Self {
        Self::open().await.and_demo()
    }

    /// The same with the demo fleet in it.
    pub(crate) fn and_demo(self) -> Self {
        let shop = self;
        shop.ostler(&["import", demo_fleet().to_str().unwrap()]).well();
        shop
    }

    /// The client as a command of the account, before its arguments. Nothing of the environment of
    /// the tests reaches it.
    pub(crate) fn command(&self) -> Command {
        let mut command = Command::new(program("ostler"));
        command
            .env_clear()
            .envs(variables(self.home.path()))
            .env("PATH", std::env::var_os("PATH").unwrap_or_default())
            .env("OSTLER_SERVER", self.server.address().to_string())
            .current_dir(self.home.path());
        command
    }

    /// Gives a command. What it prints for people must fit 80 columns and hold no colour, as it goes to
    /// no terminal.
    pub(crate) fn ostler(&self, arguments: &[&str]) -> Said {
        let said = said(self.command().args(arguments));
        let for_people = !arguments
            .iter()
            .any(|argument| ["json", "csv"].contains(argument))
            && !["export", "cargo"].contains(&arguments[0]);
        if for_people {
            for line in said.data.lines() {
                assert!(line.chars().count() <= 80, "{arguments:?}: {line}");
            }
        }
        assert!(
            !said.data.contains('\u{1b}') && !said.notes.contains('\u{1b}'),
            "{said:?}"
        );
        said
    }

    /// A file of the account.
    pub(crate) fn file(&self, name: &str, content: impl AsRef<[u8]>) -> String {
        let path = self.home.path().join(name);
        std::fs::write(&path, content).unwrap();
        path.to_str().unwrap().to_owned()
    }
}

pub(crate) fn said(command: &mut Command) -> Said {
    let output = command.output().unwrap();
    Said {
        code: output.status.code(),
        data: String::from_utf8(output.stdout).unwrap(),
        notes: String::from_utf8(output.stderr).unwrap(),
    }
}

fn variables(home: &Path) -> [(&'static str, String); 3] {
    let below = |folder: &str| home.join(folder).to_str().unwrap().to_owned();
    [
        ("HOME", below("")),
        ("XDG_DATA_HOME", below("data")),
        ("XDG_CONFIG_HOME", below("config")),
    ]
}
