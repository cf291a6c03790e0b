//! News, refusals, and what a computation did: read out politely, put away by hand.

use crate::cards::ViewProps;
use crate::command::{Command, on_press};
use crate::edit;
use crate::session::{Report, Session};
use crate::shell::panel;
use engine::units::{Kind, UnitSystem, show};
use yew::prelude::*;

/// How the name of a step ends that opens the plan of a link.
pub const FROM_A_LINK: &str = " from a link";

/// The line under the path of work.
#[component]
pub fn Messages(props: &ViewProps) -> Html {
    let ViewProps { session, dispatch } = props;
    let units = session.view.units;
    let news = session.notice.as_ref().filter(|notice| !notice.alert).map(|notice| notice.text.clone());
    let alert = session.notice.as_ref().filter(|notice| notice.alert).map(|notice| notice.text.clone());
    let unfinished = panel::is_unfinished(&session.plan);
    let running = session.studies.asking.as_ref().filter(|asking| asking.ask.what.about().in_bar);
    let stuck = session.solve_error.as_ref().filter(|_| alert.is_none() && running.is_none() && !unfinished);
    let not_converged = not_converged(session);
    let report = session.report.as_ref();
    let working = running.map(|asking| format!("{} is computing …", asking.ask.what.about().label));
    let status = working.or(news).or_else(|| report.map(|report| report_text(report, units)));
    let place =
        stuck.filter(|error| edit::names(&session.plan, &error.place)).map(|error| error.place.clone());
    let select = place.clone().map(|id| on_press(dispatch, Command::Select(Some(id))));
    let away = on_press(dispatch, Command::Dismiss);
    let can_go = session.notice.is_some() || report.is_some() || session.offered.is_some();
    let caveats = report.filter(|_| session.notice.is_none()).map(|report| &report.findings);
    let spoken = status.is_some() || alert.is_some() || stuck.is_some() || not_converged.is_some();
    html! {
        <div class={classes!("messages", spoken.then_some("some"))}>
            <div role="status" class="news" data-testid="status" key="status">{ status.unwrap_or_default() }</div>
            <div role="alert" class="alert" data-testid="alert" key="alert">
                { alert.or_else(|| stuck.map(|error| format!("Not calculated. {error}."))).or(not_converged).unwrap_or_default() }
            </div>
            if running.is_some() {
                <progress key="progress" aria-label="Computing" data-testid="progress"></progress>
            }
            if !spoken {
                <span class="state" key="state">{ state(session) }</span>
            }
            if let Some(id) = place {
                <button type="button" key="place" onclick={select}>{ format!("Show {id}") }</button>
            }
            if let Some(findings) = caveats {
                { for findings.iter().enumerate().map(|(i, finding)| html! {
                    <p class="caveat" key={format!("caveat {i}")}>{ finding.message.show(units) }{ " " }{ finding.remedy.show(units) }</p>
                }) }
            }
            if let Some((_, label, _)) = &session.offered {
                <button type="button" key="offer" data-testid="open-anyway" onclick={on_press(dispatch, Command::TakeOffer)}>
                    { if label.ends_with(FROM_A_LINK) { label } else { "Open it all the same" } }
                </button>
            }
            if can_go {
                <button type="button" class="mini" key="away" aria-label="Put the message away" data-testid="dismiss" onclick={away}>{ "×" }</button>
            }
        </div>
    }
}

/// The power of ten that a remainder stays within.
fn within(remainder: f64) -> String {
    if remainder > 0.0 {
        format!("1e{}", (engine::numerics::ln(remainder) / core::f64::consts::LN_10).ceil())
    } else {
        "0".to_owned()
    }
}

/// How well the calculation closes: what a careful reader asks first.
fn state(session: &Session) -> String {
    match &session.analysis {
        Some(analysis) if session.analysis_is_current() => format!(
            "Calculated in {} steps; the air balance closes to {} of the fan's flow, pressures to {}\u{a0}Pa.",
            analysis.iterations,
            within(analysis.mass_residual),
            within(analysis.pressure_residual_pa)
        ),
        _ if panel::is_unfinished(&session.plan) => {
            "Not calculated yet: the panel lists what this oven still needs.".to_owned()
        }
        _ => "Calculating …".to_owned(),
    }
}

fn not_converged(session: &Session) -> Option<String> {
    let analysis = session.analysis.as_ref().filter(|analysis| analysis.status != "converged")?;
    let worst = analysis.worst_branch.as_ref().map(|id| format!(", worst at {id}")).unwrap_or_default();
    Some(format!(
        "The calculation did not close ({}{worst}): figures shown are the last attempt, not a result. Undo the last step, or look for a duct without a way out.",
        analysis.status
    ))
}

/// Before and after, as a sentence.
pub fn report_text(report: &Report, units: UnitSystem) -> String {
    let (before, after) = (&report.before, &report.after);
    let percent = |v: f64| show(v, Kind::Percent, units);
    let power = |v: f64| show(v, Kind::ShaftPower, units);
    let share = |analysis: &engine::analysis::Analysis| {
        let furthest =
            analysis.returns.iter().map(|item| 100.0 * (item.share / item.target_share - 1.0).abs());
        furthest.fold(0.0, f64::max)
    };
    let mut text = format!(
        "{}: worst slot {} before, {} now (CV {}, then {}); shaft power {} before, {} now; air {} of {}.",
        report.label,
        percent(before.evenness.worst_percent),
        percent(after.evenness.worst_percent),
        percent(before.evenness.cv_percent),
        percent(after.evenness.cv_percent),
        power(before.fan.shaft_power_w),
        power(after.fan.shaft_power_w),
        show(after.total_flow_kg_s, Kind::MassFlow, units),
        show(after.required_flow_kg_s, Kind::MassFlow, units),
    );
    if report.label == crate::studies::What::SetReturns.about().label {
        text.push_str(&format!(
            " Return shares off by {} before, {} now.",
            percent(share(before)),
            percent(share(after))
        ));
    }
    if report.label == crate::studies::What::Propose.about().label {
        text.push_str(" Before: as drawn, with slides, speed and slots still to set. Bend it from here.");
    }
    text
}
