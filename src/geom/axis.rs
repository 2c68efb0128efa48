//! The coordinates that occur along each object axis, and the way a computed number finds its place among them.

use super::tolerance::Tolerance;

/// The places on the x, y and z axis, in millimetres.
///
/// The drawn coordinates come first, ascending; places of crossings are added behind them.
#[derive(Clone, Debug)]
pub(crate) struct Axes {
    values: [Vec<f64>; 3],
    /// Places in ascending order of their values.
    order: [Vec<u32>; 3],
    tolerance: Tolerance,
}

impl Axes {
    /// Axes with the given places, each axis ascending.
    pub(crate) fn new(values: [Vec<f64>; 3], tolerance: Tolerance) -> Self {
        let order = [0, 1, 2].map(|axis: usize| {
            let count = u32::try_from(values[axis].len()).expect("fewer than 2^32 coordinates");
            (0..count).collect()
        });
        Axes {
            values,
            order,
            tolerance,
        }
    }

    /// The coordinate of a place, in millimetres.
    pub(crate) fn value(&self, axis: usize, place: u32) -> f64 {
        self.values[axis][place as usize]
    }

    /// How many places an axis has.
    pub(crate) fn len(&self, axis: usize) -> usize {
        self.values[axis].len()
    }

    /// The largest coordinate of an axis, in millimetres; the least is 0.
    pub(crate) fn reach(&self, axis: usize) -> f64 {
        self.order[axis]
            .last()
            .map_or(0.0, |&place| self.value(axis, place))
    }

    /// The place nearest to `value`, if it is the same within the tolerance.
    pub(crate) fn find(&self, axis: usize, value: f64) -> Option<u32> {
        let place = self.nearest(axis, value)?;
        let off = (self.value(axis, place) - value).abs();
        (off <= self.tolerance.mm()).then_some(place)
    }

    /// The place nearest to `value`; none if the axis has no places.
    pub(crate) fn nearest(&self, axis: usize, value: f64) -> Option<u32> {
        let order = &self.order[axis];
        let above = order.partition_point(|&p| self.value(axis, p) < value);
        let near = [above.checked_sub(1), Some(above)];
        near.into_iter()
            .flatten()
            .filter_map(|i| order.get(i).copied())
            .map(|p| (p, (self.value(axis, p) - value).abs()))
            .min_by(|a, b| a.1.total_cmp(&b.1))
            .map(|(p, _)| p)
    }

    /// The place at `value`, added if there is none within the tolerance.
    pub(crate) fn place(&mut self, axis: usize, value: f64) -> u32 {
        self.find(axis, value)
            .unwrap_or_else(|| self.add(axis, value))
    }

    /// Adds places for computed values: values within `reach` of a place are that place, the others are grouped and each
    /// group becomes one place at its mean.
    pub(crate) fn add_clusters(&mut self, axis: usize, mut computed: Vec<f64>, reach: Tolerance) {
        computed.retain(|v| {
            let near = self.nearest(axis, *v);
            near.is_none_or(|place| !reach.same(self.value(axis, place), *v))
        });
        computed.sort_unstable_by(f64::total_cmp);
        let groups = computed.chunk_by(|a, b| reach.same(*a, *b));
        let means: Vec<f64> = groups.map(mean).collect();
        for value in means {
            self.add(axis, value);
        }
    }

    fn add(&mut self, axis: usize, value: f64) -> u32 {
        let place = u32::try_from(self.len(axis)).expect("fewer than 2^32 coordinates");
        self.values[axis].push(value);
        let above = self.order[axis].partition_point(|&p| self.values[axis][p as usize] < value);
        self.order[axis].insert(above, place);
        place
    }
}

#[allow(
    clippy::cast_precision_loss,
    reason = "a group has far fewer than 2^52 members"
)]
fn mean(group: &[f64]) -> f64 {
    group[0] + group.iter().map(|v| v - group[0]).sum::<f64>() / group.len() as f64
}
