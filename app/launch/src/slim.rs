//! Scripts and stylesheets without what only their readers need.

use std::fs;
use std::path::Path;

use anyhow::Result;

/// Takes comments, empty lines and indents out of every script and stylesheet in `folder`.
pub fn slim(folder: &Path) -> Result<()> {
    for entry in fs::read_dir(folder)? {
        let path = entry?.path();
        if path.extension().is_some_and(|kind| kind == "js" || kind == "css") {
            fs::write(&path, bare(&fs::read_to_string(&path)?))?;
        }
    }
    Ok(())
}

/// Only what stands on lines of its own goes, so that no string has to be told from a comment; our scripts
/// and the binding generator's have no text of several lines.
fn bare(text: &str) -> String {
    let mut bare = String::with_capacity(text.len());
    let mut in_comment = false;
    for line in text.lines().map(str::trim) {
        in_comment |= line.starts_with("/*");
        if !(in_comment || line.is_empty() || line.starts_with("//")) {
            bare.push_str(line);
            bare.push('\n');
        }
        in_comment &= !line.ends_with("*/");
    }
    bare
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn comments_and_indents_go_and_code_stays() {
        let text = "// why\nconst a = \"// text\"; // kept\n\n/**\n * what\n */\n  if (a) {\n    b(`/* ${a}`);\n  }\n/* one */\nc();\n";
        assert_eq!(bare(text), "const a = \"// text\"; // kept\nif (a) {\nb(`/* ${a}`);\n}\nc();\n");
        assert_eq!(bare("a {\n  /* why\n     so */\n  color: red;\n}\n"), "a {\ncolor: red;\n}\n");
    }

    #[test]
    fn no_text_of_our_scripts_runs_over_several_lines() {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../static");
        for entry in fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.extension().is_some_and(|kind| kind == "js") {
                for line in
                    fs::read_to_string(&path).unwrap().lines().filter(|line| !line.trim().starts_with("//"))
                {
                    assert_eq!(line.matches('`').count() % 2, 0, "{}: {line}", path.display());
                }
            }
        }
    }
}
