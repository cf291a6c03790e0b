//! The engine's worker: asked one thing at a time, started again when it falls or goes silent.

use super::frames;
use crate::command::Command;
use crate::solve::{Answer, Job, Look, Outcome, Queue, Request, wire::PageEnd};
use crate::studies::Ask;
use crate::worker::FALL;
use engine::error::EngineError;
use engine::plan::Plan;
use gloo::timers::callback::Timeout;
use js_sys::Uint8Array;
use std::cell::RefCell;
use std::rc::{Rc, Weak};
use wasm_bindgen::prelude::*;
use web_sys::{ErrorEvent, MessageEvent, Worker, WorkerOptions, WorkerType};
use yew::Callback;

/// Sends plans to the worker and its answers to the session.
#[derive(Clone)]
pub struct Solver(Rc<RefCell<Inner>>);

impl PartialEq for Solver {
    fn eq(&self, other: &Self) -> bool {
        Rc::ptr_eq(&self.0, &other.0)
    }
}

struct Inner {
    me: Weak<RefCell<Inner>>,
    tell: Callback<Command>,
    queue: Queue,
    running: Option<Running>,
    silence: Option<Timeout>,
    falls: u32,
    /// The state of the plan that was followed last.
    followed: u64,
}

struct Running {
    worker: Worker,
    end: PageEnd,
    // Kept alive as long as the worker.
    _on_message: Closure<dyn Fn(MessageEvent)>,
    _on_error: Closure<dyn Fn(ErrorEvent)>,
}

impl Drop for Running {
    fn drop(&mut self) {
        // What it said before it ended may still be on its way, and nobody listens any more.
        self.worker.set_onmessage(None);
        self.worker.set_onerror(None);
        self.worker.terminate();
    }
}

/// Falls in a row after which the worker stays down until something new is asked.
const PATIENCE: u32 = 3;

impl Solver {
    /// A solver whose answers go to `tell`.
    pub fn new(tell: Callback<Command>) -> Self {
        Self(Rc::new_cyclic(|me| {
            RefCell::new(Inner {
                me: me.clone(),
                tell,
                queue: Queue::default(),
                running: None,
                silence: None,
                falls: 0,
                followed: 0,
            })
        }))
    }

    /// Starts the worker before anything is asked.
    pub fn stand_by(&self) {
        let mut inner = self.0.borrow_mut();
        if inner.running.is_none() {
            // One that does not start says so when it is needed.
            inner.running = inner.start().ok();
        }
    }

    /// The plan has this state now.
    pub fn analyse(&self, generation: u64, plan: Rc<Plan>) {
        let mut inner = self.0.borrow_mut();
        // An edit does not wait for what is only looked at: that is asked again later.
        if inner.queue.is_looking() {
            inner.running = None;
            inner.silence = None;
            let next = inner.queue.answered();
            inner.send(next);
        }
        let request = inner.queue.analyse(generation, plan);
        inner.send(request);
    }

    /// Somebody looks at this of this state of the plan.
    pub fn look(&self, look: Look, generation: u64, plan: Rc<Plan>) {
        let mut inner = self.0.borrow_mut();
        let request = inner.queue.look(look, generation, plan);
        inner.send(request);
    }

    /// A hand drags and the plan has this state now, perhaps for a while.
    pub fn follow(&self, generation: u64, plan: Rc<Plan>) {
        let mut inner = self.0.borrow_mut();
        if std::mem::replace(&mut inner.followed, generation) == generation {
            return;
        }
        let request = inner.queue.follow(generation, plan);
        inner.send(request);
    }

    /// A question about the plan.
    pub fn ask(&self, ask: Ask, plan: Rc<Plan>) {
        let mut inner = self.0.borrow_mut();
        let request = inner.queue.ask(ask, plan);
        inner.send(request);
    }
}

/// Commands to emit once nothing is borrowed any more.
struct Told(Callback<Command>, Vec<Command>);

impl Told {
    fn emit(self) {
        for command in self.1 {
            self.0.emit(command);
        }
    }
}

impl Inner {
    fn send(&mut self, request: Option<Request>) {
        let Some(request) = request else { return };
        if self.running.is_none() {
            match self.start() {
                Ok(running) => self.running = Some(running),
                Err(error) => {
                    self.fail_later(format!("the worker could not be started ({})", describe(&error)));
                    return;
                }
            }
        }
        let posted = self.running.as_mut().ok_or_else(|| "no worker".to_owned()).and_then(|running| {
            let bytes = Uint8Array::from(running.end.write(&request)?.as_slice());
            running.worker.post_message(&bytes).map_err(|error| describe(&error))
        });
        if let Err(reason) = posted {
            self.fail_later(reason);
            return;
        }
        if request.job == Job::Follow {
            frames::figures_asked();
        }
        self.listen(request.job);
    }

