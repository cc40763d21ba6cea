//! `ostler ready --watch`: answers as they change; and what every watch does.

use std::io::{self, Write as _};
use std::time::Duration;

use ostler_proto::v1::readiness_service_client::ReadinessServiceClient;
use ostler_proto::v1::{GateAnswer, ReadinessChange, WatchReadinessRequest};
use tokio::time::sleep;
use tonic::{Code, Request, Response, Status, Streaming};

use super::verdict::{answer_tone, answer_words, of_whom, verdict_tone, verdict_words};
use super::{Outcome, Printed};
use crate::cli::{Format, ReadyArgs};
use crate::connection::Service;
use crate::errors::CliError;
use crate::kinds::Kind;
use crate::output::{Block, Cell, Document, Records, Style};
use crate::session::{Session, id_of};

/// Pause before a watch that was broken off goes on.
const PAUSE: Duration = Duration::from_secs(1);

/// Shows every change until interrupted. A server that goes away is waited for: the watch goes on where it
/// was broken off.
pub(super) async fn run(session: &Session, args: &ReadyArgs, format: Format) -> Result<Outcome, CliError> {
    let departure = session.name(Kind::Departure, &args.departure).await?;
    let vehicle = session.optional_name_beside(&departure, Kind::Vehicle, args.vehicle.as_ref())?;
    let mut request = WatchReadinessRequest {
        departure,
        vehicle,
        resume_token: String::new(),
    };
    let departure = request.departure.clone();
    let listen = async |service, request| {
        ReadinessServiceClient::new(service)
            .watch_readiness(request)
            .await
    };
    follow(session, &mut request, listen, |request, change, shown| {
        request.resume_token.clone_from(&change.resume_token);
        Ok(match show(&departure, &change, format, shown)? {
            true => Seen::Shown,
            false => Seen::Enough,
        })
    })
    .await
}

/// What became of a message of a watch.
pub(super) enum Seen {
    /// It was printed.
    Shown,
    /// There was nothing to print in it.
    Skipped,
    /// Whoever reads has seen enough.
    Enough,
}

/// What every watch does: listens, hands each message to `take` with the number of those that were shown before it, and
/// when the server went away waits for it and goes on where `request` then says, which `take` keeps true. A watch that
/// never gave a message is not tried again.
pub(super) async fn follow<Q: Clone, M>(
    session: &Session,
    request: &mut Q,
    listen: impl AsyncFn(Service, Request<Q>) -> Result<Response<Streaming<M>>, Status>,
    mut take: impl FnMut(&mut Q, M, usize) -> Result<Seen, CliError>,
) -> Result<Outcome, CliError> {
    let (mut begun, mut shown) = (false, 0);
    loop {
        let status = match session.connection.listen(request.clone(), &listen).await {
            Err(status) => status,
            Ok(mut messages) => loop {
                match messages.message().await {
                    Ok(Some(message)) => {
                        begun = true;
                        match take(request, message, shown)? {
                            Seen::Shown => shown += 1,
                            Seen::Skipped => (),
                            Seen::Enough => return Ok(silent()),
                        }
                    }
                    Ok(None) => break Status::unavailable("the stream ended"),
                    Err(status) => break status,
                }
            },
        };
        if !begun {
            return Err(CliError::Refused(Box::new(status)));
        }
        wait_for_server(status).await?;
    }
}

/// Waits a little when the server went away.
///
/// # Errors
/// When it ended the watch for another reason.
async fn wait_for_server(status: Status) -> Result<(), CliError> {
    if !matches!(status.code(), Code::Unavailable | Code::Unknown | Code::Cancelled) {
        return Err(CliError::Refused(Box::new(status)));
    }
    sleep(PAUSE).await;
    Ok(())
}

/// Nothing more to print.
fn silent() -> Outcome {
    Outcome {
        printed: Printed::Raw(Vec::new()),
        notes: Vec::new(),
        exit_code: 0,
    }
}

/// Prints a change. `false`: whoever reads has seen enough.
fn show(departure: &str, change: &ReadinessChange, format: Format, seen: usize) -> Result<bool, CliError> {
    let document = Document::of(change, blocks(departure, change, seen), records(change));
    print(&document, format, seen)
}

/// Prints one of several documents, of which `seen` were printed before. `false`: whoever reads has seen enough.
pub(super) fn print(document: &Document, format: Format, seen: usize) -> Result<bool, CliError> {
    let mut text = document.render(format, Style::of(&io::stdout()))?;
    if format == Format::Csv && seen > 0 {
        // The headers stand above the first rows.
        text = text
            .split_once('\n')
            .map_or(String::new(), |(_, rows)| rows.to_owned());
    }
    let mut out = io::stdout().lock();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Ok(()) => Ok(true),
        Err(error) if error.kind() == io::ErrorKind::BrokenPipe => Ok(false),
        Err(source) => Err(CliError::File {
            doing: "write",
            path: "standard output".into(),
            source,
        }),
    }
}

fn blocks(departure: &str, change: &ReadinessChange, seen: usize) -> Vec<Block> {
    let verdict = change.verdict();
    let mut blocks = Vec::new();
    if seen > 0 {
        blocks.push(Block::Gap);
    }
    let head = format!("Departure {}: {}", id_of(departure), verdict_words(verdict));
    blocks.push(Block::toned(0, verdict_tone(verdict), head));
    blocks.extend(change.gates.iter().map(|gate| {
        let line = format!("{} {}: {}", of_whom(&gate.vehicle), gate.gate, answers(gate));
        Block::toned(2, answer_tone(gate.after()), line)
    }));
    blocks
}

fn answers(gate: &GateAnswer) -> String {
    let after = answer_words(gate.after());
    let answers = match gate.before {
        0 => after.to_owned(),
        _ => format!("{} -> {after}", answer_words(gate.before())),
    };
    if gate.summary.is_empty() {
        answers
    } else {
        format!("{answers}: {}", gate.summary)
    }
}

fn records(change: &ReadinessChange) -> Records {
    let mut records = Records::new([
        "verdict",
        "vehicle",
        "gate",
        "answer_before",
        "answer_after",
        "summary",
        "record_version",
    ]);
    for gate in &change.gates {
        records.push([
            Cell::text(verdict_words(change.verdict())),
            Cell::text(gate.vehicle.as_str()),
            Cell::text(gate.gate.as_str()),
            Cell::text(answer_words(gate.before())),
            Cell::text(answer_words(gate.after())),
            Cell::text(gate.summary.as_str()),
            Cell::text(change.record_version.as_str()),
        ]);
    }
    records
}
