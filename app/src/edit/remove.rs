//! Deleting and renaming items together with what refers to them.

use super::{CONVEYOR, ENCLOSURE, ItemKind, SlotRowEdit, all_ids, kind_of};
use engine::error::EngineError;
use engine::plan::Plan;

/// Items that go when `id` goes: slot rows and returns of a duct, openings and exhausts of a zone.
pub fn dependents(plan: &Plan, id: &str) -> Vec<String> {
    match kind_of(plan, id) {
        Some(ItemKind::Duct(_)) => {
            let rows = plan.slot_rows.iter().filter(|row| row.duct == id).map(|row| row.id.clone());
            let returns = plan.returns.iter().filter(|item| item.duct.as_deref() == Some(id));
            rows.chain(returns.map(|item| item.id.clone())).collect()
        }
        Some(ItemKind::Zone) => {
            let openings = plan.openings.iter().filter(|item| item.zone == id).map(|item| item.id.clone());
            let exhausts = plan.exhausts.iter().filter(|item| item.zone == id).map(|item| item.id.clone());
            let sensors = plan.sensors.iter().filter(|item| item.zone.as_deref() == Some(id));
            openings.chain(exhausts).chain(sensors.map(|item| item.id.clone())).collect()
        }
        _ => Vec::new(),
    }
}

/// What deleting `id` says on its button.
pub fn delete_label(plan: &Plan, id: &str) -> String {
    match dependents(plan, id).as_slice() {
        [] => format!("Delete {id}"),
        [one] => format!("Delete {id} and {one}"),
        many => format!("Delete {id} and {} items on it", many.len()),
    }
}

pub(super) fn delete(plan: &mut Plan, id: &str) -> Result<(), EngineError> {
    let gone = dependents(plan, id);
    let stays = |item: &String| item != id && !gone.contains(item);
    match kind_of(plan, id) {
        Some(ItemKind::Heater) => {
            return Err(EngineError::new(id, "every oven has a heater", "change it instead of deleting it"));
        }
        Some(ItemKind::Slot(slot)) => {
            let (row, _) = id.rsplit_once('/').unwrap_or_default();
            if let Some(row) = plan.slot_rows.iter_mut().find(|item| item.id == row) {
                // A row is evenly pitched; only its last slot can go without leaving a hole.
                if slot + 1 != row.count as usize || row.count == 1 {
                    return Err(EngineError::new(
                        format!("slot {id}"),
                        "stands between its neighbours in a row of even pitch",
                        "change the number of slots of the row, or delete the row",
                    ));
                }
                let fewer = row.count - 1;
                super::row::row(row, &SlotRowEdit::Count(fewer))?;
            }
        }
        Some(ItemKind::Enclosure) if id == ENCLOSURE => {
            plan.enclosure.outline.clear();
            plan.enclosure.walls.clear();
        }
        Some(ItemKind::Conveyor) if id == CONVEYOR => plan.conveyor = None,
        Some(_) => {}
        None => return Err(EngineError::new(id, "is no longer in the plan", "nothing needs deleting")),
    }
    plan.heater.fixed_losses.retain(|item| stays(&item.id));
    plan.enclosure.columns.retain(|item| stays(&item.id));
    plan.zones.retain(|item| stays(&item.id));
    plan.openings.retain(|item| stays(&item.id));
    for opening in &mut plan.openings {
        if opening.to_zone.as_deref() == Some(id) {
            opening.to_zone = None;
        }
    }
    plan.ducts.retain(|item| stays(&item.id));
    for damper in plan.ducts.iter_mut().filter_map(|duct| duct.damper.as_mut()) {
        damper.modulation.take_if(|modulation| modulation.zone == id);
    }
    plan.shop.speed_limits.retain(|limit| limit.zone.as_deref() != Some(id));
    plan.slot_rows.retain(|item| stays(&item.id));
    plan.returns.retain(|item| stays(&item.id));
    plan.exhausts.retain(|item| stays(&item.id));
    plan.sensors.retain(|item| stays(&item.id));
    Ok(())
}

pub(super) fn rename(plan: &mut Plan, from: &str, to: &str) -> Result<String, EngineError> {
    let to = to.trim();
    let refuse = |problem: &str, remedy: &str| Err(EngineError::new(from, problem, remedy));
    if to == from {
        return Ok(to.to_owned());
    }
    if to.is_empty() || to.chars().count() > 60 || to.contains('/') || to.chars().any(char::is_control) {
        return refuse("a name has 1 to 60 characters and no slash", "choose another name");
    }
    if all_ids(plan).contains(&to) || to == ENCLOSURE || to == CONVEYOR {
        return refuse(&format!("the name {to} is taken"), "choose another name");
    }
    if !all_ids(plan).contains(&from) {
        return refuse("is no longer in the plan", "select another item");
    }
    let swap = |id: &mut String| {
        if id == from {
            to.clone_into(id);
        }
    };
    swap(&mut plan.heater.id);
    plan.heater.fixed_losses.iter_mut().for_each(|item| swap(&mut item.id));
    plan.enclosure.columns.iter_mut().for_each(|item| swap(&mut item.id));
    plan.zones.iter_mut().for_each(|item| swap(&mut item.id));
    for item in &mut plan.openings {
        swap(&mut item.id);
        swap(&mut item.zone);
        item.to_zone.iter_mut().for_each(swap);
    }
    for item in &mut plan.ducts {
        swap(&mut item.id);
        let modulation = item.damper.as_mut().and_then(|damper| damper.modulation.as_mut());
        modulation.into_iter().for_each(|modulation| swap(&mut modulation.zone));
    }
    plan.shop.speed_limits.iter_mut().filter_map(|limit| limit.zone.as_mut()).for_each(swap);
    for item in &mut plan.slot_rows {
        swap(&mut item.id);
        swap(&mut item.duct);
    }
    for item in &mut plan.returns {
        swap(&mut item.id);
        item.duct.iter_mut().for_each(swap);
    }
    for item in &mut plan.exhausts {
        swap(&mut item.id);
        swap(&mut item.zone);
    }
    for item in &mut plan.sensors {
        swap(&mut item.id);
        item.zone.iter_mut().for_each(swap);
    }
    for item in &mut plan.accepted {
        item.item.iter_mut().for_each(swap);
    }
    Ok(to.to_owned())
}
