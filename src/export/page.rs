//! The paper a picture is drawn on: its scale, its caption, and how lines and numbers are written as SVG.

use crate::geom::V2;
use std::fmt::Write;

/// Width of visible lines in millimetres, one of the widths of ISO 128-2.
pub(super) const WIDE: f64 = 0.7;

/// Width of hidden lines: half of that (ISO 128-2); their dashes are 12 widths long and 3 apart.
pub(super) const NARROW: f64 = 0.35;

/// White space around the picture in millimetres.
pub(super) const MARGIN: f64 = 5.0;

/// Height of letters in millimetres, one of those of ISO 3098-1.
pub(super) const LETTERING: f64 = 3.5;

/// No picture is larger than this in millimetres: it fits a sheet of A4 with some border.
pub(super) const LARGEST: f64 = 170.0;

/// Standard scales (ISO 5455), largest first.
pub(super) const SCALES: [(f64, &str); 16] = [
    (50.0, "50:1"),
    (20.0, "20:1"),
    (10.0, "10:1"),
    (5.0, "5:1"),
    (2.0, "2:1"),
    (1.0, "1:1"),
    (0.5, "1:2"),
    (0.2, "1:5"),
    (0.1, "1:10"),
    (0.05, "1:20"),
    (0.02, "1:50"),
    (0.01, "1:100"),
    (0.005, "1:200"),
    (0.002, "1:500"),
    (0.001, "1:1000"),
    (0.0005, "1:2000"),
];

/// The paper a picture is drawn on.
pub(super) struct Page {
    pub(super) width: f64,
    /// Without the caption.
    pub(super) height: f64,
    pub(super) scale: (f64, &'static str),
    /// The left and the upper end of the solid in the picture, unscaled.
    corner: V2,
    /// Lines of text below the picture.
    caption: Vec<String>,
}

impl Page {
    /// The paper for a picture with the given points, unscaled.
    pub(super) fn around(images: impl Iterator<Item = V2> + Clone, caption: Option<&str>) -> Self {
        Self::within(LARGEST, images, caption)
    }

    /// Likewise, with the solid no wider and no higher than `largest` millimetres on paper.
    pub(super) fn within(
        largest: f64,
        images: impl Iterator<Item = V2> + Clone,
        caption: Option<&str>,
    ) -> Self {
        let lo = images
            .clone()
            .fold(V2::repeat(f64::MAX), |lo, p| lo.inf(&p));
        let hi = images.fold(V2::repeat(f64::MIN), |hi, p| hi.sup(&p));
        let size = hi - lo;
        let fits = |scale: &&(f64, &str)| size.max() * scale.0 <= largest;
        let scale = *SCALES
            .iter()
            .find(fits)
            .unwrap_or(&SCALES[SCALES.len() - 1]);
        let width = size.x * scale.0 + 2.0 * MARGIN;
        Page {
            width,
            height: size.y * scale.0 + 2.0 * MARGIN,
            scale,
            corner: V2::new(lo.x, hi.y),
            caption: caption.map_or(Vec::new(), |text| wrapped(text, width)),
        }
    }

    /// Where a point of the picture is on paper, in thousandths of a millimetre: x right, y down.
    #[allow(clippy::cast_possible_truncation, reason = "rounded; a page is small")]
    pub(super) fn place(&self, point: V2) -> [i64; 2] {
        let from_corner = [point.x - self.corner.x, self.corner.y - point.y];
        from_corner.map(|x| ((x * self.scale.0 + MARGIN) * 1000.0).round() as i64)
    }
}

/// The opening tag: size on paper, and one unit a millimetre.
pub(super) fn open(svg: &mut String, page: &Page) {
    let height = page.height + LETTERING * 1.5 * count(page.caption.len());
    let (w, h) = (number(page.width), number(height));
    line(
        svg,
        0,
        &format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{w}mm\" height=\"{h}mm\" viewBox=\"0 0 {w} {h}\" \
         role=\"img\" aria-labelledby=\"title desc\">"
        ),
    );
}

