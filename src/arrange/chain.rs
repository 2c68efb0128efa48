//! The course of an arc on a sampled curve.
//!
//! The arc is monotone in both coordinates, so on an axis half-way between them it is a graph that never rises by more than
//! one in one. That makes everything about it a search in a sorted list.

use crate::geom::carrier::Carrier;
use crate::geom::{P2, V2};

/// Points of a monotone arc, with their places along the slanting axis and along the curve.
#[derive(Clone, Debug)]
pub(super) struct Chain {
    points: Vec<P2>,
    /// The direction of the slanting axis, a unit vector.
    axis: V2,
    /// Places along that axis, ascending.
    along: Vec<f64>,
    /// Parameters of the carrier, ascending.
    parameters: Vec<f64>,
}

impl Chain {
    /// The part of a sampled curve between two parameters, from and to the given ends.
    pub(super) fn new(carrier: &Carrier, [start, end]: [f64; 2], at: [P2; 2]) -> Chain {
        let (mut points, mut parameters) = (vec![at[0]], vec![start]);
        if let Carrier::Free { points: all } = carrier {
            let rounds = if carrier.period().is_some() { 2 } else { 1 };
            let mut length = 0.0;
            for _ in 0..rounds {
                for pair in all.windows(2) {
                    length += (pair[1] - pair[0]).norm();
                    if length > start && length < end {
                        points.push(pair[1]);
                        parameters.push(length);
                    }
                }
            }
        }
        points.push(at[1]);
        parameters.push(end);
        let whole = at[1] - at[0];
        let axis = V2::new(1.0_f64.copysign(whole.x), 1.0_f64.copysign(whole.y)).normalize();
        let mut reach = f64::NEG_INFINITY;
        let along = points
            .iter()
            .map(|p| {
                reach = reach.max(axis.dot(&(p - at[0])));
                reach
            })
            .collect();
        Chain {
            points,
            axis,
            along,
            parameters,
        }
    }

    /// The parameters of its points.
    pub(super) fn parameters(&self) -> &[f64] {
        &self.parameters
    }

    /// The point at a parameter.
    pub(super) fn point(&self, parameter: f64) -> P2 {
        let i = self.stretch(&self.parameters, parameter);
        let (from, to) = (self.parameters[i], self.parameters[i + 1]);
        let share = if to > from {
            (parameter - from) / (to - from)
        } else {
            0.0
        };
        self.points[i] + (self.points[i + 1] - self.points[i]) * share.clamp(0.0, 1.0)
    }

    /// The signed distance of a point near by, positive to the left.
    pub(super) fn side(&self, at: &P2) -> f64 {
        let i = self.stretch(&self.along, self.axis.dot(&(at - self.points[0])));
        let along = self.points[i + 1] - self.points[i];
        match along.try_normalize(0.0) {
            Some(direction) => direction.perp(&(at - self.points[i])),
            None => self.axis.perp(&(at - self.points[i])),
        }
    }

    /// Whether a point near by lies no more than `slack` millimetres before its start or beyond its end.
    pub(super) fn covers(&self, at: &P2, slack: f64) -> bool {
        let on = self.axis.dot(&(at - self.points[0]));
        (-slack..=self.along[self.along.len() - 1] + slack).contains(&on)
    }

    /// The parameter of a point near by.
    pub(super) fn parameter(&self, at: &P2) -> f64 {
        let i = self.stretch(&self.along, self.axis.dot(&(at - self.points[0])));
        let along = self.points[i + 1] - self.points[i];
        let share = along.dot(&(at - self.points[i])) / along.norm_squared().max(f64::MIN_POSITIVE);
        let (from, to) = (self.parameters[i], self.parameters[i + 1]);
        from + (to - from) * share
    }

    /// Which stretch between two points a place in an ascending list falls in; the outer ones go on outwards.
    fn stretch(&self, places: &[f64], place: f64) -> usize {
        let above = places.partition_point(|p| *p <= place);
        above.clamp(1, self.points.len() - 1) - 1
    }
}
