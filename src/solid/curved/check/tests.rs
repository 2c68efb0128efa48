//! Every defect is found, and sound solids have none.

use super::super::crossings;
use super::super::shapes::*;
use super::*;
use crate::geom::P3;
use crate::geom::plane::Plane;
use crate::geom::surface::Surface;

fn all(solid: &CurvedSolid) -> Vec<Defect> {
    let mut defects = Vec::new();
    let tolerance = Tolerance::new(0.02).unwrap();
    let _: ControlFlow<()> = visit(solid, tolerance, &mut |defect| {
        defects.push(defect);
        ControlFlow::Continue(())
    });
    defects
}

fn sound() -> Vec<CurvedSolid> {
    vec![
        cylinder(0, 5.0, 20.0),
        cylinder(1, 5.0, 20.0),
        cylinder(2, 5.0, 20.0),
        plate_with_hole(),
        washer(4.0, 9.0, 3.0),
        rounded_block(),
        frustum(9.0, 5.0, 7.0),
        ball(7.0),
        torus(0, 9.0, 3.0),
        torus(2, 9.0, 3.0),
        cross_drilled(),
        holes(5),
        pulled_solid(2, [0.0, 9.0], &[rounded([0.0, 0.0], [40.0, 30.0], 8.0)]),
        crossings::two_cylinders(8.0),
        crossings::three_cylinders(8.0),
        crossings::crossing(5.0, 8.0),
        crossings::drilled_shaft(5.0, 8.0, 30.0),
        hollow_ball(8.0),
    ]
}

/// A ball of 10 mm with a ball-shaped cavity around the origin.
fn hollow_ball(radius: f64) -> CurvedSolid {
    let surface = |r: f64, out: bool| {
        let half = [[0.0, -r], [r, 0.0], [0.0, r]];
        let arcs = [0, 1].map(|k| Bend::arc(half[k], half[k + 1], [0.0, 0.0], true));
        turned_about(&if out {
            arcs.to_vec()
        } else {
            hole(arcs.to_vec())
        })
    };
    sewn(&[surface(10.0, true), surface(radius, false)].concat())
}

#[test]
fn sound_solids_have_no_defect() {
    for solid in sound() {
        assert_eq!(all(&solid), [], "{:?}", solid.faces[0].surface);
    }
}

#[test]
fn a_solid_turned_inside_out_is_found() {
    for mut solid in sound() {
        for face in &mut solid.faces {
            face.outward ^= true;
            for border in &mut face.borders {
                border.reverse();
                border.iter_mut().for_each(|step| step.forward ^= true);
            }
        }
        solid.edges.iter_mut().for_each(|edge| edge.faces.reverse());
        assert_eq!(all(&solid)[..1], [Defect::InsideOut]);
    }
}

#[test]
fn a_missing_face_is_found_at_each_of_its_edges() {
    let mut solid = cylinder(2, 5.0, 20.0);
    let gone = solid.faces.pop().unwrap();
    assert_eq!(all(&solid), [Defect::Reference]);
    solid.faces.push(Patch {
        borders: solid.faces[1].borders.clone(),
        ..gone
    });
    let edges = all(&solid)
        .into_iter()
        .filter(|d| matches!(d, Defect::Edge { .. }));
    // Four of the face that is gone, four of the one that is there twice; none is both's.
    assert_eq!(edges.count(), 8 - shared(&solid));
}

/// How many edges the second face shares with the last one as it was made.
fn shared(solid: &CurvedSolid) -> usize {
    let last = u32::try_from(solid.faces.len() - 1).unwrap();
    solid
        .edges
        .iter()
        .filter(|e| e.faces.contains(&1) && e.faces.contains(&last))
        .count()
}

#[test]
fn planted_faults_are_found() {
    let whole = plate_with_hole();
    let changed = |change: &dyn Fn(&mut CurvedSolid)| {
        let mut solid = whole.clone();
        change(&mut solid);
        all(&solid)
    };
    let round = (0_u32..)
        .zip(&whole.faces)
        .find(|(_, f)| !f.surface.is_plane())
        .map(|(k, _)| k)
        .unwrap();
    let r = round as usize;
    let smooth = whole.edges.iter().position(|e| e.smooth).unwrap();
    let sharp = whole.edges.iter().position(|e| !e.smooth).unwrap();
    let edge = |k: usize| u32::try_from(k).unwrap();
    assert_eq!(
        changed(&|s| s.edges[smooth].smooth = false),
        [Defect::Smooth { edge: edge(smooth) }]
    );
    assert_eq!(
        changed(&|s| s.edges[sharp].smooth = true),
        [Defect::Smooth { edge: edge(sharp) }]
    );
    assert_eq!(
        changed(&|s| s.faces[r].signs[0] *= -1),
        [Defect::Signs { face: round }]
    );
    assert_eq!(
        changed(&|s| s.faces[r].borders[0].swap(0, 1)),
        [Defect::OpenBorder {
            face: round,
            border: 0
        }]
    );
    assert_eq!(
        changed(&|s| s.vertices[0].z += 1.0)[..1],
        [Defect::Ends { edge: 0 }]
    );
    assert_eq!(changed(&|s| s.shells = 2), [Defect::Shells]);
    let wider = changed(&|s| {
        if let Surface::Turned(turned) = &mut s.faces[r].surface {
            turned.origin.x += 1.0;
        }
    });
    assert!(
        wider
            .iter()
            .any(|d| matches!(d, Defect::OffSurface { face, .. } if *face == round)),
        "{wider:?}"
    );
    // Its two borders exchanged, the hole is the outer one.
    let swapped = changed(&|s| s.faces[0].borders.swap(0, 1));
    assert!(
        swapped.contains(&Defect::Border { face: 0, border: 0 }),
        "{swapped:?}"
    );
}