/// The caption, line by line below the picture.
pub(super) fn write_caption(svg: &mut String, page: &Page) {
    for (k, text) in page.caption.iter().enumerate() {
        let y = number(page.height + LETTERING * (0.5 + 1.5 * count(k)));
        line(
            svg,
            1,
            &format!(
                "<text x=\"{MARGIN}\" y=\"{y}\" font-family=\"sans-serif\" font-size=\"{LETTERING}\">{}</text>",
                escaped(text)
            ),
        );
    }
}

/// How lines of a width are drawn; round ends close the corners.
pub(super) fn stroke(width: f64, dashes: &str) -> String {
    format!(
        "fill=\"none\" stroke=\"black\" stroke-width=\"{width}\" stroke-linecap=\"round\" \
         stroke-linejoin=\"round\"{dashes}"
    )
}

/// Straight lines as path text.
pub(super) fn straight(lines: &[[V2; 2]], page: &Page) -> String {
    let mut path = String::new();
    for ends in lines {
        let [from, to] = ends.map(|end| page.place(end));
        if from != to {
            path += &format!("M{}L{}", point(from), point(to));
        }
    }
    path
}

/// Draws a path unless it is empty.
pub(super) fn draw(svg: &mut String, class: &str, path: &str, style: &str) {
    if !path.is_empty() {
        line(
            svg,
            1,
            &format!("<path class=\"{class}\" {style} d=\"{path}\"/>"),
        );
    }
}

/// Text in lines that fit a page; words are kept whole unless one alone is too long.
pub(super) fn wrapped(text: &str, page_width: f64) -> Vec<String> {
    // Letters are about 0.6 of their height wide, those of many other scripts as wide as high.
    let width = |c: char| LETTERING * if c.is_ascii() { 0.6 } else { 1.0 };
    let room = page_width - 2.0 * MARGIN;
    let (mut lines, mut filled) = (Vec::new(), room);
    for word in text.split_whitespace() {
        let needed: f64 = word.chars().map(width).sum();
        if filled + width(' ') + needed <= room {
            filled += width(' ');
            lines
                .last_mut()
                .into_iter()
                .for_each(|line: &mut String| line.push(' '));
        } else {
            filled = room;
        }
        for letter in word.chars() {
            if filled + width(letter) > room {
                lines.push(String::new());
                filled = 0.0;
            }
            filled += width(letter);
            lines
                .last_mut()
                .into_iter()
                .for_each(|line| line.push(letter));
        }
    }
    lines
}

/// Text for XML; characters it cannot hold become spaces.
pub(super) fn escaped(text: &str) -> String {
    let mut safe = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => safe += "&amp;",
            '<' => safe += "&lt;",
            '>' => safe += "&gt;",
            c if c.is_control() || c == '\u{fffe}' || c == '\u{ffff}' => safe.push(' '),
            c => safe.push(c),
        }
    }
    safe
}

pub(super) fn line(svg: &mut String, depth: usize, text: &str) {
    // Writing to a string cannot fail.
    let _ = writeln!(svg, "{:indent$}{text}", "", indent = 2 * depth);
}

/// A point given in thousandths, as path text.
pub(super) fn point([x, y]: [i64; 2]) -> String {
    format!("{} {}", thousandths(x), thousandths(y))
}

/// A length rounded to a thousandth, without needless zeros.
#[allow(
    clippy::cast_possible_truncation,
    reason = "rounded; lengths are far smaller"
)]
pub(super) fn number(x: f64) -> String {
    thousandths((x * 1000.0).round() as i64)
}

pub(super) fn thousandths(x: i64) -> String {
    let sign = if x < 0 { "-" } else { "" };
    let (whole, rest) = (x.unsigned_abs() / 1000, x.unsigned_abs() % 1000);
    let text = format!("{sign}{whole}.{rest:03}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

#[allow(clippy::cast_precision_loss, reason = "a small number of lines")]
pub(super) fn count(n: usize) -> f64 {
    n as f64
}
