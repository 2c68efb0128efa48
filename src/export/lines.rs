//! Sorts out the strokes of a picture: what coincides is drawn once, visible before hidden.
//!
//! Strokes on one straight line are joined where they touch or overlap, and hidden ones give way to visible ones. Without
//! that, the dashes of two hidden edges behind each other would fill each other's gaps.

use crate::geom::V2;
use crate::solid::project::Stroke;

/// Two directions, as unit vectors, that differ by less are one.
const ONE_DIRECTION: f64 = 1e-6;

/// Two parallel lines nearer than this share of the picture's size are one: finer than any pen.
const ONE_LINE: f64 = 1e-6;

/// The lines of a picture, from end to end; those of a kind do not overlap, and the hidden ones not the visible ones.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Lines {
    pub(super) visible: Vec<[V2; 2]>,
    pub(super) hidden: Vec<[V2; 2]>,
}

impl Lines {
    pub(super) fn of(strokes: &[Stroke]) -> Self {
        let size = strokes
            .iter()
            .flat_map(|s| [s.from, s.to])
            .fold(0.0, |size, p| {
                let [x, y]: [f64; 2] = p;
                x.abs().max(y.abs()).max(size)
            });
        let slack = size * ONE_LINE;
        let mut spans: Vec<Span> = strokes.iter().map(|s| Span::of(s, slack)).collect();
        spans.sort_by(|a, b| a.carrier.cmp(&b.carrier).then(a.start.total_cmp(&b.start)));
        let mut lines = Lines::default();
        for row in spans.chunk_by(|a, b| a.carrier == b.carrier) {
            let of_kind = |visible: bool| row.iter().filter(move |s| s.visible == visible);
            let visible = joined(of_kind(true), slack);
            for span in joined(of_kind(false), slack) {
                lines
                    .hidden
                    .extend(without(span, &visible, slack).iter().map(Span::ends));
            }
            lines.visible.extend(visible.iter().map(Span::ends));
        }
        lines
    }
}

/// A stroke as a part of a straight line.
#[derive(Clone, Copy, Debug)]
struct Span {
    /// Direction and offset of the line, rounded to whole steps.
    carrier: [i64; 3],
    /// The point of the line nearest to the origin, and its direction.
    foot: V2,
    along: V2,
    start: f64,
    end: f64,
    visible: bool,
}

impl Span {
    #[allow(clippy::cast_possible_truncation, reason = "rounded to whole steps")]
    fn of(stroke: &Stroke, slack: f64) -> Self {
        let [mut from, mut to] = [stroke.from, stroke.to].map(V2::from);
        let mut along = (to - from).normalize();
        // One line has one direction: to the right, or up if it is upright.
        if along.x < -ONE_DIRECTION || (along.x < ONE_DIRECTION && along.y < 0.0) {
            std::mem::swap(&mut from, &mut to);
            along = -along;
        }
        let across = V2::new(-along.y, along.x);
        let offset = across.dot(&from);
        let step = |x: f64, unit: f64| (x / unit).round() as i64;
        Span {
            carrier: [
                step(along.x, ONE_DIRECTION),
                step(along.y, ONE_DIRECTION),
                step(offset, slack),
            ],
            foot: across * offset,
            along,
            start: along.dot(&from),
            end: along.dot(&to),
            visible: stroke.visible,
        }
    }

    fn ends(&self) -> [V2; 2] {
        [self.start, self.end].map(|at| self.foot + self.along * at)
    }
}

/// Spans of one line, sorted by their start, joined where they touch.
fn joined<'a>(spans: impl Iterator<Item = &'a Span>, slack: f64) -> Vec<Span> {
    let mut joined: Vec<Span> = Vec::new();
    for span in spans {
        match joined.last_mut() {
            Some(last) if span.start <= last.end + slack => last.end = last.end.max(span.end),
            _ => joined.push(*span),
        }
    }
    joined
}

/// What is left of a span beside others on the same line, which are sorted and apart.
fn without(span: Span, others: &[Span], slack: f64) -> Vec<Span> {
    let (mut left, mut start) = (Vec::new(), span.start);
    for other in others {
        let end = other.start.min(span.end);
        if end > start + slack {
            left.push(Span { start, end, ..span });
        }
        start = start.max(other.end);
    }
    if span.end > start + slack {
        left.push(Span { start, ..span });
    }
    left
}

#[cfg(test)]
mod tests {
    use super::*;

    fn stroke(from: [f64; 2], to: [f64; 2], visible: bool) -> Stroke {
        Stroke {
            from,
            to,
            visible,
            edge: 0,
        }
    }

    fn rounded(lines: &[[V2; 2]]) -> Vec<[[i64; 2]; 2]> {
        lines
            .iter()
            .map(|l| l.map(|p| [p.x.round() as i64, p.y.round() as i64]))
            .collect()
    }

    #[test]
    fn hidden_lines_give_way_to_visible_ones_and_join() {
        let lines = Lines::of(&[
            stroke([0.0, 0.0], [30.0, 30.0], false),
            stroke([50.0, 50.0], [20.0, 20.0], false),
            stroke([10.0, 10.0], [15.0, 15.0], true),
            stroke([0.0, 1.0], [30.0, 31.0], false),
        ]);
        assert_eq!(rounded(&lines.visible), [[[10, 10], [15, 15]]]);
        let expected = [[[0, 0], [10, 10]], [[15, 15], [50, 50]], [[0, 1], [30, 31]]];
        assert_eq!(rounded(&lines.hidden), expected);
    }

    #[test]
    fn upright_strokes_join_whichever_way_they_run() {
        let lines = Lines::of(&[
            stroke([7.0, 20.0], [7.0, 10.0], true),
            stroke([7.0, 0.0], [7.0, 10.0], true),
            stroke([7.0, 30.0], [7.0, 25.0], true),
        ]);
        assert_eq!(
            rounded(&lines.visible),
            [[[7, 0], [7, 20]], [[7, 25], [7, 30]]]
        );
        assert!(lines.hidden.is_empty());
    }
}
