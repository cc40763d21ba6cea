//! `cargo demo`: the whole story on a server of its own.
//!
//! Builds `ostlerd` and `ostler`, starts the server on a SQLite file in a fresh folder and a loopback
//! port that it picks, and runs the `ostler` commands that it prints: import the demo fleet, ask for
//! readiness, record one substitution, ask again, write every load sheet, make the repairs, and end on what to sign.
//! Ends with 0, or with the first command that failed.
//!
//! `--keep` leaves the server up until Enter is pressed, so that the reader can go on.

mod show;

use std::io::{BufRead as _, BufReader, Write as _};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, ExitCode, Stdio};
use std::time::{SystemTime, UNIX_EPOCH};

use ostler_tests::cargo::cargo;
use serde_json::Value;

use show::{answer, answers, print_answers, print_obstacles, text};

const DEPARTURE: &str = "crossing-2027";

/// The part that the demo's substitution puts on the truck.
const NEW_TYRE: &str = r#"{
  "displayName": "295/80R17.5 tubeless tyre, sand tread",
  "kind": "tyre",
  "interfaces": [
    {"kind": "rim_diameter_in", "number": 17.5},
    {"kind": "load_capacity_kg", "number": 2725},
    {"kind": "overall_diameter", "lengthMm": 917}
  ],
  "figures": {"load_index": 143}
}
"#;

type Outcome<T> = Result<T, Box<dyn std::error::Error>>;

fn main() -> ExitCode {
    let keep = std::env::args().any(|argument| argument == "--keep");
    match run(keep) {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("demo: {error}");
            ExitCode::FAILURE
        }
    }
}

fn run(keep: bool) -> Outcome<()> {
    let programs = build()?;
    let folder = fresh_folder()?;
    let server = Server::start(&programs.join("ostlerd"), &folder)?;
    let shell = Shell {
        ostler: programs.join("ostler"),
        folder: folder.clone(),
        address: server.address.clone(),
    };
    say(&format!(
        "\nA server of its own listens on {}; everything it keeps is in {}.",
        server.address,
        folder.display()
    ));
    say("To go on by hand in another shell while it runs (cargo demo --keep):\n");
    say(&format!(
        "  export OSTLER_SERVER={} OSTLER_TOKEN_FILE={}",
        shell.address,
        shell.token_file().display()
    ));
    story(&shell)?;
    if keep {
        say("\nThe server stays up. Press Enter to stop it.");
        std::io::stdin().lock().read_line(&mut String::new())?;
    }
    server.stop()
}

fn story(shell: &Shell) -> Outcome<()> {
    say("\n1. Bring in the fleet: four vehicles, their parts, cargo, crew, rules and papers.\n");
    shell.show(&[
        "import",
        &shell.file(
            "demo fleet",
            "orrin.yaml",
            include_str!("../../../../server/demo/orrin.yaml"),
        )?,
    ])?;

    say(
        "\n2. Is it ready? Per vehicle and gate; `ostler ready` alone gives every finding with its records.\n",
    );
    let before = shell.readiness()?;
    print_answers(&before, None);
    print_obstacles(&before);
    print_loads(shell)?;

    say("\n3. The truck's proposed tyres carry too little. Record others in their place.\n");
    let part = shell.file("new tyre", "tyre.json", NEW_TYRE)?;
    shell.show(&["create", "part", "tyre-295-80r17.5-sand", "--file", &part])?;
    let tyre = ["--part", "tyre-295-80r17.5-sand"];
    let mut substitute = vec!["substitute", "s11", "--vehicle", "v4", "--supersedes", "s06"];
    for slot in [
        "tyre.front.left",
        "tyre.front.right",
        "tyre.rear.left",
        "tyre.rear.right",
    ] {
        substitute.extend(["--slot", slot]);
        substitute.extend(tyre);
    }
    shell.show(&substitute)?;

    say("\n4. Is it ready now? What changed is marked with *.\n");
    let after = shell.readiness()?;
    print_answers(&after, Some(&before));
    if before.get("verdict") == after.get("verdict") && answers(&before) == answers(&after) {
        return Err("the substitution changed no gate".into());
    }

    say(
        "\n5. The papers: a load sheet for every driver in four forms, the convoy on one page for its lead, a report for the meeting.\n",
    );
    let folder = shell.folder.join("sheets");
    let sheets = folder.display().to_string();
    for format in ["json", "csv", "xlsx"] {
        shell.show(&["sheet", DEPARTURE, "--format", format, "--out", &sheets])?;
    }
    shell.show(&[
        "sheet",
        DEPARTURE,
        "--format",
        "pdf",
        "--summary",
        "--out",
        &sheets,
    ])?;
    for ending in ["md", "pdf"] {
        let report = folder.join(format!("readiness.{ending}"));
        shell.report(&report.display().to_string())?;
    }
    say(
        "\n6. What the workshops do in the eight weeks left: one set of changes, made all or none. Without --make it would only be \
         asked. It is server/demo/repairs.yaml but for the tyres, which were seen to in step 3.\n",
    );
    shell.repair()?;
    let repaired = shell.readiness()?;
    print_answers(&repaired, Some(&after));
    print_next(&repaired);
    Ok(())
}

