//! Colour: on terminals only, never instead of words, and not where `NO_COLOR` is set.

use std::io::IsTerminal;

use anstyle::{AnsiColor, Style as Ansi};

use super::Tone;

/// Whether and how to colour.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Style {
    colour: bool,
}

impl Style {
    /// Without colour.
    #[cfg(test)]
    pub(crate) fn plain() -> Self {
        Self { colour: false }
    }

    /// For what goes to `stream`.
    pub(crate) fn of(stream: &impl IsTerminal) -> Self {
        let variable = |name| std::env::var(name).ok();
        Self::decide(
            stream.is_terminal(),
            variable("NO_COLOR").as_deref(),
            variable("TERM").as_deref(),
        )
    }

    fn decide(terminal: bool, no_color: Option<&str>, term: Option<&str>) -> Self {
        // An empty NO_COLOR counts as not set: https://no-color.org (from memory, not verified).
        let refused = no_color.is_some_and(|value| !value.is_empty());
        Self {
            colour: terminal && !refused && term != Some("dumb"),
        }
    }

    /// `text` in the colour of `tone`.
    pub(crate) fn paint(self, tone: Tone, text: &str) -> String {
        let ansi = match tone {
            Tone::Plain => return text.to_owned(),
            Tone::Heading => Ansi::new().bold(),
            Tone::Good => AnsiColor::Green.on_default().bold(),
            Tone::Caution => AnsiColor::Yellow.on_default().bold(),
            Tone::Bad => AnsiColor::Red.on_default().bold(),
            Tone::Dim => Ansi::new().dimmed(),
        };
        if self.colour && !text.is_empty() {
            format!("{ansi}{text}{ansi:#}")
        } else {
            text.to_owned()
        }
    }

    /// `text` as something in the way.
    pub(crate) fn bad(self, text: &str) -> String {
        self.paint(Tone::Bad, text)
    }

    /// `text` as something by the way.
    pub(crate) fn dim(self, text: &str) -> String {
        self.paint(Tone::Dim, text)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn colour_is_for_terminals_that_want_it() {
        assert!(Style::decide(true, None, Some("xterm")).colour);
        assert!(Style::decide(true, Some(""), None).colour);
        assert!(!Style::decide(true, Some("1"), None).colour);
        assert!(!Style::decide(true, None, Some("dumb")).colour);
        assert!(!Style::decide(false, None, Some("xterm")).colour);
    }

    #[test]
    fn colour_adds_nothing_but_colour() {
        let coloured = Style { colour: true }.paint(Tone::Bad, "NO-GO");
        assert_eq!(coloured, "\u{1b}[1m\u{1b}[31mNO-GO\u{1b}[0m");
        assert_eq!(Style::plain().paint(Tone::Bad, "NO-GO"), "NO-GO");
    }
}
