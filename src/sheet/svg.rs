//! The SVG form of a sheet.
//!
//! A library resolves groups, transforms, `use`, style sheets and units into plain paths; [`prepare`] carries the type
//! names through it, and [`bezier`] finds the circles and arcs again that arrive as Béziers. Each straight or curved
//! stretch of a path becomes a line of its own, in document order: a rectangle is four lines, and what a `use` draws
//! stands where the `use` stands. Clips, masks, filters, markers and text are passed over.

mod arcs;
mod bezier;
mod check;
mod page;
mod prepare;

use usvg::tiny_skia_path::PathSegment;
use usvg::{Group, ImageHrefResolver, Node, Options, Paint, Tree};

use self::bezier::{Piece, Tracer};
use self::page::Page;
use super::read::{MAX_LINES, MAX_NUMBER, MAX_POINTS, Place, ReadError};
use super::{Line, LineType, Remark, RemarkKind, Shape, Sheet, View, bounds, line_type};

/// How far the chord between two points of a curve may be off, in millimetres.
const CHORD_ERROR_MM: f64 = 0.01;

/// The colour of a stroke nobody asked for.
const NO_STROKE_SAID: [u8; 3] = [1, 2, 3];

/// What is wrong at a place of an SVG sheet.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub(crate) enum SvgFault {
    #[error("{0}; put the file right there, it is no valid XML")]
    Syntax(String),
    #[error("this is no SVG, its outermost element is `{0}`; save the drawing as SVG")]
    NotSvg(String),
    #[error(
        "`{0}` of the page is {1:?}; give it a size above 0, such as \"297mm\" or for viewBox \"0 0 297 210\""
    )]
    BadSize(&'static str, String),
    #[error("`{0}` is {1:?}, which cannot be read; write finite numbers")]
    BadNumber(&'static str, String),
    #[error("`{0}` is {1}, which is too large; no number may be beyond {MAX_NUMBER}")]
    Huge(&'static str, String),
    #[error("`{0}` is {1}; a radius or size must not be below 0")]
    Negative(&'static str, f64),
    #[error(
        "the path data `d` cannot be read ({0}); save the drawing again or draw this path anew"
    )]
    BadPath(String),
    #[error(
        "{0} refers to {1:?} outside this file, and nothing is ever fetched; embed what is meant, or delete this element"
    )]
    External(String, String),
    #[error("this element contains a `use` that leads back to it; break the circle")]
    SelfReference,
    #[error(
        "elements are nested more than {} deep here (`use` followed); ungroup the drawing",
        check::MAX_DEPTH
    )]
    TooDeep,
    #[error(
        "the drawing comes to more than {} elements (`use` followed); leave out what is not part of the views",
        check::MAX_ELEMENTS
    )]
    TooManyElements,
    #[error("this element has too many attributes; save the drawing as plain SVG")]
    TooManyAttributes,
    #[error("the styles of this file have too many rules; write short styles into the elements")]
    TooManyRules,
    #[error("the entities of this file stand for too much text; save the drawing without entities")]
    Entities,
    #[error("the drawing has more than {MAX_LINES} lines; leave out what is not part of the views")]
    TooManyLines,
    #[error("the curves of the drawing need more than {MAX_POINTS} points; draw them with fewer")]
    TooManyPoints,
    #[error(
        "drawn line {} reaches beyond {MAX_NUMBER}; move the drawing onto the page",
        .0 + 1
    )]
    TooFar(usize),
    #[error("no line is drawn in this file; give the lines a stroke, and turn pictures into lines")]
    NothingDrawn,
    #[error("the file cannot be resolved ({0}); save the drawing as plain SVG")]
    Unresolved(String),
}

impl SvgFault {
    /// The fault with the place of the file's beginning, for what has no other.
    fn of_file(self) -> ReadError {
        ReadError::Svg {
            place: Place { row: 1, column: 1 },
            fault: self,
        }
    }
}

