//! What page and worker say to each other, and who is asked what next.
//!
//! It travels as postcard: no keys, numbers as they are. Half the time of JSON and fewer bytes of download;
//! in turn no field of an answer may be left out by `skip_serializing_if`.
//!
//! One request is in flight at a time. While it is, only the newest state of the plan waits; an answer
//! carries the generation of the plan it belongs to, so a late one can be told from a current one.

pub mod wire;

use crate::command::Command;
use crate::studies::{self, Ask, Sheet};
use engine::analysis::{Analysis, Follower};
use engine::design::Designed;
use engine::error::EngineError;
use engine::finding::Finding;
use engine::heat::need::Answer as NeedAnswer;
use engine::heat::travel::DamperTravel;
use engine::plan::Plan;
use serde::{Deserialize, Serialize};
use std::cell::RefCell;
use std::rc::Rc;

/// What the worker is asked to do with a plan.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Job {
    /// Solve and judge it.
    Analyse,
    /// Solve its air from the state before: while a hand drags.
    Follow,
    /// Answer a question about it, or change it.
    Ask(Ask),
    /// Reckon something that is shown only where it is asked for.
    Look(Look),
}

/// What is reckoned only while somebody looks at it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Look {
    /// Heat and air needed, from the list of parts.
    Need,
    /// Zone temperature over the whole travel of every modulated damper.
    Travel,
}

/// What came of a look.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Seen {
    /// Heat and air needed.
    Need(Box<NeedAnswer>),
    /// The travel of each damper.
    Travel(Vec<DamperTravel>),
}

impl Job {
    /// Silence after which the worker counts as stuck, ms.
    pub fn patience_ms(self) -> u32 {
        match self {
            Self::Analyse | Self::Follow => 10_000,
            Self::Look(_) => 60_000,
            // From one word of progress to the next, on a slow machine; somebody may stop it sooner.
            Self::Ask(_) => 600_000,
        }
    }
}

/// A question to the worker.
#[derive(Clone, Debug, PartialEq)]
pub struct Request {
    /// Which state of the plan.
    pub generation: u64,
    /// What to do.
    pub job: Job,
    /// The plan.
    pub plan: Rc<Plan>,
}

/// The worker's answer.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Answer {
    /// Which state of the plan it belongs to.
    pub generation: u64,
    /// What was asked.
    pub job: Job,
    /// What came of it.
    pub outcome: Outcome,
}

/// What came of a job.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Outcome {
    /// The analysis.
    Analysed(Box<Analysis>),
    /// The numbers of an analysis whose names are known; only on its way.
    Numbers(#[serde(with = "wire::as_bytes")] Vec<u8>),
    /// What somebody looks at.
    Seen(Seen),
    /// Nothing, and why.
    Refused(EngineError),
    /// An answer, with the changed plan where the question is a command.
    Sheet(Box<Sheet>, Option<Box<Changed>>),
    /// No outcome yet: solves done, and in all.
    Progress(usize, usize),
}

/// A changed plan on its way to the page.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Changed {
    /// The plan as it became.
    #[serde(with = "wire::as_file")]
    pub plan: Rc<Plan>,
    /// As it was.
    pub before: Analysis,
    /// As it became.
    pub after: Analysis,
    /// What the method has to say.
    pub findings: Vec<Finding>,
}

impl From<Designed> for Changed {
    fn from(done: Designed) -> Self {
        let Designed { plan, before, after, findings } = done;
        Self { plan: Rc::new(plan), before, after, findings }
    }
}

impl Answer {
    /// The command that brings it into the session.
    pub fn into_command(self) -> Command {
        let Self { generation, job, outcome } = self;
        match (job, outcome) {
            (Job::Analyse, Outcome::Analysed(analysis)) => {
                Command::Analysed { generation, outcome: Ok(analysis) }
            }
            (Job::Follow, Outcome::Analysed(analysis)) => Command::Followed { generation, analysis },
            (Job::Analyse | Job::Follow, Outcome::Refused(error)) => {
                Command::Analysed { generation, outcome: Err(error) }
            }
            (Job::Look(look), Outcome::Seen(seen)) => Command::Seen { look, generation, outcome: Ok(seen) },
            (Job::Look(look), Outcome::Refused(error)) => {
                Command::Seen { look, generation, outcome: Err(error) }
            }
            (Job::Ask(ask), outcome) => studies::run::answered(ask, outcome),
            _ => Command::WorkerRestarted {
                reason: "The calculation answered another question; try again".into(),
            },
        }
    }
}

thread_local! {
    /// The worker's own: it remembers the state before.
    static FOLLOWER: RefCell<Follower> = RefCell::default();
}

/// Does a request; runs in the worker. Long work tells meanwhile how far it has come.
pub fn answer(request: &Request, tell: &mut dyn FnMut(Answer)) -> Answer {
    let plan = &*request.plan;
    let head = Answer { generation: request.generation, job: request.job, outcome: Outcome::Progress(0, 1) };
    let outcome = match request.job {
        Job::Analyse => match engine::analysis::analyse(plan) {
            Ok(analysis) => Outcome::Analysed(Box::new(analysis)),
            Err(error) => Outcome::Refused(error),
        },
        Job::Ask(ask) => {
            let mut so_far = |done, of| tell(Answer { outcome: Outcome::Progress(done, of), ..head.clone() });
            match studies::answer::answer(&ask, plan, &mut so_far) {
                Ok((sheet, changed)) => Outcome::Sheet(Box::new(sheet), changed.map(Box::new)),
                Err(error) => Outcome::Refused(error),
            }
        }
        Job::Follow => match FOLLOWER.with_borrow_mut(|follower| follower.follow(plan)) {
            Ok(analysis) => Outcome::Analysed(Box::new(analysis)),
            Err(error) => Outcome::Refused(error),
        },
        Job::Look(Look::Need) => Outcome::Seen(Seen::Need(Box::new(engine::heat::need::need(plan)))),
        Job::Look(Look::Travel) => match engine::heat::travel::damper_travel(plan) {
            Ok(travel) => Outcome::Seen(Seen::Travel(travel)),
            Err(error) => Outcome::Refused(error),
        },
    };
    Answer { outcome, ..head }
}

