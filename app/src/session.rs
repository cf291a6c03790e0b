//! The one owner of state: plan, history, selection, view, latest analysis.

use crate::board::tools::Tool;
use crate::command::Command;
use crate::edit::{self, Edit};
use crate::history::History;
use crate::solve::{Changed, Look, Seen};
use crate::studies::{self, Studies};
use engine::analysis::Analysis;
use engine::error::EngineError;
use engine::finding::Finding;
use engine::plan::{Plan, Point};
use engine::units::UnitSystem;
use std::rc::Rc;

/// Which part of the plan the board shows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Camera {
    /// The place in the middle of the board.
    pub centre: Point,
    /// CSS pixels for a metre.
    pub px_per_m: f64,
}

/// Light, dark or as the system has it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Theme {
    /// As the system has it.
    #[default]
    System,
    /// Dark on light.
    Light,
    /// Light on dark.
    Dark,
}

/// A step of the work, in its order.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Step {
    /// Site, air wanted, conveyor.
    Need,
    /// Enclosure, zones, openings, ducts.
    #[default]
    Layout,
    /// Slot rows and the shop record.
    Slots,
    /// Return openings.
    Returns,
    /// Heater, fan, zones, exhausts.
    Fan,
    /// Checks with severity, place and remedy.
    Findings,
}

/// What stands under the board.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Dock {
    /// The selected run unrolled.
    #[default]
    Strip,
    /// The items of the step as tables.
    Tables,
    /// Questions and answers.
    Answers,
    /// Heat: what is needed, or what zones and parts do.
    Heat,
}

/// What the view shows; never part of undo.
#[derive(Clone, Debug, PartialEq)]
pub struct View {
    /// Which part of the plan; none fits the whole.
    pub camera: Option<Camera>,
    /// Units people read.
    pub units: UnitSystem,
    /// Light or dark.
    pub theme: Theme,
    /// Step of the work.
    pub step: Step,
    /// Under the board.
    pub dock: Dock,
    /// The tool in hand.
    pub tool: Tool,
    /// From slot to slot in rows that are drawn, m.
    pub pitch_m: f64,
    /// Whether the keys are shown.
    pub keys: bool,
}

impl Default for View {
    fn default() -> Self {
        Self {
            camera: None,
            units: UnitSystem::default(),
            theme: Theme::default(),
            step: Step::default(),
            dock: Dock::default(),
            tool: Tool::default(),
            pitch_m: 0.5,
            keys: false,
        }
    }
}

/// How far the plan is kept.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum SaveState {
    /// In this browser's storage, as of the generation given.
    Kept(u64),
    /// In a file the user saved, as of the generation given.
    InFile(u64),
    /// Nowhere but in this page, and why.
    NotKept(String),
    /// Nowhere but in this page: another tab has the draft.
    OtherTab,
    /// The other tab has closed, with a newer state than the one here had at the generation given: only what is changed
    /// from then on is kept.
    Freed(u64),
}

/// A message to the user.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Notice {
    /// A mistake or a failure rather than news.
    pub alert: bool,
    /// What to read.
    pub text: String,
}

impl Notice {
    /// News.
    pub fn news(text: impl Into<String>) -> Self {
        Self { alert: false, text: text.into() }
    }

    /// A failure, with what to do about it.
    pub fn alert(text: impl Into<String>) -> Self {
        Self { alert: true, text: text.into() }
    }
}

/// What the last computation that changed the plan did.
#[derive(Clone, Debug)]
pub struct Report {
    /// What it is called.
    pub label: &'static str,
    /// As it was.
    pub before: Rc<Analysis>,
    /// As it became.
    pub after: Rc<Analysis>,
    /// What the method has to say.
    pub findings: Vec<Finding>,
}

/// A version of the plan that later ones are compared with.
#[derive(Clone, Debug)]
pub struct Before {
    /// The plan.
    pub plan: Rc<Plan>,
    /// What was found for it.
    pub analysis: Rc<Analysis>,
    /// Whether the board shows it in place of the plan.
    pub on_board: bool,
}

