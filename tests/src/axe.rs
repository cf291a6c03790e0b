//! axe-core, which looks for what shuts people out of a page. Fetched once by npm, at a fixed version.

use std::fs;
use std::sync::OnceLock;

use serde_json::Value;

use crate::browser::Page;
use crate::npm::package;

const VERSION: &str = "4.14.1";

/// What axe-core finds in the page as it is now, of serious or critical impact: one line for each element.
pub async fn barriers(page: &Page) -> Vec<String> {
    let run = "const rules = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice']; \
        return axe.run(document, { runOnly: rules, resultTypes: ['violations'] }).then((found) => found.violations);";
    let found = page.eval(&format!("{}\n;{run}", source()), &[]).await;
    let violations = found.as_array().expect("axe-core answers with a list");
    violations
        .iter()
        .filter(|rule| rule["impact"] == "serious" || rule["impact"] == "critical")
        .flat_map(lines)
        .collect()
}

fn lines(rule: &Value) -> Vec<String> {
    let nodes = rule["nodes"].as_array().map(Vec::as_slice).unwrap_or_default();
    let line = |node: &Value| {
        let summary = node["failureSummary"].as_str().unwrap_or_default().replace('\n', " ");
        format!("{} {}: {} {summary}", rule["impact"], rule["id"], node["target"])
    };
    nodes.iter().map(line).collect()
}

/// axe-core's script.
fn source() -> &'static str {
    static SOURCE: OnceLock<String> = OnceLock::new();
    SOURCE.get_or_init(|| {
        let script = package("axe-core", VERSION).join("axe.min.js");
        fs::read_to_string(&script).unwrap_or_else(|error| panic!("{}: {error}", script.display()))
    })
}
