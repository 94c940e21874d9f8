//! Pages as HTML: real headings and text, each where it was laid out, over pictures as SVG. Light only, as
//! paper is.

use super::MARK;
use super::page::{Anchor, Item, Page, Paper, Role, Shade, Shape, Text};
use crate::views::format::significant;
use maud::{DOCTYPE, Markup, PreEscaped, html};
use std::fmt::Write;

/// Height of the letters above the baseline and depth below, over the size: of DejaVu Sans, from its hhea
/// table. Other letters stand a little higher or lower.
const ASCENT: f64 = 1901.0 / 2048.0;
const DESCENT: f64 = 483.0 / 2048.0;

/// A file of these pages.
pub(super) fn page(title: &str, paper: Paper, pages: &[Page]) -> String {
    let (width, height) = paper.size();
    let sheet = format!("@page{{size:{width}mm {height}mm;margin:0}}");
    let size = format!("width:{width}mm;height:{height}mm");
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="generator" content=(MARK);
                meta name="color-scheme" content="only light";
                title { (title) }
                style { (PreEscaped(sheet)) (PreEscaped(include_str!("card.css"))) }
            }
            body {
                @for page in pages {
                    section.page aria-label=(page.title) style=(size) {
                        @for line in lines(&page.items) {
                            @if line.len() > 1 {
                                div class=(row(line)) { @for item in line { (drawn(item, paper)) } }
                            } @else {
                                @for item in line { (drawn(item, paper)) }
                            }
                        }
                    }
                }
            }
        }
    }
    .into_string()
}

/// Items in their order; texts that stand beside each other together, as a narrow screen shows them.
fn lines(items: &[Item]) -> impl Iterator<Item = &[Item]> {
    items.chunk_by(|one, other| match (one, other) {
        (Item::Text(one), Item::Text(other)) => (one.at.1 - other.at.1).abs() < 0.01,
        _ => false,
    })
}

/// Texts that stand beside each other; a mark keeps what it marks beside it.
fn row(line: &[Item]) -> &'static str {
    let is_mark = |text: &Text| matches!(&text.lines[..], [one] if one == "!");
    match line.first() {
        Some(Item::Text(first)) if is_mark(first) => "row marked",
        _ => "row",
    }
}

fn drawn(item: &Item, paper: Paper) -> Markup {
    match item {
        Item::Text(text) => written(text),
        Item::Drawing { words, shapes } => {
            let paths = PreEscaped(shapes.iter().map(path).collect::<String>());
            match words {
                Some(words) => {
                    let [left, top, width, height] = around(shapes).map(number);
                    let view = format!("{left} {top} {width} {height}");
                    let css =
                        format!("left:{left}mm;top:{top}mm;width:{width}mm;height:{height}mm");
                    html! { svg role="img" aria-label=(words) viewBox=(view) style=(css) { (paths) } }
                }
                None => {
                    let (width, height) = paper.size();
                    let view = format!("0 0 {width} {height}");
                    html! { svg aria-hidden="true" viewBox=(view) { (paths) } }
                }
            }
        }
    }
}

/// Left, top, width and height of the area that shapes take, their lines included.
fn around(shapes: &[Shape]) -> [f64; 4] {
    let mut ends = [
        f64::INFINITY,
        f64::INFINITY,
        f64::NEG_INFINITY,
        f64::NEG_INFINITY,
    ];
    for shape in shapes {
        let room = shape.line.map_or(0.0, |(width, _)| width);
        for (x, y) in &shape.points {
            ends[0] = ends[0].min(x - room);
            ends[1] = ends[1].min(y - room);
            ends[2] = ends[2].max(x + room);
            ends[3] = ends[3].max(y + room);
        }
    }
    let [left, top, right, bottom] = ends;
    [left, top, right - left, bottom - top]
}

fn written(text: &Text) -> Markup {
    let style = &text.style;
    let leading = style.leading();
    // The line box is laid around the letters: half of what is left over goes above them.
    let above = 0.5 * (leading - (ASCENT + DESCENT) * style.size) + ASCENT * style.size;
    let mut css = format!(
        "left:{}mm;top:{}mm;--size:{}mm;--line:{}mm",
        number(text.at.0),
        number(text.at.1 - above),
        number(style.size),
        number(leading)
    );
    if style.shade == Shade::Paper {
        css.push_str(";color:#fff");
    }
    let class = match style.anchor {
        Anchor::Left => None,
        Anchor::Right => Some("r"),
    };
    let bold = (style.weight == super::fonts::Weight::Bold).then_some("b");
    let for_pen = matches!(style.role, Role::ForPen | Role::HeadingForPen).then_some("pen");
    let class: Vec<&str> = class.into_iter().chain(bold).chain(for_pen).collect();
    let class = class.join(" ");
    let lines = html! {
        @for (number, line) in text.lines.iter().enumerate() {
            // The blank parts the lines where a narrow screen runs them together.
            @if number > 0 { " " br; }
            (line)
        }
    };
    match style.role {
        Role::Title => html! { h1 class=(class) style=(css) { (lines) } },
        Role::Heading | Role::HeadingForPen => html! { h2 class=(class) style=(css) { (lines) } },
        Role::Text | Role::ForPen => html! { p class=(class) style=(css) { (lines) } },
    }
}

fn path(shape: &Shape) -> String {
    let mut along = String::new();
    for (place, (x, y)) in shape.points.iter().enumerate() {
        let letter = if place == 0 { 'M' } else { 'L' };
        // Writing to a string cannot fail.
        let _ = write!(along, "{letter}{} {}", number(*x), number(*y));
    }
    if shape.closed {
        along.push('Z');
    }
    let fill = shape.fill.map_or("none".to_string(), colour);
    let line = shape.line.map_or(String::new(), |(width, shade)| {
        let dashes = if shape.dashed {
            " stroke-dasharray=\"1.2 .9\""
        } else {
            ""
        };
        format!(
            " stroke=\"{}\" stroke-width=\"{}\"{dashes}",
            colour(shade),
            number(width)
        )
    });
    format!("<path d=\"{along}\" fill=\"{fill}\"{line}/>")
}

fn colour(shade: Shade) -> String {
    let level = (255.0 * shade.grey()).round() as u8;
    format!("#{level:02x}{level:02x}{level:02x}")
}

fn number(value: f64) -> String {
    let text = if value.abs() < 0.001 {
        "0".to_string()
    } else {
        significant(value, 5)
    };
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_string()
    } else {
        text
    }
}
