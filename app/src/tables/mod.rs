//! The items of a step as tables: the board for the keyboard, and for those who do not see it.

use crate::cards::{ViewProps, ducts, floor, heat, heater, returns, slots};
use crate::command::{Command, on_press};
use crate::edit::{CONVEYOR, DuctEdit, ENCLOSURE, Edit, ZoneEdit, delete_label};
use crate::fields::{Field, Form, stacked};
use crate::session::{Session, Step};
use std::rc::Rc;
use yew::prelude::*;

/// The tables of the step at hand.
pub fn tables(props: &ViewProps) -> Html {
    let ViewProps { session, dispatch } = props;
    let plan = &session.plan;
    let table =
        |title: &'static str, rows: Vec<Row>, none: &'static str| draw(session, dispatch, title, rows, none);
    let row = |id: &str, fields: &dyn Fn(&Form) -> Vec<Field>| Row::new(session, dispatch, id, fields);
    let zones = || {
        let rows = plan.zones.iter().map(|zone| {
            row(&zone.id, &|form| {
                let mut fields = floor::zone_fields(form, zone);
                fields.extend(floor::zone_results(form, &zone.id));
                fields
            })
        });
        table("Zones", rows.collect(), "No zone yet: a zone is a part of the oven held at one temperature.")
    };
    let body = match session.view.step {
        Step::Need => html! {
            <>
                { zones() }
                { table("Product openings",
                    plan.openings.iter().map(|item| row(&item.id, &|form| floor::opening_fields(form, item))).collect(),
                    "No product opening yet: parts enter and leave through them, and air exchanges with the plant.") }
            </>
        },
        Step::Layout => html! {
            <>
                { table("Ducts",
                    plan.ducts.iter().map(|item| row(&item.id, &|form| ducts::fields(form, item))).collect(),
                    "No duct yet: begin with the trunk, which starts at the heater's discharge.") }
                { zones() }
                { table("Product openings",
                    plan.openings.iter().map(|item| row(&item.id, &|form| floor::opening_fields(form, item))).collect(),
                    "No product opening yet.") }
                { table("Building columns",
                    plan.enclosure.columns.iter().map(|item| row(&item.id, &|form| floor::column_fields(form, item))).collect(),
                    "No building column in the way.") }
                { lines(session, dispatch) }
            </>
        },
        Step::Slots => table(
            "Slot rows",
            plan.slot_rows.iter().map(|item| row(&item.id, &|form| slots::fields(form, item))).collect(),
            "No slots yet: add a row to each run; even out sizes them.",
        ),
        Step::Returns => table(
            "Returns",
            plan.returns
                .iter()
                .map(|item| {
                    row(&item.id, &|form| {
                        let mut fields = returns::fields(form, item);
                        fields.extend(returns::results(form, &item.id));
                        fields
                    })
                })
                .collect(),
            "No return yet: the air that slots blow must find its way back to the heater.",
        ),
        Step::Fan | Step::Findings => html! {
            <>
                { table("Fixed losses in series with the fan",
                    plan.heater.fixed_losses.iter().map(|item| row(&item.id, &|form| heater::fixed_loss_fields(form, item))).collect(),
                    "No fixed loss yet: burner box, filter, anything known by one flow and its drop.") }
                { zones() }
                { table("Exhausts",
                    plan.exhausts.iter().map(|item| row(&item.id, &|form| floor::exhaust_fields(form, item))).collect(),
                    "No exhaust yet.") }
                { table("Sensors",
                    plan.sensors.iter().map(|item| row(&item.id, &|form| heat::sensor_fields(form, item))).collect(),
                    "No sensor yet.") }
            </>
        },
    };
    html! { <div key="tables" class="tables" data-testid="tables">{ body }</div> }
}

