//! The page: mounts, wires session, worker, storage and keys together, and lays the views out.

use crate::board::Board;
use crate::cards::ItemCard;
use crate::charts::theme::{SystemTheme, system_is_dark};
use crate::command::Command;
use crate::latest::Latest;
use crate::platform::preferences::{self, Preferences};
use crate::platform::solver::Solver;
use crate::platform::storage::Store;
use crate::platform::tabs::Tabs;
use crate::platform::{crash, links};
use crate::session::{Notice, SaveState, Session, Theme};
use crate::shell::dock::Dock;
use crate::shell::findings::PrintedFindings;
use crate::shell::hints::Hints;
use crate::shell::in_turn::InTurn;
use crate::shell::keys::{self, Asked};
use crate::shell::keys_dialog::KeysDialog;
use crate::shell::menu;
use crate::shell::messages::{FROM_A_LINK, Messages};
use crate::shell::panel::Panel;
use crate::shell::steps::Steps;
use crate::shell::tally::Tally;
use crate::shell::top_bar::TopBar;
use crate::solve::Look;
use crate::starter;
use gloo::events::{EventListener, EventListenerOptions};
use gloo::file::File;
use gloo::timers::callback::Timeout;
use std::cell::RefCell;
use std::rc::Rc;
use wasm_bindgen::JsCast;
use wasm_bindgen_futures::spawn_local;
use web_sys::{BeforeUnloadEvent, HtmlElement, KeyboardEvent};
use yew::prelude::*;

/// From the last change until the draft is written, ms.
const DRAFT_DELAY_MS: u32 = 500;
/// A hand that has not moved for so long rests, ms.
const REST_MS: u32 = 250;
/// Storage that does not answer within this time counts as absent, ms.
const STORAGE_PATIENCE_MS: u32 = 3_000;

/// Opens what was open last and mounts the page over the loading note of `index.html`.
pub fn main() {
    crash::watch();
    let store = Store::default();
    let mounted = Rc::new(RefCell::new(false));
    let mount = {
        let store = store.clone();
        move |loaded: Result<Option<engine::plan::Plan>, String>,
              linked: Option<Result<engine::plan::Plan, String>>| {
            if std::mem::replace(&mut *mounted.borrow_mut(), true) {
                return;
            }
            let (plan, problem) = match loaded {
                Ok(Some(plan)) => (plan, None),
                Ok(None) => (starter::demo(), None),
                Err(reason) => (starter::demo(), Some(reason)),
            };
            let Some(host) = gloo::utils::document().get_element_by_id("app") else { return };
            let linked = linked.map(|linked| linked.map(Rc::new));
            let start = Start { plan: Rc::new(plan), problem, linked, store: store.clone() };
            yew::Renderer::<App>::with_root_and_props(host, AppProps { start }).render();
        }
    };
    let late = {
        let mount = mount.clone();
        Timeout::new(STORAGE_PATIENCE_MS, move || {
            mount(Err("this browser's storage does not answer: save the plan to a file".to_owned()), None)
        })
    };
    spawn_local(async move {
        let loaded = store.load().await;
        drop(late);
        match (links::take().await, loaded) {
            // Nothing of the user's is open yet.
            (Some(Ok(plan)), Ok(None)) => mount(Ok(Some(plan)), None),
            (linked, loaded) => mount(loaded, linked),
        }
    });
}

/// What the page starts with.
#[derive(Clone, PartialEq)]
struct Start {
    plan: Rc<engine::plan::Plan>,
    problem: Option<String>,
    /// The plan of the link that the page was opened with.
    linked: Option<Result<Rc<engine::plan::Plan>, String>>,
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
    let solver = {
        let dispatcher = state.dispatcher();
        use_memo((), move |()| Solver::new(Callback::from(move |command| dispatcher.dispatch(command))))
    };
    let dispatch = {
        let (dispatcher, latest, solver) = (state.dispatcher(), latest.clone(), solver.clone());
        use_callback((), move |command: Command, ()| {
            dispatcher.dispatch(command);
            // The worker reckons while the page draws.
            let session = latest.get();
            if session.history.in_gesture() && !session.analysis_is_current() {
                solver.follow(session.generation, session.plan.clone());
            }
        })
    };
    crash::remember(&session.plan);

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
    use_new_link(&dispatch);

