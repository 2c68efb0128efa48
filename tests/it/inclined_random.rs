//! Random parts with an inclined axis: balls wider than the bar they sit on, balls with a hole through them, ball-shaped ends
//! of holes, countersinks, spouts and drill points. Slopes, sizes and the view that shows the slope are drawn by lot from
//! fixed seeds; the tests' own drafter draws the parts and knows their volume.

use foldback::Verdict;

use crate::check::answer;
use crate::drafted_parts::is_reading_within;
use crate::drafter::{Body, ball, bar, block, draft};
use crate::inclined::{ahead_in, is_lost_within, within_reach};
use crate::layout::Layout;
use crate::random::Random;

/// How exact volumes are: where a contour ends within the tolerance of another place and no finer tolerance gives a reading, the
/// surface stands off by as much along a part of its border. Measured: one of 96 parts is off by 1.3e-6, all others by less
/// than 1e-6.
const EXACT: f64 = 2e-6;

/// What is drawn by lot: the plane of the axis, its angle, the radius of the bar.
struct Lot {
    way: usize,
    degrees: f64,
    radius: f64,
    random: Random,
}

impl Lot {
    /// A round bar of the lot between two distances from a point within the cuboid, along the axis; its radii may differ.
    fn bar(&self, span: [f64; 2], radii: [f64; 2]) -> Body {
        bar(span.map(|far| self.at(far)), radii)
    }

    fn at(&self, far: f64) -> [f64; 3] {
        ahead_in(self.way, [20.0, 18.0, 19.0], self.degrees, far)
    }
}

fn cuboid() -> Body {
    block([0.0; 3], [40.0, 36.0, 38.0])
}

