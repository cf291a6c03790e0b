//! Under the board: the strip of the selected run, or the tables of the step.

use crate::cards::ViewProps;
use crate::command::Command;
use crate::session::Dock as Shown;
use crate::strip::Strip;
use crate::tables::Tables;
use yew::prelude::*;

/// The strip or the tables.
#[component]
pub fn Dock(props: &ViewProps) -> Html {
    let ViewProps { session, dispatch } = props;
    let choice = |shown: Shown, text: &'static str, testid: &'static str| {
        let here = session.view.dock == shown;
        let onclick = dispatch.reform(move |_: MouseEvent| Command::ShowDock(shown));
        html! { <button key={testid} type="button" aria-pressed={here.to_string()} data-testid={testid} {onclick}>{ text }</button> }
    };
    html! {
        <section class="dock" aria-label="Strip and tables">
            <div class="dock-head" role="group" aria-label="Show under the board">
                { choice(Shown::Strip, "Strip", "dock-strip") }
                { choice(Shown::Tables, "Table", "dock-tables") }
            </div>
            <div class="dock-body">
                if session.view.dock == Shown::Strip {
                    <Strip key="strip" session={session.clone()} dispatch={dispatch.clone()} />
                } else {
                    <Tables key="tables" session={session.clone()} dispatch={dispatch.clone()} />
                }
            </div>
        </section>
    }
}