    let take_over = {
        let (dispatch, session, store) = (dispatch.clone(), session.clone(), store.clone());
        Callback::from(move |()| {
            if let Some(tabs) = tabs.borrow().as_ref() {
                tabs.claim_again();
            }
            keep(&store, &session, &dispatch);
        })
    };
    // What was kept can be looked at and walked through, not changed.
    let (seen, tell) = match session.as_before() {
        Some(before) => (Rc::new(before), look_only(&dispatch)),
        None => (session.clone(), dispatch.clone()),
    };
    let acts_on = session.as_before().is_none().then(|| latest.clone());
    let in_turn = |view: Callback<Rc<Session>, Html>| html! { <InTurn session={session.clone()} {view} /> };
    let part = |view: fn(Rc<Session>, Callback<Command>) -> Html| {
        let dispatch = dispatch.clone();
        in_turn(Callback::from(move |session| view(session, dispatch.clone())))
    };
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
            { part(|session, dispatch| html! { <Steps {session} {dispatch} /> }) }
            <main class="work">
                <div class={classes!("board-place", session.before.as_ref().is_some_and(|before| before.on_board).then_some("as-before"))}>
                    <Board session={seen} dispatch={tell} latest={acts_on} />
                </div>
                { part(|session, dispatch| html! { <Dock {session} {dispatch} /> }) }
                <aside class="side" id="card-side" tabindex="-1" aria-label="Card and settings">
                    <Hints working={session.selection.is_some()} />
                    { part(|session, dispatch| html! { <ItemCard {session} {dispatch} /> }) }
                    { part(|session, dispatch| html! { <Panel {session} {dispatch} /> }) }
                </aside>
            </main>
            <div class="foot">
                { part(|session, dispatch| html! { <Messages {session} {dispatch} /> }) }
                <Tally session={session.clone()} dispatch={dispatch.clone()} />
            </div>
            <PrintedFindings session={session.clone()} dispatch={dispatch.clone()} />
            <KeysDialog session={session.clone()} dispatch={dispatch.clone()} />
        </div>
    }
}

/// Lets through what changes only the view.
fn look_only(dispatch: &Callback<Command>) -> Callback<Command> {
    let dispatch = dispatch.clone();
    Callback::from(move |command: Command| {
        let view = matches!(
            command,
            Command::Select(_) | Command::SetCamera(_) | Command::GoTo(_) | Command::ShowDock(_)
        );
        if view {
            dispatch.emit(command);
        }
    })
}

/// Every new state of the plan goes to the worker; while a hand drags, which has its air followed, when the hand rests.
#[hook]
fn use_analysis(session: &Rc<Session>, solver: &Rc<Solver>) {
    let (solver, plan) = (solver.clone(), session.plan.clone());
    let current = session.analysis_is_current();
    use_effect_with((session.generation, session.history.in_gesture()), move |&(generation, dragged)| {
        let mut rest = None;
        // What a computation has just brought needs no second solve.
        if !current && dragged {
            rest = Some(Timeout::new(REST_MS, move || solver.analyse(generation, plan)));
        } else if !current {
            solver.analyse(generation, plan);
        }
        move || drop(rest)
    });
}

/// What is looked at is asked for when the plan has stood still for a moment.
#[hook]
fn use_look(session: &Rc<Session>, solver: &Rc<Solver>) {
    let (solver, plan, generation) = (solver.clone(), session.plan.clone(), session.generation);
    let look = session.looks_at();
    let seen = session.seen.as_ref().map(|seen| (seen.look, seen.generation));
    let wanted = look.filter(|look| seen != Some((*look, generation)));
    use_effect_with((wanted, generation), move |&(wanted, generation)| {
        let timer = wanted.map(|look| {
            // Short enough to feel at once, long enough to stay out of a drag.
            let pause = if look == Look::Need { 60 } else { 500 };
            Timeout::new(pause, move || solver.look(look, generation, plan))
        });
        move || drop(timer)
    });
}

