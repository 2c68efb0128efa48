//! Whoever cannot see, point or tell colours apart: names and roles, contrast, focus, sizes of targets, what is read aloud.
//! Success criteria are those of WCAG 2.2, level AA, each named beside its check.

use serde_json::{Value, json};

use crate::hand::{Board, on_the_board};

/// What a browser tells a screen reader about each element that takes the focus: role and name.
fn focusable(board: &Board) -> Vec<(String, String)> {
    let mut page = board.page.borrow_mut();
    page.command("Accessibility.enable", json!({}));
    let tree = page.command("Accessibility.getFullAXTree", json!({}));
    let nodes = tree["nodes"].as_array().expect("a tree").clone();
    let takes_focus = |node: &&Value| {
        let properties = node["properties"].as_array().into_iter().flatten();
        let mut focusable =
            properties.filter(|p| p["name"] == "focusable" && p["value"]["value"] == true);
        node["ignored"] != true && focusable.next().is_some()
    };
    let text = |node: &Value, key: &str| node[key]["value"].as_str().unwrap_or_default().to_owned();
    (nodes.iter().filter(takes_focus))
        .map(|node| (text(node, "role"), text(node, "name")))
        .filter(|(role, _)| role != "RootWebArea")
        .collect()
}

/// 4.1.2 Name, Role, Value.
#[test]
fn everything_that_takes_the_focus_has_a_name_and_a_role() {
    on_the_board(|board| {
        for (sample, state) in [
            ("mooring-steps", "ambiguous"),
            ("tide-bracket", "contradictory"),
        ] {
            board.open_sample(sample);
            board.wait_for(state);
            if state == "contradictory" {
                board.wait("document.querySelectorAll('.mend').length > 0");
            }
            board.run("for (const menu of document.querySelectorAll('details')) menu.open = true");
            let found = focusable(board);
            assert!(found.len() > 70, "{} are found", found.len());
            for (role, name) in &found {
                assert!(
                    !name.trim().is_empty() && !["", "generic", "none"].contains(&role.as_str()),
                    "{role:?} {name:?}"
                );
            }
            for (role, name) in [
                ("application", "Drawing paper"),
                ("radio", "Hidden"),
                ("checkbox", "Only up to crossings"),
                ("combobox", "Projection"),
                ("combobox", "Hidden lines"),
                ("combobox", "Grid"),
                ("button", "New sheet"),
            ] {
                let named = |(r, n): &(String, String)| r == role && n.starts_with(name);
                assert!(found.iter().any(named), "there is no {role} {name:?}");
            }
        }
    });
}

/// A colour's share of light, 0 to 1 (WCAG 2.2, "relative luminance").
fn luminance(colour: &[f64]) -> f64 {
    let linear = |c: f64| match c / 255.0 {
        c if c <= 0.04045 => c / 12.92,
        c => ((c + 0.055) / 1.055).powf(2.4),
    };
    0.2126 * linear(colour[0]) + 0.7152 * linear(colour[1]) + 0.0722 * linear(colour[2])
}

/// From 1 to 21 (WCAG 2.2, "contrast ratio").
fn contrast(one: &[f64], other: &[f64]) -> f64 {
    let [a, b] = [luminance(one), luminance(other)];
    (a.max(b) + 0.05) / (a.min(b) + 0.05)
}

#[test]
fn contrast_is_worked_out_as_the_guidelines_say() {
    let [black, white, grey] = [[0.0; 3], [255.0; 3], [119.0; 3]];
    assert!((contrast(&black, &white) - 21.0).abs() < 1e-9);
    // #777777 on white is just below 4.5, a well-known example: 4.48.
    assert!((contrast(&grey, &white) - 4.48).abs() < 0.005);
}

/// Numbers of a colour as the browser computes it.
fn numbers(colour: &Value) -> Vec<f64> {
    let text = colour.as_str().unwrap_or_default();
    let inner = text.trim_start_matches(|c: char| !c.is_ascii_digit());
    inner
        .trim_end_matches(')')
        .split([',', ' ', '/'])
        .filter_map(|number| number.trim().parse().ok())
        .collect()
}

