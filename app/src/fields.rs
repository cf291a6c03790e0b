//! The fields of cards and tables: one list of fields for an item serves both.

use crate::command::Command;
use crate::edit::{Edit, PathEdit};
use crate::quantity_input::QuantityInput;
use crate::session::Session;
use engine::plan::{Plan, Point, Section};
use engine::units::{Kind, UnitSystem};
use std::ops::RangeInclusive;
use std::rc::Rc;
use web_sys::{HtmlInputElement, HtmlSelectElement};
use yew::prelude::*;

/// One thing that can be set.
pub struct Field {
    /// What it is.
    pub label: &'static str,
    /// The control, or what is shown.
    pub control: Html,
    /// Worth a column in a table; the rest stands on the card.
    pub column: bool,
}

impl Field {
    /// Only on the card.
    pub fn on_card_only(mut self) -> Self {
        self.column = false;
        self
    }
}

/// Makes controls that dispatch edits.
#[derive(Clone)]
pub struct Form {
    /// The session shown.
    pub session: Rc<Session>,
    /// Takes commands.
    pub dispatch: Callback<Command>,
    /// What test names begin with: "card", or the item's name in a table.
    pub prefix: String,
    /// What labels begin with for those who do not see the row.
    pub of: String,
}

impl Form {
    /// A form for a card.
    pub fn card(session: &Rc<Session>, dispatch: &Callback<Command>) -> Self {
        Self {
            session: session.clone(),
            dispatch: dispatch.clone(),
            prefix: "card".into(),
            of: String::new(),
        }
    }

    /// A form for a row of a table.
    pub fn row(session: &Rc<Session>, dispatch: &Callback<Command>, id: &str) -> Self {
        Self {
            session: session.clone(),
            dispatch: dispatch.clone(),
            prefix: id.to_owned(),
            of: format!("{id}: "),
        }
    }

    /// The plan.
    pub fn plan(&self) -> &Plan {
        &self.session.plan
    }

    /// The units.
    pub fn units(&self) -> UnitSystem {
        self.session.view.units
    }

    fn testid(&self, name: &str) -> String {
        format!("{}-{name}", self.prefix)
    }

    fn label(&self, label: &str) -> String {
        format!("{}{label}", self.of)
    }

