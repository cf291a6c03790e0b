//! The shop record and the slot law.

use crate::edit::{Edit, ModelsEdit, ShopEdit};
use crate::fields::{Field, Form};
use engine::plan::{SlotModel, SlotVelocity};
use engine::units::Kind;

/// What this shop can cut and set.
pub fn shop_fields(form: &Form) -> Vec<Field> {
    let shop = &form.plan().shop;
    let edit = |make: fn(f64) -> ShopEdit| move |v| Edit::Shop(make(v));
    vec![
        form.quantity(
            "Width step",
            "width-step",
            Kind::ShopLength,
            shop.width_increment_m,
            0.000_01..=0.1,
            edit(ShopEdit::WidthIncrement),
        ),
        form.quantity(
            "Narrowest slot",
            "min-width",
            Kind::ShopLength,
            shop.min_width_m,
            0.0001..=shop.max_width_m,
            edit(ShopEdit::MinWidth),
        ),
        form.quantity(
            "Widest slot",
            "max-width",
            Kind::ShopLength,
            shop.max_width_m,
            shop.min_width_m..=1.0,
            edit(ShopEdit::MaxWidth),
        ),
        form.quantity(
            "Slowest jet",
            "min-discharge",
            Kind::Velocity,
            shop.min_discharge_m_s,
            0.0..=shop.max_discharge_m_s,
            edit(ShopEdit::MinDischarge),
        ),
        form.quantity(
            "Fastest jet",
            "max-discharge",
            Kind::Velocity,
            shop.max_discharge_m_s,
            shop.min_discharge_m_s..=200.0,
            edit(ShopEdit::MaxDischarge),
        ),
        form.quantity(
            "Slide step",
            "slide-step",
            Kind::ShopLength,
            shop.slide_increment_m,
            0.000_1..=0.5,
            edit(ShopEdit::SlideIncrement),
        ),
        form.quantity(
            "Slide that needs most stands at",
            "index-opening",
            Kind::Percent,
            shop.index_opening_percent,
            1.0..=100.0,
            edit(ShopEdit::IndexOpening),
        ),
    ]
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
