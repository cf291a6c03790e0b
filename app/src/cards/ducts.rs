//! Ducts.

use super::{findings_of, gone};
use crate::edit::{DuctEdit, Edit, NewItem};
use crate::fields::{Field, Form, stacked};
use engine::plan::{Blades, Duct, DuctRole, ElbowStyle, LeakageClass, geometry};
use engine::units::{Kind, show};
use yew::prelude::*;

fn edit<T>(id: &str, make: impl Fn(T) -> DuctEdit + 'static) -> impl Fn(T) -> Edit + 'static {
    let id = id.to_owned();
    move |value| Edit::Duct { id: id.clone(), edit: make(value) }
}

/// What can be set on a duct.
pub fn fields(form: &Form, duct: &Duct) -> Vec<Field> {
    let id = &duct.id;
    let role = vec![
        (DuctRole::Supply, "supply".to_owned()),
        (DuctRole::Transfer, "transfer".to_owned()),
        (DuctRole::Return, "return".to_owned()),
    ];
    let elbows = vec![
        (ElbowStyle::Mitred, "mitred".to_owned()),
        (ElbowStyle::Vaned, "mitred, vaned".to_owned()),
        (ElbowStyle::Radius, "radius 1.5".to_owned()),
    ];
    let classes = [LeakageClass::A, LeakageClass::B, LeakageClass::C, LeakageClass::D];
    let leakage = std::iter::once((None, "taken as tight".to_owned()))
        .chain(classes.map(|class| (Some(class), format!("class {} (EN 1507)", class.letter()))))
        .collect();
    let length = geometry::length_m(&duct.path);
    vec![
        form.text("Called", "name", &duct.name, edit(id, DuctEdit::Name)),
        form.choice("Carries", "role", &duct.role, role, edit(id, DuctEdit::Role)),
        form.section("Inside size", "", duct.section, edit(id, DuctEdit::Section)),
        form.shown("Length", "length", show(length, Kind::Length, form.units()), Some(length)),
        form.choice("Elbows", "elbows", &duct.elbows, elbows, edit(id, DuctEdit::Elbows)),
        form.quantity(
            "Underside above floor",
            "underside",
            Kind::Length,
            duct.underside_m,
            0.0..=50.0,
            edit(id, DuctEdit::Underside),
        ),
        form.choice(
            "Free end",
            "clean-out",
            &duct.clean_out,
            vec![(false, "fixed".to_owned()), (true, "clean-out cover".to_owned())],
            edit(id, DuctEdit::CleanOut),
        ),
        form.choice("Seams", "leakage", &duct.leakage_class, leakage, edit(id, DuctEdit::Leakage))
            .on_card_only(),
        form.quantity(
            "Roughness",
            "roughness",
            Kind::ShopLength,
            duct.roughness_m,
            0.0..=0.01,
            edit(id, DuctEdit::Roughness),
        )
        .on_card_only(),
    ]
}

/// The card of a duct: its fields, path, changes of size and damper.
pub fn card(form: &Form, id: &str) -> Html {
    let Some(duct) = form.plan().ducts.iter().find(|duct| duct.id == id) else { return gone(id) };
    let path_edit = {
        let id = id.to_owned();
        move |path| Edit::Duct { id: id.clone(), edit: DuctEdit::Path(path) }
    };
    let on_it = [
        (duct.role != DuctRole::Return).then(|| {
            form.button("Add slot row", "add-slot-row", Edit::Add(NewItem::SlotRow { duct: id.to_owned() }))
        }),
        Some(form.button("Add branch", "add-branch", Edit::Add(NewItem::Branch { from: id.to_owned() }))),
        (duct.role == DuctRole::Return).then(|| {
            form.button("Add return", "add-return", Edit::Add(NewItem::Return { duct: Some(id.to_owned()) }))
        }),
    ];
    html! {
        <>
            { joints(form, duct) }
            { stacked(fields(form, duct)) }
            { findings_of(form, id) }
            <h3>{ "Centre line" }</h3>
            { form.points("point", &duct.path, 2, path_edit) }
            <h3>{ "Changes of size" }</h3>
            { steps(form, duct) }
            <h3>{ "Sleeves through walls" }</h3>
            { sleeves(form, duct) }
            <h3>{ "Blade damper" }</h3>
            { damper(form, duct) }
            { super::heat::duct(form, id) }
            <p class="buttons">{ for on_it.into_iter().flatten() }</p>
        </>
    }
}

/// What its ends touch, in words: connections come from geometry, so they must be shown.
fn joints(form: &Form, duct: &Duct) -> Html {
    let plan = form.plan();
    let Some(index) = plan.ducts.iter().position(|other| other.id == duct.id) else { return html! {} };
    let joints = geometry::joints(plan);
    let name = |last: bool| {
        let joint = joints.iter().find(|joint| joint.duct == index && joint.last == last);
        match joint.map(|joint| joint.onto) {
            Some(geometry::Onto::Discharge) => "the heater's discharge".to_owned(),
            Some(geometry::Onto::Intake) => "the heater's intake".to_owned(),
            Some(geometry::Onto::Duct { duct, station_m }) => {
                let other = plan.ducts.get(duct).map_or("", |duct| duct.id.as_str());
                format!("{other} at {}", show(station_m, Kind::Length, form.units()))
            }
            None => "nothing (closed end)".to_owned(),
        }
    };
    html! { <p class="joints">{ format!("Starts at {}; ends at {}.", name(false), name(true)) }</p> }
}

/// Where it passes walls in a sleeve.
pub fn sleeves(form: &Form, duct: &Duct) -> Html {
    let length = geometry::length_m(&duct.path);
    let id = &duct.id;
    let rows = duct.sleeves_m.iter().enumerate().map(|(i, station_m)| {
        let at = form.number(
            &format!("Sleeve {}, station", i + 1),
            &format!("sleeve-{i}"),
            Kind::Length,
            *station_m,
            0.0..=length,
            edit(id, move |station_m| DuctEdit::Sleeve { sleeve: i, station_m }),
        );
        let remove = Edit::Duct { id: id.clone(), edit: DuctEdit::RemoveSleeve(i) };
        html! { <li key={i}><span>{ "at " }{ at }</span>{ form.button("Remove", &format!("sleeve-{i}-remove"), remove) }</li> }
    });
    let all = Edit::Duct { id: id.clone(), edit: DuctEdit::SleeveWalls };
    html! {
        <>
            <ul class="lines">{ for rows }</ul>
            <p class="buttons">{ form.button("Sleeve every wall it passes", "sleeve-walls", all) }</p>
        </>
    }
}

/// Its changes of size.
pub fn steps(form: &Form, duct: &Duct) -> Html {
    let length = geometry::length_m(&duct.path);
    let rows = duct.steps.iter().enumerate().map(|(i, step)| {
        let id = &duct.id;
        let at = form.number(
            &format!("Change {}, station", i + 1),
            &format!("step-{i}-station"),
            Kind::Length,
            step.station_m,
            0.0..=length,
            edit(id, move |station_m| DuctEdit::StepStation { step: i, station_m }),
        );
        let size = form.section(
            "Size from there",
            &format!("step-{i}-"),
            step.section,
            edit(id, move |section| DuctEdit::StepSection { step: i, section }),
        );
        let remove = Edit::Duct { id: id.clone(), edit: DuctEdit::RemoveStep(i) };
        html! {
            <li key={i}>
                <span>{ "from " }{ at }</span>
                { size.control }
                { form.button("Remove", &format!("step-{i}-remove"), remove) }
            </li>
        }
    });
    html! {
        <>
            <ul class="lines">{ for rows }</ul>
            <p class="buttons">
                { form.button("Add change of size", "add-step", Edit::Duct { id: duct.id.clone(), edit: DuctEdit::AddStep }) }
            </p>
        </>
    }
}

/// Its blade damper.
pub fn damper(form: &Form, duct: &Duct) -> Html {
    let id = &duct.id;
    let has = |has| Edit::Duct { id: id.clone(), edit: DuctEdit::HasDamper(has) };
    let Some(damper) = &duct.damper else {
        return html! { <p class="buttons">{ form.button("Add damper at its first point", "add-damper", has(true)) }</p> };
    };
    let blades = vec![(Blades::Opposed, "opposed".to_owned()), (Blades::Parallel, "parallel".to_owned())];
    let sizes = vec![
        (None, "as its duct".to_owned()),
        (Some(damper.size.unwrap_or(duct.section)), "its own".to_owned()),
    ];
    let own = damper.size.map(|size| {
        let to = edit(id, |size| DuctEdit::DamperSize(Some(size)));
        stacked(vec![form.section("Inside size of the damper", "damper-", size, to)])
    });
    html! {
        <>
            { stacked(vec![
                form.quantity("Travel", "damper-open", Kind::Percent, damper.open_percent, 0.0..=100.0, edit(id, DuctEdit::DamperOpen)),
                form.choice("Blades", "damper-blades", &damper.blades, blades, edit(id, DuctEdit::DamperBlades)),
                form.quantity("Leakage shut", "damper-leakage", Kind::Percent, damper.leakage_percent, 0.0..=100.0, edit(id, DuctEdit::DamperLeakage)),
                form.choice("Size", "damper-size", &damper.size, sizes, edit(id, DuctEdit::DamperSize)),
            ]) }
            { for own }
            { super::heat::modulation(form, id) }
            <p class="buttons">{ form.button("Remove damper", "remove-damper", has(false)) }</p>
        </>
    }
}
