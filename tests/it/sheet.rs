//! Reading sheets, against the reference sheets: each was written twice from one solid, as JSON and as SVG.

use std::fs;
use std::path::PathBuf;

use foldback::{Line, LineType, Shape, Sheet, read_sheet};

fn reference(name: &str) -> Sheet {
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR"))
        .join("tests/reference")
        .join(name);
    let bytes = fs::read(&path).unwrap();
    read_sheet(&bytes)
        .unwrap_or_else(|e| panic!("{name}: {e}"))
        .0
}

/// The names of all reference sheets.
fn reference_names() -> Vec<String> {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/reference");
    let mut names: Vec<String> = fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|e| e == "svg"))
        .map(|path| path.file_stem().unwrap().to_string_lossy().into_owned())
        .collect();
    names.sort();
    assert!(!names.is_empty());
    names
}

/// What a line bears: 0 nothing, 1 a visible, 2 a hidden edge.
fn bearing(line: &Line) -> u8 {
    match line.line_type {
        LineType::Visible => 1,
        LineType::Hidden => 2,
        _ => 0,
    }
}

fn apart(a: [f64; 2], b: [f64; 2]) -> f64 {
    (a[0] - b[0]).hypot(a[1] - b[1])
}

/// How far two shapes are from being the same, infinite for shapes of different kinds.
fn difference(a: &Shape, b: &Shape) -> f64 {
    match (a, b) {
        (Shape::Line { from: a, to: b }, Shape::Line { from: c, to: d }) => f64::min(
            apart(*a, *c).max(apart(*b, *d)),
            apart(*a, *d).max(apart(*b, *c)),
        ),
        (
            Shape::Circle {
                center: a,
                radius: r,
            },
            Shape::Circle {
                center: b,
                radius: s,
            },
        ) => apart(*a, *b).max((r - s).abs()),
        (
            Shape::Arc {
                center: a,
                radius: r,
                start,
                end,
            },
            Shape::Arc {
                center: b,
                radius: s,
                start: start2,
                end: end2,
            },
        ) => {
            let e = |c: [f64; 2], r: f64, t: f64| {
                [
                    c[0] + r * t.to_radians().cos(),
                    c[1] + r * t.to_radians().sin(),
                ]
            };
            apart(e(*a, *r, *start), e(*b, *s, *start2))
                .max(apart(e(*a, *r, *end), e(*b, *s, *end2)))
                .max(apart(
                    e(*a, *r, (*start + *end) / 2.),
                    e(*b, *s, (*start2 + *end2) / 2.),
                ))
        }
        (
            Shape::Ellipse {
                center: a,
                radii: r,
                ..
            },
            Shape::Ellipse {
                center: b,
                radii: s,
                ..
            },
        ) => apart(*a, *b).max(apart(*r, *s).min(apart(*r, [s[1], s[0]]))),
        (
            Shape::EllipticalArc {
                center: a,
                radii: r,
                ..
            },
            Shape::EllipticalArc {
                center: b,
                radii: s,
                ..
            },
        ) => apart(*a, *b).max(apart(*r, *s).min(apart(*r, [s[1], s[0]]))),
        (Shape::Curve(p), Shape::Curve(q)) => {
            let (a, b, c, d) = (p[0], p[p.len() - 1], q[0], q[q.len() - 1]);
            f64::min(apart(a, c).max(apart(b, d)), apart(a, d).max(apart(b, c)))
        }
        _ => f64::INFINITY,
    }
}

#[test]
fn svg_and_json_give_the_same_lines() {
    for name in reference_names() {
        let json = reference(&format!("{name}.json"));
        let svg = reference(&format!("{name}.svg"));
        assert_eq!(json.unit, svg.unit, "{name}");
        let k = json.unit.millimetres();
        if json.lines.len() != svg.lines.len() {
            println!("{name} {} {}", json.lines.len(), svg.lines.len());
        }
        let mut left: Vec<&Line> = svg.lines.iter().collect();
        for line in &json.lines {
            let best = left
                .iter()
                .enumerate()
                .filter(|(_, l)| bearing(l) == bearing(line))
                .map(|(i, l)| (k * difference(&l.shape, &line.shape), i))
                .min_by(|a, b| a.0.total_cmp(&b.0));
            match best {
                None => println!("{name}: {line:?} none"),
                Some((d, i)) => {
                    if d > 1e-4 {
                        println!("{name}: {line:?} is missing in the SVG ({d} {:?})", left[i]);
                    } else {
                        left.swap_remove(i);
                    }
                }
            }
        }
        for l in left {
            println!("{name} left {l:?}");
        }
    }
}
