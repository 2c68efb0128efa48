//! Cuts stretches where they meet in space, into parts that meet at their ends only.

use super::corners::Corners;
use super::meets::{TIGHT, meets, share_near};
use super::{ALONG, Stretch};
use crate::arrange::{Arrangement, Piece, Run};
use crate::geom::arena::Id;
use crate::geom::crowded::CrowdedError;
use crate::geom::pairs::{Bounds, BoxIndex, overlapping};
use crate::geom::path::{Course, Path};
use crate::geom::tolerance::Tolerance;
use crate::geom::{Few, P2, P3, V2};
use crate::wireframe::Vertex;
use rustc_hash::FxHashMap;

/// More corners than this are not looked into.
const MOST_CORNERS: usize = 60_000;

/// A part of a stretch between two corners.
#[derive(Clone, Debug)]
pub(super) struct Part {
    pub(super) ends: [Id<Vertex>; 2],
    pub(super) path: Path,
    /// The runs it is known to lie over in each view; several where lines lie within the tolerance of each other.
    pub(super) runs: [Few<Id<Run>, 1>; 3],
    /// Other paths that are this part within the tolerance and of which some run is not known.
    pub(super) beside: Vec<Path>,
}

/// Where a stretch is cut: the share of its way, and the corner there.
type Cut = (f64, Id<Vertex>);

/// The cuts of a stretch.
type Cuts = Few<Cut, 8>;

/// The corners and the parts between them, each part once.
///
/// # Errors
/// If there are too many corners.
pub(super) fn cut(
    views: &[Arrangement; 3],
    stretches: Vec<Stretch>,
    tolerance: Tolerance,
) -> Result<(Vec<P3>, Vec<Part>), CrowdedError> {
    let reach = tolerance.mm();
    let boxes: Vec<Bounds<3>> = stretches
        .iter()
        .map(|s| {
            let [low, high] = s.path.bounds();
            [
                [low.x - reach, low.y - reach, low.z - reach],
                [high.x + reach, high.y + reach, high.z + reach],
            ]
        })
        .collect();
    let mut corners = Corners::new(2.0 * reach);
    let mut cuts = meeting_cuts(&stretches, &boxes, &mut corners, reach)?;
    let run_ends = [0, 1, 2].map(|v| RunEnds::of(&views[v]));
    for (stretch, cuts) in stretches.iter().zip(&mut cuts) {
        if stretch.loose {
            cuts.extend(ends(stretch, &mut corners));
        }
        for end in run_ends.iter().flat_map(|ends| ends.along(stretch, reach)) {
            cuts.push((end, corners.at(stretch.path.point(end))));
        }
    }
    cut_alike(&stretches, &boxes, &corners, &mut cuts, reach);
    let parts = parts(stretches, &corners, cuts, reach);
    Ok((corners.points, parts))
}

/// The cuts where stretches meet. Ends are known best, so crossings fall in with them where they can; loose ends are left
/// for later.
fn meeting_cuts(
    stretches: &[Stretch],
    boxes: &[Bounds<3>],
    corners: &mut Corners,
    reach: f64,
) -> Result<Vec<Cuts>, CrowdedError> {
    let firm = |s: &Stretch, corners: &mut Corners| {
        if s.loose {
            Cuts::new()
        } else {
            ends(s, corners).into_iter().collect()
        }
    };
    let mut cuts: Vec<Cuts> = stretches.iter().map(|s| firm(s, corners)).collect();
    for (i, j) in overlapping(boxes)? {
        let (i, j) = (i as usize, j as usize);
        let paths = [i, j].map(|k| &stretches[k].path);
        // A drawn row may end just beyond the curve it meets: that end is no corner of the curve.
        let fits = |at: &P3| paths.iter().all(|path| may_end_at(path, at, reach));
        for [s, t] in meets(paths[0], paths[1], reach) {
            let corner = corners.at_where(paths[0].point(s), fits);
            cuts[i].push((s, corner));
            cuts[j].push((t, corner));
        }
        if corners.points.len() > MOST_CORNERS {
            return Err(CrowdedError::Corners { most: MOST_CORNERS });
        }
    }
    Ok(cuts)
}

/// Whether a corner lies on a path within reach; where surfaces meet, the curve itself is only known about as well.
fn may_end_at(path: &Path, corner: &P3, reach: f64) -> bool {
    matches!(path.course, Course::Meeting(_)) || share_near(path, corner, reach).is_some()
}

/// Cuts stretches that run along each other alike.
fn cut_alike(
    stretches: &[Stretch],
    boxes: &[Bounds<3>],
    corners: &Corners,
    cuts: &mut [Cuts],
    reach: f64,
) {
    let points: Vec<Bounds<3>> = corners
        .points
        .iter()
        .map(|p| [p.coords.into(); 2])
        .collect();
    let index = BoxIndex::new(&points);
    for ((stretch, cuts), bounds) in stretches.iter().zip(cuts).zip(boxes) {
        index.touching(bounds, |number| {
            let corner = Id::new(number as usize);
            if cuts.iter().all(|(_, known)| *known != corner) {
                let share = share_near(&stretch.path, &corners.points[corner.ix()], TIGHT * reach);
                cuts.extend(share.map(|share| (share, corner)));
            }
        });
    }
}

