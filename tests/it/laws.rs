//! What must hold for any sheet: laws of the whole run, tried on random solids of every kind.
//!
//! A failing solid is named by kind and number and comes out the same every time.

use foldback::{Line, Outcome, Projection, Reading, Shape, Sheet, Unit, View, reconstruct};

use serde_json::Value;

use crate::cells::{Cells, Point};
use crate::check::{Mesh, answer, is_solid_of, json_in, sheet_in};
use crate::generate::{KINDS, Kind, solid};
use crate::layout::{Layout, Views, place};
use crate::project::{EXACT, SINGLE, project};
use crate::random::Random;

/// Solids of each kind in the laws that look at one answer only.
const MANY: u64 = 1000;
/// Solids of each kind in the laws that compare two answers or more.
const SOME: u64 = 200;

/// The views of a solid, lines as long as a draughtsman would draw them.
fn drawn(cells: &Cells) -> Views {
    project(&cells.boundary(), EXACT).merged()
}

/// Runs a law on solids of every kind and reports every one that breaks it.
fn for_solids(count: u64, law: impl Fn(&Cells, &Views, &mut Random) -> Result<(), String>) {
    let mut broken = Vec::new();
    for kind in KINDS {
        for number in 0..count {
            let cells = solid(kind, number);
            let mut random = Random::new(number);
            if let Err(why) = law(&cells, &drawn(&cells), &mut random) {
                broken.push(format!("{kind:?} {number}: {why}"));
            }
        }
    }
    assert!(
        broken.is_empty(),
        "{} broken:\n{}",
        broken.len(),
        broken.join("\n")
    );
}

/// Faces, edges, vertices, shells and genus; then volume, surface, centroid and size.
type Gist = ([usize; 5], [f64; 8]);

/// What an answer says of each reading.
fn gist(outcome: &Outcome) -> Vec<Gist> {
    let of = |reading: &Reading| {
        let m = &reading.measures;
        let [x, y, z] = m.centroid_mm;
        let [w, d, h] = m.size_mm;
        let counts = [m.faces, m.edges, m.vertices, m.shells, m.genus];
        (counts, [m.volume_mm3, m.surface_mm2, x, y, z, w, d, h])
    };
    outcome.readings.iter().map(of).collect()
}

/// Asserts that two answers say the same, in any order, lengths up to `slack` millimetres and areas and volumes
/// accordingly.
fn same(a: &Outcome, b: &Outcome, slack: f64) -> Result<(), String> {
    let alike = |(counts, a): &Gist, (others, b): &Gist| {
        let [volume, surface, lengths @ ..] = [0, 1, 2, 3, 4, 5, 6, 7].map(|i| (a[i] - b[i]).abs());
        // Faces that move by the slack sweep a volume of surface times slack; edges sweep areas likewise.
        let longest = a[5..].iter().fold(0.0, |far: f64, c| far.max(*c));
        let edges = longest * counts[1] as f64;
        counts == others
            && lengths.iter().all(|off| *off <= slack)
            && volume <= slack * a[1]
            && surface <= slack * edges
    };
    let [first, second] = [a, b].map(gist);
    let mut left = second.clone();
    let met = first.iter().all(|reading| {
        let twin = left.iter().position(|other| alike(reading, other));
        twin.map(|place| left.swap_remove(place)).is_some()
    });
    let [p, q] = [a, b].map(|outcome| outcome.verdict.name());
    if p == q && met && left.is_empty() {
        return Ok(());
    }
    Err(format!(
        "{p} {first:?} became {q} {second:?}; {:?} {:?}",
        a.problems, b.problems
    ))
}

/// Lengths that differ by nothing but rounding, in millimetres.
const ROUNDING: f64 = 1e-8;

/// The default tolerance for these views: a two-thousandth of the largest, in millimetres.
fn tolerance(views: &Views) -> f64 {
    views.size.iter().fold(0.0, |far: f64, c| far.max(*c)) / 2000.0
}

#[test]
fn projected_solid_is_among_the_readings_of_its_drawing() {
    for_solids(MANY, |cells, views, _| {
        let outcome = answer(&views.sheet(Layout::default()))?;
        if outcome
            .readings
            .iter()
            .any(|reading| is_solid_of(reading, cells))
        {
            return Ok(());
        }
        let volumes: Vec<f64> = outcome
            .readings
            .iter()
            .map(|r| r.measures.volume_mm3)
            .collect();
        Err(format!(
            "{} {volumes:?}, not {}; {:?}",
            outcome.verdict.name(),
            cells.volume(),
            outcome.problems
        ))
    });
}

