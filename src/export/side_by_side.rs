//! Several readings in one picture, side by side at one scale, with the faces marked in which they differ.
//!
//! Marked faces that are seen are hatched densely; those that look away or lie behind others show through as a wide
//! hatching the other way. Both are lines, so that the picture can be read in black and white.

use super::curves::curves;
use super::page::{
    LARGEST, LETTERING, MARGIN, NARROW, Page, count, draw, line, number, point, straight, stroke,
};
use super::painter::{Patch, back_to_front, unsorted};
use super::picture::{facets, finely};
use crate::geom::{P3, V2};
use crate::solid::curved::sight::seen;
use crate::solid::differing::differing_faces;
use crate::solid::lines::Lines;
use crate::solid::project::{Frame, Stroke, project};
use crate::solid::{Body, Solid};
use crate::{Outcome, PictureKind, Reading};
use itertools::Itertools;
use rustc_hash::FxHashSet;

/// No more solids are shown in one picture.
const MOST: usize = 12;

/// Space between two of them on paper, in millimetres.
const BETWEEN: f64 = 8.0;

impl Outcome {
    /// For each listed reading, the places of those of its faces that some other listed reading has not.
    ///
    /// Whole faces of plane-faced solids; of solids with curved faces the patches they are made of.
    pub fn differing_faces(&self) -> Vec<Vec<usize>> {
        let solids: Vec<&Solid> = self.readings.iter().map(|r| &r.solid).collect();
        differing_faces(&solids)
    }

    /// The readings side by side as an SVG file, with the faces hatched in which they differ and the places of choice
    /// numbered; if there are too many, examples that between them show every alternative.
    ///
    /// Same outcome, same text. With a single reading it is a picture of that; without any, an empty one.
    pub fn to_side_by_side(&self, kind: PictureKind) -> String {
        let all = self.complete() && self.readings.len() <= MOST || self.examples.is_empty();
        let shown: Vec<(String, &Reading)> = match all {
            true => numbered("reading", &self.readings),
            false => numbered("example", &self.examples),
        };
        let marks = self.places.iter().map(|place| place.box_mm).collect();
        Picture::of(&shown, marks, kind).written()
    }
}

/// The first few, each with its name.
fn numbered<'a>(word: &str, readings: &'a [Reading]) -> Vec<(String, &'a Reading)> {
    let all = (1..).zip(readings.iter().take(MOST));
    all.map(|(n, reading)| (format!("{word} {n}"), reading))
        .collect()
}

/// One solid of the picture.
struct Panel {
    name: String,
    page: Page,
    /// The faces that look at the viewer, farthest first, and whether each is marked.
    painted: Vec<(Patch, bool)>,
    /// All marked faces, those that look away too.
    through: Vec<Patch>,
    /// Visible lines as path text.
    visible: String,
    hidden: String,
}

/// The whole picture.
struct Picture {
    panels: Vec<Panel>,
    /// The boxes to be numbered.
    marks: Vec<[[f64; 3]; 2]>,
    frame: Frame,
    columns: usize,
    /// The largest panel.
    size: V2,
}

impl Picture {
    fn of(shown: &[(String, &Reading)], marks: Vec<[[f64; 3]; 2]>, kind: PictureKind) -> Self {
        let frame = kind.frame();
        let solids: Vec<&Solid> = shown.iter().map(|(_, r)| &r.solid).collect();
        let columns = (1..).find(|n| n * n >= shown.len()).unwrap_or(1).max(1);
        let room = (LARGEST - BETWEEN * count(columns - 1)) / count(columns);
        let panels = shown.iter().zip(differing_faces(&solids));
        let panels: Vec<Panel> = panels
            .map(|((name, reading), marked)| {
                let marked: FxHashSet<usize> = marked.into_iter().collect();
                panel(name, &reading.solid, &marked, &frame, room)
            })
            .collect();
        let sizes = panels.iter().map(|p| V2::new(p.page.width, p.page.height));
        Picture {
            size: sizes.fold(V2::repeat(2.0 * MARGIN), |a, b| a.sup(&b)),
            panels,
            marks,
            frame,
            columns,
        }
    }

