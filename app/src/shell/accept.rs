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
    /// The reason, once there is one, and where it stands in the plan's list.
    pub accepted: Option<(AttrValue, usize)>,
    /// Takes commands.
    pub dispatch: Callback<Command>,
}

/// The reason a finding is accepted for, with the way back; or the way to accept it.
#[component]
pub fn Accept(props: &AcceptProps) -> Html {
    let typing = use_state_eq(|| false);
    let reason = use_node_ref();
    use_effect_on(On::Drawing, act(focus::restore));
    let AcceptProps { finding, item, severity, accepted, dispatch } = props;
    let set = |path: String, value| Edit::Set { what: "accepted findings", path, value };
    if let Some((reason, index)) = accepted {
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
        let (finding, item, severity, reason, typing, dispatch) = (
            finding.to_string(),
            item.as_ref().map(ToString::to_string),
            *severity,
            reason.clone(),
            typing.clone(),
            dispatch.clone(),
        );
        Callback::from(move |event: SubmitEvent| {
            event.prevent_default();
            let Some(input) = reason.cast::<HtmlInputElement>() else { return };
            let words = input.value();
            if words.trim().is_empty() {
                // Nothing is accepted without a reason.
                let _ = input.focus();
                return;
            }
            typing.set(false);
            let value =
                json!({ "finding": finding, "item": item, "severity": severity, "reason": words.trim() });
            dispatch.emit(Command::from(set("/accepted/-".to_owned(), Some(value))));
        })
    };
    html! {
        <form class="accept" onsubmit={keep}>
            <input ref={reason} class="text" type="text" maxlength="300" required=true placeholder="Why is this acceptable?"
                aria-label={format!("Reason for accepting {finding}")} data-testid={format!("reason-{finding}")} />
            <button type="submit" data-testid={format!("keep-reason-{finding}")}>{ "Accept" }</button>
            <button type="button" onclick={open(false)}>{ "Leave open" }</button>
        </form>
    }
}

/// The reason and place of an accepted finding.
pub fn accepted(plan: &Plan, finding: &Finding) -> Option<(AttrValue, usize)> {
    let reason = finding.accepted.clone()?;
    let is_it = |entry: &engine::plan::Accepted| {
        entry.finding == finding.id && entry.item == finding.item && entry.reason == reason
    };
    let index = plan.accepted.iter().position(is_it)?;
    Some((reason.into(), index))
}
