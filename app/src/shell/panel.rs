//! The panel of a step: what it is about, what is missing, what can be added, and its settings.

use super::findings::findings;
use crate::cards::fold::Fold;
use crate::cards::shop_file::ShopFile;
use crate::cards::{ViewProps, duct_options, floor, heat, heater, shop};
use crate::charts::fan_view::FanView as FanChart;
use crate::command::Command;
use crate::edit::{Edit, NewItem};
use crate::fields::{Form, stacked};
use crate::session::{Session, Step};
use crate::studies::What;
use crate::text_input::TextInput;
use engine::plan::geometry::{self, Onto};
use engine::plan::{DuctRole, Plan};
use engine::units::Kind;
use yew::prelude::*;

/// The panel of the step at hand.
#[component]
pub fn Panel(props: &ViewProps) -> Html {
    let session = &props.session;
    let mut form = Form::card(session, &props.dispatch);
    form.prefix = "panel".into();
    let body = match session.view.step {
        Step::Need => need(&form),
        Step::Layout => layout(&form),
        Step::Slots => slots_panel(&form),
        Step::Returns => returns(&form),
        Step::Fan => fan(&form, props),
        Step::Findings => html! {
            <>
                { findings(props) }
                <Fold title="Safety equipment" testid="fold-safety">{ heat::safety(&form) }</Fold>
            </>
        },
    };
    let title = super::steps::STEPS
        .iter()
        .find(|(step, ..)| *step == session.view.step)
        .map_or("", |(_, name, _)| name);
    html! {
        <section class="panel" id="panel" key={title} aria-label={title} data-testid="panel">
            <h2>{ title }</h2>
            { missing(&form, session.view.step) }
            { body }
            { crate::studies::card::of_panel(&form, session.view.step) }
        </section>
    }
}

/// Whether the plan is still being begun, so that not being calculated is no news.
pub fn is_unfinished(plan: &Plan) -> bool {
    !still_to_do(plan).is_empty()
}

/// What a plan still needs before it can be calculated, each with the step where it is added.
fn still_to_do(plan: &Plan) -> Vec<(Step, &'static str, NewItemOrGo)> {
    use NewItemOrGo::{Add, Fan};
    let mut list = Vec::new();
    let has = |role| plan.ducts.iter().any(|duct| duct.role == role);
    if plan.enclosure.outline.is_empty() {
        list.push((Step::Layout, "the enclosure: the box everything stands in", Add(NewItem::Enclosure)));
        // Everything else is placed by it.
        return list;
    }
    if plan.zones.is_empty() {
        list.push((Step::Layout, "a zone with its temperature", Add(NewItem::Zone)));
    }
    if plan.heater.fan.points.len() < 2 {
        list.push((Step::Fan, "the fan's curve", Fan));
    }
    let Some(trunk) = plan.ducts.iter().find(|duct| duct.role == DuctRole::Supply) else {
        list.push((
            Step::Layout,
            "a trunk from the heater's discharge",
            Add(NewItem::Duct(DuctRole::Supply)),
        ));
        return list;
    };
    if plan.ducts.iter().filter(|duct| duct.role == DuctRole::Supply).count() < 2 {
        list.push((
            Step::Layout,
            "runs that leave the trunk",
            Add(NewItem::Branch { from: trunk.id.clone() }),
        ));
    } else if plan.slot_rows.is_empty() {
        let run = plan.ducts.iter().rfind(|duct| duct.role == DuctRole::Supply).unwrap_or(trunk);
        list.push((Step::Slots, "slots along the runs", Add(NewItem::SlotRow { duct: run.id.clone() })));
    }
    let return_duct = plan.ducts.iter().find(|duct| duct.role == DuctRole::Return);
    if !has(DuctRole::Return) && plan.returns.is_empty() {
        list.push((
            Step::Layout,
            "a return duct to the heater's intake",
            Add(NewItem::Duct(DuctRole::Return)),
        ));
    } else if plan.returns.is_empty() {
        let duct = return_duct.map(|duct| duct.id.clone());
        list.push((
            Step::Returns,
            "a return opening, so that the air finds its way back",
            Add(NewItem::Return { duct }),
        ));
    }
    list
}

enum NewItemOrGo {
    Add(NewItem),
    Fan,
}

