//! Slot rows, their slots, the shop record and the slot law.

use super::{duct_options, findings_of, gone};
use crate::command::Command;
use crate::edit::{Edit, ModelsEdit, SlotRowEdit};
use crate::fields::{Field, Form, stacked};
use engine::plan::{DuctRole, Face, SlotModel, SlotRow, SlotVelocity};
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
        each => {
            let (low, high) = each.iter().fold((f64::INFINITY, 0.0_f64), |(l, h), &w| (l.min(w), h.max(w)));
            let low_text = show(low, Kind::ShopLength, form.units());
            let text = format!("{low_text} to {}", show(high, Kind::ShopLength, form.units()));
            form.shown("Slot widths", "widths", text, None)
        }
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
        form.quantity(
            "Slot length",
            "length",
            Kind::ShopLength,
            row.length_m,
            0.001..=10.0,
            edit(id, SlotRowEdit::Length),
        ),
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

/// The card of a row with its slots; `chosen` is the slot that is selected.
pub fn row_card(form: &Form, id: &str, chosen: Option<usize>) -> Html {
    let Some(row) = form.plan().slot_rows.iter().find(|row| row.id == id) else { return gone(id) };
    let uniform = row.widths_m.len() == 1;
    let level = row.widths_m.iter().sum::<f64>() / row.widths_m.len().max(1) as f64;
    let step = form.plan().shop.width_increment_m;
    let level = if step > 0.0 { (level / step).round() * step } else { level };
    html! {
        <>
            if let Some(slot) = chosen {
                <div key="slot">{ slot_fields(form, row, slot) }</div>
                <p class="buttons" key="up">{ form.command(format!("Whole row {id}"), "row", Command::Select(Some(id.to_owned()))) }</p>
            }
            <div key="row">{ stacked(fields(form, row)) }</div>
            <div key="made">{ crate::studies::settings::row(form, id) }</div>
            if !uniform {
                <p class="buttons" key="level">
                    { form.button(format!("One width for all: {}", show(level, Kind::ShopLength, form.units())), "level",
                        Edit::SlotRow { id: id.to_owned(), edit: SlotRowEdit::AllWidths(level) }) }
                </p>
            }
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
                <td class="figure">{ result.map(|found| show(found.mass_flow_kg_s, Kind::MassFlow, units)) }</td>
                <td class={classes!("figure", off.map(tint))}>{ off.map(signed_percent) }</td>
            </tr>
        }
    });
    html! {
        <table class="grid compact" data-testid="slot-table">
            <thead><tr><th scope="col">{ "No." }</th><th scope="col">{ "Width" }</th><th scope="col">{ "Discharge" }</th><th scope="col">{ "Off target" }</th></tr></thead>
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

/// Name, name for tests, key in the file, what it measures, value and range of a figure.
type Figure = (&'static str, &'static str, &'static str, Kind, f64, RangeInclusive<f64>);

/// What this shop can cut and set.
pub fn shop_fields(form: &Form) -> Vec<Field> {
    let shop = &form.plan().shop;
    let length = Kind::ShopLength;
    let fields: [Figure; 7] = [
        ("Width step", "width-step", "width_increment_m", length, shop.width_increment_m, 0.000_01..=0.1),
        ("Narrowest slot", "min-width", "min_width_m", length, shop.min_width_m, 0.0001..=shop.max_width_m),
        ("Widest slot", "max-width", "max_width_m", length, shop.max_width_m, shop.min_width_m..=1.0),
        (
            "Slowest jet",
            "min-discharge",
            "min_discharge_m_s",
            Kind::Velocity,
            shop.min_discharge_m_s,
            0.0..=shop.max_discharge_m_s,
        ),
        (
            "Fastest jet",
            "max-discharge",
            "max_discharge_m_s",
            Kind::Velocity,
            shop.max_discharge_m_s,
            shop.min_discharge_m_s..=200.0,
        ),
        ("Slide step", "slide-step", "slide_increment_m", length, shop.slide_increment_m, 0.000_1..=0.5),
        (
            "Slide that needs most stands at",
            "index-opening",
            "index_opening_percent",
            Kind::Percent,
            shop.index_opening_percent,
            1.0..=100.0,
        ),
    ];
    let field = |(label, name, key, kind, value, range): Figure| {
        let path = format!("/shop/{key}");
        form.quantity(label, name, kind, value, range, move |v: f64| Edit::Set {
            what: "shop record",
            path: path.clone(),
            value: Some(v.into()),
        })
    };
    fields.into_iter().map(field).collect()
}

/// Which law slots follow: the largest doubt of a plan, so named and to be chosen.
pub fn model_fields(form: &Form) -> Vec<Field> {
    let models = &form.plan().models;
    let cd = match models.slot {
        SlotModel::ConstantTotal { cd } | SlotModel::ConstantStatic { cd } => cd,
        _ => 0.61,
    };
    let laws = vec![
        (SlotModel::CrossFlowSharp, "cross-flow, sharp edge (Rawn, Bowerman & Brooks)".to_owned()),
        (SlotModel::CrossFlowFormed, "cross-flow, formed edge (Rawn, Bowerman & Brooks)".to_owned()),
        (SlotModel::FreeStreamline, "free streamline, exact in two dimensions".to_owned()),
        (SlotModel::ConstantTotal { cd }, "constant, on total pressure".to_owned()),
        (SlotModel::ConstantStatic { cd }, "constant, on static pressure".to_owned()),
    ];
    let seen = vec![
        (SlotVelocity::Mean, "mean of before and after".to_owned()),
        (SlotVelocity::Upstream, "before the slot".to_owned()),
    ];
    let mut fields = vec![
        form.choice("Slot law", "law", &models.slot, laws, |law| Edit::Models(ModelsEdit::Slot(law))),
        form.choice("Duct velocity it sees", "seen", &models.slot_velocity, seen, |v| {
            Edit::Models(ModelsEdit::Velocity(v))
        }),
        form.quantity("Regain factor", "regain", Kind::Number, models.regain, 0.0..=2.0, |v| {
            Edit::Models(ModelsEdit::Regain(v))
        }),
    ];
    match models.slot {
        SlotModel::ConstantTotal { .. } => {
            fields.push(form.quantity("Coefficient", "cd", Kind::Number, cd, 0.05..=1.0, |cd| {
                Edit::Models(ModelsEdit::Slot(SlotModel::ConstantTotal { cd }))
            }))
        }
        SlotModel::ConstantStatic { .. } => {
            fields.push(form.quantity("Coefficient", "cd", Kind::Number, cd, 0.05..=1.0, |cd| {
                Edit::Models(ModelsEdit::Slot(SlotModel::ConstantStatic { cd }))
            }))
        }
        _ => {}
    }
    fields
}
