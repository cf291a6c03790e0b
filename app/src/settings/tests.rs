//! Every line of the tables against the schema of the plan file, and through the session.

use super::tables::{DEVICES, all};
use super::{Holds, Setting, at, document, list, set, tables};
use crate::command::Command;
use crate::edit::Edit;
use crate::quantity_input::accept;
use crate::session::Session;
use crate::starter;
use engine::plan::Plan;
use engine::units::UnitSystem;
use serde_json::{Value, json};
use std::collections::BTreeSet;

const SCHEMA: &str = include_str!("../../../tests/plans/evenrise.schema.json");

fn schema() -> Value {
    serde_json::from_str(SCHEMA).expect("the schema is JSON")
}

/// What a node of the schema stands for, behind references and "or nothing".
fn resolved<'a>(root: &'a Value, node: &'a Value) -> &'a Value {
    if let Some(name) = node.get("$ref").and_then(Value::as_str) {
        return resolved(root, root.pointer(&name[1..]).expect("a reference leads somewhere"));
    }
    match node.get("anyOf").and_then(Value::as_array) {
        Some(either) => resolved(root, &either[0]),
        None => node,
    }
}

/// The node at `path`.
fn find<'a>(root: &'a Value, path: &str) -> Option<&'a Value> {
    path.split('/').skip(1).try_fold(root, |node, token| {
        let node = resolved(root, node);
        if token.parse::<usize>().is_ok() {
            return node.get("items");
        }
        let variants = node.get("oneOf").and_then(Value::as_array).into_iter().flatten();
        std::iter::once(node).chain(variants).find_map(|node| node.get("properties")?.get(token))
    })
}

fn types(node: &Value) -> Vec<&str> {
    match &node["type"] {
        Value::String(one) => vec![one],
        Value::Array(several) => several.iter().filter_map(Value::as_str).collect(),
        _ => Vec::new(),
    }
}

/// What each choice of a schema node is known by.
fn choices(node: &Value) -> BTreeSet<String> {
    let variants = node["oneOf"].as_array().expect("a choice has variants");
    let known_by = |variant: &Value| match variant["const"].as_str() {
        Some(word) => word.to_owned(),
        None => variant["required"][0].as_str().expect("a variant has a key").to_owned(),
    };
    variants.iter().map(known_by).collect()
}

fn offered(options: &[(&str, &str)]) -> BTreeSet<String> {
    let known_by = |(json, _): &(&str, &str)| match serde_json::from_str(json).expect("an option is JSON") {
        Value::String(word) => word,
        Value::Object(object) => object.keys().next().expect("with one key").clone(),
        other => panic!("{other} is no option"),
    };
    options.iter().map(known_by).collect()
}

#[test]
fn every_setting_is_a_place_of_the_file_that_holds_what_it_says() {
    let root = schema();
    for (base, settings) in all() {
        for Setting { at, label, holds } in settings {
            let path = format!("{base}/{at}");
            let node = find(&root, &path).unwrap_or_else(|| panic!("{path} ({label}) is not in the schema"));
            let optional = node.get("anyOf").is_some() || types(node).contains(&"null");
            let node = resolved(&root, node);
            let has = |kind: &str| assert!(types(node).contains(&kind), "{path} holds {:?}", node["type"]);
            match holds {
                Holds::Number(..) => has("number"),
                Holds::Optional(..) => has("number"),
                Holds::OptionalWhole(..) => has("integer"),
                Holds::Several(..) => has("array"),
                Holds::OptionalText => has("string"),
                Holds::Whole(..) => has("integer"),
                Holds::Text => has("string"),
                Holds::Switch => has("boolean"),
                Holds::Choice(options) => assert_eq!(offered(options), choices(node), "{path}"),
            }
            let may = matches!(holds, Holds::Optional(..) | Holds::OptionalWhole(..) | Holds::OptionalText);
            assert_eq!(may, optional, "{path}: may it be left out?");
        }
    }
    let devices = resolved(&root, find(&root, "/safety/devices/0").expect("devices are in the schema"));
    assert_eq!(DEVICES.iter().map(|(name, _)| (*name).to_owned()).collect::<BTreeSet<_>>(), choices(devices));
}

