//! Draws a plane-faced solid as seen along one direction, hidden lines included.
//!
//! It works from corners, edges and faces alone and shares nothing with the search for solids, so that it can prove the
//! search's answers. Each edge is cut where the border of a nearer face crosses it in the view; a piece is hidden if its
//! midpoint lies strictly inside a face that looks at the viewer and stands strictly in front of it. Edges wholly behind a
//! large face are settled beforehand (`veil`).
//!
//! Why "strictly inside" is right. A line along the border of nearer material is that material's own edge. On a line of
//! sight that grazes such borders, the nearest edge decides: if a face covers that one, it covers all behind it as well;
//! if none does, the line is drawn visible on its account, and visible takes precedence over hidden, whatever the edges
//! behind are taken for. So borders may count as uncovered, provided that the reader of the strokes lets visible ones
//! take precedence where they coincide.

use super::occlusion::{Occluders, Outline};
use super::veil::veils;
use super::{Edge, Polyhedron};
use crate::geom::tolerance::ROUNDING;
use crate::geom::{P3, V2, V3};
use crate::sheet::View;

/// No corner lies farther off the planes of its faces than this share of the part's size; twice the default tolerance.
const SLACK: f64 = 1e-3;

/// How points of the object are laid on the picture plane: any parallel projection, right-angled or oblique.
///
/// `towards` is the line of sight, against the way the viewer looks: `right · towards = up · towards = 0`, and
/// `right x up` points the same way.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Frame {
    /// A point `p` lies `right · p` to the right.
    pub(crate) right: V3,
    /// And `up · p` up.
    pub(crate) up: V3,
    /// Of two points with one image, that with the larger `towards · p` is nearer to the viewer.
    pub(crate) towards: V3,
}

impl Frame {
    /// The frame of one of the three views, lengths true.
    pub(crate) fn of_view(view: View) -> Self {
        let [right, up] = view.axes().map(|axis| V3::ith(axis, 1.0));
        Frame {
            right,
            up,
            towards: V3::ith(view.depth_axis(), view.nearness(1.0)),
        }
    }

    /// The frame in which a step along x, y and z is drawn as the given steps right and up.
    pub(crate) fn of_axes(axes: [[f64; 2]; 3]) -> Self {
        let right = V3::from(axes.map(|a| a[0]));
        let up = V3::from(axes.map(|a| a[1]));
        Frame {
            right,
            up,
            towards: right.cross(&up),
        }
    }

    /// Where a point is drawn.
    pub(crate) fn at(&self, p: &P3) -> V2 {
        V2::new(self.right.dot(&p.coords), self.up.dot(&p.coords))
    }
}

/// A drawn piece of an edge that is visible or hidden all along.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Stroke {
    /// Start, right and up in the view.
    pub(crate) from: [f64; 2],
    /// End.
    pub(crate) to: [f64; 2],
    /// Whether no face stands in front of it; where strokes coincide, visible ones take precedence.
    pub(crate) visible: bool,
    /// The edge it is part of, a place in [`Polyhedron::edges`].
    pub(crate) edge: u32,
}

impl Stroke {
    /// Its ends and whether it is visible.
    pub(crate) fn line(&self) -> ([[f64; 2]; 2], bool) {
        ([self.from, self.to], self.visible)
    }
}

/// The drawing of a sound solid, edge by edge; edges seen end-on give nothing.
///
/// Time grows about linearly with the number of edges and of crossings between them in the view.
pub(crate) fn project(solid: &Polyhedron, frame: &Frame) -> Vec<Stroke> {
    let [lo, hi] = solid.bounds();
    let rounding = (hi - lo).norm() * ROUNDING;
    let looking = |f: &u32| {
        let facing = solid.faces[*f as usize].plane.normal.dot(&frame.towards);
        facing > ROUNDING * frame.towards.norm()
    };
    let images: Vec<V2> = solid.vertices.iter().map(|p| frame.at(p)).collect();
    let nearness = |v: u32| frame.towards.dot(&solid.vertices[v as usize].coords);
    let veils = veils(solid, &images, looking);
    let mut outlines = Vec::with_capacity(solid.edges.len());
    let mut behind = vec![Behind::Unseen; solid.faces.len()];
    for (edge, e) in (0_u32..).zip(&solid.edges) {
        let ends = e.ends.map(|v| images[v as usize]);
        if let Some(mut outline) = Outline::between(ends, e.ends.map(nearness), rounding) {
            outline.edge = edge;
            outline.faces = e.faces.map(|f| looking(&f).then_some(f));
            outline.veil = veils
                .iter()
                .position(|v| v.covers(solid, &images, e, rounding));
            for face in outline.faces.into_iter().flatten() {
                behind[face as usize].edge(outline.veil);
            }
            outlines.push(outline);
        }
    }
    for outline in &mut outlines {
        let needed = |f: &u32| behind[*f as usize] == Behind::NoVeil;
        outline.faces = outline.faces.map(|face| face.filter(needed));
    }
    let mut drawing = Drawing {
        depths: Depths {
            solid,
            slack: (hi - lo).norm() * SLACK,
        },
        occluders: Occluders::new(&outlines, solid.faces.len(), rounding),
        cuts: Vec::new(),
        strokes: Vec::with_capacity(outlines.len()),
    };
    for outline in &outlines {
        if outline.veil.is_some() {
            drawing.strokes.push(hidden(outline));
        } else {
            drawing.add(outline);
        }
    }
    drawing.strokes
}

