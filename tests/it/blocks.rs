//! Solids of unit blocks, their drawings and, by running through them, all readings of such a drawing.
//!
//! Nothing here is shared with the engine. A line of sight meets whole blocks, so what is drawn on one unit segment of a
//! view follows from the two columns of blocks beside it, and a world of small solids can be run through completely.

use std::sync::LazyLock;

use crate::layout::{Stroke, Views};

/// A solid of blocks: block (x, y, z) is bit `x + nx * (y + ny * z)` of `cells`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Blocks {
    /// Number of blocks along x, y and z.
    pub(crate) size: [usize; 3],
    /// One bit per block.
    pub(crate) cells: u128,
}

/// What is drawn on the unit segments of each view: two bits per segment, see [`Mark`].
///
/// In a view of w x h squares the upright segments come first, row by row from below, then the level ones.
pub(crate) type Marks = [u128; 3];

/// Nothing drawn on a segment.
const BLANK: u128 = 0;
/// A visible line.
const VISIBLE: u128 = 1;
/// A hidden line.
const HIDDEN: u128 = 2;

/// The axes of each view, front, top and right: right, up, depth, and whether the nearest block has depth 0.
const VIEWS: [([usize; 3], bool); 3] = [([0, 2, 1], true), ([0, 1, 2], false), ([1, 2, 0], false)];

impl Blocks {
    /// Whether block `at` is there; nothing is outside.
    pub(crate) fn has(&self, at: [usize; 3]) -> bool {
        (0..3).all(|k| at[k] < self.size[k]) && self.cells >> bit(self.size, at) & 1 == 1
    }

    /// Every place in its box, whether there is a block or not.
    pub(crate) fn places(&self) -> impl Iterator<Item = [usize; 3]> + use<> {
        let [nx, ny, nz] = self.size;
        (0..nz).flat_map(move |z| (0..ny).flat_map(move |y| (0..nx).map(move |x| [x, y, z])))
    }

    /// The same solid in the smallest box that holds it.
    pub(crate) fn cropped(&self) -> Blocks {
        let mut low = self.size;
        let mut high = [0; 3];
        for at in self.places().filter(|at| self.has(*at)) {
            for k in 0..3 {
                low[k] = low[k].min(at[k]);
                high[k] = high[k].max(at[k] + 1);
            }
        }
        let size = [0, 1, 2].map(|k| high[k] - low[k]);
        let mut cropped = Blocks { size, cells: 0 };
        for at in cropped.places() {
            if self.has([0, 1, 2].map(|k| at[k] + low[k])) {
                cropped.cells |= 1 << bit(size, at);
            }
        }
        cropped
    }

    /// Whether it reaches all six sides of its box.
    pub(crate) fn fills_box(&self) -> bool {
        self.reaches(&outer_layers(self.size))
    }

    /// Whether it is one piece (blocks joined by whole faces) with a two-manifold boundary.
    pub(crate) fn is_valid(&self) -> bool {
        let [nx, ny, nz] = self.size;
        let corners =
            (0..=nz).flat_map(|z| (0..=ny).flat_map(move |y| (0..=nx).map(move |x| [x, y, z])));
        self.is_one_piece(&outer_layers(self.size))
            && corners.into_iter().all(|at| SOUND_CORNERS[self.around(at)])
    }

    /// The eight blocks around grid point `at`, one bit each.
    fn around(&self, at: [usize; 3]) -> usize {
        (0..8)
            .filter(|i| {
                let step = [i & 1, i >> 1 & 1, i >> 2];
                (0..3).all(|k| at[k] + step[k] > 0)
                    && self.has([0, 1, 2].map(|k| (at[k] + step[k]).wrapping_sub(1)))
            })
            .fold(0, |bits, i| bits | 1 << i)
    }

    fn reaches(&self, outer: &[[u128; 2]; 3]) -> bool {
        outer.iter().flatten().all(|layer| self.cells & layer != 0)
    }

    /// Whether every block can be reached from every other through whole faces.
    fn is_one_piece(&self, outer: &[[u128; 2]; 3]) -> bool {
        let steps = [1, self.size[0], self.size[0] * self.size[1]];
        let mut reached = self.cells & self.cells.wrapping_neg();
        loop {
            let mut next = reached;
            for (step, [first, last]) in steps.into_iter().zip(outer) {
                next |= (reached & !last) << step | (reached & !first) >> step;
            }
            next &= self.cells;
            if next == reached {
                return reached == self.cells;
            }
            reached = next;
        }
    }

