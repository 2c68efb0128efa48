//! The growing families the benchmarks measure: drawn in closed form, each member unique, its volume by formula.

#[path = "../../benches/families/mod.rs"]
mod drawn;

#[test]
fn staircases_are_unique() {
    for n in [1, 2, 7, 30] {
        drawn::staircase(n).checked_answer(&format!("staircase {n}"));
    }
}

#[test]
fn plates_with_windows_are_unique() {
    for n in [1, 2, 3, 6] {
        drawn::windows(n).checked_answer(&format!("windows {n}"));
    }
}

#[test]
fn blocks_with_pockets_of_unlike_depth_are_unique() {
    for n in [1, 2, 3, 5] {
        drawn::pockets(n).checked_answer(&format!("pockets {n}"));
    }
}

#[test]
fn plates_with_round_holes_are_unique() {
    for n in [1, 2, 3, 6] {
        drawn::round_holes(n).checked_answer(&format!("round holes {n}"));
    }
}
