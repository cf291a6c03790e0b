//! What lies over the picture: selection, hover, handles and the note of a running drag.

use super::{Form, Stroke, Tone, text};
use crate::board::camera::{Look, ScreenPoint};
use crate::board::outline::thick_line;
use crate::board::scene::Dash;
use crate::board::scene::{Fill, Ground, Scene, Shape, Text};
use crate::edit::{CONVEYOR, corners};
use engine::plan::geometry::{along, distance_m, length_m, section_at};
use engine::plan::{Plan, Point};

/// What is being drawn.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Preview {
    /// Its points, with the next one.
    pub path: Vec<Point>,
    /// The last joins the first.
    pub closed: bool,
    /// Width of the duct it becomes, m.
    pub width_m: f64,
    /// Where the next point goes.
    pub cross: Option<Point>,
    /// Lines that hold it there.
    pub guides: Vec<(Point, Point)>,
}

/// The four corners between two opposite ones.
pub fn rectangle_between(a: Point, b: Point) -> Vec<Point> {
    vec![a, Point::new(b.x_m, a.y_m), b, Point::new(a.x_m, b.y_m)]
}

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

/// The handles of `id`: a duct, an outline or the conveyor; none for anything else.
pub fn handles(plan: &Plan, id: Option<&str>) -> Vec<Handle> {
    let Some(id) = id else { return Vec::new() };
    let line = id == CONVEYOR || plan.ducts.iter().any(|duct| duct.id == id);
    let path = corners(plan, id);
    let last = path.len().saturating_sub(1);
    path.into_iter()
        .enumerate()
        .map(|(point, at)| Handle { point, at, end: line && (point == 0 || point == last) })
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
    /// What is selected besides.
    pub also: &'a [String],
    /// What is being drawn.
    pub preview: Option<Preview>,
    /// Where something is found against the drawing.
    pub found: Vec<(Point, Tone)>,
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
    let outline = |over: &mut Scene, id: &str, stroke: Stroke| {
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
        outline(&mut over, id, Stroke::solid(Tone::Accent, 1.5));
    }
    // A row has no shape of its own: the stretch of its duct that it serves.
    for id in marks.selected.into_iter().chain(marks.also.iter().map(String::as_str)) {
        if let Some(stretch) = row_stretch(plan, id) {
            let wash = Some(Fill::Solid(Tone::Accent, 0.18));
            over.push(None, Form::Polygon(stretch), wash, Some(Stroke::solid(Tone::Accent, 2.5)));
        }
    }
    for id in marks.selected.into_iter().chain(marks.also.iter().map(String::as_str)) {
        outline(&mut over, id, Stroke::solid(Tone::Accent, 2.5));
    }
    for (at, tone) in &marks.found {
        let disc = Form::Dot { at: *at, radius_px: 8.0 };
        over.push(None, disc, Some(Fill::Solid(*tone, 1.0)), Some(Stroke::solid(Tone::Paper, 1.5)));
        let mark =
            Text { bold: true, size_px: 12.0, tone: Tone::Paper, ground: Ground::None, ..text(*at, "!") };
        over.push(None, Form::Text(mark), None, None);
    }
    // A slot too small to be told from its neighbours still shows where it is.
    if let Some(slot) = marks.selected.and_then(|id| scene.slots.iter().find(|item| &*item.id == id)) {
        let ring = Form::Dot { at: slot.at, radius_px: 11.0 };
        over.push(None, ring, None, Some(Stroke::solid(Tone::Accent, 2.5)));
    }
    // Handles of several items would not say which of them they move.
    let single = marks.selected.filter(|_| marks.also.is_empty() && marks.preview.is_none());
    for handle in handles(plan, single) {
        let active = marks.active_point == Some(handle.point);
        let radius_px = if handle.end { 6.5 } else { 5.0 };
        let fill = if active { Tone::Accent } else { Tone::Paper };
        let form = Form::Dot { at: handle.at, radius_px };
        over.push(None, form, Some(Fill::Solid(fill, 1.0)), Some(Stroke::solid(Tone::Accent, 2.0)));
    }
    if let Some(preview) = &marks.preview {
        draw_preview(&mut over, preview);
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

/// The part of its duct that the slot row `id` serves, to the duct's width.
fn row_stretch(plan: &Plan, id: &str) -> Option<Vec<Point>> {
    let row = plan.slot_rows.iter().find(|row| row.id == id)?;
    let duct = plan.ducts.iter().find(|duct| duct.id == row.duct)?;
    let [from, to] = row.stretch_m().map(|station| station.clamp(0.0, length_m(&duct.path)));
    let mut path = vec![along(&duct.path, from).0];
    let mut station = 0.0;
    for pair in duct.path.windows(2) {
        station += distance_m(pair[0], pair[1]);
        if station > from && station < to {
            path.push(pair[1]);
        }
    }
    path.push(along(&duct.path, to).0);
    Some(thick_line(&path, section_at(duct, from).plan_width_m()))
}

fn draw_preview(over: &mut Scene, preview: &Preview) {
    for (from, to) in &preview.guides {
        let fine = Stroke::broken(Tone::Accent, 1.0, Dash::Dashed);
        over.push(None, Form::Path(vec![*from, *to]), None, Some(fine));
    }
    let path = &preview.path;
    if path.len() > 1 {
        if preview.width_m > 0.0 {
            let body = Form::Polygon(thick_line(path, preview.width_m));
            let fill = Some(Fill::Solid(Tone::Accent, 0.12));
            over.push(None, body, fill, Some(Stroke::solid(Tone::Accent, 1.0)));
        }
        let pen = Stroke::solid(Tone::Accent, 2.0);
        let (form, fill) = if preview.closed {
            (Form::Polygon(path.clone()), Some(Fill::Solid(Tone::Accent, 0.12)))
        } else {
            (Form::Path(path.clone()), None)
        };
        over.push(None, form, fill, Some(pen));
    }
    for at in path {
        let dot = Form::Dot { at: *at, radius_px: 3.5 };
        over.push(None, dot, Some(Fill::Solid(Tone::Accent, 1.0)), None);
    }
    if let Some(at) = preview.cross {
        let ring = Form::Dot { at, radius_px: 8.0 };
        over.push(None, ring, None, Some(Stroke::solid(Tone::Accent, 1.5)));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::board::fixture::demo;

    #[test]
    fn a_selected_row_is_marked_along_the_stretch_it_serves() {
        let plan = demo();
        let row = plan.slot_rows.iter().find(|row| row.id == "slots-cure-1").unwrap();
        let marks = Marks { selected: Some("slots-cure-1"), ..Marks::default() };
        let shapes = overlay(&Scene::default(), &plan, &marks);
        let [Shape { form: Form::Polygon(body), stroke: Some(stroke), .. }] = shapes.as_slice() else {
            panic!("{shapes:?}");
        };
        assert_eq!(stroke.tone, Tone::Accent);
        let (low, high) = body.iter().fold((f64::MAX, f64::MIN), |(l, h), p| (l.min(p.x_m), h.max(p.x_m)));
        let duct = plan.ducts.iter().find(|duct| duct.id == row.duct).unwrap();
        let [from, to] = row.stretch_m().map(|station| along(&duct.path, station).0.x_m);
        assert!((low - from).abs() < 1e-9 && (high - to).abs() < 1e-9, "{low} to {high}");
        assert!(overlay(&Scene::default(), &plan, &Marks::default()).is_empty());
    }
}