    fn written(&self) -> String {
        let rows = self.panels.len().div_ceil(self.columns).max(1);
        let step = self.size + V2::new(BETWEEN, 2.0 * LETTERING + BETWEEN);
        let legend = 3.0 * LETTERING;
        let (w, h) = (
            number(step.x * count(self.columns)),
            number(step.y * count(rows) + legend),
        );
        let mut svg = String::new();
        line(
            &mut svg,
            0,
            &format!(
                "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{w}mm\" height=\"{h}mm\" viewBox=\"0 0 {w} {h}\" \
                 role=\"img\" aria-labelledby=\"title desc\">"
            ),
        );
        line(
            &mut svg,
            1,
            "<title id=\"title\">Readings side by side</title>",
        );
        let described = format!(
            "{} solids with the same three views; hatched faces are not the same in all of them",
            self.panels.len()
        );
        line(
            &mut svg,
            1,
            &format!("<desc id=\"desc\">{described}</desc>"),
        );
        line(&mut svg, 1, HATCHING);
        line(
            &mut svg,
            1,
            "<rect width=\"100%\" height=\"100%\" fill=\"white\"/>",
        );
        for (k, panel) in self.panels.iter().enumerate() {
            let at = [
                step.x * count(k % self.columns),
                step.y * count(k / self.columns) + 2.0 * LETTERING,
            ];
            self.write(&mut svg, panel, at.map(number));
        }
        let y = number(step.y * count(rows) + legend - LETTERING);
        let words = "dense hatching: differs, seen · wide hatching: differs, hidden";
        line(&mut svg, 1, &text([MARGIN.to_string(), y], words, ""));
        svg.push_str("</svg>\n");
        svg
    }

    fn write(&self, svg: &mut String, panel: &Panel, [x, y]: [String; 2]) {
        line(
            svg,
            1,
            &format!("<g class=\"panel\" transform=\"translate({x} {y})\">"),
        );
        line(
            svg,
            1,
            &text([number(MARGIN), "0".to_owned()], &panel.name, ""),
        );
        for run in panel.painted.chunk_by(|a, b| a.1 == b.1) {
            let path: String = run
                .iter()
                .map(|(p, _)| outline(p, &self.frame, &panel.page))
                .collect();
            let marked = run[0].1;
            // A thin line of the same tone closes the seams between patches of one face.
            let base = "<path fill=\"white\" stroke=\"white\" stroke-width=\"0.1\"";
            line(svg, 2, &format!("{base} d=\"{path}\"/>"));
            if marked {
                let class = "<path class=\"differs\" fill=\"url(#seen)\"";
                line(svg, 2, &format!("{class} d=\"{path}\"/>"));
            }
        }
        // Faces that look away run the other way round: apart, so that they do not cancel those that look here.
        for here in [false, true] {
            let looks = |p: &&Patch| (p.normal.dot(&self.frame.towards) > 0.0) == here;
            let all = panel.through.iter().filter(looks);
            let through: String = all.map(|p| outline(p, &self.frame, &panel.page)).collect();
            draw(svg, "behind", &through, "fill=\"url(#behind)\"");
        }
        let dashes = [4.0 * NARROW, 2.0 * NARROW].map(number).join(" ");
        let thin = stroke(NARROW / 2.0, &format!(" stroke-dasharray=\"{dashes}\""));
        draw(svg, "hidden", &panel.hidden, &thin);
        draw(svg, "visible", &panel.visible, &stroke(NARROW, ""));
        for (number, bounds) in (1..).zip(&self.marks) {
            let [low, high] = bounds.map(P3::from);
            let at = panel
                .page
                .place(self.frame.at(&nalgebra::center(&low, &high)));
            let at = at.map(super::page::thousandths);
            let halo = " font-weight=\"bold\" text-anchor=\"middle\" dominant-baseline=\"central\" \
                        stroke=\"white\" stroke-width=\"0.9\" paint-order=\"stroke\"";
            line(svg, 2, &text(at, &number.to_string(), halo));
        }
        line(svg, 1, "</g>");
    }
}

