//! Sheets written as SVG and read back.

use super::*;
use crate::geom::num::Diagonal;
use crate::{Options, Remark, RemarkKind, View, read_sheet, reconstruct};
use std::fs;
use std::path::{Path, PathBuf};

/// Coordinates come back in single precision, seven digits: this is a digit more than that leaves on a sheet of a metre.
const CLOSE: f64 = 1e-3;

fn folder(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join(name)
}

fn read(bytes: &[u8]) -> (Sheet, Vec<Remark>) {
    read_sheet(bytes).unwrap()
}

/// Every sheet of the samples, then every reference sheet, with its name.
fn sheets() -> Vec<(String, Sheet)> {
    let mut files: Vec<PathBuf> = fs::read_dir(folder("samples"))
        .unwrap()
        .flat_map(|entry| {
            ["sheet.json", "sheet.svg"].map(|name| entry.as_ref().unwrap().path().join(name))
        })
        .filter(|path| path.exists())
        .collect();
    let reference = fs::read_dir(folder("tests/reference")).unwrap();
    files.extend(reference.map(|entry| entry.unwrap().path()).filter(|path| {
        path.extension().is_some_and(|e| e == "json") && !path.ends_with("manifest.json")
    }));
    files.sort();
    assert!(files.len() > 100, "{}", files.len());
    let sheet = |path: PathBuf| {
        let sheet = read(&fs::read(&path).unwrap()).0;
        (path.display().to_string(), sheet)
    };
    files.into_iter().map(sheet).collect()
}

/// The lines with polylines in their straight parts, as a reader of SVG gives them.
fn parts(sheet: &Sheet) -> Vec<([Option<&str>; 2], Shape)> {
    let mut parts = Vec::new();
    for line in &sheet.lines {
        let kind = [Some(line.line_type.name()), line.view.map(View::name)];
        match &line.shape {
            Shape::Polyline(points) => {
                parts.extend(points.windows(2).map(|ends| {
                    let [from, to] = [ends[0], ends[1]];
                    (kind, Shape::Line { from, to })
                }));
            }
            shape => parts.push((kind, shape.clone())),
        }
    }
    parts
}

fn near(a: [f64; 2], b: [f64; 2]) -> bool {
    (a[0] - b[0]).diagonal(a[1] - b[1]) <= CLOSE
}

/// How far a point is from the chords between points.
fn off(point: [f64; 2], chords: &[[f64; 2]]) -> f64 {
    let distance = |ends: &[[f64; 2]]| {
        let [dx, dy] = [0, 1].map(|i| ends[1][i] - ends[0][i]);
        let [px, py] = [0, 1].map(|i| point[i] - ends[0][i]);
        let t = ((px * dx + py * dy) / (dx * dx + dy * dy)).clamp(0.0, 1.0);
        (px - t * dx).diagonal(py - t * dy)
    };
    chords
        .windows(2)
        .map(distance)
        .fold(f64::INFINITY, f64::min)
}

/// Points on part of an ellipse or circle from start to end.
fn along(shape: &Shape) -> Option<Vec<[f64; 2]>> {
    let (part, start, end) = match shape {
        Shape::Arc {
            center,
            radius,
            start,
            end,
        } => (Part::new(*center, [*radius; 2], 0.0), *start, *end),
        Shape::EllipticalArc {
            center,
            radii,
            rotation,
            start,
            end,
        } => (Part::new(*center, *radii, *rotation), *start, *end),
        _ => return None,
    };
    let turn = (end - start).rem_euclid(360.0);
    let share = |k: u32| f64::from(k) / 64.0;
    Some((0..=64).map(|k| part.at(start + share(k) * turn)).collect())
}

/// An arc that leaves out less than a pen's width is a circle to a reader of SVG, one that bulges hardly more than single
/// precision shows is straight or a curve of two points.
fn as_read(shape: &Shape) -> Shape {
    match shape {
        Shape::Arc {
            center,
            radius,
            start,
            end,
        } if end - start < 2.0 => {
            let part = Part::new(*center, [*radius; 2], 0.0);
            let [from, to] = [part.at(*start), part.at(*end)];
            Shape::Line { from, to }
        }
        Shape::Arc {
            center,
            radius,
            start,
            end,
        } if end - start > 359.9 => Shape::Circle {
            center: *center,
            radius: *radius,
        },
        other => other.clone(),
    }
}