/// The draft follows the plan; at once when the page is put aside. The tabs' line is handed back.
#[hook]
fn use_draft(
    session: &Rc<Session>,
    dispatch: &Callback<Command>,
    store: &Store,
    latest: &Latest,
) -> Rc<RefCell<Option<Tabs>>> {
    let tabs = use_mut_ref(|| None::<Tabs>);
    let first = use_mut_ref(|| true);
    {
        let (tabs, dispatch) = (tabs.clone(), dispatch.clone());
        use_effect_with((), move |()| {
            *tabs.borrow_mut() = Tabs::claim(move || dispatch.emit(Command::SetSaved(SaveState::OtherTab)));
        });
    }
    {
        let (store, dispatch, latest) = (store.clone(), dispatch.clone(), latest.clone());
        use_effect_with(session.generation, move |_| {
            // What was just loaded is kept already.
            let timer = (!std::mem::take(&mut *first.borrow_mut())).then(|| {
                Timeout::new(DRAFT_DELAY_MS, move || {
                    let session = latest.get();
                    if session.saved != SaveState::OtherTab {
                        keep(&store, &session, &dispatch);
                    }
                })
            });
            move || drop(timer)
        });
    }
    {
        let (store, dispatch, latest) = (store.clone(), dispatch.clone(), latest.clone());
        use_effect_with((), move |()| {
            let document = gloo::utils::document();
            let aside = EventListener::new(&document, "visibilitychange", move |_| {
                let session = latest.get();
                let hidden = gloo::utils::document().hidden();
                // Even when it is in a file: what comes back after a reload is the draft.
                if hidden && session.generation > 1 && session.saved != SaveState::OtherTab {
                    keep(&store, &session, &dispatch);
                }
            });
            move || drop(aside)
        });
    }
    {
        let latest = latest.clone();
        use_effect_with((), move |()| {
            let options = EventListenerOptions::enable_prevent_default();
            let window = gloo::utils::window();
            let leaving = EventListener::new_with_options(&window, "beforeunload", options, move |event| {
                if is_unkept(&latest.get())
                    && let Some(event) = event.dyn_ref::<BeforeUnloadEvent>()
                {
                    event.prevent_default();
                    event.set_return_value("The newest changes are not kept yet.");
                }
            });
            move || drop(leaving)
        });
    }
    tabs
}

/// Whether leaving now would lose something the user made.
fn is_unkept(session: &Session) -> bool {
    match &session.saved {
        SaveState::Kept(generation) | SaveState::InFile(generation) => *generation < session.generation,
        SaveState::NotKept(_) | SaveState::OtherTab => session.generation > 1,
    }
}

/// Writes the draft and says how it went.
fn keep(store: &Store, session: &Rc<Session>, dispatch: &Callback<Command>) {
    let (store, session, dispatch) = (store.clone(), session.clone(), dispatch.clone());
    spawn_local(async move {
        let saved = match store.keep(session.document, &session.plan).await {
            Ok(()) if session.saved == SaveState::InFile(session.generation) => return,
            Ok(()) => SaveState::Kept(session.generation),
            Err(reason) => SaveState::NotKept(reason),
        };
        dispatch.emit(Command::SetSaved(saved));
    });
}

/// A plan that another one takes the place of is kept in its own place, so that it outlives the history.
#[hook]
fn use_shelf(session: &Rc<Session>, store: &Store) {
    let last = use_mut_ref(|| session.clone());
    {
        let (store, last) = (store.clone(), last.clone());
        use_effect_with(session.document, move |&document| {
            // Known from now on, whatever is opened next.
            store.key(document);
            let gone = last.borrow().clone();
            // The demonstration is there anyway.
            let made = gone.document != document && *gone.plan != starter::demo();
            if made && gone.saved != SaveState::OtherTab {
                spawn_local(async move {
                    // Undo still has it, and the chip tells when storage fails.
                    let _ = store.put_plan(gone.document, &gone.plan).await;
                });
            }
        });
    }
    // After the effect above, which wants the session before this one.
    use_effect_with(session.clone(), move |session| *last.borrow_mut() = session.clone());
}

