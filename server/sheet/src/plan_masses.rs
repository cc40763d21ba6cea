//! Where the marks of masses stand on a plan view, so that none hides another.

/// Rounds of moving apart.
const ROUNDS: usize = 200;
/// Gap between two marks.
const GAP: f64 = 1.5;

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
    /// Its area follows the mass, as far as a number fits into it.
    pub(crate) radius: f64,
}

impl Marker {
    /// Whether it had to be moved so far that a line must lead to its place.
    pub(crate) fn is_aside(&self) -> bool {
        (self.x - self.true_x).hypot(self.y - self.true_y) > self.radius / 2.0
    }
}

/// Marks for places on paper with their masses in kilograms, moved apart where they would cover each other.
pub(crate) fn markers(masses: impl Iterator<Item = (f64, f64, f64)>) -> Vec<Marker> {
    let mut markers: Vec<Marker> = masses
        .map(|(x, y, mass_kg)| Marker {
            x,
            y,
            true_x: x,
            true_y: y,
            radius: (1.3 * mass_kg.max(0.0).sqrt()).clamp(8.0, 20.0),
        })
        .collect();
    for _ in 0..ROUNDS {
        if !move_apart(&mut markers) {
            break;
        }
    }
    markers
}

/// Moves every pair that overlaps half of the way apart. Says whether any did.
fn move_apart(markers: &mut [Marker]) -> bool {
    let mut moved = false;
    for second in 1..markers.len() {
        let (before, rest) = markers.split_at_mut(second);
        let Some(other) = rest.first_mut() else {
            continue;
        };
        for (first, one) in before.iter_mut().enumerate() {
            let (dx, dy) = (other.x - one.x, other.y - one.y);
            let apart = dx.hypot(dy);
            let lacking = one.radius + other.radius + GAP - apart;
            if lacking <= 0.01 {
                continue;
            }
            moved = true;
            // Of two at one place the direction follows their numbers, so that the picture is always the same.
            let (along_x, along_y) = if apart > 1e-6 {
                (dx / apart, dy / apart)
            } else {
                let angle = 2.4 * (first + 3 * second) as f64;
                (angle.cos(), angle.sin())
            };
            one.x -= along_x * lacking / 2.0;
            one.y -= along_y * lacking / 2.0;
            other.x += along_x * lacking / 2.0;
            other.y += along_y * lacking / 2.0;
        }
    }
    moved
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn marks_at_one_place_move_apart_and_stay_near_it() {
        let markers = markers((0..12).map(|index| (100.0, 100.0, 20.0 + f64::from(index))));
        for (index, one) in markers.iter().enumerate() {
            for other in &markers[..index] {
                let apart = (one.x - other.x).hypot(one.y - other.y);
                assert!(apart > one.radius + other.radius, "{one:?} {other:?}");
            }
            assert!((one.x - 100.0).hypot(one.y - 100.0) < 80.0, "{one:?}");
        }
        assert!(markers.iter().any(Marker::is_aside));
    }

    #[test]
    fn marks_apart_stay_where_they_are() {
        let markers = markers([(0.0, 0.0, 100.0), (50.0, 0.0, 100.0)].into_iter());
        assert!(
            markers
                .iter()
                .all(|marker| !marker.is_aside() && marker.x == marker.true_x)
        );
        // Four times the mass, twice the radius.
        assert_eq!(markers[0].radius, 13.0);
    }
}