/// Decides what the worker is asked next.
#[derive(Clone, Debug, Default)]
pub struct Queue {
    in_flight: Option<Request>,
    waiting: Option<Request>,
    question: Option<Request>,
    look: Option<Request>,
}

impl Queue {
    /// The plan has this state now; the request to send, if the worker is free.
    pub fn analyse(&mut self, generation: u64, plan: Rc<Plan>) -> Option<Request> {
        self.waiting = Some(Request { generation, job: Job::Analyse, plan });
        self.next()
    }

    /// A hand drags and the plan has this state now; the request to send, if the worker is free.
    pub fn follow(&mut self, generation: u64, plan: Rc<Plan>) -> Option<Request> {
        self.waiting = Some(Request { generation, job: Job::Follow, plan });
        self.next()
    }

    /// A question about the plan; the request to send, if the worker is free.
    pub fn ask(&mut self, ask: Ask, plan: Rc<Plan>) -> Option<Request> {
        self.question = Some(Request { generation: 0, job: Job::Ask(ask), plan });
        self.next()
    }

    /// Somebody looks at this of this state of the plan; it goes after everything else.
    pub fn look(&mut self, look: Look, generation: u64, plan: Rc<Plan>) -> Option<Request> {
        self.look = Some(Request { generation, job: Job::Look(look), plan });
        self.next()
    }

    /// Whether the worker is held up by what somebody only looks at.
    pub fn is_looking(&self) -> bool {
        self.in_flight.as_ref().is_some_and(|request| matches!(request.job, Job::Look(_)))
    }

    /// The worker answered; the request to send next.
    pub fn answered(&mut self) -> Option<Request> {
        self.in_flight = None;
        self.next()
    }

    /// The worker was started afresh. What it was doing when it fell is not asked again: it would
    /// fall again. What waited is.
    pub fn restarted(&mut self) -> Option<Request> {
        self.answered()
    }

    /// The worker fell once too often and is not asked what waits before something new is.
    pub fn given_up(&mut self) {
        self.in_flight = None;
    }

    /// What the worker is doing.
    pub fn in_flight(&self) -> Option<&Request> {
        self.in_flight.as_ref()
    }

    fn next(&mut self) -> Option<Request> {
        if self.in_flight.is_some() {
            return None;
        }
        self.in_flight = self.question.take().or_else(|| self.waiting.take()).or_else(|| self.look.take());
        self.in_flight.clone()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::starter;
    use crate::studies::What;

    #[test]
    fn while_one_solve_runs_only_the_newest_state_waits() {
        let plan = Rc::new(starter::empty());
        let mut queue = Queue::default();
        assert_eq!(queue.analyse(1, plan.clone()).map(|r| r.generation), Some(1));
        for generation in 2..=9 {
            assert_eq!(queue.analyse(generation, plan.clone()), None);
        }
        assert_eq!(queue.answered().map(|r| r.generation), Some(9));
        assert_eq!(queue.answered(), None);
    }

    #[test]
    fn a_question_goes_before_a_waiting_analysis_and_a_fallen_request_is_not_repeated() {
        let plan = Rc::new(starter::empty());
        let mut queue = Queue::default();
        queue.analyse(1, plan.clone());
        queue.analyse(2, plan.clone());
        let ask = Ask::usual(What::EvenOut, 0);
        assert_eq!(queue.ask(ask, plan.clone()), None);
        assert_eq!(queue.answered().map(|r| r.job), Some(Job::Ask(ask)));
        assert_eq!(queue.restarted().map(|r| (r.generation, r.job)), Some((2, Job::Analyse)));
        assert_eq!(queue.restarted(), None);
    }

    #[test]
    fn after_a_worker_is_given_up_the_next_state_is_sent() {
        let plan = Rc::new(starter::empty());
        let mut queue = Queue::default();
        queue.analyse(1, plan.clone());
        queue.analyse(2, plan.clone());
        queue.given_up();
        assert_eq!(queue.analyse(3, plan.clone()).map(|r| r.generation), Some(3));
        assert_eq!(queue.answered(), None);
    }

    #[test]
    fn what_is_only_looked_at_goes_last_and_only_its_newest_state() {
        let plan = Rc::new(starter::empty());
        let mut queue = Queue::default();
        queue.analyse(1, plan.clone());
        assert_eq!(queue.look(Look::Travel, 1, plan.clone()), None);
        assert_eq!(queue.look(Look::Need, 2, plan.clone()), None);
        queue.analyse(2, plan.clone());
        assert!(!queue.is_looking());
        assert_eq!(queue.answered().map(|r| (r.generation, r.job)), Some((2, Job::Analyse)));
        assert_eq!(queue.answered().map(|r| (r.generation, r.job)), Some((2, Job::Look(Look::Need))));
        assert!(queue.is_looking());
        assert_eq!(queue.answered(), None);
    }
}
