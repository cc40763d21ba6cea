//! Drawings: shapes in points from their top left corner. One drawing is written on pages and as SVG alike.

use crate::text::Setter;
use crate::{Fonts, Shade, Text};

/// A drawing.
#[derive(Debug, Clone, PartialEq)]
pub struct Drawing {
    /// Width, points; more than the body of the page is made smaller as a whole.
    pub width: f32,
    /// Height, points.
    pub height: f32,
    /// Its shapes, the first ones behind.
    pub shapes: Vec<Shape>,
}

/// The grey of lines and letters.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tone {
    /// What is read first.
    Black,
    /// What is read last.
    Grey,
    /// Lines that only guide the eye.
    Faint,
    /// On black ground.
    White,
}

/// A line that is drawn.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stroke {
    /// Its width, points; 0: none.
    pub width: f32,
    /// Its grey.
    pub tone: Tone,
    /// Length of dash and of gap, points. `None`: it is solid.
    pub dash: Option<f32>,
}

impl Stroke {
    /// No line.
    pub const NONE: Self = Self::black(0.0);

    /// A solid black line.
    pub const fn black(width: f32) -> Self {
        Self {
            width,
            tone: Tone::Black,
            dash: None,
        }
    }

    /// A solid line of another grey.
    pub const fn of(width: f32, tone: Tone) -> Self {
        Self {
            width,
            tone,
            dash: None,
        }
    }

    /// The same dashed.
    #[must_use]
    pub const fn dashed(mut self, length: f32) -> Self {
        self.dash = Some(length);
        self
    }
}

/// A shape. Lengths are points.
#[derive(Debug, Clone, PartialEq)]
pub enum Shape {
    /// A closed polygon.
    Polygon {
        /// Its corners.
        points: Vec<(f32, f32)>,
        /// Its ground.
        shade: Shade,
        /// Its outline.
        stroke: Stroke,
    },
    /// A line from point to point.
    Line {
        /// Its points.
        points: Vec<(f32, f32)>,
        /// How it is drawn.
        stroke: Stroke,
    },
    /// A disc or a ring.
    Circle {
        /// Its centre.
        centre: (f32, f32),
        /// Its radius.
        radius: f32,
        /// Its ground.
        shade: Shade,
        /// Its outline.
        stroke: Stroke,
    },
    /// A text in a box of some width, which grows downwards.
    Label {
        /// Left edge of the box.
        x: f32,
        /// Top of the box.
        y: f32,
        /// Its width.
        width: f32,
        /// The text.
        text: Text,
        /// Its grey.
        tone: Tone,
        /// Degrees by which the box is turned about its top left corner, clockwise.
        turn_deg: f32,
    },
}

impl Shape {
    /// A rectangle from its top left corner.
    pub fn rectangle(x: f32, y: f32, width: f32, height: f32, shade: Shade, stroke: Stroke) -> Self {
        Self::Polygon {
            points: vec![(x, y), (x + width, y), (x + width, y + height), (x, y + height)],
            shade,
            stroke,
        }
    }

    /// A straight line.
    pub fn line(from: (f32, f32), to: (f32, f32), stroke: Stroke) -> Self {
        Self::Line {
            points: vec![from, to],
            stroke,
        }
    }

    /// A black text.
    pub fn label(x: f32, y: f32, width: f32, text: Text) -> Self {
        Self::toned(x, y, width, text, Tone::Black)
    }

    /// A text of some grey.
    pub fn toned(x: f32, y: f32, width: f32, text: Text, tone: Tone) -> Self {
        Self::Label {
            x,
            y,
            width,
            text,
            tone,
            turn_deg: 0.0,
        }
    }

    /// The same shape elsewhere.
    #[must_use]
    pub fn moved(mut self, by_x: f32, by_y: f32) -> Self {
        match &mut self {
            Self::Polygon { points, .. } | Self::Line { points, .. } => {
                for (x, y) in points {
                    *x += by_x;
                    *y += by_y;
                }
            }
            Self::Circle { centre, .. } => {
                centre.0 += by_x;
                centre.1 += by_y;
            }
            Self::Label { x, y, .. } => {
                *x += by_x;
                *y += by_y;
            }
        }
        self
    }
}

/// Measures texts before they are drawn.
pub struct Ruler<'f>(Setter<'f>);

impl<'f> Ruler<'f> {
    /// Measures in `fonts`.
    pub fn new(fonts: &'f Fonts) -> Self {
        Self(Setter::new(fonts))
    }

    /// Height of a text in a box of some width, points.
    pub fn height(&mut self, text: &Text, width: f32) -> f32 {
        self.0.set(text, width).iter().map(|line| line.height).sum()
    }

    /// Width of a text that is not broken but where it says so, points.
    pub fn width(&mut self, text: &Text) -> f32 {
        let lines = self.0.set(text, f32::MAX);
        lines.iter().map(|line| line.width).fold(0.0, f32::max)
    }
}
