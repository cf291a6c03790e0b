//! Answers compared with their sources, and the two generated tables.

use super::row::{Row, folder};
use super::{TOPICS, rows};
use crate::golden::blessing;
use std::collections::BTreeMap;
use std::path::PathBuf;

/// A row with the engine's answer.
pub struct Checked {
    /// The row.
    pub row: Row,
    /// The engine's answer.
    pub got: f64,
}

impl Checked {
    /// How far `got` is off, percent of the expected value.
    pub fn deviation_percent(&self, got: f64) -> f64 {
        let expected = self.row.number("expected");
        100.0 * (got - expected) / expected.abs()
    }

    /// Whether `got` would be within the row's tolerance.
    pub fn passes(&self, got: f64) -> bool {
        self.deviation_percent(got).abs() <= self.row.number("tolerance_percent")
    }
}

/// All rows answered.
pub fn check() -> Vec<Checked> {
    let answer = |row: Row| {
        let found = TOPICS.iter().find(|(topic, _)| *topic == row.topic);
        let (_, answer) =
            found.unwrap_or_else(|| panic!("{}.csv: no engine call answers this topic", row.topic));
        Checked { got: answer(&row), row }
    };
    rows().into_iter().map(answer).collect()
}

/// A generated table: its file, header and lines.
pub struct Table {
    name: &'static str,
    columns: &'static [&'static str],
    lines: Vec<Vec<String>>,
}

/// Every row with the engine's answer.
pub fn report(checked: &[Checked]) -> Table {
    let lines = checked.iter().map(|c| {
        let cell = |column: &str| c.row.text(column).to_owned();
        vec![
            cell("id"),
            c.row.topic.clone(),
            cell("kind"),
            cell("source"),
            cell("expected"),
            significant(c.got, 12),
            cell("unit"),
            significant(c.deviation_percent(c.got), 3),
            cell("tolerance_percent"),
            c.passes(c.got).to_string(),
        ]
    });
    Table {
        name: "report.csv",
        columns: &[
            "id",
            "topic",
            "kind",
            "source",
            "expected",
            "got",
            "unit",
            "deviation_percent",
            "tolerance_percent",
            "pass",
        ],
        lines: lines.collect(),
    }
}

/// For every law the rows that turn red, whichever way it changes by 5 %.
pub fn sensitivity(checked: &[Checked]) -> Table {
    let mut laws: BTreeMap<&str, (usize, Vec<&str>)> = BTreeMap::new();
    for c in checked.iter().filter(|c| !c.row.text("law").is_empty()) {
        let (rows, red) = laws.entry(c.row.text("law")).or_default();
        *rows += 1;
        if !c.passes(1.05 * c.got) && !c.passes(0.95 * c.got) {
            red.push(c.row.text("id"));
        }
    }
    let line = |(law, (rows, red)): (&str, (usize, Vec<&str>))| {
        vec![law.to_owned(), rows.to_string(), red.len().to_string(), red.join(" ")]
    };
    Table {
        name: "sensitivity.csv",
        columns: &["law", "rows", "red_rows", "ids_of_red_rows"],
        lines: laws.into_iter().map(line).collect(),
    }
}

impl Table {
    /// Its lines.
    pub fn lines(&self) -> &[Vec<String>] {
        &self.lines
    }

    /// What differs from the committed file; when blessing, the file is written instead.
    ///
    /// The answer (`got`) may differ by 1e-9 of itself and its deviation follows it; the rest is exact.
    pub fn differences(&self) -> Vec<String> {
        if blessing() {
            self.write();
            return Vec::new();
        }
        let path = self.path();
        let mut reader = match csv::Reader::from_path(&path) {
            Ok(reader) => reader,
            Err(error) => return vec![format!("{}: {error}", self.name)],
        };
        let committed: Vec<Vec<String>> = reader
            .records()
            .map(|record| record.map(|r| r.iter().map(str::to_owned).collect()).unwrap_or_default())
            .collect();
        let mut then: BTreeMap<&str, &[String]> = BTreeMap::new();
        for line in &committed {
            then.insert(line.first().map_or("", String::as_str), line);
        }
        let mut differences = Vec::new();
        for now in &self.lines {
            let Some(then) = then.remove(now[0].as_str()) else {
                differences.push(format!("{} {}: is new", self.name, now[0]));
                continue;
            };
            for (i, column) in self.columns.iter().enumerate() {
                let before = then.get(i).map_or("", String::as_str);
                if !same(column, &now[i], before) {
                    differences
                        .push(format!("{} {}: {column} was {before}, is {}", self.name, now[0], now[i]));
                }
            }
        }
        differences.extend(then.keys().map(|id| format!("{} {id}: is gone", self.name)));
        differences
    }

    fn path(&self) -> PathBuf {
        folder().join(self.name)
    }

    fn write(&self) {
        let write = || -> csv::Result<()> {
            let mut writer = csv::Writer::from_path(self.path())?;
            writer.write_record(self.columns)?;
            for line in &self.lines {
                writer.write_record(line)?;
            }
            writer.flush()?;
            Ok(())
        };
        write().unwrap_or_else(|error| panic!("{}: {error}", self.name));
    }
}

fn same(column: &str, now: &str, then: &str) -> bool {
    match (column, now.parse::<f64>(), then.parse::<f64>()) {
        ("deviation_percent", Ok(_), Ok(_)) => true,
        ("got", Ok(now), Ok(then)) => (now - then).abs() <= 1e-9 * then.abs(),
        _ => now == then,
    }
}

/// `value` with so many significant digits, written as short as it gets.
fn significant(value: f64, digits: usize) -> String {
    let rounded: f64 = format!("{value:.*e}", digits - 1).parse().expect("a printed number is a number");
    rounded.to_string()
}
