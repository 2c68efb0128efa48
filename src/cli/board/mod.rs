//! The drawing board as the command carries it: its files, and the page made of them in two ways.
//!
//! A server gives the files out one by one; the single file holds all of them and the engine. In both the page gets its
//! samples and learns where its engine is from blocks of data that are never run.

pub(super) mod bundle;
mod packed;
pub(super) mod single;

use anyhow::Result;
use serde::Serialize;
use serde_json::value::RawValue;

use crate::Options;
use crate::page::say_views;
use crate::read_sheet;

include!(concat!(env!("OUT_DIR"), "/board.rs"));

/// Where the blocks of data go in the page.
const DATA: &str = "<!-- data -->";

/// A sample sheet as the page offers it.
#[derive(Serialize)]
struct Sample {
    name: &'static str,
    title: &'static str,
    sheet: Box<RawValue>,
}

/// The text of one of the board's files.
pub(super) fn file(name: &str) -> Option<&'static str> {
    let found = FILES.iter().find(|(file, _)| *file == name);
    found.map(|(_, text)| *text)
}

/// The page with its data: the samples, the kind of its engine (`server` or `wasm`), and further blocks.
///
/// # Errors
/// When the samples cannot be compressed.
pub(super) fn page(engine: &str, further: &str) -> Result<String> {
    let samples = packed::packed(samples().as_bytes())?;
    let mut data = block("text/plain", "board-samples", &samples);
    let kind = format!("{{\"kind\":\"{engine}\"}}");
    data += &block("application/json", "board-engine", &kind);
    data += further;
    let page = file("index.html").unwrap_or_default();
    Ok(page.replacen(DATA, &data, 1))
}

/// A block of data that a browser keeps as text.
fn block(kind: &str, id: &str, text: &str) -> String {
    // The one thing that ends such a block is a tag that closes it, or one that looks like it.
    let text = match kind {
        "application/json" => text.replace('<', "\\u003c"),
        _ => text.to_owned(),
    };
    format!("<script type=\"{kind}\" id=\"{id}\">{text}</script>\n")
}

/// All samples as JSON, every line with its view where it can be told.
fn samples() -> String {
    let sample = |(name, about, text): &(&'static str, &'static str, &'static str)| {
        let (mut sheet, _) = read_sheet(text.as_bytes()).ok()?;
        say_views(&mut sheet, &Options::default());
        Some(Sample {
            name,
            title: about.trim(),
            sheet: RawValue::from_string(sheet.to_json().replace('\n', "")).ok()?,
        })
    };
    let samples: Vec<Sample> = SAMPLES.iter().filter_map(sample).collect();
    serde_json::to_string(&samples).unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_sample_is_on_the_page() {
        let samples: serde_json::Value = serde_json::from_str(&samples()).unwrap();
        assert_eq!(samples.as_array().unwrap().len(), SAMPLES.len());
        assert!(SAMPLES.len() > 30);
    }

    #[test]
    fn page_has_each_place_for_data_once() {
        let page = file("index.html").unwrap();
        for place in [DATA, single::STYLE, single::SCRIPT] {
            assert_eq!(page.matches(place).count(), 1, "{place}");
        }
    }

    #[test]
    fn data_cannot_end_its_own_block() {
        let block = block("application/json", "x", "{\"a\":\"</script><script>\"}");
        assert_eq!(block.matches("</script>").count(), 1);
    }
}
