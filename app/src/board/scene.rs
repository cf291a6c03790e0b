//! The board's picture as a pure list of shapes: painting and hit-testing both walk it.

use super::camera::{Look, ScreenPoint};
use engine::plan::Point;
use engine::plan::geometry::{inside, nearest};
use std::rc::Rc;

/// Name of the plan item (or slot, `row/number`) a shape belongs to.
pub type ItemId = Rc<str>;

/// A colour by its meaning; the palette gives it a value.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Tone {
    /// The page.
    Paper,
    /// Lines and text that matter.
    Ink,
    /// Lines and text in the background.
    InkSoft,
    /// Walls and frames.
    Line,
    /// What is selected.
    Accent,
    /// Supply duct.
    Duct,
    /// Return duct.
    DuctReturn,
    /// Odd zones.
    ZoneA,
    /// Even zones.
    ZoneB,
    /// A caution.
    Warn,
    /// A problem.
    Problem,
    /// By how much (a fraction) something misses its target.
    Deviation(f64),
}

impl Tone {
    /// The nearest of a few dozen: so many colours the eye can tell, and what shares one is painted at once.
    pub fn coarse(self) -> Self {
        const STEPS: f64 = 160.0;
        match self {
            Self::Deviation(miss) => Self::Deviation((miss * STEPS).round() / STEPS),
            other => other,
        }
    }
}

/// What a shape is filled with.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Fill {
    /// One colour, with opacity.
    Solid(Tone, f32),
    /// Slanted lines.
    Hatch(Tone),
}

/// How a line is broken.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Dash {
    /// Not at all.
    #[default]
    Solid,
    /// Short dashes.
    Dashed,
    /// Long, short: a centre line.
    Chain,
}

/// How a shape's edge is drawn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stroke {
    /// Colour.
    pub tone: Tone,
    /// Width, CSS px.
    pub width_px: f32,
    /// Breaks.
    pub dash: Dash,
}

impl Stroke {
    /// An unbroken line.
    pub const fn solid(tone: Tone, width_px: f32) -> Self {
        Self { tone, width_px, dash: Dash::Solid }
    }

    /// A broken line.
    pub const fn broken(tone: Tone, width_px: f32, dash: Dash) -> Self {
        Self { tone, width_px, dash }
    }
}

/// Which part of a text stands at its place.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Align {
    /// The beginning.
    Start,
    /// The middle.
    #[default]
    Middle,
    /// The end.
    End,
}

/// What lies under letters.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub enum Ground {
    /// Nothing.
    #[default]
    None,
    /// An edge around each letter.
    Halo(Tone),
    /// A plate.
    Plate(Tone),
}

/// Words at a place of the floor; their size is in screen pixels.
#[derive(Clone, Debug, PartialEq)]
pub struct Text {
    /// The words.
    pub text: String,
    /// Where, on the floor.
    pub at: Point,
    /// And from there, px (x right, y down).
    pub shift_px: (f64, f64),
    /// Height of the letters, px.
    pub size_px: f64,
    /// Which part stands there; upright, always the middle.
    pub align: Align,
    /// Bold.
    pub bold: bool,
    /// Colour.
    pub tone: Tone,
    /// What lies under the letters, so that they can be read over lines.
    pub ground: Ground,
    /// Turned a quarter to read upwards.
    pub upwards: bool,
}

impl Text {
    /// About how wide it is drawn, px. Painting measures; placing labels only needs a good guess.
    pub fn width_px(&self) -> f64 {
        text_width_px(&self.text, self.size_px)
    }
}

/// About how wide `text` is in a system font, px.
pub fn text_width_px(text: &str, size_px: f64) -> f64 {
    let units: f64 = text
        .chars()
        .map(|c| match c {
            'i' | 'l' | 'j' | '.' | ',' | ' ' | '\u{a0}' | '·' | '\'' | 'I' | '1' | 't' | 'f' | 'r' => 0.36,
            'm' | 'w' | 'M' | 'W' | '%' | '\u{2014}' => 0.86,
            c if c.is_uppercase() => 0.68,
            _ => 0.56,
        })
        .sum();
    units * size_px
}

/// A rectangle with a tone of its own.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Patch {
    /// Its middle.
    pub at: Point,
    /// Unit direction of its first side.
    pub direction: (f64, f64),
    /// Size along that, m.
    pub along_m: f64,
    /// Size across, m.
    pub across_m: f64,
    /// What it is filled with.
    pub tone: Tone,
}

impl Patch {
    /// Its corners, one after the other.
    pub fn corners(&self) -> [Point; 4] {
        let (d, half) = (self.direction, (self.along_m / 2.0, self.across_m / 2.0));
        [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)].map(|(s, t)| {
            let (u, v) = (s * half.0, t * half.1);
            Point::new(self.at.x_m + u * d.0 - v * d.1, self.at.y_m + u * d.1 + v * d.0)
        })
    }

    fn distance_m(&self, p: Point) -> f64 {
        let (x, y, d) = (p.x_m - self.at.x_m, p.y_m - self.at.y_m, self.direction);
        let u = ((x * d.0 + y * d.1).abs() - self.along_m / 2.0).max(0.0);
        let v = ((y * d.0 - x * d.1).abs() - self.across_m / 2.0).max(0.0);
        (u * u + v * v).sqrt()
    }
}

