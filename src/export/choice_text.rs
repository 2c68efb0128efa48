//! Places of choice and what settles them, in words.

use super::report::Report;
use super::text::{line_numbers, number};
use crate::outcome::{Alternative, MaterialChange, Place, Section, Settling};
use crate::{Verdict, View};
use itertools::Itertools;

/// No more places are described, and no more alternatives of one; the rest are only counted.
const DESCRIBED: usize = 6;

impl Report {
    /// The number of readings with its digits in groups of three.
    pub(super) fn total(&self) -> String {
        grouped(&self.readings_total.count)
    }

    /// Counts all readings with a sealed hollow apart, when not all are listed.
    pub(super) fn sealed_hollows_in_all(&self) -> String {
        match self.readings_total.hollow.as_str() {
            "0" => String::new(),
            "1" => "1 of them has a sealed hollow inside, which no tool can reach.\n".to_owned(),
            many => format!(
                "{} of them have a sealed hollow inside, which no tool can reach.\n",
                grouped(many)
            ),
        }
    }

    /// Where the readings differ and what settles it.
    pub(super) fn choices(&self) -> String {
        if self.verdict != Verdict::Ambiguous {
            return String::new();
        }
        let mut text = String::new();
        if !self.places.is_empty() {
            text += match self.places.len() {
                1 => "\nThey differ at one place:\n".to_owned(),
                many => format!(
                    "\nThey differ at {many} places, and each place goes with each of the others:\n"
                ),
            }
            .as_str();
        }
        for (number, place) in (1..).zip(self.places.iter().take(DESCRIBED)) {
            text += &self.place(number, place);
        }
        if let more @ 1.. = self.places.len().saturating_sub(DESCRIBED) {
            text += &format!("  and {more} more; `foldback check --json` gives them all\n");
        }
        text + "\nWhat settles it:\n" + &self.settling()
    }

    fn place(&self, number: usize, place: &Place) -> String {
        let at = View::ALL.map(|view| {
            let [low, high] = place.on_sheet[view.index()];
            format!("{}, {} to {}", view.title(), point(low), point(high))
        });
        let mut text = format!(
            "  {number}. Seen in the {} {}\n",
            at.join("; "),
            self.unit.symbol()
        );
        for (k, alternative) in place.alternatives.iter().take(DESCRIBED).enumerate() {
            text += &format!("     {}  {}\n", letter(k), words(alternative));
        }
        if let more @ 1.. = place.alternatives.len().saturating_sub(DESCRIBED) {
            text += &format!("     and {more} more alternatives\n");
        }
        let lines = place
            .lines
            .iter()
            .flat_map(|stretch| stretch.lines.iter().copied());
        let lines: Vec<usize> = lines.sorted_unstable().dedup().collect();
        if let Some(lines) = line_numbers(&lines) {
            text += &format!("     It hides behind {lines}.\n");
        }
        if let (Some(settling), None) = (place.settled_by, self.settled_by) {
            text += &format!("     Settled by {}.\n", self.means(&settling));
        }
        text
    }

    fn settling(&self) -> String {
        match self.settled_by {
            Some(settling @ Settling::View(view)) => format!(
                "  Draw {} as well: no two of these objects look alike in it.\n  \
                 foldback picture {} --settling -o {}.svg\n",
                self.means(&settling),
                super::text::quoted(&self.name),
                view.name()
            ),
            Some(settling @ Settling::Section(_)) => format!(
                "  No further view is sure to. Draw {}: no two of these objects are cut alike.\n",
                self.means(&settling)
            ),
            None if self.places.iter().any(|place| place.settled_by.is_some()) => {
                "  No single view or section is sure to; each place has its own.\n".to_owned()
            }
            None => "  No single view or section is sure to.\n".to_owned(),
        }
    }

    /// A view or a section in words.
    fn means(&self, settling: &Settling) -> String {
        match settling {
            Settling::View(view) => format!("a {}", view.title()),
            Settling::Section(Section {
                parallel_to,
                seen_in,
                line: [from, to],
                ..
            }) => format!(
                "a section parallel to the {}, cut along the line from {} to {} {} in the {}",
                parallel_to.title(),
                point(*from),
                point(*to),
                self.unit.symbol(),
                seen_in.title()
            ),
        }
    }
}

fn point([x, y]: [f64; 2]) -> String {
    format!("({}, {})", number(x, 3), number(y, 3))
}

/// `a` for the first alternative, `b` for the second and so on; numbers after `z`.
fn letter(place: usize) -> String {
    match u8::try_from(place) {
        Ok(k @ 0..26) => char::from(b'a' + k).to_string(),
        _ => (place + 1).to_string(),
    }
}

fn words(alternative: &Alternative) -> String {
    let reading = match alternative.readings.first() {
        Some(reading) => format!(" (as in reading {})", reading + 1),
        None => String::new(),
    };
    let hollow = if alternative.hollow {
        ", with a sealed hollow"
    } else {
        ""
    };
    match &alternative.changes[..] {
        [] => format!("compare the others with this one{hollow}{reading}"),
        changes => {
            let changes = changes.iter().map(change).join("; ");
            format!("{changes}{hollow}{reading}")
        }
    }
}

/// What is more or less, and where it begins, counted from the left, the front and the bottom.
fn change(change: &MaterialChange) -> String {
    let [low, high] = change.box_mm;
    let size = [0, 1, 2].map(|a| number(high[a] - low[a], 3)).join(" × ");
    let [left, front, up] = low.map(|c| number(c, 3));
    let volume = number(change.volume_mm3, 2);
    let what = match (change.block, change.more) {
        (true, true) => format!("with a block {size} mm ({volume} mm³)"),
        (true, false) => format!("without a block {size} mm ({volume} mm³)"),
        // What is more and what is less touch each other.
        _ if volume == "0" => format!("as much material, but otherwise laid out, within {size} mm"),
        (false, true) => format!("{volume} mm³ more within {size} mm"),
        (false, false) => format!("{volume} mm³ less within {size} mm"),
    };
    format!("{what}, {left} mm from the left, {front} mm from the front, {up} mm up")
}

/// Digits in groups of three.
fn grouped(digits: &str) -> String {
    let first = digits.len() % 3;
    let (start, rest) = digits.split_at(first);
    let mut groups: Vec<&str> = Vec::new();
    if !start.is_empty() {
        groups.push(start);
    }
    let mut rest = rest;
    while !rest.is_empty() {
        let (group, after) = rest.split_at(3);
        groups.push(group);
        rest = after;
    }
    groups.join("\u{a0}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn long_numbers_are_grouped_by_three() {
        assert_eq!(grouped("12"), "12");
        assert_eq!(grouped("1073741824"), "1\u{a0}073\u{a0}741\u{a0}824");
        assert_eq!(grouped("123456"), "123\u{a0}456");
    }
}
