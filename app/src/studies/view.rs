//! The Answers tab: every question with what it is for, and the sheet of the one that is open.

use super::ask::{ASKS, About, Ask, What};
use super::picture::{AirMap, Sketch, resized};
use super::sheet::{Cell, Sheet, Table};
use super::state::{ASK_AGAIN, Intent, Study};
use crate::cards::ViewProps;
use crate::charts::picture::save_button;
use crate::charts::xy::{Axis, Curve, CurvePicture, Curves, Ink};
use crate::command::{Command, on_press};
use crate::edit;
use crate::list_input::ListInput;
use crate::quantity_input::QuantityInput;
use crate::session::Session;
use crate::shell::findings;
use engine::units::Kind;
use std::rc::Rc;
use yew::prelude::*;

/// Figures that a choice of plans is about: the first rows of its table.
const FIGURES_ON_CARD: usize = 3;

fn send(dispatch: &Callback<Command>, intent: Intent) -> Callback<MouseEvent> {
    on_press(dispatch, intent.into())
}

/// Questions and answers.
pub fn answers(props: &ViewProps) -> Html {
    let ViewProps { session, dispatch } = props;
    let studies = &session.studies;
    let list = ASKS.iter().map(|about| {
        let open = studies.open == Some(about.what);
        html! {
            <li key={about.testid}>
                <button type="button" aria-pressed={open.to_string()} title={about.teach} data-testid={format!("open-{}", about.testid)}
                    onclick={send(dispatch, Intent::Open(about.what))}>
                    { about.label }<small>{ state_of(session, about.what) }</small>
                </button>
            </li>
        }
    });
    html! {
        <div key="answers" class="answers">
            <nav class="answer-list" aria-label="Questions"><ul>{ for list }</ul></nav>
            { match studies.open {
                Some(what) => html! { <section key={what.about().testid} class="answer" aria-label={what.about().label} data-testid="answer">{ open(session, dispatch, what) }</section> },
                None => html! {
                    <section key="none" class="answer" aria-label="Questions" data-testid="answer">
                        <p class="teach">
                            { "Ask the plan something: pick a question on the left. Commands change the plan in one step that Undo takes back, and show figures before and after. Studies leave it alone. Long ones show how far they are and can be stopped; the board goes on following your hand." }
                        </p>
                    </section>
                },
            } }
        </div>
    }
}

/// How it stands with a question.
fn state_of(session: &Session, what: What) -> String {
    let studies = &session.studies;
    match (&studies.asking, studies.answer(what)) {
        (Some(asking), _) if asking.ask.what == what => {
            let (done, of) = asking.progress;
            format!("{} %", 100 * done / of.max(1))
        }
        (_, Some(study)) if study.outcome.is_err() => "no answer".to_owned(),
        (_, Some(study)) if study.is_about(&session.plan) => "answered".to_owned(),
        (_, Some(_)) => "out of date".to_owned(),
        (_, None) => String::new(),
    }
}

/// A question with its choices, what runs it, and its answer.
fn open(session: &Rc<Session>, dispatch: &Callback<Command>, what: What) -> Html {
    let about = what.about();
    let ask = session.studies.as_set(what);
    let study = session.studies.answer(what);
    let asking = session.studies.asking.as_ref();
    let mine = asking.filter(|asking| asking.ask.what == what);
    html! {
        <>
            if study.is_none() {
                <p class="teach" key="teach">{ about.teach }</p>
            }
            <div class="ask" key="ask">
                { choice(session, dispatch, what, "") }
                { number(session, dispatch, about, ask) }
                <button type="button" class="command primary" key="run" data-testid={format!("run-{}", about.testid)}
                    disabled={asking.is_some()} onclick={send(dispatch, Intent::Start(what))}>
                    { if study.is_some() { format!("{} again", about.label) } else { about.label.to_owned() } }
                </button>
                if study.is_some_and(|study| study.outcome.as_ref().is_ok_and(|sheet| sheet.map.is_some())) {
                    { on_board(session, dispatch) }
                }
                if let Some(asking) = mine {
                    <progress key="progress" aria-label={format!("{}: solves done", about.label)} data-testid="progress"
                        max={asking.progress.1.to_string()} value={asking.progress.0.to_string()} />
                    <button type="button" key="stop" data-testid="stop-answer" onclick={send(dispatch, Intent::Stop)}>{ "Stop" }</button>
                } else if let Some(asking) = asking {
                    <span key="busy">{ format!("after {}", asking.ask.what.about().label) }</span>
                    <button type="button" key="stop" data-testid="stop-answer" onclick={send(dispatch, Intent::Stop)}>{ "Stop it" }</button>
                }
            </div>
            if let Some(study) = study {
                { answer(session, dispatch, study) }
            }
        </>
    }
}