/// The paths of all numbers, words and choices below `path`.
fn leaves(root: &Value, node: &Value, path: &str, found: &mut BTreeSet<String>) {
    let node = resolved(root, node);
    if node.get("oneOf").is_some() || node.get("properties").is_none() && node.get("items").is_none() {
        found.insert(path.to_owned());
    }
    if let Some(items) = node.get("items") {
        leaves(root, items, &format!("{path}/0"), found);
    }
    let variants = node.get("oneOf").and_then(Value::as_array).into_iter().flatten();
    for node in std::iter::once(node).chain(variants) {
        for (name, below) in node.get("properties").and_then(Value::as_object).into_iter().flatten() {
            leaves(root, below, &format!("{path}/{name}"), found);
        }
    }
}

#[test]
fn everything_the_file_holds_can_be_set_on_the_page() {
    let root = schema();
    let tables = all().into_iter().chain(crate::studies::settings::all().map(|(base, of, _)| (base, of)));
    let set: BTreeSet<String> = tables
        .flat_map(|(base, settings)| settings.iter().map(move |setting| format!("{base}/{}", setting.at)))
        .collect();
    // The file's own marks; names, which every card has; what a list or a choice is made of.
    let otherwise = |path: &str| {
        ["/format", "/version"].contains(&path)
            || ["/id", "/other", "/style", "/law", "/kind"].iter().any(|end| path.ends_with(end))
            || path.strip_suffix("/0").is_some_and(|list| set.contains(list))
            || path.starts_with("/safety/devices")
            || path.starts_with("/accepted/")
    };
    let mut wanted = BTreeSet::new();
    leaves(&root, &root, "", &mut wanted);
    assert!(wanted.len() > 300, "{} places", wanted.len());
    let own: BTreeSet<String> =
        super::fields_of_their_own::all().into_iter().flat_map(|(paths, _)| paths).collect();
    let missing: Vec<_> = wanted
        .iter()
        .filter(|path| !otherwise(path) && !set.contains(*path) && !own.contains(*path))
        .collect();
    assert!(missing.is_empty(), "no field for {missing:#?}");
}

#[test]
fn fields_of_their_own_change_what_they_say_and_can_be_taken_back() {
    for (paths, edit) in super::fields_of_their_own::all() {
        for path in paths {
            let mut session = Session::new(super::fields_of_their_own::plan());
            let before = session.plan.clone();
            session.apply(Command::from(edit.clone()));
            assert_eq!(session.notice.as_ref().filter(|notice| notice.alert), None, "{path}");
            assert_eq!(session.broken_invariants(), Vec::<String>::new(), "{path}");
            assert_ne!(at(&document(&before), &path), at(&document(&session.plan), &path), "{path}");
            session.apply(Command::Undo);
            assert_eq!(session.plan, before, "{path}");
        }
    }
}

