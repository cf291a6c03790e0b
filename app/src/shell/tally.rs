//! The few figures that are always in sight, and the fan speed.

use crate::cards::{ViewProps, heater::TOP_SPEED_RPM};
use crate::command::{Command, on_press};
use crate::edit::{Edit, FanEdit};
use crate::quantity_input::QuantityInput;
use crate::session::Step;
use engine::analysis::Analysis;
use engine::finding::Severity;
use engine::units::{Kind, show};
use web_sys::HtmlInputElement;
use yew::prelude::*;

/// The tally.
#[component]
pub fn Tally(props: &ViewProps) -> Html {
    let ViewProps { session, dispatch } = props;
    let units = session.view.units;
    let analysis = session.analysis.as_ref();
    // The bits of the figures, so that they can be compared with those of another computer; followed ones have
    // only as many as a picture needs.
    let bits = use_memo((session.analysis_generation, analysis.is_some(), session.followed), |_| {
        let whole = session.analysis.as_ref().filter(|_| !session.followed);
        whole.map(|analysis| format!("{:016x}", analysis.fingerprint()))
    });
    let before = session.before.as_ref().map(|before| &*before.analysis);
    let stale = analysis.is_none() || !session.analysis_is_current();
    let figure = |label: &str,
                  testid: &str,
                  value: Option<f64>,
                  kind: Kind,
                  was: fn(&Analysis) -> f64,
                  note: Html,
                  class: &'static str| {
        html! {
            <div class={classes!("tally-item", class)} key={testid}>
                <span class="label">{ label }</span>
                <output class="value" data-testid={testid.to_owned()} data-value={value.map(|v| v.to_string())}>
                    { value.map_or_else(|| "—".to_owned(), |v| show(v, kind, units)) }
                </output>
                if let Some(before) = before {
                    <span class="note was" key="was" data-testid={format!("{testid}-before")} data-value={was(before).to_string()}>
                        { format!("before {}", show(was(before), kind, units)) }
                    </span>
                }
                <span class="note" key="note">{ note }</span>
            </div>
        }
    };
    // Without slots nothing is even, and without flow a fan has no margin.
    let even = analysis.filter(|a| !a.slots.is_empty()).map(|a| &a.evenness);
    let fan = analysis.map(|a| &a.fan);
    let blowing = fan.filter(|fan| fan.flow_m3_s > 0.0);
    let worst = even.map(|e| e.worst_percent);
    let worst_slot = even.map(|e| e.worst_slot.clone()).filter(|id| !id.is_empty());
    let worst_note = match worst_slot {
        Some(id) => {
            let select = on_press(dispatch, Command::Select(Some(id.clone())));
            html! { <button type="button" class="link" title="Show the worst slot" onclick={select}>{ id }</button> }
        }
        None => html! { "no slots yet" },
    };
    let spread = even.map_or_else(String::new, |e| {
        e.max_over_min.map_or_else(String::new, |ratio| format!("max/min {ratio:.3}"))
    });
    let open = |finding: &&engine::finding::Finding| finding.accepted.is_none();
    let count = |wanted| session.findings().iter().filter(open).filter(|f| f.severity == wanted).count();
    let (problems, cautions) = (count(Severity::Problem), count(Severity::Caution));
    let to_findings = on_press(dispatch, Command::GoTo(Step::Findings));
    let flow_note = {
        let wanted = show(session.plan.required_flow_kg_s, Kind::MassFlow, units);
        match analysis {
            Some(a) if session.plan.required_flow_kg_s > 0.0 => {
                let share = 100.0 * a.total_flow_kg_s.max(0.0) / session.plan.required_flow_kg_s;
                format!("{share:.0}\u{a0}% of {wanted} wanted")
            }
            _ => format!("{wanted} wanted"),
        }
    };
    let worst_class = match worst {
        Some(worst) if worst <= 5.0 => "good",
        Some(_) => "poor",
        None => "",
    };
    html! {
        <section class={classes!("tally", stale.then_some("stale"))} aria-label="Tally" aria-busy={stale.to_string()} data-testid="tally"
            data-generation={session.generation.to_string()} data-analysed={session.analysis_generation.to_string()}
            data-fingerprint={(*bits).clone()}>
            if let Some(heat) = analysis.and_then(|a| a.heat.as_ref()) {
                <div class={classes!("tally-item", if heat.worst.off_k.abs() <= 5.0 { "good" } else { "poor" })} key="tally-bay">
                    <span class="label">{ "Worst bay" }</span>
                    <output class="value" data-testid="tally-bay" data-value={heat.worst.off_k.to_string()}>
                        { crate::heat::signed(heat.worst.off_k, units) }
                    </output>
                    <span class="note">{ &heat.worst.bay }</span>
                </div>
            }
            { figure("Worst slot", "tally-worst", worst, Kind::Percent, |a| a.evenness.worst_percent, worst_note, worst_class) }
            { figure("Spread (CV)", "tally-cv", even.map(|e| e.cv_percent), Kind::Percent, |a| a.evenness.cv_percent, html! { { spread } }, "") }
            { figure("Supply air", "tally-flow", analysis.map(|a| a.total_flow_kg_s), Kind::MassFlow, |a| a.total_flow_kg_s, html! { { flow_note } }, "") }
            { figure("Fan", "tally-fan-flow", fan.map(|f| f.flow_m3_s), Kind::VolumeFlow, |a| a.fan.flow_m3_s,
                html! { { fan.map(|f| format!("at {} total", show(f.total_pressure_pa, Kind::Pressure, units))).unwrap_or_default() } }, "") }
            { figure("Shaft", "tally-power", fan.map(|f| f.shaft_power_w), Kind::ShaftPower, |a| a.fan.shaft_power_w,
                html! { { fan.map(|f| format!("{} cold", show(f.cold_shaft_power_w, Kind::ShaftPower, units))).unwrap_or_default() } }, "") }
            { figure("Margin to stall", "tally-stall", blowing.map(|f| f.stall_margin_percent), Kind::Percent, |a| a.fan.stall_margin_percent, html! { "of the flow" },
                if blowing.is_some_and(|f| f.stall_margin_percent < 0.0) { "poor" } else { "" }) }
            { crate::studies::card::tally(session, dispatch) }
            <div class="tally-item" key="findings">
                <span class="label">{ "Open findings" }</span>
                <button type="button" class="link value" data-testid="tally-findings" data-value={(problems + cautions).to_string()} onclick={to_findings}>
                    { problems + cautions }
                </button>
                <span class="note">{ format!("{}, {}", counted(problems, "problem"), counted(cautions, "caution")) }</span>
            </div>
            { fan_speed(props) }
            <p class="computed">{ "computed, not measured" }</p>
        </section>
    }
}

