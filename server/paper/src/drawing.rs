//! Drawings: shapes in points from their top left corner.

use crate::{Shade, Text};

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

/// A shape. Lengths are points.
#[derive(Debug, Clone, PartialEq)]
pub enum Shape {
    /// A closed polygon.
    Polygon {
        /// Its corners.
        points: Vec<(f32, f32)>,
        /// Its ground.
        shade: Shade,
        /// Width of its outline; 0: none.
        stroke: f32,
    },
    /// A straight line.
    Line {
        /// From here.
        from: (f32, f32),
        /// To here.
        to: (f32, f32),
        /// Its width.
        stroke: f32,
        /// Lengths of dash and gap. `None`: it is solid.
        dash: Option<f32>,
    },
    /// A disc or a ring.
    Circle {
        /// Its centre.
        centre: (f32, f32),
        /// Its radius.
        radius: f32,
        /// Its ground.
        shade: Shade,
        /// Width of its outline; 0: none.
        stroke: f32,
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
        /// The text is white.
        white: bool,
    },
}

impl Shape {
    /// A rectangle from its top left corner.
    pub fn rectangle(x: f32, y: f32, width: f32, height: f32, shade: Shade, stroke: f32) -> Self {
        Self::Polygon {
            points: vec![(x, y), (x + width, y), (x + width, y + height), (x, y + height)],
            shade,
            stroke,
        }
    }
}