#[test]
fn every_reading_projected_gives_the_sheet_back() {
    for_solids(MANY, |_, views, _| {
        let outcome = answer(&views.sheet(Layout::default()))?;
        outcome
            .readings
            .iter()
            .enumerate()
            .try_for_each(|(i, reading)| {
                let again = project(&Mesh::of(reading).boundary(), SINGLE);
                again
                    .difference(views, 20.0 * SINGLE)
                    .map_or(Ok(()), |text| Err(format!("reading {i}, {text}")))
            })
    });
}

#[test]
fn every_reading_of_an_ambiguous_sheet_gives_the_sheet_back() {
    let manifest = json_in("brute-force/manifest.json");
    for entry in manifest.as_array().expect("a list of sheets") {
        let name = entry["name"].as_str().expect("a name");
        let sheet = sheet_in(&format!("brute-force/{name}.json"));
        for (i, reading) in answer(&sheet).unwrap().readings.iter().enumerate() {
            let again = project(&Mesh::of(reading).boundary(), SINGLE);
            assert_eq!(
                again.difference(&Views::of(&sheet), 20.0 * SINGLE),
                None,
                "{name}, reading {i}"
            );
        }
    }
}

#[test]
fn splitting_doubling_turning_and_shuffling_lines_changes_no_reading() {
    for_solids(SOME, |_, views, random| {
        let sheet = views.sheet(Layout::default());
        // Ends made by splitting stay clear of all others, so that nothing is drawn to them.
        let untidy = untidy(&sheet, 3.0 * tolerance(views), random);
        same(&answer(&sheet)?, &answer(&untidy)?, ROUNDING)
    });
}

#[test]
fn splitting_lines_near_other_ends_changes_no_verdict() {
    for_solids(SOME, |_, views, random| {
        let sheet = views.sheet(Layout::default());
        same(
            &answer(&sheet)?,
            &answer(&untidy(&sheet, 0.0, random))?,
            2.0 * tolerance(views),
        )
    });
}

/// The sheet as a careless hand may draw it: lines in parts, backwards, over themselves and in any order.
///
/// Ends inside a line keep `clear` millimetres from all other ends along both axes, those of other views too.
fn untidy(sheet: &Sheet, clear: f64, random: &mut Random) -> Sheet {
    let corners = View::ALL.map(|view| {
        let here = sheet
            .lines
            .iter()
            .filter(|line| line.view == Some(view))
            .flat_map(ends);
        here.fold([f64::INFINITY; 2], |low, end| {
            [low[0].min(end[0]), low[1].min(end[1])]
        })
    });
    let mut taken = Taken {
        corners,
        places: Default::default(),
        clear,
    };
    for line in &sheet.lines {
        ends(line).iter().for_each(|end| taken.take(line, *end));
    }
    let mut untidy = sheet.clone();
    untidy.lines = sheet
        .lines
        .iter()
        .flat_map(|line| redrawn(line, &mut taken, random))
        .collect();
    random.shuffle(&mut untidy.lines);
    untidy
}

/// The places along x, y and z at which something ends.
struct Taken {
    /// The lower left corner of each view on the sheet.
    corners: [[f64; 2]; 3],
    places: [Vec<f64>; 3],
    clear: f64,
}

impl Taken {
    /// The object axes along which an end of a line stands, and where.
    fn spots(&self, line: &Line, end: [f64; 2]) -> [(usize, f64); 2] {
        let view = place(line.view.expect("a named view"));
        let axes = [[0, 2], [0, 1], [1, 2]][view];
        [0, 1].map(|k| (axes[k], end[k] - self.corners[view][k]))
    }

    fn take(&mut self, line: &Line, end: [f64; 2]) {
        for (axis, at) in self.spots(line, end) {
            self.places[axis].push(at);
        }
    }

    /// Whether a place inside a line is clear of all that is taken, along the axes that the line runs along.
    fn is_clear(&self, line: &Line, end: [f64; 2]) -> bool {
        let [from, to] = ends(line);
        (0..2).zip(self.spots(line, end)).all(|(k, (axis, at))| {
            from[k] == to[k]
                || self.places[axis]
                    .iter()
                    .all(|other| (other - at).abs() >= self.clear)
        })
    }
}

/// One line drawn in another way, if places to split it can be found.
fn redrawn(line: &Line, taken: &mut Taken, random: &mut Random) -> Vec<Line> {
    let [from, to] = ends(line);
    let part = |from: [f64; 2], to: [f64; 2]| Line {
        shape: Shape::Line { from, to },
        ..line.clone()
    };
    let mut spot = |low: f64, high: f64| {
        let t = random.between(low, high);
        let at = [0, 1].map(|k| from[k] + t * (to[k] - from[k]));
        let clear = taken.is_clear(line, at);
        if clear {
            taken.take(line, at);
        }
        clear.then_some(at)
    };
    let [first, last] = [spot(0.1, 0.45), spot(0.55, 0.9)];
    match (random.below(5), first, last) {
        (0, ..) => vec![line.clone(), line.clone()],
        (1, ..) => vec![part(to, from)],
        (2, Some(middle), _) => vec![part(from, middle), part(to, middle)],
        (3, Some(first), Some(last)) => vec![part(first, to), part(from, last)],
        _ => vec![line.clone()],
    }
}