fn counted(count: usize, what: &str) -> String {
    if count == 1 { format!("1 {what}") } else { format!("{count} {what}s") }
}

/// Fan speed by number and by slider; the slider is one undo step from grip to release.
fn fan_speed(props: &ViewProps) -> Html {
    let ViewProps { session, dispatch } = props;
    let fan = &session.plan.heater.fan;
    let top =
        fan.allowed_speed_rpm().unwrap_or((fan.curve_speed_rpm * 1.3).max(fan.speed_rpm)).min(TOP_SPEED_RPM);
    let low = (top * 0.2).floor();
    let edit = |rpm: f64| Command::from(Edit::Fan(FanEdit::Speed(rpm)));
    let oninput = {
        let dispatch = dispatch.clone();
        Callback::from(move |event: InputEvent| {
            let Some(input) = event.target_dyn_into::<HtmlInputElement>() else { return };
            dispatch.emit(Command::Begin("Change fan speed"));
            dispatch.emit(edit(input.value_as_number()));
        })
    };
    // A slider that is back where it was does not say that it changed.
    let onpointerup = dispatch.reform(|_: PointerEvent| Command::Commit);
    let onblur = dispatch.reform(|_: FocusEvent| Command::Commit);
    let onchange = dispatch.reform(|_: Event| Command::Commit);
    html! {
        <div class="tally-item fan-speed">
            <span class="label">{ "Fan speed" }</span>
            <QuantityInput label="Fan speed" testid="fan-speed" kind={Kind::Rotation} system={session.view.units}
                value={Some(fan.speed_rpm)} min={0.0} max={fan.allowed_speed_rpm().unwrap_or(TOP_SPEED_RPM)} on_commit={dispatch.reform(edit)} />
            <input type="range" aria-label="Fan speed slider" data-testid="fan-speed-slider" min={low.to_string()} max={top.to_string()} step="5"
                value={fan.speed_rpm.to_string()} {oninput} {onchange} {onpointerup} {onblur} />
        </div>
    }
}
