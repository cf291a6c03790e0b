//! The page: mounts, wires session, worker, storage and keys together, and lays the views out.

mod around;
mod draft;

use crate::board::Board;
use crate::cards::ItemCard;
use crate::command::Command;
use crate::effects::{On, act, use_effect_on};
use crate::latest::Latest;
use crate::platform::preferences::{self, Preferences};
use crate::platform::solver::Solver;
use crate::platform::storage::Store;
use crate::platform::{crash, focus, links};
use crate::session::{self, Notice, SaveState, Session};
use crate::shell::dock::Dock;
use crate::shell::findings::PrintedFindings;
use crate::shell::hints::Hints;
use crate::shell::in_turn::{InTurn, When};
use crate::shell::keys_dialog::KeysDialog;
use crate::shell::messages::{FROM_A_LINK, Messages};
use crate::shell::panel::Panel;
use crate::shell::steps::Steps;
use crate::shell::tally::Tally;
use crate::shell::top_bar::TopBar;
use crate::solve::Look;
use crate::{starter, strip};
use around::{use_card_in_sight, use_file_drop, use_link, use_looks, use_page_keys, use_panel_in_sight};
use draft::{keep, use_draft, use_shelf};
use gloo::timers::callback::Timeout;
use std::cell::RefCell;
use std::rc::Rc;
use wasm_bindgen_futures::spawn_local;
use yew::prelude::*;

/// A hand that has not moved for so long rests, ms.
const REST_MS: u32 = 250;
/// Storage that does not answer within this time counts as absent, ms.
const STORAGE_PATIENCE_MS: u32 = 3_000;

/// Opens what was open last and mounts the page over the loading note of `index.html`.
pub fn main() {
    crash::watch();
    focus::watch();
    let store = Store::default();
    let mounted = Rc::new(RefCell::new(false));
    // The plan of the link that the page was opened with.
    let linked = Rc::new(RefCell::new(None));
    let mount = {
        let (store, linked) = (store.clone(), linked.clone());
        move |loaded: Result<Option<engine::plan::Plan>, String>| {
            if std::mem::replace(&mut *mounted.borrow_mut(), true) {
                return;
            }
            let fresh = loaded == Ok(None);
            let (plan, problem) = match loaded {
                Ok(Some(plan)) => (plan, None),
                Ok(None) => (starter::demo(), None),
                Err(reason) => (starter::demo(), Some(reason)),
            };
            let Some(host) = gloo::utils::document().get_element_by_id("app") else { return };
            let linked = linked.take();
            let start = Start { plan: Rc::new(plan), problem, linked, fresh, store: store.clone() };
            yew::Renderer::<App>::with_root_and_props(host, AppProps { start }).render();
        }
    };
    let late = {
        let mount = mount.clone();
        Timeout::new(STORAGE_PATIENCE_MS, move || {
            mount(Err("this browser's storage does not answer: save the plan to a file".to_owned()))
        })
    };
    spawn_local(async move {
        let found = links::look().await;
        *linked.borrow_mut() = found.map(|found| found.map(Rc::new));
        let loaded = store.load().await;
        drop(late);
        mount(loaded);
    });
}

/// What the page starts with.
#[derive(Clone, PartialEq)]
struct Start {
    plan: Rc<engine::plan::Plan>,
    problem: Option<String>,
    /// The plan of the link that the page was opened with.
    linked: Option<Result<Rc<engine::plan::Plan>, String>>,
    /// Nothing of the user's is kept here yet.
    fresh: bool,
    store: Store,
}

#[derive(Properties, PartialEq)]
struct AppProps {
    start: Start,
}

/// The session as the page holds it.
struct State {
    session: Rc<Session>,
    latest: Latest,
}

