//! Where on the floor the board looks, and how close: screen and plan coordinates, pan, zoom and fit.
//!
//! Screen coordinates are CSS pixels from the board's upper left corner, y down; plan coordinates are
//! metres, y up the page.

use crate::session::Camera;
use engine::numerics::{log10, pow};
use engine::plan::geometry::distance_m;
use engine::plan::{Plan, Point};

/// Farthest look, px/m: a 400 m hall on a tablet.
pub const MIN_PX_PER_M: f64 = 2.0;
/// Closest look, px/m: one millimetre of a slot is four pixels.
pub const MAX_PX_PER_M: f64 = 4_000.0;

/// A place on the screen, CSS pixels.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct ScreenPoint {
    /// To the right.
    pub x: f64,
    /// Down.
    pub y: f64,
}

impl ScreenPoint {
    /// The place (x, y).
    pub const fn new(x: f64, y: f64) -> Self {
        Self { x, y }
    }

    /// Distance to `other`, px.
    pub fn distance(self, other: Self) -> f64 {
        let (dx, dy) = (self.x - other.x, self.y - other.y);
        (dx * dx + dy * dy).sqrt()
    }

    /// Half-way to `other`.
    pub fn middle(self, other: Self) -> Self {
        Self::new((self.x + other.x) / 2.0, (self.y + other.y) / 2.0)
    }
}

/// An upright rectangle of the floor.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bounds {
    /// Lower left corner.
    pub min: Point,
    /// Upper right corner.
    pub max: Point,
}

impl Bounds {
    /// The smallest rectangle around `points`; none when there are no finite points.
    pub fn around(points: impl IntoIterator<Item = Point>) -> Option<Self> {
        points.into_iter().filter(|p| p.x_m.is_finite() && p.y_m.is_finite()).fold(
            None,
            |bounds: Option<Self>, p| {
                Some(match bounds {
                    None => Self { min: p, max: p },
                    Some(b) => Self {
                        min: Point::new(b.min.x_m.min(p.x_m), b.min.y_m.min(p.y_m)),
                        max: Point::new(b.max.x_m.max(p.x_m), b.max.y_m.max(p.y_m)),
                    },
                })
            },
        )
    }

    /// The floor a plan covers, with its ducts, heater and conveyor; with a floor to draw on while there is no outline.
    pub fn of_plan(plan: &Plan) -> Self {
        let conveyor = plan.conveyor.iter().flat_map(|c| c.path.iter());
        let points = plan
            .enclosure
            .outline
            .iter()
            .chain(conveyor)
            .chain(plan.ducts.iter().flat_map(|d| d.path.iter()))
            .chain([&plan.heater.discharge])
            .chain(plan.enclosure.columns.iter().map(|c| &c.at))
            .copied()
            .chain([plan.heater.intake, behind(plan)]);
        // Before there is an outline, floor to draw one on.
        let floor = [Point::new(-1.0, 0.0), Point::new(13.0, 6.0)];
        let floor = floor.into_iter().filter(|_| plan.enclosure.outline.is_empty());
        Self::around(points.chain(floor))
            .unwrap_or(Self { min: Point::new(-1.0, 0.0), max: Point::new(13.0, 6.0) })
    }

    /// Size along x, m.
    pub fn width_m(self) -> f64 {
        self.max.x_m - self.min.x_m
    }

    /// Size along y, m.
    pub fn height_m(self) -> f64 {
        self.max.y_m - self.min.y_m
    }

    /// The same rectangle, wider by `by_m` on every side.
    pub fn grown(self, by_m: f64) -> Self {
        Self {
            min: Point::new(self.min.x_m - by_m, self.min.y_m - by_m),
            max: Point::new(self.max.x_m + by_m, self.max.y_m + by_m),
        }
    }
}

/// A point behind the heater's intake, where its box ends as drawn.
fn behind(plan: &Plan) -> Point {
    let (discharge, intake) = (plan.heater.discharge, plan.heater.intake);
    let (dx, dy) = (intake.x_m - discharge.x_m, intake.y_m - discharge.y_m);
    let apart = distance_m(intake, discharge).max(1e-6);
    Point::new(intake.x_m + dx / apart * 0.6, intake.y_m + dy / apart * 0.6)
}

