//! Slot rows, return openings and the laws.

use engine::error::EngineError;
use engine::plan::{Face, Models, Point, ReturnOpening, SlotModel, SlotRow, SlotVelocity};

/// A change of a slot row.
#[derive(Clone, Debug, PartialEq)]
pub enum SlotRowEdit {
    /// The duct they are cut in.
    Duct(String),
    /// Which wall.
    Face(Face),
    /// Middle of the first slot, m.
    FirstStation(f64),
    /// From middle to middle, m.
    Pitch(f64),
    /// How many.
    Count(u32),
    /// Long side, m.
    Length(f64),
    /// One short side for all, m.
    AllWidths(f64),
    /// Short side of one slot, m.
    Width {
        /// Which, from 0.
        slot: usize,
        /// m.
        width_m: f64,
    },
    /// Share against other rows' slots.
    Weight(f64),
}

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

pub(super) fn row(row: &mut SlotRow, edit: &SlotRowEdit) -> Result<(), EngineError> {
    match edit {
        SlotRowEdit::Duct(duct) => row.duct.clone_from(duct),
        SlotRowEdit::Face(face) => row.face = *face,
        SlotRowEdit::FirstStation(v) => row.first_station_m = *v,
        SlotRowEdit::Pitch(v) => row.pitch_m = *v,
        SlotRowEdit::Count(count) => {
            let count = (*count).max(1);
            if row.widths_m.len() != 1 {
                let last = row.widths_m.last().copied().unwrap_or(0.01);
                row.widths_m.resize(count as usize, last);
            }
            row.count = count;
        }
        SlotRowEdit::Length(v) => row.length_m = *v,
        SlotRowEdit::AllWidths(v) => row.widths_m = vec![*v],
        SlotRowEdit::Width { slot, width_m } => {
            if *slot >= row.count as usize {
                return Err(EngineError::new(
                    format!("slot {}", row.slot_id(*slot)),
                    "is no longer in the plan",
                    "choose another slot",
                ));
            }
            if row.widths_m.len() == 1 && row.count > 1 {
                row.widths_m = vec![row.widths_m[0]; row.count as usize];
            }
            row.widths_m[*slot] = *width_m;
        }
        SlotRowEdit::Weight(v) => row.weight = *v,
    }
    Ok(())
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
