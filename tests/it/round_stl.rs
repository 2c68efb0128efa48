//! The STL of every curved sample and reference sheet, read as a slicer reads it: 32-bit corners, compared for equality.
//!
//! Common practice of slicers: a surface is watertight if every side of a triangle is run once in each direction, and
//! triangles without area are dropped, which would tear it open.

use std::collections::BTreeMap;

use foldback::{Fineness, Reading};

use crate::cells::{area_vector, dot, length, minus};
use crate::check::{answer_up_to, json_in, sheet_in};

/// A corner as a file has it, to the last bit.
type Corner = [u32; 3];

/// The triangles of a reading's file.
fn triangles(reading: &Reading, fineness: &Fineness) -> Vec<[[f32; 3]; 3]> {
    let bytes = reading.solid.to_stl_within(fineness);
    // Binary STL: 80 bytes of title, the number of triangles, then 50 bytes each: normal, corners, two bytes more.
    let number = |at: usize| f32::from_le_bytes([0, 1, 2, 3].map(|k| bytes[at + k]));
    (84..bytes.len())
        .step_by(50)
        .map(|at| [0, 1, 2].map(|c| [0, 1, 2].map(|k| number(at + 12 + 12 * c + 4 * k))))
        .collect()
}

/// What is wrong with the triangles as a surface of which none may be less high than this, in millimetres.
fn fault(triangles: &[[[f32; 3]; 3]], thinnest: f64) -> Option<String> {
    for corners in triangles {
        let wide = corners.map(|p| p.map(f64::from));
        let doubled = length(area_vector(&wide));
        let longest = (0..3)
            .map(|k| length(minus(wide[(k + 1) % 3], wide[k])))
            .fold(0.0, f64::max);
        let height = doubled / longest;
        if height.is_nan() || height < thinnest {
            return Some(format!("a sliver {height:.1e} mm high at {corners:?}"));
        }
    }
    gap(triangles)
}

/// A side of a triangle that is not run once in each direction.
fn gap(triangles: &[[[f32; 3]; 3]]) -> Option<String> {
    let bits = |p: [f32; 3]| -> Corner { p.map(|c| (c + 0.0).to_bits()) };
    let mut runs: BTreeMap<[Corner; 2], i32> = BTreeMap::new();
    for corners in triangles {
        for k in 0..3 {
            *runs
                .entry([bits(corners[k]), bits(corners[(k + 1) % 3])])
                .or_default() += 1;
        }
    }
    let open = runs
        .iter()
        .find(|([a, b], n)| **n != 1 || runs.get(&[*b, *a]) != Some(&1));
    open.map(|(side, _)| {
        format!(
            "no single neighbour along {:?}",
            side.map(|p| p.map(f32::from_bits))
        )
    })
}

/// Whether the file of a reading is watertight as a slicer sees it.
pub(crate) fn is_watertight(reading: &Reading) -> bool {
    gap(&triangles(reading, &Fineness::default())).is_none()
}

/// The least height of a triangle, as a share of the chord, no more than the default one: there a ten-thousandth of a millimetre, a hundredth
/// of what a printer's finest layer can show. Between three points of a bent edge a triangle is as high as the bend.
const THINNEST: f64 = 2e-3;

/// The volume that triangles enclose: a sixth of the determinant of each, summed.
fn volume(triangles: &[[[f32; 3]; 3]]) -> f64 {
    let sixths = triangles.iter().map(|t| {
        let [a, b, c] = t.map(|p| p.map(f64::from));
        dot(a, crate::cells::cross(b, c))
    });
    sixths.sum::<f64>() / 6.0
}

/// The sheets with curved parts, by path from `tests/`.
fn sheets() -> Vec<String> {
    let manifest = json_in("reference/manifest.json");
    let parts = manifest["parts"].as_array().expect("a list of parts");
    let round = parts
        .iter()
        .filter(|part| ["C", "K", "X"].iter().any(|class| part["class"] == *class));
    let mut sheets: Vec<String> = round
        .map(|part| format!("reference/{}.json", part["name"].as_str().expect("a name")))
        .collect();
    let samples = concat!(env!("CARGO_MANIFEST_DIR"), "/samples");
    let mut names: Vec<String> = std::fs::read_dir(samples)
        .expect("the samples")
        .map(|entry| {
            entry
                .expect("a sample")
                .file_name()
                .to_string_lossy()
                .into_owned()
        })
        .collect();
    names.sort();
    for name in names {
        let path = |ending: &str| format!("../samples/{name}/sheet.{ending}");
        let json = format!("{samples}/{name}/sheet.json");
        let ending = if std::path::Path::new(&json).exists() {
            "json"
        } else {
            "svg"
        };
        sheets.push(path(ending));
    }
    sheets
}

#[test]
fn files_of_curved_parts_are_watertight_without_slivers_and_near_the_exact_volume() {
    let mut faults = Vec::new();
    let (mut readings, mut curved) = (0, 0);
    for path in sheets() {
        let outcome = answer_up_to(&sheet_in(&path), 2).expect("an answer");
        for reading in &outcome.readings {
            let exact = &reading.measures;
            let mut offs = Vec::new();
            for (chord_mm, angle_degrees) in [(0.2, 15.0), (0.05, 7.5), (0.0125, 3.75)] {
                let fineness = Fineness {
                    chord_mm,
                    angle_degrees,
                };
                let triangles = triangles(reading, &fineness);
                let thinnest = THINNEST * chord_mm.min(0.05);
                faults.extend(
                    fault(&triangles, thinnest).map(|why| format!("{path}, {chord_mm}: {why}")),
                );
                let off = (volume(&triangles) - exact.volume_mm3).abs();
                // No triangle is farther from the surface than the chord.
                if off > chord_mm * exact.surface_mm2 + 1e-6 * exact.volume_mm3 {
                    faults.push(format!("{path}, {chord_mm}: volume off by {off} mm³"));
                }
                offs.push(off);
            }
            readings += 1;
            // Single precision moves a solid of planes by less.
            if offs[0] > 1e-5 * exact.volume_mm3 {
                curved += 1;
                // The error of chords goes with the chord and the square of the angle: a quarter of it per step, and at
                // worst a half.
                if offs[2] > 0.25 * offs[0] {
                    faults.push(format!("{path}: off by {offs:?} mm³"));
                }
            }
        }
    }
    println!("{readings} readings, {curved} of them curved");
    assert!(faults.is_empty(), "{}", faults.join("\n"));
    assert!(readings >= 75 && curved >= 40, "{readings} {curved}");
}

/// As coarse as can be asked for, thin walls and tips may pierce each other, but the surface still closes.
#[test]
fn the_coarsest_files_of_curved_parts_are_watertight() {
    let mut faults = Vec::new();
    for path in sheets() {
        let outcome = answer_up_to(&sheet_in(&path), 2).expect("an answer");
        for reading in &outcome.readings {
            for chord_mm in [0.02, 0.05, 0.2, 1.0, 5.0] {
                let fineness = Fineness {
                    chord_mm,
                    angle_degrees: 60.0,
                };
                let gap = gap(&triangles(reading, &fineness));
                faults.extend(gap.map(|why| format!("{path}, {chord_mm}: {why}")));
            }
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}
