//! Heat and air needed: the quote before the layout, and the button that turns it into one.

use super::goes::{Bar, Goes, GoesPicture};
use super::{cell, figure, table};
use crate::cards::ViewProps;
use crate::shell::findings::body;
use crate::solve::{Look, Seen};
use crate::studies::view::choice;
use crate::studies::{Intent, What};
use engine::heat::need::{HeatItem, HeatRow, Need};
use engine::units::{Kind, UnitSystem, show};
use yew::prelude::*;

/// Heat and air needed.
pub fn need_sheet(props: &ViewProps) -> Html {
    let ViewProps { session, .. } = props;
    let units = session.view.units;
    let seen = session.seen.as_ref().filter(|seen| seen.look == Look::Need);
    let Some(seen) = seen else {
        return html! { <p class="teach">{ "Reckoning …" }</p> };
    };
    let answer = match &seen.outcome {
        Ok(Seen::Need(answer)) => answer,
        Ok(_) => return html! {},
        Err(error) => return html! { <p class="teach">{ error.to_string() }</p> },
    };
    let current = seen.generation == session.generation;
    let findings = answer.findings.iter().enumerate();
    let findings = findings.map(|(i, finding)| html! { <li key={i}>{ body(finding, units) }</li> });
    let sheet = match &answer.need {
        None => html! {
            <p class="teach">
                { "From the enquiry and the list of parts beside this: oven length, air, fan, motor and burner. What is still missing stands below." }
            </p>
        },
        Some(need) => html! {
            <>
                { head(need, units) }
                { propose(props) }
                { parts(need, units) }
                { zones(need, units) }
                <GoesPicture goes={picture(need, units)} theme={session.view.theme} />
                { rows(need, units) }
                { reasons(need, units) }
            </>
        },
    };
    html! {
        <div key="need" aria-busy={(!current).to_string()} data-testid="need" data-generation={seen.generation.to_string()}>
            { sheet }
            if !answer.findings.is_empty() {
                <section key="findings"><h3>{ "To be known" }</h3><ul class="findings" data-testid="need-findings">{ for findings }</ul></section>
            }
        </div>
    }
}

/// The figures of the quote.
fn head(need: &Need, units: UnitSystem) -> Html {
    let length: f64 = need.zones.iter().map(|zone| zone.length_m).sum();
    let split =
        need.zones.iter().map(|zone| format!("{} {}", zone.id, show(zone.length_m, Kind::Length, units)));
    let split = split.collect::<Vec<_>>().join(" + ");
    let size = format!(
        "{} wide, {} high inside",
        show(need.width_m, Kind::Length, units),
        show(need.height_m, Kind::Length, units)
    );
    let (fan, burner) = (&need.fan, &need.burner);
    let rate = |w| show(w, Kind::HeatRate, units);
    html! {
        <div class="figures">
            { figure("Oven length", "need-length", Some(length), Kind::Length, units, split) }
            { figure("Line speed", "need-speed", Some(need.speed_m_s), Kind::LineSpeed, units, size) }
            { figure("Recirculated air", "need-air", Some(need.air_kg_s), Kind::MassFlow, units,
                format!("at {}", show(need.supply_c, Kind::Temperature, units))) }
            { figure("Fan", "need-fan", Some(fan.flow_m3_s), Kind::VolumeFlow, units,
                format!("at {} total", show(fan.pressure_pa, Kind::Pressure, units))) }
            { figure("Motor", "need-motor", Some(fan.motor_w), Kind::ShaftPower, units,
                format!("{} hot, {} cold", show(fan.shaft_w, Kind::ShaftPower, units), show(fan.cold_shaft_w, Kind::ShaftPower, units))) }
            { figure("Burner", "need-burner", Some(burner.rated_w), Kind::HeatRate, units,
                format!("{} running, {} heating up", rate(burner.input_w), rate(burner.heating_up_w))) }
            { figure("Turn-down", "need-turn-down", Some(burner.turn_down), Kind::Number, units, format!("idle {}", rate(burner.idle_w))) }
            { figure("Exhaust", "need-exhaust", Some(need.exhaust_kg_s), Kind::MassFlow, units, "replaced by plant air".to_owned()) }
        </div>
    }
}

fn parts(need: &Need, units: UnitSystem) -> Html {
    let rows = need.parts.iter().map(|part| {
        let c = |v| show(v, Kind::Temperature, units);
        vec![
            part.id.clone(),
            show(part.length_m, Kind::Length, units),
            show(part.drying_s, Kind::Duration, units),
            c(part.dry_off_exit_c),
            show(part.bring_up_s, Kind::Duration, units),
            c(part.exit_c),
            part.cures.map_or_else(|| "no schedule".to_owned(), |cures| format!("{cures:.2}")),
            show(part.heat_w.0 + part.heat_w.1, Kind::HeatRate, units),
            format!("{:.2}", part.biot),
        ]
    });
    let head = [
        "Part",
        "Oven it needs",
        "Drying",
        "Leaves dry-off at",
        "Bring-up",
        "Leaves cure at",
        "Cured, times",
        "Heat taken up",
        "Biot",
    ];
    table("Parts, each filling the line by itself", "need-parts", &head, rows.collect())
}