/// What was looked at, and of which state of the plan.
#[derive(Clone, Debug)]
pub struct Sight {
    /// What.
    pub look: Look,
    /// Generation of the plan.
    pub generation: u64,
    /// What there is to see, or why there is nothing.
    pub outcome: Result<Seen, EngineError>,
}

/// Everything the page knows. Changed only by [`Session::apply`].
#[derive(Clone, Debug)]
pub struct Session {
    /// The document.
    pub plan: Rc<Plan>,
    /// Undo and redo.
    pub history: History,
    /// The selected item or slot (`row/number`).
    pub selection: Option<String>,
    /// What is selected besides; empty while nothing is selected.
    pub also: Vec<String>,
    /// What the view shows.
    pub view: View,
    /// The newest analysis; of an older plan while a newer one is being solved.
    pub analysis: Option<Rc<Analysis>>,
    /// Generation of the plan that `analysis` belongs to.
    pub analysis_generation: u64,
    /// The analysis is of the air alone, followed while a hand drags: its heat and findings are those of before.
    pub followed: bool,
    /// Rises by one with every change of the plan.
    pub generation: u64,
    /// Number of the document that is open: a new one for each that takes the place of another.
    pub document: u64,
    documents: u64,
    /// States at which one document took the place of another, each with its document: undo and redo go
    /// back to the very same ones.
    turns: Vec<(Rc<Plan>, u64)>,
    /// What was looked at last.
    pub seen: Option<Rc<Sight>>,
    /// Why the plan as it stands cannot be calculated, and of which generation.
    pub solve_error: Option<EngineError>,
    /// What is wrong with the drawing alone, while the plan cannot be calculated.
    pub drawing: Vec<Finding>,
    /// What the last one did.
    pub report: Option<Rc<Report>>,
    /// The version kept to compare with.
    pub before: Option<Before>,
    /// What the user should read now.
    pub notice: Option<Notice>,
    /// A plan that could be opened, the name of that step, and whether it counts as saved.
    pub offered: Option<(Rc<Plan>, String, SaveState)>,
    /// How far the plan is kept.
    pub saved: SaveState,
    /// The generation that a file saved by the user holds; 0 none.
    pub in_file: u64,
    /// What has been asked of the plan, and answered.
    pub studies: Studies,
    /// Rises by one with every command, so that comparing two sessions is one comparison.
    revision: u64,
}

impl PartialEq for Session {
    fn eq(&self, other: &Self) -> bool {
        self.revision == other.revision
    }
}
impl Eq for Session {}

impl Session {
    /// A session over `plan`, nothing selected, nothing computed.
    pub fn new(plan: Plan) -> Self {
        Self {
            plan: Rc::new(plan),
            history: History::default(),
            selection: None,
            also: Vec::new(),
            view: View::default(),
            analysis: None,
            seen: None,
            analysis_generation: 0,
            followed: false,
            generation: 1,
            document: 0,
            documents: 0,
            turns: Vec::new(),
            solve_error: None,
            drawing: Vec::new(),
            report: None,
            before: None,
            notice: None,
            offered: None,
            saved: SaveState::Kept(1),
            in_file: 0,
            studies: Studies::default(),
            revision: 0,
        }
    }

    /// Whether the board shows bays with their temperatures.
    pub fn shows_bays(&self) -> bool {
        self.view.step == Step::Fan && self.analysis.as_ref().is_some_and(|a| a.heat.is_some())
    }

    /// What the screen shows that is reckoned only while it does.
    pub fn looks_at(&self) -> Option<Look> {
        match (self.view.dock, self.view.step) {
            (Dock::Heat, Step::Need) => Some(Look::Need),
            (Dock::Heat, _) if self.analysis.as_ref().is_some_and(|a| a.heat.is_some()) => Some(Look::Travel),
            _ => None,
        }
    }

    /// What is found about the plan; about its drawing alone while it cannot be calculated.
    pub fn findings(&self) -> &[Finding] {
        self.analysis.as_ref().map_or(&self.drawing, |analysis| &analysis.findings)
    }

