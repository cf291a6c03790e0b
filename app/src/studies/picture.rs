//! Pictures of plans in answers: one to choose from, and the air at the parts.

use super::coverage::{cells, full_colour};
use super::sheet::Sheet;
use crate::board::sketch;
use crate::charts::picture::{numbers, picture};
use crate::charts::plot::Plot;
use crate::session::Theme;
use engine::plan::Plan;
use engine::units::{Kind, UnitSystem, show};
use std::rc::Rc;
use yew::prelude::*;

/// Rows and columns of a map's table, at most.
const IN_NUMBERS: usize = 24;

/// Names of the ducts that are made in another size.
pub fn resized(before: &Plan, after: &Plan) -> Vec<String> {
    let same = |id: &str| before.ducts.iter().find(|duct| duct.id == id);
    let other = after.ducts.iter().filter(|duct| {
        same(&duct.id).is_none_or(|old| (&old.section, &old.steps) != (&duct.section, &duct.steps))
    });
    other.map(|duct| duct.id.clone()).collect()
}

/// What a sketch is given.
#[derive(PartialEq, Properties)]
pub struct SketchProps {
    /// The plan.
    pub plan: Rc<Plan>,
    /// Ducts drawn in colour.
    pub changed: Vec<String>,
    /// Units people read.
    pub units: UnitSystem,
    /// Light or dark.
    pub theme: Theme,
    /// For tests.
    pub testid: AttrValue,
    /// For those who cannot see it.
    pub label: AttrValue,
}

/// A plan as a small picture.
#[component]
pub fn Sketch(props: &SketchProps) -> Html {
    let SketchProps { plan, changed, units, theme, testid, label } = props;
    let drawing = use_memo((plan.clone(), changed.clone(), *units), |(plan, changed, units)| {
        sketch::drawing(plan.clone(), *units, changed.clone(), Vec::new())
    });
    html! { <Plot drawing={(*drawing).clone()} theme={*theme} {testid} {label} class={classes!("sketch-canvas")} /> }
}

/// What a map is given.
#[derive(PartialEq, Properties)]
pub struct AirMapProps {
    /// The plan it belongs to.
    pub plan: Rc<Plan>,
    /// The answer that holds it.
    pub sheet: Rc<Sheet>,
    /// Units people read.
    pub units: UnitSystem,
    /// Light or dark.
    pub theme: Theme,
}

/// Air speed at the parts over the floor, with its table.
#[component]
pub fn AirMap(props: &AirMapProps) -> Html {
    const NAME: &str = "Air speed over the floor";
    let AirMapProps { plan, sheet, units, theme } = props;
    let drawing = use_memo((plan.clone(), sheet.clone(), *units), |(plan, sheet, units)| {
        let over = sheet.map.as_ref().map(cells).unwrap_or_default();
        sketch::drawing(plan.clone(), *units, Vec::new(), over)
    });
    let Some(grid) = &sheet.map else { return html! {} };
    let rows = grid.speeds_m_s.len() / grid.columns.max(1);
    let every = grid.columns.max(rows).div_ceil(IN_NUMBERS).max(1);
    let length = |cells: usize, from: f64| show(from + cells as f64 * grid.cell_m, Kind::Length, *units);
    let columns = (0..grid.columns).step_by(every);
    let head: Vec<String> = std::iter::once("Along y, then x".to_owned())
        .chain(columns.clone().map(|i| length(i, grid.x_m)))
        .collect();
    let numbered = (0..rows).step_by(every).rev().map(|j| {
        let cell = |i: usize| match grid.speeds_m_s[j * grid.columns + i] {
            Some(speed) => show(f64::from(speed), Kind::Velocity, *units),
            None => String::new(),
        };
        std::iter::once(length(j, grid.y_m)).chain(columns.clone().map(cell)).collect()
    });
    let label = format!("{NAME}: {}. The numbers are in the table below.", full_colour(grid, *units));
    let plot = html! { <Plot drawing={(*drawing).clone()} theme={*theme} testid="coverage-map" {label} class={classes!("map-canvas")} /> };
    html! {
        <div class="sheet-picture">
            { picture(NAME, plot, "In numbers", numbers(NAME, &head, numbered)) }
            <p class="note">{ full_colour(grid, *units) }</p>
        </div>
    }
}
