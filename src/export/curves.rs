//! Writes lines of a picture as SVG: straight ones as lines, circles and ellipses as elliptical arcs, other curves as cubic
//! Béziers. Pieces that run on smoothly into one another become one stroke, so that dashes go on round a circle.

use super::page::{Page, number, point, straight};
use crate::geom::num::{angle, direction_degrees, sin_cos};
use crate::geom::path::{Course, Path};
use crate::geom::{V2, V3};
use crate::solid::curved::contours::Way;
use crate::solid::lines::Lines;
use crate::solid::project::Frame;
use rustc_hash::FxHashMap;

/// How far a Bézier may be from its curve on paper, in millimetres; a tenth of the finest pen.
const OFF: f64 = 0.02;

/// No curve becomes more Béziers.
const MOST: u32 = 64;

/// An ellipse narrower than this on paper, in millimetres, is a straight line.
const FLAT: f64 = 1e-3;

/// Two pieces run on into one another if their directions differ by less; the sine of the angle.
const SMOOTH: f64 = 0.05;

/// Lines of one kind as path text.
pub(super) fn curves<'w>(
    ways: impl Iterator<Item = &'w Way> + Clone,
    frame: &Frame,
    page: &Page,
) -> String {
    let on_line = |way: &&Way| matches!(way, Way::Path(path) if path.is_straight());
    let ends = |way: &Way| [0.0, 1.0].map(|share| frame.at(&way.point(share)).into());
    let lines = ways.clone().filter(on_line).map(|way| (ends(way), true));
    let mut text = straight(&Lines::of(lines).visible, page);
    let pieces: Vec<Piece> = ways
        .filter(|way| !on_line(way))
        .flat_map(|way| pieces(way, frame, page))
        .filter(|piece| piece.ends(page)[0] != piece.ends(page)[1])
        .collect();
    for stroke in strokes(&pieces, page) {
        for (k, piece) in stroke.iter().enumerate() {
            if k == 0 {
                text += &format!("M{}", point(piece.ends(page)[0]));
            }
            text += &piece.command(page);
        }
    }
    text
}

/// A piece of a curve in the picture, unscaled.
#[derive(Clone, Debug)]
enum Piece {
    Line([V2; 2]),
    Arc(Ellipse),
    Bezier([V2; 4]),
}

/// A piece of an ellipse, half of it at most.
#[derive(Clone, Debug)]
struct Ellipse {
    ends: [V2; 2],
    /// Half the larger and half the smaller diameter.
    radii: [f64; 2],
    /// The direction of the larger, in degrees from the right.
    tilt: f64,
    /// Whether it runs counter-clockwise.
    ccw: bool,
    /// The directions at its ends.
    along: [V2; 2],
}

fn pieces(way: &Way, frame: &Frame, page: &Page) -> Vec<Piece> {
    match way {
        Way::Path(path) => match &path.course {
            Course::Straight => vec![Piece::Line(path.ends.map(|p| frame.at(&p)))],
            Course::Conic(_) => arc(path, frame, page),
            Course::Meeting(_) => beziers(way, frame, page),
        },
        Way::Tube(_) => beziers(way, frame, page),
    }
}

/// The picture of a circle or ellipse is an ellipse: its axes follow from the pictures of two radii (Rytz's construction
/// in numbers).
fn arc(path: &Path, frame: &Frame, page: &Page) -> Vec<Piece> {
    let Course::Conic(conic) = &path.course else {
        return Vec::new();
    };
    let image = |v: &V3| V2::new(frame.right.dot(v), frame.up.dot(v));
    let (u, v) = (image(&conic.u), image(&conic.v));
    let ends = path.ends.map(|p| frame.at(&p));
    let turn = 0.5 * angle(2.0 * u.dot(&v), u.norm_squared() - v.norm_squared());
    let (sin, cos) = sin_cos(turn);
    let major = u * cos + v * sin;
    let minor = u.perp(&v).abs() / major.norm();
    let onwards = (conic.to - conic.from).signum();
    if minor * page.scale.0 < FLAT {
        // Seen edge-on: out to where it turns back, if it does, and on to its end.
        let middle = frame.at(&path.middle());
        let straight = [[ends[0], middle], [middle, ends[1]]];
        return straight.into_iter().map(Piece::Line).collect();
    }
    vec![Piece::Arc(Ellipse {
        ends,
        radii: [major.norm(), minor],
        tilt: direction_degrees(major.x, major.y),
        ccw: u.perp(&v) * onwards > 0.0,
        along: [conic.from, conic.to].map(|t| image(&(conic.velocity(t) * onwards)).normalize()),
    })]
}

/// As many Béziers as it takes to stay near the curve.
fn beziers(way: &Way, frame: &Frame, page: &Page) -> Vec<Piece> {
    let mut count = 1;
    loop {
        let part = |k: u32| [k, k + 1].map(|k| f64::from(k) / f64::from(count));
        let all: Vec<(Piece, f64)> = (0..count).map(|k| bezier(way, part(k), frame)).collect();
        let off = all.iter().fold(0.0_f64, |most, (_, off)| most.max(*off));
        if off * page.scale.0 <= OFF || count >= MOST {
            return all.into_iter().map(|(piece, _)| piece).collect();
        }
        count *= 2;
    }
}

