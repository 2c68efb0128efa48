//! Whole small worlds: every reading of a drawing is known, and the engine must find just these.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use foldback::{Outcome, RemarkKind, Verdict};
use serde_json::Value;

use crate::blocks::{Blocks, Marks, even_grid, readings_by_brute_force, views, world};
use crate::check::{Mesh, agree, answer, json_in, sheet_in};
use crate::layout::Layout;
use crate::random::Random;

/// Every sound solid that fills 3 x 3 x 3 blocks with its drawing, sorted by drawing.
pub(crate) static WORLD_OF_27: LazyLock<Vec<(Marks, Blocks)>> = LazyLock::new(|| {
    let mut world: Vec<_> = world([3, 3, 3])
        .into_iter()
        .map(|blocks| (blocks.marks(), blocks))
        .collect();
    world.sort_unstable();
    world
});

/// What is wrong with the engine's readings of a drawing: they must be just the sound solids that have it, cell by cell.
fn fault(size: [usize; 3], marks: &Marks, grid: &[Vec<f64>; 3]) -> Option<String> {
    let all = readings_by_brute_force(size, marks);
    let sound: Vec<Blocks> = all.iter().copied().filter(Blocks::is_valid).collect();
    let outcome = match answer(&views(size, marks, grid).merged().sheet(Layout::default())) {
        Ok(outcome) => outcome,
        Err(why) => return Some(format!("{all:?}: {why}")),
    };
    let mut found: Vec<Blocks> = outcome
        .readings
        .iter()
        .map(|r| Mesh::of(r).blocks(size, grid))
        .collect();
    found.sort_unstable();
    let other = (found != sound).then(|| format!("found {found:?}"));
    other
        .or_else(|| wrong_verdict(&outcome, sound.len(), !all.is_empty()))
        .map(|why| format!("{all:?}: {why}"))
}

/// What is wrong with a verdict, given the true number of readings and whether unsound solids have the drawing too.
fn wrong_verdict(outcome: &Outcome, readings: usize, almost: bool) -> Option<String> {
    let verdict = match readings {
        0 => Verdict::Contradictory,
        1 => Verdict::Unique,
        _ => Verdict::Ambiguous,
    };
    if (outcome.readings.len(), outcome.verdict, outcome.complete()) != (readings, verdict, true) {
        let found = outcome.readings.len();
        return Some(format!(
            "{} with {found} readings, not {readings}; {:?}",
            outcome.verdict.name(),
            outcome.problems
        ));
    }
    let says_almost = outcome
        .problems
        .iter()
        .any(|remark| remark.kind == RemarkKind::AlmostSolid);
    let says_why = !outcome.problems.is_empty();
    ((says_almost, says_why) != (readings == 0 && almost, readings == 0)).then(|| {
        format!(
            "{readings} readings, unsound ones: {almost}, but {:?}",
            outcome.problems
        )
    })
}

/// Asserts that there are no faults, or lists the first of them.
fn assert_none(faults: &[String]) {
    assert!(
        faults.is_empty(),
        "{} faults:\n{}",
        faults.len(),
        faults[..faults.len().min(20)].join("\n")
    );
}

#[test]
fn small_worlds_have_the_counts_found_by_brute_force_elsewhere() {
    // Counts of the reference sheets' own enumeration (tests/brute-force/README.md).
    assert_eq!(census(&world([2, 2, 2])), [(1, 77)].into());
    assert_eq!(census(&world([3, 3, 2])), [(1, 22_157)].into());
    assert_eq!(WORLD_OF_27.len(), 2_789_371);
    let shared =
        WORLD_OF_27
            .chunk_by(|a, b| a.0 == b.0)
            .fold(BTreeMap::new(), |mut shared, group| {
                *shared.entry(group.len()).or_insert(0) += 1;
                shared
            });
    assert_eq!(shared, [(1, 2_764_259), (2, 12_466), (3, 60)].into());
}

/// How many drawings have how many readings among these solids.
fn census(world: &[Blocks]) -> BTreeMap<usize, usize> {
    let mut drawings: Vec<Marks> = world.iter().map(Blocks::marks).collect();
    drawings.sort_unstable();
    drawings
        .chunk_by(|a, b| a == b)
        .fold(BTreeMap::new(), |mut shared, group| {
            *shared.entry(group.len()).or_default() += 1;
            shared
        })
}

#[test]
fn every_solid_of_eight_blocks_is_found_and_nothing_else() {
    let faults = (1..256).filter_map(|cells| {
        let blocks = Blocks {
            size: [2, 2, 2],
            cells,
        }
        .cropped();
        fault(blocks.size, &blocks.marks(), &even_grid(blocks.size, 10.0))
    });
    assert_none(&faults.collect::<Vec<_>>());
}

#[test]
fn random_solids_of_27_blocks_are_found_and_nothing_else() {
    let mut random = Random::new(27);
    let faults = (0..SAMPLES).filter_map(|_| {
        let (marks, blocks) = *random.pick(&WORLD_OF_27);
        fault(blocks.size, &marks, &uneven_grid(&mut random))
    });
    assert_none(&faults.collect::<Vec<_>>());
}

