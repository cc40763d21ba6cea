//! `ostler driveline`: gears, speeds, climbs and the speedometer of a vehicle or of a file.

use ostler_proto::v1::driveline_service_client::DrivelineServiceClient;
use ostler_proto::v1::{
    CompareDrivelinesRequest, ComputeDrivelineRequest, DrivelineReport, DrivelineState, GearFigures,
    GearSpeeds,
};

use super::{Outcome, write_file};
use crate::cli::DrivelineArgs;
use crate::connection::ANSWER_BYTES_MAX;
use crate::errors::{CliError, Fault};
use crate::input;
use crate::kinds::Kind;
use crate::output::{Block, Cell, Document, Records, Tone, word};
use crate::session::{Session, id_of};

/// Asks for the driveline, and writes the picture if one is asked for.
pub(super) async fn run(session: &Session, args: &DrivelineArgs) -> Result<Outcome, CliError> {
    let (head, report) = match &args.vehicle {
        Some(vehicle) => of_vehicle(session, args, vehicle).await?,
        None => ("Driveline of the file".to_owned(), of_file(session, args).await?),
    };
    let document = Document::of(&report, blocks(&report, head), records(&report));
    let outcome = Outcome::document(document);
    match &args.picture {
        Some(path) if report.picture_svg.is_empty() => {
            let note = "no picture: the engine speeds at idle and at most, or something of the driveline, are not known";
            Err(CliError::Faulty {
                what: path.display().to_string(),
                faults: vec![Fault {
                    field: String::new(),
                    problem: note.to_owned(),
                }],
            })
        }
        Some(path) => {
            write_file(path, report.picture_svg.as_bytes())?;
            Ok(outcome.with_note(format!("wrote {}", path.display())))
        }
        None => Ok(outcome),
    }
}

async fn of_vehicle(
    session: &Session,
    args: &DrivelineArgs,
    vehicle: &str,
) -> Result<(String, DrivelineReport), CliError> {
    let vehicle = session.name(Kind::Vehicle, vehicle).await?;
    let beside = |kind, text: &Option<String>| match text {
        Some(text) => session.name_beside(&vehicle, kind, text),
        None => Ok(String::new()),
    };
    let substitution = beside(Kind::Substitution, &args.with)?;
    let departure = beside(Kind::Departure, &args.departure)?;
    let head = match substitution.as_str() {
        "" => format!("Driveline of {}", id_of(&vehicle)),
        with => format!(
            "Driveline of {} before and after {}",
            id_of(&vehicle),
            id_of(with)
        ),
    };
    let request = ComputeDrivelineRequest {
        vehicle,
        substitution,
        departure,
        cruise_km_per_h: args.cruise_km_per_h,
        friction_coefficient: args.friction,
        picture: args.picture.is_some(),
    };
    let report = session
        .connection
        .call(request, async |service, request| {
            DrivelineServiceClient::new(service)
                .max_decoding_message_size(ANSWER_BYTES_MAX)
                .compute_driveline(request)
                .await
        })
        .await?;
    Ok((head, report))
}

async fn of_file(session: &Session, args: &DrivelineArgs) -> Result<DrivelineReport, CliError> {
    let Some(file) = &args.file else {
        return Err(CliError::Usage {
            problem: "it is not said of what".to_owned(),
            hint: "give a vehicle, or --file".to_owned(),
        });
    };
    // Nothing in the file is a record, so no fleet belongs to it.
    let mut request: CompareDrivelinesRequest = input::request(file, "")?;
    request.picture |= args.picture.is_some();
    session
        .connection
        .call(request, async |service, request| {
            DrivelineServiceClient::new(service)
                .max_decoding_message_size(ANSWER_BYTES_MAX)
                .compare_drivelines(request)
                .await
        })
        .await
}

fn blocks(report: &DrivelineReport, head: String) -> Vec<Block> {
    let mut blocks = vec![Block::toned(0, Tone::Heading, head)];
    if report.gears.is_empty() {
        blocks.push(Block::toned(
            0,
            Tone::Bad,
            "NOT KNOWN: something of the driveline is missing",
        ));
    } else {
        blocks.extend([Block::Gap, Block::Table(gear_table(report)), Block::Gap]);
    }
    let states = [("as it is", &report.before), ("after", &report.after)];
    for (when, state) in states {
        if let Some(state) = state {
            let when = if report.after.is_some() && when == "as it is" {
                "before"
            } else {
                when
            };
            state_blocks(&mut blocks, when, state);
        }
    }
    if let Some(change) = report.odometer_change {
        let percent = 100.0 * (change - 1.0);
        let text = format!(
            "For the same distance on the odometer the vehicle goes {percent:+.1} % ({change:.4} times) after the change."
        );
        blocks.push(Block::line(0, text));
    }
    if let Some(state) = report
        .after
        .as_ref()
        .or(report.before.as_ref())
        .filter(|state| !state.climbs.is_empty())
    {
        blocks.extend([Block::Gap, Block::Table(climb_table(state)), Block::Gap]);
        if !report.mass_source.is_empty() {
            blocks.push(Block::line(
                0,
                format!("Climbs in the crawling gear, for {}.", report.mass_source),
            ));
        }
    }
    for remark in &report.remarks {
        blocks.push(Block::toned(0, Tone::Bad, remark.as_str()));
    }
    for sentence in &report.missing {
        blocks.push(Block::line(0, format!("- {sentence}")));
    }
    let text = format!("{} Formula: {}.", report.caution, report.formula_version);
    blocks.push(Block::toned(0, Tone::Dim, text));
    blocks
}