/// What is drawn.
#[derive(Clone, Debug, PartialEq)]
pub enum Form {
    /// A closed outline.
    Polygon(Vec<Point>),
    /// An open line.
    Path(Vec<Point>),
    /// A disc to scale.
    Disc {
        /// Its middle.
        at: Point,
        /// Its radius, m.
        radius_m: f64,
    },
    /// A mark of a fixed size on the screen.
    Dot {
        /// Its middle.
        at: Point,
        /// Its radius, px.
        radius_px: f64,
    },
    /// Rectangles with one edge and a tone each: there can be a thousand slots.
    Patches(Vec<Patch>),
    /// Short lines.
    Dashes(Vec<[Point; 2]>),
    /// Words.
    Text(Text),
}

/// One shape.
#[derive(Clone, Debug, PartialEq)]
pub struct Shape {
    /// Whose it is; shapes of no item cannot be picked.
    pub item: Option<ItemId>,
    /// What.
    pub form: Form,
    /// Inside.
    pub fill: Option<Fill>,
    /// Edge.
    pub stroke: Option<Stroke>,
    /// Lies under everything: picked only where nothing else is near.
    pub backdrop: bool,
}

/// An item of the plan as keyboard and screen reader meet it.
#[derive(Clone, Debug, PartialEq)]
pub struct Item {
    /// Its name in the plan.
    pub id: ItemId,
    /// What is said when it is selected.
    pub spoken: String,
    /// A place to bring into sight.
    pub at: Point,
}

/// The whole picture, painted from first to last.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Scene {
    /// What is drawn.
    pub shapes: Vec<Shape>,
    /// What can be stepped through.
    pub items: Vec<Item>,
    /// All slots, row by row.
    pub slots: Vec<Item>,
}

impl Scene {
    /// Appends a shape.
    pub fn push(&mut self, item: Option<&ItemId>, form: Form, fill: Option<Fill>, stroke: Option<Stroke>) {
        self.shapes.push(Shape { item: item.cloned(), form, fill, stroke, backdrop: false });
    }

    /// Appends a shape that lies under everything.
    pub fn push_backdrop(&mut self, item: &ItemId, form: Form, fill: Option<Fill>) {
        self.shapes.push(Shape { item: Some(item.clone()), form, fill, stroke: None, backdrop: true });
    }

    /// The item under `at`: the topmost one it lies in, else the nearest one within `reach_px`.
    pub fn pick(&self, at: ScreenPoint, reach_px: f64, look: &Look) -> Option<ItemId> {
        let p = look.plan_from_screen(at);
        let scale = look.camera.px_per_m;
        let mut best: Option<(f64, &ItemId)> = None;
        for shape in self.shapes.iter().rev() {
            let Some(item) = &shape.item else { continue };
            let away_px = shape.form.distance_m(p, scale) * scale;
            if away_px <= 0.0 {
                // A thin thing above still wins over what lies beneath it, from farther off over the floor.
                let near_px = if shape.backdrop { reach_px } else { 2.0 };
                return Some(best.filter(|b| b.0 <= near_px).map_or(item, |b| b.1).clone());
            }
            if away_px <= reach_px && best.is_none_or(|b| away_px < b.0) {
                best = Some((away_px, item));
            }
        }
        best.map(|(_, item)| item.clone())
    }

    /// What is said of the item `id`; slots are spoken of by `parts::slot_spoken`.
    pub fn spoken(&self, id: &str) -> Option<&str> {
        self.items.iter().find(|item| &*item.id == id).map(|item| item.spoken.as_str())
    }

    /// The item after (or before) `id` in stepping order; none past the ends.
    pub fn step(&self, id: Option<&str>, forward: bool) -> Option<&Item> {
        let place = |items: &[Item]| id.and_then(|id| items.iter().position(|item| &*item.id == id));
        // A selected slot steps to its neighbours, not to the next duct.
        let slot = place(&self.slots);
        let (items, here) =
            if slot.is_some() { (&self.slots, slot) } else { (&self.items, place(&self.items)) };
        let count = items.len();
        let next = match (here, forward) {
            (None, true) => 0,
            (None, false) => count.checked_sub(1)?,
            (Some(i), true) => i + 1,
            (Some(i), false) => i.checked_sub(1)?,
        };
        items.get(next)
    }
}

impl Form {
    /// The places one line of it is drawn through; none for words and for many at once.
    pub fn points(&self) -> &[Point] {
        match self {
            Self::Polygon(points) | Self::Path(points) => points,
            Self::Disc { at, .. } | Self::Dot { at, .. } => std::slice::from_ref(at),
            Self::Patches(_) | Self::Dashes(_) | Self::Text(_) => &[],
        }
    }

