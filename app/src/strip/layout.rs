//! Where the parts of the strip stand, in CSS pixels: drawing and the hand both go by it.

use super::data::{Cells, StripData};

/// Room for numbers on the left, px.
const LEFT: f64 = 62.0;
/// Room for the names of lines on the right, px.
const RIGHT: f64 = 92.0;
/// Above the pressures, px.
const TOP: f64 = 7.0;
/// Under the lowest panel: numbers and title of the axis, px.
const BOTTOM: f64 = 34.0;
/// Between panels, px.
const GAP: f64 = 12.0;
/// Under the duct: sizes of slots, px.
const SIZES: f64 = 18.0;
/// Bare duct beyond both ends, of its length.
const MARGIN: f64 = 0.012;

/// The strip's panels on a canvas.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Layout {
    /// Left and right edge of all panels.
    pub x: (f64, f64),
    /// Upper and lower edge of the pressures.
    pub pressures: (f64, f64),
    /// Upper and lower edge of the duct.
    pub duct: (f64, f64),
    /// Upper and lower edge of the bars, or of the velocity where nothing is cut in.
    pub bars: (f64, f64),
    /// Length of the duct, m.
    pub length_m: f64,
}

impl Layout {
    /// The panels for a canvas of this size; none when it is too small to read.
    pub fn new(width: f64, height: f64, data: &StripData) -> Option<Self> {
        if width < LEFT + RIGHT + 120.0 || height < 170.0 {
            return None;
        }
        let free = height - TOP - BOTTOM;
        let duct = (free * 0.24).clamp(34.0, 84.0);
        let rest = free - duct - SIZES - 2.0 * GAP;
        let pressures = rest * 0.54;
        let duct_top = TOP + pressures + GAP;
        let bars_top = duct_top + duct + SIZES + GAP;
        Some(Self {
            x: (LEFT, width - RIGHT),
            pressures: (TOP, TOP + pressures),
            duct: (duct_top, duct_top + duct),
            bars: (bars_top, height - BOTTOM),
            length_m: data.length_m,
        })
    }

    /// The stations in sight, m.
    pub fn stations(&self) -> std::ops::Range<f64> {
        let margin = self.length_m * MARGIN;
        -margin..self.length_m + margin
    }

    /// Pixels per metre along the duct.
    pub fn px_per_m(&self) -> f64 {
        let s = self.stations();
        (self.x.1 - self.x.0) / (s.end - s.start)
    }

    /// Where a station is, px.
    pub fn x_of(&self, station_m: f64) -> f64 {
        self.x.0 + (station_m - self.stations().start) * self.px_per_m()
    }

    /// Which station is at `x`, m.
    pub fn station_at(&self, x: f64) -> f64 {
        self.stations().start + (x - self.x.0) / self.px_per_m()
    }

    /// Pixels per metre across the duct: as along it, unless the duct is too wide for its panel.
    pub fn px_per_m_across(&self, data: &StripData) -> f64 {
        let widest = data.widths.iter().map(|w| w.1).fold(1e-3, f64::max);
        self.px_per_m().min((self.duct.1 - self.duct.0) / widest)
    }

    /// The station at a place of the duct, or of the mark beyond its end, m.
    pub fn duct_at(&self, x: f64, y: f64) -> Option<f64> {
        let on = (self.x.0..=self.x.1 + RIGHT).contains(&x) && (self.duct.0..=self.duct.1).contains(&y);
        on.then(|| self.station_at(x).clamp(0.0, self.length_m))
    }

    /// The slot or return at a place of the duct or of the bars: the nearest one within reach.
    pub fn cell_at(&self, x: f64, y: f64, data: &StripData) -> Option<usize> {
        let over = |panel: (f64, f64)| y >= panel.0 - GAP / 2.0 && y <= panel.1 + GAP / 2.0;
        if data.kind == Cells::None || !(over((self.duct.0, self.duct.1 + SIZES)) || over(self.bars)) {
            return None;
        }
        let away = |i: usize| {
            let cell = &data.cells[i];
            ((self.x_of(cell.station_m) - x).abs() - cell.along_m / 2.0 * self.px_per_m()).max(0.0)
        };
        let nearest = (0..data.cells.len()).min_by(|a, b| away(*a).total_cmp(&away(*b)))?;
        (away(nearest) <= 14.0).then_some(nearest)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::board::fixture::{demo, invented};
    use engine::units::UnitSystem;

    fn strip() -> (StripData, Layout) {
        let plan = demo();
        let data = StripData::new(&plan, Some(&invented(&plan)), "cure-1", None, UnitSystem::Si).unwrap();
        let layout = Layout::new(1100.0, 300.0, &data).unwrap();
        (data, layout)
    }

    #[test]
    fn the_panels_follow_each_other_down_the_canvas() {
        let (_, l) = strip();
        let edges = [l.pressures.0, l.pressures.1, l.duct.0, l.duct.1, l.bars.0, l.bars.1, 300.0];
        assert!(edges.windows(2).all(|w| w[0] < w[1]), "{edges:?}");
    }

    #[test]
    fn stations_and_pixels_are_each_others_inverse() {
        let (_, l) = strip();
        for station in [0.0, 3.3, 14.2] {
            assert!((l.station_at(l.x_of(station)) - station).abs() < 1e-9);
        }
        assert!(l.x_of(0.0) > l.x.0 && l.x_of(14.2) < l.x.1);
    }

    #[test]
    fn a_place_on_the_duct_or_the_bars_leads_to_the_nearest_slot() {
        let (data, l) = strip();
        let x = l.x_of(data.cells[4].station_m) + 3.0;
        assert_eq!(l.cell_at(x, (l.duct.0 + l.duct.1) / 2.0, &data), Some(4));
        assert_eq!(l.cell_at(x, l.bars.1 - 4.0, &data), Some(4));
        assert_eq!(l.cell_at(x, l.pressures.0 + 4.0, &data), None);
        assert_eq!(l.cell_at(l.x.0 - 40.0, l.bars.1 - 4.0, &data), None);
    }

    #[test]
    fn a_canvas_too_small_to_read_has_no_strip() {
        let (data, _) = strip();
        assert_eq!(Layout::new(200.0, 300.0, &data), None);
        assert_eq!(Layout::new(900.0, 90.0, &data), None);
    }
}
