//! Shapes as the text of a path: no point that the eye would not miss, no letter more than the points need.

use super::sheet::Shape;

/// What is drawn on is so many times finer than what is written: half of a written unit is a quarter of a pixel on
/// a page as wide as it gets.
pub(super) const FINER: i32 = 4;
/// A point nearer than this to the line that would be without it is left out; in units of what is drawn on.
const UNSEEN: f64 = 3.0;

type Point = (i32, i32);

/// The text of a path through these shapes.
pub(super) fn path(shapes: &[Shape]) -> String {
    let mut pen = Pen::default();
    for shape in shapes {
        match shape {
            Shape::Line(points) => pen.through(points),
            Shape::Ring(corners) => {
                pen.through(corners);
                pen.close();
            }
            Shape::Circle { centre, radius } => pen.circle(*centre, *radius),
        }
    }
    pen.text
}

/// In units of what is written.
pub(super) fn written(length: i32) -> i32 {
    (f64::from(length) / f64::from(FINER)).round() as i32
}

/// A pen that goes by steps, which are shorter to write than places.
#[derive(Default)]
struct Pen {
    text: String,
    at: Point,
    start: Point,
    /// The command that further numbers belong to.
    command: char,
}

impl Pen {
    fn through(&mut self, points: &[Point]) {
        let mut points = thinned(points)
            .into_iter()
            .map(|(x, y)| (written(x), written(y)));
        let Some(first) = points.next() else {
            return;
        };
        self.move_to(first);
        for point in points {
            self.line_to(point);
        }
    }

    fn move_to(&mut self, (x, y): Point) {
        if self.text.is_empty() {
            self.say('M', &[x, y]);
        } else {
            self.say('m', &[x - self.at.0, y - self.at.1]);
        }
        self.at = (x, y);
        self.start = self.at;
        // A number after the place of a move would be a step, but moves that follow each other are few.
        self.command = ' ';
    }

    fn line_to(&mut self, (x, y): Point) {
        match (x - self.at.0, y - self.at.1) {
            (0, 0) => {}
            (across, 0) => self.say('h', &[across]),
            (0, down) => self.say('v', &[down]),
            (across, down) => self.say('l', &[across, down]),
        }
        self.at = (x, y);
    }

    fn close(&mut self) {
        self.text.push('z');
        self.at = self.start;
        self.command = 'z';
    }

    /// Two halves, from the left end and back to it.
    fn circle(&mut self, (x, y): Point, radius: u32) {
        let radius = written(radius as i32);
        self.move_to((written(x) - radius, written(y)));
        for across in [2 * radius, -2 * radius] {
            self.say('a', &[radius, radius, 0, 1, 0, across, 0]);
        }
        self.close();
    }

    fn say(&mut self, command: char, numbers: &[i32]) {
        let mut goes_on = command == self.command;
        if !goes_on {
            self.text.push(command);
            self.command = command;
        }
        for number in numbers {
            if goes_on && *number >= 0 {
                self.text.push(' ');
            }
            self.text.push_str(&number.to_string());
            goes_on = true;
        }
    }
}

/// Without the points that lie on the line between others, or so near that nobody sees it (Ramer 1972, Douglas and
/// Peucker 1973).
fn thinned(points: &[Point]) -> Vec<Point> {
    let mut kept = vec![true; points.len()];
    let mut open = vec![(0, points.len().saturating_sub(1))];
    while let Some((from, to)) = open.pop() {
        match furthest(points, from, to) {
            Some((place, distance)) if distance > UNSEEN => {
                open.extend([(from, place), (place, to)])
            }
            _ => kept
                .iter_mut()
                .take(to)
                .skip(from + 1)
                .for_each(|kept| *kept = false),
        }
    }
    let both = points.iter().zip(kept);
    both.filter_map(|(point, kept)| kept.then_some(*point))
        .collect()
}

/// The point between these two that lies furthest from the line between them, and how far.
fn furthest(points: &[Point], from: usize, to: usize) -> Option<(usize, f64)> {
    let (start, end) = (points.get(from)?, points.get(to)?);
    let between = points.iter().enumerate().take(to).skip(from + 1);
    let far = between.map(|(place, point)| (place, distance(*point, *start, *end)));
    far.max_by(|a, b| a.1.total_cmp(&b.1))
}

/// From a point to the line between two others.
fn distance(point: Point, start: Point, end: Point) -> f64 {
    let from_start = |to: Point| (f64::from(to.0 - start.0), f64::from(to.1 - start.1));
    let ((x, y), (across, down)) = (from_start(point), from_start(end));
    let length = across.hypot(down);
    let along = if length > 0.0 {
        ((x * across + y * down) / length.powi(2)).clamp(0.0, 1.0)
    } else {
        0.0
    };
    (x - along * across).hypot(y - along * down)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_path_goes_by_steps_and_writes_no_letter_twice() {
        let lines = [
            Shape::Line(vec![
                (4, 8),
                (44, 8),
                (44, 48),
                (400, 44),
                (440, 0),
                (480, -80),
            ]),
            Shape::Ring(vec![(40, 40), (80, 40), (60, 80)]),
            Shape::Circle {
                centre: (100, 100),
                radius: 20,
            },
        ];
        assert_eq!(
            path(&lines),
            "M1 2h10v10l89-1 10-11 10-20m-110 30h10l-5 10zm10 15a5 5 0 1 0 10 0 5 5 0 1 0-10 0z"
        );
    }

    #[test]
    fn points_that_nobody_would_miss_are_left_out_and_no_others() {
        let curve: Vec<Point> = (0..=720)
            .map(|step| (10 * step, (900.0 * (f64::from(step) / 80.0).sin()) as i32))
            .collect();
        let thin = thinned(&curve);
        assert!(thin.len() < curve.len() / 4, "{}", thin.len());
        assert_eq!((thin.first(), thin.last()), (curve.first(), curve.last()));
        for point in &curve {
            let lines = thin.iter().zip(thin.iter().skip(1));
            let nearest = lines.map(|(from, to)| distance(*point, *from, *to));
            assert!(nearest.fold(f64::INFINITY, f64::min) <= UNSEEN, "{point:?}");
        }
    }
}