/// The demonstration with one of everything that can be described.
pub(super) fn full() -> Plan {
    let mut plan = starter::demo();
    let mut put = |path: &str, value: Value| {
        set(&mut plan, path, Some(&value)).unwrap_or_else(|error| panic!("{path}: {error}"));
    };
    put("/load", json!({}));
    for list in [&tables::PARTS, &tables::CURE_POINTS, &tables::SOLVENTS] {
        put(&format!("{}/-", list.path), list::fresh(list, &[]));
    }
    put("/load/hangers", json!({ "kg_per_m": 5.0 }));
    put("/load/chain", json!({ "kg_per_m": 5.0 }));
    put("/heater/burner", json!({ "rated_w": 3e5 }));
    put("/heater/house", json!({ "surface_m2": 20.0, "volume_m3": 6.0, "panel": { "insulation_m": 0.1 } }));
    let joints = json!({ "pitch_m": 0.6 });
    put("/enclosure/panels/wall", json!({ "insulation_m": 0.1, "joints": joints }));
    put(
        "/enclosure/panels/wall/conductivity_points/-",
        json!({ "temperature_c": 100.0, "conductivity_w_mk": 0.05 }),
    );
    put("/enclosure/panels/roof", json!({ "insulation_m": 0.1, "joints": joints }));
    for panel in ["/enclosure/panels/roof", "/heater/house/panel"] {
        let point = json!({ "temperature_c": 100.0, "conductivity_w_mk": 0.05 });
        put(&format!("{panel}/conductivity_points/-"), point);
        put(&format!("{panel}/joints"), joints.clone());
    }
    put("/ducts/0/leakage_test", json!({ "flow_m3_s": 0.1, "surface_m2": 5.0, "pressure_pa": 400.0 }));
    put("/ducts/0/damper", json!({ "open_percent": 50.0, "modulation": { "zone": "cure" } }));
    put(
        "/enclosure/panels/floor",
        json!({ "insulation_m": 0.1, "gap": { "height_m": 0.05 }, "channels": joints }),
    );
    put("/enclosure/growth", json!({}));
    put("/sensors/-", json!({ "id": "sensor-1", "at": { "x_m": 1.0, "y_m": 2.0 } }));
    put("/safety", json!({}));
    put("/enquiry", json!({}));
    put("/zones/0/exchange", json!({ "kg_s": 0.2, "low_kg_s": 0.1, "high_kg_s": 0.4 }));
    plan
}

/// What a setting may be set to, its bounds among them.
fn values(holds: &Holds) -> Vec<Option<Value>> {
    match *holds {
        Holds::Number(_, low, high) => [low, high, (low + high) / 3.0].map(|v| Some(json!(v))).to_vec(),
        Holds::Optional(_, low, high) => vec![Some(json!(low)), Some(json!(high)), Some(Value::Null)],
        Holds::Whole(low, high) => vec![Some(json!(low)), Some(json!(high))],
        Holds::OptionalWhole(low, high) => vec![Some(json!(low)), Some(json!(high)), Some(Value::Null)],
        Holds::Several(_, low, high) => vec![Some(json!([low, high])), Some(json!([]))],
        Holds::Text | Holds::OptionalText => vec![Some(json!("other")), Some(json!(""))],
        Holds::Switch => vec![Some(json!(false)), Some(json!(true))],
        Holds::Choice(options) => {
            options.iter().map(|(json, _)| serde_json::from_str(json).expect("an option is JSON")).collect()
        }
    }
}

#[test]
fn each_setting_sets_what_it_gets_and_undo_brings_back_what_was() {
    for (base, settings) in all() {
        for setting in settings {
            let mut session = Session::new(full());
            // The figures of a choice are there once it is chosen.
            if let Some((choice, _)) = setting.at.split_once('/')
                && let Some(of) = settings.iter().find(|other| other.at == choice)
            {
                let Holds::Choice(options) = of.holds else { panic!("{choice} holds figures") };
                let key = setting.at.split('/').nth(1).expect("a key follows");
                let (json, _) = options.iter().find(|(json, _)| json.contains(key)).expect("it is offered");
                let value: Value = serde_json::from_str(json).expect("an option is JSON");
                set(std::rc::Rc::make_mut(&mut session.plan), &format!("{base}/{choice}"), Some(&value))
                    .expect("a choice can be made");
            }
            let path = format!("{base}/{}", setting.at);
            for value in values(&setting.holds) {
                let before = session.plan.clone();
                let stood = at(&document(&before), &path).cloned();
                let edit = Edit::Set { what: "setting", path: path.clone(), value: value.clone() };
                session.apply(Command::from(edit));
                assert_eq!(session.notice, None, "{path} refuses {value:?}");
                assert_eq!(session.broken_invariants(), Vec::<String>::new());
                let stands = at(&document(&session.plan), &path).cloned();
                let same = match (&stands, &value) {
                    // Nothing, none and the figure zero need not be written.
                    (None, Some(value)) => [json!(0.0), json!(""), json!(false), Value::Null].contains(value),
                    (Some(stands), Some(value)) if stands.is_object() => {
                        stands.as_object().map(|o| o.len()) == value.as_object().map(|o| o.len())
                    }
                    (stands, value) => stands == value,
                };
                assert!(same, "{path} set to {value:?} holds {stands:?}");
                if stands != stood {
                    assert_eq!(session.history.undo_label(), Some("Change setting"), "{path}");
                    session.apply(Command::Undo);
                    assert_eq!(session.plan, before, "{path}");
                    session.apply(Command::Redo);
                    assert_eq!(at(&document(&session.plan), &path).cloned(), stands, "{path}");
                }
            }
        }
    }
}

