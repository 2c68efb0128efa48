//! Writers: STL, pictures, and the report in words and as JSON.

pub(crate) mod picture;
mod stl;
