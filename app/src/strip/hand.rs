//! The hand on the strip: select a slot and drag it wider or narrower, drag the duct higher or lower, or do
//! the same by keys.

use super::data::StripData;
use super::layout::Layout;
use crate::command::Command;
use crate::edit::{DuctEdit, Edit};
use crate::history::History;
use engine::plan::Section;
use engine::units::UnitSystem;

/// What a change made on the strip is called.
const SLOT_WIDTH: &str = "Slot width";
const DUCT_HEIGHT: &str = "Duct height";

/// Whether a hand is at work on the strip.
pub fn is_at_work(history: &History) -> bool {
    history.gesture_label().is_some_and(|label| [SLOT_WIDTH, DUCT_HEIGHT].contains(&label))
}

/// How far a drag goes for one step of the shop's increment, px.
const PX_PER_STEP: f64 = 5.0;
/// How far a pointer may tremble before a press is a drag, px.
const SLOP_PX: f64 = 4.0;

#[derive(Clone, Debug, Default, PartialEq)]
enum State {
    #[default]
    Idle,
    Pressed {
        pointer: i32,
        y: f64,
        cell: usize,
    },
    /// On the duct itself: which of its sizes.
    PressedDuct {
        pointer: i32,
        y: f64,
        size: usize,
    },
    /// Makes it higher or lower.
    Raising {
        pointer: i32,
        y: f64,
        size: usize,
        from: Section,
        set: Section,
    },
    Dragging {
        pointer: i32,
        y: f64,
        row: String,
        slot: usize,
        from_m: f64,
        set_m: f64,
    },
    /// A key held down.
    Nudging,
}

impl State {
    /// Whether this pointer is the one at work.
    fn is_of(&self, other: i32) -> bool {
        match self {
            Self::Idle | Self::Nudging => false,
            Self::Pressed { pointer, .. }
            | Self::PressedDuct { pointer, .. }
            | Self::Dragging { pointer, .. }
            | Self::Raising { pointer, .. } => *pointer == other,
        }
    }
}

/// The state machine: told what happened, it answers with commands.
#[derive(Clone, Debug, Default)]
pub struct Hand {
    state: State,
}

impl Hand {
    /// Whether a drag or key is between `Begin` and `Commit`.
    pub fn is_moving(&self) -> bool {
        matches!(self.state, State::Dragging { .. } | State::Raising { .. } | State::Nudging)
    }

    /// Whether a pointer drags.
    pub fn is_dragging(&self) -> bool {
        matches!(self.state, State::Dragging { .. } | State::Raising { .. })
    }

    /// A pointer goes down.
    pub fn press(&mut self, pointer: i32, x: f64, y: f64, data: &StripData, layout: &Layout) -> Vec<Command> {
        let mut commands = self.finish();
        if let Some(cell) = layout.cell_at(x, y, data) {
            let id = &data.cells[cell].id;
            self.state = State::Pressed { pointer, y, cell };
            if data.selected.as_ref() != Some(id) {
                // The first press selects; only a press on what is selected can change it.
                self.state = State::Idle;
                commands.push(Command::Select(Some(id.clone())));
            }
        } else if let Some(station_m) = layout.duct_at(x, y) {
            // The mark at the end is there to be dragged; anywhere else the first press selects.
            let mark = x > layout.x.1;
            if data.held || mark {
                self.state = State::PressedDuct { pointer, y, size: data.section_at(station_m) };
            }
            if !data.held {
                commands.push(Command::Select(Some(data.id.clone())));
            }
        }
        commands
    }

    /// A pointer moves.
    pub fn drag(&mut self, pointer: i32, y: f64, data: &StripData) -> Vec<Command> {
        match &mut self.state {
            State::Pressed { pointer: p, y: start, cell }
                if *p == pointer && (y - *start).abs() > SLOP_PX =>
            {
                let Some(cell) = data.cells.get(*cell) else { return Vec::new() };
                let Some((row, slot)) = cell.slot.clone() else { return Vec::new() };
                let (start, from_m) = (*start, cell.set_m);
                self.state = State::Dragging { pointer, y: start, row, slot, from_m, set_m: from_m };
                let mut commands = vec![Command::Begin(SLOT_WIDTH)];
                commands.extend(self.drag(pointer, y, data));
                commands
            }
            State::PressedDuct { pointer: p, y: start, size }
                if *p == pointer && (y - *start).abs() > SLOP_PX =>
            {
                let Some((_, from)) = data.sections.get(*size).copied() else { return Vec::new() };
                self.state = State::Raising { pointer, y: *start, size: *size, from, set: from };
                let mut commands = vec![Command::Begin(DUCT_HEIGHT)];
                commands.extend(self.drag(pointer, y, data));
                commands
            }
            State::Raising { pointer: p, y: start, size, from, set } if *p == pointer => {
                let wanted = raised(*from, ((*start - y) / PX_PER_STEP).round(), data.units);
                if wanted == *set {
                    return Vec::new();
                }
                *set = wanted;
                vec![set_section(data, *size, wanted)]
            }
            State::Dragging { pointer: p, y: start, row, slot, from_m, set_m } if *p == pointer => {
                // Up is wider.
                let steps = ((*start - y) / PX_PER_STEP).round();
                let wanted = stepped(*from_m, steps, data.increment_m);
                if wanted == *set_m {
                    return Vec::new();
                }
                *set_m = wanted;
                vec![Command::SetSlotWidth { row: row.clone(), slot: *slot, width_m: wanted }]
            }
            _ => Vec::new(),
        }
    }