    /// The blocks behind square (i, j) of view `view`, the nearest in the lowest bit.
    fn column(&self, view: usize, i: usize, j: usize) -> u32 {
        let ([right, up, deep], nearest_first) = VIEWS[view];
        let depth = self.size[deep];
        let mut at = [0; 3];
        (at[right], at[up]) = (i, j);
        (0..depth)
            .filter(|&d| {
                at[deep] = if nearest_first { d } else { depth - 1 - d };
                self.cells >> bit(self.size, at) & 1 == 1
            })
            .fold(0, |column, d| column | 1 << d)
    }

    /// What is drawn on every unit segment of the three views.
    pub(crate) fn marks(&self) -> Marks {
        [0, 1, 2].map(|view| {
            let [w, h] = view_size(self.size, view);
            let mut columns = [[0; 8]; 8];
            for i in 0..w {
                for j in 0..h {
                    columns[i + 1][j + 1] = self.column(view, i, j);
                }
            }
            segments(w, h).fold(0, |marks, (place, [a, b])| {
                marks | mark(columns[a[0]][a[1]], columns[b[0]][b[1]]) << (2 * place)
            })
        })
    }

    /// Its three views with the grid planes of each axis at `lines`, one stroke per drawn unit segment.
    pub(crate) fn views(&self, lines: &[Vec<f64>; 3]) -> Views {
        views(self.size, &self.marks(), lines)
    }
}

/// The drawing with these marks, the grid planes of each axis standing at `lines` (ascending from 0).
pub(crate) fn views(size: [usize; 3], marks: &Marks, lines: &[Vec<f64>; 3]) -> Views {
    let strokes = [0, 1, 2].map(|view| {
        let [w, h] = view_size(size, view);
        let [right, up, _] = VIEWS[view].0;
        segments(w, h)
            .filter(|(place, _)| marks[view] >> (2 * place) & 3 != BLANK)
            .map(|(place, [a, b])| {
                let upright = a[1] == b[1];
                let from = [b[0] - 1, b[1] - 1];
                let to = if upright {
                    [from[0], from[1] + 1]
                } else {
                    [from[0] + 1, from[1]]
                };
                Stroke {
                    from: [lines[right][from[0]], lines[up][from[1]]],
                    to: [lines[right][to[0]], lines[up][to[1]]],
                    hidden: marks[view] >> (2 * place) & 3 == HIDDEN,
                }
            })
            .collect()
    });
    Views {
        strokes,
        size: [0, 1, 2].map(|k| lines[k][size[k]]),
    }
}

/// The marks of a drawing whose ends all stand on a grid of `pitch` millimetres, and its size in blocks.
pub(crate) fn marks_of(drawing: &Views, pitch: f64) -> ([usize; 3], Marks) {
    let blocks = |length: f64| (0..=8).find(|n| (*n as f64 * pitch - length).abs() < 1e-6);
    let size = drawing
        .size
        .map(|length| blocks(length).expect("a drawing on the grid, at most 8 blocks wide"));
    let marks = [0, 1, 2].map(|view| {
        let [w, h] = view_size(size, view);
        segments(w, h).fold(0, |marks, (place, [a, b])| {
            let corner = [b[0] as f64 - 1.0, b[1] as f64 - 1.0];
            let middle = if a[1] == b[1] {
                [corner[0], corner[1] + 0.5]
            } else {
                [corner[0] + 0.5, corner[1]]
            };
            let drawn = drawing.at(view, middle.map(|c| c * pitch), 1e-6);
            marks
                | drawn.map_or(BLANK, |hidden| if hidden { HIDDEN } else { VISIBLE }) << (2 * place)
        })
    });
    (size, marks)
}

/// Grid planes `pitch` millimetres apart.
pub(crate) fn even_grid(size: [usize; 3], pitch: f64) -> [Vec<f64>; 3] {
    size.map(|n| (0..=n).map(|i| i as f64 * pitch).collect())
}

/// What is drawn on a segment between two columns of blocks, the nearest block in the lowest bit.
///
/// A layer in which just one of the two blocks is there has an edge of the solid at its near or far side, and without
/// such a layer there is none. The line of sight runs along the border of the columns, so it is stopped only by a layer
/// with both blocks: the line is visible if the nearest layer with any block at all has just one.
fn mark(a: u32, b: u32) -> u128 {
    let one_only = a ^ b;
    let any = a | b;
    if one_only == 0 {
        BLANK
    } else if one_only & any & any.wrapping_neg() != 0 {
        VISIBLE
    } else {
        HIDDEN
    }
}

