//! A load sheet as a workbook: one sheet per part, a head line, texts as texts and numbers as numbers.
//!
//! No text can become a formula: every one is written as a string, whatever it begins with.

mod parts;

use ostler_proto::v1::LoadSheet;
use rust_xlsxwriter::{DocProperties, ExcelDateTime, Format, FormatBorder, Workbook, Worksheet};

use crate::SheetError;
use crate::words;

/// Longest text of a cell, by the file format.
const TEXT_MAX: usize = 32_767;

/// Widest column, characters.
const WIDTH_MAX: f64 = 60.0;

/// What stands in a cell.
enum Value {
    Text(String),
    Number(f64),
}

impl From<&str> for Value {
    fn from(text: &str) -> Self {
        Self::Text(text.to_owned())
    }
}

impl From<&String> for Value {
    fn from(text: &String) -> Self {
        Self::Text(text.clone())
    }
}

impl From<String> for Value {
    fn from(text: String) -> Self {
        Self::Text(text)
    }
}

impl From<f64> for Value {
    fn from(value: f64) -> Self {
        Self::Number(value)
    }
}

impl From<i32> for Value {
    fn from(value: i32) -> Self {
        Self::Number(value.into())
    }
}

impl From<Option<f64>> for Value {
    fn from(value: Option<f64>) -> Self {
        value.map_or_else(|| words::NOT_KNOWN.into(), Self::Number)
    }
}

impl From<bool> for Value {
    fn from(yes: bool) -> Self {
        if yes { "yes" } else { "" }.into()
    }
}

/// One part of the sheet.
struct Part {
    title: &'static str,
    head: &'static [&'static str],
    rows: Vec<Vec<Value>>,
}

/// Writes `sheet`, whose content has the hash `content_hash`.
///
/// # Errors
/// When the library refuses, for example out of memory.
pub fn workbook(sheet: &LoadSheet, content_hash: &str) -> Result<Vec<u8>, SheetError> {
    let mut book = Workbook::new();
    book.set_properties(&properties(sheet)?);
    for part in parts::all(sheet, content_hash) {
        write(book.add_worksheet(), &part)?;
    }
    Ok(book.save_to_buffer()?)
}

/// The time in the file is that of the issue or the day of departure: the library would write that of the clock.
fn properties(sheet: &LoadSheet) -> Result<DocProperties, SheetError> {
    let day = sheet.departure_date.as_str();
    let time = match &sheet.issue_time {
        Some(time) => ExcelDateTime::from_timestamp(time.seconds)?,
        None => ExcelDateTime::parse_from_str(day).or_else(|_| ExcelDateTime::from_ymd(2000, 1, 1))?,
    };
    Ok(DocProperties::new()
        .set_title(format!("Load sheet of {}", sheet.vehicle_display_name))
        .set_creation_datetime(&time))
}

fn write(tab: &mut Worksheet, part: &Part) -> Result<(), SheetError> {
    let head = Format::new().set_bold().set_border_bottom(FormatBorder::Thin);
    let wrapped = Format::new().set_text_wrap();
    tab.set_name(part.title)?;
    tab.set_freeze_panes(1, 0)?;
    tab.set_landscape()
        .set_print_fit_to_pages(1, 0)
        .set_repeat_rows(0, 0)?;
    let mut widths: Vec<f64> = part.head.iter().map(|title| length(title)).collect();
    for (column, title) in (0_u16..).zip(part.head) {
        tab.write_string_with_format(0, column, *title, &head)?;
    }
    for (row, cells) in (1_u32..).zip(&part.rows) {
        for (column, cell) in (0_u16..).zip(cells) {
            let wide = match cell {
                Value::Text(text) => {
                    let text: String = text.chars().take(TEXT_MAX).collect();
                    tab.write_string_with_format(row, column, &text, &wrapped)?;
                    length(&text)
                }
                Value::Number(value) => {
                    tab.write_number(row, column, *value)?;
                    10.0
                }
            };
            if let Some(width) = widths.get_mut(usize::from(column)) {
                *width = width.max(wide);
            }
        }
    }
    for (column, width) in (0_u16..).zip(widths) {
        tab.set_column_width(column, width.min(WIDTH_MAX) + 2.0)?;
    }
    Ok(())
}

fn length(text: &str) -> f64 {
    u32::try_from(text.chars().count()).map_or(WIDTH_MAX, f64::from)
}
