//! Return openings.

use super::{duct_options, findings_of, gone};
use crate::edit::{Edit, ReturnEdit};
use crate::fields::{Field, Form, stacked};
use engine::plan::{DuctRole, ReturnOpening, geometry};
use engine::units::{Kind, show};
use yew::prelude::*;

/// What can be set on a return opening.
pub fn fields(form: &Form, opening: &ReturnOpening) -> Vec<Field> {
    let edit = |make: fn(f64) -> ReturnEdit| {
        let id = opening.id.clone();
        move |v| Edit::Return { id: id.clone(), edit: make(v) }
    };
    let (a, b, c) = (opening.id.clone(), opening.id.clone(), opening.id.clone());
    let mut ducts: Vec<_> = duct_options(form, |role| role == DuctRole::Return)
        .into_iter()
        .map(|(id, text)| (Some(id), text))
        .collect();
    if opening.at.is_some() || opening.duct.is_none() {
        ducts.push((None, "heater's intake plenum".to_owned()));
    }
    let on_duct = opening.duct.as_ref().and_then(|id| form.plan().ducts.iter().find(|duct| &duct.id == id));
    let place = match on_duct {
        Some(duct) => form.quantity(
            "Station on duct",
            "station",
            Kind::Length,
            opening.station_m,
            0.0..=geometry::length_m(&duct.path),
            edit(ReturnEdit::Station),
        ),
        None => form.place("Place", "at", opening.at.unwrap_or(form.plan().heater.intake), move |at| {
            Edit::Return { id: c.clone(), edit: ReturnEdit::At(at) }
        }),
    };
    vec![
        form.text("Called", "name", &opening.name, move |v| Edit::Return {
            id: a.clone(),
            edit: ReturnEdit::Name(v),
        }),
        form.choice("Opens into", "duct", &opening.duct, ducts, move |duct| Edit::Return {
            id: b.clone(),
            edit: ReturnEdit::Duct(duct),
        }),
        place,
        form.quantity(
            "Width",
            "width",
            Kind::ShopLength,
            opening.width_m,
            0.01..=10.0,
            edit(ReturnEdit::Width),
        ),
        form.quantity(
            "Height",
            "height",
            Kind::ShopLength,
            opening.height_m,
            0.01..=10.0,
            edit(ReturnEdit::Height),
        ),
        form.quantity(
            "Slide open",
            "open",
            Kind::ShopLength,
            opening.open_m,
            0.0..=opening.height_m,
            edit(ReturnEdit::Open),
        ),
        form.quantity(
            "Weight",
            "weight",
            Kind::Number,
            opening.weight,
            0.001..=1000.0,
            edit(ReturnEdit::Weight),
        ),
    ]
}

/// What the last solve found for it.
pub fn results(form: &Form, id: &str) -> Vec<Field> {
    let Some(found) =
        form.session.analysis.as_ref().and_then(|a| a.returns.iter().find(|item| item.id == id))
    else {
        return Vec::new();
    };
    let units = form.units();
    let percent = |value: f64| show(100.0 * value, Kind::Percent, units);
    vec![
        form.shown(
            "Air taken",
            "flow",
            show(found.mass_flow_kg_s, Kind::MassFlow, units),
            Some(found.mass_flow_kg_s),
        ),
        form.shown("Share", "share", percent(found.share), Some(found.share)),
        form.shown("Wanted", "target", percent(found.target_share), Some(found.target_share)),
        form.shown(
            "Manometer across it",
            "drop",
            show(found.drop_pa, Kind::Pressure, units),
            Some(found.drop_pa),
        ),
    ]
}

/// The card of a return opening.
pub fn card(form: &Form, id: &str) -> Html {
    let Some(opening) = form.plan().returns.iter().find(|item| item.id == id) else { return gone(id) };
    html! { <>{ stacked(fields(form, opening)) }{ crate::studies::settings::return_opening(form, id) }{ stacked(results(form, id)) }{ findings_of(form, id) }</> }
}
