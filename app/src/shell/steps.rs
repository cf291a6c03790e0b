//! The path of work, and the commands that compute.

use crate::cards::ViewProps;
use crate::command::{Command, on_press};
use crate::session::Step;
use crate::studies::ask::ASKS;
use crate::studies::{Intent, What};
use engine::finding::Severity;
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

/// The path of work.
#[component]
pub fn Steps(props: &ViewProps) -> Html {
    let ViewProps { session, dispatch } = props;
    let open = session.findings().iter();
    let open = open.filter(|finding| finding.severity > Severity::Note && finding.accepted.is_none()).count();
    let steps = STEPS.iter().enumerate().map(|(i, &(step, name, testid))| {
        let here = session.view.step == step;
        let go = on_press(dispatch, Command::GoTo(step));
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
    let asking = session.studies.asking.as_ref();
    let commands = ASKS.iter().filter(|about| about.in_bar).map(|about| {
        let running = asking.is_some_and(|asking| asking.ask.what == about.what);
        let onclick = on_press(dispatch, Intent::Start(about.what).into());
        html! {
            <button key={about.testid} type="button" class={classes!("command", (about.what == What::EvenOut).then_some("primary"))}
                title={about.teach} data-testid={about.testid} disabled={asking.is_some()} aria-busy={running.to_string()} {onclick}>
                { if running { format!("{} …", about.label) } else { about.label.to_owned() } }
            </button>
        }
    });
    let stop = on_press(dispatch, Intent::Stop.into());
    html! {
        <nav class="steps" aria-label="Steps of the work">
            <ol>{ for steps }</ol>
            <div class="commands" role="group" aria-label="Computations">
                { for commands }
                if asking.is_some_and(|asking| asking.ask.what.about().in_bar) {
                    <button key="stop" type="button" data-testid="cancel" onclick={stop}>{ "Stop" }</button>
                }
            </div>
        </nav>
    }
}
