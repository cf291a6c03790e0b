//! The card of what is selected, and the fields of every kind of item (tables use the same ones).

pub mod ducts;
pub mod floor;
pub mod fold;
pub mod heat;
pub mod heater;
pub mod returns;
pub mod shop;
pub mod shop_file;
pub mod slots;

use crate::command::{Command, on_press};
use crate::edit::{self, Edit, ItemKind, delete_label, kind_of};
use crate::fields::Form;
use crate::session::Session;
use crate::text_input::TextInput;
use engine::plan::DuctRole;
use std::rc::Rc;
use yew::prelude::*;

/// What every view is given.
#[derive(Properties, PartialEq)]
pub struct ViewProps {
    /// The session shown.
    pub session: Rc<Session>,
    /// Takes commands.
    pub dispatch: Callback<Command>,
}

/// What people call a kind of item.
pub fn kind_name(kind: ItemKind) -> &'static str {
    match kind {
        ItemKind::Enclosure => "Enclosure",
        ItemKind::Conveyor => "Conveyor",
        ItemKind::Column => "Building column",
        ItemKind::Zone => "Zone",
        ItemKind::Opening => "Product opening",
        ItemKind::Heater => "Heater & fan",
        ItemKind::FixedLoss => "Fixed loss",
        ItemKind::Duct(DuctRole::Supply) => "Supply duct",
        ItemKind::Duct(DuctRole::Transfer) => "Transfer duct",
        ItemKind::Duct(DuctRole::Return) => "Return duct",
        ItemKind::SlotRow => "Slot row",
        ItemKind::Slot(_) => "Slot",
        ItemKind::Return => "Return opening",
        ItemKind::Exhaust => "Exhaust",
        ItemKind::Sensor => "Sensor",
    }
}

/// The card of what is selected; nothing where nothing is.
#[component]
pub fn ItemCard(props: &ViewProps) -> Html {
    let session = &props.session;
    let Some(id) = session.selection.clone() else { return html! {} };
    let Some(kind) = kind_of(&session.plan, &id) else { return html! {} };
    let form = Form::card(session, &props.dispatch);
    let body = match kind {
        ItemKind::Enclosure => floor::enclosure_card(&form),
        ItemKind::Conveyor => floor::conveyor_card(&form),
        ItemKind::Column => floor::column_card(&form, &id),
        ItemKind::Zone => floor::zone_card(&form, &id),
        ItemKind::Opening => floor::opening_card(&form, &id),
        ItemKind::Heater => heater::heater_card(&form),
        ItemKind::FixedLoss => heater::fixed_loss_card(&form, &id),
        ItemKind::Duct(_) => ducts::card(&form, &id),
        ItemKind::SlotRow => slots::row_card(&form, &id, None),
        ItemKind::Slot(slot) => {
            let row = id.rsplit_once('/').map_or(id.as_str(), |(row, _)| row).to_owned();
            slots::row_card(&form, &row, Some(slot))
        }
        ItemKind::Return => returns::card(&form, &id),
        ItemKind::Exhaust => floor::exhaust_card(&form, &id),
        ItemKind::Sensor => heat::sensor_card(&form, &id),
    };
    // A slot has no name of its own; enclosure, conveyor and heater are one of a kind.
    let has_name =
        !matches!(kind, ItemKind::Slot(_) | ItemKind::Enclosure | ItemKind::Conveyor | ItemKind::Heater);
    let name = if has_name {
        id_field(&form, &id)
    } else {
        html! { <h2 class="card-id">{ &id }</h2> }
    };
    let can_go = !matches!(kind, ItemKind::Heater | ItemKind::Slot(_));
    let close = on_press(&props.dispatch, Command::Select(None));
    html! {
        <section class="card" key={id.clone()} aria-label={format!("{} {id}", kind_name(kind))} data-testid="card">
            <header>
                <span class="eyebrow">{ kind_name(kind) }</span>
                <button type="button" class="mini" aria-label="Close the card" title="Close the card" onclick={close}>{ "×" }</button>
                { name }
            </header>
            { body }
            if can_go {
                <footer key="footer">
                    { form.button(delete_label(&session.plan, &id), "delete", Edit::Delete(id.clone())) }
                </footer>
            }
        </section>
    }
}

/// The name of an item, to be changed; a refused name springs back.
fn id_field(form: &Form, id: &str) -> Html {
    let from = id.to_owned();
    let on_commit = form.dispatch.reform(move |to| Command::from(Edit::Rename { from: from.clone(), to }));
    html! { <TextInput class="text card-id" longest="60" label="Name in the plan" testid="card-id" value={id.to_owned()} {on_commit} /> }
}

/// Ducts to choose from, as (name, text).
pub fn duct_options(form: &Form, wanted: impl Fn(DuctRole) -> bool) -> Vec<(String, String)> {
    let ducts = form.plan().ducts.iter().filter(|duct| wanted(duct.role));
    ducts.map(|duct| (duct.id.clone(), titled(&duct.id, &duct.name))).collect()
}

/// Zones to choose from, as (name, text).
pub fn zone_options(form: &Form) -> Vec<(String, String)> {
    form.plan().zones.iter().map(|zone| (zone.id.clone(), titled(&zone.id, &zone.name))).collect()
}

/// "id: name", or the id alone.
pub fn titled(id: &str, name: &str) -> String {
    if name.is_empty() { id.to_owned() } else { format!("{id}: {name}") }
}

/// The findings about an item, with what to do.
pub fn findings_of(form: &Form, id: &str) -> Html {
    let Some(analysis) = &form.session.analysis else { return html! {} };
    let about: Vec<_> =
        analysis.findings.iter().filter(|finding| finding.item.as_deref() == Some(id)).collect();
    if about.is_empty() {
        return html! {};
    }
    html! {
        <ul class="findings on-card">
            { for about.iter().enumerate().map(|(i, finding)| html! {
                <li key={i}>{ crate::shell::findings::body(finding, form.units()) }</li>
            }) }
        </ul>
    }
}

/// Whether the item can be worked on at all: it may have gone between two drawings.
fn gone(id: &str) -> Html {
    html! { <p>{ format!("{id} is no longer in the plan.") }</p> }
}

pub use edit::{CONVEYOR, ENCLOSURE};