impl State {
    fn new(start: &Start) -> Self {
        let mut session = Session::new((*start.plan).clone());
        let Preferences { units, theme } = preferences::load();
        session.view.units = units;
        session.view.theme = theme;
        if let Some(reason) = &start.problem {
            session.saved = SaveState::NotKept(reason.clone());
        }
        if let Some(linked) = start.linked.clone() {
            session.apply(from_link(linked.map(Rc::unwrap_or_clone)));
            if start.fresh {
                session.apply(Command::TakeOffer);
            }
        }
        let session = Rc::new(session);
        Self { latest: Latest::new(session.clone()), session }
    }
}

/// A plan from a link is offered: it never takes the place of what is open by itself.
fn from_link(linked: Result<engine::plan::Plan, String>) -> Command {
    match linked {
        Ok(plan) => Command::Offer {
            label: format!("Open {}{FROM_A_LINK}", plan.name),
            reason: format!(
                "The link holds the plan “{}”. The plan you had is as it was, and stays in the list of plans.",
                plan.name
            ),
            plan: Box::new(plan),
            saved: SaveState::Kept(0),
        },
        Err(reason) => Command::Tell(Notice::alert(format!("The link was not opened: {reason}."))),
    }
}

impl Reducible for State {
    type Action = Command;

    fn reduce(self: Rc<Self>, command: Command) -> Rc<Self> {
        let mut session = self.session.clone();
        Rc::make_mut(&mut session).apply(command);
        self.latest.set(session.clone());
        Rc::new(Self { session, latest: self.latest.clone() })
    }
}

#[component]
fn App(props: &AppProps) -> Html {
    let store = props.start.store.clone();
    let state = use_reducer(|| State::new(&props.start));
    let session = state.session.clone();
    let latest = state.latest.clone();
    let made = use_memo((), |()| {
        let dispatcher = state.dispatcher();
        let tell = Callback::from(move |command| dispatcher.dispatch(command));
        // What a hand does is not to wait for the whole judgement of where it last rested.
        let (solver, follower) = (Solver::new(tell.clone()), Solver::new(tell.clone()));
        let dispatch = Callback::from({
            let (latest, follower) = (latest.clone(), follower.clone());
            move |command: Command| {
                tell.emit(command);
                // The worker reckons while the page draws.
                let session = latest.get();
                if session.history.in_gesture() && !session.analysis_is_current() {
                    follower.follow(session.generation, session.plan.clone());
                }
            }
        });
        (solver, follower, dispatch)
    });
    let (solver, follower, dispatch) = (*made).clone();
    crash::remember(&session.plan);

    let solved = session.analysis.is_some();
    use_effect_on(
        On::Numbers(u64::from(solved), 0),
        act(move || {
            // Not at the start, when the first answer is waited for.
            if solved {
                follower.stand_by();
            }
            None
        }),
    );
    use_analysis(&session, &solver);
    crate::studies::run::use_studies(&session, &dispatch);
    use_look(&session, &solver);
    let tabs = use_draft(&session, &dispatch, &store, &latest);
    use_shelf(&session, &store);
    use_looks(&session);
    use_card_in_sight(&session);
    use_panel_in_sight(&session);
    use_page_keys(&latest, &dispatch);
    use_file_drop(&dispatch);
    use_link(&session, &dispatch);
    use_effect_on(On::Drawing, act(focus::restore));

    let take_over = {
        let (dispatch, session, store) = (dispatch.clone(), session.clone(), store.clone());
        Callback::from(move |()| {
            if let Some(tabs) = tabs.borrow().as_ref() {
                tabs.claim_again();
            }
            store.take_over();
            dispatch.emit(Command::TakeOver);
            keep(&store, &session, &dispatch);
        })
    };
    // What was kept can be looked at and walked through, not changed.
    let (seen, tell) = match session.as_before() {
        Some(before) => (Rc::new(before), dispatch.reform(look_only)),
        None => (session.clone(), dispatch.clone()),
    };
    let acts_on = session.as_before().is_none().then(|| latest.clone());
    let in_turn = |view: Callback<Rc<Session>, Html>| html! { <InTurn session={session.clone()} {view} /> };
    let part = |view: fn(Rc<Session>, Callback<Command>) -> Html| {
        let dispatch = dispatch.clone();
        Callback::from(move |session| view(session, dispatch.clone()))
    };
    let dock_turn = match session.view.dock {
        session::Dock::Strip if strip::hand::is_at_work(&session.history) => When::First,
        session::Dock::Strip => When::Next,
        _ => When::Pause,
    };
    let dock = part(|session, dispatch| html! { <Dock {session} {dispatch} /> });
    let top_bar = {
        let dispatch = dispatch.clone();
        in_turn(Callback::from(move |session| {
            html! { <TopBar {session} dispatch={dispatch.clone()} store={store.clone()} take_over={take_over.clone()} /> }
        }))
    };
    html! {
        <div class="page">
            <a class="skip" href="#card-side">{ "Skip to the card" }</a>
            { top_bar }
            { in_turn(part(|session, dispatch| html! { <Steps {session} {dispatch} /> })) }
            <main class="work">
                <div class={classes!("board-place", session.before.as_ref().is_some_and(|before| before.on_board).then_some("as-before"))}>
                    <Board session={seen} dispatch={tell} latest={acts_on} />
                </div>
                <InTurn session={session.clone()} when={dock_turn} view={dock} />
                <aside class="side" id="card-side" tabindex="-1" aria-label="Card and settings">
                    <Hints working={session.selection.is_some()} />
                    { in_turn(part(|session, dispatch| html! { <ItemCard {session} {dispatch} /> })) }
                    { in_turn(part(|session, dispatch| html! { <Panel {session} {dispatch} /> })) }
                </aside>
            </main>
            <div class="foot">
                { in_turn(part(|session, dispatch| html! { <Messages {session} {dispatch} /> })) }
                <Tally session={session.clone()} dispatch={dispatch.clone()} />
            </div>
            <PrintedFindings session={session.clone()} dispatch={dispatch.clone()} />
            <KeysDialog session={session.clone()} dispatch={dispatch.clone()} />
        </div>
    }
}

