//! Slot rows: what is set for all slots at once, what for one, and how the lists of single slots follow.

use engine::error::EngineError;
use engine::plan::{Face, SlotRow};

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
    /// One long side for all, m.
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
    /// What one slot has of its own.
    One {
        /// Which, from 0.
        slot: usize,
        /// What.
        each: Each,
        /// m, or a share.
        to: f64,
    },
    /// No slot has this of its own any more.
    Alike(Each),
    /// Share against other rows' slots.
    Weight(f64),
}

/// What a slot can have of its own beside its width.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Each {
    /// Its long side.
    Length,
    /// Its place along the duct.
    Station,
    /// Its share against the others of the row.
    Share,
}

impl Each {
    /// All.
    pub const ALL: [Self; 3] = [Self::Length, Self::Station, Self::Share];

    fn list(self, row: &mut SlotRow) -> &mut Vec<f64> {
        match self {
            Self::Length => &mut row.lengths_m,
            Self::Station => &mut row.stations_m,
            Self::Share => &mut row.shares,
        }
    }

    /// What the slots have of their own; nothing while they are alike.
    pub fn of(self, row: &SlotRow) -> &[f64] {
        match self {
            Self::Length => &row.lengths_m,
            Self::Station => &row.stations_m,
            Self::Share => &row.shares,
        }
    }

    /// What slot `k` has, its own or the row's.
    pub fn value(self, row: &SlotRow, k: usize) -> f64 {
        match self {
            Self::Length => row.slot_length_m(k),
            Self::Station => row.station_m(k),
            Self::Share => row.shares.get(k).copied().unwrap_or(1.0),
        }
    }

    fn plural(self) -> &'static str {
        match self {
            Self::Length => "lengths",
            Self::Station => "places",
            Self::Share => "shares",
        }
    }
}

pub(super) fn row(row: &mut SlotRow, edit: &SlotRowEdit) -> Result<(), EngineError> {
    match edit {
        SlotRowEdit::Duct(duct) => row.duct.clone_from(duct),
        SlotRowEdit::Face(face) => row.face = *face,
        SlotRowEdit::FirstStation(v) => {
            let by = *v - row.first_station_m;
            row.first_station_m = *v;
            row.stations_m.iter_mut().for_each(|station| *station = tidy(*station + by));
        }
        SlotRowEdit::Pitch(v) => {
            // The stretch grows or shrinks from where it begins, and the places in it alike.
            let (from, by) = (row.stretch_m()[0], if row.pitch_m > 0.0 { *v / row.pitch_m } else { 1.0 });
            row.pitch_m = *v;
            let start = row.stretch_m()[0];
            row.stations_m.iter_mut().for_each(|station| *station = tidy(start + (*station - from) * by));
        }
        SlotRowEdit::Count(count) => recount(row, (*count).max(1)),
        SlotRowEdit::Length(v) => {
            row.length_m = *v;
            row.lengths_m.clear();
        }
        SlotRowEdit::AllWidths(v) => row.widths_m = vec![*v],
        SlotRowEdit::Width { slot, width_m } => {
            let count = there(row, *slot)?;
            if row.widths_m.len() == 1 && count > 1 {
                row.widths_m = vec![row.widths_m[0]; count];
            }
            // A panel that tapers is as wide as its two joints on average: both go along.
            let by = *width_m - row.width_m(*slot);
            match row.widths_m.len() > count {
                true => row.widths_m[*slot..*slot + 2].iter_mut().for_each(|w| *w = (*w + by).max(0.0)),
                false => row.widths_m[*slot] = *width_m,
            }
        }
        SlotRowEdit::One { slot, each, to } => {
            let count = there(row, *slot)?;
            if each.of(row).len() != count {
                *each.list(row) = (0..count).map(|k| each.value(row, k)).collect();
            }
            each.list(row)[*slot] = *to;
            if *each == Each::Station {
                in_order(row, *slot)?;
            }
        }
        SlotRowEdit::Alike(each) => each.list(row).clear(),
        SlotRowEdit::Weight(v) => row.weight = *v,
    }
    Ok(())
}

fn there(row: &SlotRow, slot: usize) -> Result<usize, EngineError> {
    let count = row.count as usize;
    if slot < count {
        return Ok(count);
    }
    let place = format!("slot {}", row.slot_id(slot));
    Err(EngineError::new(place, "is no longer in the plan", "choose another slot"))
}

