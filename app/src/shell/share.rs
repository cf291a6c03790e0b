//! A link that carries the plan, and its QR code.

use crate::board::parts::called;
use crate::effects::{On, act, use_effect_on};
use crate::platform::links;
use engine::plan::Plan;
use engine::units::{Kind, UnitSystem, show};
use qrcodegen::{QrCode, QrCodeEcc};
use std::fmt::Write;
use std::rc::Rc;
use wasm_bindgen_futures::{JsFuture, spawn_local};
use web_sys::HtmlInputElement;
use yew::prelude::*;

/// What is shared.
#[derive(Properties, PartialEq)]
pub struct ShareProps {
    /// The plan.
    pub plan: Rc<Plan>,
    /// Units people read.
    pub units: UnitSystem,
}

/// The link, or why there is none.
#[component]
pub fn Share(props: &ShareProps) -> Html {
    let link = use_state_eq(|| None::<Result<String, String>>);
    let copied = use_state_eq(|| false);
    let field = use_node_ref();
    {
        let (link, copied, plan) = (link.clone(), copied.clone(), props.plan.clone());
        use_effect_on(
            On::Numbers(Rc::as_ptr(&plan) as u64, 0),
            act(move || {
                copied.set(false);
                spawn_local(async move { link.set(Some(links::write(&plan).await)) });
                None
            }),
        );
    }
    let address = match link.as_ref() {
        None => return html! { <p>{ "Making the link …" }</p> },
        Some(Err(reason)) => return html! { <p role="alert" data-testid="link-refused">{ reason }</p> },
        Some(Ok(address)) => address,
    };
    let copy = {
        let (address, copied, field) = (address.clone(), copied.clone(), field.clone());
        Callback::from(move |_: MouseEvent| {
            let (copied, field) = (copied.clone(), field.clone());
            let clipboard = gloo::utils::window().navigator().clipboard();
            // There is none where the page came without a certificate.
            let promise = (!clipboard.is_undefined()).then(|| clipboard.write_text(&address));
            spawn_local(async move {
                let done = match promise {
                    Some(promise) => JsFuture::from(promise).await.is_ok(),
                    None => false,
                };
                copied.set(done);
                // Where it is refused the field holds the link, and the keyboard copies it.
                if let Some(field) = field.cast::<HtmlInputElement>().filter(|_| !done) {
                    let _ = field.focus();
                }
            });
        })
    };
    let mark = Callback::from(|event: FocusEvent| {
        if let Some(field) = event.target_dyn_into::<HtmlInputElement>() {
            field.select();
        }
    });
    html! {
        <div class="share">
            <input ref={field} type="text" readonly=true aria-label="Link to this plan" data-testid="link" value={address.clone()} onfocus={mark} />
            <button type="button" data-testid="link-copy" onclick={copy}>{ if *copied { "Copied" } else { "Copy the link" } }</button>
            <p>{ "The link holds the whole plan as it is now. Who opens it has a copy; nothing passes through a server." }</p>
            { match QrCode::encode_binary(address.as_bytes(), QrCodeEcc::Low) {
                Ok(found) => code(&found, "QR code of the link", "qr"),
                Err(_) => html! { <p data-testid="qr-refused">{ "The link is too long for a QR code: send the link or the file. What is to be set on site fits in one:" }</p> },
            } }
            { settings(&record(&props.plan, props.units)) }
        </div>
    }
}

/// What is to be set on site, as words and as a QR code that any telephone reads without a network.
fn settings(record: &str) -> Html {
    let Ok(found) = QrCode::encode_binary(record.as_bytes(), QrCodeEcc::Medium) else { return html! {} };
    html! {
        <details class="site-record">
            <summary data-testid="site-record">{ "Settings for the site, as a code" }</summary>
            { code(&found, "QR code of the settings for the site", "qr-record") }
            <pre data-testid="record">{ record.to_owned() }</pre>
        </details>
    }
}

/// Fan speed, dampers and slides as planned: short enough for one code.
fn record(plan: &Plan, units: UnitSystem) -> String {
    let mut lines = vec![format!("{}: as planned, not measured", plan.name)];
    let fan = &plan.heater.fan;
    lines.push(format!("fan {}", show(fan.speed_rpm, Kind::Rotation, units)));
    lines.push(format!("supply air {}", show(plan.heater.supply_temperature_c, Kind::Temperature, units)));
    for zone in &plan.zones {
        let called = called(&zone.name, &zone.id);
        lines.push(format!("zone {called} {}", show(zone.set_temperature_c, Kind::Temperature, units)));
    }
    for duct in &plan.ducts {
        if let Some(damper) = &duct.damper {
            let called = called(&duct.name, &duct.id);
            lines.push(format!("damper {called} {} open", show(damper.open_percent, Kind::Percent, units)));
        }
    }
    for opening in &plan.returns {
        let called = called(&opening.name, &opening.id);
        lines.push(format!("slide {called} {} open", show(opening.open_m, Kind::ShopLength, units)));
    }
    lines.join("\n").replace('\u{a0}', " ")
}

/// A QR code, to be read from the screen.
fn code(code: &QrCode, label: &'static str, testid: &'static str) -> Html {
    let size = code.size();
    // Four modules of quiet around it, as readers want.
    let view_box = format!("-4 -4 {0} {0}", size + 8);
    html! {
        <svg class="qr" viewBox={view_box} role="img" aria-label={label} data-testid={testid} shape-rendering="crispEdges">
            <path fill="#fff" d={format!("M-4-4h{0}v{0}h-{0}z", size + 8)} />
            <path fill="#000" d={path(code)} />
        </svg>
    }
}

/// The dark modules, one rectangle for each run in a row.
fn path(code: &QrCode) -> String {
    let mut path = String::new();
    for y in 0..code.size() {
        let mut x = 0;
        while x < code.size() {
            let start = x;
            while code.get_module(x, y) {
                x += 1;
            }
            if x > start {
                // Writing to a string cannot fail.
                let _ = write!(path, "M{start} {y}h{0}v1h-{0}z", x - start);
            }
            x += 1;
        }
    }
    path
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_record_for_the_site_holds_what_is_set_there_and_fits_in_a_code() {
        let plan = crate::starter::demo();
        let record = record(&plan, UnitSystem::InchPound);
        assert_eq!(record.lines().filter(|line| line.starts_with("slide ")).count(), plan.returns.len());
        let speed =
            show(plan.heater.fan.speed_rpm, Kind::Rotation, UnitSystem::InchPound).replace('\u{a0}', " ");
        assert!(
            record.contains(&speed) && record.contains("°F") && record.contains("not measured"),
            "{record}"
        );
        assert!(
            QrCode::encode_binary(record.as_bytes(), QrCodeEcc::Medium).unwrap().size() <= 121,
            "a telephone reads it off a screen"
        );
    }

    #[test]
    fn every_dark_module_is_drawn_and_no_other() {
        let code = QrCode::encode_binary(b"https://example.test/#plan=abc", QrCodeEcc::Low).unwrap();
        let dark: usize =
            (0..code.size()).map(|y| (0..code.size()).filter(|x| code.get_module(*x, y)).count()).sum();
        let drawn: usize = path(&code)
            .split('h')
            .skip(1)
            .filter_map(|part| part.split_once('v')?.0.parse::<usize>().ok())
            .sum();
        assert_eq!(drawn, dark);
    }
}
