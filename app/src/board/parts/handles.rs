//! What lies over the picture: selection, hover, handles and the note of a running drag.

use super::{Form, Stroke, Tone, text};
use crate::board::camera::{Look, ScreenPoint};
use crate::board::scene::{Fill, Scene, Shape, Text};
use engine::plan::{Plan, Point};

/// A point of the selected duct that can be taken hold of.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Handle {
    /// Which point of the centre line.
    pub point: usize,
    /// Where it is.
    pub at: Point,
    /// An end rather than a bend.
    pub end: bool,
}

/// The handles of the duct `id`; none when it is no duct.
pub fn handles(plan: &Plan, id: Option<&str>) -> Vec<Handle> {
    let Some(duct) = id.and_then(|id| plan.ducts.iter().find(|duct| duct.id == id)) else {
        return Vec::new();
    };
    let last = duct.path.len().saturating_sub(1);
    duct.path
        .iter()
        .enumerate()
        .map(|(point, &at)| Handle { point, at, end: point == 0 || point == last })
        .collect()
}

/// The handle nearest to `at` within `reach_px`.
pub fn handle_under(handles: &[Handle], at: ScreenPoint, reach_px: f64, look: &Look) -> Option<Handle> {
    handles
        .iter()
        .map(|handle| (look.screen_from_plan(handle.at).distance(at), *handle))
        .filter(|(away, _)| *away <= reach_px)
        .min_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, handle)| handle)
}

/// What is drawn over the picture.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Marks<'a> {
    /// The selected item.
    pub selected: Option<&'a str>,
    /// The item under the pointer.
    pub hovered: Option<&'a str>,
    /// The point of the selected duct that keys move, or a drag holds.
    pub active_point: Option<usize>,
    /// The note of a running drag: where and what.
    pub note: Option<(Point, String)>,
}

/// The shapes over the picture: outlines of what is selected and hovered, handles, the drag's note.
pub fn overlay(scene: &Scene, plan: &Plan, marks: &Marks) -> Vec<Shape> {
    let mut over = Scene::default();
    // The body only, which is drawn first: the small parts of a symbol need no second outline.
    let mut outline = |id: &str, stroke: Stroke| {
        let body =
            scene.shapes.iter().filter(|s| s.item.as_deref() == Some(id)).find_map(|s| match &s.form {
                Form::Polygon(_) | Form::Disc { .. } => Some(s.form.clone()),
                _ => None,
            });
        if let Some(form) = body {
            over.push(None, form, None, Some(stroke));
        }
    };
    if let Some(id) = marks.hovered.filter(|id| marks.selected != Some(id)) {
        outline(id, Stroke::solid(Tone::Accent, 1.5));
    }
    if let Some(id) = marks.selected {
        outline(id, Stroke::solid(Tone::Accent, 2.5));
    }
    // A slot too small to be told from its neighbours still shows where it is.
    if let Some(slot) = marks.selected.and_then(|id| scene.slots.iter().find(|item| &*item.id == id)) {
        let ring = Form::Dot { at: slot.at, radius_px: 11.0 };
        over.push(None, ring, None, Some(Stroke::solid(Tone::Accent, 2.5)));
    }
    for handle in handles(plan, marks.selected) {
        let active = marks.active_point == Some(handle.point);
        let radius_px = if handle.end { 6.5 } else { 5.0 };
        let fill = if active { Tone::Accent } else { Tone::Paper };
        let form = Form::Dot { at: handle.at, radius_px };
        over.push(None, form, Some(Fill::Solid(fill, 1.0)), Some(Stroke::solid(Tone::Accent, 2.0)));
    }
    if let Some((at, words)) = &marks.note {
        let note = Text {
            bold: true,
            size_px: 13.0,
            shift_px: (0.0, -22.0),
            tone: Tone::Accent,
            ..text(*at, words.as_str())
        };
        over.push(None, Form::Text(note), None, None);
    }
    over.shapes
}
