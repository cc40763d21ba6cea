//! Where the marks of masses stand on a plan view, so that none hides another.

/// Distance of the places at which room is looked for, points.
const STEP: f64 = 3.0;
/// Least distance of two marks, points: each with its number, and its kilograms below.
const APART: (f64, f64) = (30.0, 27.0);
/// Least distance of a mark from a place that is kept free.
const FREE: f64 = 21.0;

/// The mark of a mass on paper.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Marker {
    /// Where it is drawn.
    pub(crate) x: f64,
    /// Where it is drawn.
    pub(crate) y: f64,
    /// Where the mass sits.
    pub(crate) true_x: f64,
    /// Where the mass sits.
    pub(crate) true_y: f64,
}

impl Marker {
    /// Whether it had to be moved so far that a line must lead to its place.
    pub(crate) fn is_aside(&self) -> bool {
        (self.x - self.true_x).hypot(self.y - self.true_y) > 9.0
    }
}

/// The part of the paper that marks may stand on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Field {
    /// Its top left corner.
    pub(crate) from: (f64, f64),
    /// Its bottom right corner.
    pub(crate) to: (f64, f64),
}

impl Field {
    /// Places all over the field, close enough that nobody sees their steps.
    fn grid(&self) -> impl Iterator<Item = (f64, f64)> + '_ {
        let steps = |from: f64, to: f64, half: f64| {
            let count = ((to - from - 2.0 * half) / STEP).max(0.0) as usize;
            (0..=count).map(move |step| from + half + STEP * step as f64)
        };
        steps(self.from.0, self.to.0, APART.0 / 2.0)
            .flat_map(move |x| steps(self.from.1, self.to.1, APART.1 / 2.0).map(move |y| (x, y)))
    }

    /// The nearest place to one at which the whole mark lies inside.
    fn within(&self, x: f64, y: f64) -> (f64, f64) {
        let clamped = |value: f64, from: f64, to: f64, half: f64| {
            if from + half <= to - half {
                value.clamp(from + half, to - half)
            } else {
                f64::midpoint(from, to)
            }
        };
        (
            clamped(x, self.from.0, self.to.0, APART.0 / 2.0),
            clamped(y, self.from.1, self.to.1, APART.1 / 2.0),
        )
    }
}

/// Marks for places on paper, inside `field`: each at the free place nearest to its own, where it covers neither a mark before it nor
/// a place of `kept_free`. Where there is no room left, at its own place.
pub(crate) fn markers(
    places: impl Iterator<Item = (f64, f64)>,
    field: &Field,
    kept_free: &[(f64, f64)],
) -> Vec<Marker> {
    let mut markers: Vec<Marker> = Vec::new();
    for (true_x, true_y) in places {
        let wanted = field.within(true_x, true_y);
        let is_free = |(x, y): (f64, f64)| {
            let clear = |marker: &Marker| (marker.x - x).abs() >= APART.0 || (marker.y - y).abs() >= APART.1;
            markers.iter().all(clear)
                && kept_free
                    .iter()
                    .all(|place| (place.0 - x).hypot(place.1 - y) >= FREE)
        };
        let distance = |(x, y): (f64, f64)| (x - wanted.0).hypot(y - wanted.1);
        let (x, y) = std::iter::once(wanted)
            .chain(field.grid())
            .filter(|place| is_free(*place))
            .min_by(|one, other| distance(*one).total_cmp(&distance(*other)))
            .unwrap_or(wanted);
        markers.push(Marker { x, y, true_x, true_y });
    }
    markers
}

#[cfg(test)]
mod tests {
    use super::*;

    const FIELD: Field = Field {
        from: (0.0, 0.0),
        to: (400.0, 150.0),
    };

    #[test]
    fn marks_at_one_place_move_apart_inside_the_field() {
        let markers = markers((0..12).map(|_| (100.0, 100.0)), &FIELD, &[(110.0, 90.0)]);
        for (index, one) in markers.iter().enumerate() {
            for other in &markers[..index] {
                let (dx, dy) = ((one.x - other.x).abs(), (one.y - other.y).abs());
                assert!(dx > APART.0 - 1.0 || dy > APART.1 - 1.0, "{one:?} {other:?}");
            }
            assert!(
                (0.0..=400.0).contains(&one.x) && (0.0..=150.0).contains(&one.y),
                "{one:?}"
            );
            assert!((one.x - 110.0).hypot(one.y - 90.0) > 10.0, "{one:?}");
        }
        assert!(markers.iter().any(Marker::is_aside));
    }

    #[test]
    fn marks_apart_stay_where_they_are_and_those_outside_come_in() {
        let markers = markers(
            [(50.0, 75.0), (150.0, 75.0), (900.0, -50.0)].into_iter(),
            &FIELD,
            &[],
        );
        assert!(
            markers[..2]
                .iter()
                .all(|marker| !marker.is_aside() && marker.x == marker.true_x)
        );
        assert!(markers[2].is_aside() && markers[2].x < 400.0 && markers[2].y > 0.0);
    }
}