#[test]
fn drawings_of_27_blocks_with_several_readings_give_them_all() {
    let groups: Vec<_> = WORLD_OF_27
        .chunk_by(|a, b| a.0 == b.0)
        .filter(|group| group.len() > 1)
        .collect();
    let (threefold, twofold): (Vec<_>, Vec<_>) =
        groups.into_iter().partition(|group| group.len() == 3);
    let mut random = Random::new(3);
    let some_twofold = (0..SAMPLES / 2)
        .map(|_| *random.pick(&twofold))
        .collect::<Vec<_>>();
    let mut faults = Vec::new();
    for group in threefold.iter().chain(&some_twofold) {
        let known: Vec<Blocks> = group.iter().map(|(_, blocks)| *blocks).collect();
        let searched = readings_by_brute_force([3, 3, 3], &group[0].0);
        assert_eq!(
            searched
                .into_iter()
                .filter(Blocks::is_valid)
                .collect::<Vec<_>>(),
            known,
            "the tests' own search"
        );
        faults.extend(fault([3, 3, 3], &group[0].0, &even_grid([3, 3, 3], 10.0)));
    }
    assert_none(&faults);
}

#[test]
fn random_heaps_of_27_blocks_sound_or_not_are_told_apart() {
    let mut random = Random::new(127);
    let heaps = std::iter::repeat_with(|| {
        // Two words of random bits anded or ored: heaps with a quarter, a half or three quarters of the blocks.
        let words = [random.bits(), random.bits()];
        let bits = *random.pick(&[words[0], words[0] & words[1], words[0] | words[1]]);
        Blocks {
            size: [3, 3, 3],
            cells: u128::from(bits) & ((1 << 27) - 1),
        }
    });
    let faults = heaps
        .filter(Blocks::fills_box)
        .take(SAMPLES / 2)
        .filter_map(|blocks| fault(blocks.size, &blocks.marks(), &even_grid(blocks.size, 10.0)));
    assert_none(&faults.collect::<Vec<_>>());
}

#[test]
fn drawing_with_three_readings_gives_all_three() {
    // Layers from top to bottom, rows from back to front.
    let solids = ["#..###.#.", "##..##.#.", "##.###.#."].map(|last| {
        let mut blocks = Blocks {
            size: [3, 3, 3],
            cells: 0,
        };
        for (i, mark) in [".#.##....", "....#....", last]
            .concat()
            .bytes()
            .enumerate()
        {
            let [x, y, z] = [i % 3, 2 - i / 3 % 3, 2 - i / 9];
            blocks.cells |= u128::from(mark == b'#') << (x + 3 * (y + 3 * z));
        }
        blocks
    });
    let marks = solids[0].marks();
    assert!(
        solids
            .iter()
            .all(|blocks| blocks.is_valid() && blocks.marks() == marks)
    );
    assert_eq!(fault([3, 3, 3], &marks, &even_grid([3, 3, 3], 10.0)), None);
    let outcome =
        answer(&views([3, 3, 3], &marks, &even_grid([3, 3, 3], 10.0)).sheet(Layout::default()))
            .unwrap();
    assert_eq!(outcome.readings.len(), 3);
}

#[test]
fn reference_sheets_have_exactly_the_readings_counted_by_brute_force() {
    let manifest = json_in("brute-force/manifest.json");
    let entries = manifest.as_array().expect("a list of sheets");
    assert_eq!(entries.len(), 63);
    assert_none(
        &entries
            .iter()
            .filter_map(reference_fault)
            .collect::<Vec<_>>(),
    );
}

/// What is wrong with the answer to a reference sheet.
fn reference_fault(entry: &Value) -> Option<String> {
    let name = entry["name"].as_str().expect("a name");
    let outcome = match answer(&sheet_in(&format!("brute-force/{name}.json"))) {
        Ok(outcome) => outcome,
        Err(why) => return Some(format!("{name}: {why}")),
    };
    let readings =
        usize::try_from(entry["readings"].as_u64().expect("a count")).expect("a small count");
    let almost = entry["invalid_readings"].as_u64() != Some(0);
    let mut volumes: Vec<f64> = outcome
        .readings
        .iter()
        .map(|r| r.measures.volume_mm3)
        .collect();
    volumes.sort_by(f64::total_cmp);
    let known = entry["volumes_mm3"].as_array().expect("volumes");
    let mut known: Vec<f64> = known
        .iter()
        .map(|v| v.as_f64().expect("a volume"))
        .collect();
    known.sort_by(f64::total_cmp);
    let same = volumes.len() == known.len()
        && volumes.iter().zip(&known).all(|(a, b)| agree(*a, *b, 1e-6));
    wrong_verdict(&outcome, readings, almost)
        .or_else(|| (!same).then(|| format!("volumes {volumes:?} instead of {known:?}")))
        .map(|why| format!("{name}: {why}"))
}

/// Drawings per test on 27 blocks; the whole file then takes about half a minute.
const SAMPLES: usize = 2000;

/// Three blocks along each axis, of any width.
fn uneven_grid(random: &mut Random) -> [Vec<f64>; 3] {
    [0; 3].map(|_| {
        let mut at = 0.0;
        let mut planes = vec![at];
        for _ in 0..3 {
            at += random.between(1.0, 20.0);
            planes.push(at);
        }
        planes
    })
}
