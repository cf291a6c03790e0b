//! From plan and analysis to the board's shapes.

mod bays;
mod ducts;
mod floor;
mod handles;
mod openings;
mod sensors;
mod slots;

pub use bays::BAY_FULL_K;
pub use handles::{Handle, Marks, Preview, handle_under, handles, overlay, rectangle_between};
pub use openings::free_fraction;
pub use slots::slot_spoken;

use super::labels::{Room, Spot};
use super::outline;
use super::scene::{Align, Fill, Form, Ground, ItemId, Scene, Stroke, Text, Tone};
use crate::charts::display::{Display, short};
use engine::analysis::{Analysis, ReturnResult, RunProfile};
use engine::plan::geometry::{Joint, joints};
use engine::plan::{Plan, Point, Section};
use engine::units::{Kind, UnitSystem};
use std::collections::HashMap;

/// Letters of labels, px.
const LABEL_PX: f64 = 11.0;
/// From here on two things are far enough apart to be picked singly, px.
const SINGLE_PX: f64 = 18.0;

/// What the picture is made of.
#[derive(Clone, Copy, Debug)]
pub struct Source<'a> {
    /// The plan.
    pub plan: &'a Plan,
    /// The newest analysis, perhaps of a plan a moment older.
    pub analysis: Option<&'a Analysis>,
    /// Units people read.
    pub units: UnitSystem,
    /// Scale: it decides how much is written and drawn.
    pub px_per_m: f64,
    /// Width of the page's letters against the usual; 1 where nobody measured.
    pub letters: f64,
    /// Whether bays are drawn with their temperatures.
    pub bays: bool,
}

/// Draws the whole plan.
pub fn scene(source: Source) -> Scene {
    let mut drawing = Drawing::new(source);
    drawing.zones();
    if source.bays {
        drawing.bays();
    }
    drawing.walls();
    drawing.product_openings();
    drawing.columns();
    drawing.ducts();
    drawing.conveyor();
    drawing.heater();
    drawing.exhausts();
    drawing.sensors();
    if source.bays {
        drawing.bay_numbers();
    }
    drawing.labels();
    drawing.scene
}

/// A scene under construction.
struct Drawing<'a> {
    plan: &'a Plan,
    units: UnitSystem,
    scale: f64,
    joints: Vec<Joint>,
    returns: HashMap<&'a str, &'a ReturnResult>,
    profiles: HashMap<&'a str, &'a RunProfile>,
    /// Smallest and largest deviation of each duct's slots.
    ranges: HashMap<&'a str, (f64, f64)>,
    analysis: Option<&'a Analysis>,
    room: Room,
    scene: Scene,
}

impl<'a> Drawing<'a> {
    fn new(source: Source<'a>) -> Self {
        let analysis = source.analysis;
        let (returns, profiles) = analysis.map_or_else(Default::default, |a| {
            (
                a.returns.iter().map(|r| (r.id.as_str(), r)).collect(),
                a.runs.iter().map(|r| (r.id.as_str(), r)).collect(),
            )
        });
        Self {
            plan: source.plan,
            units: source.units,
            scale: source.px_per_m,
            joints: outline::drawn_joints(source.plan, &joints(source.plan)),
            returns,
            profiles,
            ranges: analysis.map_or_else(HashMap::new, slot_ranges),
            analysis,
            room: Room::new(source.px_per_m, source.letters),
            scene: Scene::default(),
        }
    }

    fn line(&mut self, item: Option<&ItemId>, path: Vec<Point>, stroke: Stroke) {
        self.scene.push(item, Form::Path(path), None, Some(stroke));
    }

    fn polygon(&mut self, item: Option<&ItemId>, outline: Vec<Point>, fill: Fill, stroke: Option<Stroke>) {
        self.scene.push(item, Form::Polygon(outline), Some(fill), stroke);
    }

    fn write(&mut self, text: Text) {
        self.scene.push(None, Form::Text(text), None, None);
    }

    /// Writes the first wording that finds room in one of `spots`.
    fn label(&mut self, wordings: &[String], like: &Text, spots: &[Spot]) {
        if let Some(text) = self.room.place(wordings, like, spots) {
            self.write(text);
        }
    }

    /// Labels last, the most wanted first: each takes what room is left.
    fn labels(&mut self) {
        self.heater_label();
        self.zone_labels();
        self.duct_labels();
        self.return_labels();
        self.small_labels();
    }
}

/// A plain label at `at`.
fn text(at: Point, words: impl Into<String>) -> Text {
    Text {
        text: words.into(),
        at,
        shift_px: (0.0, 0.0),
        size_px: LABEL_PX,
        align: Align::Middle,
        bold: false,
        tone: Tone::Ink,
        ground: Ground::Halo(Tone::Paper),
        upwards: false,
    }
}