    /// Dispatches `edit`.
    pub fn callback<T: 'static>(&self, edit: impl Fn(T) -> Edit + 'static) -> Callback<T> {
        self.dispatch.reform(move |value| Command::Edit(edit(value)))
    }

    /// A quantity.
    pub fn quantity(
        &self,
        label: &'static str,
        name: &str,
        kind: Kind,
        value: f64,
        range: RangeInclusive<f64>,
        edit: impl Fn(f64) -> Edit + 'static,
    ) -> Field {
        let control = self.number(label, name, kind, value, range, edit);
        Field { label, control, column: true }
    }

    /// The control of a quantity alone.
    pub fn number(
        &self,
        label: &str,
        name: &str,
        kind: Kind,
        value: f64,
        range: RangeInclusive<f64>,
        edit: impl Fn(f64) -> Edit + 'static,
    ) -> Html {
        html! {
            <QuantityInput
                key={name} label={self.label(label)} testid={self.testid(name)} {kind} system={self.units()}
                value={Some(value)} min={*range.start()} max={*range.end()} on_commit={self.callback(edit)}
            />
        }
    }

    /// A quantity that may be left out.
    pub fn optional(
        &self,
        label: &'static str,
        name: &str,
        kind: Kind,
        value: Option<f64>,
        range: RangeInclusive<f64>,
        edit: impl Fn(Option<f64>) -> Edit + 'static,
    ) -> Field {
        let edit = Rc::new(edit);
        let clear = edit.clone();
        let control = html! {
            <QuantityInput
                key={name} label={self.label(label)} testid={self.testid(name)} {kind} system={self.units()}
                {value} min={*range.start()} max={*range.end()}
                on_commit={self.callback(move |value| edit(Some(value)))}
                on_clear={self.callback(move |()| clear(None))}
            />
        };
        Field { label, control, column: true }
    }

    /// A whole number.
    pub fn count(
        &self,
        label: &'static str,
        name: &str,
        value: u32,
        range: RangeInclusive<u32>,
        edit: impl Fn(u32) -> Edit + 'static,
    ) -> Field {
        let control = html! {
            <QuantityInput
                key={name} label={self.label(label)} testid={self.testid(name)} kind={Kind::Number}
                system={self.units()} value={Some(f64::from(value))} whole=true
                min={f64::from(*range.start())} max={f64::from(*range.end())}
                on_commit={self.callback(move |value: f64| edit(value as u32))}
            />
        };
        Field { label, control, column: true }
    }

    /// A line of text.
    pub fn text(
        &self,
        label: &'static str,
        name: &str,
        value: &str,
        edit: impl Fn(String) -> Edit + 'static,
    ) -> Field {
        let onchange = self.callback(edit).reform(|event: Event| {
            event.target_dyn_into::<HtmlInputElement>().map(|input| input.value()).unwrap_or_default()
        });
        let control = html! {
            <input
                key={name.to_owned()} type="text" class="text" maxlength="120" autocomplete="off"
                aria-label={self.label(label)} data-testid={self.testid(name)}
                value={value.to_owned()} {onchange}
            />
        };
        Field { label, control, column: true }
    }

    /// One of several.
    pub fn choice<T: Clone + PartialEq + 'static>(
        &self,
        label: &'static str,
        name: &str,
        value: &T,
        options: Vec<(T, String)>,
        edit: impl Fn(T) -> Edit + 'static,
    ) -> Field {
        let chosen = options.iter().position(|(option, _)| option == value);
        let texts: Vec<_> = options.iter().map(|(_, text)| text.clone()).collect();
        let edit = self.callback(edit);
        let onchange = Callback::from(move |event: Event| {
            let select = event.target_dyn_into::<HtmlSelectElement>();
            let index = select.and_then(|select| usize::try_from(select.selected_index()).ok());
            if let Some((option, _)) = index.and_then(|index| options.get(index)) {
                edit.emit(option.clone());
            }
        });
        let control = html! {
            <select
                key={name.to_owned()} aria-label={self.label(label)} data-testid={self.testid(name)} {onchange}
            >
                { for texts.into_iter().enumerate().map(|(i, text)| html! {
                    <option key={i} selected={chosen == Some(i)}>{ text }</option>
                }) }
            </select>
        };
        Field { label, control, column: true }
    }

    /// A place on the floor.
    pub fn place(
        &self,
        label: &'static str,
        name: &str,
        at: Point,
        edit: impl Fn(Point) -> Edit + 'static,
    ) -> Field {
        Field { label, control: self.point(label, name, at, edit), column: true }
    }

    /// The two numbers of a place.
    pub fn point(&self, label: &str, name: &str, at: Point, edit: impl Fn(Point) -> Edit + 'static) -> Html {
        let edit = Rc::new(edit);
        let other = edit.clone();
        let range = -10_000.0..=10_000.0;
        html! {
            <span class="pair">
                { self.number(&format!("{label}, x"), &format!("{name}-x"), Kind::Length, at.x_m, range.clone(),
                    move |x| edit(Point::new(x, at.y_m))) }
                { self.number(&format!("{label}, y"), &format!("{name}-y"), Kind::Length, at.y_m, range,
                    move |y| other(Point::new(at.x_m, y))) }
            </span>
        }
    }

    /// An inside size: rectangular or round.
    pub fn section(
        &self,
        label: &'static str,
        name: &str,
        section: Section,
        edit: impl Fn(Section) -> Edit + 'static,
    ) -> Field {
        let edit = Rc::new(edit);
        let range = 0.02..=10.0;
        let round = matches!(section, Section::Round { .. });
        let shape = {
            let edit = edit.clone();
            // Changing the shape keeps the size as near as a round number of the other shape can.
            let other = match section {
                Section::Rectangular { width_m, height_m } => {
                    Section::Round { diameter_m: width_m.max(height_m) }
                }
                Section::Round { diameter_m } => {
                    Section::Rectangular { width_m: diameter_m, height_m: diameter_m }
                }
            };
            self.choice(
                "Shape",
                &format!("{name}shape"),
                &round,
                vec![(false, "□".to_owned()), (true, "⌀".to_owned())],
                move |now| if now == round { edit(section) } else { edit(other) },
            )
        };
        let sizes = match section {
            Section::Rectangular { width_m, height_m } => {
                let other = edit.clone();
                html! {
                    <>
                        { self.number("Width", &format!("{name}width"), Kind::ShopLength, width_m, range.clone(),
                            move |width_m| edit(Section::Rectangular { width_m, height_m })) }
                        <span class="times" aria-hidden="true">{ "×" }</span>
                        { self.number("Height", &format!("{name}height"), Kind::ShopLength, height_m, range,
                            move |height_m| other(Section::Rectangular { width_m, height_m })) }
                    </>
                }
            }
            Section::Round { diameter_m } => html! {
                { self.number("Diameter", &format!("{name}diameter"), Kind::ShopLength, diameter_m, range,
                    move |diameter_m| edit(Section::Round { diameter_m })) }
            },
        };
        let control = html! { <span class="section-size">{ shape.control }<span class="pair" key={if round { "round" } else { "flat" }}>{ sizes }</span></span> };
        Field { label, control, column: true }
    }

    /// What is only shown.
    pub fn shown(&self, label: &'static str, name: &str, text: String, value: Option<f64>) -> Field {
        let control = html! {
            <output class="figure" data-testid={self.testid(name)} data-value={value.map(|v| v.to_string())}>{ text }</output>
        };
        Field { label, control, column: true }
    }

    /// Something to press that makes an edit.
    pub fn button(&self, text: impl Into<String>, name: &str, edit: Edit) -> Html {
        self.command(text, name, Command::Edit(edit))
    }

    /// Something to press.
    pub fn command(&self, text: impl Into<String>, name: &str, command: Command) -> Html {
        let onclick = self.dispatch.reform(move |_: MouseEvent| command.clone());
        html! { <button type="button" data-testid={self.testid(name)} {onclick}>{ text.into() }</button> }
    }

    /// The points of a line or outline, each to be moved, followed by another, or removed.
    pub fn points(
        &self,
        name: &str,
        path: &[Point],
        fewest: usize,
        edit: impl Fn(PathEdit) -> Edit + Clone + 'static,
    ) -> Html {
        let rows = path.iter().enumerate().map(|(i, &at)| {
            let (move_to, after, gone) = (edit.clone(), edit.clone(), edit.clone());
            let number = i + 1;
            let can_go = path.len() > fewest;
            let insert = self.callback(move |_: MouseEvent| after(PathEdit::InsertAfter(i)));
            let remove = self.callback(move |_: MouseEvent| gone(PathEdit::Remove(i)));
            html! {
                <li key={i}>
                    <span class="ordinal">{ number }</span>
                    { self.point(&format!("Point {number}"), &format!("{name}-{i}"), at,
                        move |to| move_to(PathEdit::Move { point: i, to })) }
                    <button type="button" class="mini" aria-label={format!("Insert a point after point {number}")}
                        title="Insert a point after this one"
                        data-testid={self.testid(&format!("{name}-{i}-insert"))} onclick={insert}>{ "+" }</button>
                    <button type="button" class="mini" aria-label={format!("Remove point {number}")} disabled={!can_go}
                        title={if can_go { "Remove this point" } else { "No fewer points are possible" }}
                        data-testid={self.testid(&format!("{name}-{i}-remove"))} onclick={remove}>{ "−" }</button>
                </li>
            }
        });
        html! { <ol class="points" data-testid={self.testid(name)}>{ for rows }</ol> }
    }
}

/// Fields one below the other.
pub fn stacked(fields: Vec<Field>) -> Html {
    html! {
        <dl class="fields">
            { for fields.into_iter().map(|field| html! {
                <div key={field.label}><dt>{ field.label }</dt><dd>{ field.control }</dd></div>
            }) }
        </dl>
    }
}