/// Reads an SVG sheet.
///
/// Coordinates come out as the page has them: millimetres (or inches, for a page measured in inches) from its lower left
/// corner, x right and y up. The library works in single precision, so they are as good as seven digits.
///
/// # Errors
///
/// When the text is no SVG or is refused; see [`prepare`] and [`SvgFault`].
pub(crate) fn read(text: &str) -> Result<(Sheet, Vec<Remark>), ReadError> {
    let prepared = prepare::prepare(text)?;
    let page = prepared.page;
    let tree = Tree::from_str(&prepared.text, &options(&page))
        .map_err(|error| unresolved(&error).of_file())?;
    let mut remarks = prepared.remarks;
    let strokes = strokes(&tree, &mut remarks);
    let lines = lines(&strokes, &page).map_err(SvgFault::of_file)?;
    let sheet = Sheet {
        unit: page.unit,
        projection: page.projection,
        lines,
    };
    Ok((sheet, remarks))
}

/// Settings under which the library fetches nothing and styles only what matters to lines.
fn options(page: &Page) -> Options<'static> {
    let needless = [
        "clip-path",
        "mask",
        "filter",
        "marker",
        "marker-start",
        "marker-mid",
        "marker-end",
    ];
    let rules: String = needless
        .iter()
        .map(|name| format!("{name}:none!important;"))
        .collect();
    #[allow(
        clippy::cast_possible_truncation,
        reason = "the library takes its lengths in single precision"
    )]
    let dpi = page.units_per_inch as f32;
    Options {
        dpi,
        style_sheet: Some(format!("*{{{rules}}}")),
        image_href_resolver: ImageHrefResolver {
            resolve_data: Box::new(|_, _, _| None),
            resolve_string: Box::new(|_, _| None),
        },
        ..Options::default()
    }
}

fn unresolved(error: &usvg::Error) -> SvgFault {
    match error {
        usvg::Error::ElementsLimitReached
        | usvg::Error::ParsingFailed(roxmltree::Error::NodesLimitReached) => {
            SvgFault::TooManyElements
        }
        other => SvgFault::Unresolved(other.to_string()),
    }
}

/// A path that is drawn as a line, and what is known about its type.
struct Stroke<'t> {
    path: &'t usvg::Path,
    named: Option<LineType>,
    view: Option<View>,
    /// Whether it is known to be no arc.
    curve: bool,
    dashed: Option<LineType>,
    /// Drawn width in user units; `None` when no stroke is said.
    width: Option<f64>,
}

impl Stroke<'_> {
    fn line_type(&self, widest: f64) -> LineType {
        let by_width = || self.width.map(|w| line_type::from_width(w, widest));
        self.named
            .or(self.dashed)
            .or_else(by_width)
            .unwrap_or_default()
    }
}

/// The paths drawn as lines, in document order.
fn strokes<'t>(tree: &'t Tree, remarks: &mut Vec<Remark>) -> Vec<Stroke<'t>> {
    let mut strokes = Vec::new();
    let mut without = 0;
    let mut open = vec![tree.root().children().iter()];
    while let Some(siblings) = open.last_mut() {
        match siblings.next() {
            None => {
                open.pop();
            }
            Some(Node::Group(group)) => open.push(children(group)),
            Some(Node::Path(path)) if path.is_visible() => match stroke(path) {
                Some(stroke) => strokes.push(stroke),
                None => without += 1,
            },
            Some(_) => {}
        }
    }
    if without > 0 {
        remarks.push(Remark {
            kind: RemarkKind::PassedOver,
            view: None,
            message: format!("{without} shape(s) without a stroke were passed over; if they are lines, give them one"),
            lines: Vec::new(),
        });
    }
    strokes
}

fn children(group: &Group) -> std::slice::Iter<'_, Node> {
    group.children().iter()
}