/// A Bézier with the curve's ends and directions there, its handles as long as on a circle of that turn; and how far its middle
/// is from the curve.
fn bezier(way: &Way, [from, to]: [f64; 2], frame: &Frame) -> (Piece, f64) {
    let at = |share: f64| frame.at(&way.point(share));
    let along = |share: f64| {
        let step = (to - from) * 1e-3;
        let span = [share - step, share + step].map(|s| at(s.clamp(from, to)));
        (span[1] - span[0])
            .try_normalize(0.0)
            .unwrap_or_else(V2::zeros)
    };
    let middle = 0.5 * (from + to);
    let (a, b) = (at(from), at(to));
    let [start, mid, end] = [from, middle, to].map(along);
    let half_turn = (0.5 * (1.0 + start.dot(&end)).max(0.0)).sqrt();
    let handle = (b - a).norm() / (1.5 * (1.0 + half_turn));
    let points = [a, a + start * handle, b - end * handle, b];
    let halfway = (points[0] + (points[1] + points[2]) * 3.0 + points[3]) / 8.0;
    (
        Piece::Bezier(points),
        mid.perp(&(halfway - at(middle))).abs(),
    )
}

impl Piece {
    /// Its ends on paper.
    fn ends(&self, page: &Page) -> [[i64; 2]; 2] {
        match self {
            Piece::Line(ends) => *ends,
            Piece::Arc(ellipse) => ellipse.ends,
            Piece::Bezier([a, _, _, b]) => [*a, *b],
        }
        .map(|end| page.place(end))
    }

    /// The directions at its ends.
    fn along(&self) -> [V2; 2] {
        match self {
            Piece::Line([a, b]) => [(b - a).normalize(); 2],
            Piece::Arc(ellipse) => ellipse.along,
            Piece::Bezier([a, b, c, d]) => {
                [b - a, d - c].map(|v| v.try_normalize(0.0).unwrap_or_else(V2::zeros))
            }
        }
    }

    fn reversed(&self) -> Self {
        match self {
            Piece::Line([a, b]) => Piece::Line([*b, *a]),
            Piece::Bezier([a, b, c, d]) => Piece::Bezier([*d, *c, *b, *a]),
            Piece::Arc(ellipse) => Piece::Arc(Ellipse {
                ends: [ellipse.ends[1], ellipse.ends[0]],
                ccw: !ellipse.ccw,
                along: [-ellipse.along[1], -ellipse.along[0]],
                ..ellipse.clone()
            }),
        }
    }

    /// The path command that draws it from its start; y runs down on paper.
    fn command(&self, page: &Page) -> String {
        let at = |p: &V2| point(page.place(*p));
        match self {
            Piece::Line([_, to]) => format!("L{}", at(to)),
            Piece::Bezier([_, b, c, d]) => format!("C{} {} {}", at(b), at(c), at(d)),
            Piece::Arc(ellipse) => {
                let [rx, ry] = ellipse.radii.map(|r| number(r * page.scale.0));
                let sweep = u8::from(!ellipse.ccw);
                let tilt = number(-ellipse.tilt);
                format!("A{rx} {ry} {tilt} 0 {sweep} {}", at(&ellipse.ends[1]))
            }
        }
    }
}

/// Pieces put together to strokes that run on smoothly.
fn strokes(pieces: &[Piece], page: &Page) -> Vec<Vec<Piece>> {
    let mut at: FxHashMap<[i64; 2], Vec<usize>> = FxHashMap::default();
    for (k, piece) in pieces.iter().enumerate() {
        for end in piece.ends(page) {
            at.entry(end).or_default().push(k);
        }
    }
    let mut used = vec![false; pieces.len()];
    // The piece that goes on from the end of another.
    let next = |last: &Piece, used: &[bool]| {
        let (end, along) = (last.ends(page)[1], last.along()[1]);
        let there = at.get(&end)?.iter().filter(|k| !used[**k]);
        let turned = there.map(|k| {
            let piece = &pieces[*k];
            let starts = piece.ends(page)[0] == end;
            (
                *k,
                if starts {
                    piece.clone()
                } else {
                    piece.reversed()
                },
            )
        });
        turned.into_iter().find(|(_, piece)| {
            let start = piece.along()[0];
            along.perp(&start).abs() < SMOOTH && along.dot(&start) > 0.0
        })
    };
    let mut all = Vec::new();
    for k in 0..pieces.len() {
        if std::mem::replace(&mut used[k], true) {
            continue;
        }
        // Back to the start of the stroke, then on from there.
        let mut stroke = vec![pieces[k].reversed()];
        for _ in 0..2 {
            while let Some((k, piece)) = stroke.last().and_then(|last| next(last, &used)) {
                used[k] = true;
                stroke.push(piece);
            }
            stroke = stroke.iter().rev().map(Piece::reversed).collect();
        }
        stroke.reverse();
        let stroke = stroke.iter().map(Piece::reversed).collect();
        all.push(stroke);
    }
    all
}
