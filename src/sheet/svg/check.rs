//! Checks an SVG file before anything is resolved: its numbers, what it refers to, and how large `use` and entities would
//! make it.

use std::str::FromStr;

use roxmltree::{Document, Node};
use rustc_hash::FxHashMap;
use svgtypes::{Length, NumberListParser, PathParser, Transform};

use super::SvgFault;
use super::prepare::at;
use crate::sheet::read::{MAX_NUMBER, Place, ReadError, place_of};
use crate::sheet::{Remark, RemarkKind};

/// How deep elements may be nested, `use` followed.
pub(super) const MAX_DEPTH: usize = 128;

/// The most elements a file may come to, `use` followed.
pub(super) const MAX_ELEMENTS: u64 = 500_000;

/// The most stretches that all paths together may have.
const MAX_STRETCHES: usize = 500_000;

/// The most attributes one element may have.
const MAX_ATTRIBUTES: usize = 200;

/// The most pairs of style rule and element that are tried.
const MAX_RULE_TRIALS: usize = 200_000_000;

/// The most pairs of character and rule in styles: for every rule the library counts rows from the beginning.
const MAX_STYLE_WORK: usize = 1_000_000_000;

/// The most text that entities may stand for, in bytes.
const MAX_ENTITY_TEXT: usize = 64 << 20;

const XLINK: &str = "http://www.w3.org/1999/xlink";

/// Whether an element is SVG and nothing foreign, such as an editor's own data.
pub(super) fn is_svg(node: Node<'_, '_>) -> bool {
    matches!(
        node.tag_name().namespace(),
        None | Some("http://www.w3.org/2000/svg")
    )
}

/// Refuses entities that would make the text too large: the parser bounds their depth, but not their length.
pub(super) fn entities(text: &str) -> Result<(), ReadError> {
    let Some(start) = text.find("<!ENTITY") else {
        return Ok(());
    };
    let declared = text[start..]
        .find("]>")
        .map_or(text.len() - start, |end| end);
    let nested = text[start..start + declared].contains('&');
    // The parser stops at 255 references inside one reference.
    let each = declared.saturating_mul(if nested { 255 } else { 1 });
    if text.matches('&').count().saturating_mul(each) <= MAX_ENTITY_TEXT {
        return Ok(());
    }
    Err(ReadError::Svg {
        place: place_of(text.as_bytes(), start),
        fault: SvgFault::Entities,
    })
}

/// Refuses tags with too many attributes: the parser compares each with all before it.
pub(super) fn attributes(text: &str) -> Result<(), ReadError> {
    let mut rest = text;
    while let Some(start) = rest.find('<') {
        rest = &rest[start..];
        let skipped = [("<!--", "-->"), ("<![CDATA[", "]]>"), ("<?", "?>")]
            .iter()
            .find(|(open, _)| rest.starts_with(open))
            .map(|(_, close)| rest.find(close).unwrap_or(rest.len()));
        let (count, length) = skipped.map_or_else(|| tag(rest), |length| (0, length.max(1)));
        if count > MAX_ATTRIBUTES {
            return Err(ReadError::Svg {
                place: place_of(text.as_bytes(), text.len() - rest.len()),
                fault: SvgFault::TooManyAttributes,
            });
        }
        rest = rest.get(length..).unwrap_or_default();
    }
    Ok(())
}

/// How many attributes a tag has and how long it is.
fn tag(text: &str) -> (usize, usize) {
    let mut quote = None;
    let mut count = 0;
    for (i, byte) in text.bytes().enumerate().skip(1) {
        match (byte, quote) {
            (b'"' | b'\'', None) => quote = Some(byte),
            (_, Some(open)) if byte == open => {
                quote = None;
                count += 1;
            }
            (b'>' | b'<', None) => return (count, i),
            _ => {}
        }
    }
    (count, text.len())
}

/// Checks every element; returns what is passed over.
pub(super) fn elements(
    xml: &Document<'_>,
    links: &Links<'_, '_>,
) -> Result<Vec<Remark>, ReadError> {
    styles(xml)?;
    let mut passed = Passed::default();
    let mut stretches = 0;
    for node in xml.descendants().filter(|n| n.is_element() && is_svg(*n)) {
        numbers(node, &mut stretches).map_err(|fault| at(node, fault))?;
        reference(node, links, &mut passed)?;
    }
    links.expanded(xml.root_element())?;
    Ok(passed.remarks())
}

