//! Writers: STL, pictures, and the report in words and as JSON.
//!
//! [`report`] holds what there is to tell about a sheet as data; [`text`] and [`json`] only word it.

pub(crate) mod json;
pub(crate) mod report;
pub(crate) mod text;
