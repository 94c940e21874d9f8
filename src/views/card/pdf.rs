//! Pages as PDF (ISO 32000-1): text that can be selected and searched, in letters that come with the file.
//!
//! Written with pdf-writer and subsetter: 13 s of processor time to build them and what they need, where a library
//! that also lays out (krilla 0.8, without pictures) took four minutes on the same machine. Cards of two machines
//! have about 25 kB.

use super::fonts::Weight;
use super::page::{Anchor, Item, Page, Paper, Shade, Shape, Text};
use super::{CardError, MARK};
use miniz_oxide::deflate::compress_to_vec_zlib;
use pdf_writer::types::{CidFontType, FontFlags, SystemInfo, UnicodeCmap};
use pdf_writer::{Content, Filter, Finish, Name, Pdf, Rect, Ref, Str, TextStr};
use std::collections::BTreeMap;
use subsetter::GlyphRemapper;
use ttf_parser::{Face, GlyphId};

/// Points in a millimetre: 72 in 25.4 (ISO 32000-1, 8.3.2.3).
const POINTS: f32 = 72.0 / 25.4;
/// How hard to press streams, of 0 to 10.
const PRESS: u8 = 6;
/// Glyph widths in a PDF are in thousandths of the size (ISO 32000-1, 9.2.4).
const THOUSAND: f32 = 1000.0;
const CATALOG: Ref = Ref::new(1);
const TREE: Ref = Ref::new(2);
const INFORMATION: Ref = Ref::new(3);

/// A file of these pages.
pub(super) fn pdf(title: &str, paper: Paper, pages: &[Page]) -> Result<Vec<u8>, CardError> {
    let mut fonts: Vec<Font> = Weight::ALL
        .into_iter()
        .map(Font::new)
        .collect::<Result<_, _>>()?;
    let contents: Vec<Vec<u8>> = pages
        .iter()
        .map(|page| content(page, paper, &mut fonts))
        .collect();
    let mut pdf = Pdf::new();
    let mut next = Ref::new(INFORMATION.get() + 1);
    write_information(&mut pdf, title);
    let fonts: Vec<(&str, Ref)> = fonts
        .iter()
        .map(|font| Ok((font.short, font.write(&mut pdf, &mut next)?)))
        .collect::<Result<_, CardError>>()?;
    let mut kids = Vec::new();
    for content in contents {
        kids.push(write_page(&mut pdf, &mut next, paper, &content, &fonts));
    }
    pdf.pages(TREE)
        .count(i32::try_from(kids.len()).unwrap_or(i32::MAX))
        .kids(kids);
    Ok(pdf.finish())
}

fn write_information(pdf: &mut Pdf, title: &str) {
    let mut catalog = pdf.catalog(CATALOG);
    catalog.pages(TREE).lang(TextStr("en"));
    catalog.viewer_preferences().display_doc_title(true);
    catalog.finish();
    let mut information = pdf.document_info(INFORMATION);
    information.title(TextStr(title)).producer(TextStr(MARK));
}

fn write_page(
    pdf: &mut Pdf,
    next: &mut Ref,
    paper: Paper,
    content: &[u8],
    fonts: &[(&str, Ref)],
) -> Ref {
    let (id, stream) = (next.bump(), next.bump());
    let (width, height) = points(paper);
    let mut page = pdf.page(id);
    page.parent(TREE)
        .media_box(Rect::new(0.0, 0.0, width, height))
        .contents(stream);
    let mut resources = page.resources();
    let mut named = resources.fonts();
    for (name, font) in fonts {
        named.pair(Name(name.as_bytes()), *font);
    }
    named.finish();
    resources.finish();
    page.finish();
    write_stream(pdf, stream, content);
    id
}

fn write_stream(pdf: &mut Pdf, id: Ref, bytes: &[u8]) {
    let pressed = compress_to_vec_zlib(bytes, PRESS);
    pdf.stream(id, &pressed).filter(Filter::FlateDecode);
}

fn points(paper: Paper) -> (f32, f32) {
    let (width, height) = paper.size();
    (width as f32 * POINTS, height as f32 * POINTS)
}

/// Draws in millimetres from the upper left corner, as pages are laid out.
fn content(page: &Page, paper: Paper, fonts: &mut [Font]) -> Vec<u8> {
    let mut content = Content::new();
    let (_, height) = points(paper);
    content.transform([POINTS, 0.0, 0.0, -POINTS, 0.0, height]);
    for item in &page.items {
        match item {
            Item::Text(text) => draw_text(&mut content, text, fonts),
            Item::Drawing { shapes, .. } => {
                for shape in shapes {
                    draw_shape(&mut content, shape);
                }
            }
        }
    }
    content.finish().to_vec()
}

fn grey(shade: Shade) -> f32 {
    shade.grey() as f32
}

fn draw_shape(content: &mut Content, shape: &Shape) {
    let Some(((x, y), rest)) = shape.points.split_first() else {
        return;
    };
    let dash: &[f32] = if shape.dashed { &[1.2, 0.9] } else { &[] };
    content.set_dash_pattern(dash.iter().copied(), 0.0);
    if let Some(fill) = shape.fill {
        content.set_fill_gray(grey(fill));
    }
    if let Some((width, shade)) = shape.line {
        content
            .set_line_width(width as f32)
            .set_stroke_gray(grey(shade));
    }
    content.move_to(*x as f32, *y as f32);
    for (x, y) in rest {
        content.line_to(*x as f32, *y as f32);
    }
    if shape.closed {
        content.close_path();
    }
    match (shape.fill, shape.line) {
        (Some(_), Some(_)) => content.fill_nonzero_and_stroke(),
        (Some(_), None) => content.fill_nonzero(),
        (None, Some(_)) => content.stroke(),
        (None, None) => content.end_path(),
    };
}

