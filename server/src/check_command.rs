//! `ostlerd check`: is a database as its servers left it?

use std::io::Write as _;

use anyhow::Context as _;
use clap::Args;
use ostler_server::app::check::{NotedHead, check_whole};

use crate::{Place, open};

#[derive(Debug, Args)]
pub(crate) struct Check {
    #[command(flatten)]
    place: Place,
    /// A head that an earlier check printed, FLEET=POSITION:SEAL: it must still be in the chain. Whoever can write to the
    /// database can make a whole chain anew; only a head that was noted elsewhere finds that. May be given several times.
    #[arg(long = "head", value_name = "HEAD")]
    heads: Vec<NotedHead>,
}

/// Checks, and prints what was found.
pub(crate) async fn run(arguments: Check) -> anyhow::Result<()> {
    let Check { place, heads } = arguments;
    let store = open(place).await?;
    let report = check_whole(&store, &heads).await;
    store.close().await;
    let report = report.context("the database cannot be read")?;
    let mut out = std::io::stdout().lock();
    writeln!(
        out,
        "fleets: {}, resources: {}, entries of history: {}, of these not sealed yet: {}, issued load sheets: {}",
        report.fleets,
        report.resources,
        report.history_entries,
        report.unsealed_entries,
        report.issued_sheets
    )?;
    for head in &report.heads {
        writeln!(out, "head: {head}")?;
    }
    for (about, problem) in &report.faults {
        writeln!(out, "{about}: {problem}")?;
    }
    anyhow::ensure!(
        report.faults.is_empty(),
        "{} faults were found",
        report.faults.len()
    );
    for head in &heads {
        writeln!(out, "still in its chain: {head}")?;
    }
    writeln!(out, "nothing is wrong")?;
    Ok(())
}