/// What an item is called: its name, else its id.
pub fn called<'n>(name: &'n str, id: &'n str) -> &'n str {
    if name.trim().is_empty() { id } else { name }
}

/// A duct's inside size: "450 × 400 mm", "⌀ 300 mm".
pub fn section_text(section: Section, units: UnitSystem) -> String {
    let d = Display::of(Kind::ShopLength, units);
    let digits = if units == UnitSystem::Si { 1 } else { 2 };
    let number = |m: f64| short(d.number(m), digits);
    match section {
        Section::Rectangular { width_m, height_m } => {
            format!("{} × {}\u{a0}{}", number(width_m), number(height_m), d.symbol)
        }
        Section::Round { diameter_m } => format!("⌀\u{a0}{}\u{a0}{}", number(diameter_m), d.symbol),
    }
}

/// By how much a flow misses its target, as a fraction; none without a target.
pub fn deviation(actual: f64, target: f64) -> Option<f64> {
    (target.abs() > 0.0).then(|| actual / target - 1.0).filter(|d| d.is_finite())
}

fn wider(a: (f64, f64), b: (f64, f64)) -> (f64, f64) {
    (a.0.min(b.0), a.1.max(b.1))
}

/// The smallest and largest deviation of each duct's slots.
fn slot_ranges(analysis: &Analysis) -> HashMap<&str, (f64, f64)> {
    let mut ranges: HashMap<&str, (f64, f64)> = HashMap::new();
    // The slots of a row come one after the other.
    for row in analysis.slots.chunk_by(|a, b| a.run == b.run) {
        let misses = row.iter().filter_map(|slot| deviation(slot.mass_flow_kg_s, slot.target_kg_s));
        let ends = misses.map(|miss| (miss, miss)).reduce(wider);
        if let Some(ends) = ends {
            let known = ranges.entry(&row[0].run).or_insert(ends);
            *known = wider(*known, ends);
        }
    }
    ranges
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::board::camera::{Bounds, Look};
    use crate::board::fixture::{demo, invented};
    use engine::plan::geometry::slot_places;
    use std::collections::HashSet;

    fn drawn(px_per_m: f64) -> (Plan, Scene) {
        let plan = demo();
        let analysis = invented(&plan);
        let source = Source {
            plan: &plan,
            analysis: Some(&analysis),
            units: UnitSystem::Si,
            px_per_m,
            letters: 1.0,
            bays: false,
        };
        let scene = scene(source);
        (plan, scene)
    }

    fn texts(scene: &Scene) -> Vec<&str> {
        scene
            .shapes
            .iter()
            .filter_map(|s| if let Form::Text(t) = &s.form { Some(t.text.as_str()) } else { None })
            .collect()
    }

    #[test]
    fn every_item_of_the_plan_can_be_picked_or_stepped_to() {
        let (plan, scene) = drawn(40.0);
        let ids: HashSet<&str> = scene.items.iter().map(|i| &*i.id).collect();
        for duct in &plan.ducts {
            assert!(ids.contains(duct.id.as_str()), "{}", duct.id);
        }
        for opening in &plan.returns {
            assert!(ids.contains(opening.id.as_str()), "{}", opening.id);
        }
        for id in ["heater", "dry-off", "cure", "entry", "pass", "exit", "column-1", "exhaust"] {
            assert!(ids.contains(id), "{id}");
        }
        let drawn: HashSet<&str> = scene.shapes.iter().filter_map(|s| s.item.as_deref()).collect();
        for id in ids {
            assert!(drawn.contains(id), "{id} cannot be picked by pointer");
        }
    }

    #[test]
    fn every_number_in_the_scene_is_finite() {
        for scale in [4.0, 40.0, 400.0, 3000.0] {
            let (_, scene) = drawn(scale);
            for shape in &scene.shapes {
                let ok = |p: &Point| p.x_m.is_finite() && p.y_m.is_finite();
                assert!(match &shape.form {
                    Form::Polygon(path) | Form::Path(path) => path.iter().all(ok),
                    Form::Disc { at, .. } | Form::Dot { at, .. } => ok(at),
                    Form::Patches(patches) => patches.iter().all(|patch| patch.corners().iter().all(ok)),
                    Form::Dashes(lines) => lines.iter().flatten().all(ok),
                    Form::Text(t) => ok(&t.at) && t.shift_px.0.is_finite() && t.shift_px.1.is_finite(),
                });
            }
        }
    }

    #[test]
    fn a_far_slot_picks_its_run_and_a_near_one_itself() {
        let plan = demo();
        let place = slot_places(&plan).into_iter().find(|p| p.id == "slots-cure-1/7").unwrap();
        for (scale, expected) in [(20.0, "cure-1"), (120.0, "slots-cure-1/7")] {
            let (_, scene) = drawn(scale);
            let camera = crate::session::Camera { centre: place.at, px_per_m: scale };
            let look = Look { camera, width: 800.0, height: 600.0 };
            assert_eq!(scene.pick(look.middle(), 4.0, &look).as_deref(), Some(expected));
        }
    }

    #[test]
    fn slots_of_a_varied_row_are_drawn_where_and_as_long_as_they_are_cut() {
        let mut plan = demo();
        plan.slot_rows.retain(|row| row.duct == "cure-1");
        let row = &mut plan.slot_rows[0];
        row.count = 3;
        row.widths_m = vec![0.014];
        row.stations_m = vec![1.0, 1.2, 6.0];
        row.lengths_m = vec![0.3, 0.25, 0.2];
        let source = Source {
            plan: &plan,
            analysis: None,
            units: UnitSystem::Si,
            px_per_m: 100.0,
            letters: 1.0,
            bays: false,
        };
        let scene = scene(source);
        // At this scale close neighbours are picked with their run, the one apart by itself.
        let id = row_slot(&plan, 2);
        let own = scene.shapes.iter().filter(|shape| shape.item.as_deref() == Some(id.as_str()));
        let bounds: Vec<_> = own.filter_map(|s| Bounds::around(s.form.points().iter().copied())).collect();
        assert_eq!(bounds.len(), 1);
        let place = &slot_places(&plan)[2];
        assert!((place.station_m - 6.0).abs() < 1e-9);
        let sizes = [bounds[0].width_m(), bounds[0].height_m()];
        assert!(sizes.iter().any(|size| (size - 0.2).abs() < 1e-9), "{sizes:?}");
        assert!(!scene.shapes.iter().any(|s| s.item.as_deref() == Some(row_slot(&plan, 0).as_str())));
    }

    fn row_slot(plan: &Plan, k: usize) -> String {
        plan.slot_rows[0].slot_id(k)
    }

    #[test]
    fn numbers_with_signs_appear_on_slots_once_there_is_room() {
        let signed = |scale| {
            let (_, scene) = drawn(scale);
            let number = |t: &&&str| t.starts_with(['+', '\u{2212}']) && !t.contains('%');
            texts(&scene).iter().filter(number).count()
        };
        assert_eq!(signed(20.0), 0);
        assert!(signed(80.0) >= 100, "{}", signed(80.0));
    }

    #[test]
    fn labels_do_not_lie_on_each_other() {
        for scale in [24.0, 34.0, 60.0] {
            let (_, scene) = drawn(scale);
            let frames: Vec<(String, [f64; 4])> = scene
                .shapes
                .iter()
                .filter_map(|s| match &s.form {
                    Form::Text(t) if t.size_px >= LABEL_PX && !t.upwards => {
                        let (w, x) = (t.width_px(), t.at.x_m * scale + t.shift_px.0);
                        let y = -t.at.y_m * scale + t.shift_px.1;
                        let x0 = match t.align {
                            Align::Start => x,
                            Align::Middle => x - w / 2.0,
                            Align::End => x - w,
                        };
                        Some((t.text.clone(), [x0, y - 5.0, x0 + w, y + 5.0]))
                    }
                    _ => None,
                })
                .collect();
            for (i, (a, f)) in frames.iter().enumerate() {
                for (b, g) in &frames[i + 1..] {
                    let apart = f[2] <= g[0] || g[2] <= f[0] || f[3] <= g[1] || g[3] <= f[1];
                    assert!(apart, "{a} over {b} at {scale} px/m");
                }
            }
        }
    }

    #[test]
    fn an_empty_plan_is_a_picture_too() {
        let mut plan = demo();
        plan.ducts.clear();
        plan.slot_rows.clear();
        plan.returns.clear();
        plan.zones.clear();
        plan.conveyor = None;
        plan.enclosure.outline.clear();
        let source = Source {
            plan: &plan,
            analysis: None,
            units: UnitSystem::InchPound,
            px_per_m: 40.0,
            letters: 1.0,
            bays: true,
        };
        let scene = scene(source);
        assert!(scene.items.iter().any(|i| &*i.id == "heater"));
        let bounds = Bounds::of_plan(&plan);
        assert!(bounds.width_m() > 1.0 && bounds.height_m() > 1.0);
    }

    #[test]
    fn sizes_are_written_in_the_readers_units() {
        let section = Section::Rectangular { width_m: 0.4572, height_m: 0.3048 };
        assert_eq!(section_text(section, UnitSystem::InchPound), "18 × 12\u{a0}in");
        assert_eq!(section_text(section, UnitSystem::Si), "457.2 × 304.8\u{a0}mm");
    }
}