    /// Whether `analysis` is that of the plan as it stands; while a hand drags, of its air.
    pub fn analysis_is_current(&self) -> bool {
        let whole = !self.followed || self.history.in_gesture();
        self.analysis.is_some() && self.analysis_generation == self.generation && whole
    }

    /// The session with the kept version in place of the plan; for looking at, not for commands.
    pub fn as_before(&self) -> Option<Self> {
        let before = self.before.as_ref().filter(|before| before.on_board)?;
        let (plan, analysis) = (before.plan.clone(), Some(before.analysis.clone()));
        let selection = self.selection.clone().filter(|id| edit::names(&plan, id));
        // Never equal to the session itself.
        Some(Self { plan, analysis, selection, revision: u64::MAX - self.revision, ..self.clone() })
    }

    /// Does what `command` asks.
    pub fn apply(&mut self, command: Command) {
        self.revision += 1;
        match command {
            Command::Select(selection) => self.select(selection.into_iter().collect()),
            Command::SelectAll(ids) => self.select(ids),
            Command::Toggle(id) => {
                let mut ids: Vec<String> = self.selected().map(str::to_owned).collect();
                let before = ids.len();
                ids.retain(|other| *other != id);
                if ids.len() == before {
                    ids.push(id);
                }
                self.select(ids);
            }
            Command::UseTool(tool) => self.view.tool = tool,
            Command::SetPitch(pitch_m) => {
                self.view.pitch_m = if pitch_m.is_finite() { pitch_m.clamp(0.01, 10.0) } else { 0.5 };
            }
            Command::ShowKeys(keys) => self.view.keys = keys,
            Command::SetCamera(camera) => self.view.camera = camera.filter(Camera::is_usable),
            Command::SetUnits(units) => self.view.units = units,
            Command::SetTheme(theme) => self.view.theme = theme,
            Command::GoTo(step) => {
                // The first step is about heat before there is anything to unroll.
                self.view.dock = match (step, self.view.dock) {
                    (Step::Need, Dock::Strip) => Dock::Heat,
                    (Step::Layout | Step::Slots | Step::Returns, Dock::Heat) => Dock::Strip,
                    (_, dock) => dock,
                };
                self.view.step = step;
            }
            Command::ShowDock(dock) => self.view.dock = dock,

            Command::Begin(label) => self.history.begin(label, &self.plan),
            Command::Commit => self.history.commit(&self.plan),
            Command::Abort => {
                if let Some(start) = self.history.abort() {
                    self.set_plan(start);
                }
            }
            Command::Undo => self.step_history(History::undo, "Undone"),
            Command::Redo => self.step_history(History::redo, "Done again"),

            Command::MoveDuctPoint { duct, point, to } => {
                self.edit(&Edit::Duct { id: duct, edit: edit::DuctEdit::MovePoint { point, to } });
            }
            Command::MoveReturn { id, station_m } => {
                self.edit(&Edit::Return { id, edit: edit::ReturnEdit::Station(station_m) });
            }
            Command::SetSlotWidth { row, slot, width_m } => {
                self.edit(&Edit::SlotRow { id: row, edit: edit::SlotRowEdit::Width { slot, width_m } });
            }
            Command::SetDuctSection { duct, section } => {
                self.edit(&Edit::Duct { id: duct, edit: edit::DuctEdit::Section(section) });
            }
            Command::Edit(edit) => self.edit(&edit),

            Command::ReplacePlan { plan, label, saved } => self.replace(*plan, label, saved),
            Command::Offer { plan, label, reason, saved } => {
                self.offered = Some((Rc::from(plan), label, saved));
                self.notice = Some(Notice::alert(reason));
            }
            Command::TakeOffer => {
                if let Some((plan, label, saved)) = self.offered.take() {
                    self.replace(Rc::unwrap_or_clone(plan), label, saved);
                }
            }
            Command::Analysed { generation, outcome } => self.take_analysis(generation, outcome),
            Command::Seen { look, generation, outcome } => {
                self.seen = Some(Rc::new(Sight { look, generation, outcome }));
            }
            Command::Followed { generation, mut analysis } => {
                if let Some(known) = &self.analysis {
                    analysis.heat.clone_from(&known.heat);
                    analysis.findings.clone_from(&known.findings);
                }
                self.take_analysis(generation, Ok(analysis));
                // One that came too late was left aside, and another that stands may be whole.
                self.followed |= self.analysis_generation == generation;
            }
            Command::WorkerRestarted { reason } => self.notice = Some(Notice::alert(reason)),
            Command::KeepBefore => {
                if let Some(analysis) = self.analysis.clone().filter(|_| self.analysis_is_current()) {
                    self.before = Some(Before { plan: self.plan.clone(), analysis, on_board: false });
                }
            }
            Command::ShowBefore(on_board) => {
                if let Some(before) = &mut self.before {
                    before.on_board = on_board;
                }
            }
            Command::ForgetBefore => self.before = None,
            Command::Study(intent) => studies::state::apply(self, intent),
            Command::SetSaved(saved) => {
                if let SaveState::InFile(generation) = saved {
                    self.in_file = generation;
                }
                // What was kept before the draft came free is the other tab's by now.
                let is_late = matches!((&self.saved, &saved),
                    (SaveState::Freed(freed), SaveState::Kept(kept)) if kept <= freed);
                if self.saved != SaveState::OtherTab && !is_late {
                    self.saved = saved;
                }
            }
            Command::TakeOver => self.saved = SaveState::Kept(0),
            Command::Freed => {
                if self.saved == SaveState::OtherTab {
                    self.saved = SaveState::Freed(self.generation);
                }
            }
            Command::Tell(notice) => self.notice = Some(notice),
            Command::Dismiss => {
                self.notice = None;
                self.report = None;
                self.offered = None;
            }
        }
    }

