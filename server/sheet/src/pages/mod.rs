//! Load sheets on pages.
//!
//! Made to be read in black and white and at arm's length: what is over a limit or not met stands white on black, what is in doubt
//! or under a condition on grey, and each says so in words as well.

mod aboard;
mod conditions;
mod convoy;
mod loads;
mod parts;
mod plan_view;
mod sign_off;

use ostler_paper::{Block, Document, Fonts, PageSize, Ruler, pdf};
use ostler_proto::v1::LoadSheet;

use crate::SheetError;
use crate::words;

pub use convoy::{ConvoySheet, convoy_pages};
pub(crate) use parts::{cells, columns, heading_band, of_answer, verdict_cell};

/// Writes `sheet`, whose content has the hash `content_hash`, as PDF.
///
/// # Errors
/// When the pages cannot be written.
pub fn sheet_pages(
    sheet: &LoadSheet,
    content_hash: &str,
    size: PageSize,
    fonts: &Fonts,
) -> Result<Vec<u8>, SheetError> {
    let document = document(sheet, content_hash, &mut Ruler::new(fonts));
    Ok(pdf(&document, size, fonts)?)
}

fn document(sheet: &LoadSheet, content_hash: &str, ruler: &mut Ruler<'_>) -> Document {
    let vehicle = words::named(&sheet.vehicle_display_name, &sheet.vehicle);
    let departure = words::named(&sheet.departure_display_name, &sheet.departure);
    let state = if sheet.draft {
        "DRAFT – not issued".to_owned()
    } else {
        format!("LOAD SHEET No {}", sheet.number)
    };
    let mut blocks = vec![sign_off::title(sheet, vehicle, departure)];
    blocks.extend(sign_off::reason(sheet));
    blocks.extend(loads::loads(sheet));
    blocks.extend(plan_view::section(sheet, ruler));
    blocks.extend(loads::tyres(sheet));
    blocks.extend(aboard::zones(sheet));
    blocks.extend(aboard::fluids(sheet));
    blocks.extend(conditions::accepted(sheet));
    blocks.extend(conditions::open(sheet));
    blocks.extend(conditions::papers_and_crew(sheet));
    blocks.extend(conditions::cautions(&sheet.cautions));
    blocks.extend(sign_off::sign_off(sheet));
    blocks.push(Block::Gap(6.0));
    blocks.extend(sign_off::sources(sheet));
    Document {
        title: format!("Load sheet of {vehicle}, {departure}"),
        head: [format!("{vehicle} · {departure}"), state],
        foot: match sheet.draft {
            true => format!("draft, content SHA-256 {content_hash}"),
            false => format!("{} SHA-256 {content_hash}", words::id(&sheet.name)),
        },
        mark: sheet.draft.then(|| "DRAFT".to_owned()),
        blocks,
    }
}