/// The camera with numbers the board can work with: a stored one may be damaged.
fn sane(camera: Camera) -> Camera {
    let finite = |v: f64, otherwise: f64| if v.is_finite() { v.clamp(-1e6, 1e6) } else { otherwise };
    Camera {
        centre: Point::new(finite(camera.centre.x_m, 0.0), finite(camera.centre.y_m, 0.0)),
        px_per_m: finite(camera.px_per_m, 40.0).clamp(MIN_PX_PER_M, MAX_PX_PER_M),
    }
}

/// A camera and the size of the board it looks through.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Look {
    /// Where it looks.
    pub camera: Camera,
    /// Width of the board, CSS px.
    pub width: f64,
    /// Height of the board, CSS px.
    pub height: f64,
}

impl Look {
    /// `bounds` as large as fits with `margin` px on every side.
    pub fn fit(bounds: Bounds, width: f64, height: f64, margin: f64) -> Self {
        let room = |size: f64| (size - 2.0 * margin).max(1.0);
        let px_per_m =
            (room(width) / bounds.width_m().max(0.1)).min(room(height) / bounds.height_m().max(0.1));
        let centre =
            Point::new((bounds.min.x_m + bounds.max.x_m) / 2.0, (bounds.min.y_m + bounds.max.y_m) / 2.0);
        Self { camera: sane(Camera { centre, px_per_m }), width, height }
    }

    /// Where a place of the floor is on the screen.
    pub fn screen_from_plan(&self, p: Point) -> ScreenPoint {
        let c = &self.camera;
        ScreenPoint::new(
            self.width / 2.0 + (p.x_m - c.centre.x_m) * c.px_per_m,
            self.height / 2.0 - (p.y_m - c.centre.y_m) * c.px_per_m,
        )
    }

    /// Which place of the floor is at `s`.
    pub fn plan_from_screen(&self, s: ScreenPoint) -> Point {
        let c = &self.camera;
        Point::new(
            c.centre.x_m + (s.x - self.width / 2.0) / c.px_per_m,
            c.centre.y_m - (s.y - self.height / 2.0) / c.px_per_m,
        )
    }

    /// The look after the picture was moved by (dx, dy) px.
    #[must_use]
    pub fn panned(mut self, dx: f64, dy: f64) -> Self {
        self.camera.centre.x_m -= dx / self.camera.px_per_m;
        self.camera.centre.y_m += dy / self.camera.px_per_m;
        self.camera = sane(self.camera);
        self
    }

    /// The look `factor` times closer, with what is under `at` left where it is.
    #[must_use]
    pub fn zoomed(mut self, factor: f64, at: ScreenPoint) -> Self {
        let held = self.plan_from_screen(at);
        self.camera.px_per_m *= factor;
        self.camera = sane(self.camera);
        let moved = self.screen_from_plan(held);
        self.panned(at.x - moved.x, at.y - moved.y)
    }

    /// The look in which the floor under two fingers has followed them from `from` to `to`.
    #[must_use]
    pub fn pinched(self, from: (ScreenPoint, ScreenPoint), to: (ScreenPoint, ScreenPoint)) -> Self {
        let (a, b) = (from.0.middle(from.1), to.0.middle(to.1));
        let (before, after) = (from.0.distance(from.1), to.0.distance(to.1));
        // Fingers that all but touch give no usable scale.
        let factor = if before > 8.0 && after > 8.0 { after / before } else { 1.0 };
        self.panned(b.x - a.x, b.y - a.y).zoomed(factor, b)
    }

    /// The middle of the board.
    pub fn middle(&self) -> ScreenPoint {
        ScreenPoint::new(self.width / 2.0, self.height / 2.0)
    }

    /// The rectangle of the floor in sight.
    pub fn in_sight(&self) -> Bounds {
        let (a, b) = (
            self.plan_from_screen(ScreenPoint::new(0.0, self.height)),
            self.plan_from_screen(ScreenPoint::new(self.width, 0.0)),
        );
        Bounds { min: a, max: b }
    }
}