    /// A pointer comes up.
    pub fn release(&mut self, pointer: i32) -> Vec<Command> {
        if self.state.is_of(pointer) { self.finish() } else { Vec::new() }
    }

    /// A pointer was taken away: what it was doing is off.
    pub fn cancel(&mut self, pointer: i32) -> Vec<Command> {
        if self.state.is_of(pointer) { self.abort() } else { Vec::new() }
    }

    /// Undo in the middle of a step has ended it: the hand lets go, or each further move would be a step of its own.
    pub fn heed(&mut self, history: &History) {
        if self.is_moving() && !is_at_work(history) {
            self.state = State::Idle;
        }
    }

    /// The hand gives up.
    fn abort(&mut self) -> Vec<Command> {
        let moving = self.is_moving();
        self.state = State::Idle;
        if moving { vec![Command::Abort] } else { Vec::new() }
    }

    /// Ends what is under way.
    pub fn finish(&mut self) -> Vec<Command> {
        let moving = self.is_moving();
        self.state = State::Idle;
        if moving { vec![Command::Commit] } else { Vec::new() }
    }

    /// Up and down change the selected slot's width by the shop's step (ten with Shift); left and right go
    /// to its neighbours. None for any other key.
    pub fn key(&mut self, name: &str, shift: bool, data: &StripData) -> Option<Vec<Command>> {
        let selected = data.cells.iter().position(|cell| Some(&cell.id) == data.selected.as_ref());
        let select = |i: usize| data.cells.get(i).map(|cell| Command::Select(Some(cell.id.clone())));
        if selected.is_none() && matches!(name, "ArrowUp" | "ArrowDown") {
            return Some(self.raise(if name == "ArrowUp" { 1.0 } else { -1.0 }, shift, data));
        }
        if name == "Escape" && self.is_moving() {
            return Some(self.abort());
        }
        let last = data.cells.len().checked_sub(1)?;
        match name {
            "ArrowLeft" | "ArrowRight" | "Home" | "End" => {
                let to = match (name, selected) {
                    ("Home", _) | ("ArrowRight", None) => 0,
                    ("End", _) | ("ArrowLeft", None) => last,
                    ("ArrowRight", Some(i)) => (i + 1).min(last),
                    (_, Some(i)) => i.saturating_sub(1),
                    (_, None) => 0,
                };
                let mut commands = self.finish();
                commands.extend(select(to));
                Some(commands)
            }
            "ArrowUp" | "ArrowDown" => {
                let cell = data.cells.get(selected?)?;
                let (row, slot) = cell.slot.clone()?;
                let steps = if shift { 10.0 } else { 1.0 } * if name == "ArrowUp" { 1.0 } else { -1.0 };
                let width_m = stepped(cell.set_m, steps, data.increment_m);
                if width_m == cell.set_m {
                    return Some(Vec::new());
                }
                let mut commands = Vec::new();
                if self.state != State::Nudging {
                    commands.extend(self.finish());
                    commands.push(Command::Begin(SLOT_WIDTH));
                    self.state = State::Nudging;
                }
                commands.push(Command::SetSlotWidth { row, slot, width_m });
                Some(commands)
            }
            "Escape" => selected.map(|_| vec![Command::Select(Some(data.id.clone()))]),
            _ => None,
        }
    }

    /// A key makes all of the duct that is as high as its beginning a step higher or lower.
    fn raise(&mut self, way: f64, shift: bool, data: &StripData) -> Vec<Command> {
        let Some((_, from)) = data.sections.first().copied() else { return Vec::new() };
        let wanted = raised(from, if shift { 4.0 * way } else { way }, data.units);
        if wanted == from {
            return Vec::new();
        }
        let mut commands = Vec::new();
        if self.state != State::Nudging {
            commands.extend(self.finish());
            commands.push(Command::Begin(DUCT_HEIGHT));
            self.state = State::Nudging;
        }
        commands.push(set_section(data, 0, wanted));
        commands
    }
}

