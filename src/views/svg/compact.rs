//! The same picture in fewer letters: a fleet's report has hundreds of pictures.

/// Without what every element inherits or the style sheet says, like shapes next to each other as one.
pub(super) fn compact(body: &str, inherited_width: u32) -> String {
    let plain = body
        .replace(" opacity=\"1\"", "")
        .replace(" fill=\"none\"", "")
        .replace(" text-anchor=\"start\"", "")
        .replace(" stroke=\"none\" stroke-width=\"1\"", "")
        .replace(" stroke=\"none\"", "")
        .replace(&format!(" stroke-width=\"{inherited_width}\""), "")
        .replace(" \"/>", "\"/>")
        .replace('\n', "");
    joined(&without_fonts(&plain))
}

/// The style sheet gives text its font and its size, a larger one on a phone.
fn without_fonts(svg: &str) -> String {
    let mut parts = svg.split(" font-family=\"");
    let first = parts.next().unwrap_or_default().to_string();
    parts.fold(first, |kept, part| {
        let after_size = part.splitn(4, '"').nth(3);
        kept + after_size.unwrap_or(part)
    })
}

/// Lines, or areas, of one look that follow each other become one path.
fn joined(svg: &str) -> String {
    let mut whole = String::new();
    let mut open: Option<Shape<'_>> = None;
    for element in svg.split_inclusive('>') {
        let shape = Shape::of(element);
        let alike = |open: &Shape<'_>| shape.as_ref().is_some_and(|it| it.looks_like(open));
        if !open.as_ref().is_some_and(alike) {
            if open.take().is_some() {
                whole.push_str("\"/>");
            }
            if let Some(shape) = &shape {
                whole.push_str(&format!("<path{} d=\"", shape.look));
            }
        }
        match shape {
            Some(shape) => {
                whole.push_str(&format!("{}{}", steps(shape.points), shape.end));
                open = Some(shape);
            }
            None => whole.push_str(element),
        }
    }
    whole
}

/// From point to point by steps, which are shorter than places; steps that go on level are one.
fn steps(points: &str) -> String {
    let number = |part: &str| part.parse::<i32>().ok();
    let place = |point: &str| {
        let (across, down) = point.split_once(',')?;
        Some((number(across)?, number(down)?))
    };
    let Some(places) = points.split(' ').map(place).collect::<Option<Vec<_>>>() else {
        return format!("M{points}");
    };
    let mut steps: Vec<(i32, i32)> = Vec::new();
    for (from, to) in places.iter().zip(places.iter().skip(1)) {
        let step = (to.0 - from.0, to.1 - from.1);
        match steps.last_mut() {
            Some(last) if (last.1, step.1) == (0, 0) && last.0.signum() == step.0.signum() => {
                last.0 += step.0;
            }
            _ => steps.push(step),
        }
    }
    let mut path = places
        .first()
        .map_or(String::new(), |(across, down)| format!("M{across},{down}"));
    for (number, (across, down)) in steps.iter().enumerate() {
        path.push_str(if number == 0 {
            "l"
        } else if *across < 0 {
            ""
        } else {
            " "
        });
        path.push_str(&format!(
            "{across}{}{down}",
            if *down < 0 { "" } else { "," }
        ));
    }
    path
}

/// A line or an area.
struct Shape<'a> {
    look: &'a str,
    points: &'a str,
    /// An area is closed.
    end: &'static str,
}

impl<'a> Shape<'a> {
    fn of(element: &'a str) -> Option<Self> {
        let line = element.strip_prefix("<polyline").map(|rest| (rest, ""));
        let area = || element.strip_prefix("<polygon").map(|rest| (rest, "Z"));
        let (rest, end) = line.or_else(area)?;
        let (look, points) = rest.split_once(" points=\"")?;
        let points = points.strip_suffix("\"/>")?;
        Some(Self { look, points, end })
    }

    fn looks_like(&self, other: &Self) -> bool {
        // Areas that shine through each other would not where they are one.
        (self.look, self.end) == (other.look, other.end) && !self.look.contains("opacity")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn like_shapes_in_a_row_are_one_path_and_others_stay_apart() {
        let drawn = "<polyline fill=\"none\" opacity=\"1\" stroke=\"#1\" stroke-width=\"6\" points=\"1,2 3,4 5,4 8,3 \"/>\n\
                     <polyline fill=\"none\" opacity=\"1\" stroke=\"#1\" stroke-width=\"6\" points=\"5,6 7,8 \"/>\n\
                     <polygon opacity=\"0.2\" fill=\"#1\" points=\"1,1 2,2 3,3 \"/>\n\
                     <polygon opacity=\"0.2\" fill=\"#1\" points=\"1,1 2,2 4,4 \"/>\n\
                     <text x=\"1\" font-family=\"sans-serif\" font-size=\"12\" fill=\"#1\">\nhours\n</text>\n</svg>";
        let expected = "<path stroke=\"#1\" d=\"M1,2l2,2 2,0 3-1M5,6l2,2\"/>\
                        <path opacity=\"0.2\" fill=\"#1\" d=\"M1,1l1,1 1,1Z\"/>\
                        <path opacity=\"0.2\" fill=\"#1\" d=\"M1,1l1,1 2,2Z\"/>\
                        <text x=\"1\" fill=\"#1\">hours</text></svg>";
        assert_eq!(compact(drawn, 6), expected);
    }
}
