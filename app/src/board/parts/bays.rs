//! Bays: each with how far its air is from the zone's set temperature, by colour, sign and number.

use super::{Drawing, Fill, Form, Stroke, Tone, text};
use crate::board::outline::rectangle;
use crate::board::scene::{Ground, Text, text_width_px};
use crate::charts::palette::FULL_DEVIATION;
use crate::heat::signed;
use engine::plan::Point;

/// Distance from the set temperature at which the colour scale ends, K.
pub const BAY_FULL_K: f64 = 10.0;

impl Drawing<'_> {
    pub(super) fn bays(&mut self) {
        let Some(heat) = self.analysis.and_then(|analysis| analysis.heat.as_ref()) else { return };
        for bay in &heat.bays {
            let (Some(from), Some(to)) = (bay.from, bay.to) else { continue };
            let corners = vec![from, Point::new(to.x_m, from.y_m), to, Point::new(from.x_m, to.y_m)];
            let tone = Tone::Deviation(bay.off_k / BAY_FULL_K * FULL_DEVIATION);
            let edge = Some(Stroke::solid(Tone::Line, 0.7));
            self.scene.push(None, Form::Polygon(corners), Some(Fill::Solid(tone, 0.35)), edge);
        }
    }

    /// The numbers, over ducts and all else.
    pub(super) fn bay_numbers(&mut self) {
        let Some(heat) = self.analysis.and_then(|analysis| analysis.heat.as_ref()) else { return };
        for bay in &heat.bays {
            let (Some(from), Some(to)) = (bay.from, bay.to) else { continue };
            let (width, height) = ((to.x_m - from.x_m) * self.scale, (to.y_m - from.y_m) * self.scale);
            // The unit goes where there is no room for it, then the number.
            let full = signed(bay.off_k, self.units);
            let number = full.split_whitespace().next().unwrap_or_default();
            let fits = |words: &&str| text_width_px(words, 10.0) + 10.0 <= width;
            let Some(words) = [full.as_str(), number].into_iter().find(fits).filter(|_| height >= 14.0)
            else {
                continue;
            };
            // At the outer edge of the bay, away from runs and conveyor; on a plate, for a return duct may lie there.
            let outer = if bay.side == engine::heat::bays::Side::Left { to.y_m } else { from.y_m };
            let inward = if outer == to.y_m { -9.0 } else { 9.0 } / self.scale;
            let at = Point::new((from.x_m + to.x_m) / 2.0, outer + inward);
            let room = rectangle(at, (1.0, 0.0), 46.0 / self.scale, 12.0 / self.scale);
            self.room.keep_clear(&room, false);
            self.write(Text {
                size_px: 10.0,
                bold: bay.id == heat.worst.bay,
                ground: Ground::Plate(Tone::Paper),
                ..text(at, words)
            });
        }
    }
}
