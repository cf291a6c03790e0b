//! Heat under the board: what is needed before anything is drawn, and what zones and parts do once it is.

mod curves;
mod goes;
mod need;
mod zones;

use crate::cards::ViewProps;
use crate::session::Step;
use engine::units::{Kind, UnitSystem, show};
use yew::prelude::*;

/// The heat of the step at hand.
pub fn heat_sheet(props: &ViewProps) -> Html {
    html! {
        <div key="heat" class="heat-sheet" data-testid="heat-sheet">
            if props.session.view.step == Step::Need {
                { need::need_sheet(props) }
            } else {
                { zones::zone_sheet(props) }
            }
        </div>
    }
}

/// A figure of a head line: its name, name for tests, SI value, what it measures and a few words.
fn figure(
    label: &str,
    testid: &str,
    value: Option<f64>,
    kind: Kind,
    units: UnitSystem,
    note: String,
) -> Html {
    html! {
        <div class="tally-item" key={testid.to_owned()}>
            <span class="label">{ label.to_owned() }</span>
            <output class="value" data-testid={testid.to_owned()} data-value={value.map(|v| v.to_string())}>
                { value.map_or_else(|| "—".to_owned(), |v| show(v, kind, units)) }
            </output>
            <span class="note">{ note }</span>
        </div>
    }
}

/// A quantity for a table; a dash where there is none.
fn cell(value: Option<f64>, kind: Kind, units: UnitSystem) -> String {
    value.map_or_else(|| "—".to_owned(), |value| show(value, kind, units))
}

/// A difference in kelvin with its sign, in the reader's units: "+1.2 K".
pub fn signed(off_k: f64, units: UnitSystem) -> String {
    let text = show(off_k, Kind::TemperatureDifference, units);
    if off_k >= 0.05 { format!("+{text}") } else { text }
}

/// A table with its title: the first cell of each row names it.
fn table(title: &'static str, testid: &'static str, head: &[&str], rows: Vec<Vec<String>>) -> Html {
    if rows.is_empty() {
        return html! {};
    }
    let rows = rows.into_iter().enumerate().map(|(i, row)| {
        let mut cells = row.into_iter();
        let name = cells.next().unwrap_or_default();
        html! { <tr key={i}><th scope="row">{ name }</th>{ for cells.map(|cell| html! { <td class="figure">{ cell }</td> }) }</tr> }
    });
    html! {
        <section key={title}>
            <h3>{ title }</h3>
            <div class="scroll" tabindex="0" role="group" aria-label={title}><table class="grid" data-testid={testid}>
                <thead><tr>{ for head.iter().map(|cell| html! { <th scope="col">{ (*cell).to_owned() }</th> }) }</tr></thead>
                <tbody>{ for rows }</tbody>
            </table></div>
        </section>
    }
}