/// A slot stays between its neighbours and on the row's stretch.
fn in_order(row: &SlotRow, slot: usize) -> Result<(), EngineError> {
    let [start, end] = row.stretch_m();
    let before = slot.checked_sub(1).map_or(start, |k| row.stations_m[k]);
    let after = row.stations_m.get(slot + 1).copied().unwrap_or(end);
    let here = row.stations_m[slot];
    if before < here && here < after {
        return Ok(());
    }
    Err(EngineError::new(
        format!("slot {}", row.slot_id(slot)),
        format!("lies at {here:.3} m, not between {before:.3} m and {after:.3} m"),
        "place it between its neighbours, or change first station, pitch or count of the row",
    ))
}

/// Lists are cut, or go on as their last slot has it; new places stand a pitch apart.
fn recount(row: &mut SlotRow, count: u32) {
    let (was, now) = (row.count as usize, count as usize);
    let joints = row.widths_m.len() == was + 1;
    if row.widths_m.len() != 1 {
        extend(&mut row.widths_m, now + usize::from(joints), 0.01);
    }
    row.count = count;
    for list in [&mut row.lengths_m, &mut row.shares] {
        if !list.is_empty() {
            extend(list, now, 1.0);
        }
    }
    if !row.stations_m.is_empty() {
        row.stations_m.truncate(now);
        for k in row.stations_m.len()..now {
            row.stations_m.push(tidy(row.first_station_m + row.pitch_m * k as f64));
        }
        // Fewer slots at the row's pitch may end before the last of those that stay.
        let [start, end] = row.stretch_m();
        let inside = |station: &f64| (start..=end).contains(station);
        if !row.stations_m.iter().all(inside) || !row.stations_m.is_sorted_by(|a, b| a < b) {
            row.stations_m.clear();
        }
    }
}

fn extend(list: &mut Vec<f64>, to: usize, usual: f64) {
    let last = list.last().copied().unwrap_or(usual);
    list.resize(to, last);
}

/// In whole nanometres, so that going there and back is where one was.
fn tidy(v: f64) -> f64 {
    (v * 1e9).round() / 1e9
}

