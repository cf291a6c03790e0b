//! Lines and outlines: move, insert and remove points.

use super::{CONVEYOR, ENCLOSURE};
use engine::error::EngineError;
use engine::plan::{Plan, Point};

/// A change of a line of points.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum PathEdit {
    /// A point goes elsewhere.
    Move {
        /// Which, from 0.
        point: usize,
        /// Where to.
        to: Point,
    },
    /// A new point half-way to the next one; after the last it carries on in the same direction.
    InsertAfter(usize),
    /// A point goes.
    Remove(usize),
}

/// Changes `path`, which keeps at least `least` points; `closed` if the last joins the first.
pub fn apply(path: &mut Vec<Point>, edit: PathEdit, least: usize, closed: bool) -> Result<(), EngineError> {
    let count = path.len();
    let missing = || EngineError::new("point", "is no longer there", "choose another point");
    match edit {
        PathEdit::Move { point, to } => *path.get_mut(point).ok_or_else(missing)? = to,
        PathEdit::InsertAfter(point) => {
            let here = *path.get(point).ok_or_else(missing)?;
            let next = if closed { path.get((point + 1) % count) } else { path.get(point + 1) };
            let new = match (next, point.checked_sub(1).and_then(|before| path.get(before))) {
                (Some(next), _) => Point::new((here.x_m + next.x_m) / 2.0, (here.y_m + next.y_m) / 2.0),
                (None, Some(before)) => onward(*before, here),
                (None, None) => Point::new(here.x_m + 1.0, here.y_m),
            };
            path.insert(point + 1, new);
        }
        PathEdit::Remove(point) => {
            if point >= count {
                return Err(missing());
            }
            if count <= least {
                return Err(EngineError::new(
                    "point",
                    format!("cannot be removed: {least} are the fewest here"),
                    "move it instead, or delete the whole item",
                ));
            }
            path.remove(point);
        }
    }
    Ok(())
}

/// One metre further from `before` through `here`.
fn onward(before: Point, here: Point) -> Point {
    let (dx, dy) = (here.x_m - before.x_m, here.y_m - before.y_m);
    let length = (dx * dx + dy * dy).sqrt();
    if length > 0.0 {
        Point::new(here.x_m + dx / length, here.y_m + dy / length)
    } else {
        Point::new(here.x_m + 1.0, here.y_m)
    }
}

/// The corners of a rectangle, from its lower left corner against the clock.
pub fn rectangle(corner: Point, length_m: f64, depth_m: f64) -> Vec<Point> {
    let (x, y) = (corner.x_m, corner.y_m);
    vec![
        Point::new(x, y),
        Point::new(x + length_m, y),
        Point::new(x + length_m, y + depth_m),
        Point::new(x, y + depth_m),
    ]
}

/// The points of item `id` that can be taken hold of one by one.
/// Inner walls follow the outline of the enclosure.
pub fn corners(plan: &Plan, id: &str) -> Vec<Point> {
    if id == ENCLOSURE {
        return plan.enclosure.outline.iter().chain(plan.enclosure.walls.iter().flatten()).copied().collect();
    }
    if id == CONVEYOR {
        return plan.conveyor.iter().flat_map(|conveyor| &conveyor.path).copied().collect();
    }
    let zone = plan.zones.iter().find(|zone| zone.id == id).map(|zone| &zone.outline);
    let duct = plan.ducts.iter().find(|duct| duct.id == id).map(|duct| &duct.path);
    zone.or(duct).cloned().unwrap_or_default()
}

/// Moves a point of an outline, a wall or the conveyor; neighbours along level or upright edges follow.
pub fn corner(plan: &mut Plan, id: &str, point: usize, to: Point) -> Result<(), EngineError> {
    let missing = || EngineError::new(id, "has no such corner any more", "choose another one");
    let outline = plan.enclosure.outline.len();
    let (path, point, closed) = if id == ENCLOSURE && point >= outline {
        let mut left = point - outline;
        let wall = plan.enclosure.walls.iter_mut().find(|wall| {
            let here = left < wall.len();
            if !here {
                left -= wall.len();
            }
            here
        });
        (wall.ok_or_else(missing)?, left, false)
    } else if id == ENCLOSURE {
        (&mut plan.enclosure.outline, point, true)
    } else if id == CONVEYOR {
        (&mut plan.conveyor.as_mut().ok_or_else(missing)?.path, point, false)
    } else if let Some(zone) = plan.zones.iter_mut().find(|zone| zone.id == id) {
        (&mut zone.outline, point, true)
    } else {
        let duct = plan.ducts.iter_mut().find(|duct| duct.id == id).ok_or_else(missing)?;
        (&mut duct.path, point, false)
    };
    let count = path.len();
    let here = *path.get(point).ok_or_else(missing)?;
    let before = if closed { Some((point + count - 1) % count) } else { point.checked_sub(1) };
    let after = if closed { Some((point + 1) % count) } else { Some(point + 1).filter(|i| *i < count) };
    for neighbour in [before, after].into_iter().flatten().filter(|i| *i != point) {
        let p = &mut path[neighbour];
        if (p.x_m - here.x_m).abs() < 1e-9 {
            p.x_m = to.x_m;
        } else if (p.y_m - here.y_m).abs() < 1e-9 {
            p.y_m = to.y_m;
        }
    }
    path[point] = to;
    Ok(())
}
