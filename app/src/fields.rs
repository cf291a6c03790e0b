//! The fields of cards and tables: one list of fields for an item serves both.

use crate::command::{Command, on_press};
use crate::edit::{Edit, PathEdit};
use crate::list_input::ListInput;
use crate::quantity_input::QuantityInput;
use crate::session::Session;
use crate::text_input::TextInput;
use engine::plan::{Plan, Point, Section};
use engine::units::{Kind, UnitSystem};
use std::ops::RangeInclusive;
use std::rc::Rc;
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
        self.typed(label, name, kind, Some(value), (*range.start(), *range.end(), false), Rc::new(edit), None)
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
        let clear = edit(None);
        let bounds = (*range.start(), *range.end(), false);
        let control = self.typed(
            label,
            name,
            kind,
            value,
            bounds,
            Rc::new(move |value| edit(Some(value))),
            Some(clear),
        );
        Field { label, control, column: true }
    }

    /// A whole number that may be left out.
    pub fn optional_count(
        &self,
        label: &'static str,
        name: &str,
        value: Option<f64>,
        range: RangeInclusive<u32>,
        edit: impl Fn(Option<f64>) -> Edit + 'static,
    ) -> Field {
        let bounds = (f64::from(*range.start()), f64::from(*range.end()), true);
        let clear = edit(None);
        let set = Rc::new(move |value| edit(Some(value)));
        let control = self.typed(label, name, Kind::Number, value, bounds, set, Some(clear));
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
        let bounds = (f64::from(*range.start()), f64::from(*range.end()), true);
        let edit = Rc::new(move |value: f64| edit(value as u32));
        let control = self.typed(label, name, Kind::Number, Some(f64::from(value)), bounds, edit, None);
        Field { label, control, column: true }
    }

    /// Not generic, so that the code of a field is in the download once.
    #[expect(clippy::too_many_arguments, reason = "private, and each caller above names them")]
    fn typed(
        &self,
        label: &str,
        name: &str,
        kind: Kind,
        value: Option<f64>,
        (min, max, whole): (f64, f64, bool),
        edit: Rc<dyn Fn(f64) -> Edit>,
        clear: Option<Edit>,
    ) -> Html {
        let on_commit = self.dispatch.reform(move |value| Command::from(edit(value)));
        let on_clear = clear.map(|clear| {
            let clear = Command::from(clear);
            self.dispatch.reform(move |()| clear.clone())
        });
        html! {
            <QuantityInput
                key={name} label={self.label(label)} testid={self.testid(name)} {kind} system={self.units()}
                {value} {min} {max} {whole} {on_commit} {on_clear}
            />
        }
    }

    /// A line of text.
    pub fn text(
        &self,
        label: &'static str,
        name: &str,
        value: &str,
        edit: impl Fn(String) -> Edit + 'static,
    ) -> Field {
        let control = self.line(label, name, value, Rc::new(edit));
        Field { label, control, column: true }
    }

    fn line(&self, label: &str, name: &str, value: &str, edit: Rc<dyn Fn(String) -> Edit>) -> Html {
        let on_commit = self.dispatch.reform(move |text| Command::from(edit(text)));
        html! {
            <TextInput key={name} label={self.label(label)} testid={self.testid(name)} value={value.to_owned()} {on_commit} />
        }
    }

    /// One of several.
    pub fn choice<T: PartialEq>(
        &self,
        label: &'static str,
        name: &str,
        value: &T,
        options: Vec<(T, String)>,
        edit: impl Fn(T) -> Edit + 'static,
    ) -> Field {
        let chosen = options.iter().position(|(option, _)| option == value);
        let options = options.into_iter().map(|(option, text)| (edit(option), text)).collect();
        let control = self.select(label, name, chosen, options);
        Field { label, control, column: true }
    }

    fn select(&self, label: &str, name: &str, chosen: Option<usize>, options: Vec<(Edit, String)>) -> Html {
        let (commands, options): (Vec<Command>, Vec<AttrValue>) =
            options.into_iter().map(|(edit, text)| (edit.into(), text.into())).unzip();
        let dispatch = self.dispatch.clone();
        let on_choose = Callback::from(move |index: usize| {
            if let Some(command) = commands.get(index) {
                dispatch.emit(command.clone());
            }
        });
        html! { <ListInput key={name} label={self.label(label)} testid={self.testid(name)} {options} {chosen} {on_choose} /> }
    }

    /// A place on the floor.
    pub fn place(
        &self,
        label: &'static str,
        name: &str,
        at: Point,
        edit: impl Fn(Point) -> Edit + 'static,
    ) -> Field {
        Field { label, control: self.point(label, name, at, Rc::new(edit)), column: true }
    }

    /// The two numbers of a place.
    fn point(&self, label: &str, name: &str, at: Point, edit: Rc<dyn Fn(Point) -> Edit>) -> Html {
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
        Field { label, control: self.size(name, section, Rc::new(edit)), column: true }
    }

    fn size(&self, name: &str, section: Section, edit: Rc<dyn Fn(Section) -> Edit>) -> Html {
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
        html! { <span class="section-size">{ shape.control }<span class="pair" key={if round { "round" } else { "flat" }}>{ sizes }</span></span> }
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
        self.command(text, name, Command::from(edit))
    }

    /// Something to press.
    pub fn command(&self, text: impl Into<String>, name: &str, command: Command) -> Html {
        let onclick = on_press(&self.dispatch, command);
        html! { <button type="button" data-testid={self.testid(name)} {onclick}>{ text.into() }</button> }
    }

    /// The points of a line or outline, each to be moved, followed by another, or removed.
    pub fn points(
        &self,
        name: &str,
        path: &[Point],
        fewest: usize,
        edit: impl Fn(PathEdit) -> Edit + 'static,
    ) -> Html {
        self.point_list(name, path, fewest, Rc::new(edit))
    }

    fn point_list(
        &self,
        name: &str,
        path: &[Point],
        fewest: usize,
        edit: Rc<dyn Fn(PathEdit) -> Edit>,
    ) -> Html {
        let rows = path.iter().enumerate().map(|(i, &at)| {
            let number = i + 1;
            let can_go = path.len() > fewest;
            let (insert, remove) = (edit(PathEdit::InsertAfter(i)), edit(PathEdit::Remove(i)));
            let edit = edit.clone();
            let move_to = Rc::new(move |to| edit(PathEdit::Move { point: i, to }));
            let press =
                |edit: Edit| on_press(&self.dispatch, Command::from(edit));
            html! {
                <li key={i}>
                    <span class="ordinal">{ number }</span>
                    { self.point(&format!("Point {number}"), &format!("{name}-{i}"), at, move_to) }
                    <button type="button" class="mini" aria-label={format!("Insert a point after point {number}")}
                        title="Insert a point after this one"
                        data-testid={self.testid(&format!("{name}-{i}-insert"))} onclick={press(insert)}>{ "+" }</button>
                    <button type="button" class="mini" aria-label={format!("Remove point {number}")} disabled={!can_go}
                        title={if can_go { "Remove this point" } else { "No fewer points are possible" }}
                        data-testid={self.testid(&format!("{name}-{i}-remove"))} onclick={press(remove)}>{ "−" }</button>
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
