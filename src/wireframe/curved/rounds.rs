//! Round stretches that lie in a plane across an axis: the view along that axis shows their true shape, and each of the
//! other two views shows them as a stretch of one row.

use super::Stretch;
use super::rows::{Row, Rows, shared, view_of};
use super::straight::point;
use crate::arrange::{Arrangement, Node, Run};
use crate::geom::arena::Id;
use crate::geom::axis::Axes;
use crate::geom::carrier::Carrier;
use crate::geom::conic::Conic;
use crate::geom::path::Path;
use crate::geom::tolerance::Tolerance;
use crate::geom::{Few, P2, V2};
use std::f64::consts::PI;

/// A longest chain of pieces on one circle or ellipse that is monotone in both coordinates of its view.
#[derive(Clone, Debug)]
pub(super) struct Bow {
    pub(super) run: Id<Run>,
    pub(super) carrier: u32,
    /// Its ends, in growing parameter.
    pub(super) nodes: [Id<Node>; 2],
}

/// All bows of a view.
pub(super) fn bows(view: &Arrangement) -> Vec<Bow> {
    let mut bows: Vec<Bow> = Vec::new();
    for (run, r) in view.runs.enumerate() {
        let Some(carrier) = r.carrier else { continue };
        if matches!(view.carriers[carrier as usize], Carrier::Free { .. }) {
            continue;
        }
        let mut way: Option<[bool; 2]> = None;
        for &piece in &r.pieces {
            let ends = view.pieces[piece].ends;
            // The ends may be at one height although the curve falls: close to an extreme they were taken as one place.
            let along = view.direction(piece, &view.middle(piece));
            let goes = [along.x > 0.0, along.y > 0.0];
            match bows.last_mut() {
                Some(last) if way == Some(goes) && last.nodes[1] == ends[0] => {
                    last.nodes[1] = ends[1];
                }
                _ => bows.push(Bow {
                    run,
                    carrier,
                    nodes: ends,
                }),
            }
            way = Some(goes);
        }
    }
    bows
}

impl Bow {
    /// The way of the bow through space at a depth.
    pub(super) fn path(&self, view: &Arrangement, depth: f64) -> Path {
        let [right, up] = view.view.axes();
        let axes = [right, up, view.view.depth_axis()];
        let lift = |p: &P2| point(axes, [p.x, p.y, depth]);
        let (center, [u, v]) = match &view.carriers[self.carrier as usize] {
            Carrier::Circle { center, radius } => (center, [V2::x() * *radius, V2::y() * *radius]),
            Carrier::Ellipse { center, axes } => (center, *axes),
            Carrier::Free { .. } => unreachable!("a bow is part of a circle or ellipse"),
        };
        let center = lift(center);
        let across = |w: V2| point(axes, [w.x, w.y, 0.0]).coords;
        let mut conic = Conic {
            center,
            u: across(u),
            v: across(v),
            from: 0.0,
            to: 0.0,
        };
        let ends = self.nodes.map(|n| lift(&view.nodes[n].at));
        [conic.from, conic.to] = ends.map(|p| conic.angle(&p));
        if conic.to < conic.from {
            conic.to += 2.0 * PI;
        }
        Path::bent(conic, ends)
    }
}

/// All round stretches.
pub(super) fn stretches(
    views: &[Arrangement; 3],
    axes: &Axes,
    rows: &Rows,
    tolerance: Tolerance,
) -> Vec<Stretch> {
    let mut found = Vec::new();
    for view in views {
        let depth = view.view.depth_axis();
        let [right, up] = view.view.axes();
        let [beside, above] = [right, up].map(|axis| view_of(axis, depth));
        let places = u32::try_from(axes.len(depth)).expect("fewer than 2^32 places");
        for bow in bows(view) {
            for place in 0..places {
                let (ones, others) = (rows.at(beside, depth, place), rows.at(above, depth, place));
                if ones.is_empty() && others.is_empty() {
                    continue;
                }
                let path = bow.path(view, axes.value(depth, place));
                let ones = below(ones, &path, right, tolerance);
                let others = below(others, &path, up, tolerance);
                for &one in &ones {
                    for &other in &others {
                        let spans = [(right, one), (up, other)];
                        let limits = spans.map(|(axis, row)| Some((axis, row?.span)));
                        let Some(path) =
                            within(&path, limits.into_iter().flatten(), tolerance.mm())
                        else {
                            continue;
                        };
                        let mut runs = [None; 3];
                        runs[view.view.index()] = Some(bow.run);
                        runs[beside.index()] = one.map(|row| row.run);
                        runs[above.index()] = other.map(|row| row.run);
                        found.push(Stretch {
                            path,
                            runs,
                            loose: false,
                        });
                    }
                }
            }
        }
    }
    found
}

/// The rows of a view below a path that the view sees from the side, along an axis: none needs to be there if the path gets
/// nowhere along it, as just beside an extreme. There the view sees it end-on.
fn below<'r>(
    rows: &'r [Row],
    path: &Path,
    axis: usize,
    tolerance: Tolerance,
) -> Few<Option<&'r Row>, 4> {
    let [a, b] = path.ends.map(|end| end[axis]);
    if (b - a).abs() <= tolerance.mm() {
        return [None].into_iter().collect();
    }
    rows.iter().map(Some).collect()
}

/// The part of a path whose coordinates lie within limits, if it is longer than `least`.
pub(super) fn within(
    path: &Path,
    limits: impl IntoIterator<Item = (usize, [f64; 2])>,
    least: f64,
) -> Option<Path> {
    let mut shares = [0.0_f64, 1.0_f64];
    let mut ends = path.ends;
    for (axis, span) in limits {
        let [a, b] = path.ends.map(|p| p[axis]);
        let inner = shared(span, [a.min(b), a.max(b)], 0.0)?;
        let rising = a < b;
        let [first, last] = if rising { inner } else { [inner[1], inner[0]] };
        if (first - a).abs() > least && path.at(axis, first) > shares[0] {
            (shares[0], ends[0]) = (path.at(axis, first), path.point_at(axis, first));
        }
        if (last - b).abs() > least && path.at(axis, last) < shares[1] {
            (shares[1], ends[1]) = (path.at(axis, last), path.point_at(axis, last));
        }
    }
    if shares[0] >= shares[1] || (ends[1] - ends[0]).norm() <= least {
        return None;
    }
    Some(if shares == [0.0, 1.0] {
        path.clone()
    } else {
        path.part(shares, ends)
    })
}