/// The command that gives a duct, or a change along it, this size.
fn set_section(data: &StripData, size: usize, section: Section) -> Command {
    let duct = data.id.clone();
    match size.checked_sub(1) {
        None => Command::SetDuctSection { duct, section },
        Some(step) => Edit::Duct { id: duct, edit: DuctEdit::StepSection { step, section } }.into(),
    }
}

/// `from` higher by whole steps of sheet: 25 mm, or an inch; a round one by its diameter.
fn raised(from: Section, steps: f64, units: UnitSystem) -> Section {
    let step_m = if units == UnitSystem::Si { 0.025 } else { 0.0254 };
    let grown = |m: f64| (((m / step_m).round() + steps).max(1.0) * step_m * 1e6).round() / 1e6;
    match from {
        _ if steps == 0.0 => from,
        Section::Rectangular { width_m, height_m } => {
            Section::Rectangular { width_m, height_m: grown(height_m).min(10.0) }
        }
        Section::Round { diameter_m } => Section::Round { diameter_m: grown(diameter_m).min(10.0) },
    }
}

/// `from` changed by whole steps of the shop's increment, on its grid and never less than one step.
fn stepped(from: f64, steps: f64, increment: f64) -> f64 {
    let increment = if increment.is_finite() && increment > 0.0 { increment } else { 0.0005 };
    let count = ((from / increment).round() + steps).max(1.0);
    // In whole micrometres, so that 14.5 mm is the number 0.0145.
    (count * increment * 1e6).round() / 1e6
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::board::fixture::{demo, invented};
    use crate::session::Session;
    use engine::units::UnitSystem;

    struct Bench {
        session: Session,
        hand: Hand,
    }

    impl Bench {
        fn new() -> Self {
            Self { session: Session::new(demo()), hand: Hand::default() }
        }

        fn strip(&self) -> (StripData, Layout) {
            let plan = &self.session.plan;
            let selected = self.session.selection.as_deref();
            let data =
                StripData::new(plan, Some(&invented(plan)), "cure-1", selected, UnitSystem::Si).unwrap();
            let layout = Layout::new(1100.0, 300.0, &data).unwrap();
            (data, layout)
        }

        fn obey(&mut self, commands: Vec<Command>) {
            for command in commands {
                self.session.apply(command);
                assert_eq!(self.session.broken_invariants(), Vec::<String>::new());
            }
        }

        fn press(&mut self, cell: usize) -> f64 {
            let (data, layout) = self.strip();
            let y = (layout.duct.0 + layout.duct.1) / 2.0;
            let x = layout.x_of(data.cells[cell].station_m);
            let commands = self.hand.press(1, x, y, &data, &layout);
            self.obey(commands);
            y
        }

        fn width(&self, slot: usize) -> f64 {
            self.session.plan.slot_rows.iter().find(|r| r.id == "slots-cure-1").unwrap().width_m(slot)
        }

        fn key(&mut self, name: &str, shift: bool) {
            let (data, _) = self.strip();
            let commands = self.hand.key(name, shift, &data).unwrap_or_default();
            self.obey(commands);
        }
    }

    #[test]
    fn the_first_press_selects_and_only_the_second_one_drags() {
        let mut bench = Bench::new();
        let y = bench.press(4);
        assert_eq!(bench.session.selection.as_deref(), Some("slots-cure-1/5"));
        let (data, _) = bench.strip();
        let none = bench.hand.drag(1, y - 50.0, &data);
        assert!(none.is_empty());
        bench.press(4);
        for dy in [3.0, 6.0, 11.0, 20.0] {
            let (data, _) = bench.strip();
            let commands = bench.hand.drag(1, y - dy, &data);
            bench.obey(commands);
        }
        let commands = bench.hand.release(1);
        bench.obey(commands);
        assert_eq!((bench.width(4), bench.width(3)), (0.016, 0.014));
        bench.session.apply(Command::Undo);
        assert_eq!(bench.width(4), 0.014);
    }

    #[test]
    fn undo_in_the_middle_of_a_drag_ends_it() {
        let mut bench = Bench::new();
        bench.press(4);
        let y = bench.press(4);
        let (data, _) = bench.strip();
        let commands = bench.hand.drag(1, y - 20.0, &data);
        bench.obey(commands);
        bench.hand.heed(&bench.session.history);
        assert!(bench.hand.is_moving());
        bench.session.apply(Command::Undo);
        bench.hand.heed(&bench.session.history);
        let (data, _) = bench.strip();
        assert!(bench.hand.drag(1, y - 40.0, &data).is_empty() && bench.hand.release(1).is_empty());
        assert_eq!((bench.width(4), bench.session.history.depth()), (0.014, 0));
    }

    #[test]
    fn a_pointer_taken_away_puts_the_width_back() {
        let mut bench = Bench::new();
        bench.press(4);
        let y = bench.press(4);
        let (data, _) = bench.strip();
        let commands = bench.hand.drag(1, y + 30.0, &data);
        bench.obey(commands);
        assert_eq!(bench.width(4), 0.011);
        assert!(bench.hand.cancel(2).is_empty(), "another pointer's loss ends nothing");
        let commands = bench.hand.cancel(1);
        bench.obey(commands);
        assert_eq!(bench.width(4), 0.014);
        assert!(!bench.hand.is_moving());
    }

    #[test]
    fn a_press_on_bare_duct_selects_it_and_then_drags_its_height() {
        let mut bench = Bench::new();
        let height = |bench: &Bench| match bench
            .session
            .plan
            .ducts
            .iter()
            .find(|duct| duct.id == "cure-1")
            .unwrap()
            .section
        {
            Section::Rectangular { height_m, .. } => height_m,
            Section::Round { .. } => panic!("it is rectangular"),
        };
        // Before the first slot.
        let (data, layout) = bench.strip();
        let (x, y) = (layout.x_of(0.05), (layout.duct.0 + layout.duct.1) / 2.0);
        assert!(layout.cell_at(x, y, &data).is_none());
        let commands = bench.hand.press(1, x, y, &data, &layout);
        bench.obey(commands);
        assert_eq!(bench.session.selection.as_deref(), Some("cure-1"));
        let commands = bench.hand.drag(1, y - 40.0, &bench.strip().0);
        assert!(commands.is_empty(), "the first press selects");
        let (data, layout) = bench.strip();
        let commands = bench.hand.press(1, x, y, &data, &layout);
        bench.obey(commands);
        for dy in [6.0, 11.0, 15.0] {
            let commands = bench.hand.drag(1, y - dy, &bench.strip().0);
            bench.obey(commands);
        }
        let commands = bench.hand.release(1);
        bench.obey(commands);
        assert_eq!(height(&bench), 0.475);
        assert_eq!(bench.session.history.undo_label(), Some("Duct height"));
        // By keys: with the duct selected, a step down, then ended.
        bench.key("ArrowDown", false);
        let commands = bench.hand.finish();
        bench.obey(commands);
        assert_eq!(height(&bench), 0.45);
        bench.session.apply(Command::Undo);
        bench.session.apply(Command::Undo);
        assert_eq!(height(&bench), 0.4);
        // The mark at the end can be dragged at once.
        bench.session.apply(Command::Select(None));
        let (data, layout) = bench.strip();
        let commands = bench.hand.press(1, layout.x.1 + 20.0, y, &data, &layout);
        bench.obey(commands);
        let commands = bench.hand.drag(1, y + 10.0, &bench.strip().0);
        bench.obey(commands);
        let commands = bench.hand.abort();
        bench.obey(commands);
        assert_eq!(height(&bench), 0.4);
    }

    #[test]
    fn a_height_stays_on_whole_steps_of_sheet() {
        let flat = |height_m| Section::Rectangular { width_m: 0.4, height_m };
        assert_eq!(raised(flat(0.31), 1.0, UnitSystem::Si), flat(0.325));
        assert_eq!(raised(flat(0.31), 0.0, UnitSystem::Si), flat(0.31));
        assert_eq!(raised(flat(0.05), -9.0, UnitSystem::Si), flat(0.025));
        assert_eq!(raised(flat(0.3048), 1.0, UnitSystem::InchPound), flat(0.3302));
    }

    #[test]
    fn keys_walk_along_the_slots_and_change_their_width() {
        let mut bench = Bench::new();
        bench.key("ArrowRight", false);
        bench.key("ArrowRight", false);
        assert_eq!(bench.session.selection.as_deref(), Some("slots-cure-1/2"));
        for _ in 0..3 {
            bench.key("ArrowUp", false);
        }
        bench.key("ArrowDown", true);
        assert_eq!(bench.width(1), 0.0105);
        let commands = bench.hand.finish();
        bench.obey(commands);
        bench.session.apply(Command::Undo);
        assert_eq!(bench.width(1), 0.014, "held keys are one step");
        bench.key("Escape", false);
        assert_eq!(bench.session.selection.as_deref(), Some("cure-1"));
    }

    #[test]
    fn a_width_stays_on_the_shops_grid_and_above_nothing() {
        assert_eq!(stepped(0.0143, 1.0, 0.0005), 0.015);
        assert_eq!(stepped(0.001, -10.0, 0.0005), 0.0005);
        assert_eq!(stepped(0.014, 1.0, f64::NAN), 0.0145);
    }
}
