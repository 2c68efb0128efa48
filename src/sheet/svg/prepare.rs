//! The first look at an SVG file: is it safe to resolve, and what do its names say?
//!
//! The SVG library drops classes and layer names, follows `use` to any size and skips what it cannot read. So the XML is
//! read once beforehand: numbers, references and nesting are checked and faults told with their place, and a copy is
//! written in which each name that speaks of a line type has become a fill colour, which the library hands down through
//! groups, `use` and style sheets like any other. No line has a use for its fill, so the file's own fills are put out of
//! effect.

use roxmltree::{Document, Node, ParsingOptions};

use super::super::line_type;
use super::super::read::{Place, ReadError, place_of};
use super::arcs;
use super::check::{self, Links};
use super::page::Page;
use super::{NO_STROKE_SAID, SvgFault};
use crate::sheet::{LineType, Remark, View};

/// The most XML nodes (elements, texts) a file may have.
const MAX_NODES: u32 = 1_000_000;

/// Elements without bearing on lines, left out with everything in them.
const LEFT_OUT: [&str; 14] = [
    "clipPath",
    "desc",
    "filter",
    "font",
    "foreignObject",
    "image",
    "marker",
    "mask",
    "metadata",
    "namedview",
    "pattern",
    "script",
    "text",
    "title",
];

/// An SVG file ready for the library.
#[derive(Debug)]
pub(super) struct Prepared {
    /// The file with type names as fill colours.
    pub(super) text: String,
    /// Size and unit of the page.
    pub(super) page: Page,
    /// What was passed over.
    pub(super) remarks: Vec<Remark>,
}

/// Checks an SVG file and makes it ready for the library.
///
/// # Errors
///
/// When it is no SVG, is cut off, refers to something outside itself or to itself, is nested too deep, or has a number
/// that is none.
pub(super) fn prepare(text: &str) -> Result<Prepared, ReadError> {
    check::entities(text)?;
    check::attributes(text)?;
    let options = ParsingOptions {
        allow_dtd: true,
        nodes_limit: MAX_NODES,
        ..ParsingOptions::default()
    };
    let xml = Document::parse_with_options(text, options).map_err(|e| explain(&e, text))?;
    let root = xml.root_element();
    if !check::is_svg(root) || root.tag_name().name() != "svg" {
        let name = root.tag_name().name().to_owned();
        return Err(at(root, SvgFault::NotSvg(name)));
    }
    let page = Page::of(root).map_err(|fault| at(root, fault))?;
    let remarks = check::elements(&xml, &Links::new(&xml))?;
    Ok(Prepared {
        text: rewrite(text, edits(&xml, &page)),
        page,
        remarks,
    })
}

/// The fault with the place of `node`.
pub(super) fn at(node: Node<'_, '_>, fault: SvgFault) -> ReadError {
    let text = node.document().input_text();
    ReadError::Svg {
        place: place_of(text.as_bytes(), node.range().start),
        fault,
    }
}

/// Turns the XML parser's error into one with place and remedy.
fn explain(error: &roxmltree::Error, text: &str) -> ReadError {
    use roxmltree::Error as Xml;
    let end = text.trim_end();
    let cut = matches!(error, Xml::UnexpectedEndOfStream | Xml::UnclosedRootNode);
    if cut || !end.ends_with('>') {
        return ReadError::CutOff(place_of(end.as_bytes(), end.len()));
    }
    let at = error.pos();
    let place = Place {
        row: at.row as usize,
        column: at.col as usize,
    };
    let fault = match error {
        Xml::NodesLimitReached | Xml::AttributesLimitReached | Xml::NamespacesLimitReached => {
            SvgFault::TooManyElements
        }
        Xml::EntityReferenceLoop(_) => SvgFault::Entities,
        _ => {
            let message = error.to_string();
            let message = message
                .rsplit_once(" at ")
                .map_or(message.as_str(), |(m, _)| m);
            SvgFault::Syntax(message.to_owned())
        }
    };
    ReadError::Svg { place, fault }
}

/// The fill colour that stands for a line type, red 1 and up, with a view, green 1 and up, and blue for a curve that is no
/// arc; black for none of them.
fn color_of(line_type: Option<LineType>, view: Option<View>, curve: bool) -> String {
    let place = line_type.and_then(|t| LineType::ALL.iter().position(|a| *a == t));
    let red = place.map_or(0, |p| p + 1);
    let green = view.map_or(0, |v| v.index() + 1);
    let blue = u8::from(curve);
    format!("#{red:02x}{green:02x}{blue:02x}")
}

/// The line type a fill colour stands for; undoes [`color_of`].
pub(super) fn type_of(red: u8) -> Option<LineType> {
    LineType::ALL.get(usize::from(red).checked_sub(1)?).copied()
}

