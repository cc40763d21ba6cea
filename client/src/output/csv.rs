//! CSV for scripts and spreadsheets.

use super::{Cell, Records};
use crate::errors::CliError;

/// Renders `records` with a header row.
pub(super) fn render(records: &Records) -> Result<String, CliError> {
    let fault = |problem: String| CliError::Answer {
        problem: format!("it has no CSV form: {problem}"),
    };
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer
        .write_record(&records.headers)
        .map_err(|error| fault(error.to_string()))?;
    for row in &records.rows {
        writer
            .write_record(row.iter().map(written))
            .map_err(|error| fault(error.to_string()))?;
    }
    let bytes = writer.into_inner().map_err(|error| fault(error.to_string()))?;
    String::from_utf8(bytes).map_err(|error| fault(error.to_string()))
}

fn written(cell: &Cell) -> String {
    match cell {
        Cell::Text(text) => disarmed(text),
        Cell::Number(value) if value.is_finite() => value.to_string(),
        Cell::Number(_) | Cell::None(_) => String::new(),
        Cell::Count(value) => value.to_string(),
    }
}

/// `text` with an apostrophe before what a spreadsheet would run as a formula.
fn disarmed(text: &str) -> String {
    if text.starts_with(['=', '+', '-', '@', '\t', '\r', '\n']) {
        format!("'{text}")
    } else {
        text.to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_cannot_be_a_formula_and_numbers_stay_numbers() {
        let mut records = Records::new(["text", "number", "count", "none"]);
        for text in [
            "=1+1",
            "+1",
            "-1",
            "@SUM(A1)",
            "\tx",
            "\r=x",
            "plain",
            "a=b",
            "quote \" and , comma",
        ] {
            records.push([
                Cell::text(text),
                Cell::Number(-37.8),
                Cell::Count(-2),
                Cell::None("not known"),
            ]);
        }
        let text = render(&records).unwrap();
        let mut reader = csv::Reader::from_reader(text.as_bytes());
        let rows: Vec<_> = reader.records().map(Result::unwrap).collect();
        let first: Vec<_> = rows.iter().map(|row| row.get(0).unwrap()).collect();
        assert_eq!(
            first,
            [
                "'=1+1",
                "'+1",
                "'-1",
                "'@SUM(A1)",
                "'\tx",
                "'\r=x",
                "plain",
                "a=b",
                "quote \" and , comma"
            ]
        );
        for row in &rows {
            assert_eq!(row.iter().skip(1).collect::<Vec<_>>(), ["-37.8", "-2", ""]);
        }
    }
}
