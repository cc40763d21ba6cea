//! Pages as PDF.

use krilla::Document as Pdf;
use krilla::color::luma;
use krilla::geom::{Path, PathBuilder, Point, Transform};
use krilla::metadata::Metadata;
use krilla::num::NormalizedF32;
use krilla::page::PageSettings;
use krilla::paint::{Fill, FillRule, Stroke, StrokeDash};
use krilla::surface::Surface;

use crate::drawing::{Shape, Stroke as Drawn, Tone};
use crate::layout::{Mark, Page};
use crate::text::{Line, Setter};
use crate::{Align, Document, Fonts, PageSize, PaperError, Shade, Text};

/// Part of a circle's radius at which the handles of a quarter drawn as one cubic curve lie.
const ROUND: f32 = 0.552_285;

/// Greys, 0 black to 255 white.
const BLACK: u8 = 0;
const GREY: u8 = 102;
const GUIDE: u8 = 212;
const LIGHT: u8 = 222;
const FAINT: u8 = 236;
const WHITE: u8 = 255;

pub(crate) fn write(
    document: &Document,
    size: PageSize,
    pages: &[Page],
    fonts: &Fonts,
) -> Result<Vec<u8>, PaperError> {
    let mut pdf = Pdf::new();
    let metadata = Metadata::new()
        .title(document.title.clone())
        .language("en".to_owned());
    pdf.set_metadata(metadata);
    let mark = document.mark.as_ref().map(|mark| {
        let text = Text::new(mark.as_str()).bold().size(130.0).align(Align::Middle);
        Setter::new(fonts).set(&text, 2.0 * size.height)
    });
    for page in pages {
        let settings = PageSettings::from_wh(size.width, size.height).ok_or(PaperError::Size)?;
        let mut sheet = pdf.start_page_with(settings);
        let mut surface = sheet.surface();
        if let Some(lines) = &mark {
            across(&mut surface, lines, size, fonts);
        }
        for mark in &page.marks {
            match mark {
                Mark::Line {
                    x,
                    baseline,
                    line,
                    tone,
                    turn,
                } => {
                    if let Some((degrees, (x, y))) = turn {
                        surface.push_transform(&Transform::from_rotate_at(*degrees, *x, *y));
                    }
                    draw_line(&mut surface, line, (*x, *baseline), grey(*tone), fonts);
                    if turn.is_some() {
                        surface.pop();
                    }
                }
                Mark::Shape { x, y, scale, shape } => {
                    draw_shape(
                        &mut surface,
                        &Place {
                            x: *x,
                            y: *y,
                            scale: *scale,
                        },
                        shape,
                    );
                }
            }
        }
        surface.finish();
        sheet.finish();
    }
    pdf.finish()
        .map_err(|error| PaperError::Pdf(format!("{error:?}")))
}

/// The word across a page, from bottom left to top right.
fn across(surface: &mut Surface<'_>, lines: &[Line], size: PageSize, fonts: &Fonts) {
    let (x, y) = (size.width / 2.0, size.height / 2.0);
    surface.push_transform(&Transform::from_rotate_at(-52.0, x, y));
    for line in lines {
        draw_line(surface, line, (x - size.height, y + 40.0), FAINT, fonts);
    }
    surface.pop();
}

fn draw_line(surface: &mut Surface<'_>, line: &Line, (x, baseline): (f32, f32), grey: u8, fonts: &Fonts) {
    surface.set_stroke(None);
    surface.set_fill(Some(fill(grey)));
    for run in &line.runs {
        let Some(font) = fonts.embedded(run.face) else {
            continue;
        };
        surface.draw_glyphs(
            Point::from_xy(x + run.x, baseline),
            &run.glyphs,
            font,
            &run.source,
            run.size,
            false,
        );
    }
}

fn fill(grey: u8) -> Fill {
    Fill {
        paint: luma::Color::new(grey).into(),
        opacity: NormalizedF32::ONE,
        rule: FillRule::default(),
    }
}

fn ground(shade: Shade) -> Option<Fill> {
    match shade {
        Shade::None => None,
        Shade::White => Some(fill(WHITE)),
        Shade::Light => Some(fill(LIGHT)),
        Shade::Black => Some(fill(BLACK)),
    }
}

fn grey(tone: Tone) -> u8 {
    match tone {
        Tone::Black => BLACK,
        Tone::Grey => GREY,
        Tone::Faint => GUIDE,
        Tone::White => WHITE,
    }
}

fn outline(drawn: Drawn, scale: f32) -> Option<Stroke> {
    (drawn.width > 0.0).then(|| Stroke {
        paint: luma::Color::new(grey(drawn.tone)).into(),
        width: drawn.width * scale,
        dash: drawn.dash.map(|length| StrokeDash {
            array: vec![length * scale, length * scale],
            offset: 0.0,
        }),
        ..Stroke::default()
    })
}

/// Where the corner of a drawing lies on the page.
struct Place {
    x: f32,
    y: f32,
    scale: f32,
}

impl Place {
    fn of(&self, (x, y): (f32, f32)) -> (f32, f32) {
        (self.x + x * self.scale, self.y + y * self.scale)
    }
}

fn draw_shape(surface: &mut Surface<'_>, place: &Place, shape: &Shape) {
    let (path, shade, stroke) = match shape {
        Shape::Polygon {
            points,
            shade,
            stroke,
        } => (polygon(place, points, true), *shade, *stroke),
        Shape::Line { points, stroke } => (polygon(place, points, false), Shade::None, *stroke),
        Shape::Circle {
            centre,
            radius,
            shade,
            stroke,
        } => (circle(place, *centre, *radius), *shade, *stroke),
        // Labels were set as lines.
        Shape::Label { .. } => return,
    };
    let Some(path) = path else {
        return;
    };
    surface.set_fill(ground(shade));
    surface.set_stroke(outline(stroke, place.scale));
    surface.draw_path(&path);
}

fn polygon(place: &Place, points: &[(f32, f32)], closed: bool) -> Option<Path> {
    let mut builder = PathBuilder::new();
    for (index, point) in points.iter().enumerate() {
        let (x, y) = place.of(*point);
        if index == 0 {
            builder.move_to(x, y);
        } else {
            builder.line_to(x, y);
        }
    }
    if closed {
        builder.close();
    }
    builder.finish()
}

fn circle(place: &Place, centre: (f32, f32), radius: f32) -> Option<Path> {
    let (x, y) = place.of(centre);
    let r = radius * place.scale;
    let h = r * ROUND;
    let mut builder = PathBuilder::new();
    builder.move_to(x + r, y);
    builder.cubic_to(x + r, y + h, x + h, y + r, x, y + r);
    builder.cubic_to(x - h, y + r, x - r, y + h, x - r, y);
    builder.cubic_to(x - r, y - h, x - h, y - r, x, y - r);
    builder.cubic_to(x + h, y - r, x + r, y - h, x + r, y);
    builder.close();
    builder.finish()
}
