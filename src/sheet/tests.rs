//! Views and snapping, on the reference sheets and on sheets put together here.

use std::fs;
use std::path::PathBuf;

use super::read::read_sheet;
use super::*;
use crate::Options;

fn reference_names() -> Vec<String> {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/reference");
    let mut names: Vec<String> = fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned())
        .filter(|name| name.ends_with(".svg"))
        .map(|name| name.trim_end_matches(".svg").to_owned())
        .collect();
    names.sort();
    names
}

fn reference(name: &str) -> Sheet {
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR"))
        .join("tests/reference")
        .join(name);
    read_sheet(&fs::read(path).unwrap()).unwrap().0
}

#[test]
fn views_and_projection_are_worked_out_as_the_reference_says() {
    for name in reference_names() {
        let said = reference(&format!("{name}.json"));
        let mut bare = said.clone();
        bare.projection = None;
        for line in &mut bare.lines {
            line.view = None;
            if line.line_type == LineType::Border {
                line.line_type = LineType::Visible;
            }
        }
        let placed = match views::place(&bare, &Options::default()) {
            Ok(p) => p,
            Err(e) => {
                println!("{name}: {e}");
                continue;
            }
        };
        if Some(placed.projection) != said.projection {
            println!("{name}: projection");
        }
        for (line, view) in &placed.lines {
            if said.lines[*line].view != Some(*view) {
                println!("{name}: line {line} {:?}", said.lines[*line]);
                break;
            }
        }
        let count = said
            .lines
            .iter()
            .filter(|l| l.line_type.bears_geometry())
            .count();
        if count != placed.lines.len() {
            println!("{name}: {count} {}", placed.lines.len());
        }
        if name.starts_with(['p', 'q']) {
            for f in ["json", "svg"] {
                let sheet = reference(&format!("{name}.{f}"));
                match views::drawing(&sheet, &Options::default()) {
                    Ok(d) => println!(
                        "{name} {f}: tol {:?} sizes {:?} {:?} {:?}",
                        d.tolerance,
                        d.axes.iter().map(|a| a.last().unwrap()).collect::<Vec<_>>(),
                        d.warnings,
                        d.problems
                    ),
                    Err(e) => println!("{name}: {e}"),
                }
            }
        }
    }
}
