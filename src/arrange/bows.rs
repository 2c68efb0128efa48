//! Bows: the longest connected stretches of drawn arc along one carrier in a view, before anything is cut.
//!
//! An element of a bow is one arc between two snapped ends; elements are monotone in both coordinates, and where arcs are
//! drawn twice there is one element for all of them.

use super::chain::Chain;
use crate::geom::carrier::Carrier;
use crate::geom::pairs::Bounds;
use crate::geom::tolerance::Tolerance;
use crate::geom::{P2, V2};
use crate::sheet::{Arc, Drawing, View};

/// One arc between snapped ends.
#[derive(Clone, Debug)]
pub(super) struct Element<'d> {
    pub(super) carrier: &'d Carrier,
    /// The carrier's place in the view's list.
    pub(super) which: u32,
    /// Its ends as axis places, in the direction in which the parameter grows.
    pub(super) ends: [[u32; 2]; 2],
    /// The same in millimetres.
    pub(super) at: [P2; 2],
    /// The parameters of its ends, the second not less than the first.
    pub(super) span: [f64; 2],
    /// Its course if the carrier is a sampled curve.
    pub(super) chain: Option<Chain>,
    /// Parameters from its start to its end in small steps, and the points there.
    pub(super) steps: Vec<(f64, P2)>,
}

/// A circle's or ellipse's arc is looked at in this many steps.
const STEPS: u32 = 8;

/// A connected stretch of arcs on one carrier.
#[derive(Clone, Debug)]
pub(super) struct Bow<'d> {
    /// The carrier's place in the view's list.
    pub(super) carrier: u32,
    /// Whether it goes all the way round.
    pub(super) closed: bool,
    /// Its elements by how far from its start they begin; they may overlap.
    pub(super) elements: Vec<Element<'d>>,
    /// The arcs it is made of, as places in the view's list.
    pub(super) arcs: Vec<u32>,
}

impl<'d> Element<'d> {
    fn new(drawing: &'d Drawing, view: View, arc: &Arc) -> Self {
        let carrier = &drawing.carriers[view.index()][arc.carrier as usize];
        let ends = [arc.from, arc.to];
        let at: [P2; 2] = ends.map(|end| drawing.at(view, end).into());
        let [start, end] = at.map(|p| carrier.parameter(&p));
        let mut span = [start, carrier.onward(start, end)];
        // A hair's breadth of arc may seem to end before it starts.
        if carrier
            .period()
            .is_some_and(|p| span[1] - span[0] > 0.75 * p)
            || span[1] < span[0]
        {
            span[1] = span[0];
        }
        let chain = match carrier {
            Carrier::Free { .. } => Some(Chain::new(carrier, span, at)),
            _ => None,
        };
        let [start, end] = span;
        let place = |k: u32| start + (end - start) * f64::from(k) / f64::from(STEPS);
        let steps = match &chain {
            Some(chain) => (chain.parameters().iter())
                .map(|&t| (t, chain.point(t)))
                .collect(),
            None => (0..=STEPS)
                .map(|k| (place(k), carrier.point(place(k))))
                .collect(),
        };
        Element {
            carrier,
            which: arc.carrier,
            ends,
            at,
            span,
            chain,
            steps,
        }
    }

    /// The box around it, larger by the tolerance on all sides; a monotone arc reaches no farther than its ends, or than
    /// the curve does where the ends were moved.
    pub(super) fn bounds(&self, tolerance: Tolerance) -> Bounds<2> {
        let on_curve = self.span.map(|t| self.carrier.point(t));
        let points = [self.at[0], self.at[1], on_curve[0], on_curve[1]];
        let (lo, hi) = points
            .iter()
            .fold((points[0], points[0]), |(lo, hi), p| (lo.inf(p), hi.sup(p)));
        let margin = V2::new(tolerance.mm(), tolerance.mm());
        let (lo, hi) = (lo - margin, hi + margin);
        [[lo.x, lo.y], [hi.x, hi.y]]
    }

