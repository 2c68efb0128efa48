//! A picture of a solid as SVG: isometric or oblique, hidden lines removed or dashed, faces shaded if asked.
//!
//! The viewer sees the front, the top and the right side. Lengths along the axes can be measured in the picture (half
//! lengths along the receding axis of a cabinet picture), at a standard scale that fits a sheet of paper.

use super::painter::{Patch, back_to_front};
use crate::geom::num::sin_cos_degrees;
use crate::geom::{V2, V3};
use crate::solid::lines::Lines;
use crate::solid::project::{Frame, Stroke, project};
use crate::solid::{Body, Polyhedron, Solid};
use std::fmt::Write;

/// The ways of drawing a solid in one picture (ISO 5456-3).
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum PictureKind {
    /// Width and depth at 30 degrees to the horizontal, all three axes at one scale. The default.
    #[default]
    Isometric,
    /// The front in true shape, depth at 45 degrees in full length.
    Cavalier,
    /// The front in true shape, depth at 45 degrees in half length.
    Cabinet,
}

impl PictureKind {
    /// All three.
    pub const ALL: [PictureKind; 3] = [
        PictureKind::Isometric,
        PictureKind::Cavalier,
        PictureKind::Cabinet,
    ];

    /// `isometric`, `cavalier` or `cabinet`.
    pub fn name(self) -> &'static str {
        match self {
            PictureKind::Isometric => "isometric",
            PictureKind::Cavalier => "cavalier",
            PictureKind::Cabinet => "cabinet",
        }
    }

    /// Where a step of one millimetre along x, y and z is drawn.
    ///
    /// Axes after ISO 5456-3: isometric axes at 30 degrees with one scale for all; cavalier and cabinet axes with the
    /// receding one at 45 degrees, in full and in half length.
    fn frame(self) -> Frame {
        let receding = |length: f64| {
            let (sin, cos) = sin_cos_degrees(45.0);
            [[1.0, 0.0], [cos * length, sin * length], [0.0, 1.0]]
        };
        Frame::of_axes(match self {
            PictureKind::Isometric => {
                let (sin, cos) = sin_cos_degrees(30.0);
                [[cos, -sin], [cos, sin], [0.0, 1.0]]
            }
            PictureKind::Cavalier => receding(1.0),
            PictureKind::Cabinet => receding(0.5),
        })
    }
}

/// What a picture shows besides the visible lines.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct PictureOptions {
    /// Whether faces are lightly shaded. Default: no.
    pub shaded: bool,
    /// Whether hidden lines are drawn, dashed. Default: no.
    pub hidden: bool,
    /// A line of text below the picture; long ones are wrapped. Default: none.
    pub caption: Option<String>,
}

impl Solid {
    /// A picture of the solid as an SVG file, in millimetres on white.
    ///
    /// Same solid and options, same text. Coordinates are rounded to a thousandth of a millimetre on paper.
    ///
    /// # Examples
    ///
    /// ```
    /// # fn show(solid: &foldback::Solid) {
    /// use foldback::{PictureKind, PictureOptions};
    /// let svg = solid.to_picture(PictureKind::Isometric, &PictureOptions::default());
    /// assert!(svg.starts_with("<svg"));
    /// # }
    /// ```
    pub fn to_picture(&self, kind: PictureKind, options: &PictureOptions) -> String {
        match &self.body {
            Body::Flat(solid) => solid.to_picture(kind, options),
            Body::Curved(_) => unreachable!("no curved solid is made yet"),
        }
    }
}

impl Polyhedron {
    /// As [`Solid::to_picture`].
    pub(crate) fn to_picture(&self, kind: PictureKind, options: &PictureOptions) -> String {
        let frame = kind.frame();
        let page = Page::around(self, &frame, options.caption.as_deref());
        let lines = Lines::of(project(self, &frame).iter().map(Stroke::line));
        let mut svg = String::new();
        open(&mut svg, &page);
        let title = format!("{} picture at scale {}", kind.name(), page.scale.1);
        line(&mut svg, 1, &format!("<title id=\"title\">{title}</title>"));
        line(
            &mut svg,
            1,
            &format!("<desc id=\"desc\">{}</desc>", described(self, options)),
        );
        line(
            &mut svg,
            1,
            "<rect width=\"100%\" height=\"100%\" fill=\"white\"/>",
        );
        if options.shaded {
            shade(
                &mut svg,
                &back_to_front(self, &frame.towards),
                &frame,
                &page,
            );
        }
        if options.hidden {
            let dashes = [12.0 * NARROW, 3.0 * NARROW].map(number).join(" ");
            let style = stroke(NARROW, &format!(" stroke-dasharray=\"{dashes}\""));
            draw(&mut svg, "hidden", &lines.hidden, &page, &style);
        }
        draw(
            &mut svg,
            "visible",
            &lines.visible,
            &page,
            &stroke(WIDE, ""),
        );
        write_caption(&mut svg, &page);
        svg.push_str("</svg>\n");
        svg
    }
}

