//! Findings: severity, place, what is the case, what to do, and where the rule comes from.

use crate::cards::ViewProps;
use crate::command::Command;
use crate::edit;
use crate::effects::{On, act, use_effect_on};
use crate::shell::accept::{Accept, entry_of};
use engine::finding::{Finding, Severity};
use engine::numerics::sort_short;
use engine::units::UnitSystem;
use gloo::events::EventListener;
use yew::prelude::*;

/// The word and class of a severity.
pub fn severity(severity: Severity) -> (&'static str, &'static str, &'static str) {
    match severity {
        Severity::Problem => ("Problem", "problem", "✕"),
        Severity::Caution => ("Caution", "caution", "!"),
        Severity::Note => ("Note", "note", "i"),
    }
}

/// What a finding says.
pub fn body(finding: &Finding, units: UnitSystem) -> Html {
    let (word, class, glyph) = severity(finding.severity);
    html! {
        <div class={classes!("finding", class)}>
            <span class="severity"><span class="glyph" aria-hidden="true">{ glyph }</span>{ word }</span>
            <p class="message">{ finding.message.show(units) }</p>
            <p class="remedy">{ finding.remedy.show(units) }</p>
            if !finding.basis.is_empty() {
                <p class="basis" key="basis">{ format!("Basis: {}", finding.basis) }</p>
            }
        </div>
    }
}

/// All findings, the worst first.
pub fn findings(props: &ViewProps) -> Html {
    let ViewProps { session, dispatch } = props;
    let mut findings: Vec<&Finding> = session.findings().iter().collect();
    if session.analysis.is_none() && findings.is_empty() {
        return html! { <p class="teach">{ "Findings appear here once the plan can be calculated." }</p> };
    }
    sort_short(&mut findings, |a, b| {
        (a.accepted.is_some(), b.severity).cmp(&(b.accepted.is_some(), a.severity))
    });
    let rows = findings.iter().enumerate().map(|(i, finding)| {
        let place = finding.item.clone().filter(|id| edit::names(&session.plan, id));
        let select = place.clone().map(|id| {
            let dispatch = dispatch.clone();
            Callback::from(move |_: MouseEvent| {
                // The whole plan, so that the place is in sight however close the board looked.
                dispatch.emit(Command::SetCamera(None));
                dispatch.emit(Command::Select(Some(id.clone())));
            })
        });
        html! {
            <li key={format!("{} {} {i}", finding.id, finding.item.as_deref().unwrap_or_default())} data-testid={format!("finding-{}", finding.id)}>
                if let Some(id) = place {
                    <button key="place" type="button" class="link place" title="Show it on the board" onclick={select}>{ id }</button>
                } else {
                    // A part, say, has a name and no place on the board.
                    <span key="place" class="place">{ finding.item.as_deref().unwrap_or("The plan as a whole") }</span>
                }
                { body(finding, session.view.units) }
                <Accept finding={finding.id.clone()} item={finding.item.clone().map(AttrValue::from)}
                    severity={finding.severity} reason={finding.accepted.clone().map(AttrValue::from)}
                    entry={entry_of(&session.plan, finding)} dispatch={dispatch.clone()} />
            </li>
        }
    });
    html! {
        <>
            if findings.is_empty() {
                <p class="teach" key="none">{ "Nothing found against this plan." }</p>
            } else {
                <ul class="findings" key="list" data-testid="findings">{ for rows }</ul>
            }
            <p class="caution-line" key="caution">
                { "Findings are an aid to design and no approval. They do not replace the code in force where the oven stands, the maker's instructions, or the judgement of a licensed engineer; figures a basis calls “from memory” must be looked up in the edition that applies." }
            </p>
        </>
    }
}

/// The findings while the page is being printed, whatever step is shown.
#[component]
pub fn PrintedFindings(props: &ViewProps) -> Html {
    let printing = use_state_eq(|| false);
    {
        let printing = printing.clone();
        use_effect_on(
            On::Start,
            act(move || {
                let window = gloo::utils::window();
                let listeners = [("beforeprint", true), ("afterprint", false)].map(|(event, now)| {
                    let printing = printing.clone();
                    EventListener::new(&window, event, move |_| printing.set(now))
                });
                Some(Box::new(listeners))
            }),
        );
    }
    if !*printing {
        return html! {};
    }
    html! {
        <section class="printed">
            <h2>{ "Findings" }</h2>
            { findings(props) }
        </section>
    }
}