fn missing(form: &Form, step: Step) -> Html {
    let list = still_to_do(form.plan());
    if list.is_empty() || step == Step::Findings {
        return html! {};
    }
    let rows = list.into_iter().enumerate().map(|(i, (_, text, what))| {
        let button = match what {
            NewItemOrGo::Add(item) => {
                let name = format!("need-{}", item.word().replace(' ', "-"));
                form.button(format!("Add {}", item.word()), &name, Edit::Add(item))
            }
            NewItemOrGo::Fan if step == Step::Fan => html! { <span>{ "see below" }</span> },
            NewItemOrGo::Fan => form.command("Go to Fan & zones", "need-fan", Command::GoTo(Step::Fan)),
        };
        html! { <li key={i}><span>{ text }</span>{ button }</li> }
    });
    html! {
        <div class="to-do" data-testid="to-do">
            <p>{ "Before this oven can be calculated it needs" }</p>
            <ul>{ for rows }</ul>
        </div>
    }
}

fn need(form: &Form) -> Html {
    let plan = form.plan();
    let supply = plan.heater.supply_temperature_c;
    html! {
        <>
            <Fold title="Enquiry" testid="fold-enquiry" open=true>{ heat::enquiry(form) }</Fold>
            <Fold title="Parts, hangers, chain" testid="fold-load" open=true>{ heat::load(form) }</Fold>
            <Fold title="Coating" testid="fold-coating">{ heat::coating(form) }</Fold>
            <h3>{ "Air" }</h3>
            <p class="teach">{ "How much air all slots together must discharge, how hot, and in what surroundings. Everything after this step serves these figures." }</p>
            { stacked(vec![
                form.quantity("Air wanted from all slots", "required-flow", Kind::MassFlow, plan.required_flow_kg_s, 0.001..=1000.0, Edit::RequiredFlow),
                form.quantity("Supply air", "supply", Kind::Temperature, supply, 0.0..=450.0, |v| {
                    Edit::Heater(crate::edit::HeaterEdit::SupplyTemperature(v))
                }),
            ]) }
            <h3>{ "Site" }</h3>
            { stacked(floor::site_fields(form)) }
            <h3>{ "Conveyor" }</h3>
            <p class="buttons">
                if plan.conveyor.is_some() {
                    { form.command("Edit the conveyor", "conveyor", Command::Select(Some(crate::edit::CONVEYOR.to_owned()))) }
                } else {
                    { form.button("Add conveyor", "add-conveyor", Edit::Add(NewItem::Conveyor)) }
                }
                { form.button("Add product opening", "add-opening", Edit::Add(NewItem::Opening)) }
            </p>
            <h3>{ "Notes" }</h3>
            { notes(form) }
        </>
    }
}

fn notes(form: &Form) -> Html {
    let on_commit = form.dispatch.reform(|text| Command::from(Edit::Notes(text)));
    html! { <TextInput lines=true label="Notes" testid="notes" value={form.plan().notes.clone()} {on_commit} /> }
}

fn layout(form: &Form) -> Html {
    let plan = form.plan();
    let add = |item: NewItem, name: &str| form.button(format!("Add {}", item.word()), name, Edit::Add(item));
    let from = run_from(&form.session);
    html! {
        <>
            <p class="teach">
                { "Ducts join where an end touches another duct, the heater's discharge or its intake; no connection is drawn by hand. Drag ends on the board, or type places on the card. Keep all slots of a run below half its duct's area: that rules evenness more than anything else." }
            </p>
            <p class="buttons">
                if !plan.enclosure.outline.is_empty() {
                    { form.command("Edit the enclosure", "enclosure", Command::Select(Some(crate::edit::ENCLOSURE.to_owned()))) }
                    { add(NewItem::Zone, "add-zone") }
                    { add(NewItem::Opening, "add-opening") }
                    { add(NewItem::Column, "add-column") }
                }
            </p>
            <h3>{ "Supply" }</h3>
            <p class="buttons">
                { form.command("Edit heater & fan", "heater", Command::Select(Some(plan.heater.id.clone()))) }
                { add(NewItem::Duct(DuctRole::Supply), "add-trunk") }
                if let Some(from) = from {
                    { form.button(format!("Add run from {from}"), "add-run", Edit::Add(NewItem::Branch { from })) }
                }
                { add(NewItem::Duct(DuctRole::Transfer), "add-transfer") }
            </p>
            <h3>{ "Return" }</h3>
            <p class="buttons">{ add(NewItem::Duct(DuctRole::Return), "add-return-duct") }</p>
            { dock_link(form) }
            { crate::studies::settings::weighed(form) }
        </>
    }
}

/// The tables under the board are one press away.
fn dock_link(form: &Form) -> Html {
    html! { <p class="buttons">{ form.command("Show all as a table", "tables", Command::ShowDock(crate::session::Dock::Tables)) }</p> }
}

