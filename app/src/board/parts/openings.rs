//! Return openings: the slide's opening to scale and the share taken against the share wanted.

use super::{Drawing, Fill, ItemId, Stroke, Tone, called, deviation, text};
use crate::board::labels::Spot;
use crate::board::outline::{Vector, left, moved, rectangle};
use crate::board::scene::{Align, Item, Text};
use crate::charts::display::{short, signed_percent};
use engine::plan::geometry::{along, distance_m, return_place, section_at, zone_at};
use engine::plan::{Duct, Point, ReturnOpening};
use engine::units::{Kind, show};

/// How deep an opening is drawn, m.
const DEPTH_M: f64 = 0.18;

impl Drawing<'_> {
    /// Where an opening is drawn, along which direction, and towards which side it faces.
    fn opening_frame(&self, index: usize) -> (Point, Vector, Vector) {
        let opening = &self.plan.returns[index];
        let place = return_place(self.plan, index);
        let duct = opening.duct.as_ref().and_then(|id| self.plan.ducts.iter().find(|d| &d.id == id));
        let Some(duct) = duct else { return (place, (1.0, 0.0), (0.0, -1.0)) };
        let d = along(&duct.path, opening.station_m).1;
        let n = left(d);
        let half = section_at(duct, opening.station_m).plan_width_m() / 2.0;
        // It faces the side on which more of its zone lies.
        let middle = zone_at(self.plan, place).map(|z| centre(&self.plan.zones[z].outline));
        let faces_left = middle.is_none_or(|m| (m.x_m - place.x_m) * n.0 + (m.y_m - place.y_m) * n.1 > 0.0);
        let face = if faces_left { n } else { (-n.0, -n.1) };
        (moved(place, face, half - DEPTH_M / 2.0), d, face)
    }

    pub(super) fn return_openings(&mut self) {
        for (index, opening) in self.plan.returns.iter().enumerate() {
            let id: ItemId = opening.id.as_str().into();
            let (at, d, face) = self.opening_frame(index);
            let depth = DEPTH_M.max(7.0 / self.scale);
            let at = moved(at, face, (depth - DEPTH_M) / 2.0);
            let miss = self.share_miss(opening);
            let tone = miss.map_or(Tone::Paper, Tone::Deviation);
            // The frame to the opening's full width; the slide covers what is not open.
            let frame = rectangle(at, d, opening.width_m, depth);
            let edge = Stroke::solid(Tone::Ink, 1.4);
            self.polygon(Some(&id), frame, Fill::Solid(tone, 1.0), Some(edge));
            let open = free_fraction(opening);
            let covered = opening.width_m * (1.0 - open);
            if covered > 0.0 {
                let middle = moved(at, d, (opening.width_m - covered) / 2.0);
                let slide = rectangle(middle, d, covered, depth);
                self.polygon(Some(&id), slide.clone(), Fill::Solid(Tone::Paper, 1.0), None);
                self.polygon(Some(&id), slide, Fill::Hatch(Tone::Ink), Some(Stroke::solid(Tone::Ink, 1.0)));
            }
            // Air going in.
            let mouth = moved(at, face, depth / 2.0 + 9.0 / self.scale);
            self.room.keep_clear(&rectangle(mouth, d, 12.0 / self.scale, 10.0 / self.scale), false);
            self.chevron(mouth, (-face.0, -face.1), 3.5 / self.scale, Stroke::solid(Tone::InkSoft, 1.4));
            let spoken = self.return_spoken(opening, miss);
            self.scene.items.push(Item { id, spoken, at });
        }
    }

    fn share_miss(&self, opening: &ReturnOpening) -> Option<f64> {
        let found = self.returns.get(opening.id.as_str())?;
        deviation(found.share, found.target_share)
    }

    fn return_spoken(&self, opening: &ReturnOpening, miss: Option<f64>) -> String {
        let name = called(&opening.name, &opening.id);
        let open = show(opening.open_m, Kind::ShopLength, self.units);
        let mut spoken = format!("Return {name}, slide open {open}");
        if let (Some(found), Some(miss)) = (self.returns.get(opening.id.as_str()), miss) {
            spoken.push_str(&format!(
                ", takes {} of {} percent, {} percent off",
                short(found.share * 100.0, 1),
                short(found.target_share * 100.0, 1),
                signed_percent(miss, 1)
            ));
        }
        spoken
    }

    pub(super) fn return_labels(&mut self) {
        for (index, opening) in self.plan.returns.iter().enumerate() {
            let (at, d, face) = self.opening_frame(index);
            let open = format!("{}\u{a0}%", short(free_fraction(opening) * 100.0, 0));
            let full = show(opening.open_m, Kind::ShopLength, self.units);
            let mut words = Vec::new();
            if let (Some(found), Some(miss)) =
                (self.returns.get(opening.id.as_str()), self.share_miss(opening))
            {
                let share = format!(
                    "{} / {}\u{a0}%",
                    short(found.share * 100.0, 1),
                    short(found.target_share * 100.0, 1)
                );
                let name = called(&opening.name, &opening.id);
                if self.scale > 60.0 {
                    words.push(format!("{name} · open {full} · {share} ({})", signed_percent(miss, 0)));
                }
                words.push(format!("{share} ({})", signed_percent(miss, 0)));
                words.push(format!("{}\u{a0}%", signed_percent(miss, 0)));
            } else {
                words.push(format!("open {full}"));
                words.push(open);
            }
            let reach = DEPTH_M / 2.0 * self.scale + 22.0;
            let upright = d.1.abs() > d.0.abs();
            let out = |by: f64| (face.0 * by, -face.1 * by);
            let align = match (upright, face.0 > 0.0) {
                (false, _) => Align::Middle,
                (true, true) => Align::Start,
                (true, false) => Align::End,
            };
            let mut spots: Vec<Spot> = [reach, reach + 12.0]
                .into_iter()
                .map(|by| Spot { at, shift_px: out(by), align, on: None, most_px: f64::INFINITY })
                .collect();
            // On the duct's sheet behind the opening, where the duct is wide enough to write on.
            let duct = opening.duct.as_ref().and_then(|id| self.plan.ducts.iter().find(|d| &d.id == id));
            let sheet_px = duct
                .map_or(0.0, |duct| section_at(duct, opening.station_m).plan_width_m() - DEPTH_M)
                * self.scale;
            if sheet_px >= 13.0 && !upright {
                let behind = DEPTH_M / 2.0 * self.scale + sheet_px / 2.0;
                // Clear of the bends and ends of the straight it is in.
                let room = duct.map_or(0.0, |duct| straight_room_m(duct, opening.station_m));
                let most_px = (opening.width_m * 2.5).min(2.0 * room) * self.scale;
                let on = Some(Tone::DuctReturn);
                spots.push(Spot { at, shift_px: out(-behind), align: Align::Middle, on, most_px });
            }
            let like = Text { size_px: 10.0, ..text(at, "") };
            self.label(&words, &like, &spots);
        }
    }
}

/// Free area over full area of an opening as its slide stands.
pub fn free_fraction(opening: &ReturnOpening) -> f64 {
    let fraction = opening.open_m / opening.height_m;
    if fraction.is_finite() { fraction.clamp(0.0, 1.0) } else { 0.0 }
}

/// From `station_m` to the nearer end of the straight of `duct` it is in, half a duct's width left free, m.
fn straight_room_m(duct: &Duct, station_m: f64) -> f64 {
    let mut from = 0.0;
    for pair in duct.path.windows(2) {
        let to = from + distance_m(pair[0], pair[1]);
        if station_m <= to {
            let half = section_at(duct, station_m).plan_width_m() / 2.0;
            return ((station_m - from).min(to - station_m) - half).max(0.0);
        }
        from = to;
    }
    0.0
}

fn centre(outline: &[Point]) -> Point {
    let n = outline.len().max(1) as f64;
    Point::new(outline.iter().map(|p| p.x_m).sum::<f64>() / n, outline.iter().map(|p| p.y_m).sum::<f64>() / n)
}