/// Whether two lines run along the same places; how a short arc is described may change.
fn same(a: &Shape, b: &Shape) -> bool {
    if let (Some(a), Some(b)) = (along(a), along(b)) {
        // The circle of a short arc follows from how far it bulges, and single precision is coarse for that.
        return (0..=64).all(|i| (a[i][0] - b[i][0]).diagonal(a[i][1] - b[i][1]) < 5.0 * CLOSE);
    }
    match (a, b) {
        (Shape::Line { from, to }, Shape::Line { from: f, to: t }) => {
            near(*from, *f) && near(*to, *t)
        }
        (Shape::Line { from, to }, Shape::Curve(points)) => {
            matches!(points[..], [f, t] if near(*from, f) && near(*to, t))
        }
        // Both are chords that leave the same smooth curve by up to a hundredth of a millimetre.
        (Shape::Curve(p), Shape::Curve(q)) => {
            let ends = near(p[0], q[0]) && near(p[p.len() - 1], q[q.len() - 1]);
            ends && p.iter().all(|p| off(*p, q) < 0.02) && q.iter().all(|q| off(*q, p) < 0.02)
        }
        (
            Shape::Circle { center, radius },
            Shape::Circle {
                center: c,
                radius: r,
            },
        ) => near(*center, *c) && (radius - r).abs() < CLOSE,
        (
            Shape::Ellipse {
                center,
                radii,
                rotation,
            },
            Shape::Ellipse {
                center: c,
                radii: r,
                rotation: turn,
            },
        ) => {
            let [was, is] = [
                Part::new(*center, *radii, *rotation),
                Part::new(*c, *r, *turn),
            ];
            let axis = (rotation - turn).rem_euclid(180.0);
            near(*center, *c)
                && near(*radii, *r)
                && (axis.min(180.0 - axis) < 0.05 || near(was.at(0.0), is.at(0.0)))
        }
        _ => false,
    }
}

#[test]
fn every_sheet_comes_back_line_by_line() {
    for (name, sheet) in sheets() {
        let (again, remarks) = read(sheet.to_svg().as_bytes());
        // One sheet of the kernel's has lines of no length; they are told of and left out.
        let no_length = |remark: &Remark| remark.kind == RemarkKind::ShortLine;
        assert!(remarks.iter().all(no_length), "{name}: {remarks:?}");
        assert_eq!(again.unit, sheet.unit, "{name}");
        assert_eq!(again.projection, sheet.projection, "{name}");
        let [was, is] = [&sheet, &again].map(|sheet| {
            let mut parts = parts(sheet);
            parts.retain(|(_, shape)| Bounds::of_shape(shape).size().iter().any(|s| *s > CLOSE));
            parts
        });
        assert_eq!(was.len(), is.len(), "{name}");
        for (k, (was, is)) in was.iter().zip(&is).enumerate() {
            assert!(
                was.0 == is.0 && (same(&was.1, &is.1) || same(&as_read(&was.1), &is.1)),
                "{name}, part {k}: {was:?} became {is:?}"
            );
        }
    }
}

#[test]
fn samples_keep_their_verdict_and_their_volumes() {
    for (name, sheet) in sheets()
        .into_iter()
        .filter(|(name, _)| name.contains("samples"))
    {
        let (again, _) = read(sheet.to_svg().as_bytes());
        let [was, is] =
            [&sheet, &again].map(|sheet| reconstruct(sheet, &Options::default()).unwrap());
        assert_eq!(was.verdict, is.verdict, "{name}");
        for (was, is) in was.readings.iter().zip(&is.readings) {
            let [was, is] = [was, is].map(|reading| reading.measures.volume_mm3);
            assert!((was - is).abs() <= 1e-4 * was, "{name}: {was} became {is}");
        }
    }
}

#[test]
fn paper_is_as_large_as_the_drawing_and_its_margin() {
    let (sheet, _) = read(br#"{"unit": "in", "lines": [{"line": [1, 2, 4, 4]}]}"#);
    let svg = sheet.to_svg();
    // 3 in and 2 in, and twice 10 mm.
    assert!(
        svg.contains("width=\"3.7874in\" height=\"2.7874in\""),
        "{svg}"
    );
    assert!(svg.contains("M1 -2 L4 -4"), "{svg}");
}

#[test]
fn marks_are_seen_but_not_read_as_lines() {
    let (sheet, _) =
        read(br#"{"lines": [{"line": [0, 0, 40, 0]}, {"type": "hidden", "circle": [20, 20, 5]}]}"#);
    let styles = [
        MarkStyle::Conflict,
        MarkStyle::Choice,
        MarkStyle::Add,
        MarkStyle::Remove,
    ];
    let marks: Vec<Mark> = (1..)
        .zip(styles)
        .map(|(number, style)| Mark {
            shape: Shape::Circle {
                center: [20.0, 20.0],
                radius: 5.0,
            },
            style,
            label: Some(format!("{number} <&>")),
        })
        .collect();
    let svg = sheet.to_svg_with(&marks);
    for style in styles {
        assert!(
            svg.contains(&format!("class=\"mark {}\"", style.name())),
            "{svg}"
        );
    }
    assert!(svg.contains(">1 &lt;&amp;&gt;</text>"), "{svg}");
    let (mut again, _) = read(svg.as_bytes());
    assert_eq!(again.lines.len(), 2 + 5);
    again.lines.retain(|line| line.line_type.bears_geometry());
    assert_eq!(again, sheet);
}

#[test]
fn sheet_without_lines_is_an_empty_paper() {
    let svg = Sheet::default().to_svg();
    assert!(svg.contains("width=\"20mm\" height=\"20mm\""), "{svg}");
}
