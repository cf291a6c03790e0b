//! Three short hints over the working plan, on the first visit.

use crate::platform::preferences;
use yew::prelude::*;

/// What the hints are given.
#[derive(PartialEq, Properties)]
pub struct HintsProps {
    /// Somebody is at work on an item: its card has the room.
    pub working: bool,
}

/// The hints, until they are put away.
#[component]
pub fn Hints(props: &HintsProps) -> Html {
    let wanted = use_state_eq(preferences::hints_wanted);
    if !*wanted || props.working {
        return html! {};
    }
    let onclick = {
        let wanted = wanted.clone();
        Callback::from(move |_: MouseEvent| {
            preferences::hide_hints();
            wanted.set(false);
        })
    };
    html! {
        <section class="hints" aria-label="First steps" data-testid="hints">
            <ol>
                <li>{ "This oven works. Drag the end of a run, or select it and type: every figure follows." }</li>
                <li>{ "“Even out” cuts the slots so that each discharges its share. Undo takes anything back." }</li>
                <li>{ "“Findings” says what to look at next, and why. Your own plan begins under ⋯ at the top." }</li>
            </ol>
            <button type="button" data-testid="hints-away" {onclick}>{ "Got it" }</button>
        </section>
    }
}
