//! Places of choice: their number times their alternatives is the number of readings, and what is said to settle them
//! does.

use foldback::{Line, LineType, Options, Outcome, Shape, Sheet, Verdict, View, reconstruct};

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
        assert!(outcome.places.iter().all(|p| p.alternatives.len() == 2));
        // The same without listing them.
        if k > 1 {
            let short = answer(&independent(k), 2);
            assert_eq!(short.readings_total.count, (1 << k).to_string());
            assert!(short.readings_total.exact && !short.complete());
        }
    }
}

#[test]
fn two_to_the_thirty_readings_are_counted_without_being_listed() {
    let start = std::time::Instant::now();
    let outcome = answer(&independent(30), 32);
    println!("2^30: {:?}", start.elapsed());
    assert_eq!(outcome.verdict, Verdict::Ambiguous);
    assert_eq!(outcome.readings_total.count, (1_u64 << 30).to_string());
    assert!(outcome.readings_total.exact);
    assert_eq!(outcome.places.len(), 30);
    assert_eq!(outcome.readings.len(), 32);
}
