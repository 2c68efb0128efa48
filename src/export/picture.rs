//! A picture of a solid as SVG: isometric or oblique, hidden lines removed or dashed, faces shaded if asked.
//!
//! The viewer sees the front, the top and the right side. Lengths along the axes can be measured in the picture (half
//! lengths along the receding axis of a cabinet picture), at a standard scale that fits a sheet of paper.

use super::curves::curves;
use super::page::{
    NARROW, Page, WIDE, draw, escaped, line, number, open, point, straight, stroke, write_caption,
};
use super::painter::{Patch, back_to_front};
use crate::geom::num::sin_cos_degrees;
use crate::geom::{P3, V2, V3};
use crate::solid::curved::CurvedSolid;
use crate::solid::curved::faces::Whole;
use crate::solid::curved::sight::{Sight, seen};
use crate::solid::lines::Lines;
use crate::solid::mesh::Fineness;
use crate::solid::project::{Frame, Stroke, project};
use crate::solid::{Body, Polyhedron, Solid};

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
    pub(super) fn frame(self) -> Frame {
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
            Body::Curved(solid) => solid.to_picture(kind, options),
        }
    }
}

impl Polyhedron {
    /// As [`Solid::to_picture`].
    pub(crate) fn to_picture(&self, kind: PictureKind, options: &PictureOptions) -> String {
        let frame = kind.frame();
        let images = self.vertices.iter().map(|p| frame.at(p));
        let page = Page::around(images, options.caption.as_deref());
        let lines = Lines::of(project(self, &frame).iter().map(Stroke::line));
        let content = Content {
            faces: format!("{} plane faces", self.faces.len()),
            bounds: self.bounds(),
            shading: options.shaded.then(|| back_to_front(self, &frame.towards)),
            lines: [&lines.hidden, &lines.visible].map(|lines| straight(lines, &page)),
        };
        content.written(kind, options, &page)
    }
}

impl CurvedSolid {
    /// As [`Solid::to_picture`].
    pub(crate) fn to_picture(&self, kind: PictureKind, options: &PictureOptions) -> String {
        let frame = kind.frame();
        let sights = seen(self, &frame);
        let along = |sight: &Sight| {
            let course = sight.course.clone();
            (0..=16).map(move |k| course.point(f64::from(k) / 16.0))
        };
        let corners = sights
            .iter()
            .flat_map(along)
            .chain(self.vertices.iter().copied());
        let images: Vec<V2> = corners.map(|p| frame.at(&p)).collect();
        let page = Page::around(images.into_iter(), options.caption.as_deref());
        let faces = Whole::of(self);
        let content = Content {
            faces: format!("{} faces", faces.faces),
            bounds: self.bounds(),
            shading: options.shaded.then(|| facets(self, &frame.towards)),
            lines: [false, true].map(|visible| {
                let chosen = sights.iter().filter(|s| s.visible == visible);
                curves(chosen.map(|s| &s.course), &frame, &page)
            }),
        };
        content.written(kind, options, &page)
    }
}

/// How finely a shaded picture follows curved faces, as a share of the part's size and in degrees: on the largest paper
/// facets stay within the width of the lines around them. First those that bend one way, which show every facet but have
/// few, then those that bend both ways.
const SHADING: [(f64, f64); 2] = [(1e-3, 10.0), (2e-3, 15.0)];

/// The faces that look at the viewer, curved ones as small triangles, in the order in which they are painted; each knows
/// the patch it is part of.
pub(super) fn facets(solid: &CurvedSolid, towards: &V3) -> Vec<Patch> {
    let (faceted, patches) = finely(solid);
    let mut painted = back_to_front(&faceted, towards);
    painted.iter_mut().for_each(|p| p.face = patches[p.face]);
    painted
}

/// A curved solid as flat faces for painting, and the patch that each is part of.
pub(super) fn finely(solid: &CurvedSolid) -> (Polyhedron, Vec<usize>) {
    let [one_way, both_ways] = SHADING.map(|(share, angle_degrees)| Fineness {
        chord_mm: solid.size() * share,
        angle_degrees,
    });
    solid.faceted(&one_way, &both_ways)
}

/// What is written into a picture.
struct Content {
    /// The number of faces in words.
    faces: String,
    bounds: [P3; 2],
    shading: Option<Vec<Patch>>,
    /// Hidden and visible lines as path text.
    lines: [String; 2],
}

impl Content {
    fn written(&self, kind: PictureKind, options: &PictureOptions, page: &Page) -> String {
        let mut svg = String::new();
        open(&mut svg, page);
        let title = format!("{} picture at scale {}", kind.name(), page.scale.1);
        line(&mut svg, 1, &format!("<title id=\"title\">{title}</title>"));
        let described = self.described(options);
        line(
            &mut svg,
            1,
            &format!("<desc id=\"desc\">{described}</desc>"),
        );
        line(
            &mut svg,
            1,
            "<rect width=\"100%\" height=\"100%\" fill=\"white\"/>",
        );
        if let Some(patches) = &self.shading {
            shade(&mut svg, patches, &kind.frame(), page);
        }
        let [hidden, visible] = &self.lines;
        if options.hidden {
            let dashes = [12.0 * NARROW, 3.0 * NARROW].map(number).join(" ");
            let style = stroke(NARROW, &format!(" stroke-dasharray=\"{dashes}\""));
            draw(&mut svg, "hidden", hidden, &style);
        }
        draw(&mut svg, "visible", visible, &stroke(WIDE, ""));
        write_caption(&mut svg, page);
        svg.push_str("</svg>\n");
        svg
    }

    /// What the picture shows, for those who have it read aloud.
    fn described(&self, options: &PictureOptions) -> String {
        let [lo, hi] = self.bounds;
        let [x, y, z] = (hi - lo).map(number).into();
        let mut text = format!(
            "A solid {x} mm wide, {y} mm deep and {z} mm high with {}, seen from the front, the top and the right",
            self.faces
        );
        if let Some(caption) = &options.caption {
            text += ": ";
            text += &escaped(caption);
        }
        text
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
                // A hundredth of a millimetre will do for areas and keeps files small.
                path += &point(
                    page.place(frame.at(corner))
                        .map(|x| (x + 5).div_euclid(10) * 10),
                );
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

#[cfg(test)]
#[allow(
    clippy::cast_possible_truncation,
    reason = "numbers in tests are small"
)]
mod tests {
    use super::super::page::{LARGEST, MARGIN, wrapped};
    use super::*;
    use crate::geom::num::Diagonal;
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
                (x.diagonal(y) * 10.0).round() as i64,
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
            let page = Page::around(
                solid
                    .vertices
                    .iter()
                    .map(|p| PictureKind::Cavalier.frame().at(p)),
                None,
            );
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