/// Width of visible lines in millimetres, one of the widths of ISO 128-2.
const WIDE: f64 = 0.7;

/// Width of hidden lines: half of that (ISO 128-2); their dashes are 12 widths long and 3 apart.
const NARROW: f64 = 0.35;

/// White space around the picture in millimetres.
const MARGIN: f64 = 5.0;

/// Height of letters in millimetres, one of those of ISO 3098-1.
const LETTERING: f64 = 3.5;

/// No picture is larger than this in millimetres: it fits a sheet of A4 with some border.
const LARGEST: f64 = 170.0;

/// Standard scales (ISO 5455), largest first.
const SCALES: [(f64, &str); 16] = [
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
struct Page {
    width: f64,
    /// Without the caption.
    height: f64,
    scale: (f64, &'static str),
    /// The left and the upper end of the solid in the picture, unscaled.
    corner: V2,
    /// Lines of text below the picture.
    caption: Vec<String>,
}

impl Page {
    fn around(solid: &Polyhedron, frame: &Frame, caption: Option<&str>) -> Self {
        let images = || solid.vertices.iter().map(|p| frame.at(p));
        let lo = images().fold(V2::repeat(f64::MAX), |lo, p| lo.inf(&p));
        let hi = images().fold(V2::repeat(f64::MIN), |hi, p| hi.sup(&p));
        let size = hi - lo;
        let fits = |scale: &&(f64, &str)| size.max() * scale.0 <= LARGEST;
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
    fn place(&self, point: V2) -> [i64; 2] {
        let from_corner = [point.x - self.corner.x, self.corner.y - point.y];
        from_corner.map(|x| ((x * self.scale.0 + MARGIN) * 1000.0).round() as i64)
    }
}

/// The opening tag: size on paper, and one unit a millimetre.
fn open(svg: &mut String, page: &Page) {
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
fn write_caption(svg: &mut String, page: &Page) {
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
fn stroke(width: f64, dashes: &str) -> String {
    format!(
        "fill=\"none\" stroke=\"black\" stroke-width=\"{width}\" stroke-linecap=\"round\" \
         stroke-linejoin=\"round\"{dashes}"
    )
}

/// Draws lines as one path.
fn draw(svg: &mut String, class: &str, lines: &[[V2; 2]], page: &Page, style: &str) {
    let mut path = String::new();
    for ends in lines {
        let [from, to] = ends.map(|end| page.place(end));
        if from != to {
            path += &format!("M{}L{}", point(from), point(to));
        }
    }
    if !path.is_empty() {
        line(
            svg,
            1,
            &format!("<path class=\"{class}\" {style} d=\"{path}\"/>"),
        );
    }
}

/// Fills the patches, farthest first; neighbours of one tone go into one path.
fn shade(svg: &mut String, patches: &[Patch], frame: &Frame, page: &Page) {
    line(
        svg,
        1,
        "<g class=\"shading\" stroke-width=\"0.3\" stroke-linejoin=\"round\">",
    );
    for run in patches.chunk_by(|a, b| tone(&a.normal) == tone(&b.normal)) {
        let mut path = String::new();
        for corners in run.iter().flat_map(|patch| &patch.loops) {
            for (k, corner) in corners.iter().enumerate() {
                path += if k == 0 { "M" } else { "L" };
                path += &point(page.place(frame.at(corner)));
            }
            path += "Z";
        }
        let grey = tone(&run[0].normal);
        // A thin line of the same tone closes the seams between patches of one face.
        line(
            svg,
            2,
            &format!("<path fill=\"{grey}\" stroke=\"{grey}\" d=\"{path}\"/>"),
        );
    }
    line(svg, 1, "</g>");
}

/// A light grey after the direction a face looks in: light comes from the upper left, before the part.
#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a tone between 0 and 255"
)]
fn tone(normal: &V3) -> String {
    let light = V3::new(-0.3, -0.5, 0.8).normalize();
    let grey = ((0.83 + 0.16 * normal.dot(&light)) * 255.0).round() as u8;
    format!("#{grey:02x}{grey:02x}{grey:02x}")
}

/// What the picture shows, for those who have it read aloud.
fn described(solid: &Polyhedron, options: &PictureOptions) -> String {
    let [lo, hi] = solid.bounds();
    let [x, y, z] = (hi - lo).map(number).into();
    let faces = solid.faces.len();
    let mut text = format!(
        "A solid {x} mm wide, {y} mm deep and {z} mm high with {faces} plane faces, seen from the front, the top and \
         the right"
    );
    if let Some(caption) = &options.caption {
        text += ": ";
        text += &escaped(caption);
    }
    text
}

/// Text in lines that fit a page; words are kept whole unless one alone is too long.
fn wrapped(text: &str, page_width: f64) -> Vec<String> {
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
fn escaped(text: &str) -> String {
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

fn line(svg: &mut String, depth: usize, text: &str) {
    // Writing to a string cannot fail.
    let _ = writeln!(svg, "{:indent$}{text}", "", indent = 2 * depth);
}

/// A point given in thousandths, as path text.
fn point([x, y]: [i64; 2]) -> String {
    format!("{} {}", thousandths(x), thousandths(y))
}

/// A length rounded to a thousandth, without needless zeros.
#[allow(
    clippy::cast_possible_truncation,
    reason = "rounded; lengths are far smaller"
)]
fn number(x: f64) -> String {
    thousandths((x * 1000.0).round() as i64)
}

fn thousandths(x: i64) -> String {
    let sign = if x < 0 { "-" } else { "" };
    let (whole, rest) = (x.unsigned_abs() / 1000, x.unsigned_abs() % 1000);
    let text = format!("{sign}{whole}.{rest:03}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

#[allow(clippy::cast_precision_loss, reason = "a small number of lines")]
fn count(n: usize) -> f64 {
    n as f64
}

#[cfg(test)]
#[allow(
    clippy::cast_possible_truncation,
    reason = "numbers in tests are small"
)]
mod tests {
    use super::*;
    use crate::solid::blocks::Dice;
    use crate::solid::shapes::{block, prism, pyramid, rectangle, upright, windows};

    fn options(shaded: bool, hidden: bool) -> PictureOptions {
        PictureOptions {
            shaded,
            hidden,
            caption: None,
        }
    }

    /// The lines of one class in a picture: from and to, on paper with y down.
    fn lines(svg: &str, class: &str) -> Vec<[[f64; 2]; 2]> {
        let sheet = roxmltree::Document::parse(svg).unwrap();
        let path = sheet
            .descendants()
            .find(|n| n.attribute("class") == Some(class));
        let text = path.and_then(|n| n.attribute("d")).unwrap_or_default();
        let ends = |line: &str| {
            let numbers: Vec<f64> = line.split(['L', ' ']).map(|n| n.parse().unwrap()).collect();
            [[numbers[0], numbers[1]], [numbers[2], numbers[3]]]
        };
        text.split('M').skip(1).map(ends).collect()
    }

    /// Lengths and directions (degrees above the horizontal, 0 to 179) of lines.
    fn lengths(lines: &[[[f64; 2]; 2]]) -> Vec<(i64, i64)> {
        let polar = |l: &[[f64; 2]; 2]| {
            let (x, y) = (l[1][0] - l[0][0], l[0][1] - l[1][1]);
            let degrees = crate::geom::num::direction_degrees(x, y).rem_euclid(180.0);
            (
                (x.hypot(y) * 10.0).round() as i64,
                degrees.round() as i64 % 180,
            )
        };
        let mut all: Vec<_> = lines.iter().map(polar).collect();
        all.sort_unstable();
        all
    }

    /// Isometric axes at 30 degrees on both sides of the upright one, all at one scale (ISO 5456-3).
    #[test]
    fn isometric_axes_stand_at_thirty_degrees_with_equal_scale() {
        let svg =
            block([40.0, 20.0, 30.0]).to_picture(PictureKind::Isometric, &options(false, true));
        // Scale 2:1. Of each of the three directions three edges are seen and one is not.
        let visible = [(400, 30), (600, 90), (800, 150)]
            .map(|edge| [edge; 3])
            .concat();
        assert_eq!(lengths(&lines(&svg, "visible")), visible);
        assert_eq!(
            lengths(&lines(&svg, "hidden")),
            [(400, 30), (600, 90), (800, 150)]
        );
    }

    /// Front in true shape; receding axis at 45 degrees, in full length (cavalier) or half (cabinet) (ISO 5456-3).
    #[test]
    fn oblique_pictures_show_the_front_in_true_shape() {
        for (kind, depth) in [(PictureKind::Cavalier, 400), (PictureKind::Cabinet, 200)] {
            let svg = block([40.0, 20.0, 30.0]).to_picture(kind, &options(false, false));
            let expected = [(depth, 45), (600, 90), (800, 0)]
                .map(|edge| [edge; 3])
                .concat();
            assert_eq!(lengths(&lines(&svg, "visible")), expected);
            let front = lines(&svg, "visible");
            let lowest = front.iter().flatten().fold(0.0_f64, |low, p| low.max(p[1]));
            assert!(
                front.contains(&[[MARGIN, lowest], [MARGIN + 80.0, lowest]]),
                "{front:?}"
            );
        }
    }

    #[test]
    fn the_viewer_sees_front_top_and_right_side() {
        for kind in PictureKind::ALL {
            let frame = kind.frame();
            assert!(frame.towards.x > 0.0 && frame.towards.y < 0.0 && frame.towards.z > 0.0);
            assert!(frame.towards.dot(&frame.right).abs() < 1e-12);
            assert!(frame.towards.dot(&frame.up).abs() < 1e-12);
        }
    }

    #[test]
    fn hidden_lines_are_left_out_unless_asked_for() {
        let solid = windows(2);
        let plain = solid.to_picture(PictureKind::Cabinet, &options(false, false));
        let dashed = solid.to_picture(PictureKind::Cabinet, &options(false, true));
        assert!(lines(&plain, "hidden").is_empty() && !lines(&dashed, "hidden").is_empty());
        assert_eq!(lines(&plain, "visible"), lines(&dashed, "visible"));
    }

    /// By hand: an L-shaped bracket has 18 edges; from its open side one sees all but the three behind.
    #[test]
    fn a_bracket_shows_fifteen_edges() {
        let side = vec![
            [0.0, 0.0],
            [30.0, 0.0],
            [30.0, 10.0],
            [10.0, 10.0],
            [10.0, 30.0],
            [0.0, 30.0],
        ];
        let svg = upright(&prism([0.0, 20.0], &[side]))
            .to_picture(PictureKind::Isometric, &options(true, true));
        assert_eq!(lines(&svg, "visible").len(), 15);
        assert_eq!(lines(&svg, "hidden").len(), 3);
    }

    #[test]
    fn nothing_is_cut_off() {
        for blocks in Dice(40).pieces(20) {
            for kind in PictureKind::ALL {
                let svg = blocks.solid().to_picture(kind, &options(true, true));
                let sheet = roxmltree::Document::parse(&svg).unwrap();
                let view = sheet.root_element().attribute("viewBox").unwrap();
                let size: Vec<f64> = view.split(' ').map(|n| n.parse().unwrap()).collect();
                for end in lines(&svg, "visible")
                    .concat()
                    .iter()
                    .chain(&lines(&svg, "hidden").concat())
                {
                    for axis in 0..2 {
                        let inner = MARGIN - 0.001..=size[axis + 2] - MARGIN + 0.001;
                        assert!(inner.contains(&end[axis]), "{end:?} in {view}");
                    }
                }
            }
        }
    }

    #[test]
    fn every_size_of_part_fits_the_paper() {
        for size in [0.4, 3.0, 17.0, 90.0, 800.0, 30_000.0] {
            let solid = pyramid(
                &rectangle([0.0, 0.0], [size, size]),
                [size / 2.0, size / 2.0, size],
            );
            let page = Page::around(&solid, &PictureKind::Cavalier.frame(), None);
            let largest = page.width.max(page.height) - 2.0 * MARGIN;
            assert!(
                largest <= LARGEST && largest > LARGEST / 5.0,
                "{largest} for {size}"
            );
        }
    }

    #[test]
    fn captions_are_wrapped_and_made_safe() {
        let solid = block([10.0, 20.0, 30.0]);
        let caption = Some(
            "Mast foot <reading 1 & 2> of the harbour weather station, seen from the jetty".into(),
        );
        let picture = PictureOptions {
            caption,
            ..options(false, false)
        };
        let svg = solid.to_picture(PictureKind::Isometric, &picture);
        let sheet = roxmltree::Document::parse(&svg).unwrap();
        let texts = sheet.descendants().filter(|n| n.has_tag_name("text"));
        let lines: Vec<&str> = texts.filter_map(|n| n.text()).collect();
        assert!(lines.len() > 1, "{lines:?}");
        assert_eq!(lines.join(" "), picture.caption.unwrap());
        assert_eq!(wrapped("", 100.0), Vec::<String>::new());
        assert!(
            wrapped(&"w".repeat(200), 60.0)
                .iter()
                .all(|line| line.len() <= 23)
        );
    }

    #[test]
    fn the_same_solid_gives_the_same_picture() {
        insta::assert_snapshot!(
            block([40.0, 20.0, 30.0]).to_picture(PictureKind::Cabinet, &options(true, true))
        );
    }
}
