//! The drawing board in one file: page, scripts, samples and the engine as compressed WebAssembly.
//!
//! What may run is fixed by a content security policy in the file itself, which names its one script and its one style by
//! their hashes and allows no connection to anywhere.

use anyhow::{Context, Result};
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use sha2::{Digest, Sha256};

use super::bundle::bundle;
use super::packed::packed;
use super::{block, file, page};

/// How the page asks for its style, in a file of its own.
pub(super) const STYLE: &str = "<link rel=\"stylesheet\" href=\"style.css\">";

/// How the page asks for its script.
pub(super) const SCRIPT: &str = "<script type=\"module\" src=\"main.js\"></script>";

/// The page around the engine, a WebAssembly module. The same engine gives the same bytes.
///
/// # Errors
/// When the board's own files do not fit together.
pub(in crate::cli) fn single(engine: &[u8]) -> Result<String> {
    let style = file("style.css").context("the board has no style")?;
    let script = bundle("main.js", &file)?;
    let worker = bundle("worker.js", &file)?;
    let mut further = block("text/plain", "board-worker", &worker);
    further += &block("text/plain", "board-wasm", &packed(engine)?);
    let policy = format!(
        "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; script-src 'wasm-unsafe-eval' '{}'; \
         style-src '{}'; img-src blob: data:; worker-src blob:; base-uri 'none'; form-action 'none'\">",
        hash(&script),
        hash(style)
    );
    // The policy comes before anything that it is about.
    let page = page("wasm", &further)?
        .replacen("<head>", &format!("<head>\n{policy}"), 1)
        .replacen(STYLE, &format!("<style>{style}</style>"), 1);
    Ok(page.replacen(
        SCRIPT,
        &format!("<script type=\"module\">{script}</script>"),
        1,
    ))
}

/// A source that the policy allows, by what it is.
fn hash(text: &str) -> String {
    format!("sha256-{}", STANDARD.encode(Sha256::digest(text)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn same_engine_gives_the_same_page_with_everything_inside() {
        let page = single(b"\0asm").unwrap();
        assert_eq!(page, single(b"\0asm").unwrap());
        assert!(!page.contains(STYLE) && !page.contains(SCRIPT));
        for outside in [" src=\"http", " href=\"http", " src=\"/", "import("] {
            assert!(!page.contains(outside), "{outside}");
        }
    }

    #[test]
    fn only_the_page_s_own_script_and_style_may_run() {
        let page = single(b"\0asm").unwrap();
        let script = bundle("main.js", &file).unwrap();
        assert_eq!(page.matches(&hash(&script)).count(), 1);
        assert_eq!(page.matches("<script type=\"module\">").count(), 1);
        // The kind of engine, the samples, the worker's text and the engine.
        assert_eq!(page.matches("<script type=").count(), 5);
        assert_eq!(page.matches("</script>").count(), 5);
    }

    #[test]
    fn hash_is_written_as_the_policy_wants_it() {
        // SHA-256 of nothing, from memory: e3b0c442… in hexadecimal.
        assert_eq!(
            hash(""),
            "sha256-47DEQpj8HBSa+/TImW+5JCeuQeRkm5NMpJWZG3hSuFU="
        );
    }
}
