//! What frames the picture: grid, rulers along two edges and the scale bar.

use super::paint::{Painter, upright};
use crate::board::camera::{ScreenPoint, grid_step_m};
use crate::charts::display::{Display, short, tick_text};
use engine::plan::Point;
use engine::units::{Kind, UnitSystem};

/// Width of the rulers, px.
pub const RULER_PX: f64 = 20.0;

/// A step of the grid, m, and of what it is a multiple in the reader's unit.
fn step(px_per_m: f64, least_px: f64, units: UnitSystem) -> (f64, f64) {
    let unit_m = Display::of(Kind::Length, units).factor;
    let step = grid_step_m(px_per_m * unit_m, least_px);
    (step * unit_m, step)
}

impl Painter<'_> {
    /// Fine and coarse lines of the floor's grid, under everything.
    pub fn grid(&mut self, units: UnitSystem) {
        let scale = self.look.camera.px_per_m;
        let (coarse, _) = step(scale, 64.0, units);
        let sight = self.look.in_sight();
        for (step_m, width, strong) in [(coarse / 5.0, 1.0, false), (coarse, 1.0, true)] {
            let colour =
                if strong { self.palette.grid.towards(self.palette.line, 0.25) } else { self.palette.grid };
            // Upright and level lines as rectangles: browsers paint these many times faster than a path of them.
            self.set_fill(colour, 1.0);
            for k in counts(sight.min.x_m, sight.max.x_m, step_m) {
                let x = self.crisp(self.look.screen_from_plan(Point::new(k * step_m, 0.0)).x, width);
                self.context.fill_rect(x - 0.5 * width, 0.0, width, self.size.height);
            }
            for k in counts(sight.min.y_m, sight.max.y_m, step_m) {
                let y = self.crisp(self.look.screen_from_plan(Point::new(0.0, k * step_m)).y, width);
                self.context.fill_rect(0.0, y - 0.5 * width, self.size.width, width);
            }
        }
    }

    /// Rulers along the upper and the left edge, over everything.
    pub fn rulers(&mut self, units: UnitSystem) {
        let display = Display::of(Kind::Length, units);
        let (step_m, shown) = step(self.look.camera.px_per_m, 64.0, units);
        let (w, h) = (self.size.width, self.size.height);
        self.set_fill(self.palette.paper, 0.92);
        self.context.fill_rect(0.0, 0.0, w, RULER_PX);
        self.context.fill_rect(0.0, RULER_PX, RULER_PX, h - RULER_PX);
        self.set_fill(self.palette.line, 1.0);
        let edge = self.crisp(RULER_PX, 1.0) - 0.5;
        self.context.fill_rect(edge, edge, 1.0, h - edge);
        self.context.fill_rect(edge, edge, w - edge, 1.0);
        let sight = self.look.in_sight();
        let fine = step_m / 5.0;
        let tick = |k: f64| if (k / 5.0 - (k / 5.0).round()).abs() < 1e-6 { 9.0 } else { 4.0 };
        for k in counts(sight.min.x_m, sight.max.x_m, fine) {
            let x = self.crisp(self.look.screen_from_plan(Point::new(k * fine, 0.0)).x, 1.0);
            if x > RULER_PX {
                self.context.fill_rect(x - 0.5, RULER_PX - tick(k), 1.0, tick(k));
            }
        }
        for k in counts(sight.min.y_m, sight.max.y_m, fine) {
            let y = self.crisp(self.look.screen_from_plan(Point::new(0.0, k * fine)).y, 1.0);
            if y > RULER_PX {
                self.context.fill_rect(RULER_PX - tick(k), y - 0.5, tick(k), 1.0);
            }
        }
        self.set_fill(self.palette.ink_soft, 1.0);
        self.set_letters((10.0, false, "left", "top"));
        for k in counts(sight.min.x_m, sight.max.x_m, step_m) {
            let x = self.look.screen_from_plan(Point::new(k * step_m, 0.0)).x;
            if x > RULER_PX && x < w - 30.0 {
                let _ = self.context.fill_text(&tick_text(k * shown, shown), x + 3.0, 3.0);
            }
        }
        self.set_letters((10.0, false, "left", "bottom"));
        for k in counts(sight.min.y_m, sight.max.y_m, step_m) {
            let y = self.look.screen_from_plan(Point::new(0.0, k * step_m)).y;
            if y > RULER_PX + 30.0 {
                self.upwards(&tick_text(k * shown, shown), ScreenPoint::new(13.0, y - 3.0));
            }
        }
        self.set_letters((10.0, false, "center", "middle"));
        let _ = self.context.fill_text(display.symbol, RULER_PX / 2.0, RULER_PX / 2.0);
    }

    fn upwards(&self, words: &str, at: ScreenPoint) {
        let (x, y) = self.turned(at.x, at.y);
        let _ = self.context.fill_text(words, x, y);
        upright(self.context, self.size);
    }

    /// A bar of a round length at the lower left, `x` px from the edge, with its scale.
    pub fn scale_bar(&mut self, units: UnitSystem, x: f64) {
        let display = Display::of(Kind::Length, units);
        let (step_m, shown) = step(self.look.camera.px_per_m, 70.0, units);
        let y = self.size.height - 14.0;
        let long = step_m * self.look.camera.px_per_m;
        let words = format!("{}\u{a0}{}", short(shown, 3), display.symbol);
        self.set_fill(self.palette.paper, 0.85);
        self.context.fill_rect(x - 7.0, y - 9.0, long + 14.0 + 46.0, 18.0);
        let half = long / 2.0;
        self.set_fill(self.palette.ink, 1.0);
        self.context.fill_rect(x, y - 2.5, half, 5.0);
        self.set_stroke(self.palette.ink, 1.0, 1.0);
        self.context.stroke_rect(x + 0.5, y - 2.5, long - 1.0, 5.0);
        self.set_letters((11.0, true, "left", "middle"));
        let _ = self.context.fill_text(&words, x + long + 7.0, y);
    }
}

/// The whole numbers k with `from` ≤ k·`step` ≤ `to`; none where there would be absurdly many.
fn counts(from: f64, to: f64, step: f64) -> impl Iterator<Item = f64> {
    let (first, last) = ((from / step).ceil(), (to / step).floor());
    let sane = step > 0.0 && first.is_finite() && last.is_finite() && last - first < 4_000.0;
    let n = if sane { (last - first + 1.0).max(0.0) as usize } else { 0 };
    (0..n).map(move |i| first + i as f64)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn grid_lines_cover_the_sight_and_never_too_many() {
        assert_eq!(counts(-1.2, 2.0, 0.5).collect::<Vec<_>>(), [-2.0, -1.0, 0.0, 1.0, 2.0, 3.0, 4.0]);
        assert_eq!(counts(0.0, 1e9, 1e-3).count(), 0);
        assert_eq!(counts(0.0, f64::NAN, 1.0).count(), 0);
    }

    #[test]
    fn the_step_is_round_in_the_readers_unit() {
        let (step_m, shown) = step(34.0, 64.0, UnitSystem::InchPound);
        assert_eq!(shown, 10.0);
        assert!((step_m - 3.048).abs() < 1e-12);
    }
}