/// The choices of a question; their names for tests begin with `prefix`.
pub fn choice(session: &Session, dispatch: &Callback<Command>, what: What, prefix: &str) -> Html {
    let (about, ask) = (what.about(), session.studies.as_set(what));
    if about.choices.len() < 2 {
        return html! {};
    }
    let on_choose = dispatch.reform(move |index: usize| {
        Intent::Set(Ask::usual(ask.what, u8::try_from(index).unwrap_or(0))).into()
    });
    let options: Vec<AttrValue> = about.choices.iter().map(|choice| choice.label.into()).collect();
    html! {
        <label key="choice">{ about.choose }
            <ListInput testid={format!("{prefix}{}-choice", about.testid)} disabled={session.studies.asking.is_some()}
                {options} chosen={usize::from(ask.choice)} {on_choose} />
        </label>
    }
}

fn number(session: &Session, dispatch: &Callback<Command>, about: &'static About, ask: Ask) -> Html {
    let Some(number) = ask.chosen().number else { return html! {} };
    let on_commit = dispatch.reform(move |value| Intent::Set(Ask { number: Some(value), ..ask }).into());
    let on_clear = number
        .usual
        .is_none()
        .then(|| dispatch.reform(move |()| Intent::Set(Ask { number: None, ..ask }).into()));
    html! {
        <label key={format!("number {}", ask.choice)}>{ number.label }
            <QuantityInput label={number.label} testid={format!("{}-number", about.testid)} kind={number.kind}
                system={session.view.units} value={ask.number} min={number.range.0} max={number.range.1} {on_commit} {on_clear} />
        </label>
    }
}

/// What has been answered; of another plan than the present, with a warning over it.
fn answer(session: &Rc<Session>, dispatch: &Callback<Command>, study: &Study) -> Html {
    let sheet = match &study.outcome {
        Ok(sheet) => sheet,
        Err(error) => {
            return html! { <p class="no-answer" key="refused" data-testid="no-answer">{ format!("{error}.") }</p> };
        }
    };
    let current = study.is_about(&session.plan);
    html! {
        <div key="sheet" class={classes!("sheet", (!current).then_some("stale"))} data-testid="sheet" data-current={current.to_string()}>
            if !current {
                <p class="out-of-date" key="stale" role="note">
                    { "Out of date: the plan has been changed since. These figures belong to the plan as it was; ask again." }
                </p>
            }
            <div class="sheet-parts" key="parts">
                if !sheet.findings.is_empty() {
                    <div class="sheet-findings" key="findings">
                        { for sheet.findings.iter().enumerate().map(|(i, finding)| html! {
                            <div key={i}>{ findings::body(finding, session.view.units) }</div>
                        }) }
                    </div>
                }
                { offers(session, dispatch, study, sheet) }
                { for sheet.tables.iter().enumerate().take(1).map(|(i, table)| draw(session, dispatch, study, sheet, i, table)) }
                { picture(session, study.ask.what, sheet) }
                if sheet.map.is_some() {
                    <AirMap key="map" plan={study.plan.clone()} sheet={sheet.clone()} units={session.view.units} theme={session.view.theme} />
                }
                { for sheet.tables.iter().enumerate().skip(1).map(|(i, table)| draw(session, dispatch, study, sheet, i, table)) }
            </div>
            { next(dispatch, study.ask.what.about()) }
        </div>
    }
}