/// The view a fill colour stands for; undoes [`color_of`].
pub(super) fn view_of(green: u8) -> Option<View> {
    View::ALL.get(usize::from(green).checked_sub(1)?).copied()
}

/// A piece of the file to be replaced: from, to, and what by.
type Edit = (usize, usize, String);

fn edits(xml: &Document<'_>, page: &Page) -> Vec<Edit> {
    let root = xml.root_element();
    let mut edits = Vec::new();
    edit_root(root, page, &mut edits);
    let mut waiting: Vec<Node<'_, '_>> = root.children().collect();
    while let Some(node) = waiting.pop() {
        if !node.is_element() {
            continue;
        }
        if LEFT_OUT.contains(&node.tag_name().name()) || !check::is_svg(node) {
            edits.push((node.range().start, node.range().end, String::new()));
            continue;
        }
        if let Some(line_type) = named_type(node) {
            edit_style(node, &said_by(node, line_type), &mut edits);
        }
        if let Some(path) = node.attribute_node("d") {
            let value = path.range_value();
            edits.extend(arcs::split(path.value()).map(|d| (value.start, value.end, d)));
        }
        waiting.extend(node.children());
    }
    edits
}

/// What an element's class, id or layer name says about the type of the lines in it.
fn named_type(node: Node<'_, '_>) -> Option<LineType> {
    let by_name = |name: &str| line_type::from_name(node.attribute(name)?);
    let layer = || {
        node.attributes()
            .filter(|a| a.name() == "label")
            .find_map(|a| line_type::from_name(a.value()))
    };
    by_name("class").or_else(|| by_name("id")).or_else(layer)
}

/// The fill colour for an element whose names say its type, with what [`Sheet::to_svg`](crate::Sheet::to_svg) says besides:
/// its view, and that it is a curve. Other programs do not say so.
fn said_by(node: Node<'_, '_>, line_type: LineType) -> String {
    let said = |view: &View| node.attribute("data-view") == Some(view.name());
    let curve = node.attribute("data-shape") == Some("curve");
    color_of(Some(line_type), View::ALL.into_iter().find(said), curve)
}

/// Gives the root a size at which nothing is scaled, a fill that names no type and a stroke nobody asked for.
fn edit_root(root: Node<'_, '_>, page: &Page, edits: &mut Vec<Edit>) {
    // The size matters for percentages only; without one, the library's own default will do.
    let [w, h] = page.size.map(|l| if l > 0.0 { l } else { 100.0 });
    let mut added = String::new();
    for (name, value) in [
        ("width", w.to_string()),
        ("height", h.to_string()),
        ("viewBox", format!("0 0 {w} {h}")),
        ("preserveAspectRatio", "none".to_owned()),
    ] {
        match root.attribute_node(name) {
            Some(old) => edits.push((old.range_value().start, old.range_value().end, value)),
            None => added += &format!(" {name}=\"{value}\""),
        }
    }
    if root.attribute("stroke").is_none() {
        let [r, g, b] = NO_STROKE_SAID;
        added += &format!(" stroke=\"#{r:02x}{g:02x}{b:02x}\"");
    }
    edits.push((name_end(root), name_end(root), added));
    edit_style(root, &color_of(None, None, false), edits);
}

fn edit_style(node: Node<'_, '_>, fill: &str, edits: &mut Vec<Edit>) {
    let rule = format!("fill:{fill}!important");
    match node.attribute_node("style") {
        Some(style) => {
            let start = style.range_value().start;
            edits.push((start, start, rule + ";"));
        }
        None => {
            let end = name_end(node);
            edits.push((end, end, format!(" style=\"{rule}\"")));
        }
    }
}

/// Where the name in an element's tag ends.
fn name_end(node: Node<'_, '_>) -> usize {
    let text = node.document().input_text();
    let start = node.range().start;
    let rest = text[start..].bytes();
    start
        + rest
            .take_while(|b| !b.is_ascii_whitespace() && !b"/>".contains(b))
            .count()
}

/// The text with the edits made, in which the file's own fills have become properties nobody knows.
///
/// An element that an entity puts in several places stands only once in the text, so its edits come up several times.
fn rewrite(text: &str, mut edits: Vec<Edit>) -> String {
    edits.sort();
    edits.dedup();
    let mut new = String::with_capacity(text.len() + 32 * edits.len());
    let mut done = 0;
    for (from, to, by) in edits {
        // What stands inside something left out needs no edit.
        if let Some(kept) = text.get(done..from) {
            new += &kept.replace("fill", "xill");
            new += &by;
            done = to;
        }
    }
    new += &text.get(done..).unwrap_or_default().replace("fill", "xill");
    new
}
