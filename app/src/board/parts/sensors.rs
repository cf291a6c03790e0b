//! Temperature sensors: a diamond with the letter of what it is for.

use super::{Drawing, Fill, ItemId, Stroke, Tone, called, text};
use crate::board::outline::moved;
use crate::board::scene::{Ground, Item, Text};
use crate::cards::heat::sensor_word;
use engine::units::{Kind, show};

/// Half the diamond's height: to scale, but never too small to hit, px.
const HALF_PX: f64 = 8.0;

impl Drawing<'_> {
    pub(super) fn sensors(&mut self) {
        for sensor in &self.plan.sensors {
            let id: ItemId = sensor.id.as_str().into();
            let half = HALF_PX / self.scale;
            let corners = [(1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0)];
            let diamond: Vec<_> = corners.iter().map(|&way| moved(sensor.at, way, half)).collect();
            self.room.keep_clear(&diamond, false);
            let edge = Some(Stroke::solid(Tone::Ink, 1.4));
            self.polygon(Some(&id), diamond, Fill::Solid(Tone::Paper, 1.0), edge);
            let word = sensor_word(sensor);
            let letter = word[..1].to_ascii_uppercase();
            let plain = text(sensor.at, letter);
            self.write(Text { size_px: 9.0, bold: true, ground: Ground::None, ..plain });
            let set = sensor.set_c.map(|set| format!(", set {}", show(set, Kind::Temperature, self.units)));
            let name = called(&sensor.name, &sensor.id);
            let spoken = format!("Sensor {name}, {word}{}", set.unwrap_or_default());
            self.scene.items.push(Item { id, spoken, at: sensor.at });
        }
    }
}
