//! What has been asked and answered: part of the session, never of undo.

use super::ask::{ASKS, Ask, What};
use super::sheet::Sheet;
use crate::command::Command;
use crate::session::{Dock, Notice, Session};
use crate::solve::Changed;
use engine::error::EngineError;
use engine::plan::{Plan, file};
use std::rc::Rc;

/// An answer with the plan it belongs to.
#[derive(Clone, Debug)]
pub struct Study {
    /// What was asked.
    pub ask: Ask,
    /// The plan it was asked of; of a command, the plan it made.
    pub plan: Rc<Plan>,
    /// The answer, or why there is none.
    pub outcome: Result<Rc<Sheet>, EngineError>,
    /// The plans it offers.
    pub offers: Vec<Rc<Plan>>,
}

/// The question under way.
#[derive(Clone, Debug)]
pub struct Asking {
    /// What is asked.
    pub ask: Ask,
    /// Of which plan.
    pub plan: Rc<Plan>,
    /// Solves done, and in all.
    pub progress: (usize, usize),
}

/// All questions and answers of a session.
#[derive(Clone, Debug, Default)]
pub struct Studies {
    /// The newest answer to each question.
    answers: Vec<Rc<Study>>,
    /// Questions as somebody has set them.
    set: Vec<Ask>,
    /// The question under way.
    pub asking: Option<Asking>,
    /// Rises by one with every question asked or given up.
    pub serial: u64,
    /// Which question is open in the Answers tab.
    pub open: Option<What>,
    /// Whether the board shows air speed at the parts.
    pub on_board: bool,
}

/// What a person or the worker wants of the questions.
#[derive(Clone, Debug)]
pub enum Intent {
    /// Look at a question in the Answers tab.
    Open(What),
    /// Look at all of them.
    List,
    /// Set choice and number of a question.
    Set(Ask),
    /// Ask it.
    Start(What),
    /// Give the question under way up.
    Stop,
    /// So far has it come.
    Progress(usize, usize),
    /// The answer, with the changed plan where the question is a command.
    Answered {
        /// What was asked.
        ask: Ask,
        /// The answer.
        outcome: Result<(Box<Sheet>, Option<Box<Changed>>), EngineError>,
    },
    /// Take an offered plan.
    Take(What, usize),
    /// Show air speed at the parts on the board, or not.
    OnBoard(bool),
}

impl From<Intent> for Command {
    fn from(intent: Intent) -> Self {
        Self::Study(intent)
    }
}

impl Studies {
    /// The newest answer to a question.
    pub fn answer(&self, what: What) -> Option<&Rc<Study>> {
        self.answers.iter().find(|study| study.ask.what == what)
    }

    /// A question as it is set.
    pub fn as_set(&self, what: What) -> Ask {
        let set = self.set.iter().find(|ask| ask.what == what);
        set.copied().unwrap_or_else(|| Ask::usual(what, 0))
    }

    /// Keeps the answer in place of the last one to the same question.
    pub fn keep(&mut self, study: Study) {
        self.answers.retain(|old| old.ask.what != study.ask.what);
        self.open = Some(study.ask.what);
        self.answers.push(Rc::new(study));
    }

    /// How many questions have been answered.
    pub fn answered(&self) -> usize {
        self.answers.len()
    }
}

/// Why an offer cannot be taken any more.
pub const ASK_AGAIN: &str = "The plan has been changed since; ask again, lest taking this undo the change.";

impl Study {
    fn new(ask: Ask, plan: Rc<Plan>, outcome: Result<Box<Sheet>, EngineError>) -> Self {
        let read = outcome.and_then(|sheet| {
            let offers = sheet.offers.iter().map(|offer| file::read(&offer.plan).map(Rc::new));
            Ok((offers.collect::<Result<Vec<_>, _>>()?, Rc::from(sheet)))
        });
        match read {
            Ok((offers, sheet)) => Self { ask, plan, outcome: Ok(sheet), offers },
            Err(error) => Self { ask, plan, outcome: Err(error), offers: Vec::new() },
        }
    }

    /// Whether the plans it offers can be told apart by their ducts and openings.
    pub fn differ(&self) -> bool {
        let drawn = |plan: &Plan| (plan.ducts.clone(), plan.slot_rows.clone());
        self.offers.iter().any(|plan| drawn(plan) != drawn(&self.plan))
    }