/// The unit segments of a view of w x h squares: its place in [`Marks`] and the squares before and after it, counted
/// from 1 so that 0 is the blank around the view.
fn segments(w: usize, h: usize) -> impl Iterator<Item = (usize, [[usize; 2]; 2])> {
    let upright = (0..h).flat_map(move |j| (0..=w).map(move |i| [[i, j + 1], [i + 1, j + 1]]));
    let level = (0..=h).flat_map(move |j| (0..w).map(move |i| [[i + 1, j], [i + 1, j + 1]]));
    upright.chain(level).enumerate()
}

fn view_size(size: [usize; 3], view: usize) -> [usize; 2] {
    let [right, up, _] = VIEWS[view].0;
    [size[right], size[up]]
}

fn bit(size: [usize; 3], [x, y, z]: [usize; 3]) -> usize {
    x + size[0] * (y + size[1] * z)
}

/// The first and the last layer of blocks along each axis.
fn outer_layers(size: [usize; 3]) -> [[u128; 2]; 3] {
    let all = Blocks { size, cells: 0 };
    [0, 1, 2].map(|k| {
        [0, size[k] - 1].map(|c| {
            all.places()
                .filter(|at| at[k] == c)
                .fold(0, |mask, at| mask | 1 << bit(size, at))
        })
    })
}

/// Which of the 256 ways to fill the eight octants around a point leave a two-manifold boundary there.
///
/// On a small sphere around the point the boundary is one closed curve (or none) exactly if the filled part and the
/// empty part hang together each; an edge at which two blocks merely touch would split one of them.
static SOUND_CORNERS: LazyLock<[bool; 256]> = LazyLock::new(|| {
    let hangs_together = |octants: usize| {
        let mut reached = octants & octants.wrapping_neg();
        loop {
            let next = (0..8)
                .filter(|i| reached >> i & 1 == 1)
                .fold(reached, |next, i| {
                    (next | 1 << (i ^ 1) | 1 << (i ^ 2) | 1 << (i ^ 4)) & octants
                });
            if next == reached {
                return reached == octants;
            }
            reached = next;
        }
    };
    std::array::from_fn(|octants| hangs_together(octants) && hangs_together(!octants & 255))
});

/// Every solid of blocks, sound or not, that has this drawing and fills its box; in ascending order.
///
/// Layers are chosen from the top down. A layer's upright lines in the front and the right view tell which layers can
/// be there at all, the level lines which can follow one another; the top view prunes as soon as it is contradicted.
pub(crate) fn readings_by_brute_force(size: [usize; 3], marks: &Marks) -> Vec<Blocks> {
    let search = Search {
        size,
        marks,
        layers: (0..size[2]).map(|z| layers_at(size, marks, z)).collect(),
    };
    let mut found = Vec::new();
    search.extend(&mut Vec::new(), &mut found);
    found.sort_unstable();
    found
}

struct Search<'a> {
    size: [usize; 3],
    marks: &'a Marks,
    /// For each height the layers that its upright lines allow.
    layers: Vec<Vec<u128>>,
}

impl Search<'_> {
    fn extend(&self, chosen: &mut Vec<u128>, found: &mut Vec<Blocks>) {
        let [nx, ny, nz] = self.size;
        let height = nz - chosen.len();
        let stack = |layers: &[u128]| Blocks {
            size: self.size,
            cells: layers.iter().enumerate().fold(0, |cells, (i, layer)| {
                cells | layer << (nx * ny * (nz - 1 - i))
            }),
        };
        if height == 0 {
            let blocks = stack(chosen);
            found.extend((blocks.marks() == *self.marks).then_some(blocks));
            return;
        }
        for &layer in &self.layers[height - 1] {
            chosen.push(layer);
            if self.level_lines_fit(chosen) && self.top_view_fits(&stack(chosen)) {
                self.extend(chosen, found);
            }
            chosen.pop();
        }
    }

    /// Whether the level lines of the front and the right view above the last layer chosen are those of the drawing.
    fn level_lines_fit(&self, chosen: &[u128]) -> bool {
        let [nx, ny, nz] = self.size;
        let lower = Blocks {
            size: [nx, ny, 1],
            cells: chosen[chosen.len() - 1],
        };
        let upper = Blocks {
            cells: if chosen.len() > 1 {
                chosen[chosen.len() - 2]
            } else {
                0
            },
            ..lower
        };
        let level = nz + 1 - chosen.len();
        [0, 2].into_iter().all(|view| {
            let [w, h] = view_size(self.size, view);
            (0..w).all(|i| {
                let place = (w + 1) * h + level * w + i;
                mark(lower.column(view, i, 0), upper.column(view, i, 0))
                    == self.marks[view] >> (2 * place) & 3
            })
        })
    }

    /// Whether layers below can still complete the top view: a mark once made stays, and a line that begins behind a
    /// full layer can no longer become visible.
    fn top_view_fits(&self, blocks: &Blocks) -> bool {
        let [w, h] = view_size(self.size, 1);
        segments(w, h).all(|(place, pair)| {
            let [a, b] = pair.map(|[i, j]| {
                if i == 0 || j == 0 || i > w || j > h {
                    0
                } else {
                    blocks.column(1, i - 1, j - 1)
                }
            });
            let wanted = self.marks[1] >> (2 * place) & 3;
            match mark(a, b) {
                BLANK => (a | b) == 0 || wanted != VISIBLE,
                made => made == wanted,
            }
        })
    }
}

