//! Writers: STL, pictures, and the report in words and as JSON.

pub(crate) mod findings;
pub(crate) mod json;
pub(crate) mod report;
pub(crate) mod text;
pub(crate) mod picture;
mod stl;