/// Start and end of a line.
fn ends(line: &Line) -> [[f64; 2]; 2] {
    let Shape::Line { from, to } = line.shape else {
        unreachable!("the tests draw straight lines only")
    };
    [from, to]
}

#[test]
fn inches_change_nothing_but_the_unit() {
    for_solids(SOME, |_, views, _| {
        let inches = Layout {
            unit: Unit::Inch,
            ..Layout::default()
        };
        same(
            &answer(&views.sheet(Layout::default()))?,
            &answer(&views.sheet(inches))?,
            1e-9,
        )
    });
}

#[test]
fn place_arrangement_and_hints_change_no_reading() {
    for_solids(SOME, |_, views, random| {
        let plain = answer(&views.sheet(Layout::default()))?;
        let origin = [random.between(-300.0, 300.0), random.between(-300.0, 300.0)];
        for projection in [Projection::ThirdAngle, Projection::FirstAngle] {
            for said in [true, false] {
                let outcome = answer(&views.sheet(Layout {
                    projection,
                    said,
                    origin,
                    ..Layout::default()
                }))?;
                if outcome.projection != projection {
                    return Err(format!(
                        "{} taken for {}",
                        projection.name(),
                        outcome.projection.name()
                    ));
                }
                same(&plain, &outcome, ROUNDING)
                    .map_err(|why| format!("{}, said: {said}: {why}", projection.name()))?;
            }
        }
        Ok(())
    });
}

#[test]
fn solid_turned_or_mirrored_with_its_viewers_has_readings_turned_or_mirrored() {
    // The viewers stand before (-y), above (+z) and to the right (+x). Only motions that send viewers to viewers show the
    // same to all three: mirroring left to right, say, would show the right viewer the other side.
    let above_for_right = Motion {
        axes: [2, 1, 0],
        turned: [false; 3],
    };
    let before_for_right = Motion {
        axes: [1, 0, 2],
        turned: [true, true, false],
    };
    let all_in_turn = Motion {
        axes: [2, 0, 1],
        turned: [false, true, true],
    };
    for motion in [above_for_right, before_for_right, all_in_turn] {
        for_solids(SOME / 2, |cells, views, _| {
            let outcome = answer(&views.sheet(Layout::default()))?;
            let mut expected = outcome.clone();
            for Reading { measures, .. } in &mut expected.readings {
                measures.centroid_mm = motion.moved(measures.centroid_mm, measures.size_mm);
                measures.size_mm = motion.axes.map(|axis| measures.size_mm[axis]);
            }
            let mut moved = cells.clone();
            moved.move_points(motion.reverses(), |p| motion.moved(p, views.size));
            same(
                &expected,
                &answer(&drawn(&moved).sheet(Layout::default()))?,
                ROUNDING,
            )
        });
    }
}

/// Axes exchanged, and some of them turned round within the box.
#[derive(Clone, Copy)]
struct Motion {
    /// Where each new coordinate comes from.
    axes: [usize; 3],
    /// Which new coordinates count from the other side of the box.
    turned: [bool; 3],
}

impl Motion {
    fn moved(&self, point: Point, size: Point) -> Point {
        [0, 1, 2].map(|k| {
            let c = point[self.axes[k]];
            if self.turned[k] {
                size[self.axes[k]] - c
            } else {
                c
            }
        })
    }

    /// Whether left and right hands change places.
    fn reverses(&self) -> bool {
        let inversions = (0..3)
            .flat_map(|i| (0..i).map(move |j| (j, i)))
            .filter(|&(j, i)| self.axes[j] > self.axes[i]);
        (inversions.count() + self.turned.iter().filter(|t| **t).count()) % 2 == 1
    }
}

#[test]
fn two_runs_agree_to_the_byte() {
    for_solids(SOME, |_, views, _| {
        let run = || {
            let outcome = answer(&views.sheet(Layout::default()))?;
            let stl: Vec<Vec<u8>> = outcome
                .readings
                .iter()
                .map(|reading| reading.solid.to_stl())
                .collect();
            Ok::<_, String>((stl, format!("{outcome:?}")))
        };
        let [first, second] = [run()?, run()?];
        if first == second {
            Ok(())
        } else {
            Err("two runs differ".to_string())
        }
    });
}

#[test]
fn ends_moved_by_less_than_the_tolerance_change_no_verdict() {
    for_solids(SOME, |_, views, random| {
        let sheet = views.sheet(Layout::default());
        // Two views that are each shaken at both ends by a quarter still agree on their common size up to the tolerance.
        let shaken = shaken(&sheet, tolerance(views) / 4.0, random);
        same(&answer(&sheet)?, &answer(&shaken)?, 2.0 * tolerance(views))
    });
}

