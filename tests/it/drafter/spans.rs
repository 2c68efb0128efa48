//! Stretches along a ray: sorted, apart from one another, and combined like sets.

/// Stretches of a ray by their start and end.
pub(crate) type Spans = Vec<[f64; 2]>;

/// The whole ray, both ways.
pub(crate) const EVERYWHERE: [f64; 2] = [f64::NEG_INFINITY, f64::INFINITY];

/// What lies in both.
pub(crate) fn both(a: &[[f64; 2]], b: &[[f64; 2]]) -> Spans {
    let mut out = Spans::new();
    for s in a {
        for t in b {
            let piece = [s[0].max(t[0]), s[1].min(t[1])];
            if piece[0] < piece[1] {
                out.push(piece);
            }
        }
    }
    out.sort_by(|s, t| s[0].total_cmp(&t[0]));
    out
}

/// What lies in one of them or in both; stretches that touch become one.
pub(crate) fn either(a: &[[f64; 2]], b: &[[f64; 2]]) -> Spans {
    merged(a.iter().chain(b).copied().collect(), 0.0)
}

/// What lies in the first and not in the second.
pub(crate) fn except(a: &[[f64; 2]], b: &[[f64; 2]]) -> Spans {
    let mut gaps = Spans::new();
    let mut from = f64::NEG_INFINITY;
    for t in b {
        gaps.push([from, t[0]]);
        from = t[1];
    }
    gaps.push([from, f64::INFINITY]);
    both(a, &gaps)
}

/// The same stretches sorted, those less than `gap` apart made one.
pub(crate) fn merged(mut spans: Spans, gap: f64) -> Spans {
    spans.sort_by(|s, t| s[0].total_cmp(&t[0]));
    let mut out = Spans::new();
    for s in spans {
        match out.last_mut() {
            Some(last) if s[0] <= last[1] + gap => last[1] = last[1].max(s[1]),
            _ => out.push(s),
        }
    }
    out
}
