//! Writers: STL, pictures, and the report in words and as JSON.

mod choice_json;
mod choice_text;
mod curves;
mod drawn;
pub(crate) mod findings;
mod hints;
pub(crate) mod json;
mod page;
mod painter;
pub(crate) mod picture;
pub(crate) mod places;
pub(crate) mod report;
mod shape;
mod further;
mod side_by_side;
mod stl;
pub(crate) mod stretch;
pub(crate) mod text;
