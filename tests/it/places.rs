//! Places of choice: their number times their alternatives is the number of readings, and what is said to settle them
//! does.

use std::time::{Duration, Instant};

use foldback::{
    FurtherView, Line, LineType, Options, Outcome, Settling, Shape, Sheet, Verdict, View,
    reconstruct,
};

use crate::blocks::{Blocks, even_grid, views};
use crate::check::{EVERY_READING, Mesh, json_in, sheet_in};
use crate::layout::Layout;
use crate::random::Random;
use crate::worlds::WORLD_OF_27;

/// Pockets in the top of a plate 30 mm high, as depths: columns from left to right, each with a pocket near and one far.
///
/// Pockets are 6 mm wide and 4 mm apart. Drawn line by line from these numbers, without the engine.
struct Pockets(Vec<[f64; 2]>);

const HEIGHT: f64 = 30.0;
const GAP: f64 = 12.7;

impl Pockets {
    fn width(&self) -> f64 {
        4.0 + 10.0 * self.0.len() as f64
    }

    fn sheet(&self) -> Sheet {
        let (width, depth) = (self.width(), 24.0);
        let mut sheet = Sheet::default();
        let mut draw = |view, line_type, from: [f64; 2], to: [f64; 2]| {
            let [x, y] = match view {
                View::Front => [0.0, 0.0],
                View::Top => [0.0, HEIGHT + GAP],
                View::Right => [width + GAP, 0.0],
            };
            sheet.lines.push(Line {
                view: Some(view),
                line_type,
                shape: Shape::Line {
                    from: [from[0] + x, from[1] + y],
                    to: [to[0] + x, to[1] + y],
                },
            });
        };
        let mut rectangle = |view, [x0, y0]: [f64; 2], [x1, y1]: [f64; 2]| {
            let corners = [[x0, y0], [x1, y0], [x1, y1], [x0, y1]];
            for k in 0..4 {
                draw(view, LineType::Visible, corners[k], corners[(k + 1) % 4]);
            }
        };
        rectangle(View::Front, [0.0, 0.0], [width, HEIGHT]);
        rectangle(View::Top, [0.0, 0.0], [width, depth]);
        rectangle(View::Right, [0.0, 0.0], [depth, HEIGHT]);
        let place = |k: usize| 4.0 + 10.0 * k as f64;
        for column in 0..self.0.len() {
            for row in 0..2 {
                let [x, y] = [place(column), place(row)];
                rectangle(View::Top, [x, y], [x + 6.0, y + 6.0]);
            }
        }
        // In front and from the right the pockets of a column, or a row, stand one behind the other.
        let mut behind = |view, at: f64, depths: &mut Vec<f64>| {
            depths.sort_by(f64::total_cmp);
            depths.dedup();
            let deepest = depths[depths.len() - 1];
            for x in [at, at + 6.0] {
                draw(view, LineType::Hidden, [x, HEIGHT - deepest], [x, HEIGHT]);
            }
            for depth in depths {
                let z = HEIGHT - *depth;
                draw(view, LineType::Hidden, [at, z], [at + 6.0, z]);
            }
        };
        for (column, depths) in self.0.iter().enumerate() {
            behind(View::Front, place(column), &mut depths.to_vec());
        }
        for row in 0..2 {
            let mut depths = self.0.iter().map(|d| d[row]).collect();
            behind(View::Right, place(row), &mut depths);
        }
        sheet
    }
}

/// A column of two deep and one of two shallow pockets show both depths in both rows from the right; in each of `k` more
/// columns one is deep and one shallow, and no view tells which.
fn independent(k: usize) -> Sheet {
    let mut columns = vec![[20.0; 2], [10.0; 2]];
    columns.extend(vec![[20.0, 10.0]; k]);
    Pockets(columns).sheet()
}

fn answer(sheet: &Sheet, reading_limit: usize) -> Outcome {
    let options = Options {
        reading_limit,
        ..Options::default()
    };
    reconstruct(sheet, &options).expect("an answer")
}

/// By reasoning: each of the k columns has two ways, whatever the others are.
#[test]
fn readings_of_independent_places_are_the_product_and_all_proven() {
    for k in 1..=5 {
        let outcome = answer(&independent(k), 1000);
        assert_eq!(outcome.readings.len(), 1 << k);
        assert_eq!(outcome.places.len(), k);
        assert_product(&outcome);
        assert!(outcome.places.iter().all(|p| p.alternatives.len() == 2));
        // The same without listing them.
        if k > 1 {
            let short = answer(&independent(k), 2);
            assert_eq!(short.readings_total.count, (1 << k).to_string());
            assert!(short.readings_total.exact && !short.complete());
        }
    }
}

