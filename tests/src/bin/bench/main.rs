//! How fast a server is, held against what the machine and the transport could do: see `tests/bench`.
//!
//! - [`changed`]: the first verdict after a change.
//! - [`large_record`]: the same calls on a small record and on a large one.
//! - [`load`]: keeps a number of calls under way for a while.
//! - [`overload`]: more callers than a server takes on.
//! - [`planning`]: sampling and scheduling beside numpy, and how they grow.
//! - [`process`]: starting, idling, and a command as a process.
//! - [`reading`]: questions to a server that holds the demo fleet.
//! - [`writing`]: substitutions on both databases.

mod changed;
mod large_record;
mod load;
mod overload;
mod planning;
mod process;
mod reading;
mod writing;

use std::error::Error;

/// What can be asked for by itself.
const PARTS: [&str; 7] = [
    "planning",
    "reading",
    "changed",
    "writing",
    "large_record",
    "process",
    "overload",
];

/// A figure beside the one it is measured by.
struct Figure {
    name: &'static str,
    value: f64,
    unit: &'static str,
    reference: f64,
    reference_name: &'static str,
}

impl Figure {
    fn print(&self) {
        let Self {
            name,
            value,
            unit,
            reference,
            reference_name,
        } = self;
        let ratio = value / reference;
        println!(
            r#"{{"name": "{name}", "value": {value:.5}, "unit": "{unit}", "reference": {reference:.5}, "reference_name": "{reference_name}", "ratio": {ratio:.3}}}"#
        );
    }
}

#[tokio::main]
async fn main() -> Result<(), Box<dyn Error + Send + Sync>> {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    if let [planning::ALONE, jobs] = arguments.iter().map(String::as_str).collect::<Vec<_>>()[..] {
        return planning::alone(jobs.parse()?);
    }
    if let Some(unknown) = arguments
        .iter()
        .find(|argument| !PARTS.contains(&argument.as_str()))
    {
        return Err(format!("there is no part {unknown:?}; there are {}", PARTS.join(", ")).into());
    }
    // Without an argument everything is measured, otherwise only what is named.
    let wanted = |part: &str| arguments.is_empty() || arguments.iter().any(|argument| argument == part);
    if wanted("planning") {
        planning::measure()?;
    }
    if wanted("reading") {
        reading::measure().await?;
    }
    if wanted("changed") {
        changed::measure().await?;
    }
    if wanted("writing") {
        writing::measure().await?;
    }
    if wanted("large_record") {
        large_record::measure().await?;
    }
    if wanted("process") {
        process::measure().await?;
    }
    if wanted("overload") {
        overload::measure().await?;
    }
    Ok(())
}