    /// Distance of `p` from the shape, m; zero inside.
    fn distance_m(&self, p: Point, px_per_m: f64) -> f64 {
        match self {
            Self::Polygon(outline) => {
                if inside(outline, p) {
                    return 0.0;
                }
                let closing = [outline.last().copied(), outline.first().copied()];
                let around = nearest(outline, p).1;
                match closing {
                    [Some(a), Some(b)] => around.min(nearest(&[a, b], p).1),
                    _ => f64::INFINITY,
                }
            }
            Self::Path(path) => nearest(path, p).1,
            Self::Disc { at, radius_m } => (engine::plan::geometry::distance_m(*at, p) - radius_m).max(0.0),
            Self::Dot { at, radius_px } => {
                (engine::plan::geometry::distance_m(*at, p) - radius_px / px_per_m).max(0.0)
            }
            Self::Patches(patches) => {
                patches.iter().map(|patch| patch.distance_m(p)).fold(f64::INFINITY, f64::min)
            }
            Self::Dashes(lines) => lines.iter().map(|line| nearest(line, p).1).fold(f64::INFINITY, f64::min),
            Self::Text(_) => f64::INFINITY,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::session::Camera;

    fn square(x: f64, size: f64) -> Form {
        Form::Polygon(vec![
            Point::new(x, 0.0),
            Point::new(x + size, 0.0),
            Point::new(x + size, size),
            Point::new(x, size),
        ])
    }

    fn scene() -> (Scene, Look) {
        let mut scene = Scene::default();
        let fill = Some(Fill::Solid(Tone::Duct, 1.0));
        scene.push(None, square(-5.0, 20.0), fill, None);
        scene.push(Some(&"below".into()), square(0.0, 4.0), fill, None);
        scene.push(Some(&"above".into()), square(1.0, 1.0), fill, None);
        let camera = Camera { centre: Point::new(2.0, 2.0), px_per_m: 100.0 };
        (scene, Look { camera, width: 800.0, height: 600.0 })
    }

    #[test]
    fn the_topmost_item_is_picked_and_the_floor_is_not() {
        let (scene, look) = scene();
        let pick = |x, y| scene.pick(look.screen_from_plan(Point::new(x, y)), 6.0, &look);
        assert_eq!(pick(1.5, 0.5).as_deref(), Some("above"));
        assert_eq!(pick(3.0, 3.0).as_deref(), Some("below"));
        assert_eq!(pick(-2.0, 3.0), None);
    }

    #[test]
    fn a_thin_line_wins_over_the_zone_it_crosses() {
        let (mut scene, look) = scene();
        let mut zoned = Scene::default();
        zoned.push_backdrop(&"zone".into(), square(-5.0, 20.0), None);
        zoned.push(
            Some(&"line".into()),
            Form::Path(vec![Point::new(0.0, 1.0), Point::new(9.0, 1.0)]),
            None,
            None,
        );
        let pick = |scene: &Scene, y| scene.pick(look.screen_from_plan(Point::new(3.0, y)), 6.0, &look);
        assert_eq!(pick(&zoned, 1.04).as_deref(), Some("line"));
        assert_eq!(pick(&zoned, 1.2).as_deref(), Some("zone"));
        scene.shapes.push(zoned.shapes[1].clone());
        assert_eq!(pick(&scene, 1.04).as_deref(), Some("below"));
    }

    #[test]
    fn a_patch_is_picked_where_its_corners_are() {
        let patch = Patch {
            at: Point::new(2.0, 1.0),
            direction: (0.6, 0.8),
            along_m: 1.0,
            across_m: 0.4,
            tone: Tone::Paper,
        };
        let outline = Form::Polygon(patch.corners().to_vec());
        let patches = Form::Patches(vec![patch]);
        for k in 0..60 {
            let p = Point::new(1.0 + 0.03 * f64::from(k), 1.7 - 0.02 * f64::from(k));
            let (a, b) = (outline.distance_m(p, 100.0), patches.distance_m(p, 100.0));
            assert!((a - b).abs() < 1e-12, "{p:?} {a} {b}");
        }
    }

    #[test]
    fn just_outside_still_picks_within_reach() {
        let (scene, look) = scene();
        let pick = |x, reach| scene.pick(look.screen_from_plan(Point::new(x, 2.0)), reach, &look);
        assert_eq!(pick(4.05, 6.0).as_deref(), Some("below"));
        assert_eq!(pick(4.05, 4.0), None);
        assert_eq!(pick(4.15, 22.0).as_deref(), Some("below"));
    }

    #[test]
    fn stepping_runs_through_all_items_and_off_both_ends() {
        let mut scene = Scene::default();
        for id in ["a", "b"] {
            scene.items.push(Item { id: id.into(), spoken: id.into(), at: Point::new(0.0, 0.0) });
        }
        let step = |id, forward| scene.step(id, forward).map(|item| item.id.to_string());
        assert_eq!(step(None, true).as_deref(), Some("a"));
        assert_eq!(step(Some("a"), true).as_deref(), Some("b"));
        assert_eq!(step(Some("b"), true), None);
        assert_eq!(step(Some("a"), false), None);
        assert_eq!(step(None, false).as_deref(), Some("b"));
    }
}
