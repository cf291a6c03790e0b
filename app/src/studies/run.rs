//! Asks the worker: a worker of its own, so that the figures go on following the hand meanwhile.

use super::ask::Ask;
use super::state::Intent;
use crate::command::Command;
use crate::effects::{On, act, use_effect_on};
use crate::platform::solver::Solver;
use crate::session::{Notice, Session};
use std::rc::Rc;
use yew::prelude::*;

/// Starts the question that the session holds, and gives up the one it no longer does.
#[hook]
pub fn use_studies(session: &Rc<Session>, dispatch: &Callback<Command>) {
    let solver = use_mut_ref(|| None::<(Ask, Solver)>);
    let asking = session.studies.asking.as_ref().map(|asking| (asking.ask, asking.plan.clone()));
    let dispatch = dispatch.clone();
    use_effect_on(
        On::Numbers(session.studies.serial, 0),
        act(move || {
            let Some((ask, plan)) = asking else {
                // Ends the worker with all it was doing.
                *solver.borrow_mut() = None;
                return None;
            };
            let tell = Callback::from(move |command: Command| match command {
                // It ends only this question, not what the other worker does.
                Command::WorkerRestarted { reason } => dispatch.emit(Command::Tell(Notice::alert(reason))),
                other => dispatch.emit(other),
            });
            let fresh = Solver::new(tell);
            fresh.ask(ask, plan);
            *solver.borrow_mut() = Some((ask, fresh));
            None
        }),
    );
}

/// The command that brings an answer into the session.
pub fn answered(ask: Ask, outcome: crate::solve::Outcome) -> Command {
    use crate::solve::Outcome;
    let outcome = match outcome {
        Outcome::Progress(done, of) => return Intent::Progress(done, of).into(),
        Outcome::Sheet(sheet, changed) => Ok((sheet, changed)),
        Outcome::Refused(error) => Err(error),
        Outcome::Analysed(_) | Outcome::Numbers(_) | Outcome::Seen(_) => {
            return Command::WorkerRestarted {
                reason: "The calculation answered another question; try again".into(),
            };
        }
    };
    Intent::Answered { ask, outcome }.into()
}