/// A second is what a person waits without noticing; measured with optimisation it takes about a tenth of it.
#[test]
fn two_to_the_thirty_readings_are_counted_without_being_listed() {
    let start = Instant::now();
    let outcome = answer(&independent(30), 32);
    assert!(cfg!(debug_assertions) || start.elapsed() < Duration::from_secs(1));
    assert_eq!(outcome.verdict, Verdict::Ambiguous);
    assert_eq!(outcome.readings_total.count, (1_u64 << 30).to_string());
    assert_eq!(outcome.readings_total.hollow, "0");
    assert!(outcome.readings_total.exact && !outcome.complete());
    assert_eq!((outcome.places.len(), outcome.readings.len()), (30, 32));
}

#[test]
fn numbers_of_readings_beyond_every_machine_word_are_exact() {
    let outcome = answer(&independent(140), 2);
    // 2^140, from an arbitrary-precision calculator.
    let known = "1393796574908163946345982392040522594123776";
    assert_eq!(outcome.readings_total.count, known);
    assert!(outcome.readings_total.exact);
}

/// Without the two columns that show both depths in both rows, not all columns may be turned the same way round: 2^k - 2
/// readings, and the columns are one place.
#[test]
fn dependent_columns_are_one_place_or_counted_from_below() {
    let dependent = |k: usize| {
        let mut columns = vec![[20.0, 10.0]; k];
        columns[0].reverse();
        Pockets(columns).sheet()
    };
    for k in 2..=5 {
        let outcome = answer(&dependent(k), 1000);
        assert_eq!(outcome.readings.len(), (1 << k) - 2);
        assert_product(&outcome);
    }
    let many = answer(&dependent(9), 4);
    let least: usize = many.readings_total.count.parse().expect("a number");
    assert!(
        !many.readings_total.exact && (4..=510).contains(&least),
        "{least}"
    );
}

/// The places' alternatives multiply to the number of readings, and each reading has one alternative of each place.
fn assert_product(outcome: &Outcome) {
    let product: usize = outcome
        .places
        .iter()
        .map(|p| p.alternatives.len())
        .product();
    assert_eq!(product, outcome.readings.len());
    assert_eq!(outcome.readings_total.count, product.to_string());
    assert!(outcome.readings_total.exact);
    let hollow = outcome
        .readings
        .iter()
        .filter(|r| r.measures.shells > 1)
        .count();
    assert_eq!(outcome.readings_total.hollow, hollow.to_string());
    for place in &outcome.places {
        let mut seen: Vec<usize> = place
            .alternatives
            .iter()
            .flat_map(|a| a.readings.clone())
            .collect();
        seen.sort_unstable();
        assert_eq!(seen, (0..product).collect::<Vec<_>>());
        for alternative in &place.alternatives {
            let volumes = alternative
                .changes
                .iter()
                .map(|c| if c.more { c.volume_mm3 } else { -c.volume_mm3 });
            assert!((volumes.sum::<f64>() - alternative.volume_mm3).abs() < 1e-6);
        }
    }
}

/// A short listing never counts wrongly: the number is that of the full listing, or at most that.
fn assert_short_listing_agrees(sheet: &Sheet, all: &Outcome) {
    let short = answer(sheet, 2);
    let count: usize = short.readings_total.count.parse().expect("a number");
    assert_eq!(short.verdict, all.verdict);
    match short.readings_total.exact {
        true => {
            assert_eq!(count, all.readings.len());
            assert_eq!(short.readings_total.hollow, all.readings_total.hollow);
        }
        false => assert!(count <= all.readings.len()),
    }
}

/// Sheets with up to 76 readings, known by complete enumeration.
#[test]
fn places_multiply_to_the_readings_counted_by_brute_force() {
    let manifest = json_in("brute-force/manifest.json");
    let several = manifest.as_array().expect("a list of sheets").iter();
    let several = several.filter(|entry| entry["readings"].as_u64() > Some(1));
    let mut sheets = 0;
    for entry in several {
        let name = entry["name"].as_str().expect("a name");
        let sheet = sheet_in(&format!("brute-force/{name}.json"));
        let all = answer(&sheet, EVERY_READING);
        assert_eq!(
            Some(all.readings.len() as u64),
            entry["readings"].as_u64(),
            "{name}"
        );
        assert_product(&all);
        assert_short_listing_agrees(&sheet, &all);
        sheets += 1;
    }
    assert!(sheets > 5, "{sheets}");
}

/// Drawings of 27 blocks that are tried.
const SAMPLES: usize = 200;

