//! Slots to scale on their ducts, coloured by deviation, with sign and number where there is room.

use super::{Drawing, Fill, Form, ItemId, SINGLE_PX, Stroke, Tone, deviation, text};
use crate::board::outline::{left, moved};
use crate::board::scene::{Ground, Item, Patch, Text};
use crate::charts::display::{Display, short, signed_percent};
use engine::analysis::Analysis;
use engine::plan::geometry::{SlotPlace, section_at, slot_places};
use engine::plan::{Face, Plan, Point, SlotRow};
use engine::units::{Kind, UnitSystem, show};

/// Thinnest mark, px: a slot is seen before it is to scale.
const THINNEST_PX: f64 = 4.0;
/// Below this pitch slots have no edge: the edges would be all there is to see, px.
const EDGE_PX: f64 = 5.0;
/// Above this pitch a slot carries its number, px.
const NUMBER_PX: f64 = 30.0;
/// And above this one its width too, px.
const WIDTH_PX: f64 = 90.0;

/// A slot as drawn, along its duct.
type Mark = Patch;

impl Drawing<'_> {
    pub(super) fn slots(&mut self) {
        let ducts: Vec<ItemId> = self.plan.ducts.iter().map(|duct| duct.id.as_str().into()).collect();
        let edge = Stroke::solid(Tone::Ink, 0.8);
        // With an edge and without.
        let (mut patches, mut signs) = (vec![[Vec::new(), Vec::new()]; ducts.len()], Vec::new());
        let found = self.analysis.map_or(&[][..], |analysis| &analysis.slots);
        let mut next = 0;
        for place in slot_places(self.plan) {
            let row = &self.plan.slot_rows[place.row];
            let mark = self.mark(row, &place);
            // In plan order, unless the plan has just got or lost some.
            let here = found[next..].iter().position(|slot| slot.id == place.id);
            next += here.map_or(0, |here| here + 1);
            let found = here.map(|_| &found[next - 1]);
            let miss = found.and_then(|s| deviation(s.mass_flow_kg_s, s.target_kg_s));
            let pitch_px = gap_m(row, place.index) * self.scale;
            let single = pitch_px >= SINGLE_PX * 2.0;
            let id: ItemId = place.id.as_str().into();
            let patch = Patch { tone: miss.map_or(Tone::Paper, Tone::Deviation), ..mark };
            if single {
                self.polygon(Some(&id), patch.corners().to_vec(), Fill::Solid(patch.tone, 1.0), Some(edge));
            } else {
                patches[place.duct][usize::from(pitch_px < EDGE_PX)].push(patch);
            }
            // Slots can be stepped through row by row; what is said of one is only made when it is needed.
            self.scene.slots.push(Item { id, spoken: String::new(), at: place.at });
            if let Some(miss) = miss {
                signs.extend(self.sign(&mark, miss));
                if pitch_px >= NUMBER_PX {
                    self.number(row, &mark, miss, pitch_px);
                }
            }
            if pitch_px >= WIDTH_PX {
                self.width_text(row, place.index, &mark);
            }
        }
        for (duct, patches) in ducts.iter().zip(patches) {
            for (patches, edge) in patches.into_iter().zip([Some(edge), None]).filter(|(p, _)| !p.is_empty())
            {
                self.scene.push(Some(duct), Form::Patches(patches), None, edge);
            }
        }
        if !signs.is_empty() {
            self.scene.push(None, Form::Dashes(signs), None, Some(Stroke::solid(Tone::Ink, 1.6)));
        }
    }

    /// Slots lie across the duct, as the cross-flow laws take them; along it where they do not fit across.
    fn mark(&self, row: &SlotRow, place: &SlotPlace) -> Mark {
        let (width, length, gap) =
            (row.width_m(place.index), row.slot_length_m(place.index), gap_m(row, place.index));
        let duct = &self.plan.ducts[place.duct];
        let room = section_at(duct, place.station_m).plan_width_m();
        let thinnest = THINNEST_PX / self.scale;
        let n = left(place.direction);
        let (at, along_m, across_m) = match row.face {
            Face::Top if length <= room => (place.at, width.max(thinnest.min(gap * 0.6)), length),
            Face::Top => (place.at, length, width.max(thinnest)),
            // A slot in a side wall is seen end on.
            Face::Left | Face::Right => {
                let side = if row.face == Face::Left { 0.5 } else { -0.5 };
                (moved(place.at, n, side * room), width.max(thinnest.min(gap * 0.6)), 9.0 / self.scale)
            }
        };
        Mark { at, direction: place.direction, along_m, across_m, tone: Tone::Paper }
    }

    /// Too much: a tick to the left of the flow; too little: to the right. Sign without colour.
    fn sign(&self, mark: &Mark, miss: f64) -> Option<[Point; 2]> {
        if miss.abs() < 0.05 {
            return None;
        }
        let n = left(mark.direction);
        let n = if miss > 0.0 { n } else { (-n.0, -n.1) };
        let foot = moved(mark.at, n, mark.across_m / 2.0);
        let tip = moved(foot, n, (2.0 + (miss.abs() * 20.0).min(5.0)) / self.scale);
        Some([foot, tip])
    }

    fn number(&mut self, row: &SlotRow, mark: &Mark, miss: f64, pitch_px: f64) {
        let digits = usize::from(pitch_px >= 56.0);
        let size_px = if pitch_px >= 56.0 { 10.5 } else { 9.0 };
        let upright = mark.direction.1.abs() > mark.direction.0.abs();
        let label = text(mark.at, signed_percent(miss, digits));
        // Between this slot and the next, on the sheet; beside slots on a side wall.
        let forward = mark.along_m / 2.0 * self.scale + 2.0;
        let gap = (pitch_px - mark.along_m * self.scale).max(0.0);
        let shift = if upright {
            (0.0, -mark.direction.1.signum() * (mark.along_m / 2.0 * self.scale + size_px * 0.7))
        } else {
            let d = mark.direction.0.signum();
            (d * (forward + gap / 2.0 - 2.0).min(forward + 16.0), 0.0)
        };
        let shift = if row.face == Face::Top { shift } else { (shift.0, shift.1 + 12.0) };
        let label =
            Text { ground: Ground::None, shift_px: shift, size_px, bold: miss.abs() >= 0.05, ..label };
        self.write(label);
    }

    fn width_text(&mut self, row: &SlotRow, index: usize, mark: &Mark) {
        let d = Display::of(Kind::ShopLength, self.units);
        let digits = if self.units == UnitSystem::Si { 1 } else { 3 };
        let words = format!("{}\u{a0}{}", short(d.number(row.width_m(index)), digits), d.symbol);
        let upright = mark.direction.1.abs() > mark.direction.0.abs();
        let beyond = mark.across_m / 2.0 * self.scale + 9.0;
        let shift = if upright { (beyond + 18.0, 0.0) } else { (0.0, beyond) };
        let label = Text { size_px: 10.0, tone: Tone::InkSoft, shift_px: shift, ..text(mark.at, words) };
        self.write(label);
    }
}

