//! Writers: STL, pictures, and the report in words and as JSON.

mod choice_json;
mod choice_text;
mod curves;
mod drawn;
pub(crate) mod findings;
mod further;
mod hints;
pub(crate) mod json;
mod marks;
pub(crate) mod mends;
mod page;
mod painter;
pub(crate) mod picture;
pub(crate) mod places;
pub(crate) mod report;
pub(crate) mod shape;
pub(crate) mod sheet_svg;
mod side_by_side;
mod stl;
pub(crate) mod stretch;
pub(crate) mod text;
pub(crate) mod words;