    /// Whether this tab may write the draft: not over what another one has, or has left.
    pub fn may_keep(&self) -> bool {
        match self.saved {
            SaveState::OtherTab => false,
            SaveState::Freed(generation) => self.generation > generation,
            _ => true,
        }
    }

    /// Everything selected, the item with the card first.
    pub fn selected(&self) -> impl Iterator<Item = &str> {
        self.selection.iter().chain(&self.also).map(String::as_str)
    }

    /// Selects what of `ids` is in the plan.
    fn select(&mut self, ids: Vec<String>) {
        self.also.clear();
        for id in ids {
            if edit::names(&self.plan, &id) && !self.also.contains(&id) {
                self.also.push(id);
            }
        }
        self.selection = (!self.also.is_empty()).then(|| self.also.remove(0));
    }

    fn edit(&mut self, edit: &Edit) {
        let mut plan = (*self.plan).clone();
        match edit::apply(&mut plan, edit) {
            Ok(selection) => {
                let told = edit::told(&self.plan, &plan, edit);
                if plan != *self.plan {
                    let before = self.plan.clone();
                    self.history.record(edit.label(), before);
                    self.set_plan(Rc::new(plan));
                }
                if !selection.is_empty() {
                    self.select(selection);
                }
                // What was told was about the plan as it was.
                self.withdraw();
                self.notice = told.map(Notice::news);
                self.report = None;
            }
            Err(error) => self.notice = Some(Notice::alert(error.to_string())),
        }
    }

    /// The plan changes: what was known of the old one no longer holds, and no selection dangles.
    fn set_plan(&mut self, plan: Rc<Plan>) {
        self.plan = plan;
        self.generation += 1;
        if self.selected().any(|id| !edit::names(&self.plan, id)) {
            let ids = self.selected().map(str::to_owned).collect();
            self.select(ids);
        }
    }

    fn step_history(
        &mut self,
        step: impl FnOnce(&mut History, &Rc<Plan>) -> Option<crate::history::Entry>,
        done: &str,
    ) {
        // Undo in the middle of a drag takes back the drag.
        self.history.commit(&self.plan);
        if let Some(entry) = step(&mut self.history, &self.plan) {
            if let Some((_, document)) = self.turns.iter().find(|(plan, _)| Rc::ptr_eq(plan, &entry.plan)) {
                self.document = *document;
            }
            self.set_plan(entry.plan);
            self.report = None;
            self.notice = Some(Notice::news(format!("{done}: {}", entry.label)));
        }
    }