    /// From now on silence counts against the worker.
    fn listen(&mut self, job: Job) {
        let me = self.me.clone();
        self.silence = Some(Timeout::new(job.patience_ms(), move || {
            fall(&me, "it did not answer in time");
        }));
    }

    /// The caller may hold the session: tell it in the next turn of the event loop.
    fn fail_later(&self, reason: String) {
        let me = self.me.clone();
        Timeout::new(0, move || fall(&me, &reason)).forget();
    }

    fn start(&self) -> Result<Running, JsValue> {
        let options = WorkerOptions::new();
        options.set_type(WorkerType::Module);
        let worker = Worker::new_with_options("worker.js", &options)?;
        worker.post_message(&wasm_bindgen::module())?;
        let me = self.me.clone();
        let on_message = Closure::<dyn Fn(MessageEvent)>::new(move |event: MessageEvent| {
            receive(&me, &event.data());
        });
        let me = self.me.clone();
        let on_error = Closure::<dyn Fn(ErrorEvent)>::new(move |event: ErrorEvent| {
            event.prevent_default();
            fall(&me, &event.message());
        });
        worker.set_onmessage(Some(on_message.as_ref().unchecked_ref()));
        worker.set_onerror(Some(on_error.as_ref().unchecked_ref()));
        Ok(Running { worker, end: PageEnd::default(), _on_message: on_message, _on_error: on_error })
    }

    /// Drops the worker and starts another for what waits.
    fn restart(&mut self, reason: &str) -> Told {
        self.running = None;
        self.silence = None;
        frames::figures_came();
        self.falls += 1;
        let goes_on = self.falls <= PATIENCE;
        let mut told = Vec::new();
        if let Some(Request { generation, job, .. }) = self.queue.in_flight().cloned() {
            let error = EngineError::new(
                "calculation",
                format!("was given up: {reason}"),
                "the plan is kept as it is; change it or undo the last step and it is tried again",
            );
            told.push(match job {
                Job::Analyse | Job::Follow => Command::Analysed { generation, outcome: Err(error) },
                Job::Look(look) => Command::Seen { look, generation, outcome: Err(error) },
                Job::Ask(ask) => {
                    Answer { generation, job: Job::Ask(ask), outcome: Outcome::Refused(error) }.into_command()
                }
            });
            let now = if goes_on { "was started again" } else { "stands still until you change something" };
            told.push(Command::WorkerRestarted {
                reason: format!("The calculation {now}: {reason}. Your plan is kept."),
            });
        }
        if goes_on {
            let next = self.queue.restarted();
            self.send(next);
        } else {
            self.queue.given_up();
        }
        Told(self.tell.clone(), told)
    }
}

fn receive(me: &Weak<RefCell<Inner>>, data: &JsValue) {
    let Some(me_strong) = me.upgrade() else { return };
    if let Some(words) = data.as_string() {
        fall(me, words.strip_prefix(FALL).unwrap_or(&words));
        return;
    }
    let read = match &mut me_strong.borrow_mut().running {
        Some(running) => running.end.read(&Uint8Array::new(data).to_vec()),
        None => return,
    };
    match read {
        Ok(answer) => {
            let tell = {
                let mut inner = me_strong.borrow_mut();
                inner.falls = 0;
                if matches!(answer.outcome, Outcome::Progress(..)) {
                    inner.listen(answer.job);
                } else {
                    inner.silence = None;
                    if answer.job == Job::Follow {
                        frames::figures_came();
                    }
                    let next = inner.queue.answered();
                    inner.send(next);
                }
                inner.tell.clone()
            };
            tell.emit(answer.into_command());
        }
        Err(error) => fall(me, &format!("its answer could not be read ({error})")),
    }
}

fn fall(me: &Weak<RefCell<Inner>>, reason: &str) {
    let Some(me) = me.upgrade() else { return };
    let told = me.borrow_mut().restart(reason);
    told.emit();
}

fn describe(error: &JsValue) -> String {
    error.as_string().unwrap_or_else(|| format!("{error:?}"))
}