fn on_board(session: &Session, dispatch: &Callback<Command>) -> Html {
    let on = session.studies.on_board;
    html! {
        <button key="map" type="button" aria-pressed={on.to_string()} data-testid="coverage-on-board" onclick={send(dispatch, Intent::OnBoard(!on))}>
            { "Air speed on the board" }
        </button>
    }
}

fn draw(
    session: &Session,
    dispatch: &Callback<Command>,
    study: &Study,
    sheet: &Sheet,
    index: usize,
    table: &Table,
) -> Html {
    let about = study.ask.what.about();
    let cell = |row: usize, column: usize, cell: &Cell| {
        let testid = format!("{}-{index}-{row}-{column}", about.testid);
        let text = cell.show(session.view.units);
        match cell {
            Cell::Value(_, si) => {
                html! { <td key={column} class="figure" data-testid={testid} data-value={si.to_string()}>{ text }</td> }
            }
            Cell::Text(id) if column == 0 && edit::names(&session.plan, id) => {
                let select = dispatch.reform({
                    let id = id.clone();
                    move |_: MouseEvent| Command::Select(Some(id.clone()))
                });
                html! { <th key={column} scope="row"><button type="button" class="link" onclick={select}>{ text }</button></th> }
            }
            Cell::Text(_) if column == 0 => html! { <th key={column} scope="row">{ text }</th> },
            Cell::Text(_) => html! { <td key={column} data-testid={testid}>{ text }</td> },
        }
    };
    let take = |i: usize, text: &str| take_button(session, dispatch, study, i, text);
    // A plan that is a row of its own is taken there; plans that can be told apart by their drawing, beside it.
    let of_row = |row: &[Cell]| {
        sheet.offers.iter().position(|offer| matches!(&row[0], Cell::Text(title) if *title == offer.label))
    };
    let in_rows = index == 0 && table.rows.iter().any(|row| of_row(row).is_some());
    html! {
        <div class="sheet-table" key={index} tabindex="0" role="region" aria-label={table.name.clone()}>
            <table class="grid">
                <caption>{ &table.name }</caption>
                <thead><tr>
                    { for table.head.iter().map(|title| html! { <th scope="col">{ title }</th> }) }
                    if in_rows { <th scope="col" key="take"><span class="unseen">{ "Take it" }</span></th> }
                </tr></thead>
                <tbody>
                    { for table.rows.iter().enumerate().map(|(row, cells)| html! {
                        <tr key={row}>
                            { for cells.iter().enumerate().map(|(column, one)| cell(row, column, one)) }
                            if in_rows { <td key="take">{ for of_row(cells).map(|i| take(i, "Take it")) }</td> }
                        </tr>
                    }) }
                </tbody>
            </table>
            if index == 0 && !in_rows && !study.differ() {
                <p class="buttons" key="offers">
                    { for sheet.offers.iter().enumerate().map(|(i, offer)| take(i, &format!("Take {}", offer.label))) }
                </p>
            }
        </div>
    }
}

fn take_button(
    session: &Session,
    dispatch: &Callback<Command>,
    study: &Study,
    index: usize,
    text: &str,
) -> Html {
    let about = study.ask.what.about();
    let late = !study.may_be_taken(&session.plan);
    html! {
        <button key={index} type="button" data-testid={format!("take-{}-{index}", about.testid)}
            disabled={late} title={late.then_some(ASK_AGAIN)}
            onclick={send(dispatch, Intent::Take(about.what, index))}>{ text.to_owned() }</button>
    }
}