/// What became of the lists of single slots, to be read beside the change; none where nothing came along.
pub(super) fn told(before: &SlotRow, after: &SlotRow, edit: &SlotRowEdit) -> Option<String> {
    let had = |each: Each| !each.of(before).is_empty();
    let has = |each: Each| !each.of(after).is_empty();
    let words = match edit {
        SlotRowEdit::Count(_) if before.count != after.count => {
            let mut words = Vec::new();
            let kept: Vec<&str> = Each::ALL.into_iter().filter(|each| has(*each)).map(Each::plural).collect();
            if !kept.is_empty() {
                let (kept, new) = (kept.join(", "), after.count.saturating_sub(before.count));
                words.push(match new {
                    0 => format!("the slots that stay keep their own {kept}"),
                    _ => format!("{new} new at the end continue the slots' own {kept}"),
                });
            }
            if had(Each::Station) && !has(Each::Station) {
                words.push(
                    "all stand at the row's pitch now, because their own places reached beyond it".into(),
                );
            }
            words.join("; ")
        }
        SlotRowEdit::Pitch(_) | SlotRowEdit::FirstStation(_) if had(Each::Station) => {
            "the slots' own places went along".to_owned()
        }
        SlotRowEdit::Length(_) if had(Each::Length) => "all slots have this length now".to_owned(),
        _ => String::new(),
    };
    (!words.is_empty()).then(|| format!("{}: {words}.", after.id))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Five slots 0.2 m apart from 1.0 m, each with a length, a place and a share of its own.
    fn listed() -> SlotRow {
        let mut row = SlotRow::new("row", "run", (1.0, 0.2, 5), 0.3, 0.01);
        row.widths_m = vec![0.010, 0.011, 0.012, 0.013, 0.014];
        row.lengths_m = vec![0.30, 0.29, 0.28, 0.27, 0.26];
        row.stations_m = vec![0.95, 1.18, 1.42, 1.61, 1.85];
        row.shares = vec![1.2, 1.1, 1.0, 0.9, 0.8];
        row
    }

    fn after(edit: SlotRowEdit) -> (SlotRow, Option<String>) {
        let before = listed();
        let mut changed = before.clone();
        row(&mut changed, &edit).unwrap();
        let said = told(&before, &changed, &edit);
        (changed, said)
    }

    #[test]
    fn fewer_slots_keep_what_the_first_ones_had() {
        let (row, said) = after(SlotRowEdit::Count(3));
        assert_eq!(row.widths_m, [0.010, 0.011, 0.012]);
        assert_eq!(row.lengths_m, [0.30, 0.29, 0.28]);
        assert_eq!(row.stations_m, [0.95, 1.18, 1.42]);
        assert_eq!(row.shares, [1.2, 1.1, 1.0]);
        assert_eq!(said.unwrap(), "row: the slots that stay keep their own lengths, places, shares.");
    }

    #[test]
    fn more_slots_go_on_as_the_last_one_was_and_a_pitch_apart() {
        let (row, said) = after(SlotRowEdit::Count(7));
        assert_eq!(row.widths_m[4..], [0.014; 3]);
        assert_eq!(row.lengths_m[4..], [0.26; 3]);
        assert_eq!(row.stations_m[4..], [1.85, 2.0, 2.2]);
        assert_eq!(row.shares[4..], [0.8; 3]);
        assert_eq!(said.unwrap(), "row: 2 new at the end continue the slots' own lengths, places, shares.");
    }

    #[test]
    fn places_beyond_a_shorter_row_give_way_to_its_pitch_and_it_says_so() {
        let mut wide = listed();
        wide.stations_m = vec![1.3, 1.5, 1.7, 1.8, 1.88];
        let mut changed = wide.clone();
        let edit = SlotRowEdit::Count(2);
        row(&mut changed, &edit).unwrap();
        assert!(changed.stations_m.is_empty());
        let said = told(&wide, &changed, &edit).unwrap();
        assert!(said.contains("row's pitch now") && said.contains("lengths, shares"), "{said}");
    }

    #[test]
    fn places_of_their_own_spread_with_the_pitch_and_move_with_the_first_slot() {
        let (wider, said) = after(SlotRowEdit::Pitch(0.4));
        // The stretch begins half a pitch before the first slot: at 0.9 m, then at 0.8 m.
        assert_eq!(wider.stations_m, [0.9, 1.36, 1.84, 2.22, 2.7]);
        assert_eq!(said.unwrap(), "row: the slots' own places went along.");
        let shares = |row: &SlotRow| (0..5).map(|k| (row.slot_weight(k) * 1e9).round()).collect::<Vec<_>>();
        assert_eq!(shares(&wider), shares(&listed()), "no slot serves another part of the row");
        let (moved, _) = after(SlotRowEdit::FirstStation(2.0));
        assert_eq!(moved.stations_m, [1.95, 2.18, 2.42, 2.61, 2.85]);
    }

    #[test]
    fn one_length_for_all_ends_the_list_of_lengths() {
        let (row, said) = after(SlotRowEdit::Length(0.25));
        assert!(row.lengths_m.is_empty() && row.slot_length_m(4) == 0.25);
        assert_eq!(said.unwrap(), "row: all slots have this length now.");
    }

    #[test]
    fn a_slot_gets_a_value_of_its_own_and_a_place_only_between_its_neighbours() {
        let mut even = SlotRow::new("row", "run", (1.0, 0.2, 3), 0.3, 0.01);
        row(&mut even, &SlotRowEdit::One { slot: 1, each: Each::Length, to: 0.2 }).unwrap();
        assert_eq!(even.lengths_m, [0.3, 0.2, 0.3]);
        row(&mut even, &SlotRowEdit::One { slot: 1, each: Each::Station, to: 1.25 }).unwrap();
        assert_eq!(even.stations_m, [1.0, 1.25, 1.4]);
        let error = row(&mut even, &SlotRowEdit::One { slot: 1, each: Each::Station, to: 1.45 }).unwrap_err();
        assert!(error.to_string().contains("between 1.000 m and 1.400 m"), "{error}");
    }

    #[test]
    fn a_tapering_row_keeps_a_joint_more_than_panels() {
        let mut taper = SlotRow::new("row", "run", (1.0, 0.2, 3), 0.2, 0.01);
        taper.widths_m = vec![0.010, 0.012, 0.014, 0.016];
        row(&mut taper, &SlotRowEdit::Count(4)).unwrap();
        assert_eq!(taper.widths_m, [0.010, 0.012, 0.014, 0.016, 0.016]);
        row(&mut taper, &SlotRowEdit::Width { slot: 1, width_m: 0.015 }).unwrap();
        assert!((taper.width_m(1) - 0.015).abs() < 1e-12, "{:?}", taper.widths_m);
    }
}
