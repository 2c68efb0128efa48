//! The report for a person: short sentences, the numbers one wants, and what to do next.
//!
//! Written for a drafting teacher and a twelve-year-old. Lines of the drawing are counted from 1 here, as people
//! count; programs get places counted from 0.

use super::report::Report;
use super::words::line_in_words;
use crate::outcome::Limit;
use crate::{Measures, Projection, Remark, Unit, Verdict};

/// How many lines of a drawing one remark names; the rest are only counted.
const LINES_NAMED: usize = 12;

/// Columns of the table of readings.
const COLUMNS: [&str; 6] = [
    "reading",
    "volume",
    "surface",
    "faces",
    "through holes",
    "sealed hollows",
];

impl Report {
    /// The report in words, several lines of plain text that end with a line break.
    pub fn to_text(&self) -> String {
        let mut text = format!("{}\n{}\n", self.name, self.verdict_sentence());
        text += &match self.readings.as_slice() {
            [] => self.views(),
            [only] => self.one_reading(only),
            _ => self.several_readings(),
        };
        text += &self.lines_left_out();
        text += &self.choices();
        text += &list("What does not fit", &self.problems);
        text += &list(self.warnings_title(), &self.warnings);
        if self.names_lines() {
            text += "\nLines are counted from 1, in the order of the file.\n";
        }
        text += &format!("\nNext: {}\n", self.advice());
        text
    }

    fn verdict_sentence(&self) -> String {
        let found = self.readings.len();
        match (self.verdict, self.complete()) {
            (Verdict::Unique, _) => "This sheet describes exactly one object.".to_owned(),
            (Verdict::Ambiguous, true) => {
                format!("This sheet describes {found} different objects.")
            }
            (Verdict::Ambiguous, false) if self.readings_total.exact => format!(
                "This sheet describes {} different objects; the first {found} are listed.",
                self.total()
            ),
            (Verdict::Ambiguous, false) => format!(
                "This sheet describes at least {} different objects. {}",
                self.total(),
                self.stop_sentence()
            ),
            (Verdict::Contradictory, _) => "No object has these three views.".to_owned(),
            (Verdict::Undecided, _) => format!(
                "The answer is open: {} so far. {}",
                counted(found, "object was found", "objects were found"),
                self.stop_sentence()
            ),
        }
    }

