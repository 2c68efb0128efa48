//! Makes one patch of neighbours in one plane, as a person sees them; edges with the same patch on both sides go.

use super::{CurvedSolid, Patch, Step};
use itertools::Itertools;
use petgraph::unionfind::UnionFind;

impl CurvedSolid {
    /// The same solid with neighbouring patches of one plane joined. Its smooth edges are marked.
    pub(crate) fn with_whole_planes(self) -> Self {
        let mut joined = UnionFind::<usize>::new(self.faces.len());
        for edge in self.edges.iter().filter(|e| e.smooth) {
            let pair = edge.faces.map(|f| f as usize);
            if one_plane(pair.map(|f| &self.faces[f])) {
                joined.union(pair[0], pair[1]);
            }
        }
        self.joined(&joined.into_labeling())
    }

    /// The same solid with all patches of a label as one: edges between two of these go, as do edges that have one patch
    /// on both sides, and corners without edges. Patches of one label lie in one surface and face the same way.
    pub(super) fn joined(mut self, labels: &[usize]) -> Self {
        let stays: Vec<bool> = (self.edges.iter())
            .map(|e| labels[e.faces[0] as usize] != labels[e.faces[1] as usize])
            .collect();
        if stays.iter().all(|stays| *stays) {
            return self;
        }
        let mut members: Vec<Vec<usize>> = vec![Vec::new(); labels.len()];
        for (face, label) in labels.iter().enumerate() {
            members[*label].push(face);
        }
        members.retain(|faces| !faces.is_empty());
        members.sort_unstable();
        let mut walk = Walk::on(&self, &stays);
        let mut faces: Vec<Patch> = members
            .iter()
            .map(|members| Patch {
                borders: walk.borders_around(members),
                ..self.faces[members[0]]
            })
            .collect();
        let edge_numbers = kept(&mut self.edges, &stays);
        let mut at_edge = vec![false; self.vertices.len()];
        for end in self.edges.iter().flat_map(|e| e.ends) {
            at_edge[end as usize] = true;
        }
        let vertex_numbers = kept(&mut self.vertices, &at_edge);
        for edge in &mut self.edges {
            edge.ends = edge.ends.map(|v| vertex_numbers[v as usize]);
        }
        for (number, patch) in (0..).zip(&mut faces) {
            for step in patch.borders.iter_mut().flatten() {
                step.edge = edge_numbers[step.edge as usize];
                self.edges[step.edge as usize].faces[usize::from(!step.forward)] = number;
            }
        }
        CurvedSolid { faces, ..self }
    }

    /// How far a border extends, in millimetres.
    fn width(&self, border: &[Step]) -> f64 {
        let boxes = border
            .iter()
            .map(|step| self.edges[step.edge as usize].path.bounds());
        let all = boxes.reduce(|[a, b], [c, d]| [a.inf(&c), b.sup(&d)]);
        all.map_or(0.0, |[low, high]| (high - low).norm())
    }
}

/// Goes round patches along the edges that stay.
struct Walk<'s> {
    solid: &'s CurvedSolid,
    stays: &'s [bool],
    /// The step after each one on its border, and whether a border has been made with it; by [`Step::place`].
    next: Vec<Step>,
    done: Vec<bool>,
}

impl<'s> Walk<'s> {
    fn on(solid: &'s CurvedSolid, stays: &'s [bool]) -> Self {
        let nowhere = Step {
            edge: u32::MAX,
            forward: false,
        };
        let mut next = vec![nowhere; 2 * stays.len()];
        for border in solid.faces.iter().flat_map(|face| &face.borders) {
            let pairs = border.iter().copied().circular_tuple_windows();
            pairs.for_each(|(step, after): (Step, Step)| next[step.place()] = after);
        }
        Walk {
            solid,
            stays,
            done: vec![false; next.len()],
            next,
        }
    }

    /// The borders of some patches taken together, the outer one first.
    fn borders_around(&mut self, faces: &[usize]) -> Vec<Vec<Step>> {
        let all = faces
            .iter()
            .flat_map(|face| &self.solid.faces[*face].borders);
        let mut borders: Vec<Vec<Step>> = Vec::new();
        for &first in all.flatten().filter(|step| self.stays[step.edge as usize]) {
            let mut border = Vec::new();
            let mut step = first;
            while !std::mem::replace(&mut self.done[step.place()], true) {
                border.push(step);
                step = self.next[step.place()];
                while !self.stays[step.edge as usize] {
                    step = self.next[step.back().place()];
                }
            }
            if !border.is_empty() {
                borders.push(border);
            }
        }
        let width = |border: &Vec<Step>| self.solid.width(border);
        borders.sort_by(|a, b| width(b).total_cmp(&width(a)));
        borders
    }
}

impl Step {
    /// A number of its own, for side tables.
    fn place(self) -> usize {
        2 * self.edge as usize + usize::from(self.forward)
    }

    fn back(self) -> Self {
        Step {
            forward: !self.forward,
            ..self
        }
    }
}

/// Takes out of a list what does not stay. The new places, by the old ones.
fn kept<T>(list: &mut Vec<T>, stays: &[bool]) -> Vec<u32> {
    let mut left = 0;
    let places = (stays.iter())
        .map(|stays| {
            left += u32::from(*stays);
            left - u32::from(*stays)
        })
        .collect();
    let mut stays = stays.iter();
    list.retain(|_| stays.next() == Some(&true));
    places
}

/// Whether two patches face the same way in the same plane, to the last bit: parts of one candidate plane do.
fn one_plane([f, g]: [&Patch; 2]) -> bool {
    f.surface.is_plane() && f.surface == g.surface && f.outward == g.outward && f.shell == g.shell
}
