//! One row of an outside check as written in its file.

use std::collections::HashMap;
use std::path::{Path, PathBuf};

/// The kinds of source a row may have.
pub const KINDS: [&str; 4] = ["measured", "published example", "reference library", "independent solution"];

/// One row: named cells of text.
#[derive(Clone, Debug)]
pub struct Row {
    /// File name without ending.
    pub topic: String,
    cells: HashMap<String, String>,
}

impl Row {
    /// The cell of a column.
    pub fn text(&self, column: &str) -> &str {
        self.cells.get(column).unwrap_or_else(|| panic!("{}.csv has no column {column}", self.topic))
    }

    /// The cell of a column as a number.
    pub fn number(&self, column: &str) -> f64 {
        self.parsed(column, self.text(column))
    }

    /// The cell of a column as a number, or none where it is empty.
    pub fn optional(&self, column: &str) -> Option<f64> {
        let text = self.text(column);
        (!text.is_empty()).then(|| self.parsed(column, text))
    }

    /// The cell of a column as numbers with blanks between them.
    pub fn numbers(&self, column: &str) -> Vec<f64> {
        self.text(column).split_whitespace().map(|text| self.parsed(column, text)).collect()
    }

    /// The cell of a column as a count.
    pub fn count(&self, column: &str) -> usize {
        self.number(column) as usize
    }

    /// Stops with the place of a cell nobody knows what to do with.
    pub fn unknown(&self, column: &str) -> ! {
        panic!(
            "{}.csv, row {}: nothing answers {column} \"{}\"",
            self.topic,
            self.text("id"),
            self.text(column)
        )
    }

    fn parsed(&self, column: &str, text: &str) -> f64 {
        text.parse().unwrap_or_else(|_| {
            panic!("{}.csv, row {}: {column} \"{text}\" is not a number", self.topic, self.text("id"))
        })
    }
}

/// Folder of the outside checks.
pub(super) fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("outside")
}

/// All rows of all topics, by file name.
pub fn rows() -> Vec<Row> {
    let mut files: Vec<PathBuf> = std::fs::read_dir(folder())
        .expect("the folder of the outside checks is there")
        .map(|entry| entry.expect("its entries can be read").path())
        .filter(|path| path.extension().is_some_and(|ending| ending == "csv"))
        .filter(|path| !["report", "sensitivity"].contains(&stem(path).as_str()))
        .collect();
    files.sort();
    files.iter().flat_map(|path| rows_of(path)).collect()
}

fn stem(path: &Path) -> String {
    path.file_stem().unwrap_or_default().to_string_lossy().into_owned()
}

fn rows_of(path: &Path) -> Vec<Row> {
    let shown = path.display();
    let mut reader = csv::Reader::from_path(path).unwrap_or_else(|error| panic!("{shown}: {error}"));
    reader
        .deserialize()
        .map(|cells| Row {
            topic: stem(path),
            cells: cells.unwrap_or_else(|error| panic!("{shown}: {error}")),
        })
        .collect()
}