/// The offered plans side by side: drawn to one scale, with the figures the choice is about.
fn offers(session: &Session, dispatch: &Callback<Command>, study: &Study, sheet: &Sheet) -> Html {
    let about = study.ask.what.about();
    let Some(table) = sheet.tables.first().filter(|_| study.differ()) else { return html! {} };
    let cards = sheet.offers.iter().zip(&study.offers).enumerate().map(|(i, (offer, plan))| {
        let column = table.head.iter().position(|title| *title == offer.label);
        let figures = table.rows.iter().take(FIGURES_ON_CARD).filter_map(|row| {
            let (Cell::Text(title), value) = (&row[0], row.get(column?)?) else { return None };
            Some(html! { <div key={title.clone()}><dt>{ title }</dt><dd>{ value.show(session.view.units) }</dd></div> })
        });
        let changed = resized(&study.plan, plan);
        let words = match changed.len() {
            0 => "ducts as they are".to_owned(),
            1 => "1 duct of another size, in colour".to_owned(),
            n => format!("{n} ducts of another size, in colour"),
        };
        html! {
            <figure class="offer" key={i} aria-label={offer.label.clone()}>
                <figcaption><strong>{ &offer.label }</strong><span class="save-place">{ save_button(&offer.label.clone().into()) }</span></figcaption>
                <Sketch plan={plan.clone()} {changed} units={session.view.units} theme={session.view.theme}
                    testid={format!("drawn-{}-{i}", about.testid)} label={format!("{}, drawn to scale: {words}", offer.label)} />
                <p class="note">{ words }</p>
                <dl>{ for figures }</dl>
                { take_button(session, dispatch, study, i, "Take this one") }
            </figure>
        }
    });
    html! { <div class="offers" key="offers">{ for cards }</div> }
}

/// What is asked next, where an answer leads on.
fn next(dispatch: &Callback<Command>, about: &About) -> Html {
    let asks = about.then.iter().map(|what| {
        let next = what.about();
        html! { <button key={next.testid} type="button" title={next.teach} data-testid={format!("next-{}", next.testid)}
            onclick={send(dispatch, Intent::Open(*what))}>{ next.label }</button> }
    });
    html! { if !about.then.is_empty() { <p class="buttons" key="next"><span>{ "Next" }</span>{ for asks }</p> } }
}

/// Name of the picture and its axes.
const fn axes(what: What) -> (&'static str, (&'static str, Kind), (&'static str, Kind)) {
    match what {
        What::Coverage => (
            "Air speed along the conveyor",
            ("Along the conveyor", Kind::Length),
            ("Air speed", Kind::Velocity),
        ),
        What::Duty => (
            "The fan in four states",
            ("Volume flow at the inlet", Kind::VolumeFlow),
            ("Total pressure", Kind::Pressure),
        ),
        _ => (
            "Builds by their worst bay and worst slot",
            ("Off its share of the air", Kind::Percent),
            ("Builds", Kind::Number),
        ),
    }
}

fn picture(session: &Session, what: What, sheet: &Sheet) -> Html {
    if sheet.curves.is_empty() {
        return html! {};
    }
    let (name, x, y) = axes(what);
    let inks = [Ink::Accent, Ink::Over, Ink::Soft, Ink::Under];
    let curve = |(i, series): (usize, &super::sheet::Series)| Curve {
        name: series.name.clone(),
        ink: inks[i % inks.len()],
        dashed: series.dashed,
        points: series.points.clone(),
    };
    let curves = Curves {
        name,
        x: Axis { title: x.0, kind: x.1 },
        y: Axis { title: y.0, kind: y.1 },
        curves: sheet.curves.iter().enumerate().map(curve).collect(),
        marks: sheet.marks.clone(),
        areas: Vec::new(),
        units: session.view.units,
    };
    let testid = format!("{}-picture", what.about().testid);
    html! { <div class="sheet-picture" key="picture"><CurvePicture {curves} theme={session.view.theme} {testid} /></div> }
}