/// Spacing of the grid at `px_per_m`: a 1-2-5 step of metres at least `least_px` apart.
pub fn grid_step_m(px_per_m: f64, least_px: f64) -> f64 {
    let wanted = least_px / px_per_m;
    let decade = pow(10.0, log10(wanted).floor());
    [1.0, 2.0, 5.0, 10.0]
        .into_iter()
        .map(|m| m * decade)
        .find(|step| *step >= wanted * 0.999_999)
        .unwrap_or(decade)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn look() -> Look {
        let camera = Camera { centre: Point::new(13.0, 3.2), px_per_m: 37.5 };
        Look { camera, width: 1001.0, height: 433.0 }
    }

    fn close(a: ScreenPoint, b: ScreenPoint) -> bool {
        a.distance(b) < 1e-9
    }

    #[test]
    fn the_screen_is_the_inverse_of_the_plan() {
        let v = look();
        for (x, y) in [(0.0, 0.0), (26.0, 6.4), (-1.5, 9.25)] {
            let back = v.plan_from_screen(v.screen_from_plan(Point::new(x, y)));
            assert!((back.x_m - x).abs() < 1e-9 && (back.y_m - y).abs() < 1e-9);
        }
        assert!(v.screen_from_plan(Point::new(0.0, 5.0)).y < v.screen_from_plan(Point::new(0.0, 1.0)).y);
    }

    #[test]
    fn zoom_holds_the_place_under_the_pointer() {
        let v = look();
        let at = ScreenPoint::new(120.0, 300.0);
        let under = v.plan_from_screen(at);
        for factor in [0.3, 1.2, 7.0] {
            assert!(close(v.zoomed(factor, at).screen_from_plan(under), at));
        }
    }

    #[test]
    fn zoom_stops_at_its_limits_and_still_holds_the_place() {
        let v = look();
        let at = ScreenPoint::new(10.0, 20.0);
        let under = v.plan_from_screen(at);
        let near = v.zoomed(1e9, at);
        assert_eq!(near.camera.px_per_m, MAX_PX_PER_M);
        assert!(close(near.screen_from_plan(under), at));
        assert_eq!(v.zoomed(1e-9, at).camera.px_per_m, MIN_PX_PER_M);
    }

    #[test]
    fn a_pinch_carries_both_fingers_floor_along() {
        let v = look();
        let from = (ScreenPoint::new(200.0, 200.0), ScreenPoint::new(400.0, 200.0));
        let to = (ScreenPoint::new(150.0, 260.0), ScreenPoint::new(550.0, 260.0));
        let after = v.pinched(from, to);
        assert!((after.camera.px_per_m - 2.0 * v.camera.px_per_m).abs() < 1e-9);
        assert!(close(after.screen_from_plan(v.plan_from_screen(from.0)), to.0));
        assert!(close(after.screen_from_plan(v.plan_from_screen(from.1)), to.1));
    }

    #[test]
    fn fit_shows_the_whole_floor_inside_the_margin() {
        let bounds = Bounds { min: Point::new(-2.0, -1.0), max: Point::new(28.0, 9.0) };
        for (w, h) in [(900.0, 500.0), (400.0, 900.0)] {
            let v = Look::fit(bounds, w, h, 24.0);
            let (a, b) = (v.screen_from_plan(bounds.min), v.screen_from_plan(bounds.max));
            assert!(a.x >= 24.0 - 1e-6 && b.x <= w - 24.0 + 1e-6, "{a:?} {b:?}");
            assert!(b.y >= 24.0 - 1e-6 && a.y <= h - 24.0 + 1e-6, "{a:?} {b:?}");
        }
        // A board folded away still has a look.
        assert_eq!(Look::fit(bounds, 0.0, 0.0, 24.0).camera.px_per_m, MIN_PX_PER_M);
    }

    #[test]
    fn a_damaged_camera_is_mended() {
        let bad = Camera { centre: Point::new(f64::NAN, f64::INFINITY), px_per_m: f64::NAN };
        let mended = sane(bad);
        assert!(mended.centre.x_m.is_finite() && mended.centre.y_m.is_finite());
        assert!(mended.px_per_m >= MIN_PX_PER_M);
    }

    #[test]
    fn the_grid_steps_by_one_two_five() {
        assert_eq!(grid_step_m(40.0, 40.0), 1.0);
        assert_eq!(grid_step_m(30.0, 40.0), 2.0);
        assert!((grid_step_m(500.0, 40.0) - 0.1).abs() < 1e-12);
        assert_eq!(grid_step_m(9.0, 40.0), 5.0);
    }
}
