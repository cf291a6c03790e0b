//! The path of work, and the commands that compute.

use crate::command::Command;
use crate::session::{Session, Step, Task};
use engine::finding::Severity;
use std::rc::Rc;
use yew::prelude::*;

/// Every step in its order, with its name.
pub const STEPS: [(Step, &str, &str); 6] = [
    (Step::Need, "Heat & air needed", "need"),
    (Step::Layout, "Layout", "layout"),
    (Step::Slots, "Slots", "slots"),
    (Step::Returns, "Returns", "returns"),
    (Step::Fan, "Fan & zones", "fan"),
    (Step::Findings, "Findings", "findings"),
];

/// What the path is given.
#[derive(Properties, PartialEq)]
pub struct StepsProps {
    /// The session shown.
    pub session: Rc<Session>,
    /// Takes commands.
    pub dispatch: Callback<Command>,
    /// Starts a computation.
    pub run: Callback<Task>,
    /// Gives the running one up.
    pub cancel: Callback<()>,
}

/// The path of work.
#[component]
pub fn Steps(props: &StepsProps) -> Html {
    let StepsProps { session, dispatch, run, cancel } = props;
    let open = session.findings().iter();
    let open = open.filter(|finding| finding.severity > Severity::Note && finding.accepted.is_none()).count();
    let steps = STEPS.iter().enumerate().map(|(i, &(step, name, testid))| {
        let here = session.view.step == step;
        let go = dispatch.reform(move |_: MouseEvent| Command::GoTo(step));
        html! {
            <li key={i}>
                <button type="button" class="step" aria-current={here.then_some("step")} data-testid={format!("step-{testid}")} onclick={go}>
                    <span class="ordinal" aria-hidden="true">{ i + 1 }</span>{ name }
                    if step == Step::Findings && open > 0 {
                        <span class="count" key="count">{ open }<span class="unseen">{ " open" }</span></span>
                    }
                </button>
            </li>
        }
    });
    let task = |task: Task, testid: &'static str, title: &'static str| {
        let running = session.running == Some(task);
        let onclick = run.reform(move |_: MouseEvent| task);
        html! {
            <button key={testid} type="button" class={classes!("command", (task == Task::EvenOut).then_some("primary"))} {title}
                data-testid={testid} disabled={session.running.is_some()} aria-busy={running.to_string()} {onclick}>
                { if running { format!("{} …", task.label()) } else { task.label().to_owned() } }
            </button>
        }
    };
    let stop = cancel.reform(|_: MouseEvent| ());
    html! {
        <nav class="steps" aria-label="Steps of the work">
            <ol>{ for steps }</ol>
            <div class="commands" role="group" aria-label="Computations">
                { task(Task::EvenOut, "even-out", "Size every slot so that each discharges its share, in steps the shop can cut") }
                { task(Task::SetReturns, "set-returns", "Set the return slides to the wanted shares with the least fan power") }
                { task(Task::FindSpeed, "find-speed", "Find the fan speed that gives the air wanted") }
                if session.running.is_some() {
                    <button key="stop" type="button" data-testid="cancel" onclick={stop}>{ "Stop" }</button>
                }
            </div>
        </nav>
    }
}
