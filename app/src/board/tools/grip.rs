//! What a drag takes hold of, and where it brings it.

use super::pen::way_words;
use super::snap::{self, Snap, shifted};
use super::{Context, Device, Tools};
use crate::board::camera::ScreenPoint;
use crate::board::parts::{Handle, handle_under, handles};
use crate::command::Command;
use crate::edit::{CONVEYOR, ENCLOSURE, Edit, GroupEdit, can_move};
use engine::plan::Point;
use engine::plan::geometry::{distance_m, length_m, nearest};
use engine::units::{Kind, show};

/// What a drag holds.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Grip {
    /// A point of a duct, and how far off it the pointer took hold.
    End { duct: String, snap: Snap, off: (f64, f64) },
    /// A straight of a duct, by its first point, moved sideways from where it was.
    Straight { duct: String, first: usize, from: (Point, Point), taken: Point },
    /// A return opening along its duct.
    Return { id: String },
    /// A corner of an outline or of the conveyor, and how far off it the pointer took hold.
    Corner { id: String, point: usize, off: (f64, f64) },
    /// Items together: where the pointer took hold, and how far they have come.
    Group { ids: Vec<String>, taken: Point, gone: (f64, f64) },
}

impl Grip {
    /// The name of the undo step.
    pub(super) fn label(&self) -> &'static str {
        match self {
            Self::End { .. } => "Move duct end",
            Self::Straight { .. } => "Shift duct",
            Self::Return { .. } => "Move return",
            Self::Corner { .. } => "Move corner",
            Self::Group { ids, .. } if ids.len() > 1 => "Move together",
            Self::Group { .. } => "Move item",
        }
    }
}

impl Tools {
    pub(super) fn handle_at(&self, at: ScreenPoint, device: Device, cx: &Context) -> Option<Handle> {
        let single = cx.selection.filter(|_| cx.also.is_empty());
        handle_under(&handles(cx.plan, single), at, device.handle_reach_px(), &cx.look)
    }

    /// What a drag from `at` would move: only what is selected already, so that nothing moves by accident.
    pub(super) fn grip(
        &self,
        handle: Option<Handle>,
        item: Option<&str>,
        at: ScreenPoint,
        cx: &Context,
    ) -> Option<Grip> {
        let taken = cx.look.plan_from_screen(at);
        let selected = cx.selection?;
        // Floors are taken hold of by their corners: a drag on them moves the picture.
        let is_floor = |id: &str| id == ENCLOSURE || cx.plan.zones.iter().any(|zone| zone.id == id);
        if !cx.also.is_empty() {
            let held = item.is_some_and(|id| {
                !is_floor(id) && (id == selected || cx.also.iter().any(|other| other == id))
            });
            let ids = std::iter::once(selected.to_owned()).chain(cx.also.iter().cloned()).collect();
            return held.then_some(Grip::Group { ids, taken, gone: (0.0, 0.0) });
        }
        if let Some(duct) = cx.plan.ducts.iter().find(|duct| duct.id == selected) {
            if let Some(handle) = handle {
                let off = (handle.at.x_m - taken.x_m, handle.at.y_m - taken.y_m);
                let snap = Snap::new(cx.plan, duct, handle.point, cx.units);
                return Some(Grip::End { duct: duct.id.clone(), snap, off });
            }
            // Its own sheet, or a slot cut in it.
            let own = item == Some(selected)
                || item.is_some_and(|id| {
                    cx.plan.slot_rows.iter().any(|row| {
                        row.duct == duct.id
                            && id.strip_prefix(row.id.as_str()).is_some_and(|r| r.starts_with('/'))
                    })
                });
            let first = (0..duct.path.len().saturating_sub(1)).min_by(|&a, &b| {
                let away = |i: usize| nearest(&duct.path[i..=i + 1], taken).1;
                away(a).total_cmp(&away(b))
            })?;
            let from = (duct.path[first], duct.path[first + 1]);
            return own.then(|| Grip::Straight { duct: duct.id.clone(), first, from, taken });
        }
        if let Some(handle) = handle {
            let off = (handle.at.x_m - taken.x_m, handle.at.y_m - taken.y_m);
            return Some(Grip::Corner { id: selected.to_owned(), point: handle.point, off });
        }
        if item != Some(selected) {
            return None;
        }
        if cx.plan.returns.iter().any(|r| r.id == selected && r.duct.is_some()) {
            return Some(Grip::Return { id: selected.to_owned() });
        }
        let free = can_move(cx.plan, selected) && !is_floor(selected) && selected != CONVEYOR;
        free.then(|| Grip::Group { ids: vec![selected.to_owned()], taken, gone: (0.0, 0.0) })
    }