/// An edge hidden all along.
fn hidden(line: &Outline) -> Stroke {
    Stroke {
        from: line.at(0.0).into(),
        to: line.at(line.length).into(),
        visible: false,
        edge: line.edge,
    }
}

/// Which veil a face lies behind, from those its edges lie behind.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Behind {
    /// No edge was looked at yet.
    Unseen,
    /// All edges so far lie behind this veil.
    Veil(usize),
    /// Not all edges lie behind one veil.
    NoVeil,
}

impl Behind {
    fn edge(&mut self, veil: Option<usize>) {
        *self = match (*self, veil) {
            (Behind::Unseen, Some(veil)) => Behind::Veil(veil),
            (Behind::Veil(known), Some(veil)) if known == veil => *self,
            _ => Behind::NoVeil,
        };
    }
}

/// A drawing in the making.
struct Drawing<'a> {
    depths: Depths<'a>,
    occluders: Occluders,
    cuts: Vec<f64>,
    strokes: Vec<Stroke>,
}

impl Drawing<'_> {
    /// Cuts an edge into pieces and adds them, neighbours of one kind joined.
    fn add(&mut self, line: &Outline) {
        self.cuts.clear();
        self.occluders.cuts_of(line, &mut self.cuts);
        self.cuts.sort_unstable_by(f64::total_cmp);
        self.cuts.push(line.length);
        let mut start = 0.0;
        let mut last: Option<Stroke> = None;
        for k in 0..self.cuts.len() {
            let end = self.cuts[k];
            if end - start <= self.occluders.rounding {
                continue;
            }
            let piece = Stroke {
                from: line.at(start).into(),
                to: line.at(end).into(),
                visible: !self.is_hidden(line, (start + end) / 2.0),
                edge: line.edge,
            };
            match &mut last {
                Some(before) if before.visible == piece.visible => before.to = piece.to,
                _ => self.strokes.extend(last.replace(piece)),
            }
            start = end;
        }
        self.strokes.extend(last);
    }

    /// Whether a face covers the point of an edge at `distance` from its start in the view.
    fn is_hidden(&mut self, line: &Outline, distance: f64) -> bool {
        let depths = self.depths;
        let edge = &depths.solid.edges[line.edge as usize];
        let [a, b] = edge.ends.map(|v| depths.solid.vertices[v as usize]);
        let point = a + (b - a) * (distance / line.length);
        let covers = self.occluders.over(line.at(distance));
        covers
            .iter()
            .any(|f| !edge.faces.contains(f) && depths.hides(*f, &point, edge))
    }
}

/// Tells what is in front of what.
#[derive(Clone, Copy)]
struct Depths<'a> {
    solid: &'a Polyhedron,
    /// No corner lies farther off the planes of its faces, in millimetres.
    slack: f64,
}

impl Depths<'_> {
    /// Whether a face that covers `point` of `edge` in the view stands in front of it: the point is on the material's
    /// side of it.
    ///
    /// An end of the edge that is a corner of the face is in its plane by definition, though by coordinates perhaps
    /// only nearly so; as near as that to the plane, the edge's direction decides.
    fn hides(&self, face: u32, point: &P3, edge: &Edge) -> bool {
        let face = &self.solid.faces[face as usize];
        let above = face.plane.distance(point);
        let corner = |v: u32| &self.solid.vertices[v as usize];
        let inaccurate = edge.ends.into_iter().find(|v| {
            let off = face.plane.distance(corner(*v)).abs();
            let matters = off > 0.0 && off < self.slack && above.abs() <= 2.0 * off;
            matters && face.loops.iter().any(|l| l.contains(v))
        });
        match inaccurate {
            Some(v) => face.plane.normal.dot(&(point - corner(v))) < 0.0,
            None => above < 0.0,
        }
    }
}

