//! What the oven heats, what heats it, what it is built of, what watches over it.

use super::fold::Fold;
use super::{findings_of, gone, zone_options};
use crate::edit::{Edit, NewItem};
use crate::fields::{Form, stacked};
use crate::settings::tables::{
    BURNER, CARRIED, COATING, CONDUCTIVITY, CURE_POINTS, DEVICES, DUCT_HEAT, ENQUIRY_AIR, ENQUIRY_LINE,
    ENQUIRY_ROOM, EXCHANGE, FLOOR, GAP, GROWTH, HOUSE, JOINTS, LEAKAGE_TEST, LOAD, MODULATION, OPENING_HEAT,
    PANEL, PANEL_BASIS, PARTS, SAFETY, SENSOR, SOLVENTS, ZONE_HEAT,
};
use crate::settings::{begin, devices, group, list, list_at};
use engine::plan::{Plan, Sensor, SensorKind};
use engine::units::{Kind, show};
use serde_json::json;
use yew::prelude::*;

/// What the customer asks for.
pub fn enquiry(form: &Form) -> Html {
    begin(
        form,
        "enquiry",
        "/enquiry",
        (
            "An oven begins with an enquiry: so many parts an hour, so hot, for so long. With the parts below it gives the length, the air, the fan and the burner before anything is drawn.",
            "Begin with an enquiry",
            "{\"dry_off_c\":130.0}",
        ),
        || {
            html! {
                <>
                    { group(form, "enquiry", "/enquiry", ENQUIRY_LINE) }
                    <Fold title="Room for the parts" testid="fold-room">{ group(form, "enquiry", "/enquiry", ENQUIRY_ROOM) }</Fold>
                    <Fold title="Air and burner" testid="fold-air">{ group(form, "enquiry", "/enquiry", ENQUIRY_AIR) }</Fold>
                </>
            }
        },
    )
}

/// What hangs on the line.
pub fn load(form: &Form) -> Html {
    let carried = |what, path, teach, button, template| {
        begin(form, what, path, (teach, button, template), || group(form, what, path, CARRIED))
    };
    begin(
        form,
        "load",
        "/load",
        (
            "Nothing hangs on the line yet. Parts, their hangers and the chain take most of the heat.",
            "Describe the parts",
            "{\"entry_temperature_c\":20.0}",
        ),
        || {
            html! {
                <>
                    { group(form, "load", "/load", LOAD) }
                    { list(form, &PARTS) }
                    { carried("hangers", "/load/hangers", "Hangers, racks and hooks go through the oven too.", "Add hangers", "{\"kg_per_m\":5.0}") }
                    { carried("chain", "/load/chain", "Chain and trolleys come round warm from the return run.", "Add chain", "{\"kg_per_m\":6.0,\"entry_temperature_c\":40.0}") }
                </>
            }
        },
    )
}

/// The coating that must cure.
pub fn coating(form: &Form) -> Html {
    begin(
        form,
        "coating",
        "/coating",
        (
            "Cure is metal temperature and time at it, off the data sheet of the powder. What leaves it as vapour sets the safety exhaust; list the solvents of wet paint.",
            "Describe the coating",
            "{\"cure_points\":[{\"temperature_c\":190.0,\"minutes\":15.0},{\"temperature_c\":200.0,\"minutes\":10.0}]}",
        ),
        || {
            html! {
                <>
                    { group(form, "coating", "/coating", COATING) }
                    { list(form, &CURE_POINTS) }
                    { list(form, &SOLVENTS) }
                </>
            }
        },
    )
}

/// Burner and heater house.
pub fn burner(form: &Form) -> Html {
    html! {
        <>
            { begin(form, "burner", "/heater/burner", (
                "No burner yet. Rate it on the gross heating value, as the gas bill does; its share of exhaust and make-up follows from excess air.",
                "Add a burner", "{\"rated_w\":300000.0}"),
                || group(form, "burner", "/heater/burner", BURNER)) }
            <Fold title="Heater house" testid="fold-house">
                { begin(form, "heater house", "/heater/house", (
                    "Burner and fan stand in a house of their own: its walls lose heat, and its air counts for purge and relief.",
                    "Describe the heater house", "{\"surface_m2\":20.0,\"volume_m3\":6.0}"),
                    || html! {
                        <>
                            { group(form, "heater house", "/heater/house", HOUSE) }
                            { panel(form, "house panel", "/heater/house/panel", "Its panels are taken as the oven's wall.") }
                        </>
                    }) }
            </Fold>
        </>
    }
}

/// A panel build-up that may be there or not.
fn panel(form: &Form, what: &'static str, path: &'static str, teach: &'static str) -> Html {
    begin(form, what, path, (teach, "Describe these panels", "{\"insulation_m\":0.1}"), || {
        let joints = format!("{path}/joints");
        html! {
            <>
                { group(form, what, path, PANEL) }
                { begin(form, "joints", &joints, (
                    "Without joints the panel is clear wool. Metal that ties the skins together can lose more than the panel itself.",
                    "Add joints", "{\"pitch_m\":0.6}"),
                    || group(form, "joints", &joints, JOINTS)) }
                { list_at(form, &CONDUCTIVITY, &format!("{path}/conductivity_points"), &|_, _| html! {}) }
            </>
        }
    })
}

