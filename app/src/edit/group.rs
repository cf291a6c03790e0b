//! Several items at once: moved, mirrored, repeated along a line, deleted.

use super::{CONVEYOR, ENCLOSURE, ItemKind, fresh_id, kind_of, remove};
use engine::error::EngineError;
use engine::plan::{Duct, Face, Plan, Point};

/// An axis to mirror about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Axis {
    /// Left becomes right.
    Upright,
    /// Up becomes down.
    Level,
}

/// A change of several items.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum GroupEdit {
    /// All move together.
    Move {
        /// To the right, m.
        dx_m: f64,
        /// Up the page, m.
        dy_m: f64,
    },
    /// Each goes to the other side of an axis.
    Mirror {
        /// Which way the axis runs.
        axis: Axis,
        /// Where it is: its x if upright, its y if level, m.
        at_m: f64,
        /// The originals stay.
        copy: bool,
    },
    /// Copies in a line, each as far from the one before.
    Repeat {
        /// How many copies.
        copies: u32,
        /// From one to the next, to the right, m.
        dx_m: f64,
        /// From one to the next, up the page, m.
        dy_m: f64,
    },
    /// All go.
    Delete,
}

impl GroupEdit {
    /// What was done, before the names.
    pub fn word(self) -> &'static str {
        match self {
            Self::Move { .. } => "Move",
            Self::Mirror { .. } => "Mirror",
            Self::Repeat { .. } => "Repeat",
            Self::Delete => "Delete",
        }
    }
}

/// A coordinate in whole nanometres, so that going there and back ends where it began.
fn whole(v: f64) -> f64 {
    (v * 1e9).round() / 1e9
}

/// Whether `id` has a place of its own on the floor.
pub fn can_move(plan: &Plan, id: &str) -> bool {
    match kind_of(plan, id) {
        Some(ItemKind::Return) => plan.returns.iter().any(|item| item.id == id && item.duct.is_none()),
        Some(ItemKind::SlotRow | ItemKind::Slot(_) | ItemKind::FixedLoss) | None => false,
        Some(_) => true,
    }
}

/// Every point of the items `ids`.
pub fn each_point(plan: &mut Plan, ids: &[String], act: &mut dyn FnMut(&mut Point)) {
    let has = |id: &str| ids.iter().any(|other| other == id);
    if has(ENCLOSURE) {
        plan.enclosure
            .outline
            .iter_mut()
            .chain(plan.enclosure.walls.iter_mut().flatten())
            .for_each(&mut *act);
    }
    if has(&plan.heater.id) {
        act(&mut plan.heater.discharge);
        act(&mut plan.heater.intake);
    }
    if has(CONVEYOR) {
        plan.conveyor.iter_mut().flat_map(|conveyor| &mut conveyor.path).for_each(&mut *act);
    }
    plan.enclosure.columns.iter_mut().filter(|item| has(&item.id)).for_each(|item| act(&mut item.at));
    plan.openings.iter_mut().filter(|item| has(&item.id)).for_each(|item| act(&mut item.at));
    plan.exhausts.iter_mut().filter(|item| has(&item.id)).for_each(|item| act(&mut item.at));
    plan.sensors.iter_mut().filter(|item| has(&item.id)).for_each(|item| act(&mut item.at));
    for zone in plan.zones.iter_mut().filter(|item| has(&item.id)) {
        zone.outline.iter_mut().for_each(&mut *act);
    }
    for duct in plan.ducts.iter_mut().filter(|item| has(&item.id)) {
        duct.path.iter_mut().for_each(&mut *act);
    }
    for opening in plan.returns.iter_mut().filter(|item| item.duct.is_none() && has(&item.id)) {
        opening.at.iter_mut().for_each(&mut *act);
    }
}

