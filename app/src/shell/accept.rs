//! Accepting a finding: with a written reason, which stays beside it on the page and in print.

use crate::command::{Command, on_press};
use crate::edit::Edit;
use crate::effects::{On, act, use_effect_on};
use crate::platform::focus;
use engine::finding::{Finding, Severity};
use engine::plan::Plan;
use serde_json::json;
use web_sys::HtmlInputElement;
use yew::prelude::*;

/// What [`Accept`] is given.
#[derive(PartialEq, Properties)]
pub struct AcceptProps {
    /// Name of the rule.
    pub finding: AttrValue,
    /// The item it is about.
    pub item: Option<AttrValue>,
    /// How much it matters.
    pub severity: Severity,
    /// The reason, once there is one.
    pub reason: Option<AttrValue>,
    /// Where the plan's list has it, or what was accepted when it was less grave.
    pub entry: Option<usize>,
    /// Takes commands.
    pub dispatch: Callback<Command>,
}

/// The reason a finding is accepted for, with the way back; or the way to accept it.
#[component]
pub fn Accept(props: &AcceptProps) -> Html {
    let typing = use_state_eq(|| false);
    let typed = use_node_ref();
    use_effect_on(On::Drawing, act(focus::restore));
    let AcceptProps { finding, item, severity, reason, entry, dispatch } = props;
    let set = |path: String, value| Edit::Set { what: "accepted findings", path, value };
    if let Some((reason, index)) = reason.as_ref().zip(*entry) {
        let back = Command::from(set(format!("/accepted/{index}"), None));
        let back = on_press(dispatch, back);
        return html! {
            <p class="accepted" data-testid={format!("accepted-{finding}")}>
                <strong>{ "Accepted: " }</strong>{ reason }{ " " }
                <button type="button" class="link" data-testid={format!("take-back-{finding}")} onclick={back}>{ "Take back" }</button>
            </p>
        };
    }
    let open = |now: bool| {
        let typing = typing.clone();
        Callback::from(move |_: MouseEvent| typing.set(now))
    };
    if !*typing {
        return html! {
            <button type="button" class="link accept" data-testid={format!("accept-{finding}")} onclick={open(true)}>{ "Accept with a reason" }</button>
        };
    }
    let keep = {
        let (finding, item, severity, entry, typed, typing, dispatch) = (
            finding.to_string(),
            item.as_ref().map(ToString::to_string),
            *severity,
            *entry,
            typed.clone(),
            typing.clone(),
            dispatch.clone(),
        );
        Callback::from(move |event: SubmitEvent| {
            event.prevent_default();
            let Some(input) = typed.cast::<HtmlInputElement>() else { return };
            let words = input.value();
            if words.trim().is_empty() {
                // Nothing is accepted without a reason.
                let _ = input.focus();
                return;
            }
            typing.set(false);
            let value =
                json!({ "finding": finding, "item": item, "severity": severity, "reason": words.trim() });
            // What was accepted when it was less grave is accepted anew.
            let place = entry.map_or("-".to_owned(), |entry| entry.to_string());
            dispatch.emit(Command::from(set(format!("/accepted/{place}"), Some(value))));
        })
    };
    html! {
        <form class="accept" onsubmit={keep}>
            <input ref={typed} class="text" type="text" maxlength="300" required=true placeholder="Why is this acceptable?"
                aria-label={format!("Reason for accepting {finding}")} data-testid={format!("reason-{finding}")} />
            <button type="submit" data-testid={format!("keep-reason-{finding}")}>{ "Accept" }</button>
            <button type="button" onclick={open(false)}>{ "Leave open" }</button>
        </form>
    }
}

/// Where the plan's list has a finding: accepted as it is now, or else when it was less grave.
pub fn entry_of(plan: &Plan, finding: &Finding) -> Option<usize> {
    let entries = || plan.accepted.iter();
    let accepts = entries().position(|entry| finding.is_accepted_by(entry));
    accepts.or_else(|| entries().position(|entry| finding.is_meant_by(entry)))
}