/// The parts between neighbouring cuts; of several that are one within the tolerance, the first.
fn parts(stretches: Vec<Stretch>, corners: &Corners, cuts: Vec<Cuts>, reach: f64) -> Vec<Part> {
    let mut known: FxHashMap<[Id<Vertex>; 2], Vec<usize>> = FxHashMap::default();
    let mut parts: Vec<Part> = Vec::new();
    for (stretch, mut cuts) in stretches.into_iter().zip(cuts) {
        for (share, corner) in &mut cuts {
            // The same corner may have been met in several ways: its own place decides.
            let at = &corners.points[corner.ix()];
            *share = share_near(&stretch.path, at, 4.0 * reach).unwrap_or(*share);
        }
        cuts.sort_unstable_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        cuts.dedup_by_key(|(_, corner)| *corner);
        for pair in cuts.windows(2) {
            let [(s, a), (t, b)] = [pair[0], pair[1]];
            let ends = [a, b].map(|v| corners.points[v.ix()]);
            let part = Part {
                ends: [a, b],
                path: stretch.path.part([s, t], ends),
                runs: stretch.runs.map(|run| run.into_iter().collect()),
                beside: Vec::new(),
            };
            let same = known.entry([a.min(b), a.max(b)]).or_default();
            let twin = |k: &&usize| are_one(&parts[**k].path, &part.path, 2.0 * reach);
            if let Some(&twin) = same.iter().find(twin) {
                if part.runs.iter().any(Few::is_empty) && !alike(&parts[twin].path, &part.path) {
                    parts[twin].beside.push(part.path);
                }
                for (known, runs) in parts[twin].runs.iter_mut().zip(part.runs) {
                    known.extend(runs);
                    known.sort_unstable();
                    known.dedup();
                }
            } else {
                same.push(parts.len());
                parts.push(part);
            }
        }
    }
    parts
}

/// Whether two paths between the same corners are one: the middle of each lies on the other. The two middles need not lie
/// near each other, for a path found in another way may be divided into shares differently.
fn are_one(a: &Path, b: &Path, reach: f64) -> bool {
    let passes = |path: &Path, at: P3| share_near(path, &at, reach).is_some();
    passes(a, b.middle()) && passes(b, a.middle())
}

/// Whether two paths between the same corners are of one kind.
fn alike(a: &Path, b: &Path) -> bool {
    std::mem::discriminant(&a.course) == std::mem::discriminant(&b.course)
}

fn ends(stretch: &Stretch, corners: &mut Corners) -> [Cut; 2] {
    let [a, b] = stretch.path.ends.map(|end| corners.at(end));
    [(0.0, a), (1.0, b)]
}

/// Where the runs of a view begin and end: the points, and the pieces there.
struct RunEnds<'a> {
    view: &'a Arrangement,
    ends: Vec<(P2, Id<Piece>)>,
    index: BoxIndex<2>,
}

impl<'a> RunEnds<'a> {
    fn of(view: &'a Arrangement) -> Self {
        let of_run = |run: &Run| {
            let last = run.nodes.len() - 1;
            [(0, 0), (last, last - 1)]
                .map(|(node, piece)| (view.nodes[run.nodes[node]].at, run.pieces[piece]))
        };
        let ends: Vec<(P2, Id<Piece>)> = view.runs.iter().flat_map(of_run).collect();
        let boxes: Vec<Bounds<2>> = ends.iter().map(|(at, _)| [(*at).into(); 2]).collect();
        RunEnds {
            view,
            ends,
            index: BoxIndex::new(&boxes),
        }
    }

    /// The places on a stretch where drawn line that runs along it begins or ends.
    fn along(&self, stretch: &Stretch, reach: f64) -> Few<f64, 8> {
        let mut found = Few::new();
        if stretch.runs[self.view.view.index()].is_some() {
            return found;
        }
        let [right, up] = self.view.view.axes();
        let [low, high] = stretch.path.bounds();
        let bounds = [
            [low[right] - reach, low[up] - reach],
            [high[right] + reach, high[up] + reach],
        ];
        self.index.touching(&bounds, |number| {
            let (at, piece) = self.ends[number as usize];
            let along = self.view.direction(piece, &at);
            let share = share_seen(&stretch.path, [right, up], &at, reach);
            found.extend(share.filter(|&share| {
                let way = stretch.path.direction(share);
                let way = V2::new(way[right], way[up]);
                along.perp(&way).abs() <= ALONG * way.norm()
            }));
        });
        found
    }
}

/// The share of the way at which a path is seen at a point of a view.
fn share_seen(path: &Path, axes: [usize; 2], at: &P2, reach: f64) -> Option<f64> {
    if !path.is_near(axes, at, reach) {
        return None;
    }
    let [a, b] = path.ends;
    let wide = if (b[axes[0]] - a[axes[0]]).abs() >= (b[axes[1]] - a[axes[1]]).abs() {
        0
    } else {
        1
    };
    if (b[axes[wide]] - a[axes[wide]]).abs() <= reach {
        return None;
    }
    let share = path.at(axes[wide], at[wide]);
    share_near(path, &path.point(share), reach)
}