/// Does it; the names to select afterwards, if they should change.
pub(super) fn group(plan: &mut Plan, ids: &[String], edit: GroupEdit) -> Result<Vec<String>, EngineError> {
    let place = || ids.first().cloned().unwrap_or_else(|| "selection".to_owned());
    if edit != GroupEdit::Delete && !ids.iter().any(|id| can_move(plan, id)) {
        return Err(EngineError::new(place(), "has no place of its own", "select the duct it is in"));
    }
    match edit {
        GroupEdit::Move { dx_m, dy_m } => {
            each_point(plan, ids, &mut |p| *p = Point::new(whole(p.x_m + dx_m), whole(p.y_m + dy_m)));
            Ok(Vec::new())
        }
        GroupEdit::Mirror { axis, at_m, copy } => {
            let chosen = if copy { copies(plan, ids)? } else { ids.to_vec() };
            each_point(plan, &chosen, &mut |p| match axis {
                Axis::Upright => p.x_m = whole(2.0 * at_m - p.x_m),
                Axis::Level => p.y_m = whole(2.0 * at_m - p.y_m),
            });
            // What was on the left is on the right.
            for row in plan.slot_rows.iter_mut().filter(|row| chosen.contains(&row.duct)) {
                row.face = match row.face {
                    Face::Left => Face::Right,
                    Face::Right => Face::Left,
                    Face::Top => Face::Top,
                };
            }
            Ok(if copy { chosen } else { Vec::new() })
        }
        GroupEdit::Repeat { copies: count, dx_m, dy_m } => {
            let mut made = Vec::new();
            for n in 1..=count.min(200) {
                let new = copies(plan, ids)?;
                let by = f64::from(n);
                each_point(plan, &new, &mut |p| {
                    *p = Point::new(whole(p.x_m + by * dx_m), whole(p.y_m + by * dy_m));
                });
                made.extend(new);
            }
            Ok(made)
        }
        GroupEdit::Delete => {
            for id in ids {
                // What stands on something deleted before has gone with it; the heater stays.
                let heater = ids.len() > 1 && *id == plan.heater.id;
                if kind_of(plan, id).is_some() && !heater {
                    remove::delete(plan, id)?;
                }
            }
            Ok(Vec::new())
        }
    }
}

/// `stem-7` without its number.
fn stem(id: &str) -> &str {
    id.rsplit_once('-').filter(|(_, n)| n.parse::<u32>().is_ok()).map_or(id, |(stem, _)| stem)
}

/// A copy of each item that there can be more than one of, in its place; the names of the copies.
fn copies(plan: &mut Plan, ids: &[String]) -> Result<Vec<String>, EngineError> {
    let mut made: Vec<(String, String)> = Vec::new();
    for id in ids {
        if !matches!(
            kind_of(plan, id),
            Some(
                ItemKind::Column
                    | ItemKind::Zone
                    | ItemKind::Opening
                    | ItemKind::Duct(_)
                    | ItemKind::Exhaust
                    | ItemKind::Sensor
                    | ItemKind::Return
            )
        ) {
            continue;
        }
        let new = fresh_id(plan, stem(id));
        macro_rules! again {
            ($list:expr) => {
                if let Some(item) = $list.iter().find(|item| item.id == *id).cloned() {
                    let mut item = item;
                    item.id.clone_from(&new);
                    $list.push(item);
                }
            };
        }
        again!(plan.enclosure.columns);
        again!(plan.zones);
        again!(plan.openings);
        again!(plan.ducts);
        again!(plan.exhausts);
        again!(plan.sensors);
        if plan.returns.iter().any(|item| item.id == *id && item.duct.is_none()) {
            again!(plan.returns);
        }
        if plan.ducts.iter().any(|duct: &Duct| duct.id == new) {
            on_duct(plan, id, &new);
        }
        made.push((id.clone(), new));
    }
    if made.is_empty() {
        let place = ids.first().cloned().unwrap_or_default();
        return Err(EngineError::new(
            place,
            "there is only one of it in an oven",
            "select ducts, columns or zones",
        ));
    }
    // Openings and exhausts of a copied zone belong to the copy.
    let now = |id: &mut String| {
        if let Some((_, new)) = made.iter().find(|(old, _)| old == id) {
            id.clone_from(new);
        }
    };
    let is_new = |id: &str| made.iter().any(|(_, new)| new == id);
    plan.openings.iter_mut().filter(|item| is_new(&item.id)).for_each(|item| {
        now(&mut item.zone);
        item.to_zone.iter_mut().for_each(now);
    });
    plan.exhausts.iter_mut().filter(|item| is_new(&item.id)).for_each(|item| now(&mut item.zone));
    let sensors = plan.sensors.iter_mut().filter(|item| is_new(&item.id));
    sensors.for_each(|item| item.zone.iter_mut().for_each(now));
    Ok(made.into_iter().map(|(_, new)| new).filter(|id| kind_of(plan, id).is_some()).collect())
}

/// Slot rows and returns of a duct, again on its copy.
fn on_duct(plan: &mut Plan, from: &str, to: &str) {
    let rows: Vec<_> = plan.slot_rows.iter().filter(|row| row.duct == from).cloned().collect();
    for mut row in rows {
        row.id = fresh_id(plan, &format!("slots-{to}"));
        to.clone_into(&mut row.duct);
        plan.slot_rows.push(row);
    }
    let openings: Vec<_> =
        plan.returns.iter().filter(|item| item.duct.as_deref() == Some(from)).cloned().collect();
    for mut opening in openings {
        opening.id = fresh_id(plan, stem(&opening.id));
        opening.duct = Some(to.to_owned());
        plan.returns.push(opening);
    }
}
