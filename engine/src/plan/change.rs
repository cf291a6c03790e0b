//! What became of a plan: the items that differ, each as the text it has in the file.
//!
//! A hand that drags changes one item of a plan with a thousand slots; whoever knows the plan of before needs
//! to read only that.

use super::{Plan, file};
use crate::error::EngineError;
use serde::{Deserialize, Serialize};

/// An item as it is now.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Change {
    part: Part,
    index: usize,
    text: String,
}

/// Where it is in the plan.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
enum Part {
    Duct,
    SlotRow,
    Return,
    Heater,
}

/// What makes `after` of `before`; none where they differ in anything but single items.
pub fn changes(before: &Plan, after: &Plan) -> Option<Vec<Change>> {
    let mut changes = Vec::new();
    // So that nothing that differs is left out.
    let mut reached = before.clone();
    differing(Part::Duct, &mut reached.ducts, &after.ducts, &mut changes)?;
    differing(Part::SlotRow, &mut reached.slot_rows, &after.slot_rows, &mut changes)?;
    differing(Part::Return, &mut reached.returns, &after.returns, &mut changes)?;
    let heater = core::slice::from_mut(&mut reached.heater);
    differing(Part::Heater, heater, core::slice::from_ref(&after.heater), &mut changes)?;
    (reached == *after).then_some(changes)
}

fn differing<T: Clone + PartialEq + Serialize>(
    part: Part,
    before: &mut [T],
    after: &[T],
    changes: &mut Vec<Change>,
) -> Option<()> {
    if before.len() != after.len() {
        return None;
    }
    for (index, (old, new)) in before.iter_mut().zip(after).enumerate() {
        if old != new {
            old.clone_from(new);
            changes.push(Change { part, index, text: serde_json::to_string_pretty(new).ok()? });
        }
    }
    Some(())
}

impl Plan {
    /// The plan with these changes.
    pub fn changed(&self, changes: &[Change]) -> Result<Self, EngineError> {
        let mut plan = self.clone();
        for Change { part, index, text } in changes {
            match part {
                Part::Duct => set(&mut plan.ducts, *index, text)?,
                Part::SlotRow => set(&mut plan.slot_rows, *index, text)?,
                Part::Return => set(&mut plan.returns, *index, text)?,
                Part::Heater => set(core::slice::from_mut(&mut plan.heater), *index, text)?,
            }
        }
        Ok(plan)
    }
}

fn set<T: serde::de::DeserializeOwned>(items: &mut [T], index: usize, text: &str) -> Result<(), EngineError> {
    match items.get_mut(index) {
        Some(item) => *item = file::from_json(text)?,
        None => {
            return Err(EngineError::new(
                "the plan",
                "a change names an item that is not there",
                "send the whole plan",
            ));
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn plan() -> Plan {
        file::read(include_str!("../../../tests/plans/garden-gates.evenrise.json")).expect("it opens")
    }

    #[test]
    fn single_items_travel_and_arrive_to_the_last_bit() {
        let before = plan();
        let edits: [fn(&mut Plan); 5] = [
            |_| {},
            |plan| plan.ducts[3].path[1].x_m += 0.1 + 1e-13,
            |plan| plan.slot_rows[2].widths_m = vec![0.1 + 0.2; plan.slot_rows[2].count as usize],
            |plan| plan.heater.fan.speed_rpm /= 3.0,
            |plan| (plan.ducts[0].name, plan.returns[1].station_m) = ("x".into(), 1.0 / 3.0),
        ];
        for (k, edit) in edits.into_iter().enumerate() {
            let mut after = before.clone();
            edit(&mut after);
            let changes = changes(&before, &after).expect("only items differ");
            assert_eq!(changes.len(), [0, 1, 1, 1, 2][k]);
            assert_eq!(before.changed(&changes).expect("it arrives"), after);
        }
    }

    #[test]
    fn more_than_single_items_is_no_change() {
        let before = plan();
        let edits: [fn(&mut Plan); 3] = [
            |plan| plan.name.push('x'),
            |plan| drop(plan.ducts.pop()),
            |plan| plan.zones[0].set_temperature_c += 1.0,
        ];
        for edit in edits {
            let mut after = before.clone();
            edit(&mut after);
            assert_eq!(changes(&before, &after), None);
        }
        let mut after = before.clone();
        after.ducts[3].name.push('x');
        let changes = changes(&before, &after).expect("one item differs");
        let mut short = before;
        short.ducts.truncate(1);
        assert!(short.changed(&changes).is_err());
    }
}