    fn stop_sentence(&self) -> &'static str {
        match self.stopped_by {
            Some(Limit::Readings) => "The search stopped there because the limit was reached.",
            Some(Limit::Stopped) => "The search ran out of time.",
            Some(Limit::Depths) => {
                "Only objects were looked for whose every height, width and depth occurs on the sheet."
            }
            None => "",
        }
    }

    /// How the views stand, which every report gives.
    fn views(&self) -> String {
        let place = match self.projection {
            Projection::ThirdAngle => "top view above the front view",
            Projection::FirstAngle => "top view below the front view",
        };
        format!("\n  views    {}: {place}\n", self.projection.name())
    }

    fn one_reading(&self, measures: &Measures) -> String {
        format!(
            "{}  size     {}\n  volume   {}\n  surface  {}\n  shape    {}, {}, {}\n  holes    {}\n",
            self.views(),
            self.size(measures),
            volume(measures),
            surface(measures),
            counted(measures.faces, "face", "faces"),
            counted(measures.edges, "edge", "edges"),
            counted(measures.vertices, "corner", "corners"),
            holes(measures),
        )
    }

    fn several_readings(&self) -> String {
        let mut text = match self.left_out.iter().all(Vec::is_empty) {
            true => "Each of them has exactly these views, every hidden line included.\n".to_owned(),
            false => "Each of them has exactly these visible lines, and more hidden lines than are drawn.\n"
                .to_owned(),
        };
        text += &self.sealed_hollows();
        text += &self.views();
        if shared_size(&self.readings) {
            text += &format!("  size     {}, all of them\n", self.size(&self.readings[0]));
        }
        let mut rows = vec![COLUMNS.map(str::to_owned)];
        rows.extend(self.readings.iter().enumerate().map(|(i, m)| row(i + 1, m)));
        format!("{text}\n{}", table(&rows))
    }

    /// Counts the readings with a sealed hollow apart: nobody can mill one.
    fn sealed_hollows(&self) -> String {
        if !self.complete() && self.readings_total.exact {
            return self.sealed_hollows_in_all();
        }
        let open = self.open_readings();
        let have = |n: usize| if n == 1 { "has" } else { "have" };
        match self.readings.len() - open {
            0 => String::new(),
            _ if open == 0 => {
                "Every one of them has a sealed hollow inside, which no tool can reach.\n"
                    .to_owned()
            }
            sealed => format!(
                "{open} of them {} no sealed hollow; {sealed} {} one, which no tool can reach.\n",
                have(open),
                have(sealed)
            ),
        }
    }

    fn size(&self, measures: &Measures) -> String {
        let [wide, deep, high] = measures.size_mm.map(|mm| number(mm, 3));
        let size = format!("{wide} mm wide, {deep} mm deep, {high} mm high");
        if self.unit == Unit::Millimetre {
            return size;
        }
        let [wide, deep, high] = measures
            .size_mm
            .map(|mm| number(mm / self.unit.millimetres(), 4));
        format!("{size} ({wide} × {deep} × {high} {})", self.unit.symbol())
    }

    fn warnings_title(&self) -> &'static str {
        match self.verdict {
            Verdict::Contradictory => "Also noticed",
            _ => "Noticed (the answer stands)",
        }
    }

    /// The hidden lines that the sheet does not show, of the first reading only: they tell what to draw to be complete.
    fn lines_left_out(&self) -> String {
        let Some(first) = self.left_out.first().filter(|lines| !lines.is_empty()) else {
            return String::new();
        };
        let of = match self.readings.len() {
            1 => "",
            _ => " of reading 1",
        };
        let mut text = format!("\nHidden lines{of} that the sheet leaves out:\n");
        for stretch in first.iter().take(LINES_NAMED) {
            let words = line_in_words(stretch.view, stretch.line_type, &stretch.shape, self.unit);
            text += &format!("  - a {words}\n");
        }
        if first.len() > LINES_NAMED {
            text += &format!("  - and {} more\n", first.len() - LINES_NAMED);
        }
        text
    }

    fn names_lines(&self) -> bool {
        let mut all = self.warnings.iter().chain(&self.problems);
        all.any(|remark| !remark.lines.is_empty())
            || self.places.iter().any(|p| !p.lines.is_empty())
    }

    fn advice(&self) -> String {
        let name = quoted(&self.name);
        match self.verdict {
            Verdict::Unique => format!("write it for a 3D printer:\n  foldback solid {name} -o part.stl"),
            Verdict::Ambiguous => format!(
                "look at them, side by side:\n  foldback picture {name} --side-by-side -o all.svg"
            ),
            Verdict::Contradictory if self.names_lines() => {
                format!("look at the lines named above, or let foldback propose corrections:\n  foldback mend {name}")
            }
            Verdict::Contradictory => format!(
                "compare the three views, or let foldback propose corrections:\n  foldback mend {name}"
            ),
            Verdict::Undecided => match self.stopped_by {
                Some(Limit::Depths) if self.names_lines() => {
                    "look at the lines named above, and draw the hidden lines that show how deep things are.".to_owned()
                }
                Some(Limit::Depths) => "draw the hidden lines that show how deep things are.".to_owned(),
                Some(Limit::Readings) => "allow more readings, for instance with `--limit 100`.".to_owned(),
                _ => "allow more time, for instance with `--time-limit 600`, or draw fewer lines on one sheet."
                    .to_owned(),
            },
        }
    }
}

fn volume(measures: &Measures) -> String {
    let mm3 = measures.volume_mm3;
    format!("{} mm³ ({} cm³)", number(mm3, 2), number(mm3 / 1000.0, 3))
}

fn surface(measures: &Measures) -> String {
    format!("{} mm²", number(measures.surface_mm2, 2))
}

fn holes(measures: &Measures) -> String {
    let through = match measures.genus {
        0 => "none goes right through".to_owned(),
        1 => "1 goes right through".to_owned(),
        many => format!("{many} go right through"),
    };
    match measures.shells.saturating_sub(1) {
        0 => through,
        1 => format!("{through}; 1 sealed hollow inside, which no tool can reach"),
        many => format!("{through}; {many} sealed hollows inside, which no tool can reach"),
    }
}

/// Whether all readings have the same box, as far as the report shows it.
fn shared_size(readings: &[Measures]) -> bool {
    let shown = |m: &Measures| m.size_mm.map(|mm| number(mm, 3));
    readings
        .windows(2)
        .all(|pair| shown(&pair[0]) == shown(&pair[1]))
}