fn draw_text(content: &mut Content, text: &Text, fonts: &mut [Font]) {
    let style = &text.style;
    let Some(font) = fonts.iter_mut().find(|font| font.weight == style.weight) else {
        return;
    };
    content.set_fill_gray(grey(style.shade)).begin_text();
    content.set_font(Name(font.short.as_bytes()), style.size as f32);
    for (number, line) in text.lines.iter().enumerate() {
        let width = style.weight.width(line, style.size);
        let back = match style.anchor {
            Anchor::Left => 0.0,
            Anchor::Right => width,
        };
        let (x, y) = (
            text.at.0 - back,
            text.at.1 + number as f64 * style.leading(),
        );
        content.set_text_matrix([1.0, 0.0, 0.0, -1.0, x as f32, y as f32]);
        let strange = !style.weight.missing(line).is_empty();
        if strange {
            // Who copies or hears the text still gets the letters that the font cannot draw.
            let mut marked = content.begin_marked_content_with_properties(Name(b"Span"));
            marked.properties().actual_text(TextStr(line));
        }
        content.show(Str(&font.glyphs(line)));
        if strange {
            content.end_marked_content();
        }
    }
    content.end_text();
}

/// A font, and the glyphs of it that are used.
struct Font {
    weight: Weight,
    face: &'static Face<'static>,
    /// Its name on a page.
    short: &'static str,
    used: GlyphRemapper,
    letters: BTreeMap<u16, char>,
}

impl Font {
    fn new(weight: Weight) -> Result<Self, CardError> {
        let face = weight.face().ok_or(CardError::Font {
            name: weight.name(),
        })?;
        Ok(Self {
            weight,
            face,
            short: match weight {
                Weight::Regular => "F0",
                Weight::Bold => "F1",
            },
            used: GlyphRemapper::new(),
            letters: BTreeMap::new(),
        })
    }

    /// A text in the codes of the cut-down font, two bytes a letter.
    fn glyphs(&mut self, text: &str) -> Vec<u8> {
        let mut codes = Vec::with_capacity(2 * text.len());
        for letter in text.chars() {
            let glyph = self.face.glyph_index(letter);
            let code = self.used.remap(glyph.map_or(0, |glyph| glyph.0));
            if glyph.is_some() {
                self.letters.insert(code, letter);
            }
            codes.extend(code.to_be_bytes());
        }
        codes
    }

    fn thousandths(&self, units: impl Into<f32>) -> f32 {
        units.into() * THOUSAND / f32::from(self.face.units_per_em())
    }

    fn write(&self, pdf: &mut Pdf, next: &mut Ref) -> Result<Ref, CardError> {
        let [id, cid, descriptor, letters, file] = [(); 5].map(|()| next.bump());
        let name = format!("KEENSP+{}", self.weight.name());
        let name = Name(name.as_bytes());
        pdf.type0_font(id)
            .base_font(name)
            .encoding_predefined(Name(b"Identity-H"))
            .descendant_font(cid)
            .to_unicode(letters);
        self.write_cid_font(pdf, (cid, descriptor), name);
        self.write_descriptor(pdf, (descriptor, file), name);
        write_stream(pdf, letters, &self.unicode_map());
        let cut =
            subsetter::subset(self.weight.data(), 0, &self.used).map_err(|_| CardError::Font {
                name: self.weight.name(),
            })?;
        let pressed = compress_to_vec_zlib(&cut, PRESS);
        let mut stream = pdf.stream(file, &pressed);
        stream.filter(Filter::FlateDecode);
        let length = i32::try_from(cut.len()).unwrap_or(i32::MAX);
        stream.pair(Name(b"Length1"), length);
        stream.finish();
        Ok(id)
    }

    fn write_cid_font(&self, pdf: &mut Pdf, (cid, descriptor): (Ref, Ref), name: Name<'_>) {
        let widths = self.used.remapped_gids().map(|glyph| {
            let advance = self.face.glyph_hor_advance(GlyphId(glyph)).unwrap_or(0);
            self.thousandths(advance)
        });
        let mut font = pdf.cid_font(cid);
        font.subtype(CidFontType::Type2)
            .base_font(name)
            .system_info(IDENTITY)
            .font_descriptor(descriptor)
            .default_width(0.0)
            .cid_to_gid_map_predefined(Name(b"Identity"));
        font.widths().consecutive(0, widths);
    }

    fn write_descriptor(&self, pdf: &mut Pdf, (descriptor, file): (Ref, Ref), name: Name<'_>) {
        let face = self.face;
        let around = face.global_bounding_box();
        let side = |units: i16| self.thousandths(units);
        let cap = face.capital_height().unwrap_or(face.ascender());
        pdf.font_descriptor(descriptor)
            .name(name)
            .flags(FontFlags::SYMBOLIC)
            .bbox(Rect::new(
                side(around.x_min),
                side(around.y_min),
                side(around.x_max),
                side(around.y_max),
            ))
            .italic_angle(0.0)
            .ascent(side(face.ascender()))
            .descent(side(face.descender()))
            .cap_height(side(cap))
            .stem_v(80.0)
            .font_file2(file);
    }

    fn unicode_map(&self) -> Vec<u8> {
        let mut map = UnicodeCmap::new(Name(b"Letters"), IDENTITY);
        for (code, letter) in &self.letters {
            map.pair(*code, *letter);
        }
        map.finish().to_vec()
    }
}

const IDENTITY: SystemInfo<'static> = SystemInfo {
    registry: Str(b"Adobe"),
    ordering: Str(b"Identity"),
    supplement: 0,
};
