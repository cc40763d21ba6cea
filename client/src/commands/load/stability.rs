//! `ostler load stability`: height of the centre of mass and ceilings, from a file.

use ostler_proto::v1::stance_service_client::StanceServiceClient;
use ostler_proto::v1::{ComputeStabilityRequest, SlopeCeiling, Stability};

use super::Outcome;
use crate::cli::LoadStabilityArgs;
use crate::connection::ANSWER_BYTES_MAX;
use crate::errors::CliError;
use crate::input;
use crate::output::{Block, Cell, Document, Records, Tone};
use crate::session::Session;

/// Asks for the stability of the vehicle in the file.
pub(super) async fn run(session: &Session, args: &LoadStabilityArgs) -> Result<Outcome, CliError> {
    // Nothing in the file is a record, so no fleet belongs to it.
    let request: ComputeStabilityRequest = input::request(&args.file, "")?;
    let stability = session
        .connection
        .call(request, async |service, request| {
            StanceServiceClient::new(service)
                .max_decoding_message_size(ANSWER_BYTES_MAX)
                .compute_stability(request)
                .await
        })
        .await?;
    Ok(Outcome::document(Document::of(
        &stability,
        blocks(&stability),
        records(&stability),
    )?))
}

/// The figures: what, value, unit.
fn figures(of: &Stability) -> Vec<(&'static str, f64, &'static str)> {
    let mut figures = vec![
        ("height of the centre of mass", of.height_mm, "mm"),
        ("its uncertainty", of.height_uncertainty_mm, "mm"),
        ("centre aft of the front axle", of.centre_x_mm, "mm"),
        ("static stability factor", of.static_stability_factor, ""),
        ("its uncertainty", of.static_stability_factor_uncertainty, ""),
    ];
    let ceilings: [(&str, &str, &Option<SlopeCeiling>); 4] = [
        (
            "ceiling, left downhill",
            "the same, centre higher",
            &of.left_ceiling,
        ),
        (
            "ceiling, right downhill",
            "the same, centre higher",
            &of.right_ceiling,
        ),
        (
            "ceiling, nose uphill",
            "the same, centre higher",
            &of.uphill_ceiling,
        ),
        (
            "ceiling, nose downhill",
            "the same, centre higher",
            &of.downhill_ceiling,
        ),
    ];
    for (name, upper, ceiling) in ceilings {
        if let Some(ceiling) = ceiling {
            figures.push((name, ceiling.ceiling_deg, "degrees"));
            figures.push((upper, ceiling.ceiling_at_upper_height_deg, "degrees"));
        }
    }
    figures
}

fn records(of: &Stability) -> Records {
    let mut records = Records::new(["figure", "value", "unit"]);
    for (figure, value, unit) in figures(of) {
        records.push([Cell::text(figure), Cell::Number(value), Cell::text(unit)]);
    }
    records
}

fn blocks(of: &Stability) -> Vec<Block> {
    let text = "Stability: ceilings of a rigid body, never safe slopes";
    let mut blocks = vec![
        Block::toned(0, Tone::Heading, text),
        Block::Gap,
        Block::Table(records(of)),
        Block::Gap,
    ];
    blocks.extend(
        of.cautions
            .iter()
            .map(|caution| Block::toned(0, Tone::Dim, caution.as_str())),
    );
    blocks
}