fn row(reading: usize, measures: &Measures) -> [String; 6] {
    [
        reading.to_string(),
        format!("{} mm³", number(measures.volume_mm3, 2)),
        surface(measures),
        measures.faces.to_string(),
        measures.genus.to_string(),
        measures.shells.saturating_sub(1).to_string(),
    ]
}

/// Rows with every column as wide as its widest cell.
fn table(rows: &[[String; 6]]) -> String {
    let mut text = String::new();
    for row in rows {
        let mut line = String::new();
        for (column, cell) in row.iter().enumerate() {
            let width = rows
                .iter()
                .map(|row| row[column].chars().count())
                .max()
                .unwrap_or(0);
            line += &format!("  {cell:<width$}");
        }
        text += line.trim_end();
        text.push('\n');
    }
    text
}

fn list(title: &str, remarks: &[Remark]) -> String {
    if remarks.is_empty() {
        return String::new();
    }
    let items: String = remarks.iter().map(item).collect();
    format!("\n{title}:\n{items}")
}

/// A remark as an item of a list; its message tells the place, this adds the lines' numbers.
fn item(remark: &Remark) -> String {
    match line_numbers(&remark.lines) {
        None => format!("  - {}\n", sentence(remark)),
        Some(numbers) => format!("  - {} ({numbers})\n", sentence(remark)),
    }
}

/// `line 8`, or `lines 8, 9, 12`, or the first few and how many more; counted from 1.
pub(super) fn line_numbers(places: &[usize]) -> Option<String> {
    let numbers: Vec<String> = places
        .iter()
        .take(LINES_NAMED)
        .map(|place| (place + 1).to_string())
        .collect();
    let named = numbers.join(", ");
    match places.len() {
        0 => None,
        1 => Some(format!("line {named}")),
        many if many > LINES_NAMED => {
            Some(format!("lines {named} and {} more", many - LINES_NAMED))
        }
        _ => Some(format!("lines {named}")),
    }
}

/// The remark's message as a sentence that names the view.
fn sentence(remark: &Remark) -> String {
    let message = remark.message.trim_end_matches('.');
    let named = match remark.view {
        Some(view) if !message.to_lowercase().contains(view.title()) => {
            format!("{}: {message}", view.title())
        }
        _ => message.to_owned(),
    };
    let mut letters = named.chars();
    match letters.next() {
        Some(first) => format!("{}{}.", first.to_uppercase(), letters.as_str()),
        None => named,
    }
}

/// `value` with at most `decimals` decimals and no needless zeros.
pub(super) fn number(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    let short = match text.contains('.') {
        true => text.trim_end_matches('0').trim_end_matches('.'),
        false => &text,
    };
    match short {
        "-0" => "0".to_owned(),
        _ => short.to_owned(),
    }
}

/// `name` as it is typed on a command line: in quotes when it has anything but letters, digits and what paths are made of.
pub(super) fn quoted(name: &str) -> String {
    let plain = |c: char| c.is_alphanumeric() || "-_./\\:".contains(c);
    match name.chars().all(plain) {
        true => name.to_owned(),
        false => format!("\"{name}\""),
    }
}