/// Every line and outline with its points, and what is set along ducts.
fn lines(session: &Rc<Session>, dispatch: &Callback<Command>) -> Html {
    let plan = &session.plan;
    let part = |id: &str, what: &str, body: Html| {
        html! { <section key={format!("{id} {what}")}><h4>{ format!("{id}: {what}") }</h4>{ body }</section> }
    };
    let ducts = plan.ducts.iter().map(|duct| {
        let form = Form::row(session, dispatch, &duct.id);
        let id = duct.id.clone();
        html! {
            <>
                { part(&id, "centre line", form.points("point", &duct.path, 2, {
                    let id = id.clone();
                    move |edit| Edit::Duct { id: id.clone(), edit: DuctEdit::Path(edit) }
                })) }
                { part(&id, "changes of size", ducts::steps(&form, duct)) }
                { part(&id, "sleeves", ducts::sleeves(&form, duct)) }
                { part(&id, "blade damper", ducts::damper(&form, duct)) }
            </>
        }
    });
    let zones = plan.zones.iter().map(|zone| {
        let form = Form::row(session, dispatch, &zone.id);
        let id = zone.id.clone();
        part(
            &zone.id,
            "corners",
            form.points("corner", &zone.outline, 3, move |edit| Edit::Zone {
                id: id.clone(),
                edit: ZoneEdit::Outline(edit),
            }),
        )
    });
    let enclosure = (!plan.enclosure.outline.is_empty()).then(|| {
        part(ENCLOSURE, "corners and walls", floor::enclosure_card(&Form::row(session, dispatch, ENCLOSURE)))
    });
    let conveyor = plan
        .conveyor
        .as_ref()
        .map(|_| part(CONVEYOR, "path", floor::conveyor_card(&Form::row(session, dispatch, CONVEYOR))));
    let heater =
        part("heater", "places", stacked(heater::heater_fields(&Form::row(session, dispatch, "heater"))));
    html! {
        <section key="lines" class="line-lists">
            <h3>{ "Points" }</h3>
            { for enclosure }
            { for conveyor }
            { heater }
            { for zones }
            { for ducts }
        </section>
    }
}

/// One item in a table.
struct Row {
    id: String,
    fields: Vec<Field>,
}

impl Row {
    fn new(
        session: &Rc<Session>,
        dispatch: &Callback<Command>,
        id: &str,
        fields: &dyn Fn(&Form) -> Vec<Field>,
    ) -> Self {
        let form = Form::row(session, dispatch, id);
        Self { id: id.to_owned(), fields: fields(&form).into_iter().filter(|field| field.column).collect() }
    }
}

/// Columns are the labels of all rows in the order they come, so that rows of different shape share
/// what they have in common.
fn draw(
    session: &Rc<Session>,
    dispatch: &Callback<Command>,
    title: &'static str,
    rows: Vec<Row>,
    none: &'static str,
) -> Html {
    if rows.is_empty() {
        return html! { <section key={title}><h3>{ title }</h3><p class="teach">{ none }</p></section> };
    }
    let mut columns: Vec<&'static str> = Vec::new();
    for field in rows.iter().flat_map(|row| &row.fields) {
        if !columns.contains(&field.label) {
            columns.push(field.label);
        }
    }
    let body = rows.into_iter().map(|mut row| {
        let cells = columns.iter().map(|label| {
            let field = row.fields.iter_mut().find(|field| field.label == *label);
            let control = field.map(|field| std::mem::take(&mut field.control));
            html! { <td key={*label}>{ control.unwrap_or_default() }</td> }
        });
        let cells: Vec<Html> = cells.collect();
        let id = row.id.clone();
        let chosen = session.selection.as_deref() == Some(&id);
        let select = on_press(dispatch, Command::Select(Some(id.clone())));
        let several = session.selected().any(|other| other == id);
        let besides = dispatch.reform({
            let id = id.clone();
            move |_: Event| Command::Toggle(id.clone())
        });
        let delete = on_press(dispatch, Command::from(Edit::Delete(id.clone())));
        html! {
            <tr key={id.clone()} class={classes!(chosen.then_some("chosen"))} data-testid={format!("row-{id}")}>
                <th scope="row">
                    <input type="checkbox" checked={several} aria-label={format!("Select {id} besides")} title="Select besides"
                        data-testid={format!("{id}-besides")} onchange={besides} />
                    <button type="button" class="link" aria-pressed={chosen.to_string()} title="Show on the board and on the card"
                        data-testid={format!("{id}-select")} onclick={select}>{ &id }</button>
                </th>
                { for cells }
                <td key="delete">
                    <button type="button" class="mini" aria-label={delete_label(&session.plan, &id)} title={delete_label(&session.plan, &id)}
                        data-testid={format!("{id}-delete")} onclick={delete}>{ "×" }</button>
                </td>
            </tr>
        }
    });
    html! {
        <section key={title}>
            <h3>{ title }</h3>
            <div class="scroll"><table class="grid">
                <thead><tr>
                    <th scope="col">{ "Name" }</th>
                    { for columns.iter().map(|label| html! { <th scope="col" key={*label}>{ *label }</th> }) }
                    <th scope="col"><span class="unseen">{ "Delete" }</span></th>
                </tr></thead>
                <tbody>{ for body }</tbody>
            </table></div>
        </section>
    }
}