#[test]
fn two_balls_are_two_pieces_and_a_ball_outside_is_no_cavity() {
    let half = |r: f64| {
        let at = [[0.0, -r], [r, 0.0], [0.0, r]];
        [0, 1]
            .map(|k| Bend::arc(at[k], at[k + 1], [0.0, 0.0], true))
            .to_vec()
    };
    let two = sewn(&[turned_about(&half(10.0)), turned_about(&half(6.0))].concat());
    assert_eq!(all(&two), [Defect::SecondPiece { shell: 1 }]);
    let hollow = hollow_ball(6.0);
    let mut apart = hollow.clone();
    let away = moved(&hollow, V3::x() * 40.0);
    let cavity: Vec<bool> = apart
        .vertices
        .iter()
        .map(|p| p.coords.norm() < 8.0)
        .collect();
    for (k, inner) in cavity.iter().enumerate() {
        if *inner {
            apart.vertices[k] = away.vertices[k];
        }
    }
    for (edge, other) in apart.edges.iter_mut().zip(&away.edges) {
        if cavity[edge.ends[0] as usize] {
            edge.path = other.path.clone();
        }
    }
    for (face, other) in apart.faces.iter_mut().zip(&away.faces) {
        if face.shell == 1 {
            face.surface = other.surface;
        }
    }
    assert_eq!(all(&apart), [Defect::SecondPiece { shell: 1 }]);
}

/// Two cylinders crosswise through each other, each closed: their sides cross where there is no edge.
#[test]
fn crossing_faces_are_found() {
    let bars = [
        pulled([-20.0, 20.0], &[circle([0.0, 0.0], 8.0)]),
        along(
            0,
            &pulled([-20.0, 20.0], &[rectangle([-3.0, -3.0], [3.0, 3.0])]),
        ),
    ];
    let defects = all(&sewn(&bars.concat()));
    assert!(
        defects.iter().any(|d| matches!(d, Defect::Crossing { .. })),
        "{defects:?}"
    );
}

/// A solid between four corners.
fn tetrahedron(corners: [P3; 4]) -> Vec<Piece> {
    let piece = |apex: usize| {
        let [a, b, c] = [1, 2, 3].map(|k| corners[(apex + k) % 4]);
        let normal = (b - a).cross(&(c - a));
        let out = normal.dot(&(a - corners[apex])) > 0.0;
        let [b, c] = if out { [b, c] } else { [c, b] };
        let plane = Plane::through(&a, &(b - a).cross(&(c - a)));
        let border = [[a, b], [b, c], [c, a]].map(|[p, q]| Path::straight(p, q));
        Piece::new(Surface::Plane(plane), true, vec![border.to_vec()])
    };
    [0, 1, 2, 3].map(piece).to_vec()
}

/// A ball of 10 mm whose side pokes a little through the slanting face of a large block: the crossing is a circle inside
/// an eighth of the ball and inside the face.
#[test]
fn faces_that_cross_in_a_closed_curve_are_found() {
    let arcs = [[[0.0, -10.0], [10.0, 0.0]], [[10.0, 0.0], [0.0, 10.0]]];
    let half = arcs.map(|[from, to]| Bend::arc(from, to, [0.0; 2], true));
    let beside = |sum: f64| {
        let corner = |k: usize| P3::from(V3::repeat(-20.0) + V3::ith(k, sum + 60.0));
        let block = tetrahedron([corner(0), corner(1), corner(2), P3::new(60.0, 60.0, 60.0)]);
        let both = sewn(&[turned_about(&half), block].concat());
        let crossing = |d: &Defect| matches!(d, Defect::Crossing { .. } | Defect::Faces { .. });
        all(&both).into_iter().filter(crossing).collect::<Vec<_>>()
    };
    // The ball reaches as far as x + y + z = 10 times the root of 3.
    assert_eq!(beside(17.4), []);
    let [
        Defect::Faces {
            faces: [round, flat],
        },
    ] = beside(16.8)[..]
    else {
        panic!("{:?}", beside(16.8));
    };
    assert!(round < 8 && flat >= 8, "{round} {flat}");
}

/// A bore so near to the side of its block that it breaks through.
#[test]
fn a_bore_that_breaks_through_is_found() {
    let bored = |x: f64| {
        let outlines = [
            rectangle([0.0, 0.0], [40.0, 30.0]),
            hole(circle([x, 15.0], 10.0)),
        ];
        all(&pulled_solid(2, [0.0, 10.0], &outlines))
    };
    assert_eq!(bored(10.5), []);
    let broken = bored(7.0);
    assert!(
        broken.iter().any(|d| matches!(d, Defect::Crossing { .. })),
        "{broken:?}"
    );
}

/// Two balls that touch: the corner where they touch is one corner with two fans.
#[test]
fn touching_at_a_corner_is_found() {
    let mut solid = sewn(&turned_about(&[
        Bend::arc([0.0, -5.0], [5.0, 0.0], [0.0, 0.0], true),
        Bend::arc([5.0, 0.0], [0.0, 5.0], [0.0, 0.0], true),
        Bend::arc([0.0, 5.0], [5.0, 10.0], [0.0, 10.0], true),
        Bend::arc([5.0, 10.0], [0.0, 15.0], [0.0, 10.0], true),
    ]));
    let top = P3::new(0.0, 0.0, 5.0);
    let vertex = solid
        .vertices
        .iter()
        .position(|p| (p - top).norm() < 1e-9)
        .unwrap();
    solid.shells = 1;
    solid.faces.iter_mut().for_each(|f| f.shell = 0);
    let vertex = u32::try_from(vertex).unwrap();
    assert!(all(&solid).contains(&Defect::Corner { vertex }));
}
