//! Volume, surface, centroid and counts of a solid.

/// Stand-in, with the fields agreed on.
#[derive(Clone, Debug)]
pub struct Measures {
    /// x
    pub volume_mm3: f64,
    /// x
    pub surface_mm2: f64,
    /// x
    pub centroid_mm: [f64; 3],
    /// x
    pub size_mm: [f64; 3],
    /// x
    pub faces: usize,
    /// x
    pub edges: usize,
    /// x
    pub vertices: usize,
    /// x
    pub shells: usize,
    /// x
    pub genus: usize,
}