fn state_blocks(blocks: &mut Vec<Block>, when: &str, state: &DrivelineState) {
    if let Some(crawl) = &state.crawl {
        let speed = match crawl.speed_km_per_h {
            Some(speed) => format!("{speed:.2} km/h at idle"),
            None => "speed at idle not known".to_owned(),
        };
        let text = format!(
            "Crawl {when}: {:.1} in {} {}, {speed}.",
            crawl.overall_ratio, crawl.gear, crawl.range
        );
        blocks.push(Block::line(0, text));
    }
    if let Some(factor) = state.odometer_factor {
        let text = format!("Odometer {when}: {factor:.4} true km per km shown.");
        blocks.push(Block::line(0, text));
    }
    for reading in &state.speedometer {
        let Some(shown) = reading.indicated_km_per_h else {
            continue;
        };
        let verdict = word("SpeedometerVerdict", reading.verdict().as_str_name());
        let text = format!(
            "Speedometer {when}: at true {:.0} km/h it shows {shown:.1}, allowed {:.0} to {:.0}: {verdict}.",
            reading.true_speed_km_per_h, reading.least_km_per_h, reading.most_km_per_h
        );
        let tone = match reading.verdict() {
            ostler_proto::v1::SpeedometerVerdict::ReadsLow
            | ostler_proto::v1::SpeedometerVerdict::ReadsHigh => Tone::Bad,
            _ => Tone::Dim,
        };
        blocks.push(Block::toned(0, tone, text));
    }
    for source in &state.sources {
        blocks.push(Block::toned(2, Tone::Dim, format!("{when}: {source}")));
    }
}

fn gear_table(report: &DrivelineReport) -> Records {
    let of = |speeds: &Option<GearSpeeds>| {
        [
            Cell::known(speeds.as_ref().map(|speeds| speeds.overall_ratio)),
            Cell::known(speeds.as_ref().map(|speeds| speeds.speed_per_1000_rpm_km_per_h)),
            Cell::known(speeds.as_ref().and_then(|speeds| speeds.cruise_engine_speed_rpm)),
        ]
    };
    let mut headers = vec!["gear", "ratio", "km/h per 1000", "rpm at cruise"];
    if report.after.is_some() {
        headers.extend(["after: ratio", "km/h", "rpm"]);
    }
    let mut table = Records::new(headers);
    for row in &report.gears {
        let mut cells = vec![Cell::text(format!("{} {}", row.gear, row.range))];
        cells.extend(of(&row.before));
        if report.after.is_some() {
            cells.extend(of(&row.after));
        }
        table.push(cells);
    }
    table
}

fn climb_table(state: &DrivelineState) -> Records {
    let mut table = Records::new(["ground", "climb, degrees", "at worst", "at best", "ended by"]);
    for climb in &state.climbs {
        table.push([
            Cell::text(word("Ground", climb.ground().as_str_name())),
            Cell::Number(climb.typical_deg),
            Cell::Number(climb.hardest_deg),
            Cell::Number(climb.easiest_deg),
            Cell::text(if climb.ended_by_grip { "grip" } else { "torque" }),
        ]);
    }
    table
}

/// One row per gear, range and state.
fn records(report: &DrivelineReport) -> Records {
    let mut records = Records::new([
        "gear",
        "range",
        "reverse",
        "state",
        "overall_ratio",
        "speed_per_1000_rpm_km_per_h",
        "cruise_engine_speed_rpm",
    ]);
    for row in &report.gears {
        let GearFigures { before, after, .. } = row;
        for (state, speeds) in [("before", before), ("after", after)] {
            if let Some(speeds) = speeds {
                records.push([
                    Cell::text(row.gear.as_str()),
                    Cell::text(row.range.as_str()),
                    Cell::yes_no(row.reverse),
                    Cell::text(state),
                    Cell::Number(speeds.overall_ratio),
                    Cell::Number(speeds.speed_per_1000_rpm_km_per_h),
                    Cell::maybe(speeds.cruise_engine_speed_rpm),
                ]);
            }
        }
    }
    records
}
