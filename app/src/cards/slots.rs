//! Slot rows and their slots.

use super::{duct_options, findings_of, gone};
use crate::command::Command;
use crate::edit::{Each, Edit, SlotRowEdit};
use crate::fields::{Field, Form, stacked};
use engine::plan::{DuctRole, Face, SlotRow};
use engine::units::{Kind, show};
use std::ops::RangeInclusive;
use yew::prelude::*;

fn edit<T>(id: &str, make: impl Fn(T) -> SlotRowEdit + 'static) -> impl Fn(T) -> Edit + 'static {
    let id = id.to_owned();
    move |value| Edit::SlotRow { id: id.clone(), edit: make(value) }
}

/// What can be set on a slot row.
pub fn fields(form: &Form, row: &SlotRow) -> Vec<Field> {
    let id = &row.id;
    let faces = vec![
        (Face::Top, "top".to_owned()),
        (Face::Left, "left side".to_owned()),
        (Face::Right, "right side".to_owned()),
    ];
    let ducts = duct_options(form, |role| role != DuctRole::Return);
    let shop = &form.plan().shop;
    let widths = match row.widths_m.as_slice() {
        [all] => form.quantity(
            "Slot width, all",
            "width",
            Kind::ShopLength,
            *all,
            0.0..=1.0,
            edit(id, SlotRowEdit::AllWidths),
        ),
        each => form.shown("Slot widths", "widths", from_to(form, each), None),
    };
    let lengths = match row.lengths_m.as_slice() {
        [] => form.quantity(
            "Slot length",
            "length",
            Kind::ShopLength,
            row.length_m,
            0.001..=10.0,
            edit(id, SlotRowEdit::Length),
        ),
        each => form.shown("Slot lengths", "lengths", from_to(form, each), None),
    };
    vec![
        form.choice("Cut in", "duct", &row.duct, ducts, edit(id, SlotRowEdit::Duct)),
        form.choice("Face", "face", &row.face, faces, edit(id, SlotRowEdit::Face)),
        form.quantity(
            "First slot at",
            "first",
            Kind::Length,
            row.first_station_m,
            0.0..=1000.0,
            edit(id, SlotRowEdit::FirstStation),
        ),
        form.quantity(
            "Pitch",
            "pitch",
            Kind::ShopLength,
            row.pitch_m,
            0.001..=100.0,
            edit(id, SlotRowEdit::Pitch),
        ),
        form.count("Slots", "count", row.count, 1..=5000, edit(id, SlotRowEdit::Count)),
        lengths,
        widths,
        form.quantity(
            "Weight",
            "weight",
            Kind::Number,
            row.weight,
            0.001..=1000.0,
            edit(id, SlotRowEdit::Weight),
        ),
        form.shown(
            "Shop cuts",
            "shop",
            format!(
                "{} to {}",
                show(shop.min_width_m, Kind::ShopLength, form.units()),
                show(shop.max_width_m, Kind::ShopLength, form.units())
            ),
            None,
        )
        .on_card_only(),
    ]
}

/// The least and the largest of `each`.
fn from_to(form: &Form, each: &[f64]) -> String {
    let (low, high) = each.iter().fold((f64::INFINITY, 0.0_f64), |(l, h), &w| (l.min(w), h.max(w)));
    let text = |v| show(v, Kind::ShopLength, form.units());
    format!("{} to {}", text(low), text(high))
}

/// What a slot can have of its own, with its name, its test's name and what it measures.
const OWN: [(Each, &str, &str, Kind); 3] = [
    (Each::Length, "Length", "length", Kind::ShopLength),
    (Each::Station, "Place", "station", Kind::Length),
    (Each::Share, "Share", "share", Kind::Number),
];

/// What one slot may have: a place between its neighbours, within the row's stretch.
fn bounds(row: &SlotRow, slot: usize, each: Each) -> RangeInclusive<f64> {
    const STEP: f64 = 1e-4;
    match each {
        Each::Length => 0.001..=10.0,
        Each::Share => 0.001..=1000.0,
        Each::Station => {
            let [start, end] = row.stretch_m();
            let before = slot.checked_sub(1).map_or(start, |k| row.station_m(k));
            let after = if slot + 1 < row.count as usize { row.station_m(slot + 1) } else { end };
            before + STEP..=after - STEP
        }
    }
}

/// The control for what a slot has of its own.
fn own(
    form: &Form,
    row: &SlotRow,
    slot: usize,
    (each, name, testid, kind): (Each, &str, &str, Kind),
) -> Html {
    let label = format!("Slot {}, {}", slot + 1, name.to_ascii_lowercase());
    let (testid, value) = (format!("slot-{}-{testid}", slot + 1), each.value(row, slot));
    let make = edit(&row.id, move |to| SlotRowEdit::One { slot, each, to });
    form.number(&label, &testid, kind, value, bounds(row, slot, each), make)
}

/// The card of a row with its slots; `chosen` is the slot that is selected.
pub fn row_card(form: &Form, id: &str, chosen: Option<usize>) -> Html {
    let Some(row) = form.plan().slot_rows.iter().find(|row| row.id == id) else { return gone(id) };
    let uniform = row.widths_m.len() == 1;
    let level = row.widths_m.iter().sum::<f64>() / row.widths_m.len().max(1) as f64;
    let step = form.plan().shop.width_increment_m;
    let level = if step > 0.0 { (level / step).round() * step } else { level };
    let length = show(row.length_m, Kind::ShopLength, form.units());
    let alike = [
        (Each::Length, format!("One length for all: {length}"), "alike-length"),
        (Each::Station, "All at the pitch".to_owned(), "alike-station"),
        (Each::Share, "Equal shares".to_owned(), "alike-share"),
    ];
    html! {
        <>
            if let Some(slot) = chosen {
                <div key="slot">{ slot_fields(form, row, slot) }</div>
                <p class="buttons" key="up">{ form.command(format!("Whole row {id}"), "row", Command::Select(Some(id.to_owned()))) }</p>
            }
            <div key="row">{ stacked(fields(form, row)) }</div>
            <div key="made">{ crate::studies::settings::row(form, id) }</div>
            <p class="buttons" key="level">
                if !uniform {
                    { form.button(format!("One width for all: {}", show(level, Kind::ShopLength, form.units())), "level",
                        Edit::SlotRow { id: id.to_owned(), edit: SlotRowEdit::AllWidths(level) }) }
                }
                { for alike.into_iter().filter(|(each, ..)| !each.of(row).is_empty()).map(|(each, text, testid)| {
                    form.button(text, testid, Edit::SlotRow { id: id.to_owned(), edit: SlotRowEdit::Alike(each) })
                }) }
            </p>
            <div key="findings">{ findings_of(form, id) }</div>
            <h3 key="title">{ "Slots" }</h3>
            <div key="slots" class="scroll">{ slot_table(form, row, chosen) }</div>
        </>
    }
}

fn slot_fields(form: &Form, row: &SlotRow, slot: usize) -> Html {
    let mut fields = vec![form.quantity(
        "Width of this slot",
        "slot-width",
        Kind::ShopLength,
        row.width_m(slot),
        0.0..=1.0,
        edit(&row.id, move |width_m| SlotRowEdit::Width { slot, width_m }),
    )];
    fields.extend(OWN.map(|(each, label, testid, kind)| {
        let make = edit(&row.id, move |to| SlotRowEdit::One { slot, each, to });
        let (value, bounds) = (each.value(row, slot), bounds(row, slot, each));
        form.quantity(label, &format!("slot-{testid}"), kind, value, bounds, make)
    }));
    let id = row.slot_id(slot);
    if let Some(found) = form.session.analysis.as_ref().and_then(|a| a.slots.iter().find(|s| s.id == id)) {
        let units = form.units();
        let off = deviation(found.mass_flow_kg_s, found.target_kg_s);
        fields.extend([
            form.shown(
                "Discharge",
                "slot-flow",
                show(found.mass_flow_kg_s, Kind::MassFlow, units),
                Some(found.mass_flow_kg_s),
            ),
            form.shown(
                "Wanted",
                "slot-target",
                show(found.target_kg_s, Kind::MassFlow, units),
                Some(found.target_kg_s),
            ),
            form.shown("Off target", "slot-deviation", signed_percent(off), Some(off)),
            form.shown(
                "Jet velocity",
                "slot-velocity",
                show(found.velocity_m_s, Kind::Velocity, units),
                Some(found.velocity_m_s),
            ),
            form.shown(
                "Leans with the flow",
                "slot-lean",
                show(found.lean_deg, Kind::Angle, units),
                Some(found.lean_deg),
            ),
            form.shown(
                "Total pressure behind it",
                "slot-pressure",
                show(found.total_pressure_pa, Kind::Pressure, units),
                Some(found.total_pressure_pa),
            ),
            form.shown(
                "Discharge coefficient",
                "slot-cd",
                show(found.discharge_coefficient, Kind::Number, units),
                Some(found.discharge_coefficient),
            ),
        ]);
    }
    stacked(fields)
}

/// How far a flow is off its target, %.
pub fn deviation(flow: f64, target: f64) -> f64 {
    if target > 0.0 { 100.0 * (flow / target - 1.0) } else { 0.0 }
}

/// With its sign, always.
pub fn signed_percent(percent: f64) -> String {
    let rounded = format!("{percent:+.1}\u{a0}%");
    rounded.replace('-', "\u{2212}")
}

/// Every slot of a row: width to be set, what it discharges.
fn slot_table(form: &Form, row: &SlotRow, chosen: Option<usize>) -> Html {
    let units = form.units();
    let first = format!("{}/", row.id);
    let found: Vec<_> = form
        .session
        .analysis
        .as_ref()
        .map(|a| a.slots.iter().filter(|slot| slot.id.starts_with(&first)).collect())
        .unwrap_or_default();
    let own_columns: Vec<_> = OWN.into_iter().filter(|(each, ..)| !each.of(row).is_empty()).collect();
    let rows = (0..row.count as usize).map(|slot| {
        let width = form.number(
            &format!("Slot {}, width", slot + 1),
            &format!("slot-{}-width", slot + 1),
            Kind::ShopLength,
            row.width_m(slot),
            0.0..=1.0,
            edit(&row.id, move |width_m| SlotRowEdit::Width { slot, width_m }),
        );
        let result = found.get(slot).filter(|found| found.id == row.slot_id(slot));
        let off = result.map(|found| deviation(found.mass_flow_kg_s, found.target_kg_s));
        html! {
            <tr key={slot} class={classes!((chosen == Some(slot)).then_some("chosen"))}>
                <th scope="row">{ slot + 1 }</th>
                <td>{ width }</td>
                { for own_columns.iter().map(|column| html! { <td>{ own(form, row, slot, *column) }</td> }) }
                <td class="figure">{ result.map(|found| show(found.mass_flow_kg_s, Kind::MassFlow, units)) }</td>
                <td class={classes!("figure", off.map(tint))}>{ off.map(signed_percent) }</td>
            </tr>
        }
    });
    html! {
        <table class="grid compact" data-testid="slot-table">
            <thead><tr><th scope="col">{ "No." }</th><th scope="col">{ "Width" }</th>{ for own_columns.iter().map(|column| html! { <th scope="col">{ column.1 }</th> }) }<th scope="col">{ "Discharge" }</th><th scope="col">{ "Off target" }</th></tr></thead>
            <tbody>{ for rows }</tbody>
        </table>
    }
}

/// A class for how far off; the number beside it carries the meaning.
pub fn tint(percent: f64) -> &'static str {
    match percent {
        p if p > 5.0 => "over",
        p if p < -5.0 => "under",
        _ => "even",
    }
}