    /// How far from its start a parameter lies: negative if it is rather before the start than beyond the end.
    pub(super) fn onward(&self, parameter: f64) -> f64 {
        let on = self.carrier.onward(self.span[0], parameter) - self.span[0];
        match self.carrier.period() {
            Some(period) if on > 0.5 * (period + self.span[1] - self.span[0]) => on - period,
            _ => on,
        }
    }
}

/// All bows of a view, in a fixed order.
pub(super) fn bows(drawing: &Drawing, view: View) -> Vec<Bow<'_>> {
    let arcs = &drawing.arcs[view.index()];
    let mut order: Vec<u32> = (0..).take(arcs.len()).collect();
    let key = |i: u32| {
        let arc = &arcs[i as usize];
        (arc.carrier, arc.from, arc.to)
    };
    order.sort_by_key(|&i| key(i));
    let mut bows = Vec::new();
    for on_carrier in order.chunk_by(|a, b| key(*a).0 == key(*b).0) {
        let parts = on_carrier.chunk_by(|a, b| key(*a) == key(*b));
        let parts = parts.map(|same| Part {
            element: Element::new(drawing, view, &arcs[same[0] as usize]),
            arcs: same.to_vec(),
        });
        bows.extend(connected(parts.collect()));
    }
    bows
}

/// An element and the arcs it stands for.
struct Part<'d> {
    element: Element<'d>,
    arcs: Vec<u32>,
}

/// Groups the parts on one carrier that overlap or touch.
fn connected(mut parts: Vec<Part>) -> Vec<Bow> {
    parts.sort_by(|a, b| a.element.span[0].total_cmp(&b.element.span[0]));
    let period = parts[0].element.carrier.period();
    let mut groups: Vec<Group> = Vec::new();
    for part in parts {
        match groups.last_mut() {
            Some(group) if group.reaches(&part.element, 0.0) => group.add(part),
            _ => groups.push(Group::new(part)),
        }
    }
    // Over the seam the last group may go on as the first.
    let Some(period) = period else {
        return groups.into_iter().map(|g| g.bow(false)).collect();
    };
    let mut closed = false;
    if let Some(last) = groups.pop() {
        let first = groups.first().unwrap_or(&last);
        let meets = last.reaches(&first.parts[0].element, period);
        match (meets, groups.is_empty()) {
            (true, false) => {
                let first = groups.remove(0);
                let mut joined = last;
                first.parts.into_iter().for_each(|part| joined.add(part));
                groups.push(joined);
            }
            (meets, _) => {
                closed = meets;
                groups.push(last);
            }
        }
    }
    groups.into_iter().map(|g| g.bow(closed)).collect()
}

/// Parts that follow one another.
struct Group<'d> {
    parts: Vec<Part<'d>>,
    /// The farthest end so far: its parameter and its places.
    reach: (f64, [u32; 2]),
}

impl<'d> Group<'d> {
    fn new(part: Part<'d>) -> Self {
        Group {
            reach: (part.element.span[1], part.element.ends[1]),
            parts: vec![part],
        }
    }

    /// Whether an element, shifted by `period`, starts before the farthest end or at its node.
    fn reaches(&self, element: &Element, period: f64) -> bool {
        element.ends[0] == self.reach.1 || element.span[0] + period < self.reach.0
    }

    fn add(&mut self, part: Part<'d>) {
        if part.element.span[1] > self.reach.0 || part.element.ends[0] == self.reach.1 {
            self.reach = (part.element.span[1], part.element.ends[1]);
        }
        self.parts.push(part);
    }

    fn bow(self, closed: bool) -> Bow<'d> {
        let arcs = self.parts.iter().flat_map(|p| p.arcs.iter().copied());
        Bow {
            carrier: self.parts[0].element.which,
            closed,
            arcs: arcs.collect(),
            elements: self.parts.into_iter().map(|p| p.element).collect(),
        }
    }
}