#[cfg(test)]
#[allow(
    clippy::cast_possible_truncation,
    reason = "numbers in tests are small"
)]
mod tests {
    use super::super::blocks::{Blocks, Dice};
    use super::super::shapes::{block, prism, pyramid, rectangle, upright};
    use super::*;
    use itertools::iproduct;
    use std::collections::BTreeMap;

    /// A view's strokes as text, visible before hidden, each from its lower or left end; coinciding ones once, and
    /// hidden ones under visible ones not at all.
    fn drawn(solid: &Polyhedron, view: View) -> Vec<String> {
        let mut lines = BTreeMap::new();
        for s in project(solid, &Frame::of_view(view)) {
            let mut ends = [s.from, s.to].map(|p| p.map(|x| x.round() as i64));
            ends.sort_unstable();
            *lines.entry(ends).or_insert(false) |= s.visible;
        }
        let word = |visible| if visible { "" } else { " hidden" };
        lines
            .iter()
            .map(|([a, b], v)| format!("{},{} {},{}{}", a[0], a[1], b[0], b[1], word(*v)))
            .collect()
    }

    /// Worked by hand: a right-angled bracket, 30 wide, 20 deep, 30 high, both legs 10 thick.
    #[test]
    fn the_step_of_an_l_block_is_hidden_from_nowhere_it_can_be_seen() {
        let side = vec![
            [0.0, 0.0],
            [30.0, 0.0],
            [30.0, 10.0],
            [10.0, 10.0],
            [10.0, 30.0],
            [0.0, 30.0],
        ];
        let bracket = upright(&prism([0.0, 20.0], &[side]));
        let front = [
            "0,0 0,30",
            "0,0 30,0",
            "0,30 10,30",
            "10,10 10,30",
            "10,10 30,10",
            "30,0 30,10",
        ];
        assert_eq!(drawn(&bracket, View::Front), front);
        let right = drawn(&bracket, View::Right);
        assert!(right.contains(&"-20,10 0,10".into()), "{right:?}");
        assert!(
            right.iter().all(|line| !line.ends_with("hidden")),
            "{right:?}"
        );
        let mirrored: Vec<_> = bracket
            .vertices
            .iter()
            .map(|p| [30.0 - p.x, p.y, p.z])
            .collect();
        let faces: Vec<_> = bracket
            .faces
            .iter()
            .map(|f| {
                f.loops
                    .iter()
                    .map(|l| l.iter().rev().copied().collect())
                    .collect()
            })
            .collect();
        let other_way = super::super::shapes::from_faces(&mirrored, &faces);
        let right = drawn(&other_way, View::Right);
        assert!(right.contains(&"-20,10 0,10 hidden".into()), "{right:?}");
    }

    /// Worked by hand: a window through a block from front to back shows as dashes from above and from the right.
    #[test]
    fn a_through_window_is_dashed_in_the_other_views() {
        let mut hole = rectangle([10.0, 10.0], [30.0, 20.0]);
        hole.reverse();
        let solid = upright(&prism(
            [0.0, 20.0],
            &[rectangle([0.0, 0.0], [40.0, 30.0]), hole],
        ));
        let front = drawn(&solid, View::Front);
        assert_eq!(front.len(), 8);
        assert!(front.iter().all(|line| !line.ends_with("hidden")));
        let top = drawn(&solid, View::Top);
        for line in [
            "10,-20 10,0 hidden",
            "30,-20 30,0 hidden",
            "0,-20 0,0",
            "40,-20 40,0",
        ] {
            assert!(top.contains(&line.into()), "{line} not in {top:?}");
        }
        let right = drawn(&solid, View::Right);
        for line in ["-20,10 0,10 hidden", "-20,20 0,20 hidden"] {
            assert!(right.contains(&line.into()), "{line} not in {right:?}");
        }
    }