/// A kind of part: its name, and how one is drawn by lot.
type Kind = (&'static str, fn(&mut Lot) -> Body);

const BALLS: [Kind; 4] = [
    ("ball on a bar", |lot| {
        let (big, long) = ball_and_length(lot);
        let stick = within_reach(lot.bar([0.0, long], [lot.radius; 2]));
        stick.with([ball(lot.at(long), big)])
    }),
    ("knob on a block", |lot| {
        let (big, long) = ball_and_length(lot);
        let stick = within_reach(lot.bar([0.0, long + 22.0], [lot.radius; 2]));
        cuboid().with([stick, ball(lot.at(long + 24.0), big)])
    }),
    ("drilled ball", |lot| {
        let (big, _) = ball_and_length(lot);
        let hole = lot.bar([-60.0, 60.0], [lot.radius; 2]);
        ball(lot.at(0.0), 3.0 * big).without([hole])
    }),
    ("hole with a ball-shaped end", |lot| {
        let (big, _) = ball_and_length(lot);
        let hole = lot.bar([0.0, 70.0], [lot.radius; 2]);
        cuboid().without([hole, ball(lot.at(0.0), big)])
    }),
];

/// The radius of a ball wider than the bar, and a length of the bar.
fn ball_and_length(lot: &mut Lot) -> (f64, f64) {
    let big = lot.radius * lot.random.between(1.15, 2.2);
    (big, big * lot.random.between(1.3, 3.0) + 4.0)
}

const CONES: [Kind; 3] = [
    ("countersink", |lot| {
        let (r, slope) = (lot.radius, lot.random.between(0.1, 0.35));
        let sink = lot.bar([-4.0, 60.0], [r, r + 64.0 * slope]);
        cuboid().without([sink])
    }),
    ("spout", |lot| {
        let (long, slope) = (lot.random.between(30.0, 50.0), lot.random.between(0.1, 0.2));
        let r = lot.radius;
        let spout = within_reach(lot.bar([0.0, long], [r + long * slope, r]));
        cuboid().with([spout])
    }),
    ("drill point", |lot| {
        let r = lot.radius;
        let tip = r / lot.random.between(0.4, 2.0);
        let drill = lot.bar([-4.0, 60.0], [r; 2]);
        let point = lot.bar([-4.0, -4.0 - tip], [r, 0.0]);
        cuboid().without([drill, point])
    }),
];

/// The first lots that follow from a seed, for each plane of the axis in turn.
fn lots(seed: u64) -> impl Iterator<Item = Lot> {
    let mut random = Random::new(seed);
    (0..).map(move |k: usize| Lot {
        way: k % 3,
        degrees: random.between(12.0, 168.0),
        radius: random.between(2.0, 4.5),
        random: Random::new(seed + 1000 * k as u64),
    })
}

/// A part of one of some kinds by lot, its name, and how its axis lies.
fn part(mut lot: Lot, kinds: &[Kind]) -> (Body, String) {
    let (name, part) = kinds[lot.random.below(kinds.len())];
    let body = part(&mut lot);
    (body, format!("{name}, plane {}, {}", lot.way, lot.degrees))
}

/// Makes `many` parts of some kinds for each plane of the axis and gives those that are not among the readings of their drawing
/// with their volume, off by as much as a share of it.
fn lost(seed: u64, many: usize, kinds: &[Kind], share: f64) -> Vec<String> {
    let mut lost = Vec::new();
    for (k, lot) in lots(seed).take(3 * many).enumerate() {
        let (body, name) = part(lot, kinds);
        let why = is_lost_within(&body, share);
        lost.extend(why.map(|why| format!("{seed} {k}, {name}: {why}")));
    }
    lost
}

fn assert_found(seed: u64, many: usize, kinds: &[Kind]) {
    let lost = lost(seed, many, kinds, EXACT);
    assert!(lost.is_empty(), "{} lost\n{}", lost.len(), lost.join("\n"));
}

#[test]
fn random_balls_wider_than_their_inclined_bar_are_found() {
    assert_found(3, 16, &BALLS);
}

#[test]
fn random_inclined_countersinks_spouts_and_drill_points_are_found() {
    assert_found(4, 16, &CONES);
}

/// Parts whose drawings were once called contradictory: where an axis is a degree or two off the sheet's, and at the ends of
/// contours, lines stay beside each other for long. And those with several readings that differ by strips taken as flat or round.
#[test]
fn parts_with_lines_beside_each_other_are_the_only_readings() {
    let once = [
        (1, 67, "spout"),
        (1, 70, "spout"),
        (2, 20, "ball on a bar"),
        (2, 77, "drilled ball"),
        (3, 36, "ball on a bar"),
        (3, 50, "countersink"),
        (7, 38, "countersink"),
        (7, 89, "knob on a block"),
        (7, 109, "spout"),
        (12, 21, "ball on a bar"),
        (12, 21, "knob on a block"),
        (2, 20, "knob on a block"),
        (2, 77, "hole with a ball-shaped end"),
        (16, 17, "knob on a block"),
        (16, 37, "hole with a ball-shaped end"),
        (16, 79, "spout"),
    ];
    for (seed, k, kind) in once {
        let mut kinds = BALLS.iter().chain(&CONES);
        let kind = kinds.find(|(name, _)| *name == kind).expect("a kind");
        let lot = lots(seed).nth(k).expect("a lot");
        let (body, name) = part(lot, &[*kind]);
        let drafting = draft(&body);
        let outcome = answer(&drafting.sheet(Layout::default())).expect("an answer");
        assert_eq!(
            outcome.verdict,
            Verdict::Unique,
            "{name}: {:?}",
            outcome.problems
        );
        assert!(
            is_reading_within(&outcome.readings[0], &drafting, ROUGH),
            "{name}"
        );
    }
}

/// How exact volumes are among many parts. Measured: of 3,360 parts 16 are off by more than 2e-6, one by as much as 1.6e-5.
const ROUGH: f64 = 2e-5;

/// 40 parts of each kind for each plane, 840 in all, from the seed in `FOLDBACK_HUNT`.
#[test]
#[ignore = "takes minutes"]
fn none_of_840_random_inclined_parts_is_lost() {
    let seed = std::env::var("FOLDBACK_HUNT").map_or(2, |seed| seed.parse().expect("a seed"));
    let kinds = BALLS.iter().chain(&CONES);
    let lost: Vec<String> = kinds
        .flat_map(|kind| lost(seed, 40, &[*kind], ROUGH))
        .collect();
    assert!(lost.is_empty(), "{} lost\n{}", lost.len(), lost.join("\n"));
}