/// Wall, roof, floor, and room to grow.
pub fn panels(form: &Form) -> Html {
    html! {
        <>
            <Fold title="Wall and roof panels" testid="fold-panels">
                <p class="teach">{ "The trade's published factor is four to five times the loss of the clear panel: it covers joints, doors and leakage. Both are shown; choose the one to reckon with." }</p>
                { group(form, "panels", "/enclosure/panels", PANEL_BASIS) }
                <h4>{ "Wall" }</h4>
                { panel(form, "wall panels", "/enclosure/panels/wall", "No wall panel yet: 150 mm by the trade's factor is taken, and nothing is said of how hot it is to touch.") }
                <h4>{ "Roof" }</h4>
                { panel(form, "roof panels", "/enclosure/panels/roof", "The roof is taken as the wall.") }
            </Fold>
            <Fold title="Floor on its slab" testid="fold-floor">
                { begin(form, "floor", "/enclosure/panels/floor", (
                    "No floor build-up yet. The slab under an oven warms over months: what it reads in the commissioning week proves nothing.",
                    "Describe the floor", "{\"insulation_m\":0.15}"),
                    || html! {
                        <>
                            { group(form, "floor", "/enclosure/panels/floor", FLOOR) }
                            { begin(form, "gap", "/enclosure/panels/floor/gap", (
                                "The insulation lies on the slab. A gap with air blown through is what keeps concrete cool.",
                                "Add a gap under it", "{\"height_m\":0.05}"),
                                || group(form, "gap", "/enclosure/panels/floor/gap", GAP)) }
                            { begin(form, "channels", "/enclosure/panels/floor/channels", (
                                "No channels through the insulation. Steel feet can lose twice what the wool does.",
                                "Add channels", "{\"pitch_m\":0.6,\"webs\":1,\"web_thickness_m\":0.002}"),
                                || group(form, "channels", "/enclosure/panels/floor/channels", JOINTS)) }
                        </>
                    }) }
            </Fold>
            <Fold title="Room to grow" testid="fold-growth">
                { begin(form, "growth", "/enclosure/growth", (
                    "Hot metal grows 2 to 3 mm a metre. About half an inch is left between roof panels: common practice, no published source.",
                    "Say what room is left", "{\"panel_gap_m\":0.0127}"),
                    || group(form, "growth", "/enclosure/growth", GROWTH)) }
            </Fold>
        </>
    }
}

/// What a duct has for its heat balance, and what its leakage test read.
pub fn duct(form: &Form, id: &str) -> Html {
    let Some(index) = form.plan().ducts.iter().position(|duct| duct.id == id) else { return html! {} };
    let base = format!("/ducts/{index}");
    let test = format!("{base}/leakage_test");
    html! {
        <Fold title="Insulation and leakage test" testid="fold-duct">
            { group(form, "insulation", &base, DUCT_HEAT) }
            { begin(form, "leakage test", &test, (
                "A tested duct leaks what the test read; until then its class of seams is taken.",
                "Enter a leakage test", "{\"flow_m3_s\":0.01,\"surface_m2\":10.0,\"pressure_pa\":400.0}"),
                || group(form, "leakage test", &test, LEAKAGE_TEST)) }
        </Fold>
    }
}

/// The zone whose temperature a duct's damper holds, and how far it may go for it.
pub fn modulation(form: &Form, id: &str) -> Html {
    let Some(index) = form.plan().ducts.iter().position(|duct| duct.id == id) else { return html! {} };
    let zones = zone_options(form);
    let Some((first, _)) = zones.first() else { return html! {} };
    let path = format!("/ducts/{index}/damper/modulation");
    let there = form.plan().ducts[index].damper.as_ref().and_then(|damper| damper.modulation.as_ref());
    let begun = json!({ "zone": first });
    let Some(modulation) = there else {
        let edit = Edit::Set { what: "modulation", path, value: Some(begun) };
        return html! {
            <>
                <p class="teach">{ "It stands where it is set. A damper with a drive can hold a zone's temperature instead." }</p>
                <p class="buttons">{ form.button("Hold a zone with it", "begin-modulation", edit) }</p>
            </>
        };
    };
    let zone = format!("{path}/zone");
    let mut fields = vec![form.choice("Holds", "modulation-zone", &modulation.zone, zones, move |id| {
        Edit::Set { what: "modulation", path: zone.clone(), value: Some(id.into()) }
    })];
    fields.extend(crate::settings::fields(form, "modulation", &path, MODULATION));
    let drop = Edit::Set { what: "modulation", path, value: None };
    html! { <>{ stacked(fields) }<p class="buttons">{ form.button("Leave it where it is set", "drop-modulation", drop) }</p></> }
}

/// An opening's air curtain.
pub fn opening(form: &Form, id: &str) -> Html {
    let Some(index) = form.plan().openings.iter().position(|item| item.id == id) else { return html! {} };
    group(form, "air curtain", &format!("/openings/{index}"), OPENING_HEAT)
}

