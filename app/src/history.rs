//! Undo and redo: whole plans, shared where nothing changed, one entry a gesture.

use engine::plan::Plan;
use std::rc::Rc;

/// Steps kept; the oldest are dropped first.
pub const CAP: usize = 200;

/// One step that can be taken back or again.
#[derive(Clone, Debug)]
pub struct Entry {
    /// What was done, as the user knows it: "Move duct".
    pub label: String,
    /// The plan on the other side of the step.
    pub plan: Rc<Plan>,
}

/// A gesture that has begun and is neither committed nor aborted.
#[derive(Clone, Debug)]
struct Gesture {
    label: String,
    start: Rc<Plan>,
}

/// What was done and can be undone, what was undone and can be done again.
#[derive(Clone, Debug, Default)]
pub struct History {
    undo: Vec<Entry>,
    redo: Vec<Entry>,
    gesture: Option<Gesture>,
}

impl History {
    /// Holds `plan` as the start of a gesture; a gesture under way goes on.
    pub fn begin(&mut self, label: impl Into<String>, plan: &Rc<Plan>) {
        if self.gesture.is_none() {
            self.gesture = Some(Gesture { label: label.into(), start: plan.clone() });
        }
    }

    /// Whether a gesture is under way.
    pub fn in_gesture(&self) -> bool {
        self.gesture.is_some()
    }

    /// Ends the gesture: one entry if the plan changed, none if it did not.
    pub fn commit(&mut self, now: &Rc<Plan>) {
        if let Some(gesture) = self.gesture.take()
            && !Rc::ptr_eq(&gesture.start, now)
            && gesture.start != *now
        {
            self.push(gesture.label, gesture.start);
        }
    }

    /// Ends the gesture as if it had never begun; the plan it began with.
    pub fn abort(&mut self) -> Option<Rc<Plan>> {
        self.gesture.take().map(|gesture| gesture.start)
    }

    /// Records a change made at once: `before` is the plan it began with.
    pub fn record(&mut self, label: impl Into<String>, before: Rc<Plan>) {
        if self.gesture.is_none() {
            self.push(label.into(), before);
        }
    }

    fn push(&mut self, label: String, plan: Rc<Plan>) {
        self.redo.clear();
        self.undo.push(Entry { label, plan });
        if self.undo.len() > CAP {
            self.undo.remove(0);
        }
    }

    /// Takes the last step back: its label and the plan before it.
    pub fn undo(&mut self, now: &Rc<Plan>) -> Option<Entry> {
        let entry = self.undo.pop()?;
        self.redo.push(Entry { label: entry.label.clone(), plan: now.clone() });
        Some(entry)
    }

    /// Takes the last undone step again: its label and the plan after it.
    pub fn redo(&mut self, now: &Rc<Plan>) -> Option<Entry> {
        let entry = self.redo.pop()?;
        self.undo.push(Entry { label: entry.label.clone(), plan: now.clone() });
        Some(entry)
    }

    /// What `undo` would take back.
    pub fn undo_label(&self) -> Option<&str> {
        self.undo.last().map(|entry| entry.label.as_str())
    }

    /// What `redo` would do again.
    pub fn redo_label(&self) -> Option<&str> {
        self.redo.last().map(|entry| entry.label.as_str())
    }

    /// How many steps can be taken back.
    pub fn depth(&self) -> usize {
        self.undo.len()
    }
}
