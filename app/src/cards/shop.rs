//! The shop record and the slot law.

use crate::edit::{Edit, ModelsEdit};
use crate::fields::{Field, Form};
use engine::plan::{SlotModel, SlotVelocity};
use engine::units::Kind;
use std::ops::RangeInclusive;

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
