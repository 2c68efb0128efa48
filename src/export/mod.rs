//! Writers: STL, pictures, and the report in words and as JSON.

pub(crate) mod findings;
pub(crate) mod json;
mod painter;
pub(crate) mod picture;
pub(crate) mod report;
mod stl;
pub(crate) mod text;
