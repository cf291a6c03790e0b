//! Undo and redo: whole plans, shared where nothing changed, one entry a gesture.

use engine::plan::Plan;
use std::collections::VecDeque;
use std::rc::Rc;

/// So many steps are kept whatever they take.
pub const LEAST_STEPS: usize = 500;
/// Beyond those the oldest are dropped while all together take more than this, bytes.
pub const MOST_BYTES: usize = 64 << 20;

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
    undo: VecDeque<Entry>,
    redo: Vec<Entry>,
    /// What the plans of `undo` take, bytes.
    bytes: usize,
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

    /// What the gesture under way is called.
    pub fn gesture_label(&self) -> Option<&str> {
        self.gesture.as_ref().map(|gesture| gesture.label.as_str())
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
        self.remember(Entry { label, plan });
    }

    fn remember(&mut self, entry: Entry) {
        self.bytes += weight(&entry.plan);
        self.undo.push_back(entry);
        while self.undo.len() > LEAST_STEPS && self.bytes > MOST_BYTES {
            let gone = self.undo.pop_front();
            self.bytes -= gone.map_or(0, |gone| weight(&gone.plan));
        }
    }

    /// Whether no more is kept than may be.
    pub fn is_within_bounds(&self) -> bool {
        let bytes: usize = self.undo.iter().map(|entry| weight(&entry.plan)).sum();
        bytes == self.bytes && (self.undo.len() <= LEAST_STEPS || bytes <= MOST_BYTES)
    }

    /// Takes the last step back: its label and the plan before it.
    pub fn undo(&mut self, now: &Rc<Plan>) -> Option<Entry> {
        let entry = self.undo.pop_back()?;
        self.bytes -= weight(&entry.plan);
        self.redo.push(Entry { label: entry.label.clone(), plan: now.clone() });
        Some(entry)
    }

    /// Takes the last undone step again: its label and the plan after it.
    pub fn redo(&mut self, now: &Rc<Plan>) -> Option<Entry> {
        let entry = self.redo.pop()?;
        self.remember(Entry { label: entry.label.clone(), plan: now.clone() });
        Some(entry)
    }

    /// What `undo` would take back.
    pub fn undo_label(&self) -> Option<&str> {
        self.undo.back().map(|entry| entry.label.as_str())
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

/// About what a plan takes, bytes: its items with their names, its points, its slot widths.
fn weight(plan: &Plan) -> usize {
    let ducts: usize = plan.ducts.iter().map(|duct| 400 + 16 * duct.path.len() + 32 * duct.steps.len()).sum();
    let rows: usize = plan.slot_rows.iter().map(|row| 250 + 8 * row.widths_m.len()).sum();
    let others = plan.zones.len() + plan.openings.len() + plan.returns.len() + plan.exhausts.len();
    let floor = plan.enclosure.columns.len() + plan.heater.fixed_losses.len();
    2_000 + ducts + rows + 300 * (others + floor) + plan.notes.len()
}
