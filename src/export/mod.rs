//! Writers: STL, pictures, and the report in words and as JSON.

pub(crate) mod findings;
mod json;
pub(crate) mod report;
mod text;
pub(crate) mod picture;
mod stl;
