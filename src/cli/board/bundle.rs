//! Puts the script modules of the board into one script, for a page without a server has nowhere to load them from.
//!
//! Each module becomes a function that gives back what it exports, in an order in which every module stands after those it
//! imports from. The modules keep to a few simple forms: named imports from files beside them, and `export` in front of a
//! declaration. Anything else is refused. Comments stay behind: the page carries its own weight over slow lines.

use anyhow::{Context, Result, bail};

/// The words after `export` that a module may use, each with a name to follow.
const DECLARATIONS: [&str; 4] = ["function ", "async function ", "const ", "class "];

/// One script that does what the module called `main` does; `source` gives the text of a module by its file name.
///
/// # Errors
/// When a module is missing, modules import each other in a circle, or one uses a form that is not provided for.
pub(in crate::cli) fn bundle(
    main: &str,
    source: &dyn Fn(&str) -> Option<&'static str>,
) -> Result<String> {
    let mut bundle = Bundle {
        source,
        script: String::from("\"use strict\";\n"),
        done: Vec::new(),
        open: Vec::new(),
    };
    bundle.add(main)?;
    Ok(bundle.script)
}

struct Bundle<'s> {
    source: &'s dyn Fn(&str) -> Option<&'static str>,
    script: String,
    done: Vec<String>,
    /// Modules that wait for those they import from.
    open: Vec<String>,
}

impl Bundle<'_> {
    fn add(&mut self, name: &str) -> Result<()> {
        if self.done.iter().any(|done| done == name) {
            return Ok(());
        }
        if self.open.iter().any(|open| open == name) {
            bail!("{name}: modules import each other in a circle");
        }
        let text = (self.source)(name).with_context(|| format!("there is no module {name}"))?;
        let module = Module::read(text).with_context(|| name.to_owned())?;
        self.open.push(name.to_owned());
        for (_, from) in &module.imports {
            self.add(from)?;
        }
        self.open.pop();
        self.script += &module.as_function(name);
        self.done.push(name.to_owned());
        Ok(())
    }
}

/// A module taken apart.
struct Module {
    /// The names between the braces of an import, and the file they come from.
    imports: Vec<(String, String)>,
    exports: Vec<String>,
    /// Its text without imports, and without the word `export`.
    body: String,
}

impl Module {
    fn read(text: &str) -> Result<Module> {
        let mut module = Module {
            imports: Vec::new(),
            exports: Vec::new(),
            body: String::new(),
        };
        let mut rest = text;
        while !rest.is_empty() {
            if let Some(end) = comment(rest)? {
                rest = &rest[end..];
                continue;
            }
            let end = rest.find('\n').map_or(rest.len(), |end| end + 1);
            if rest.starts_with("import ") {
                let end = rest.find(";\n").context("an import has no end")? + 2;
                module.imports.push(import(&rest[..end])?);
                rest = &rest[end..];
                continue;
            }
            let line = &rest[..end];
            match line.strip_prefix("export ") {
                Some(declaration) => {
                    module.exports.push(declared(declaration)?);
                    module.body += declaration;
                }
                None => module.body += line,
            }
            rest = &rest[end..];
        }
        if module.body.contains("</script") || module.body.contains("<!--") {
            bail!(
                "a script may hold neither its own closing tag nor the beginning of a comment of the page"
            );
        }
        Ok(module)
    }

    fn as_function(&self, name: &str) -> String {
        let mut text = format!("const {} = (() => {{\n", variable(name));
        for (names, from) in &self.imports {
            text += &format!("const {names} = {};\n", variable(from));
        }
        text += &self.body;
        text + &format!("return {{ {} }};\n}})();\n", self.exports.join(", "))
    }
}

/// How long the comment is that stands on the first lines of a text by itself; `None` if there is none.
fn comment(text: &str) -> Result<Option<usize>> {
    let end = match text.trim_start_matches(' ') {
        line if line.starts_with("//") => text.find('\n').map(|end| end + 1),
        block if block.starts_with("/*") => {
            Some(text.find("*/\n").context("a comment has no end")? + 3)
        }
        _ => return Ok(None),
    };
    Ok(Some(end.unwrap_or(text.len())))
}

