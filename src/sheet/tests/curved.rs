//! Where circles, arcs and curves come to lie.

use super::*;
use crate::arrange::split::arrange;

#[test]
fn dump() {
    for name in curved_names() {
        let mut said = String::new();
        for format in ["json", "svg"] {
            let drawing = drawn(&reference(&format!("{name}.{format}")));
            let t = std::time::Instant::now();
            let (views, axes) = arrange(&drawing).unwrap();
            let t = t.elapsed();
            said += &format!(
                "{format} tol {:.4} t {t:?} axes {:?} arcs {:?} carriers {:?} nodes {:?} pieces {:?} hidden {:?} warn {} | ",
                drawing.tolerance.mm(),
                drawing.axes.each_ref().map(Vec::len),
                drawing.arcs.each_ref().map(Vec::len),
                drawing.carriers.each_ref().map(Vec::len),
                views.each_ref().map(|v| v.nodes.len()),
                views.each_ref().map(|v| v.pieces.len()),
                views
                    .each_ref()
                    .map(|v| v.pieces.iter().filter(|p| p.hidden).count()),
                drawing.warnings.len()
            );
            let _ = axes;
            for w in &drawing.warnings {
                said += &format!("\n     {}", w.message);
            }
            said += "\n   ";
        }
        println!("{name}: {said}");
    }
}
#[test]
fn dbg() {
    let d = drawn(&reference("x03-oblique-cut-pin.json"));
    println!(
        "{:?}\n{:?} {:?} {:?}",
        d.arcs[2], d.carriers[2], d.axes, d.warnings
    );
}
