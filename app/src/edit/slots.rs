//! Return openings and the laws.

use engine::plan::{Models, Point, ReturnOpening, SlotModel, SlotVelocity};

/// A change of a return opening.
#[derive(Clone, Debug, PartialEq)]
pub enum ReturnEdit {
    /// What people call it.
    Name(String),
    /// The duct it opens into; none for the intake plenum.
    Duct(Option<String>),
    /// Along that duct, m.
    Station(f64),
    /// Place of an opening without a duct.
    At(Point),
    /// Across the slide's travel, m.
    Width(f64),
    /// Along the slide's travel, m.
    Height(f64),
    /// How far the slide stands open, m.
    Open(f64),
    /// Wanted share against the others.
    Weight(f64),
}

/// A change of the laws.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum ModelsEdit {
    /// Slot law.
    Slot(SlotModel),
    /// Velocity it sees.
    Velocity(SlotVelocity),
    /// Regain factor.
    Regain(f64),
}

pub(super) fn opening(opening: &mut ReturnOpening, edit: &ReturnEdit) {
    match edit {
        ReturnEdit::Name(name) => opening.name.clone_from(name),
        ReturnEdit::Duct(duct) => opening.duct.clone_from(duct),
        ReturnEdit::Station(v) => opening.station_m = *v,
        ReturnEdit::At(at) => opening.at = Some(*at),
        ReturnEdit::Width(v) => opening.width_m = *v,
        ReturnEdit::Height(v) => {
            opening.height_m = *v;
            opening.open_m = opening.open_m.min(*v);
        }
        ReturnEdit::Open(v) => opening.open_m = *v,
        ReturnEdit::Weight(v) => opening.weight = *v,
    }
}

pub(super) fn models(models: &mut Models, edit: ModelsEdit) {
    match edit {
        ModelsEdit::Slot(law) => models.slot = law,
        ModelsEdit::Velocity(seen) => models.slot_velocity = seen,
        ModelsEdit::Regain(v) => models.regain = v,
    }
}