/// Ends on what to do next: sign for the conditions, or clear what still blocks.
fn print_next(readiness: &Value) {
    if text(readiness, "verdict") == "VERDICT_NO_GO" {
        print_obstacles(readiness);
    }
    let open: Vec<(String, String, Value)> = conditions(readiness);
    say(&format!(
        "\nNext: {} conditions wait for somebody to sign for them, or to clear them. `ostler ready {DEPARTURE}` lists each with its key; \
         signed, the verdict is go. The first:\n",
        open.len()
    ));
    if let Some((vehicle, gate, finding)) = open.first() {
        let of = match vehicle.as_str() {
            "convoy" => String::new(),
            vehicle => format!(" --vehicle {vehicle}"),
        };
        say(&format!("  {}", text(finding, "text")));
        say(&format!(
            "  ostler accept a001 {DEPARTURE}{of} --gate {gate} --finding {} --condition '{}' --owner driver --check-interval 'every \
             evening' --accepted-by 'convoy lead' --date 2027-05-22",
            text(finding, "key"),
            condition_of(finding)
        ));
    }
    say("\nThe whole way, from no-go to go, stands in the README under \"From no-go to go\".");
}

/// What is to be kept to; where nothing is said of that, what was found.
fn condition_of(finding: &Value) -> String {
    match text(finding, "remedy") {
        remedy if remedy.is_empty() => text(finding, "text"),
        remedy => remedy,
    }
}

/// Vehicle, gate and finding of every condition that nobody has signed for.
fn conditions(readiness: &Value) -> Vec<(String, String, Value)> {
    let list = |value: &Value, field: &str| {
        value
            .get(field)
            .and_then(Value::as_array)
            .cloned()
            .unwrap_or_default()
    };
    let mut open = Vec::new();
    let mut take = |subject: &str, gates: Vec<Value>| {
        for gate in gates {
            let findings = list(&gate, "findings").into_iter().filter(|finding| {
                answer(finding) == "met with conditions" && text(finding, "acceptance").is_empty()
            });
            open.extend(findings.map(|finding| (subject.to_owned(), text(&gate, "id"), finding)));
        }
    };
    for vehicle in list(readiness, "vehicles") {
        let name = text(&vehicle, "vehicle");
        take(name.rsplit('/').next().unwrap_or(&name), list(&vehicle, "gates"));
    }
    take("convoy", list(readiness, "gates"));
    open
}

fn say(text: &str) {
    println!("{text}");
}

/// Builds the two programs and says where they are.
fn build() -> Outcome<PathBuf> {
    let built = cargo()
        // The same selection as `cargo demo` itself, so that the libraries are built once for both.
        .args(["build", "--quiet", "--bin", "ostlerd", "--bin", "ostler"])
        .current_dir(concat!(env!("CARGO_MANIFEST_DIR"), "/.."))
        .status()?;
    if !built.success() {
        return Err("the programs do not build".into());
    }
    let own = std::env::current_exe()?;
    let folder = own.parent().ok_or("the demo has no folder")?;
    Ok(folder.to_owned())
}

#[expect(
    clippy::disallowed_methods,
    reason = "a folder's name needs to be new, not true"
)]
fn fresh_folder() -> Outcome<PathBuf> {
    let stamp = SystemTime::now().duration_since(UNIX_EPOCH)?.as_millis();
    let folder = std::env::temp_dir().join(format!("ostler-demo-{stamp}"));
    std::fs::create_dir(&folder)?;
    Ok(folder)
}

/// A running server.
struct Server {
    child: Child,
    address: String,
}

impl Server {
    fn start(program: &Path, folder: &Path) -> Outcome<Self> {
        let mut child = Command::new(program)
            .args(["serve", "--listen", "127.0.0.1:0", "--data-folder"])
            .arg(folder)
            .env("OSTLERD_LOG", "warn")
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .spawn()?;
        let mut line = String::new();
        if let Some(out) = child.stdout.take() {
            BufReader::new(out).read_line(&mut line)?;
        }
        let address = line
            .trim()
            .strip_prefix("listening on ")
            .ok_or("the server did not start")?;
        let server = Self {
            address: format!("http://{address}"),
            child,
        };
        wait_for(&folder.join("admin-token"))?;
        Ok(server)
    }

    fn stop(mut self) -> Outcome<()> {
        self.child.kill()?;
        self.child.wait()?;
        Ok(())
    }
}