#[test]
fn bounds_hold_in_both_systems_of_units_and_say_what_is_allowed() {
    for (base, settings) in all() {
        for Setting { at, holds, .. } in settings {
            let (Holds::Number(kind, low, high) | Holds::Optional(kind, low, high)) = *holds else {
                continue;
            };
            assert!(low < high, "{base}/{at}");
            for system in [UnitSystem::Si, UnitSystem::InchPound] {
                let typed = |si: f64| {
                    let text = engine::units::edit_number(si, kind, system);
                    (accept(&text, kind, system, (low, high, false)), text)
                };
                let wide = high - low;
                let (inside, text) = typed(low + 0.4 * wide);
                assert!(inside.is_ok(), "{base}/{at}: {text}: {inside:?}");
                let (above, _) = typed(high + 0.5 * wide);
                assert!(above.is_err_and(|reason| reason.contains("too large: at most")), "{base}/{at}");
                let (below, _) = typed(low - 0.5 * wide);
                assert!(below.is_err_and(|reason| reason.contains("too small: at least")), "{base}/{at}");
            }
        }
    }
}

#[test]
fn lists_grow_at_their_end_number_what_is_new_and_lose_what_is_taken_away() {
    let mut session = Session::new(starter::demo());
    session.apply(Edit::Set { what: "load", path: "/load".into(), value: Some(json!({})) }.into());
    for _ in 0..3 {
        let document = document(&session.plan);
        let there = at(&document, "/load/parts").and_then(Value::as_array).cloned().unwrap_or_default();
        let value = Some(list::fresh(&tables::PARTS, &there));
        session.apply(Edit::Set { what: "part", path: "/load/parts/-".into(), value }.into());
    }
    let names = |session: &Session| {
        let load = session.plan.load.as_ref().expect("there is a load");
        load.parts.iter().map(|part| part.id.clone()).collect::<Vec<_>>()
    };
    assert_eq!(names(&session), ["part-1", "part-2", "part-3"]);
    session.apply(Edit::Set { what: "part", path: "/load/parts/1".into(), value: None }.into());
    assert_eq!(names(&session), ["part-1", "part-3"]);
    // A path that is no longer there is refused with words and changes nothing.
    let before = session.plan.clone();
    session.apply(
        Edit::Set { what: "part", path: "/load/parts/7/kg_per_m".into(), value: Some(json!(1.0)) }.into(),
    );
    assert_eq!(session.plan, before);
    assert!(session.notice.as_ref().is_some_and(|notice| notice.alert), "{:?}", session.notice);
    // So is a value the file cannot hold.
    session.apply(
        Edit::Set { what: "part", path: "/load/parts/0/kg_per_m".into(), value: Some(json!("x")) }.into(),
    );
    assert_eq!(session.plan, before);
    assert!(
        session.notice.as_ref().is_some_and(|notice| notice.text.contains("kg_per_m")),
        "{:?}",
        session.notice
    );
}
