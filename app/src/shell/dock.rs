//! Under the board: the strip of the selected run, or the tables of the step.

use crate::cards::ViewProps;
use crate::command::{Command, on_press};
use crate::heat::heat_sheet;
use crate::session::{Dock as Shown, Session};
use crate::strip::Strip;
use crate::studies::view::answers;
use crate::tables::tables;
use yew::prelude::*;

/// Keeps a version to compare with, shows it on the board, forgets it.
fn compare(session: &Session, dispatch: &Callback<Command>) -> Html {
    let press = |command: Command, testid: &'static str, text: &'static str, title: &'static str| {
        let pressed = matches!(command, Command::ShowBefore(false)).to_string();
        let pressed = matches!(command, Command::ShowBefore(_)).then_some(pressed);
        let disabled = matches!(command, Command::KeepBefore) && !session.analysis_is_current();
        let onclick = on_press(dispatch, command);
        html! { <button key={testid} type="button" aria-pressed={pressed} data-testid={testid} {disabled} {title} {onclick}>{ text }</button> }
    };
    let kept = session.before.as_ref();
    html! {
        <>
            <span class="spring" key="spring"></span>
            { press(Command::KeepBefore, "keep-before", if kept.is_some() { "Keep this instead" } else { "Keep as “before”" },
                "Figures, strip and fan chart show this version beside what comes next") }
            if let Some(before) = kept {
                { press(Command::ShowBefore(!before.on_board), "show-before", "Before on the board", "Show the kept version on the board, to look at") }
                { press(Command::ForgetBefore, "forget-before", "Forget “before”", "Compare no more") }
            }
        </>
    }
}

/// The strip or the tables.
#[component]
pub fn Dock(props: &ViewProps) -> Html {
    let ViewProps { session, dispatch } = props;
    let choice = |shown: Shown, text: &'static str, testid: &'static str| {
        let here = session.view.dock == shown;
        let onclick = on_press(dispatch, Command::ShowDock(shown));
        html! { <button key={testid} type="button" aria-pressed={here.to_string()} data-testid={testid} {onclick}>{ text }</button> }
    };
    html! {
        <section class="dock" aria-label="Strip and tables">
            <div class="dock-head" role="group" aria-label="Show under the board">
                { choice(Shown::Strip, "Strip", "dock-strip") }
                { choice(Shown::Tables, "Table", "dock-tables") }
                { choice(Shown::Heat, "Heat", "dock-heat") }
                { choice(Shown::Answers, "Answers", "dock-answers") }
                { compare(session, dispatch) }
            </div>
            <div class="dock-body">
                { match session.view.dock {
                    Shown::Strip => html! { <Strip key="strip" session={session.clone()} dispatch={dispatch.clone()} /> },
                    Shown::Tables => tables(props),
                    Shown::Heat => heat_sheet(props),
                    Shown::Answers => answers(props),
                } }
            </div>
        </section>
    }
}