/// Which of the further views tell all of some solids of blocks apart, from the blocks alone.
fn telling(solids: &[Blocks]) -> Vec<FurtherView> {
    let mirrored = |blocks: &Blocks, axis: usize| {
        let mut other = Blocks {
            cells: 0,
            ..*blocks
        };
        let [nx, ny, _] = blocks.size;
        for at in blocks.places().filter(|at| blocks.has(*at)) {
            let mut to = at;
            to[axis] = blocks.size[axis] - 1 - at[axis];
            other.cells |= 1 << (to[0] + nx * (to[1] + ny * to[2]));
        }
        other
    };
    let tells = |view: &FurtherView| {
        // Seen from the left a solid looks as its mirror image does from the right.
        let (axis, seen) = match view {
            FurtherView::Left => (0, 2),
            FurtherView::Bottom => (2, 1),
            FurtherView::Rear => (1, 0),
        };
        let mut drawings: Vec<u128> = solids
            .iter()
            .map(|b| mirrored(b, axis).marks()[seen])
            .collect();
        drawings.sort_unstable();
        drawings.windows(2).all(|pair| pair[0] != pair[1])
    };
    FurtherView::ALL.into_iter().filter(tells).collect()
}

/// Whether a plane across an axis cuts all of some solids of blocks differently.
fn cut_tells(solids: &[Blocks], axis: usize, layer: usize) -> bool {
    let cut = |blocks: &Blocks| -> Vec<[usize; 3]> {
        let there = blocks
            .places()
            .filter(|at| at[axis] == layer && blocks.has(*at));
        there.collect()
    };
    let cuts: Vec<_> = solids.iter().map(cut).collect();
    (0..cuts.len()).all(|i| (0..i).all(|j| cuts[i] != cuts[j]))
}

/// What is said to settle a sheet, held against the blocks of each reading: the first further view that tells all readings
/// apart, or else a plane that does.
#[test]
fn what_settles_a_drawing_of_27_blocks_does_and_views_before_it_do_not() {
    let groups: Vec<_> = WORLD_OF_27
        .chunk_by(|a, b| a.0 == b.0)
        .filter(|group| group.len() > 1)
        .collect();
    let mut random = Random::new(5);
    let (mut by_view, mut by_section, mut by_none) = (0, 0, 0);
    for _ in 0..SAMPLES {
        let group = random.pick(&groups);
        let grid = even_grid([3, 3, 3], 10.0);
        let sheet = views([3, 3, 3], &group[0].0, &grid)
            .merged()
            .sheet(Layout::default());
        let outcome = answer(&sheet, EVERY_READING);
        assert_product(&outcome);
        let solids: Vec<Blocks> = outcome
            .readings
            .iter()
            .map(|r| Mesh::of(r).blocks([3, 3, 3], &grid))
            .collect();
        let telling = telling(&solids);
        match outcome.settled_by {
            Some(Settling::View(view)) => {
                assert_eq!(Some(&view), telling.first());
                by_view += 1;
            }
            Some(Settling::Section(section)) => {
                assert_eq!(telling, []);
                let axis = match section.parallel_to {
                    View::Front => 1,
                    View::Top => 2,
                    View::Right => 0,
                };
                let layer = (0..3)
                    .find(|k| section.at_mm < 10.0 * f64::from(k + 1))
                    .expect("a layer");
                assert!(cut_tells(
                    &solids,
                    axis,
                    usize::try_from(layer).expect("a layer")
                ));
                by_section += 1;
            }
            None => {
                assert_eq!(telling, []);
                let planes = (0..3).flat_map(|axis| (0..3).map(move |layer| (axis, layer)));
                assert!(
                    planes
                        .into_iter()
                        .all(|(axis, layer)| !cut_tells(&solids, axis, layer))
                );
                by_none += 1;
            }
        }
    }
    // In a world as small as this one a further view always does; planes have a test of their own below.
    assert_eq!([by_view, by_section, by_none], [SAMPLES, 0, 0]);
}

/// Two pockets exchange their depths below a closed plate: from the left, below and behind they look the same as before.
#[test]
fn exchanged_pockets_are_settled_by_a_section_only() {
    for k in [1, 3, 30] {
        let outcome = answer(&independent(k), 8);
        let Some(Settling::Section(section)) = outcome.settled_by else {
            panic!("{:?}", outcome.settled_by);
        };
        // Through the near row (4 to 10 mm from the front) or the far one (14 to 20 mm).
        assert_eq!(section.parallel_to, View::Front);
        let at = section.at_mm;
        assert!(
            (4.0..10.0).contains(&at) || (14.0..20.0).contains(&at),
            "{at}"
        );
        assert!(outcome.further_views.is_empty());
    }
}

#[test]
fn unique_sheets_have_no_places_and_nothing_to_settle() {
    let outcome = answer(&independent(0), 32);
    assert_eq!(outcome.verdict, Verdict::Unique);
    assert_eq!(
        (
            outcome.readings_total.count.as_str(),
            outcome.readings_total.exact
        ),
        ("1", true)
    );
    assert!(outcome.places.is_empty() && outcome.examples.is_empty());
    assert_eq!(outcome.settled_by, None);
}