/// The layers whose upright lines in the front and the right view are those drawn at height `z`.
fn layers_at(size: [usize; 3], marks: &Marks, z: usize) -> Vec<u128> {
    let [nx, ny, _] = size;
    let wanted = |view: usize, w: usize, i: usize| marks[view] >> (2 * (z * (w + 1) + i)) & 3;
    let mut strips: Vec<Vec<u32>> = vec![Vec::new()];
    for x in 0..=nx {
        let columns = if x < nx { 1 << ny } else { 1 };
        strips = strips
            .iter()
            .flat_map(|strip| {
                let before = strip.last().copied().unwrap_or(0);
                (0..columns)
                    .filter(|&column| mark(before, column) == wanted(0, nx, x))
                    .map(|column| strip.iter().copied().chain([column]).collect::<Vec<_>>())
                    .collect::<Vec<_>>()
            })
            .collect();
    }
    strips
        .iter()
        .map(|strip| layer_of(strip, nx, ny))
        .filter(|&cells| {
            let layer = Blocks {
                size: [nx, ny, 1],
                cells,
            };
            let row = |y: usize| {
                if y == 0 || y > ny {
                    0
                } else {
                    layer.column(2, y - 1, 0)
                }
            };
            (0..=ny).all(|y| mark(row(y), row(y + 1)) == wanted(2, ny, y))
        })
        .collect()
}

/// The layer whose strip of blocks at each x is given front to back.
fn layer_of(strip: &[u32], nx: usize, ny: usize) -> u128 {
    (0..ny)
        .flat_map(|y| (0..nx).map(move |x| (x, y)))
        .filter(|&(x, y)| strip[x] >> y & 1 == 1)
        .fold(0, |cells, (x, y)| cells | 1 << (x + nx * y))
}

/// Every sound solid of blocks that fills a box of this size, by layers that may lie on one another.
pub(crate) fn world(size: [usize; 3]) -> Vec<Blocks> {
    let [nx, ny, _] = size;
    let layers = 1u128 << (nx * ny);
    // A corner between two layers is sound or not whatever the layers beyond: pairs decide everything but the piece.
    let follows = (0..layers)
        .map(|lower| {
            (0..layers)
                .filter(|upper| corners_are_sound([nx, ny], lower, *upper))
                .collect()
        })
        .collect();
    let mut pile = Pile {
        size,
        follows,
        outer: outer_layers(size),
        found: Vec::new(),
    };
    pile.extend(0, 0, 0);
    pile.found
}

/// A world on its way, from the lowest layer up.
struct Pile {
    size: [usize; 3],
    /// For each layer those that may lie on it.
    follows: Vec<Vec<u128>>,
    outer: [[u128; 2]; 3],
    found: Vec<Blocks>,
}

impl Pile {
    /// Lays every layer that may follow `top` on the `height` layers in `cells`.
    fn extend(&mut self, cells: u128, top: usize, height: usize) {
        let [nx, ny, nz] = self.size;
        if height == nz {
            let blocks = Blocks {
                size: self.size,
                cells,
            };
            // The blank above: a layer may end the pile if nothing may follow it.
            if self.follows[top][0] == 0
                && blocks.reaches(&self.outer)
                && blocks.is_one_piece(&self.outer)
            {
                self.found.push(blocks);
            }
            return;
        }
        for i in 0..self.follows[top].len() {
            let layer = self.follows[top][i];
            let next = usize::try_from(layer).expect("a layer has few bits");
            self.extend(cells | layer << (nx * ny * height), next, height + 1);
        }
    }
}

fn corners_are_sound([nx, ny]: [usize; 2], lower: u128, upper: u128) -> bool {
    let pair = Blocks {
        size: [nx, ny, 2],
        cells: lower | upper << (nx * ny),
    };
    (0..=ny).all(|y| (0..=nx).all(|x| SOUND_CORNERS[pair.around([x, y, 1])]))
}
