//! Writers: STL, pictures, and the report in words and as JSON.

mod painter;
pub(crate) mod picture;
mod stl;