    /// The commands that bring what is held to `to`; none when it is there already.
    pub(super) fn moved(
        &mut self,
        grip: &mut Grip,
        to: Point,
        last: &[Point],
        cx: &Context,
    ) -> (Vec<Command>, Vec<Point>) {
        match grip {
            Grip::End { duct, snap, off } => {
                let wanted = Point::new(to.x_m + off.0, to.y_m + off.1);
                let to = snap.place(wanted, cx.look.camera.px_per_m);
                let point = snap.point();
                let words = snap.neighbour().map(|from| way_words(from, to, cx.units));
                self.note = Some((to, words.unwrap_or_default()));
                if last == [to] {
                    return (Vec::new(), vec![to]);
                }
                (vec![Command::MoveDuctPoint { duct: duct.clone(), point, to }], vec![to])
            }
            Grip::Straight { duct, first, from, taken } => {
                let (a, b) = shifted(*from, (to.x_m - taken.x_m, to.y_m - taken.y_m), snap::grid_m(cx.units));
                self.note = Some((to, show(distance_m(from.0, a), Kind::Length, cx.units)));
                if last == [a, b] {
                    return (Vec::new(), vec![a, b]);
                }
                let commands = [(*first, a), (*first + 1, b)].map(|(point, to)| Command::MoveDuctPoint {
                    duct: duct.clone(),
                    point,
                    to,
                });
                (commands.into(), vec![a, b])
            }
            Grip::Corner { id, point, off } => {
                let grid = snap::grid_m(cx.units);
                let on = |v: f64| snap::on_grid(v, grid);
                let to = Point::new(on(to.x_m + off.0), on(to.y_m + off.1));
                let length = |m: f64| show(m, Kind::Length, cx.units);
                self.note = Some((to, format!("{}, {}", length(to.x_m), length(to.y_m))));
                if last == [to] {
                    return (Vec::new(), vec![to]);
                }
                (vec![Edit::Corner { id: id.clone(), point: *point, to }.into()], vec![to])
            }
            Grip::Group { ids, taken, gone } => {
                let grid = snap::grid_m(cx.units);
                let way = |now: f64, then: f64| snap::on_grid(now - then, grid);
                let wanted = (way(to.x_m, taken.x_m), way(to.y_m, taken.y_m));
                let length = |m: f64| show(m, Kind::Length, cx.units);
                self.note = Some((to, format!("{}, {}", length(wanted.0), length(wanted.1))));
                let (dx_m, dy_m) = (wanted.0 - gone.0, wanted.1 - gone.1);
                if dx_m == 0.0 && dy_m == 0.0 {
                    return (Vec::new(), last.to_vec());
                }
                *gone = wanted;
                let edit = GroupEdit::Move { dx_m, dy_m };
                (vec![Edit::Group { ids: ids.clone(), edit }.into()], last.to_vec())
            }
            Grip::Return { id } => {
                let Some((station_m, place)) = along_its_duct(cx, id, to) else {
                    return (Vec::new(), last.to_vec());
                };
                self.note = Some((place, show(station_m, Kind::Length, cx.units)));
                if last == [place] {
                    return (Vec::new(), vec![place]);
                }
                (vec![Command::MoveReturn { id: id.clone(), station_m }], vec![place])
            }
        }
    }
}

/// The station nearest to `to` on the duct of the return `id`, on the grid and clear of the duct's ends.
pub(super) fn along_its_duct(cx: &Context, id: &str, to: Point) -> Option<(f64, Point)> {
    let opening = cx.plan.returns.iter().find(|r| r.id == id)?;
    let duct = cx.plan.ducts.iter().find(|duct| Some(&duct.id) == opening.duct.as_ref())?;
    let total = length_m(&duct.path);
    let margin = (opening.width_m / 2.0).min(total / 2.0);
    let station_m =
        snap::on_grid(nearest(&duct.path, to).0, snap::grid_m(cx.units)).clamp(margin, total - margin);
    Some((station_m, engine::plan::geometry::along(&duct.path, station_m).0))
}