/// Patterns: lines of a pen's width, dense and rising for what is seen, wide and falling for what is not.
const HATCHING: &str = "<defs>\
<pattern id=\"seen\" width=\"1.1\" height=\"1.1\" patternUnits=\"userSpaceOnUse\" patternTransform=\"rotate(-45)\">\
<path d=\"M0 0.55L1.1 0.55\" stroke=\"black\" stroke-width=\"0.22\"/></pattern>\
<pattern id=\"behind\" width=\"2.4\" height=\"2.4\" patternUnits=\"userSpaceOnUse\" patternTransform=\"rotate(45)\">\
<path d=\"M0 1.2L2.4 1.2\" stroke=\"#555\" stroke-width=\"0.18\" stroke-dasharray=\"0.8 0.4\"/></pattern></defs>";

fn text([x, y]: [String; 2], words: &str, style: &str) -> String {
    format!(
        "<text x=\"{x}\" y=\"{y}\" font-family=\"sans-serif\" font-size=\"{LETTERING}\"{style}>{words}</text>"
    )
}

/// A patch as path text.
fn outline(patch: &Patch, frame: &Frame, page: &Page) -> String {
    let mut path = String::new();
    for corners in &patch.loops {
        for (k, corner) in corners.iter().enumerate() {
            path += if k == 0 { "M" } else { "L" };
            path += &point(page.place(frame.at(corner)));
        }
        path += "Z";
    }
    path
}

fn panel(name: &str, solid: &Solid, marked: &FxHashSet<usize>, frame: &Frame, room: f64) -> Panel {
    let is_marked = |patch: &Patch| marked.contains(&patch.face);
    let (painted, through) = match &solid.body {
        Body::Flat(solid) => (
            back_to_front(solid, &frame.towards),
            unsorted(solid, |f| marked.contains(&f)),
        ),
        Body::Curved(solid) => {
            let (faceted, patches) = finely(solid);
            let through = unsorted(&faceted, |f| marked.contains(&patches[f]));
            (facets(solid, &frame.towards), through)
        }
    };
    let corners = painted.iter().flat_map(|p| p.loops.iter().flatten());
    let images: Vec<V2> = corners.map(|corner| frame.at(corner)).collect();
    let page = Page::within(room, images.into_iter(), None);
    let [visible, hidden] = match &solid.body {
        Body::Flat(solid) => {
            let strokes = project(solid, frame);
            let lines = Lines::of(strokes.iter().map(Stroke::line));
            let own = |s: &&Stroke| {
                let edge = &solid.edges[s.edge as usize];
                !s.visible && edge.faces.iter().any(|f| marked.contains(&(*f as usize)))
            };
            let hidden = Lines::of(
                strokes
                    .iter()
                    .filter(own)
                    .map(Stroke::line)
                    .collect_vec()
                    .into_iter(),
            );
            [
                straight(&lines.visible, &page),
                straight(&hidden.hidden, &page),
            ]
        }
        Body::Curved(solid) => {
            let sights = seen(solid, frame);
            let visible = sights.iter().filter(|s| s.visible);
            [
                curves(visible.map(|s| &s.course), frame, &page),
                String::new(),
            ]
        }
    };
    Panel {
        name: name.to_owned(),
        page,
        painted: painted
            .into_iter()
            .map(|p| (is_marked(&p), p))
            .map(|(m, p)| (p, m))
            .collect(),
        through,
        visible,
        hidden,
    }
}