    #[test]
    fn a_sealed_cavity_is_all_hidden() {
        let mut filled = vec![true; 27];
        filled[13] = false;
        let solid = Blocks::cubes([3, 3, 3], filled).solid();
        for view in View::ALL {
            let hidden = [
                "10,10 10,20 hidden",
                "10,10 20,10 hidden",
                "10,20 20,20 hidden",
                "20,10 20,20 hidden",
            ];
            let lines = drawn(&solid, view);
            assert_eq!(lines.len(), 8);
            let dashed: Vec<_> = lines.iter().filter(|l| l.ends_with("hidden")).collect();
            assert_eq!(dashed, hidden.each_ref());
        }
    }

    /// Worked by hand: seen from above a square pyramid is a square with its diagonals; from the front a triangle whose
    /// far slanted edges lie behind the near ones.
    #[test]
    fn slanted_edges_of_a_pyramid_hide_behind_their_like() {
        let solid = pyramid(&rectangle([0.0, 0.0], [20.0, 20.0]), [10.0, 10.0, 30.0]);
        assert_eq!(
            drawn(&solid, View::Front),
            ["0,0 10,30", "0,0 20,0", "10,30 20,0"]
        );
        let top = drawn(&solid, View::Top);
        assert_eq!(top.len(), 8);
        assert!(top.contains(&"10,10 20,20".into()), "{top:?}");
        assert!(top.iter().all(|line| !line.ends_with("hidden")));
    }

    /// Worked by hand: on a plate a wall, 20 high, near on the left, and a tower, 30 high, far on the right. The tower's
    /// left edge is hidden up to the wall's top.
    #[test]
    fn an_edge_is_cut_where_the_border_of_a_nearer_face_crosses_it() {
        let mut filled = vec![false; 27];
        filled[..9].fill(true);
        for (i, j, k) in [
            (0, 0, 1),
            (1, 0, 1),
            (1, 2, 1),
            (2, 2, 1),
            (1, 2, 2),
            (2, 2, 2),
        ] {
            filled[k * 9 + j * 3 + i] = true;
        }
        let front = drawn(&Blocks::cubes([3, 3, 3], filled).solid(), View::Front);
        for line in [
            "10,10 10,20 hidden",
            "10,20 10,30",
            "10,10 20,10 hidden",
            "20,10 20,20",
            "20,10 30,10",
        ] {
            assert!(front.contains(&line.into()), "{line} not in {front:?}");
        }
    }

    /// One unit step of a block drawing: view, lower left end, axis.
    type Unit = (usize, [usize; 2], usize);

    /// The drawing of blocks by another road: grid step by grid step, straight from the definition.
    fn unit_drawing(blocks: &Blocks) -> BTreeMap<Unit, bool> {
        let mut drawing = BTreeMap::new();
        for view in View::ALL {
            let (axes, depth) = (view.axes(), view.depth_axis());
            let n = blocks.size();
            for (i, j, k) in iproduct!(0..=n[axes[0]], 0..=n[axes[1]], 0..2) {
                if [i, j][k] < n[axes[k]] {
                    let kinds = unit_kinds(blocks, [axes[0], axes[1], depth], ([i, j], k), view);
                    if let Some(visible) = kinds.into_iter().max() {
                        drawing.insert((view.index(), [i, j], k), visible);
                    }
                }
            }
        }
        drawing
    }

    /// For each sharp unit edge over a step of the view, whether nothing filled stands strictly in front.
    fn unit_kinds(
        blocks: &Blocks,
        [right, up, depth]: [usize; 3],
        (at, along): ([usize; 2], usize),
        view: View,
    ) -> Vec<bool> {
        let filled = |side: isize, layer: isize| {
            let mut cell = [0; 3];
            (cell[right], cell[up], cell[depth]) = (at[0] as isize, at[1] as isize, layer);
            cell[[up, right][along]] += side;
            blocks.at(cell)
        };
        let layers = blocks.size()[depth] as isize;
        let sharp = |level: isize| {
            let four = [
                filled(-1, level - 1),
                filled(0, level - 1),
                filled(0, level),
                filled(-1, level),
            ];
            let changes = (0..4).filter(|k| four[*k] != four[(k + 1) % 4]).count();
            let count = four.iter().filter(|f| **f).count();
            changes == 2 && count != 2
        };
        let solid = |layer: &isize| filled(-1, *layer) && filled(0, *layer);
        let clear = |level: isize| match view.nearness(1.0) > 0.0 {
            true => !(level..layers).any(|l| solid(&l)),
            false => !(0..level).any(|l| solid(&l)),
        };
        (0..=layers)
            .filter(|level| sharp(*level))
            .map(clear)
            .collect()
    }