    /// Whether it is an answer about `plan`.
    pub fn is_about(&self, plan: &Rc<Plan>) -> bool {
        Rc::ptr_eq(&self.plan, plan) || self.plan == *plan
    }

    /// Whether taking one of its offers overwrites nothing: `plan` is the one it was asked of, or an offer of its own.
    pub fn may_be_taken(&self, plan: &Rc<Plan>) -> bool {
        self.is_about(plan) || self.offers.contains(plan)
    }

    /// The answer, if there is one and it is about `plan`.
    pub fn sheet_of(&self, plan: &Rc<Plan>) -> Option<&Rc<Sheet>> {
        self.outcome.as_ref().ok().filter(|_| self.is_about(plan))
    }
}

/// Does what `intent` asks.
pub fn apply(session: &mut Session, intent: Intent) {
    match intent {
        Intent::Open(what) => {
            session.studies.open = Some(what);
            session.view.dock = Dock::Answers;
        }
        Intent::List => {
            session.studies.open = None;
            session.view.dock = Dock::Answers;
        }
        Intent::Set(ask) => {
            session.studies.set.retain(|old| old.what != ask.what);
            session.studies.set.push(ask);
        }
        Intent::Start(what) => start(session, what),
        Intent::Stop => {
            let label = session.studies.asking.take().map(|asking| asking.ask.what.about().label);
            session.studies.serial += 1;
            if let Some(label) = label {
                session.notice = Some(Notice::news(format!("{label}: stopped; nothing was changed.")));
            }
        }
        Intent::Progress(done, of) => {
            if let Some(asking) = &mut session.studies.asking {
                asking.progress = (done, of);
            }
        }
        Intent::Answered { ask, outcome } => answered(session, ask, outcome),
        Intent::Take(what, index) => take(session, what, index),
        Intent::OnBoard(on) => session.studies.on_board = on,
    }
}

fn start(session: &mut Session, what: What) {
    // Half a gesture is no plan to ask about.
    session.commit();
    let ask = session.studies.as_set(what);
    session.studies.asking = Some(Asking { ask, plan: session.plan.clone(), progress: (0, 1) });
    session.studies.serial += 1;
    session.notice = None;
}

fn answered(
    session: &mut Session,
    ask: Ask,
    outcome: Result<(Box<Sheet>, Option<Box<Changed>>), EngineError>,
) {
    // What was given up meanwhile is not wanted any more.
    let Some(asking) = session.studies.asking.take_if(|asking| asking.ask == ask) else { return };
    // Its worker has done its work.
    session.studies.serial += 1;
    let label = ask.what.about().label;
    let (outcome, changed) = match outcome {
        Ok((sheet, changed)) => (Ok(sheet), changed),
        Err(error) => (Err(error), None),
    };
    let mut study = Study::new(ask, asking.plan, outcome);
    if let Err(error) = &study.outcome {
        session.notice = Some(Notice::alert(format!("{label}: {error}")));
    } else if let Some(changed) = changed {
        if study.is_about(&session.plan) {
            study.plan = changed.plan.clone();
            session.take_changed(label, *changed);
            if ask.what == What::Propose {
                // Another oven than the one in sight.
                session.view.camera = None;
            }
        } else {
            session.notice = Some(Notice::alert(format!(
                "{label}: the plan was changed meanwhile, so the answer was left aside; run it again"
            )));
        }
    } else {
        session.notice = Some(Notice::news(format!("{label}: the answer is under the board.")));
    }
    session.studies.keep(study);
}

fn take(session: &mut Session, what: What, index: usize) {
    let Some(study) = session.studies.answer(what).cloned() else { return };
    if !study.may_be_taken(&session.plan) {
        session.notice = Some(Notice::alert(ASK_AGAIN.to_owned()));
        return;
    }
    let offer = study.outcome.as_ref().ok().and_then(|sheet| sheet.offers.get(index));
    if let (Some(offer), Some(plan)) = (offer, study.offers.get(index)) {
        session.take_plan(format!("Take “{}”", offer.label), plan.clone());
        let text = format!("“{}” is the plan now. Undo brings the one before back.", offer.label);
        session.notice = Some(Notice::news(text));
    }
}

/// Questions of a step.
pub fn of_step(step: crate::session::Step) -> impl Iterator<Item = What> {
    ASKS.iter().filter(move |about| about.step == step).map(|about| about.what)
}