/// Checks what styles refer to and how much work they are.
fn styles(xml: &Document<'_>) -> Result<(), ReadError> {
    let elements = xml.descendants().filter(Node::is_element).count();
    let (mut rules, mut work) = (0_usize, 0_usize);
    for node in xml.descendants() {
        if let Some(instruction) = node.pi().filter(|pi| pi.target == "xml-stylesheet") {
            let what = instruction.value.unwrap_or_default().to_owned();
            return Err(at(
                node,
                SvgFault::External("a style sheet".to_owned(), what),
            ));
        }
        let text = if node.tag_name().name() == "style" {
            node.text().unwrap_or_default()
        } else {
            node.attribute("style").unwrap_or_default()
        };
        let parts = text.matches([',', '{', ':']).count();
        work = work.saturating_add(parts.saturating_mul(text.len()));
        if node.tag_name().name() == "style" {
            rules += parts;
            if text.contains("@import") {
                return Err(at(
                    node,
                    SvgFault::External("`style`".to_owned(), "an @import".to_owned()),
                ));
            }
        }
        if work > MAX_STYLE_WORK || rules.saturating_mul(elements) > MAX_RULE_TRIALS {
            return Err(at(node, SvgFault::TooManyRules));
        }
    }
    Ok(())
}

/// The attributes of an element that hold lengths.
fn length_attributes(element: &str) -> &'static [&'static str] {
    match element {
        "line" => &["x1", "y1", "x2", "y2"],
        "circle" => &["cx", "cy", "r"],
        "ellipse" => &["cx", "cy", "rx", "ry"],
        "rect" => &["x", "y", "width", "height", "rx", "ry"],
        "use" => &["x", "y", "width", "height"],
        _ => &[],
    }
}

/// Checks the numbers of an element and counts the stretches of its path.
fn numbers(node: Node<'_, '_>, stretches: &mut usize) -> Result<(), SvgFault> {
    for &name in length_attributes(node.tag_name().name()) {
        if let Some(text) = node.attribute(name).filter(|t| t.trim() != "auto") {
            length(name, text)?;
        }
    }
    if let Some(text) = node.attribute("points") {
        for number in NumberListParser::from(text) {
            number.map_err(|_| bad("points", text))?;
            count(stretches)?;
        }
    }
    if let Some(text) = node.attribute("d") {
        for stretch in PathParser::from(text) {
            stretch.map_err(|error| SvgFault::BadPath(error.to_string()))?;
            count(stretches)?;
        }
    }
    match node.attribute("transform") {
        Some(text) if Transform::from_str(text).is_err() => Err(bad("transform", text)),
        _ => Ok(()),
    }
}

fn length(name: &'static str, text: &str) -> Result<(), SvgFault> {
    let length = Length::from_str(text.trim()).map_err(|_| bad(name, text))?;
    if length.number.abs() > MAX_NUMBER {
        return Err(SvgFault::Huge(name, beginning(text)));
    }
    if length.number < 0.0 && matches!(name, "r" | "rx" | "ry" | "width" | "height") {
        return Err(SvgFault::Negative(name, length.number));
    }
    Ok(())
}

fn bad(name: &'static str, text: &str) -> SvgFault {
    SvgFault::BadNumber(name, beginning(text))
}

fn beginning(text: &str) -> String {
    text.chars().take(40).collect()
}

fn count(stretches: &mut usize) -> Result<(), SvgFault> {
    *stretches += 1;
    if *stretches > MAX_STRETCHES {
        return Err(SvgFault::TooManyLines);
    }
    Ok(())
}

/// What is left out although it may have been meant.
#[derive(Default)]
struct Passed {
    pictures: usize,
    missing: Option<(Place, String)>,
}

