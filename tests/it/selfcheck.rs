//! The tests' own means against counts that were made elsewhere, and against each other.

use std::collections::BTreeSet;

use crate::blocks::{Blocks, even_grid, marks_of, readings_by_brute_force};
use crate::cells::Cells;
use crate::check::{Mesh, json_in, sheet_in};
use crate::generate::{KINDS, half_cube_holds, solid};
use crate::layout::{Stroke, Views};
use crate::project::{EXACT, SINGLE, project};
use crate::random::Random;

#[test]
fn projector_finds_the_counts_of_the_half_cube_world() {
    // 77 solids, no two with one drawing: counted elsewhere (tests/brute-force/README.md). The world of 2 x 2 x 1 gives
    // its 6,128 solids and 6,028 drawings as well, but takes a quarter of a minute.
    let lines = even_grid([2, 1, 1], 10.0);
    let pairs = (0..13).flat_map(|left| (0..13).map(move |right| [left, right]));
    let solids =
        pairs.map(|pair| Cells::half_cubes(&lines, |[x, _, _], at| half_cube_holds(pair[x], at)));
    let sound: Vec<Cells> = solids.filter(Cells::is_valid).collect();
    let drawings: BTreeSet<String> = sound
        .iter()
        .map(|cells| written(&project(&cells.boundary(), EXACT)))
        .collect();
    assert_eq!((sound.len(), drawings.len()), (77, 77));
}

/// A drawing in words, the same for the same drawing.
fn written(views: &Views) -> String {
    let line = |s: &Stroke| {
        let mut ends = [s.from, s.to].map(|p| format!("{:.3} {:.3}", p[0] + 0.0, p[1] + 0.0));
        ends.sort();
        format!("{ends:?} {}", s.hidden)
    };
    let views = views
        .merged()
        .strokes
        .map(|strokes| strokes.iter().map(line).collect::<BTreeSet<_>>());
    format!("{views:?}")
}

#[test]
fn drawings_by_blocks_and_by_projector_agree() {
    let mut random = Random::new(1);
    let mut left = 200;
    while left > 0 {
        let size = [0; 3].map(|_| random.within(1, 3));
        let blocks = Blocks {
            size,
            cells: u128::from(random.bits()) & ((1 << size.iter().product::<usize>()) - 1),
        };
        if !blocks.fills_box() {
            continue;
        }
        left -= 1;
        let lines = size.map(|n| (0..=n).map(|i| i as f64 * 7.3).collect());
        let cells = Cells::half_cubes(&lines, |at, _| blocks.has(at));
        assert_eq!(cells.is_valid(), blocks.is_valid(), "{blocks:?}");
        let views = project(&cells.boundary(), EXACT);
        assert_eq!(
            views.difference(&blocks.views(&lines), 1e-6),
            None,
            "{blocks:?}"
        );
    }
}

#[test]
fn mesh_in_single_precision_gives_the_drawing_of_its_solid() {
    for (kind, number) in KINDS
        .iter()
        .flat_map(|kind| (0..40).map(move |number| (*kind, number)))
    {
        let cells = solid(kind, number);
        let exact = project(&cells.boundary(), EXACT);
        let mesh = Mesh::of_cells(&cells);
        let read_back = project(&mesh.boundary(), SINGLE);
        assert_eq!(
            read_back.difference(&exact, 20.0 * SINGLE),
            None,
            "{kind:?} {number}"
        );
        for (point, filled) in cells.samples() {
            assert_eq!(
                mesh.contains(point),
                filled,
                "{kind:?} {number} at {point:?}"
            );
        }
    }
}

#[test]
fn search_by_layers_counts_what_was_counted_elsewhere() {
    // Reference sheets of cubes with their numbers of sound and unsound readings.
    let manifest = json_in("brute-force/manifest.json");
    let entries = manifest.as_array().expect("a list of sheets");
    for entry in entries.iter().filter(|entry| {
        entry["name"]
            .as_str()
            .is_some_and(|name| name.starts_with('v'))
    }) {
        let name = entry["name"].as_str().expect("a name");
        let (size, marks) = marks_of(
            &Views::of(&sheet_in(&format!("brute-force/{name}.json"))),
            10.0,
        );
        let all = readings_by_brute_force(size, &marks);
        let mut volumes: Vec<u32> = all
            .iter()
            .filter(|b| b.is_valid())
            .map(|b| 1000 * b.cells.count_ones())
            .collect();
        volumes.sort_unstable();
        assert_eq!(serde_json::json!(volumes), entry["volumes_mm3"], "{name}");
        assert_eq!(
            serde_json::json!(all.len() - volumes.len()),
            entry["invalid_readings"],
            "{name}"
        );
    }
}
