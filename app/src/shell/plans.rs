//! The menu of plans: begin, duplicate, go to another, delete, go back to an earlier state, hand on.

use crate::command::Command;
use crate::effects::{On, act, use_effect_on};
use crate::platform::focus;
use crate::platform::storage::{Store, Stored};
use crate::session::{Notice, SaveState, Session};
use crate::shell::share::Share;
use crate::starter;
use engine::plan::Plan;
use std::rc::Rc;
use wasm_bindgen_futures::spawn_local;
use yew::prelude::*;

/// What the menu is given.
#[derive(Properties, PartialEq)]
pub struct PlansProps {
    /// The session shown.
    pub session: Rc<Session>,
    /// Takes commands.
    pub dispatch: Callback<Command>,
    /// Where plans are kept.
    pub store: Store,
    /// Puts the menu away.
    pub close: Callback<()>,
}

/// What storage holds.
#[derive(Clone, Default, PartialEq)]
struct Held {
    plans: Vec<Stored>,
    states: Vec<Stored>,
}

/// The menu of plans.
#[component]
pub fn Plans(props: &PlansProps) -> Html {
    let PlansProps { session, dispatch, store, close } = props;
    let held = use_state_eq(Held::default);
    let deleted = use_state_eq(|| None::<Stored>);
    let sharing = use_state_eq(|| false);
    let look = {
        let (held, store) = (held.clone(), store.clone());
        Callback::from(move |()| {
            let (held, store) = (held.clone(), store.clone());
            spawn_local(async move {
                // Without storage there is nothing to list, and the chip says so already.
                if let (Ok(plans), Ok(states)) = (store.plans().await, store.shelf().await) {
                    held.set(Held { plans, states });
                }
            });
        })
    };
    {
        let look = look.clone();
        use_effect_on(
            On::Start,
            act(move || {
                look.emit(());
                None
            }),
        );
    }
    use_effect_on(On::Drawing, act(focus::restore));
    let here = store.key(session.document);
    let replace = {
        let (dispatch, close) = (dispatch.clone(), close.clone());
        Callback::from(move |(plan, label): (Rc<Plan>, String)| {
            close.emit(());
            let plan = Box::new(Rc::unwrap_or_clone(plan));
            dispatch.emit(Command::ReplacePlan { plan, label, saved: SaveState::Kept(0) });
        })
    };
    let begin = |make: fn(&Plan) -> Plan, label: &'static str| {
        let plan = session.plan.clone();
        replace.reform(move |_: MouseEvent| (Rc::new(make(&plan)), label.to_owned()))
    };
    let plans = held.plans.iter().map(|stored| {
        let name = called(&stored.plan);
        let is_here = stored.document == here;
        let go = {
            let (replace, store, stored) = (replace.clone(), store.clone(), stored.clone());
            Callback::from(move |_: MouseEvent| {
                store.expect(stored.document);
                replace.emit((stored.plan.clone(), format!("Go to {}", called(&stored.plan))));
            })
        };
        let delete = {
            let (store, stored, look, deleted) = (store.clone(), stored.clone(), look.clone(), deleted.clone());
            let dispatch = dispatch.clone();
            Callback::from(move |_: MouseEvent| {
                let (store, stored, look) = (store.clone(), stored.clone(), look.clone());
                let (deleted, dispatch) = (deleted.clone(), dispatch.clone());
                spawn_local(async move {
                    match store.remove(&stored).await {
                        Ok(()) => deleted.set(Some(stored)),
                        Err(reason) => dispatch.emit(Command::Tell(Notice::alert(format!("Not deleted: {reason}.")))),
                    }
                    look.emit(());
                });
            })
        };
        html! {
            <li key={stored.document.to_string()} class="plan-line">
                { line(&name, stored.sequence, is_here, go) }
                if !is_here {
                    <button key="delete" type="button" class="mini" aria-label={format!("Delete {name}")} title="Delete" onclick={delete}>{ "×" }</button>
                }
            </li>
        }
    });
    let states = held.states.iter().map(|stored| {
        let name = called(&stored.plan);
        let go = {
            let (replace, store, stored) = (replace.clone(), store.clone(), stored.clone());
            Callback::from(move |_: MouseEvent| {
                if stored.document > 0 {
                    store.expect(stored.document);
                }
                replace.emit((stored.plan.clone(), format!("Go back to {}", called(&stored.plan))));
            })
        };
        html! { <li key={stored.sequence.to_string()}>{ line(&name, stored.sequence, false, go) }</li> }
    });
    let put_back = deleted.as_ref().map(|stored| {
        let (store, stored, look, deleted) = (store.clone(), stored.clone(), look.clone(), deleted.clone());
        let name = called(&stored.plan);
        let onclick = Callback::from(move |_: MouseEvent| {
            let (store, stored, look, deleted) = (store.clone(), stored.clone(), look.clone(), deleted.clone());
            spawn_local(async move {
                if store.put_back(&stored).await.is_ok() {
                    deleted.set(None);
                }
                look.emit(());
            });
        });
        html! { <button key="back" type="button" data-testid="undelete" {onclick}>{ format!("Undo: bring {name} back") }</button> }
    });
    let share = {
        let sharing = sharing.clone();
        Callback::from(move |_: MouseEvent| sharing.set(!*sharing))
    };
    html! {
        <>
            <button type="button" data-testid="file-new" onclick={begin(|_| starter::empty(), "Begin a new plan")}>{ "New, empty plan" }</button>
            <button type="button" data-testid="file-duplicate" onclick={begin(duplicate, "Duplicate the plan")}>{ "Duplicate this plan" }</button>
            <button type="button" data-testid="file-demo" onclick={begin(|_| starter::demo(), "Open the demonstration")}>{ "Demonstration: garden gate line" }</button>
            <button type="button" data-testid="file-link" aria-expanded={sharing.to_string()} onclick={share}>{ "Link to this plan" }</button>
            if *sharing {
                <Share key="share" plan={session.plan.clone()} units={session.view.units} />
            }
            <p>{ "Plans in this browser" }</p>
            if held.plans.is_empty() {
                <p key="none">{ "Every plan you change is kept here by itself; its name is the field at the top left." }</p>
            } else {
                <ul key="plans" data-testid="plans">{ for plans }</ul>
            }
            { for put_back }
            if !held.states.is_empty() {
                <details key="states" data-testid="states">
                    <summary>{ "Earlier states" }</summary>
                    <ul>{ for states }</ul>
                </details>
            }
            <p class="about">{ "Plans stay in this browser and in your files; nothing is sent anywhere." }</p>
        </>
    }
}

/// A plan or a state of one, with its time.
fn line(name: &str, sequence: u64, is_here: bool, onclick: Callback<MouseEvent>) -> Html {
    let when = js_sys::Date::new(&(sequence as f64).into());
    let when = String::from(when.to_locale_string("default", &wasm_bindgen::JsValue::UNDEFINED));
    let when = if is_here { "open now".to_owned() } else { when };
    html! { <button type="button" disabled={is_here} {onclick}>{ name }<small>{ when }</small></button> }
}

fn called(plan: &Plan) -> String {
    if plan.name.is_empty() { "Unnamed oven".to_owned() } else { plan.name.clone() }
}

fn duplicate(plan: &Plan) -> Plan {
    Plan { name: format!("{} (copy)", called(plan)).chars().take(80).collect(), ..plan.clone() }
}
