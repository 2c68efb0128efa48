//! Sorts out the strokes of a drawing: what coincides is there once, visible before hidden.
//!
//! Strokes on one straight line are joined where they touch or overlap, and hidden ones give way to visible ones. Then
//! drawings can be compared, and in pictures the dashes of edges behind each other do not fill each other's gaps.

use crate::geom::V2;

/// Two directions, as unit vectors, that differ by less are one.
pub(super) const ONE_DIRECTION: f64 = 1e-6;

/// Two parallel lines nearer than this share of the drawing's size are one: finer than any pen.
const ONE_LINE: f64 = 1e-6;

/// The lines of a drawing, from end to end; those of a kind do not overlap, and the hidden ones not the visible ones.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Lines {
    pub(crate) visible: Vec<[V2; 2]>,
    pub(crate) hidden: Vec<[V2; 2]>,
}

impl Lines {
    /// Of strokes given as their ends and whether they are visible.
    pub(crate) fn of(strokes: impl Iterator<Item = ([[f64; 2]; 2], bool)> + Clone) -> Self {
        let largest = |size: f64, [x, y]: [f64; 2]| size.max(x.abs()).max(y.abs());
        let size = strokes
            .clone()
            .flat_map(|(ends, _)| ends)
            .fold(0.0, largest);
        let slack = size * ONE_LINE;
        let mut spans: Vec<Span> = strokes
            .map(|(ends, visible)| Span::of(ends, visible, slack))
            .collect();
        spans.sort_unstable_by(|a, b| a.carrier.cmp(&b.carrier).then(a.start.total_cmp(&b.start)));
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
    fn of(ends: [[f64; 2]; 2], visible: bool, slack: f64) -> Self {
        let [mut from, mut to] = ends.map(V2::from);
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
            visible,
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
#[allow(
    clippy::cast_possible_truncation,
    reason = "numbers in tests are small"
)]
mod tests {
    use super::*;

    fn rounded(lines: &[[V2; 2]]) -> Vec<[[i64; 2]; 2]> {
        lines
            .iter()
            .map(|l| l.map(|p| [p.x.round() as i64, p.y.round() as i64]))
            .collect()
    }

    #[test]
    fn hidden_lines_give_way_to_visible_ones_and_join() {
        let lines = Lines::of(
            [
                ([[0.0, 0.0], [30.0, 30.0]], false),
                ([[50.0, 50.0], [20.0, 20.0]], false),
                ([[10.0, 10.0], [15.0, 15.0]], true),
                ([[0.0, 1.0], [30.0, 31.0]], false),
            ]
            .into_iter(),
        );
        assert_eq!(rounded(&lines.visible), [[[10, 10], [15, 15]]]);
        let expected = [[[0, 0], [10, 10]], [[15, 15], [50, 50]], [[0, 1], [30, 31]]];
        assert_eq!(rounded(&lines.hidden), expected);
    }

    #[test]
    fn upright_strokes_join_whichever_way_they_run() {
        let lines = Lines::of(
            [
                ([[7.0, 20.0], [7.0, 10.0]], true),
                ([[7.0, 0.0], [7.0, 10.0]], true),
                ([[7.0, 30.0], [7.0, 25.0]], true),
            ]
            .into_iter(),
        );
        assert_eq!(
            rounded(&lines.visible),
            [[[7, 0], [7, 20]], [[7, 25], [7, 30]]]
        );
        assert!(lines.hidden.is_empty());
    }
}