impl Passed {
    fn remarks(self) -> Vec<Remark> {
        let pictures = (self.pictures > 0).then(|| {
            format!(
                "{} embedded picture(s) were passed over; only drawn lines are read, so trace what matters",
                self.pictures
            )
        });
        let missing = self.missing.map(|(place, name)| {
            format!("{place}: `use` refers to `#{name}`, which is not in the file, so nothing was drawn there")
        });
        let remark = |message| Remark {
            kind: RemarkKind::PassedOver,
            view: None,
            message,
            lines: Vec::new(),
        };
        pictures.into_iter().chain(missing).map(remark).collect()
    }
}

/// Where an element's `href` leads; the plain one counts before the old XLink one.
fn href<'a>(node: Node<'a, '_>) -> Option<&'a str> {
    let plain = node
        .attribute_node("href")
        .filter(|a| a.namespace().is_none());
    plain
        .map(|a| a.value())
        .or_else(|| node.attribute((XLINK, "href")))
        .map(str::trim)
}

fn reference(
    node: Node<'_, '_>,
    links: &Links<'_, '_>,
    passed: &mut Passed,
) -> Result<(), ReadError> {
    let name = node.tag_name().name();
    let Some(href) = href(node).filter(|h| name != "a" && !h.is_empty()) else {
        return Ok(());
    };
    match href.strip_prefix('#') {
        Some(id) if name == "use" && !links.by_id.contains_key(id) => {
            let place = place_of(node.document().input_text().as_bytes(), node.range().start);
            passed.missing.get_or_insert((place, id.to_owned()));
        }
        Some(_) => {}
        None if name == "image" && href.starts_with("data:") => passed.pictures += 1,
        None => {
            let what = href.chars().take(60).collect();
            return Err(at(node, SvgFault::External(format!("`{name}`"), what)));
        }
    }
    Ok(())
}

/// The elements of a file by id.
pub(super) struct Links<'a, 'i> {
    by_id: FxHashMap<&'a str, Node<'a, 'i>>,
}

/// How far the expansion of an element has been worked out.
#[derive(Clone, Copy, Default)]
struct Expansion {
    begun: bool,
    done: bool,
    depth: usize,
    elements: u64,
}

impl<'a, 'i> Links<'a, 'i> {
    pub(super) fn new(xml: &'a Document<'i>) -> Self {
        let mut by_id = FxHashMap::default();
        for node in xml.descendants() {
            if let Some(id) = node.attribute("id") {
                by_id.entry(id).or_insert(node);
            }
        }
        Links { by_id }
    }

    /// Checks that the file stays small and shallow when every `use` is followed, and ends at all.
    fn expanded(&self, root: Node<'a, 'i>) -> Result<(), ReadError> {
        let count = root.document().descendants().count() + 1;
        let mut known = vec![Expansion::default(); count];
        let mut open = vec![(root, false)];
        while let Some((node, left)) = open.pop() {
            let state = &mut known[node.id().get_usize()];
            if left {
                let (depth, elements) = self.total(node, &known);
                known[node.id().get_usize()] = Expansion {
                    begun: true,
                    done: true,
                    depth,
                    elements,
                };
                if depth > MAX_DEPTH {
                    return Err(at(node, SvgFault::TooDeep));
                }
                if elements > MAX_ELEMENTS {
                    return Err(at(node, SvgFault::TooManyElements));
                }
            } else if state.begun && !state.done {
                return Err(at(node, SvgFault::SelfReference));
            } else if !state.done {
                state.begun = true;
                open.push((node, true));
                open.extend(self.parts(node).map(|part| (part, false)));
            }
        }
        Ok(())
    }

    /// The elements an element is made of: those in it and the one it refers to.
    fn parts(&self, node: Node<'a, 'i>) -> impl Iterator<Item = Node<'a, 'i>> + '_ {
        let target = href(node)
            .filter(|_| node.tag_name().name() == "use")
            .and_then(|h| self.by_id.get(h.strip_prefix('#')?).copied());
        node.children().filter(Node::is_element).chain(target)
    }

    fn total(&self, node: Node<'a, 'i>, known: &[Expansion]) -> (usize, u64) {
        self.parts(node).fold((1, 1), |(depth, elements), part| {
            let part = known[part.id().get_usize()];
            (
                depth.max(part.depth + 1),
                u64::saturating_add(elements, part.elements),
            )
        })
    }
}
