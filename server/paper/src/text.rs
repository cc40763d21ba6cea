//! Setting text: shaped, broken into lines, in both directions.

use std::borrow::Cow;
use std::ops::Range;
use std::sync::Arc;

use krilla::text::{GlyphId, KrillaGlyph};
use parley::style::{FontFamily, FontWeight, LineHeight, OverflowWrap, StyleProperty};
use parley::{Alignment, AlignmentOptions, FontContext, Layout, LayoutContext};

use crate::{Align, Fonts, Text};

/// Height of a line over the size of its type.
const LEADING: f32 = 1.22;

/// Glyphs of one font on a line.
#[derive(Debug, Clone)]
pub(crate) struct Run {
    /// Its font by its place among the fonts.
    pub(crate) face: usize,
    pub(crate) size: f32,
    /// From the left edge of the text's box.
    pub(crate) x: f32,
    pub(crate) glyphs: Vec<KrillaGlyph>,
    pub(crate) source: Arc<str>,
}

/// A set line.
#[derive(Debug, Clone)]
pub(crate) struct Line {
    pub(crate) height: f32,
    /// From the top of the line.
    pub(crate) baseline: f32,
    /// Left end of what it says, from the left edge of the text's box, and its width; spaces at its end do not count.
    pub(crate) x: f32,
    pub(crate) width: f32,
    /// Its text begins at its right end.
    pub(crate) is_rtl: bool,
    pub(crate) runs: Vec<Run>,
    source: Arc<str>,
    range: Range<usize>,
}

impl Line {
    /// What it says, in the order in which it is read.
    pub(crate) fn words(&self) -> &str {
        self.source.get(self.range.clone()).unwrap_or_default().trim_end()
    }

    /// The characters for which no font has a glyph, in their order.
    pub(crate) fn without_glyph(&self) -> impl Iterator<Item = char> + '_ {
        let missing = |glyph: &&KrillaGlyph| glyph.glyph_id.to_u32() == 0;
        let runs = self.runs.iter();
        runs.flat_map(move |run| {
            let glyphs = run.glyphs.iter().filter(missing);
            glyphs.flat_map(move |glyph| {
                run.source
                    .get(glyph.text_range.clone())
                    .unwrap_or_default()
                    .chars()
            })
        })
    }
}

/// Sets texts.
pub(crate) struct Setter<'a> {
    fonts: &'a Fonts,
    context: FontContext,
    layouts: LayoutContext<()>,
}

impl<'a> Setter<'a> {
    pub(crate) fn new(fonts: &'a Fonts) -> Self {
        Self {
            fonts,
            context: fonts.context(),
            layouts: LayoutContext::new(),
        }
    }

    /// Sets `text` in lines of `width` points at the most.
    pub(crate) fn set(&mut self, text: &Text, width: f32) -> Vec<Line> {
        let source: Arc<str> = printable(&text.text).into();
        if source.is_empty() {
            return Vec::new();
        }
        let mut builder = self
            .layouts
            .ranged_builder(&mut self.context, &source, 1.0, false);
        let family = FontFamily::List(Cow::Owned(self.fonts.families()));
        builder.push_default(StyleProperty::FontFamily(family));
        builder.push_default(StyleProperty::FontSize(text.size));
        builder.push_default(StyleProperty::LineHeight(LineHeight::FontSizeRelative(LEADING)));
        builder.push_default(StyleProperty::OverflowWrap(OverflowWrap::Anywhere));
        let weight = if text.bold {
            FontWeight::BOLD
        } else {
            FontWeight::NORMAL
        };
        builder.push_default(StyleProperty::FontWeight(weight));
        let mut layout: Layout<()> = builder.build(&*source);
        layout.break_all_lines(Some(width));
        let alignment = match text.align {
            Align::Start => Alignment::Start,
            Align::Middle => Alignment::Center,
            Align::Right => Alignment::Right,
        };
        layout.align(alignment, AlignmentOptions::default());
        let is_rtl = layout.is_rtl();
        layout
            .lines()
            .map(|line| self.line(&line, is_rtl, &source))
            .collect()
    }

