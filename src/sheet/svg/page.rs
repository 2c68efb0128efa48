//! The page of an SVG file: how large it is and how long one of its user units is.
//!
//! The library would turn the page into pixels, in single precision. Instead the root's size is read here, the library is
//! given a page on which nothing is scaled, and the result is scaled at the end in double precision.

use std::str::FromStr;

use roxmltree::Node;
use svgtypes::{Length, LengthUnit, ViewBox};

use super::SvgFault;
use crate::sheet::{Projection, Unit};

/// The page and what its user units mean.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Page {
    /// Upper left corner in user units.
    pub(super) corner: [f64; 2],
    /// Width and height in user units; 0 when the file does not say.
    pub(super) size: [f64; 2],
    /// Where the lower left corner is in sheet coordinates; nought unless the file was written by this program.
    pub(super) lower_left: [f64; 2],
    /// How the views are arranged, if the file was written by this program and says so.
    pub(super) projection: Option<Projection>,
    /// Sheet units per user unit, across and down.
    pub(super) scale: [f64; 2],
    /// The sheet's unit: inches if the page is measured in inches, else millimetres.
    pub(super) unit: Unit,
    /// User units per inch, for lengths inside the file that carry a physical unit.
    pub(super) units_per_inch: f64,
}

impl Page {
    /// The page of a root element.
    ///
    /// One user unit is one millimetre unless the root has both a size in a physical unit and a `viewBox`. A length with a
    /// physical unit further inside keeps that length when there is no `viewBox`; where there is one it is taken as every
    /// viewer shows it, 96 user units to the inch (CSS Values, absolute lengths).
    ///
    /// # Errors
    ///
    /// When a size or the `viewBox` is no such thing or not above 0.
    pub(super) fn of(root: Node<'_, '_>) -> Result<Page, SvgFault> {
        let width = length(root, "width")?;
        let height = length(root, "height")?;
        let Some(view_box) = root.attribute("viewBox") else {
            let size = [width, height].map(|l| l.map_or(0.0, without_view_box));
            return Ok(Page {
                corner: [0.0, 0.0],
                size,
                lower_left: lower_left(root),
                projection: projection(root),
                scale: [1.0, 1.0],
                unit: Unit::Millimetre,
                units_per_inch: Unit::Inch.millimetres(),
            });
        };
        let view = ViewBox::from_str(view_box).ok().filter(usable);
        let view = view.ok_or_else(|| SvgFault::BadSize("viewBox", view_box.to_owned()))?;
        let inches = [width, height]
            .iter()
            .flatten()
            .any(|l| l.unit == LengthUnit::In);
        let unit = if inches { Unit::Inch } else { Unit::Millimetre };
        let per_unit = |length: Option<Length>, extent: f64| {
            Some(length.and_then(millimetres)? / extent / unit.millimetres())
        };
        let scale = joined(
            per_unit(width, view.w),
            per_unit(height, view.h),
            root.attribute("preserveAspectRatio").unwrap_or_default(),
        );
        Ok(Page {
            corner: [view.x, view.y],
            size: [view.w, view.h],
            lower_left: lower_left(root),
            projection: projection(root),
            scale,
            unit,
            units_per_inch: 96.0,
        })
    }

    /// The sheet coordinates of a point in user units: x right, y up, from the page's lower left corner unless the file
    /// says where that corner is.
    pub(super) fn on_sheet(&self, [x, y]: [f64; 2]) -> [f64; 2] {
        // Subtracting the two corners first leaves no rounding behind where they are the same.
        let left = self.corner[0] - self.lower_left[0] / self.scale[0];
        let bottom = self.corner[1] + self.size[1] + self.lower_left[1] / self.scale[1];
        [
            (x - left) * self.scale[0],
            (without_noise(bottom) - y) * self.scale[1],
        ]
    }
}

/// The attribute `data-lower-left` that [`Sheet::to_svg`](crate::Sheet::to_svg) writes; `0 0` without a usable one.
fn lower_left(root: Node<'_, '_>) -> [f64; 2] {
    let text = root.attribute("data-lower-left").unwrap_or_default();
    let numbers: Option<Vec<f64>> = text.split(' ').map(|word| word.parse().ok()).collect();
    match numbers.as_deref() {
        Some(&[x, y]) if x.abs() < 1e9 && y.abs() < 1e9 => [x, y],
        _ => [0.0, 0.0],
    }
}

/// The attribute `data-projection`, likewise.
fn projection(root: Node<'_, '_>) -> Option<Projection> {
    let name = root.attribute("data-projection")?;
    [Projection::ThirdAngle, Projection::FirstAngle]
        .into_iter()
        .find(|projection| projection.name() == name)
}

/// What is left of a sum of decimals that come to nought is rounding.
fn without_noise(sum: f64) -> f64 {
    if sum.abs() < 1e-9 { 0.0 } else { sum }
}

fn usable(view: &ViewBox) -> bool {
    [view.w, view.h].iter().all(|&l| l > 1e-6 && l < 1e9)
        && view.x.abs() < 1e9
        && view.y.abs() < 1e9
}

/// One scale both ways unless the file asks for two (`preserveAspectRatio`).
fn joined(across: Option<f64>, down: Option<f64>, aspect: &str) -> [f64; 2] {
    match (across, down) {
        (None, None) => [1.0, 1.0],
        (Some(s), None) | (None, Some(s)) => [s, s],
        (Some(x), Some(y)) if aspect.contains("none") => [x, y],
        (Some(x), Some(y)) if aspect.contains("slice") => [x.max(y); 2],
        (Some(x), Some(y)) => [x.min(y); 2],
    }
}

fn length(root: Node<'_, '_>, name: &'static str) -> Result<Option<Length>, SvgFault> {
    let Some(text) = root.attribute(name) else {
        return Ok(None);
    };
    if text.trim() == "auto" {
        return Ok(None);
    }
    let fault = || SvgFault::BadSize(name, text.to_owned());
    let length = Length::from_str(text.trim()).map_err(|_| fault())?;
    if length.number > 1e-6 && length.number < 1e9 {
        Ok(Some(length))
    } else {
        Err(fault())
    }
}

/// The length in millimetres if it has a physical unit.
fn millimetres(length: Length) -> Option<f64> {
    let inch = Unit::Inch.millimetres();
    Some(match length.unit {
        LengthUnit::In => length.number * inch,
        LengthUnit::Mm => length.number,
        LengthUnit::Cm => length.number * 10.0,
        LengthUnit::Pt => length.number * inch / 72.0,
        LengthUnit::Pc => length.number * inch / 6.0,
        _ => return None,
    })
}

fn without_view_box(length: Length) -> f64 {
    match length.unit {
        LengthUnit::Percent => 0.0,
        _ => millimetres(length).unwrap_or(length.number),
    }
}