fn counted(n: usize, one: &str, many: &str) -> String {
    match n {
        0 => format!("no {many}"),
        1 => format!("1 {one}"),
        _ => format!("{n} {many}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{ReadingsTotal, RemarkKind, View};

    fn brick() -> Measures {
        Measures {
            volume_mm3: 24_000.000_000_01,
            surface_mm2: 5200.0,
            centroid_mm: [20.0, 10.0, 15.0],
            size_mm: [40.0, 20.0, 30.0],
            faces: 6,
            edges: 12,
            vertices: 8,
            shells: 1,
            genus: 0,
        }
    }

    fn report(verdict: Verdict, readings: Vec<Measures>) -> Report {
        Report {
            name: "brick.json".into(),
            unit: Unit::Millimetre,
            verdict,
            projection: Projection::ThirdAngle,
            stopped_by: None,
            readings,
            warnings: vec![],
            problems: vec![],
            left_out: vec![],
            conflict: vec![],
            readings_total: ReadingsTotal {
                count: "2".to_owned(),
                hollow: "1".to_owned(),
                exact: true,
            },
            places: vec![],
            settled_by: None,
            further_view: vec![],
        }
    }

    fn missing_edge() -> Remark {
        Remark {
            kind: RemarkKind::LineWithoutEdge,
            view: Some(View::Front),
            message: "no edge can give the line from (12.7, 40) to (30, 40) mm".into(),
            lines: vec![7],
        }
    }

    // The numbers are those of a 40 x 20 x 30 mm brick: 24,000 mm3 and 2(800 + 1200 + 600) = 5200 mm2.
    #[test]
    fn unique_report_gives_size_volume_and_counts() {
        let text = report(Verdict::Unique, vec![brick()]).to_text();
        insta::assert_snapshot!(text, @r"
        brick.json
        This sheet describes exactly one object.

          views    third-angle: top view above the front view
          size     40 mm wide, 20 mm deep, 30 mm high
          volume   24000 mm³ (24 cm³)
          surface  5200 mm²
          shape    6 faces, 12 edges, 8 corners
          holes    none goes right through

        Next: write it for a 3D printer:
          foldback solid brick.json -o part.stl
        ");
    }

    #[test]
    fn readings_with_a_sealed_hollow_are_counted_apart() {
        let hollow = Measures {
            volume_mm3: 23_000.0,
            shells: 2,
            faces: 12,
            ..brick()
        };
        let text = report(Verdict::Ambiguous, vec![brick(), hollow]).to_text();
        insta::assert_snapshot!(text, @r"
        brick.json
        This sheet describes 2 different objects.
        Each of them has exactly these views, every hidden line included.
        1 of them has no sealed hollow; 1 has one, which no tool can reach.

          views    third-angle: top view above the front view
          size     40 mm wide, 20 mm deep, 30 mm high, all of them

          reading  volume     surface   faces  through holes  sealed hollows
          1        24000 mm³  5200 mm²  6      0              0
          2        23000 mm³  5200 mm²  12     0              1

        What settles it:
          No single view or section is sure to.

        Next: look at them, side by side:
          foldback picture brick.json --side-by-side -o all.svg
        ");
    }

    #[test]
    fn problem_names_view_line_and_place() {
        let mut contradictory = report(Verdict::Contradictory, vec![]);
        contradictory.problems.push(missing_edge());
        insta::assert_snapshot!(contradictory.to_text(), @r"
        brick.json
        No object has these three views.

          views    third-angle: top view above the front view

        What does not fit:
          - Front view: no edge can give the line from (12.7, 40) to (30, 40) mm. (line 8)

        Lines are counted from 1, in the order of the file.

        Next: look at the lines named above, or let foldback propose corrections:
          foldback mend brick.json
        ");
    }

    #[test]
    fn stopped_search_says_which_limit_and_what_to_do() {
        let mut stopped = report(Verdict::Undecided, vec![brick()]);
        stopped.stopped_by = Some(Limit::Stopped);
        insta::assert_snapshot!(stopped.to_text(), @r"
        brick.json
        The answer is open: 1 object was found so far. The search ran out of time.

          views    third-angle: top view above the front view
          size     40 mm wide, 20 mm deep, 30 mm high
          volume   24000 mm³ (24 cm³)
          surface  5200 mm²
          shape    6 faces, 12 edges, 8 corners
          holes    none goes right through

        Next: allow more time, for instance with `--time-limit 600`, or draw fewer lines on one sheet.
        ");
    }

    #[test]
    fn inch_sheet_gives_its_size_in_inches_too() {
        let mut inch = report(Verdict::Unique, vec![brick()]);
        inch.unit = Unit::Inch;
        assert!(inch.to_text().contains("(1.5748 × 0.7874 × 1.1811 in)"));
    }

    #[test]
    fn only_the_first_of_many_lines_are_named() {
        let places: Vec<usize> = (0..20).collect();
        let numbers = "lines 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12 and 8 more";
        assert_eq!(line_numbers(&places).unwrap(), numbers);
        assert_eq!(line_numbers(&places[..2]).unwrap(), "lines 1, 2");
        assert_eq!(line_numbers(&[]), None);
    }

    #[test]
    fn name_with_a_space_is_quoted_in_the_advice() {
        let mut spaced = report(Verdict::Unique, vec![brick()]);
        spaced.name = "my brick.json".into();
        let text = spaced.to_text();
        assert!(
            text.contains("foldback solid \"my brick.json\" -o"),
            "{text}"
        );
    }

    #[test]
    fn numbers_carry_no_needless_zeros() {
        assert_eq!(number(40.0, 3), "40");
        assert_eq!(number(0.125, 3), "0.125");
        assert_eq!(number(-0.0001, 3), "0");
        assert_eq!(number(100.0, 0), "100");
    }
}