/// What a zone has for its heat balance.
pub fn zone(form: &Form, id: &str) -> Html {
    let Some(index) = form.plan().zones.iter().position(|zone| zone.id == id) else { return html! {} };
    let base = format!("/zones/{index}");
    let exchange = format!("{base}/exchange");
    html! {
        <Fold title="Bays and losses" testid="fold-bays">
            { group(form, "zone", &base, ZONE_HEAT) }
            { begin(form, "bay exchange", &exchange, (
                "Air that neighbouring bays exchange has no published constant. Give an estimate with its band; the spread of the answer shows what it is worth.",
                "Give the exchange", "{\"kg_s\":0.2,\"low_kg_s\":0.05,\"high_kg_s\":0.5}"),
                || group(form, "bay exchange", &exchange, EXCHANGE)) }
        </Fold>
    }
}

/// Safety ventilation, purge, relief and what is fitted.
pub fn safety(form: &Form) -> Html {
    begin(
        form,
        "safety equipment",
        "/safety",
        (
            "Say what is fitted and set, so that purge, relief, dilution and interlocks can be held against published figures. The code in force and a licensed engineer decide.",
            "Describe the safety equipment",
            "{}",
        ),
        || {
            html! {
                <>
                    { group(form, "safety equipment", "/safety", SAFETY) }
                    <h4>{ "Fitted" }</h4>
                    { devices(form, "safety equipment", "/safety/devices", DEVICES) }
                    <p class="caution-line">{ "This list is an aid to memory, not an approval. The code in force where the oven stands, its makers' instructions and licensed practice decide." }</p>
                </>
            }
        },
    )
}

/// What a sensor is for, in a word.
pub fn sensor_word(sensor: &Sensor) -> &'static str {
    match sensor.kind {
        SensorKind::Control => "control",
        SensorKind::Limit => "limit",
        SensorKind::Reading => "reading",
    }
}

/// What can be set on a sensor.
pub fn sensor_fields(form: &Form, sensor: &Sensor) -> Vec<crate::fields::Field> {
    let Some(index) = sensor_index(form.plan(), &sensor.id) else { return Vec::new() };
    let base = format!("/sensors/{index}");
    let zones = zone_options(form).into_iter().map(|(id, text)| (Some(id), text));
    let zones = zones.chain([(None, "the heater's discharge".to_owned())]).collect();
    let mut fields = crate::settings::fields(form, "sensor", &base, SENSOR);
    let (zone, at) = (format!("{base}/zone"), format!("{base}/at"));
    fields.push(form.choice("Stands for", "zone", &sensor.zone, zones, move |zone_id| Edit::Set {
        what: "sensor",
        path: zone.clone(),
        value: zone_id.map(serde_json::Value::from),
    }));
    fields.push(form.place("Place", "at", sensor.at, move |to| Edit::Set {
        what: "sensor",
        path: at.clone(),
        value: Some(json!({ "x_m": to.x_m, "y_m": to.y_m })),
    }));
    fields
}

fn sensor_index(plan: &Plan, id: &str) -> Option<usize> {
    plan.sensors.iter().position(|sensor| sensor.id == id)
}

/// The card of a sensor.
pub fn sensor_card(form: &Form, id: &str) -> Html {
    let Some(sensor) = form.plan().sensors.iter().find(|sensor| sensor.id == id) else { return gone(id) };
    let teach = match sensor.kind {
        SensorKind::Control => {
            "The controller holds the temperature at this place: a cold corner elsewhere is not seen by it."
        }
        SensorKind::Limit => {
            "A limit trips on its own, apart from the controller, and is reset by hand after somebody has looked why."
        }
        SensorKind::Reading => "It shows, and nothing acts on it.",
    };
    html! {
        <>
            <p class="teach">{ teach }</p>
            { stacked(sensor_fields(form, sensor)) }
            { findings_of(form, id) }
        </>
    }
}

/// Sensors in a line, and the button that adds one.
pub fn sensors(form: &Form) -> Html {
    let plan = form.plan();
    let units = form.units();
    let rows = plan.sensors.iter().map(|sensor| {
        let set = sensor.set_c.map(|set| format!(" at {}", show(set, Kind::Temperature, units)));
        let text = format!("{} · {}{}", sensor.id, sensor_word(sensor), set.unwrap_or_default());
        let select = crate::command::Command::Select(Some(sensor.id.clone()));
        html! { <li key={sensor.id.clone()}>{ form.command(text, &format!("sensor-{}", sensor.id), select) }</li> }
    });
    html! {
        <>
            if plan.sensors.is_empty() {
                <p key="none" class="teach">{ "No sensor yet. Each zone is held by a control sensor at one place, and a limit apart from it shuts the burner off." }</p>
            } else {
                <ul key="list" class="lines">{ for rows }</ul>
            }
            <p key="add" class="buttons">{ form.button("Add sensor", "add-sensor", Edit::Add(NewItem::Sensor)) }</p>
        </>
    }
}
