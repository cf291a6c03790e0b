//! An answer as words, figures, curves and plans: one kind of sheet for every question.

use engine::analysis::Analysis;
use engine::coverage::Grid;
use engine::design::{fan_kwh_per_year, sheet_kg};
use engine::finding::Finding;
use engine::plan::{Plan, file};
use engine::units::{Kind, UnitSystem, show};
use serde::{Deserialize, Serialize};

/// What stands in a cell.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub enum Cell {
    /// Words.
    Text(String),
    /// A quantity, SI.
    Value(Kind, f64),
}

impl Cell {
    /// As people read it.
    pub fn show(&self, units: UnitSystem) -> String {
        match self {
            Self::Text(text) => text.clone(),
            // Decimals say nothing of a large number.
            Self::Value(Kind::Number, si) if si.abs() >= 1e3 => format!("{si:.0}"),
            Self::Value(kind, si) if si.is_finite() => show(*si, *kind, units),
            Self::Value(..) => "—".to_owned(),
        }
    }
}

impl From<&str> for Cell {
    #[inline(never)]
    fn from(text: &str) -> Self {
        Self::Text(text.to_owned())
    }
}

/// Rows and columns.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Table {
    /// What it shows.
    pub name: String,
    /// Titles of the columns.
    pub head: Vec<String>,
    /// The rows.
    pub rows: Vec<Vec<Cell>>,
}

impl Table {
    /// A table without rows.
    #[inline(never)]
    pub fn new(name: &str, head: &[&str]) -> Self {
        let head = head.iter().map(|&title| title.to_owned()).collect();
        Self { name: name.to_owned(), head, rows: Vec::new() }
    }

    /// Appends a row that begins with words.
    #[inline(never)]
    pub fn row(&mut self, title: &str, cells: &[(Kind, f64)]) {
        let mut row = vec![Cell::from(title)];
        row.extend(cells.iter().map(|&(kind, si)| Cell::Value(kind, si)));
        self.rows.push(row);
    }

    /// Appends a row of one kind of figure.
    #[inline(never)]
    pub fn alike(&mut self, title: &str, kind: Kind, values: &[f64]) {
        let mut row = vec![Cell::from(title)];
        row.extend(values.iter().map(|&si| Cell::Value(kind, si)));
        self.rows.push(row);
    }

    /// Appends a row of words.
    #[inline(never)]
    pub fn words(&mut self, title: &str, words: &str) {
        self.rows.push(vec![Cell::from(title), Cell::from(words)]);
    }
}

/// A curve of the picture.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Series {
    /// Its name.
    pub name: String,
    /// Broken, so that it can be told without colour.
    pub dashed: bool,
    /// Points, SI.
    pub points: Vec<(f64, f64)>,
}

/// A plan that can be taken.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Offer {
    /// What it is called.
    pub label: String,
    /// The text of its file.
    pub plan: String,
}

impl Offer {
    /// An offer of `plan`.
    pub fn new(label: impl Into<String>, plan: &Plan) -> Self {
        Self { label: label.into(), plan: file::write(plan) }
    }
}

/// An answer.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Sheet {
    /// Figures, the most important first.
    pub tables: Vec<Table>,
    /// Curves of the picture.
    pub curves: Vec<Series>,
    /// Points worth marking in it.
    pub marks: Vec<(String, (f64, f64))>,
    /// Speed over the floor.
    pub map: Option<Grid>,
    /// What somebody should know.
    pub findings: Vec<Finding>,
    /// Plans to take.
    pub offers: Vec<Offer>,
    /// Figures that are shown elsewhere too: of the tolerance study, P50 and P90 of the worst bay, %.
    pub headline: Vec<f64>,
}

/// A figure of a plan: what it is, what it measures, and how it is had.
type Figure = (&'static str, Kind, fn(&Plan, &Analysis) -> f64);

/// What every command is judged by.
const FIGURES: [Figure; 9] = [
    ("Worst slot off its share", Kind::Percent, |_, a| a.evenness.worst_percent),
    ("Spread (CV)", Kind::Percent, |_, a| a.evenness.cv_percent),
    ("Slot area over duct area", Kind::Number, |_, a| a.evenness.area_ratio),
    ("Air from all slots", Kind::MassFlow, |_, a| a.total_flow_kg_s),
    ("Fan total pressure", Kind::Pressure, |_, a| a.fan.total_pressure_pa),
    ("Fan speed", Kind::Rotation, |p, _| p.heater.fan.speed_rpm),
    ("Shaft power", Kind::ShaftPower, |_, a| a.fan.shaft_power_w),
    ("Fan energy a year, kWh", Kind::Number, fan_kwh_per_year),
    ("Sheet in the ducts", Kind::Mass, |p, _| sheet_kg(p)),
];

/// The figures of several plans side by side.
pub fn side_by_side(name: &str, plans: &[(&str, &Plan, &Analysis)]) -> Table {
    let mut table = Table::new(name, &["Figure"]);
    table.head.extend(plans.iter().map(|(title, ..)| (*title).to_owned()));
    for (title, kind, of) in FIGURES {
        let values: Vec<f64> = plans.iter().map(|(_, plan, analysis)| of(plan, analysis)).collect();
        table.alike(title, kind, &values);
    }
    table
}

/// The figures before and after a command.
pub fn before_after(before: (&Plan, &Analysis), after: (&Plan, &Analysis)) -> Table {
    side_by_side("Before and after", &[("Before", before.0, before.1), ("After", after.0, after.1)])
}

/// Mm to set and reading to expect at every return.
pub fn settings_of_returns(plan: &Plan, analysis: &Analysis) -> Table {
    let head =
        ["Return", "Slide open", "Of its height", "Share", "Wanted", "Off", "Air", "Manometer across it"];
    let mut table = Table::new("Set each slide to this, and read that", &head);
    for found in &analysis.returns {
        let open_m = 1e-3 * found.opening_mm;
        let height_m =
            plan.returns.iter().find(|item| item.id == found.id).map_or(f64::NAN, |item| item.height_m);
        table.row(
            &found.id,
            &[
                (Kind::ShopLength, open_m),
                (Kind::Percent, 100.0 * open_m / height_m),
                (Kind::Percent, 100.0 * found.share),
                (Kind::Percent, 100.0 * found.target_share),
                (Kind::Percent, 100.0 * (found.share / found.target_share - 1.0)),
                (Kind::MassFlow, found.mass_flow_kg_s),
                (Kind::Pressure, found.drop_pa),
            ],
        );
    }
    table
}