/// What changes only the view, while the board shows the kept version; in place of anything else, a word about that.
fn look_only(command: Command) -> Command {
    match command {
        Command::Select(_)
        | Command::SetCamera(_)
        | Command::GoTo(_)
        | Command::ShowDock(_)
        | Command::ShowKeys(_) => command,
        _ => Command::Tell(Notice::alert(
            "The board shows the kept version: press “Before on the board” again to work on the plan.",
        )),
    }
}

/// Every new state of the plan goes to the worker; while a hand drags, which has its air followed, when the hand rests.
#[hook]
fn use_analysis(session: &Rc<Session>, solver: &Solver) {
    let (solver, plan) = (solver.clone(), session.plan.clone());
    let current = session.analysis_is_current();
    let (generation, dragged) = (session.generation, session.history.in_gesture());
    use_effect_on(
        On::Numbers(generation, u64::from(dragged)),
        act(move || {
            let mut rest = None;
            // What a computation has just brought needs no second solve.
            if !current && dragged {
                rest = Some(Timeout::new(REST_MS, move || solver.analyse(generation, plan)));
            } else if !current {
                solver.analyse(generation, plan);
            }
            Some(Box::new(rest))
        }),
    );
}

/// What is looked at is asked for when the plan has stood still for a moment.
#[hook]
fn use_look(session: &Rc<Session>, solver: &Solver) {
    let (solver, plan, generation) = (solver.clone(), session.plan.clone(), session.generation);
    let look = session.looks_at();
    let seen = session.seen.as_ref().map(|seen| (seen.look, seen.generation));
    let wanted = look.filter(|look| seen != Some((*look, generation)));
    use_effect_on(
        On::Numbers(generation, wanted.map_or(0, |look| 1 + look as u64)),
        act(move || {
            let timer = wanted.map(|look| {
                // Short enough to feel at once, long enough to stay out of a drag.
                let pause = if look == Look::Need { 60 } else { 500 };
                Timeout::new(pause, move || solver.look(look, generation, plan))
            });
            Some(Box::new(timer))
        }),
    );
}