/// The path as a line; `None` if it is none, such as a filled arrowhead.
///
/// A path whose name says what line it is counts even if the file says nothing about its stroke.
fn stroke(path: &usvg::Path) -> Option<Stroke<'_>> {
    let [red, green, blue] = match path.fill()?.paint() {
        Paint::Color(color) => [color.red, color.green, color.blue],
        _ => [0, 0, 0],
    };
    let named = prepare::type_of(red);
    let pen = path.stroke()?;
    let said =
        !matches!(pen.paint(), Paint::Color(c) if [c.red, c.green, c.blue] == NO_STROKE_SAID);
    if (!said && named.is_none()) || pen.opacity().get() == 0.0 {
        return None;
    }
    let t = path.abs_transform();
    let area = f64::from(t.sx) * f64::from(t.sy) - f64::from(t.kx) * f64::from(t.ky);
    let dashes = pen.dasharray().unwrap_or_default();
    let dashes: Vec<f64> = dashes.iter().map(|&d| f64::from(d)).collect();
    Some(Stroke {
        path,
        named,
        view: prepare::view_of(green),
        curve: blue != 0,
        dashed: line_type::from_dashes(&dashes),
        width: said.then(|| f64::from(pen.width().get()) * area.abs().sqrt()),
    })
}

fn lines(strokes: &[Stroke<'_>], page: &Page) -> Result<Vec<Line>, SvgFault> {
    // A thick frame is not what outlines are measured by, so a name that says so takes a line out of the comparison.
    let widest = strokes
        .iter()
        .filter(|s| s.named.is_none_or(LineType::bears_geometry))
        .filter_map(|s| s.width)
        .fold(0.0, f64::max);
    let mut lines = Vec::new();
    let mut points = 0;
    for stroke in strokes {
        let line_type = stroke.line_type(widest);
        for shape in shapes(stroke, page) {
            if lines.len() == MAX_LINES {
                return Err(SvgFault::TooManyLines);
            }
            if let Shape::Curve(curve) = &shape {
                points += curve.len();
            }
            if points > MAX_POINTS {
                return Err(SvgFault::TooManyPoints);
            }
            if !bounds::within(&shape, MAX_NUMBER) {
                return Err(SvgFault::TooFar(lines.len()));
            }
            lines.push(Line {
                view: stroke.view,
                line_type,
                shape,
            });
        }
    }
    if lines.is_empty() {
        return Err(SvgFault::NothingDrawn);
    }
    Ok(lines)
}

/// The number in the file that the library holds in single precision: the shortest decimal that rounds to it.
///
/// Taken as it is, 72.7 would be 72.69999695; this gives 72.7 again.
fn as_written(single: f32) -> f64 {
    single.to_string().parse().unwrap_or(f64::from(single))
}

/// The shapes a path consists of, in sheet coordinates.
fn shapes(stroke: &Stroke<'_>, page: &Page) -> Vec<Shape> {
    let path = stroke.path;
    let t = path.abs_transform();
    let [sx, kx, tx] = [t.sx, t.kx, t.tx].map(as_written);
    let [ky, sy, ty] = [t.ky, t.sy, t.ty].map(as_written);
    let place = |p: usvg::tiny_skia_path::Point| {
        let [x, y] = [p.x, p.y].map(as_written);
        page.on_sheet([sx * x + kx * y + tx, ky * x + sy * y + ty])
    };
    let mut tracer = Tracer::new(CHORD_ERROR_MM / page.unit.millimetres(), stroke.curve);
    let (mut start, mut at) = ([0.0; 2], [0.0; 2]);
    for segment in path.data().segments() {
        match segment {
            PathSegment::MoveTo(p) => {
                tracer.lift();
                start = place(p);
                at = start;
            }
            PathSegment::LineTo(p) => {
                let to = place(p);
                tracer.draw(Piece::Straight([at, to]));
                at = to;
            }
            PathSegment::QuadTo(c, p) => {
                let (c, to) = (place(c), place(p));
                let third = |end: [f64; 2]| [0, 1].map(|i| (end[i] + 2.0 * c[i]) / 3.0);
                tracer.draw(Piece::Cubic([at, third(at), third(to), to]));
                at = to;
            }
            PathSegment::CubicTo(c, d, p) => {
                let to = place(p);
                tracer.draw(Piece::Cubic([at, place(c), place(d), to]));
                at = to;
            }
            PathSegment::Close => {
                if at != start {
                    tracer.draw(Piece::Straight([at, start]));
                }
                at = start;
            }
        }
    }
    tracer.finish()
}