/// The token's file appears when the server has opened its record.
fn wait_for(file: &Path) -> Outcome<()> {
    for _ in 0..1_000 {
        if file.exists() {
            return Ok(());
        }
        std::thread::park_timeout(std::time::Duration::from_millis(10));
    }
    Err("the server made no token".into())
}

/// Runs `ostler` as a reader would.
struct Shell {
    ostler: PathBuf,
    folder: PathBuf,
    address: String,
}

impl Shell {
    fn token_file(&self) -> PathBuf {
        self.folder.join("admin-token")
    }

    /// Writes a file that a command reads; returns its path.
    fn file(&self, what: &str, name: &str, content: &str) -> Outcome<String> {
        let path = self.folder.join(name);
        std::fs::write(&path, content).map_err(|error| format!("cannot write the {what}: {error}"))?;
        Ok(path.display().to_string())
    }

    fn command(&self, arguments: &[&str]) -> Command {
        let shown: Vec<String> = arguments
            .iter()
            .map(|word| {
                if word.contains([' ', '*']) {
                    format!("'{word}'")
                } else {
                    (*word).to_owned()
                }
            })
            .collect();
        say(&format!("$ ostler {}", shown.join(" ")));
        let mut command = Command::new(&self.ostler);
        command
            .args(arguments)
            .env("OSTLER_SERVER", &self.address)
            .env("OSTLER_TOKEN_FILE", self.token_file());
        command.env_remove("OSTLER_TOKEN").env_remove("OSTLER_FLEET");
        command
    }

    /// Runs a command with its output shown.
    fn show(&self, arguments: &[&str]) -> Outcome<()> {
        let mut command = self.command(arguments);
        std::io::stdout().flush()?;
        if command.status()?.success() {
            Ok(())
        } else {
            Err(format!("`ostler {}` failed", arguments[0]).into())
        }
    }

    /// Makes the repairs, and says how many records they change.
    fn repair(&self) -> Outcome<()> {
        let repairs = include_str!("../../../../server/demo/repairs.yaml");
        let lines = repairs.lines().filter(|line| !line.contains("substitutions/s06"));
        let file = self.file("repairs", "repairs.yaml", &lines.collect::<Vec<_>>().join("\n"))?;
        let output = self
            .command(&[
                "what-if",
                DEPARTURE,
                "--changes",
                &file,
                "--make",
                "--output",
                "json",
            ])
            .stderr(Stdio::inherit())
            .output()?;
        if !output.status.success() {
            return Err("the repairs were refused".into());
        }
        let made: Value = serde_json::from_slice(&output.stdout)?;
        let changed = made.get("changed").and_then(Value::as_array).map_or(0, Vec::len);
        say(&format!("{changed} records changed.\n"));
        Ok(())
    }

    /// Has a report written.
    fn report(&self, file: &str) -> Outcome<()> {
        let status = self.command(&["ready", DEPARTURE, "--report", file]).status()?;
        match status.code() {
            Some(0 | 3 | 4) => Ok(()),
            _ => Err("`ostler ready --report` failed".into()),
        }
    }

    /// Asks for readiness as a script would.
    fn readiness(&self) -> Outcome<Value> {
        let output = self
            .command(&["ready", DEPARTURE, "--output", "json"])
            .stderr(Stdio::inherit())
            .output()?;
        match output.status.code() {
            Some(0 | 3 | 4) => Ok(serde_json::from_slice(&output.stdout)?),
            _ => Err("`ostler ready` failed".into()),
        }
    }
}

/// Loads at departure against their limits.
fn print_loads(shell: &Shell) -> Outcome<()> {
    say("\nLoads at departure, kilograms, with what is left to each limit:\n");
    let mut lines = Vec::new();
    for vehicle in ["v1", "v2", "v3", "v4"] {
        let output = shell
            .command(&[
                "load",
                "axles",
                DEPARTURE,
                "--vehicle",
                vehicle,
                "--output",
                "json",
            ])
            .output()?;
        let load: Value = serde_json::from_slice(&output.stdout)?;
        let part = |field: &str| {
            let number = |figure: &str| {
                load.get(field)
                    .and_then(|held| held.get(figure))
                    .and_then(Value::as_f64)
            };
            match (number("loadKg"), number("marginKg")) {
                (Some(load_kg), Some(margin_kg)) => format!("{load_kg:.1} ({margin_kg:+.1})"),
                _ => "not known".to_owned(),
            }
        };
        let (total, front, rear) = (part("total"), part("frontAxle"), part("rearAxle"));
        lines.push(format!(
            "  {vehicle}  whole {total}, front axle {front}, rear axle {rear}"
        ));
    }
    say("");
    lines.iter().for_each(|line| say(line));
    Ok(())
}
