//! `ostler import` and `export`: whole fleets as files.

use std::io::{self, IsTerminal, Write};
use std::path::Path;

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use ostler_proto::v1::fleet_service_client::FleetServiceClient;
use ostler_proto::v1::import_fleet_response::Step;
use ostler_proto::v1::{ExportFleetRequest, ImportFleetRequest, ImportOutcome, ImportProgress};

use super::{Outcome, write_file};
use crate::cli::{ExportArgs, ImportArgs};
use crate::connection::ANSWER_BYTES_MAX;
use crate::errors::{CliError, Fault};
use crate::input;
use crate::output::{Block, Cell, Document, Records, clean};
use crate::session::{Session, id_of};

/// Largest file that the API takes.
const FILE_BYTES_MAX: usize = 8 << 20;

/// Reads a file that is to be sent.
pub(super) fn file_to_send(path: &Path) -> Result<Vec<u8>, CliError> {
    let bytes = input::read_bytes(path)?;
    if bytes.len() <= FILE_BYTES_MAX {
        return Ok(bytes);
    }
    let problem = format!("must have at most 8 MiB, has {} bytes", bytes.len());
    Err(CliError::Faulty {
        what: path.display().to_string(),
        faults: vec![Fault {
            field: String::new(),
            problem,
        }],
    })
}

/// Cells that count what an import did.
pub(super) fn counts(created: i32, updated: i32, unchanged: i32) -> [Cell; 3] {
    [created, updated, unchanged].map(|count| Cell::Count(i64::from(count)))
}

/// Words that count what an import did.
pub(super) fn count_words(created: i32, updated: i32, unchanged: i32) -> String {
    format!("{created} new, {updated} changed, {unchanged} as they were")
}

/// Puts a file that came into `out`, or onto standard output.
pub(super) fn exported(bytes: Vec<u8>, out: Option<&Path>) -> Result<Outcome, CliError> {
    let Some(path) = out else {
        return Ok(Outcome::raw(bytes));
    };
    write_file(path, &bytes)?;
    Ok(Outcome::raw(Vec::new()).with_note(format!("wrote {} bytes to {}", bytes.len(), path.display())))
}

/// Writes the fleet as a file.
pub(super) async fn export(session: &Session, args: &ExportArgs) -> Result<Outcome, CliError> {
    let request = ExportFleetRequest {
        name: session.fleet().await?,
    };
    let answer = session
        .connection
        .call(request, async |service, request| {
            FleetServiceClient::new(service)
                .max_decoding_message_size(ANSWER_BYTES_MAX)
                .export_fleet(request)
                .await
        })
        .await?;
    exported(answer.fleet_file, args.out.as_deref())
}

/// Brings in a fleet file.
pub(super) async fn import(session: &Session, args: &ImportArgs) -> Result<Outcome, CliError> {
    let request = ImportFleetRequest {
        fleet_file: file_to_send(&args.file)?,
        request_id: args.write.request_id(),
        validate_only: args.write.dry_run,
    };
    let mut stream = session
        .connection
        .call(request, async |service, request| {
            FleetServiceClient::new(service).import_fleet(request).await
        })
        .await?;
    let mut meter = Meter::new(io::stderr().is_terminal());
    let mut outcome = None;
    while let Some(message) = session.connection.next(&mut stream).await? {
        match message.step {
            Some(Step::Progress(progress)) => meter.show(&progress),
            Some(Step::Outcome(reported)) => outcome = Some(reported),
            None => {}
        }
    }
    drop(meter);
    let outcome = outcome.ok_or_else(|| CliError::Answer {
        problem: "the import ended without saying what it did".to_owned(),
    })?;
    Ok(Outcome::document(document(&outcome)?).after_writing(&args.write))
}

fn document(outcome: &ImportOutcome) -> Result<Document, CliError> {
    let ImportOutcome {
        fleet,
        created_count,
        updated_count,
        unchanged_count,
    } = outcome;
    let mut records = Records::new(["fleet", "created_count", "updated_count", "unchanged_count"]);
    let counted = counts(*created_count, *updated_count, *unchanged_count);
    records.push(std::iter::once(Cell::text(fleet.as_str())).chain(counted));
    let text = count_words(*created_count, *updated_count, *unchanged_count);
    Ok(Document::of(
        outcome,
        vec![Block::line(0, format!("Fleet {}: {text}.", id_of(fleet)))],
        records,
    ))
}

/// Progress on standard error: a bar on a terminal, otherwise a line per phase.
struct Meter {
    bar: Option<ProgressBar>,
    phase: String,
}

impl Meter {
    fn new(terminal: bool) -> Self {
        let bar = terminal.then(|| {
            let bar = ProgressBar::with_draw_target(None, ProgressDrawTarget::stderr());
            // Without its template the bar still shows, only plainer.
            if let Ok(style) = ProgressStyle::with_template("{msg:8} [{bar:40}] {pos}/{len}") {
                bar.set_style(style.progress_chars("=> "));
            }
            bar
        });
        Self {
            bar,
            phase: String::new(),
        }
    }

    fn show(&mut self, progress: &ImportProgress) {
        let ImportProgress {
            phase,
            done_count,
            total_count,
        } = progress;
        let (done, total) = ((*done_count).max(0) as u64, (*total_count).max(0) as u64);
        match &self.bar {
            Some(bar) => {
                bar.set_message(clean(phase));
                bar.set_length(total);
                bar.set_position(done);
            }
            None if *phase != self.phase => {
                let _ = writeln!(io::stderr().lock(), "import: {} ({total})", clean(phase));
            }
            None => {}
        }
        self.phase.clone_from(phase);
    }
}

impl Drop for Meter {
    fn drop(&mut self) {
        if let Some(bar) = &self.bar {
            bar.finish_and_clear();
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn files_that_are_too_large_are_not_sent() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("fleet.yaml");
        std::fs::write(&path, vec![b'#'; FILE_BYTES_MAX + 1]).unwrap();
        assert!(matches!(file_to_send(&path), Err(CliError::Faulty { .. })));
        std::fs::write(&path, vec![b'#'; FILE_BYTES_MAX]).unwrap();
        assert_eq!(file_to_send(&path).unwrap().len(), FILE_BYTES_MAX);
    }

    #[test]
    fn exported_files_replace_what_was_there() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("fleet.yaml");
        std::fs::write(&path, "old").unwrap();
        exported(b"new".to_vec(), Some(&path)).unwrap();
        assert_eq!(std::fs::read(&path).unwrap(), b"new");
        assert!(exported(b"new".to_vec(), Some(&folder.path().join("none/fleet.yaml"))).is_err());
        assert_eq!(
            std::fs::read_dir(folder.path()).unwrap().count(),
            1,
            "nothing is left behind"
        );
    }
}