/// Theme and units take effect and are remembered.
#[hook]
fn use_looks(session: &Session) {
    let (units, theme) = (session.view.units, session.view.theme);
    use_effect_with((units, theme), |&(units, theme)| {
        let name = match theme {
            Theme::System => "system",
            Theme::Light => "light",
            Theme::Dark => "dark",
        };
        if let Some(root) = gloo::utils::document().document_element() {
            // Failing to set an attribute leaves the colours as they are.
            let _ = root.set_attribute("data-theme", name);
        }
        let shade = move || {
            let dark = theme == Theme::Dark || (theme == Theme::System && system_is_dark());
            if let Some(root) = gloo::utils::document().document_element() {
                let _ = root.set_attribute("data-shade", if dark { "dark" } else { "light" });
            }
        };
        shade();
        preferences::save(Preferences { units, theme });
        let watch = SystemTheme::watch(shade);
        move || drop(watch)
    });
    let name = session.plan.name.clone();
    use_effect_with(name, |name| {
        gloo::utils::document().set_title(&if name.is_empty() {
            "Evenrise".to_owned()
        } else {
            format!("{name} · Evenrise")
        });
    });
}

/// What is newly selected shows its card, unless somebody works further down in the same column.
#[hook]
fn use_card_in_sight(session: &Session) {
    use_effect_with(session.selection.clone(), |selection| {
        let document = gloo::utils::document();
        let Some(side) = document.get_element_by_id("card-side").filter(|_| selection.is_some()) else {
            return;
        };
        if !side.contains(document.active_element().as_deref()) {
            side.set_scroll_top(0);
        }
    });
}

/// A step that is gone to shows its panel, below whatever card is open.
#[hook]
fn use_panel_in_sight(session: &Session) {
    let first = use_mut_ref(|| true);
    use_effect_with(session.view.step, move |_| {
        if std::mem::take(&mut *first.borrow_mut()) {
            return;
        }
        let document = gloo::utils::document();
        let side = document.get_element_by_id("card-side");
        let panel = document.get_element_by_id("panel");
        if let (Some(side), Some(panel)) = (side, panel) {
            let down = panel.get_bounding_client_rect().top() - side.get_bounding_client_rect().top();
            side.set_scroll_top(side.scroll_top() + down as i32);
        }
    });
}

#[hook]
fn use_page_keys(latest: &Latest, dispatch: &Callback<Command>) {
    let (latest, dispatch) = (latest.clone(), dispatch.clone());
    use_effect_with((), move |()| {
        let options = EventListenerOptions::enable_prevent_default();
        let window = gloo::utils::window();
        let keys = EventListener::new_with_options(&window, "keydown", options, move |event| {
            let Some(event) = event.dyn_ref::<KeyboardEvent>() else { return };
            if event.default_prevented() {
                return;
            }
            let session = latest.get();
            let Some(asked) = keys::asked(event, &session) else { return };
            event.prevent_default();
            match asked {
                Asked::Do(command) => dispatch.emit(command),
                Asked::Save => menu::save_file(&session, &dispatch),
                Asked::Open => {
                    let input = gloo::utils::document().get_element_by_id("file-open");
                    if let Some(input) = input.and_then(|input| input.dyn_into::<HtmlElement>().ok()) {
                        input.click();
                    }
                }
            }
        });
        move || drop(keys)
    });
}

/// A link pasted over the address of the open page.
#[hook]
fn use_new_link(dispatch: &Callback<Command>) {
    let dispatch = dispatch.clone();
    use_effect_with((), move |()| {
        let listener = EventListener::new(&gloo::utils::window(), "hashchange", move |_| {
            let dispatch = dispatch.clone();
            spawn_local(async move {
                if let Some(linked) = links::take().await {
                    dispatch.emit(from_link(linked));
                }
            });
        });
        move || drop(listener)
    });
}

/// A plan file dropped anywhere on the page is opened.
#[hook]
fn use_file_drop(dispatch: &Callback<Command>) {
    let dispatch = dispatch.clone();
    use_effect_with((), move |()| {
        let options = EventListenerOptions::enable_prevent_default();
        let document = gloo::utils::document();
        let reader = Rc::new(RefCell::new(None));
        let over =
            EventListener::new_with_options(&document, "dragover", options, |event| event.prevent_default());
        let drop_file = EventListener::new_with_options(&document, "drop", options, move |event| {
            event.prevent_default();
            let transfer = event.dyn_ref::<DragEvent>().and_then(DragEvent::data_transfer);
            match transfer.and_then(|transfer| transfer.files()).and_then(|files| files.get(0)) {
                Some(file) => menu::read_into(File::from(file), &dispatch, &reader),
                None => dispatch
                    .emit(Command::Tell(Notice::alert("What was dropped is no file; drop a plan file."))),
            }
        });
        move || drop((over, drop_file))
    });
}