fn zones(need: &Need, units: UnitSystem) -> Html {
    let rows = need.zones.iter().map(|zone| {
        vec![
            zone.id.clone(),
            show(zone.temperature_c, Kind::Temperature, units),
            show(zone.length_m, Kind::Length, units),
            show(zone.load_w, Kind::HeatRate, units),
            show(zone.air_kg_s, Kind::MassFlow, units),
            show(zone.supply_difference_k, Kind::TemperatureDifference, units),
            format!("{:.1}", zone.changes_per_min),
            show(zone.exhaust_kg_s, Kind::MassFlow, units),
            show(zone.roll_out_kg_s, Kind::MassFlow, units),
            format!("{:.3}", zone.humidity_ratio),
            show(100.0 * zone.fume_share, Kind::Percent, units),
        ]
    });
    let head = [
        "Zone",
        "Held at",
        "Length",
        "Heat its air brings",
        "Supply air",
        "Supply above zone",
        "Changes a minute",
        "Exhaust",
        "Roll-out",
        "Water, kg/kg",
        "Cure fumes",
    ];
    table("Zones", "need-zones", &head, rows.collect())
}

/// What people call where heat goes.
fn item_name(item: HeatItem) -> &'static str {
    match item {
        HeatItem::Product => "Parts",
        HeatItem::Hangers => "Hangers",
        HeatItem::Chain => "Chain",
        HeatItem::Water => "Water dried off",
        HeatItem::Walls => "Walls",
        HeatItem::Roof => "Roof",
        HeatItem::Floor => "Floor",
        HeatItem::Openings => "Product openings",
        HeatItem::BetweenZones => "Between the zones",
        HeatItem::Exhaust => "Exhaust",
        HeatItem::Ducts => "Ducts",
        HeatItem::Fan => "Fan",
    }
}

fn rows(need: &Need, units: UnitSystem) -> Html {
    let rate = |w| show(w, Kind::HeatRate, units);
    let line = |row: &HeatRow| {
        vec![
            item_name(row.item).to_owned(),
            row.zone.clone(),
            rate(row.running_w),
            rate(row.heating_up_w),
            cell(row.other_method_w, Kind::HeatRate, units),
        ]
    };
    let mut rows: Vec<_> = need.rows.iter().map(line).collect();
    let sum = |of: fn(&HeatRow) -> f64| need.rows.iter().map(of).sum::<f64>();
    let other = sum(|row| row.other_method_w.unwrap_or(row.running_w));
    rows.push(vec![
        "All together".to_owned(),
        String::new(),
        rate(sum(|row| row.running_w)),
        rate(sum(|row| row.heating_up_w)),
        rate(other),
    ]);
    let head = ["Heat goes to", "In", "Running", "Heating up", "By the other way for panels"];
    html! {
        <>
            { table("Heat balance", "need-balance", &head, rows) }
            <p class="teach">{ "Panels are reckoned two ways: clear panel with its joints, or the trade's published factor by thickness. They differ four- to fivefold; the way chosen on the enclosure's card counts, the other stands beside it." }</p>
        </>
    }
}

/// Bars of the picture: one for each thing heat goes to, split by zone.
fn picture(need: &Need, units: UnitSystem) -> Goes {
    let mut bars: Vec<Bar> = Vec::new();
    for row in &need.rows {
        let place = match row.zone.as_str() {
            "dry-off" => 0,
            "heater" => 2,
            _ => 1,
        };
        let name = item_name(row.item);
        let at = bars.iter().position(|bar| bar.name == name).unwrap_or_else(|| {
            bars.push(Bar { name, parts_w: vec![0.0; 3], beside_w: Some(0.0) });
            bars.len() - 1
        });
        bars[at].parts_w[place] += row.running_w;
        bars[at].beside_w = bars[at].beside_w.map(|w| w + row.heating_up_w);
    }
    Goes {
        bars,
        parts: ["dry-off", "cure", "heater"].map(str::to_owned).to_vec(),
        beside: Some("heating up from cold"),
        units,
    }
}

fn reasons(need: &Need, units: UnitSystem) -> Html {
    let rows = need.exhaust_reasons.iter();
    let rows = rows.map(|reason| vec![reason.what.clone(), show(reason.kg_s, Kind::MassFlow, units)]);
    table("What asks for exhaust", "need-exhaust-reasons", &["Reason", "At least"], rows.collect())
}

/// Turns the need into a first layout.
fn propose(props: &ViewProps) -> Html {
    let ViewProps { session, dispatch } = props;
    let asking = session.studies.asking.as_ref();
    let mine = asking.filter(|asking| asking.ask.what == What::Propose);
    let about = What::Propose.about();
    let send = |intent: Intent| dispatch.reform(move |_: MouseEvent| intent.clone().into());
    html! {
        <p class="buttons">
            <button key="propose" type="button" class="primary" data-testid="propose" title={about.teach}
                disabled={asking.is_some()} aria-busy={mine.is_some().to_string()} onclick={send(Intent::Start(What::Propose))}>
                { if mine.is_some() { "Drawing and setting …" } else { about.label } }
            </button>
            { choice(session, dispatch, What::Propose, "need-") }
            if mine.is_some() {
                <button key="stop" type="button" data-testid="need-stop" onclick={send(Intent::Stop)}>{ "Stop" }</button>
            }
        </p>
    }
}
