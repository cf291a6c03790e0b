//! What panels and the tally show of the questions: the ones of a step, and P50 and P90.

use super::ask::What;
use super::state::{Intent, of_step};
use crate::command::on_press;
use crate::fields::Form;
use crate::session::{Session, Step};
use engine::units::{Kind, show};
use yew::prelude::*;

/// The questions of a step, each one press away.
pub fn of_panel(form: &Form, step: Step) -> Html {
    let asks: Vec<What> = of_step(step).collect();
    if asks.is_empty() {
        return html! {};
    }
    html! {
        <div key="asks">
            <h3>{ "Ask the plan" }</h3>
            <p class="buttons">
                { for asks.iter().map(|what| {
                    let about = what.about();
                    form.command(about.label, &format!("ask-{}", about.testid), Intent::Open(*what).into())
                }) }
            </p>
        </div>
    }
}

/// P50 and P90 of the worst bay, with whether they belong to the plan as it stands.
pub fn as_built(session: &Session) -> Option<(f64, f64, bool)> {
    let study = session.studies.answer(What::AsBuilt)?;
    let sheet = study.outcome.as_ref().ok()?;
    let [p50, p90] = *sheet.headline.as_slice() else { return None };
    Some((p50, p90, study.is_about(&session.plan)))
}

/// The figure of the tally: P90 where it is known, else the way to it.
pub fn tally(session: &Session, dispatch: &Callback<crate::command::Command>) -> Html {
    let units = session.view.units;
    let found = as_built(session);
    let open = on_press(dispatch, Intent::Open(What::AsBuilt).into());
    let fresh = found.filter(|found| found.2);
    let text = found.map_or_else(|| "—".to_owned(), |(_, p90, _)| show(p90, Kind::Percent, units));
    let note = match found {
        Some((p50, _, true)) => format!("worst bay; P50 {}", show(p50, Kind::Percent, units)),
        Some(_) => "out of date".to_owned(),
        None => "not asked yet".to_owned(),
    };
    html! {
        <div class={classes!("tally-item", (found.is_some() && fresh.is_none()).then_some("outdated"))} key="p90">
            <span class="label">{ "As built (P90)" }</span>
            <button type="button" class="link value" data-testid="tally-p90" aria-label={format!("As built, P90: {text}, {note}")}
                data-value={fresh.map(|(_, p90, _)| p90.to_string())} onclick={open}>{ text }</button>
            <span class="note">{ note }</span>
        </div>
    }
}