/// The duct a new run most likely starts on: the selected one if runs leave it or it comes from the
/// heater, else the trunk. From any other duct a branch is added on its card.
fn run_from(session: &Session) -> Option<String> {
    let plan = &session.plan;
    let supplies = |id: &str| plan.ducts.iter().any(|duct| duct.id == id && duct.role != DuctRole::Return);
    let joints = geometry::joints(plan);
    let feeds_others = |id: &str| {
        let index = plan.ducts.iter().position(|duct| duct.id == id);
        joints.iter().any(|joint| {
            let from_heater = Some(joint.duct) == index && joint.onto == Onto::Discharge;
            from_heater || matches!(joint.onto, Onto::Duct { duct, .. } if Some(duct) == index)
        })
    };
    let selected = session.selection.as_deref().filter(|id| supplies(id) && feeds_others(id));
    let trunk = || plan.ducts.iter().find(|duct| duct.role == DuctRole::Supply).map(|duct| duct.id.as_str());
    selected.or_else(trunk).map(str::to_owned)
}

fn slots_panel(form: &Form) -> Html {
    let plan = form.plan();
    let bare: Vec<_> = duct_options(form, |role| role == DuctRole::Supply)
        .into_iter()
        .filter(|(id, _)| !plan.slot_rows.iter().any(|row| &row.duct == id))
        .collect();
    let ratio = form
        .session
        .analysis
        .as_ref()
        .map(|analysis| analysis.evenness.area_ratio)
        .filter(|ratio| *ratio > 0.0);
    html! {
        <>
            <p class="teach">
                { "Add a row of slots to each run, then press Even out: it finds for every slot the width at which it discharges its share, and rounds to what the shop can cut." }
            </p>
            if let Some(ratio) = ratio {
                <p key="ratio" class="teach">
                    { format!("Slot area over duct area is {ratio:.2} in the fullest run. ") }
                    { if ratio > 0.5 { "Above 0.5 the far slots take much more than the near ones; a larger duct or fewer slots helps before any sizing does." } else { "Up to 0.5 sizing has an easy task." } }
                </p>
            }
            <p class="buttons" key="add">
                { for bare.iter().map(|(id, _)| form.button(format!("Add slot row on {id}"), &format!("add-slots-{id}"), Edit::Add(NewItem::SlotRow { duct: id.clone() }))) }
            </p>
            { dock_link(form) }
            <p class="ask" key="target">{ crate::studies::view::choice(&form.session, &form.dispatch, What::EvenOut, "panel-") }</p>
            <h3>{ "Shop record" }</h3>
            { stacked(shop::shop_fields(form)) }
            <ShopFile session={form.session.clone()} dispatch={form.dispatch.clone()} />
            <Fold title="Stock, cuts and limits" testid="fold-shop">{ crate::studies::settings::shop(form) }</Fold>
            { crate::studies::settings::as_built(form) }
            <h3>{ "How slots are calculated" }</h3>
            <p class="teach">{ "Which law slots follow is the largest doubt of any such calculation. Try the plan under more than one." }</p>
            { stacked(shop::model_fields(form)) }
        </>
    }
}

fn returns(form: &Form) -> Html {
    let ducts = duct_options(form, |role| role == DuctRole::Return);
    html! {
        <>
            <p class="teach">
                { "Each opening takes its share of the air back, by its weight. Set returns finds the slide positions with the least fan power: the opening that needs the most stands at the setting of the shop record, the others are throttled." }
            </p>
            <p class="buttons">
                { for ducts.iter().map(|(id, _)| form.button(format!("Add return on {id}"), &format!("add-return-{id}"),
                    Edit::Add(NewItem::Return { duct: Some(id.clone()) }))) }
                { form.button("Add return in the intake plenum", "add-return", Edit::Add(NewItem::Return { duct: None })) }
            </p>
            { dock_link(form) }
        </>
    }
}

fn fan(form: &Form, props: &ViewProps) -> Html {
    html! {
        <>
            <FanChart session={props.session.clone()} />
            <p class="teach">
                { "The fan runs where its curve meets what the ducts need. Cold air is denser: a cold start takes more power at the same speed, so the motor is chosen by the cold figure." }
            </p>
            <h3>{ "Heater" }</h3>
            { stacked(heater::heater_fields(form)) }
            <h3>{ "Burner" }</h3>
            { heat::burner(form) }
            <h3>{ "Sensors" }</h3>
            { heat::sensors(form) }
            <h3>{ "Fan" }</h3>
            { stacked(heater::fan_fields(form)) }
            { crate::studies::settings::drive(form) }
            <h3>{ "Maker's curve" }</h3>
            { heater::curve_table(form) }
            <p class="buttons">
                { form.button("Add fixed loss", "add-loss", Edit::Add(NewItem::FixedLoss)) }
                { form.button("Add exhaust", "add-exhaust", Edit::Add(NewItem::Exhaust)) }
                { form.button("Add zone", "add-zone", Edit::Add(NewItem::Zone)) }
            </p>
            { dock_link(form) }
        </>
    }
}
