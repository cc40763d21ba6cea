//! A report as Markdown, tables as GitHub's dialect has them.

use super::{Content, Part};
use crate::words;

pub(super) fn write(content: &Content) -> String {
    let mut out = format!("# {}\n\n", plain(&content.title));
    let verdict = words::verdict(content.verdict).to_uppercase();
    out.push_str(&format!("**{verdict}** – {}\n\n", plain(&content.below)));
    for part in &content.parts {
        match part {
            Part::Heading(text) => out.push_str(&format!("## {}\n\n", plain(text))),
            Part::Paragraph(text) => out.push_str(&format!("{}\n\n", plain(text))),
            Part::Table { head, rows, .. } => {
                line(&mut out, head.iter().map(|text| plain(text)));
                line(&mut out, head.iter().map(|_| "---".to_owned()));
                for row in rows {
                    line(&mut out, row.iter().map(|entry| plain(&entry.text)));
                }
                out.push('\n');
            }
            Part::Signatures => {
                line(
                    &mut out,
                    ["role", "go / no-go", "name", "date", "signature"].map(str::to_owned),
                );
                line(&mut out, ["---"; 5].map(str::to_owned));
                for role in super::pages::SIGNERS {
                    line(&mut out, [role, "", "", "", ""].map(str::to_owned));
                }
                out.push('\n');
            }
        }
    }
    out.truncate(out.trim_end().len());
    out.push('\n');
    out
}

fn line(out: &mut String, cells: impl IntoIterator<Item = String>) {
    out.push('|');
    for cell in cells {
        out.push_str(&format!(" {cell} |"));
    }
    out.push('\n');
}

/// Text that Markdown takes for nothing but text, on one line.
fn plain(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for character in text.chars() {
        match character {
            '\n' | '\r' | '\t' => out.push(' '),
            control if control.is_control() => out.push('\u{fffd}'),
            '\\' | '`' | '*' | '_' | '[' | ']' | '<' | '>' | '|' | '#' | '~' | '&' => {
                out.push('\\');
                out.push(character);
            }
            other => out.push(other),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::plain;

    #[test]
    fn no_text_becomes_markup_or_another_cell() {
        assert_eq!(plain("a|b\n# c"), "a\\|b \\# c");
        assert_eq!(plain("<b>*x*</b> [y](z)"), "\\<b\\>\\*x\\*\\</b\\> \\[y\\](z)");
        assert_eq!(plain("plain, 12.5 kg – ok"), "plain, 12.5 kg – ok");
    }
}
