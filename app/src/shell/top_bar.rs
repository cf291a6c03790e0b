//! Plan name, how far it is kept, undo and redo, units, theme, files.

use super::menu::FileMenu;
use super::update::UpdateNotice;
use crate::command::{Command, on_press};
use crate::edit::Edit;
use crate::platform::storage::Store;
use crate::session::{SaveState, Session, Theme};
use crate::text_input::TextInput;
use engine::units::UnitSystem;
use std::rc::Rc;
use yew::prelude::*;

/// What the top bar is given.
#[derive(Properties, PartialEq)]
pub struct TopBarProps {
    /// The session shown.
    pub session: Rc<Session>,
    /// Takes commands.
    pub dispatch: Callback<Command>,
    /// Where plans are kept.
    pub store: Store,
    /// Asks to keep the plan here although another tab has claimed it.
    pub take_over: Callback<()>,
}

/// The top bar.
#[component]
pub fn TopBar(props: &TopBarProps) -> Html {
    let TopBarProps { session, dispatch, .. } = props;
    let rename = dispatch.reform(|name| Command::from(Edit::Name(name)));
    let press = |command: Command| on_press(dispatch, command);
    let undo = session.history.undo_label().map(|label| format!("Undo: {label} (Ctrl Z)"));
    let redo = session.history.redo_label().map(|label| format!("Redo: {label} (Ctrl Y)"));
    let (other, units) = match session.view.units {
        UnitSystem::Si => (UnitSystem::InchPound, "SI"),
        UnitSystem::InchPound => (UnitSystem::Si, "in-lb"),
    };
    let (next_theme, theme, glyph) = match session.view.theme {
        Theme::System => (Theme::Light, "as the system", "◐"),
        Theme::Light => (Theme::Dark, "light", "☀"),
        Theme::Dark => (Theme::System, "dark", "☾"),
    };
    html! {
        <header class="top-bar">
            <span class="mark" aria-hidden="true">
                <svg viewBox="0 0 24 24" width="22" height="22"><g fill="none" stroke="currentColor" stroke-width="2" stroke-linecap="round">
                    <path d="M3 20h18M6 16V8m-2 2 2-2.500L8 10M12 16V4m-2 2.500L12 4l2 2.500M18 16V8m-2 2 2-2.500L20 10" />
                </g></svg>
            </span>
            <h1 class="unseen">{ "Evenrise" }</h1>
            <TextInput class="plan-name" longest="80" label="Name of the plan" testid="plan-name" value={session.plan.name.clone()} on_commit={rename} />
            { chip(session, &props.take_over) }
            <UpdateNotice session={session.clone()} dispatch={dispatch.clone()} store={props.store.clone()} />
            <span class="spring"></span>
            <button type="button" class="icon" data-testid="undo" disabled={session.history.undo_label().is_none()} onclick={press(Command::Undo)}
                aria-label={undo.clone().unwrap_or_else(|| "Undo".into())} title={undo.clone().unwrap_or_else(|| "Nothing to undo".into())}>{ "↶" }</button>
            <button type="button" class="icon" data-testid="redo" disabled={session.history.redo_label().is_none()} onclick={press(Command::Redo)}
                aria-label={redo.clone().unwrap_or_else(|| "Redo".into())} title={redo.clone().unwrap_or_else(|| "Nothing to do again".into())}>{ "↷" }</button>
            <button type="button" data-testid="units" onclick={press(Command::SetUnits(other))}
                aria-label={format!("Units: {units}. Switch")} title="Switch between SI and inch-pound units; nothing stored changes">{ units }</button>
            <button type="button" class="icon" data-testid="theme" onclick={press(Command::SetTheme(next_theme))}
                aria-label={format!("Colours: {theme}. Switch")} title={format!("Colours: {theme}")}>{ glyph }</button>
            <FileMenu session={session.clone()} dispatch={dispatch.clone()} store={props.store.clone()} />
        </header>
    }
}

/// Where the plan is kept, in two words; the reason where it is not.
fn chip(session: &Session, take_over: &Callback<()>) -> Html {
    let here = session.generation;
    let (class, text, title) = match &session.saved {
        SaveState::InFile(generation) if *generation == here => (
            "kept",
            "saved to file".to_owned(),
            "The file holds this plan, and so does this browser".to_owned(),
        ),
        SaveState::Kept(generation) | SaveState::InFile(generation) if *generation >= here => (
            "kept",
            "kept in this browser".to_owned(),
            "It is here again when you come back; save a file to hand it on".to_owned(),
        ),
        SaveState::Kept(_) | SaveState::InFile(_) => {
            ("keeping", "keeping …".to_owned(), "Being written".to_owned())
        }
        SaveState::NotKept(reason) => ("not-kept", format!("not kept: {reason}"), reason.clone()),
        SaveState::Freed(_) => (
            "not-kept",
            "the other tab is closed; your next change is kept here".to_owned(),
            "What the other tab had is under earlier states then".to_owned(),
        ),
        SaveState::OtherTab if session.in_file == here => (
            "kept",
            "saved to file; open in another tab".to_owned(),
            "The file holds this plan; the draft in this browser is the other tab's".to_owned(),
        ),
        SaveState::OtherTab => (
            "not-kept",
            "open in another tab, not kept here".to_owned(),
            "The other tab keeps its own state of the plan; what you change here is kept once you take over"
                .to_owned(),
        ),
    };
    let take_over = take_over.reform(|_: MouseEvent| ());
    html! {
        <>
            <span class={classes!("chip", class)} data-testid="saved" {title} key="chip">{ text }</span>
            if session.saved == SaveState::OtherTab {
                <button type="button" key="take" data-testid="take-over" onclick={take_over}>{ "Keep it here" }</button>
            }
        </>
    }
}