    /// The engine's drawing of the same blocks, cut into unit steps.
    fn projected(blocks: &Blocks) -> BTreeMap<Unit, bool> {
        let solid = blocks.solid();
        let mut drawing = BTreeMap::new();
        for view in View::ALL {
            for s in project(&solid, &Frame::of_view(view)) {
                let [a, b] = [s.from, s.to].map(|p| p.map(|x| (x / 10.0).round() as usize));
                let along = usize::from(a[0] == b[0]);
                for step in a[along].min(b[along])..a[along].max(b[along]) {
                    let mut at = a;
                    at[along] = step;
                    *drawing.entry((view.index(), at, along)).or_insert(false) |= s.visible;
                }
            }
        }
        drawing
    }

    #[test]
    fn drawings_of_random_blocks_agree_with_the_definition() {
        for blocks in Dice(4).pieces(500) {
            assert_eq!(projected(&blocks), unit_drawing(&blocks), "{blocks:?}");
        }
    }

    #[test]
    fn large_drawings_agree_with_the_definition() {
        let mut dice = Dice(5);
        for _ in 0..2 {
            // Bumps of random height on a plate: always one sound piece, and enough lines for the tree.
            let n = [24, 24, 4];
            let heights: Vec<usize> = (0..n[0] * n[1]).map(|_| dice.roll(3)).collect();
            let filled = (0..n.iter().product::<usize>())
                .map(|c| c / (n[0] * n[1]) <= heights[c % (n[0] * n[1])] / 2)
                .collect();
            let blocks = Blocks::cubes(n, filled);
            let solid = blocks.solid();
            assert!(solid.edges.len() > 300);
            assert_eq!(projected(&blocks), unit_drawing(&blocks));
        }
    }

    /// Whether a line of sight from a point meets a triangle of the surface in front of it, by testing them all.
    fn is_behind(triangles: &[[P3; 3]], point: &P3, towards: &V3) -> bool {
        triangles.iter().any(|[a, b, c]| {
            // Solves point + towards t = a + (b - a) u + (c - a) v.
            let columns = nalgebra::Matrix3::from_columns(&[b - a, c - a, -towards]);
            let solved = columns.try_inverse().map(|inverse| inverse * (point - a));
            solved.is_some_and(|s| s.x > 0.0 && s.y > 0.0 && s.x + s.y < 1.0 && s.z > 1e-9)
        })
    }

    #[test]
    fn pictures_from_any_side_agree_with_lines_of_sight() {
        // No two edges or faces of a block solid line up in this frame.
        let frame = Frame::of_axes([[0.9, -0.41], [0.71, 0.53], [0.03, 1.07]]);
        let mut counts = [0, 0];
        for solid in Dice(15).pieces(60).map(|b| b.solid()).chain([pyramid(
            &rectangle([0.0, 0.0], [20.0, 31.0]),
            [3.0, 7.0, 30.0],
        )]) {
            let mesh = solid.to_mesh();
            let corners = |t: &[u32; 3]| t.map(|v| solid.vertices[v as usize]);
            let triangles: Vec<[P3; 3]> = mesh.triangles.iter().map(corners).collect();
            for stroke in project(&solid, &frame) {
                let [a, b] = solid.edges[stroke.edge as usize]
                    .ends
                    .map(|v| solid.vertices[v as usize]);
                let (start, end) = (frame.at(&a), frame.at(&b));
                for share in [0.003, 0.377, 0.641, 0.998] {
                    let at = V2::from(stroke.from).lerp(&V2::from(stroke.to), share);
                    let along = (at - start).dot(&(end - start)) / (end - start).norm_squared();
                    let hidden = is_behind(&triangles, &(a + (b - a) * along), &frame.towards);
                    assert_eq!(stroke.visible, !hidden, "{stroke:?} at {share}");
                    counts[usize::from(hidden)] += 1;
                }
            }
        }
        assert!(counts.iter().all(|n| *n > 2000), "{counts:?}");
    }

    #[test]
    fn a_view_shows_the_near_face_of_a_block_once() {
        let solid = block([40.0, 20.0, 30.0]);
        assert_eq!(
            drawn(&solid, View::Right),
            ["0,0 0,30", "0,0 20,0", "0,30 20,30", "20,0 20,30"]
        );
    }
}