/// From slot `k` of a row to its nearest neighbour, m; a slot alone has the row's pitch.
fn gap_m(row: &SlotRow, k: usize) -> f64 {
    let from = |other: usize| (row.station_m(other) - row.station_m(k)).abs();
    let before = k.checked_sub(1).map(from);
    let after = (k + 1 < row.count as usize).then(|| from(k + 1));
    before.into_iter().chain(after).reduce(f64::min).unwrap_or(row.pitch_m.abs())
}

/// What is said of the slot `id`; none when there is no such slot.
pub fn slot_spoken(plan: &Plan, analysis: Option<&Analysis>, id: &str, units: UnitSystem) -> Option<String> {
    let (row, number) = id.rsplit_once('/')?;
    let row = plan.slot_rows.iter().find(|r| r.id == row)?;
    let index = number.parse::<usize>().ok()?.checked_sub(1).filter(|k| *k < row.count as usize)?;
    let width = show(row.width_m(index), Kind::ShopLength, units);
    let mut spoken = format!("Slot {number} of {} on {}, {width} wide", row.count, row.duct);
    let found = analysis.and_then(|a| a.slots.iter().find(|slot| slot.id == id));
    if let Some(miss) = found.and_then(|s| deviation(s.mass_flow_kg_s, s.target_kg_s)) {
        spoken.push_str(&format!(", {} percent off target", signed_percent(miss, 1)));
    }
    Some(spoken)
}