    fn line(&self, line: &parley::Line<'_, ()>, is_rtl: bool, source: &Arc<str>) -> Line {
        let metrics = line.metrics();
        let mut x = metrics.offset;
        let mut runs = Vec::new();
        for run in line.runs() {
            let size = run.font_size();
            let start = x;
            let mut glyphs: Vec<KrillaGlyph> = Vec::new();
            for cluster in run.visual_clusters() {
                if cluster.is_ligature_continuation() {
                    if let Some(last) = glyphs.last_mut() {
                        let range = cluster.text_range();
                        last.text_range.start = last.text_range.start.min(range.start);
                        last.text_range.end = last.text_range.end.max(range.end);
                    }
                    continue;
                }
                for glyph in cluster.glyphs() {
                    glyphs.push(KrillaGlyph::new(
                        GlyphId::new(glyph.id),
                        glyph.advance / size,
                        glyph.x / size,
                        glyph.y / size,
                        0.0,
                        cluster.text_range(),
                        None,
                    ));
                    x += glyph.advance;
                }
            }
            runs.push(Run {
                face: self.fonts.face(run.font().data.id(), run.font().index),
                size,
                x: start,
                glyphs,
                source: source.clone(),
            });
        }
        Line {
            height: metrics.line_height,
            baseline: metrics.baseline - metrics.block_min_coord,
            // What hangs past the end hangs at the left of a text that is read from the right.
            x: metrics.offset + if is_rtl { metrics.hanging_advance } else { 0.0 },
            width: metrics.advance - metrics.hanging_advance,
            is_rtl,
            runs,
            source: source.clone(),
            range: line.text_range(),
        }
    }
}

/// The text with what cannot be printed replaced by a visible mark.
fn printable(text: &str) -> String {
    text.chars()
        .map(|character| match character {
            '\n' => '\n',
            '\t' => ' ',
            control if control.is_control() => '\u{fffd}',
            other => other,
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn widest(lines: &[Line]) -> f32 {
        lines
            .iter()
            .flat_map(|line| &line.runs)
            .map(|run| {
                let advance: f32 = run.glyphs.iter().map(|glyph| glyph.x_advance * run.size).sum();
                run.x + advance
            })
            .fold(0.0, f32::max)
    }

    fn set(text: &str, width: f32) -> Vec<Line> {
        let fonts = Fonts::built_in().unwrap();
        Setter::new(&fonts).set(&Text::new(text), width)
    }

    /// A word of 80 letters without a space is broken rather than run out of its column.
    #[test]
    fn nothing_leaves_its_column() {
        for text in [
            "W".repeat(80),
            "שלום".repeat(20),
            "مرحبا".repeat(16),
            "рама ".repeat(16),
        ] {
            let lines = set(&text, 60.0);
            assert!(lines.len() > 1, "{text}");
            assert!(widest(&lines) <= 60.5, "{text}: {}", widest(&lines));
        }
    }

    /// Every character is in the range of some glyph: what the font has no glyph for is its box, not nothing.
    #[test]
    fn nothing_is_lost() {
        for text in [
            "漢字と仮名",
            "a😀b",
            "हैलो",
            "plain",
            "שלום עולם",
            "مرحبا",
            "e\u{301}",
            "\u{1}x",
        ] {
            let lines = set(text, 400.0);
            let source = printable(text);
            let mut covered = vec![false; source.len()];
            for run in lines.iter().flat_map(|line| &line.runs) {
                for glyph in &run.glyphs {
                    covered[glyph.text_range.clone()].fill(true);
                }
            }
            assert!(covered.iter().all(|known| *known), "{text}: {covered:?}");
        }
    }

    /// What the fonts cannot draw is glyph 0, the box of a missing glyph.
    #[test]
    fn what_is_not_in_the_fonts_is_a_box() {
        let ids = |text: &str| -> Vec<u32> {
            set(text, 400.0)
                .iter()
                .flat_map(|line| &line.runs)
                .flat_map(|run| &run.glyphs)
                .map(|glyph| glyph.glyph_id.to_u32())
                .collect()
        };
        assert!(ids("漢").iter().all(|id| *id == 0), "{:?}", ids("漢"));
        for known in ["Ä", "Ж", "Ω", "ש", "م", "ⵣ"] {
            assert!(ids(known).iter().all(|id| *id != 0), "{known}");
        }
    }
}
