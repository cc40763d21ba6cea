//! Where the marks of masses stand on a plan view, so that none hides another.

/// Rounds of moving apart.
const ROUNDS: usize = 400;
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

/// Marks for places on paper, inside `field`, moved apart where they would cover each other or a place of `kept_free`.
pub(crate) fn markers(
    places: impl Iterator<Item = (f64, f64)>,
    field: &Field,
    kept_free: &[(f64, f64)],
) -> Vec<Marker> {
    let mut markers: Vec<Marker> = places
        .map(|(true_x, true_y)| {
            let (x, y) = field.within(true_x, true_y);
            Marker { x, y, true_x, true_y }
        })
        .collect();
    for _ in 0..ROUNDS {
        let mut moved = move_apart(&mut markers);
        for (index, marker) in markers.iter_mut().enumerate() {
            for place in kept_free {
                moved |= move_off(marker, index, *place);
            }
            (marker.x, marker.y) = field.within(marker.x, marker.y);
        }
        if !moved {
            break;
        }
    }
    markers
}

/// Moves a mark off a place. Says whether it had to.
fn move_off(marker: &mut Marker, index: usize, (x, y): (f64, f64)) -> bool {
    let (dx, dy) = (marker.x - x, marker.y - y);
    let apart = dx.hypot(dy);
    if apart >= FREE - 0.01 {
        return false;
    }
    let (along_x, along_y) = direction(dx, dy, index);
    marker.x = x + along_x * FREE;
    marker.y = y + along_y * FREE;
    true
}

/// The direction of a distance. Of none it follows a number, so that the picture is always the same.
fn direction(dx: f64, dy: f64, number: usize) -> (f64, f64) {
    let apart = dx.hypot(dy);
    if apart > 1e-6 {
        return (dx / apart, dy / apart);
    }
    let angle = 2.4 * (1 + number) as f64;
    (angle.cos(), angle.sin())
}

/// Moves every pair that overlaps apart, along the axis where less is lacking. Says whether any did.
fn move_apart(markers: &mut [Marker]) -> bool {
    let mut moved = false;
    for second in 1..markers.len() {
        let (before, rest) = markers.split_at_mut(second);
        let Some(other) = rest.first_mut() else {
            continue;
        };
        for (first, one) in before.iter_mut().enumerate() {
            let (dx, dy) = (other.x - one.x, other.y - one.y);
            let lacking = (APART.0 - dx.abs(), APART.1 - dy.abs());
            if lacking.0 <= 0.01 || lacking.1 <= 0.01 {
                continue;
            }
            moved = true;
            let (along_x, along_y) = direction(dx, dy, first + 3 * second);
            // A little more than half each, so that crowds come to rest.
            if lacking.0 < lacking.1 {
                let by = along_x.signum() * lacking.0 * 0.52;
                one.x -= by;
                other.x += by;
            } else {
                let by = along_y.signum() * lacking.1 * 0.52;
                one.y -= by;
                other.y += by;
            }
        }
    }
    moved
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