/// What can be seen now: texts with their colour and what is behind them, and borders of controls.
const COLOURS: &str = "
    const behind = (e) => {
      for (; e; e = e.parentElement) {
        const c = getComputedStyle(e).backgroundColor;
        if (!/, 0\\)$/.test(c) && c !== 'transparent') return c;
      }
      return 'rgb(255, 255, 255)';
    };
    const seen = (e) => e.checkVisibility({ visibilityProperty: true }) && !e.closest('.unseen, svg');
    const found = [];
    for (const e of document.querySelectorAll('body *')) {
      if (!seen(e)) continue;
      const style = getComputedStyle(e);
      const own = [...e.childNodes].some((n) => n.nodeType === 3 && n.textContent.trim());
      const name = `${e.tagName}#${e.id}.${e.className} ${e.textContent.trim().slice(0, 30)}`;
      // 1.4.3 leaves out controls that cannot be used just now.
      const off = e.closest('[aria-disabled=true]') !== null;
      if (own && !off) found.push(['text', name, style.color, behind(e)]);
      if (e.matches('button, select, summary, textarea, .pick') && !off)
        found.push(['control', name, style.borderTopColor, behind(e.parentElement)]);
    }
    return found";

/// 1.4.3 Contrast (Minimum): 4.5 for text. 1.4.11 Non-text Contrast: 3 for what shows where a control is.
#[test]
fn texts_and_controls_stand_out_from_what_is_behind_them() {
    on_the_board(|board| {
        let mut least = [f64::INFINITY; 2];
        for (sample, state) in [
            ("mast-foot", "unique"),
            ("mooring-steps", "ambiguous"),
            ("tide-bracket", "contradictory"),
        ] {
            board.open_sample(sample);
            board.wait_for(state);
            board.run("for (const menu of document.querySelectorAll('details')) menu.open = true");
            board.run("document.getElementById('help-dialog').show()");
            let found = board.run(COLOURS);
            let found = found.as_array().unwrap();
            assert!(found.len() > 100, "{}", found.len());
            for entry in found {
                let ratio = contrast(&numbers(&entry[2]), &numbers(&entry[3]));
                let (kind, limit) = if entry[0] == "text" {
                    (0, 4.5)
                } else {
                    (1, 3.0)
                };
                assert!(ratio >= limit, "{ratio:.2}: {entry}");
                least[kind] = least[kind].min(ratio);
            }
            board.run("document.getElementById('help-dialog').close()");
        }
        println!(
            "least contrast: text {:.2} (4.5 is due), controls {:.2} (3 is due)",
            least[0], least[1]
        );
    });
}

/// 1.4.11 for what is drawn: lines, marks, the pencil and the fold lines against the paper; the grid is only a help and faint.
#[test]
fn lines_and_marks_stand_out_from_the_paper() {
    on_the_board(|board| {
        let script = "const style = getComputedStyle(document.documentElement);
            const probe = document.createElement('p'); document.body.append(probe);
            const rgb = (c) => { probe.style.color = c; return getComputedStyle(probe).color; };
            const names = ['--ink', '--mark', '--wrong', '--choice', '--open', '--comes', '--rule', '--fold'];
            const all = names.map((name) => [name, rgb(style.getPropertyValue(name)), rgb(style.getPropertyValue('--paper'))]);
            probe.remove();
            return all";
        for entry in board.run(script).as_array().unwrap() {
            let ratio = contrast(&numbers(&entry[1]), &numbers(&entry[2]));
            println!("{}: {ratio:.2}", entry[0]);
            assert!(ratio >= 3.0, "{ratio:.2}: {entry}");
        }
    });
}

