//! The strip's numbers as tables: for reading aloud, for copying, for typing widths.

use super::data::{Cell, Cells, StripData};
use crate::charts::display::{short, signed_percent};
use crate::command::Command;
use crate::quantity_input::QuantityInput;
use engine::units::{Kind, symbol};
use std::rc::Rc;
use web_sys::HtmlDetailsElement;
use yew::prelude::*;

/// What the tables show and whom they tell.
#[derive(Clone, Debug, PartialEq, Properties)]
pub struct StripTableProps {
    /// The strip.
    pub data: Rc<StripData>,
    /// Takes commands.
    pub dispatch: Callback<Command>,
}

/// The tables, folded away until asked for.
#[component]
pub fn StripTable(props: &StripTableProps) -> Html {
    let open = use_state_eq(|| false);
    let ontoggle = {
        let open = open.clone();
        Callback::from(move |event: Event| {
            if let Some(details) = event.target_dyn_into::<HtmlDetailsElement>() {
                open.set(details.open());
            }
        })
    };
    let data = &props.data;
    let summary = match data.kind {
        Cells::Slots => "Slots and pressures in numbers",
        Cells::Returns => "Return openings and pressures in numbers",
        Cells::None => "Pressures in numbers",
    };
    html! {
        <details class="strip-table" {ontoggle}>
            <summary>{ summary }</summary>
            // Folded away it costs nothing while a duct is dragged.
            <div class="strip-tables">
                if *open {
                    { cells(props) }
                    { stations(data) }
                }
            </div>
        </details>
    }
}

fn head(words: &[String]) -> Html {
    html! { <thead><tr>{ for words.iter().map(|w| html! { <th key={w.as_str()} scope="col">{ w }</th> }) }</tr></thead> }
}

fn with_unit(words: &str, kind: Kind, data: &StripData) -> String {
    format!("{words}, {}", symbol(kind, data.units))
}

fn cells(props: &StripTableProps) -> Html {
    let data = &props.data;
    if data.kind == Cells::None {
        return html! {};
    }
    let slots = data.kind == Cells::Slots;
    let words = if slots {
        vec![
            "Slot".to_owned(),
            with_unit("Distance", Kind::Length, data),
            with_unit("Width", Kind::ShopLength, data),
            with_unit("Discharge", Kind::MassFlow, data),
            with_unit("Target", Kind::MassFlow, data),
            "Off target, %".to_owned(),
            with_unit("Jet velocity", Kind::Velocity, data),
        ]
    } else {
        vec![
            "Return".to_owned(),
            with_unit("Distance", Kind::Length, data),
            with_unit("Open", Kind::ShopLength, data),
            "Share, %".to_owned(),
            "Wanted, %".to_owned(),
            "Off, %".to_owned(),
            with_unit("Pressure drop", Kind::Pressure, data),
        ]
    };
    let caption = if slots { "Slots" } else { "Return openings" };
    html! {
        <table>
            <caption>{ format!("{caption} of {}", data.name) }</caption>
            { head(&words) }
            <tbody>{ for data.cells.iter().map(|cell| row(cell, props)) }</tbody>
        </table>
    }
}

fn row(cell: &Cell, props: &StripTableProps) -> Html {
    let data = &props.data;
    let number = |si: Option<f64>, kind: Kind| match si {
        Some(si) => plain(si, kind, data),
        None => "\u{2013}".to_owned(),
    };
    let share = |v: Option<f64>| v.map_or("\u{2013}".to_owned(), |v| short(v * 100.0, 2));
    let slots = data.kind == Cells::Slots;
    let miss = cell.miss.map_or("\u{2013}".to_owned(), |m| signed_percent(m, 1));
    let selected = data.selected.as_ref() == Some(&cell.id);
    let select = {
        let id = cell.id.clone();
        props.dispatch.reform(move |_: FocusEvent| Command::Select(Some(id.clone())))
    };
    html! {
        <tr key={cell.id.as_str()} class={classes!(selected.then_some("is-selected"))} onfocusin={select}>
            <th scope="row">{ &cell.name }</th>
            <td>{ plain(cell.station_m, Kind::Length, data) }</td>
            <td>{ setting(cell, props) }</td>
            <td>{ if slots { number(cell.actual, Kind::MassFlow) } else { share(cell.actual) } }</td>
            <td>{ if slots { number(cell.target, Kind::MassFlow) } else { share(cell.target) } }</td>
            <td>{ miss }</td>
            <td>{ number(cell.reading, if slots { Kind::Velocity } else { Kind::Pressure }) }</td>
        </tr>
    }
}

/// A slot's width can be typed here; a slide is set in the table of returns.
fn setting(cell: &Cell, props: &StripTableProps) -> Html {
    let data = &props.data;
    let Some((row, slot)) = cell.slot.clone() else {
        return html! { { plain(cell.set_m, Kind::ShopLength, data) } };
    };
    let dispatch = props.dispatch.clone();
    let testid = format!("width-{}", cell.id);
    let on_commit = Callback::from(move |width_m: f64| {
        dispatch.emit(Command::SetSlotWidth { row: row.clone(), slot, width_m });
    });
    html! {
        <QuantityInput
            label={format!("Width of slot {}", cell.name)}
            {testid}
            kind={Kind::ShopLength}
            system={data.units}
            value={Some(cell.set_m)}
            min={1e-4}
            {on_commit}
        />
    }
}

fn plain(si: f64, kind: Kind, data: &StripData) -> String {
    engine::units::show_number(si, kind, data.units)
}

fn stations(data: &StripData) -> Html {
    if data.stations.is_empty() {
        return html! { <p>{ "Not calculated yet." }</p> };
    }
    let words = [
        with_unit("Distance", Kind::Length, data),
        with_unit("Static", Kind::Pressure, data),
        with_unit("Velocity pressure", Kind::Pressure, data),
        with_unit("Total", Kind::Pressure, data),
        with_unit("Velocity", Kind::Velocity, data),
    ];
    html! {
        <table>
            <caption>{ format!("Pressures along {}", data.name) }</caption>
            { head(&words) }
            <tbody>
                { for data.stations.iter().enumerate().map(|(i, s)| html! {
                    <tr key={i}>
                        <th scope="row">{ plain(s.station_m, Kind::Length, data) }</th>
                        <td>{ plain(s.static_pa, Kind::Pressure, data) }</td>
                        <td>{ plain(s.velocity_pa, Kind::Pressure, data) }</td>
                        <td>{ plain(s.total_pa, Kind::Pressure, data) }</td>
                        <td>{ plain(s.velocity_m_s, Kind::Velocity, data) }</td>
                    </tr>
                }) }
            </tbody>
        </table>
    }
}