#[test]
fn reference_sheets_slightly_off_keep_their_readings() {
    let planar = |part: &Value| part["class"] == "P" || part["class"] == "Q";
    let brute_force = names("brute-force", &json_in("brute-force/manifest.json"), |_| {
        true
    });
    let reference = names(
        "reference",
        &json_in("reference/manifest.json")["parts"],
        planar,
    );
    let paths = brute_force.into_iter().chain(reference);
    let broken: Vec<String> = (0..)
        .zip(paths)
        .filter_map(|(n, path)| change_if_shaken(&path, n))
        .collect();
    assert!(
        broken.is_empty(),
        "{} broken:\n{}",
        broken.len(),
        broken.join("\n")
    );
}

/// How the answer to a reference sheet changes if its ends are moved by a quarter of the tolerance.
fn change_if_shaken(path: &str, number: u64) -> Option<String> {
    let sheet = sheet_in(path);
    let outcome = answer(&sheet).expect("an answer");
    let size = outcome.readings.first()?.measures.size_mm;
    let tolerance = size.iter().fold(0.0, |far: f64, c| far.max(*c)) / 2000.0;
    let reach = tolerance / 4.0 / sheet.unit.millimetres();
    let shaken = match answer(&shaken(&sheet, reach, &mut Random::new(number))) {
        Ok(shaken) => shaken,
        Err(why) => return Some(format!("{path}: {why}")),
    };
    // Of more readings than are listed, which ones are listed may change.
    let change = if outcome.complete() {
        same(&outcome, &shaken, 2.0 * tolerance).err()
    } else {
        (shaken.complete() || shaken.verdict != outcome.verdict)
            .then(|| shaken.verdict.name().to_string())
    };
    change.map(|why| format!("{path}: {why:.600}"))
}

/// The paths of the sheets in a manifest for which a condition holds.
fn names(folder: &str, list: &Value, holds: impl Fn(&Value) -> bool) -> Vec<String> {
    let parts = list
        .as_array()
        .expect("a list")
        .iter()
        .filter(|part| holds(part));
    parts
        .map(|part| format!("{folder}/{}.json", part["name"].as_str().expect("a name")))
        .collect()
}

/// The sheet with every end moved by up to `reach` millimetres in each direction.
fn shaken(sheet: &Sheet, reach: f64, random: &mut Random) -> Sheet {
    let mut shaken = sheet.clone();
    for line in &mut shaken.lines {
        if let Shape::Line { from, to } = &mut line.shape {
            for c in from.iter_mut().chain(to) {
                *c += random.between(-reach, reach);
            }
        }
    }
    shaken
}

#[test]
fn removing_a_line_never_breaks_the_run() {
    for_solids(SOME, |cells, views, _| {
        let sheet = views.sheet(Layout::default());
        for i in 0..sheet.lines.len() {
            let mut torn = sheet.clone();
            torn.lines.remove(i);
            match reconstruct(&torn, &foldback::Options::default()) {
                Err(error) if error.is_internal() => {
                    return Err(format!("without line {i}: {error}"));
                }
                Ok(outcome)
                    if outcome
                        .readings
                        .iter()
                        .any(|reading| is_solid_of(reading, cells)) =>
                {
                    return Err(format!("without line {i}: still the same solid"));
                }
                _ => {}
            }
        }
        Ok(())
    });
}

#[test]
fn random_solids_vary_enough() {
    let mut slanted = 0;
    for kind in KINDS {
        let drawings: Vec<Views> = (0..MANY)
            .map(|number| drawn(&solid(kind, number)))
            .collect();
        let counts: std::collections::BTreeSet<usize> = drawings
            .iter()
            .map(|views| views.strokes.iter().map(Vec::len).sum())
            .collect();
        assert!(counts.len() >= 4, "{kind:?}: only {counts:?} lines");
        let strokes = || {
            drawings
                .iter()
                .flat_map(|views| views.strokes.iter().flatten())
        };
        assert!(
            strokes().any(|stroke| stroke.hidden) || kind == Kind::Pyramid,
            "{kind:?}: nothing hidden"
        );
        slanted += strokes()
            .filter(|s| s.from[0] != s.to[0] && s.from[1] != s.to[1])
            .count();
        let off_grid = drawings
            .iter()
            .filter(|views| views.size.iter().any(|s| s.fract() != 0.0))
            .count();
        assert!(
            off_grid * 4 > drawings.len(),
            "{kind:?}: only {off_grid} off the grid"
        );
        assert!(off_grid < drawings.len(), "{kind:?}: none on the grid");
    }
    assert!(slanted > 500, "only {slanted} slanted lines");
}
