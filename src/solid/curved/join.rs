//! Makes one patch of neighbours in one plane, as a person sees them; edges with the same patch on both sides go.

use super::{CurvedSolid, Patch, Step};
use itertools::Itertools;
use petgraph::unionfind::UnionFind;
use rustc_hash::{FxHashMap, FxHashSet};

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
        let mut faces: Vec<Patch> = members
            .iter()
            .map(|members| Patch {
                borders: self.borders_around(members, &stays),
                ..self.faces[members[0]].clone()
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

    /// The borders of some patches taken together, along the edges that stay, the outer one first.
    fn borders_around(&self, faces: &[usize], stays: &[bool]) -> Vec<Vec<Step>> {
        let all = faces.iter().flat_map(|face| &self.faces[*face].borders);
        let mut next: FxHashMap<Step, Step> = FxHashMap::default();
        for border in all.clone() {
            let pairs = border.iter().copied().circular_tuple_windows();
            next.extend(pairs.map(|(step, after): (Step, Step)| (step, after)));
        }
        let mut done: FxHashSet<Step> = FxHashSet::default();
        let mut borders: Vec<Vec<Step>> = Vec::new();
        for &first in all.flatten().filter(|step| stays[step.edge as usize]) {
            let mut border = Vec::new();
            let mut step = first;
            while done.insert(step) {
                border.push(step);
                step = next[&step];
                while !stays[step.edge as usize] {
                    step = next[&step.back()];
                }
            }
            if !border.is_empty() {
                borders.push(border);
            }
        }
        borders.sort_by(|a, b| self.width(b).total_cmp(&self.width(a)));
        borders
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

impl Step {
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