/// 2.4.7 Focus Visible, 2.4.11 Focus Not Obscured, 2.1.1 Keyboard, 2.1.2 No Keyboard Trap: Tab goes round through everything.
#[test]
fn the_focus_goes_everywhere_and_is_seen() {
    on_the_board(|board| {
        board.open_sample("mooring-steps");
        board.wait_for("ambiguous");
        board.run("document.activeElement.blur()");
        let mut reached: Vec<String> = Vec::new();
        for _ in 0..80 {
            board.chord("Tab");
            let script = "const e = document.activeElement;
                const shown = [e, e.closest('label')].filter(Boolean);
                const ring = shown.some((s) => { const c = getComputedStyle(s);
                  return c.outlineStyle !== 'none' && parseFloat(c.outlineWidth) >= 2; });
                const r = e.getBoundingClientRect();
                const at = document.elementFromPoint(r.x + r.width / 2, r.y + r.height / 2);
                const clear = at !== null && (e.contains(at) || at.contains(e) || at.closest('label') === e.closest('label'));
                return [`${e.tagName} ${e.id || e.value || e.textContent}`, ring, clear]";
            let found = board.run(script);
            let name = found[0].as_str().unwrap().to_owned();
            // Between the last and the first the focus leaves the page for the browser.
            if name.starts_with("BODY") {
                continue;
            }
            if reached.contains(&name) {
                break;
            }
            assert!(found[1] == true, "{name} has the focus, but it is not seen");
            assert!(found[2] == true, "{name} has the focus, but is covered");
            reached.push(name);
        }
        for wanted in [
            "BUTTON new",
            "SVG",
            "svg paper",
            "CANVAS solid",
            "SELECT grid",
            "BUTTON next",
            "INPUT hints",
        ] {
            let is = |name: &String| name.to_lowercase().starts_with(&wanted.to_lowercase());
            assert!(
                reached.iter().any(is),
                "{wanted} is not reached: {reached:?}"
            );
        }
        assert!(reached.len() > 25, "{reached:?}");
    });
}

/// 2.5.8 Target Size (Minimum): 24 by 24 CSS pixels, on a laptop and on a telephone. 1.4.10 Reflow: nothing sideways.
#[test]
fn targets_are_large_enough_on_every_screen() {
    on_the_board(|board| {
        for size in [[1366, 768], [1024, 600], [390, 844], [320, 640]] {
            board.page.borrow_mut().resize(size);
            board.open_sample("mooring-steps");
            board.wait_for("ambiguous");
            board.run(
                "for (const menu of document.querySelectorAll('details.menu')) menu.open = true",
            );
            let script = "return [...document.querySelectorAll('button, select, summary, .pick, label.check, input[type=checkbox]')]
                .filter((e) => e.checkVisibility() && !e.closest('dialog') && !e.matches('.pick input, .check input'))
                .map((e) => [e.id || e.textContent, e.getBoundingClientRect().width, e.getBoundingClientRect().height])";
            for target in board.run(script).as_array().unwrap() {
                let [wide, high] = [1, 2].map(|k| target[k].as_f64().unwrap());
                assert!(wide >= 24.0 && high >= 24.0, "{size:?}: {target}");
            }
            let sideways = board.run("return document.documentElement.scrollWidth - innerWidth");
            assert!(
                sideways.as_f64().unwrap() <= 0.0,
                "{size:?}: {sideways} pixels wider than the screen"
            );
        }
    });
}

/// 4.1.3 Status Messages: what changes is told without taking the focus, and politely.
#[test]
fn the_verdict_is_read_aloud_politely() {
    on_the_board(|board| {
        for id in ["spoken", "notice"] {
            let role = board.run(&format!(
                "return document.getElementById('{id}').getAttribute('role')"
            ));
            // A status is a polite live region (WAI-ARIA 1.2).
            assert_eq!(role, json!("status"));
        }
        board.open_sample("mast-foot");
        board
            .wait("document.getElementById('spoken').textContent.startsWith('Exactly one object')");
        assert!(
            board
                .text("#spoken")
                .contains("60 mm wide, 40 mm deep, 30 mm high")
        );
        board.draw(&[[40.0, 20.0], [45.0, 25.0]]);
        board.wait(
            "!document.getElementById('spoken').textContent.startsWith('Exactly one object')",
        );
        assert!(board.text("#notice").contains("Drawn in the"));
    });
}
