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

#[cfg(test)]
mod tests {
    use crate::solid::curved::CurvedSolid;
    use crate::solid::curved::crossings::crossing;
    use crate::solid::curved::shapes::{ball, cylinder, torus, washer};
    use crate::{PictureKind, PictureOptions};

    /// The commands of the visible and of the hidden path: letter and numbers.
    fn commands(solid: &CurvedSolid, kind: PictureKind, class: &str) -> Vec<(char, Vec<f64>)> {
        let options = PictureOptions {
            hidden: true,
            ..PictureOptions::default()
        };
        let svg = solid.to_picture(kind, &options);
        let sheet = roxmltree::Document::parse(&svg).unwrap();
        let path = sheet
            .descendants()
            .find(|n| n.attribute("class") == Some(class));
        let text = path.and_then(|n| n.attribute("d")).unwrap_or_default();
        let starts: Vec<usize> = text
            .match_indices(char::is_alphabetic)
            .map(|m| m.0)
            .collect();
        let ends = starts.iter().skip(1).copied().chain([text.len()]);
        starts
            .iter()
            .zip(ends)
            .map(|(from, to)| {
                let numbers = text[from + 1..to].split(' ').map(|n| n.parse().unwrap());
                (text[*from..].chars().next().unwrap(), numbers.collect())
            })
            .collect()
    }

    fn near(a: f64, b: f64) -> bool {
        (a - b).abs() < 0.002
    }

    /// With all axes in full length a circle of diameter d shows with axes of 1.22 d and 0.71 d (ISO 5456-3), that is
    /// the roots of 3/2 and 1/2; one that lies flat with the larger one level.
    #[test]
    fn an_upright_cylinder_has_an_ellipse_on_top_and_two_tangent_contours() {
        // 20 mm across, at scale 2:1.
        let visible = commands(&cylinder(2, 10.0, 30.0), PictureKind::Isometric, "visible");
        let (rx, ry) = (20.0 * 1.5_f64.sqrt(), 20.0 * 0.5_f64.sqrt());
        let arcs: Vec<&Vec<f64>> = visible
            .iter()
            .filter(|c| c.0 == 'A')
            .map(|c| &c.1)
            .collect();
        // The top in four pieces, cut where the contours end; of the bottom what is in front.
        assert!(arcs.len() >= 6, "{visible:?}");
        for arc in &arcs {
            assert!(
                near(arc[0], rx) && near(arc[1], ry) && near(arc[2] % 180.0, 0.0),
                "{arc:?}"
            );
        }
        let middle = 5.0 + rx;
        let lines: Vec<[f64; 3]> = visible
            .windows(2)
            .filter(|pair| pair[0].0 == 'M' && pair[1].0 == 'L')
            .map(|pair| {
                [
                    pair[0].1[0],
                    pair[1].1[0],
                    (pair[0].1[1] - pair[1].1[1]).abs(),
                ]
            })
            .collect();
        assert_eq!(lines.len(), 2, "{visible:?}");
        for [from, to, length] in lines {
            // Upright, as far from the middle as the ellipses reach, from one of their ends to the other.
            assert!(near(from, to) && near((from - middle).abs(), rx) && near(length, 60.0));
        }
    }

    /// In true shape, as the front is (ISO 5456-3).
    #[test]
    fn an_oblique_picture_shows_circles_of_the_front_as_circles() {
        for kind in [PictureKind::Cavalier, PictureKind::Cabinet] {
            let visible = commands(&washer(6.0, 12.0, 5.0), kind, "visible");
            let flat = visible.iter().filter(|c| c.0 == 'A');
            assert!(flat.clone().count() > 0 && flat.clone().all(|c| c.1[0] > c.1[1] + 1.0));
            let lying = cylinder(1, 10.0, 15.0);
            let arcs = commands(&lying, kind, "visible")
                .into_iter()
                .filter(|c| c.0 == 'A');
            assert!(arcs.clone().count() >= 4);
            for (_, arc) in arcs {
                assert!(near(arc[0], arc[1]), "{arc:?}");
            }
        }
    }

    /// An isometric picture enlarges everything by the root of 3/2, so a ball's circle as well.
    #[test]
    fn a_ball_shows_one_round_line_and_nothing_hidden() {
        let visible = commands(&ball(10.0), PictureKind::Isometric, "visible");
        let strokes = visible.iter().filter(|c| c.0 == 'M').count();
        assert_eq!(strokes, 1, "{visible:?}");
        let radius = 10.0 * 1.5_f64.sqrt() * 5.0;
        assert!(
            visible[1..]
                .iter()
                .all(|c| c.0 == 'A' && near(c.1[0], radius) && near(c.1[1], radius)),
            "{visible:?}"
        );
        assert!(commands(&ball(10.0), PictureKind::Isometric, "hidden").is_empty());
    }

    #[test]
    fn other_curves_are_beziers_not_polygons() {
        // The crossing cylinders show two contours each at most.
        for (solid, most, straight) in [(torus(2, 11.0, 4.0), 80, 0), (crossing(3.0, 5.0), 40, 4)] {
            for kind in PictureKind::ALL {
                let visible = commands(&solid, kind, "visible");
                let curves = visible.iter().filter(|c| c.0 == 'C').count();
                let lines = visible.iter().filter(|c| c.0 == 'L').count();
                assert!(curves > 4 && curves < most, "{curves}");
                assert!(lines <= straight, "{visible:?}");
            }
        }
    }
}