/// The names, with their braces, and the file of `import { a, b } from "./c.js";`.
fn import(statement: &str) -> Result<(String, String)> {
    let parts = || {
        let (names, from) = statement.strip_prefix("import ")?.split_once(" from ")?;
        let file = from.trim().strip_prefix("\"./")?.strip_suffix("\";")?;
        let braced = names.starts_with('{') && names.ends_with('}') && !names.contains(" as ");
        braced.then(|| (names.to_owned(), file.to_owned()))
    };
    parts().with_context(|| format!("this import is not provided for: {statement}"))
}

/// The name that a declaration declares.
fn declared(declaration: &str) -> Result<String> {
    let known = DECLARATIONS
        .iter()
        .find_map(|word| declaration.strip_prefix(word));
    let name: String = known
        .unwrap_or_default()
        .chars()
        .take_while(|c| c.is_alphanumeric() || *c == '_' || *c == '$')
        .collect();
    if name.is_empty() {
        bail!("this export is not provided for: {}", declaration.trim());
    }
    Ok(name)
}

/// What a module is called in the script.
fn variable(file: &str) -> String {
    let word: String = file
        .chars()
        .map(|c| if c.is_ascii_alphanumeric() { c } else { '_' })
        .collect();
    format!("module_{word}")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(modules: &'static [(&'static str, &'static str)]) -> Result<String> {
        bundle("main.js", &|name| {
            modules
                .iter()
                .find(|(file, _)| *file == name)
                .map(|(_, text)| *text)
        })
    }

    #[test]
    fn modules_stand_after_those_they_import_from() {
        let script = of(&[
            (
                "main.js",
                "import { a } from \"./a.js\";\nimport {\n  b,\n} from \"./b.js\";\na(b);\n",
            ),
            (
                "a.js",
                "import { b } from \"./b.js\";\nexport function a() { return b; }\n",
            ),
            ("b.js", "export const b = 1;\n"),
        ])
        .unwrap();
        let at = |name: &str| script.find(&format!("const module_{name}_js = ")).unwrap();
        assert!(at("b") < at("a") && at("a") < at("main"));
        assert!(script.contains("function a() { return b; }\nreturn { a };"));
        assert!(!script.contains("import ") && !script.contains("export "));
        assert_eq!(script.matches("const module_b_js").count(), 1);
    }

    #[test]
    fn comments_stay_behind_and_nothing_else() {
        let script = of(&[(
            "main.js",
            "// One.\n/** Two. */\n/**\n * Three,\n * and on.\n */\nconst url = \"a//b\"; // four\n  // Five.\nf(/\\*\\//);\n",
        )])
        .unwrap();
        for gone in ["One", "Two", "Three", "and on", "Five"] {
            assert!(!script.contains(gone), "{gone}");
        }
        assert!(script.contains("const url = \"a//b\"; // four\nf(/\\*\\//);\n"));
        assert!(of(&[("main.js", "/**\n * open\n")]).is_err());
    }

    #[test]
    fn other_forms_are_refused() {
        for text in [
            "import a from \"./a.js\";\n",
            "import { a as b } from \"./a.js\";\n",
            "import { a } from \"https://example.org/a.js\";\n",
            "import { none } from \"./none.js\";\n",
            "export default 1;\n",
            "export let a = 1;\n",
            "const a = \"</script>\";\n",
        ] {
            let modules: &'static [_] = Box::leak(Box::new([("main.js", text), ("a.js", "")]));
            assert!(of(modules).is_err(), "{text}");
        }
        let circle = &[
            ("main.js", "import { a } from \"./a.js\";\n"),
            ("a.js", "import { b } from \"./main.js\";\n"),
        ];
        assert!(of(circle).is_err());
    }

    #[test]
    fn board_keeps_to_the_forms() {
        assert!(bundle("main.js", &super::super::file).unwrap().len() > 10_000);
    }
}