    fn replace(&mut self, plan: Plan, label: String, saved: SaveState) {
        self.history.commit(&self.plan);
        self.history.record(label, self.plan.clone());
        self.withdraw();
        self.turns.push((self.plan.clone(), self.document));
        self.documents += 1;
        self.document = self.documents;
        self.set_plan(Rc::new(plan));
        self.turns.push((self.plan.clone(), self.document));
        self.select(Vec::new());
        self.view.tool = Tool::default();
        self.view.camera = None;
        self.analysis = None;
        self.drawing.clear();
        self.report = None;
        self.notice = None;
        if !matches!(self.saved, SaveState::OtherTab | SaveState::Freed(_)) {
            self.saved = match saved {
                SaveState::InFile(_) => SaveState::InFile(self.generation),
                // As the draft it is still to be written.
                other => other,
            };
        }
    }

    /// A plan that was offered from a file can be had from it again; one from a link stays until it is taken or put
    /// away.
    fn withdraw(&mut self) {
        self.offered.take_if(|(_, _, saved)| matches!(saved, SaveState::InFile(_)));
    }

    fn take_analysis(&mut self, generation: u64, outcome: Result<Box<Analysis>, EngineError>) {
        if generation > self.generation || generation < self.analysis_generation {
            return;
        }
        self.analysis_generation = generation;
        self.followed = false;
        match outcome {
            Ok(analysis) => {
                self.analysis = Some(Rc::from(analysis));
                self.solve_error = None;
            }
            Err(error) => {
                self.analysis = None;
                self.drawing = engine::judge::drawing(&self.plan);
                self.solve_error = Some(error);
            }
        }
    }

    /// What a computation made of the plan becomes the plan, in one step that can be undone.
    pub fn take_changed(&mut self, label: &'static str, done: Changed) {
        let Changed { plan, before, after, findings } = done;
        self.take_plan(label.to_owned(), plan);
        let after = Rc::new(after);
        self.analysis = Some(after.clone());
        self.followed = false;
        self.analysis_generation = self.generation;
        self.solve_error = None;
        self.notice = None;
        self.report = Some(Rc::new(Report { label, before: Rc::new(before), after, findings }));
    }

    /// Another state of the same oven becomes the plan, in one step that can be undone.
    pub fn take_plan(&mut self, label: String, plan: Rc<Plan>) {
        self.commit();
        if plan != self.plan {
            self.history.record(label, self.plan.clone());
            self.set_plan(plan);
        }
        self.report = None;
    }

    /// A gesture under way stands as it is.
    pub fn commit(&mut self) {
        self.history.commit(&self.plan);
    }

    /// What must hold after every command; empty when all is well.
    pub fn broken_invariants(&self) -> Vec<String> {
        let mut broken = Vec::new();
        let selected: Vec<&str> = self.selected().collect();
        for (i, id) in selected.iter().enumerate() {
            if !edit::names(&self.plan, id) {
                broken.push(format!("selection {id} is not in the plan"));
            }
            if selected[..i].contains(id) {
                broken.push(format!("{id} is selected twice"));
            }
        }
        if self.selection.is_none() && !self.also.is_empty() {
            broken.push("something is selected besides nothing".to_owned());
        }
        if self.analysis_generation > self.generation {
            broken.push("the analysis is newer than the plan".to_owned());
        }
        if !self.history.is_within_bounds() {
            broken.push("the history holds more than it may".to_owned());
        }
        if let Some(camera) = &self.view.camera
            && !camera.is_usable()
        {
            broken.push("the camera shows nothing".to_owned());
        }
        broken.extend(edit::broken_references(&self.plan));
        broken
    }
}

impl Camera {
    /// Finite, and at a scale somebody can look at.
    pub fn is_usable(&self) -> bool {
        self.centre.x_m.is_finite()
            && self.centre.y_m.is_finite()
            && (0.1..=100_000.0).contains(&self.px_per_m)
    }
}

#[cfg(test)]
mod tests;
