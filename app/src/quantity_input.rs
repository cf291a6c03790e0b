//! A field for a quantity: typed as the trade writes it, kept as typed until Enter or leaving.

use crate::effects::{On, act, use_effect_on};
use engine::units::{self, Kind, UnitSystem};
use wasm_bindgen::JsCast;
use web_sys::HtmlInputElement;
use yew::prelude::*;

/// What a [`QuantityInput`] is given.
#[derive(Properties, PartialEq)]
pub struct QuantityProps {
    /// What it is, for those who do not see where it stands.
    pub label: AttrValue,
    /// Name for tests.
    pub testid: AttrValue,
    /// What it measures.
    pub kind: Kind,
    /// Units read and shown.
    pub system: UnitSystem,
    /// SI; none shows an empty field.
    pub value: Option<f64>,
    /// Lowest accepted, SI.
    #[prop_or(f64::NEG_INFINITY)]
    pub min: f64,
    /// Highest accepted, SI.
    #[prop_or(f64::INFINITY)]
    pub max: f64,
    /// Only whole numbers.
    #[prop_or(false)]
    pub whole: bool,
    /// Takes the new SI value.
    pub on_commit: Callback<f64>,
    /// Called when the field is emptied; without it an empty field is refused.
    #[prop_or_default]
    pub on_clear: Option<Callback<()>>,
}

/// A field for a quantity.
///
/// Leaving it unchanged commits nothing, so that switching units and tabbing through never changes
/// a stored value. Escape brings back what stood there.
#[component]
pub fn QuantityInput(props: &QuantityProps) -> Html {
    // Some while somebody types: the raw text.
    let raw = use_state_eq(|| None::<String>);
    let refusal = use_state_eq(|| None::<String>);
    let shown = props.value.map(|si| units::edit_number(si, props.kind, props.system)).unwrap_or_default();
    let unit = units::symbol(props.kind, props.system);

    // Whatever changes the value from outside ends the typing.
    {
        let (raw, refusal) = (raw.clone(), refusal.clone());
        let value = props.value.map_or(u64::MAX, f64::to_bits);
        use_effect_on(
            On::Numbers(value, props.system as u64),
            act(move || {
                raw.set(None);
                refusal.set(None);
                None
            }),
        );
    }

    let commit = {
        let (raw, refusal, shown) = (raw.clone(), refusal.clone(), shown.clone());
        let bounds = (props.min, props.max, props.whole);
        let (kind, system, value) = (props.kind, props.system, props.value);
        let (on_commit, on_clear) = (props.on_commit.clone(), props.on_clear.clone());
        move |text: String| {
            if text.trim() == shown {
                raw.set(None);
                refusal.set(None);
                return;
            }
            if text.trim().is_empty()
                && let Some(on_clear) = &on_clear
            {
                raw.set(None);
                refusal.set(None);
                on_clear.emit(());
                return;
            }
            match accept(&text, kind, system, bounds) {
                Ok(si) => {
                    raw.set(None);
                    refusal.set(None);
                    if Some(si) != value {
                        on_commit.emit(si);
                    }
                }
                Err(reason) => {
                    raw.set(Some(text));
                    refusal.set(Some(reason));
                }
            }
        }
    };
    let oninput = {
        let raw = raw.clone();
        Callback::from(move |event: InputEvent| raw.set(Some(text_of(&event))))
    };
    let onchange = {
        let commit = commit.clone();
        Callback::from(move |event: Event| commit(text_of(&event)))
    };
    let onkeydown = {
        let (raw, refusal) = (raw.clone(), refusal.clone());
        Callback::from(move |event: KeyboardEvent| match event.key().as_str() {
            "Enter" => {
                event.prevent_default();
                commit(text_of(&event));
            }
            "Escape" if raw.is_some() => {
                event.stop_propagation();
                raw.set(None);
                refusal.set(None);
            }
            _ => {}
        })
    };
    let hint = format!("{}-hint", props.testid);
    html! {
        <span class={classes!("quantity", refusal.is_some().then_some("refused"))}>
            <span class="quantity-box">
                <input
                    type="text" inputmode="decimal" autocomplete="off" spellcheck="false"
                    aria-label={format!("{}{}", props.label, if unit.is_empty() { String::new() } else { format!(", {unit}") })}
                    aria-invalid={refusal.is_some().then_some("true")}
                    aria-describedby={refusal.is_some().then(|| hint.clone())}
                    data-testid={props.testid.clone()}
                    data-value={props.value.map(|si| si.to_string())}
                    value={raw.as_ref().cloned().unwrap_or(shown)}
                    {oninput} {onchange} {onkeydown}
                />
                <span class="unit" aria-hidden="true">{ unit }</span>
            </span>
            <span class="hint" id={hint} role="alert" hidden={refusal.is_none()}>
                { refusal.as_deref().unwrap_or_default() }
            </span>
        </span>
    }
}

/// What stands in the field that an event comes from.
pub(crate) fn text_of(event: &Event) -> String {
    // A field of several lines has its value under the same name.
    event.target().map(|field| field.unchecked_into::<HtmlInputElement>().value()).unwrap_or_default()
}

/// The SI value of what was typed, or why it is refused.
pub(crate) fn accept(
    text: &str,
    kind: Kind,
    system: UnitSystem,
    (min, max, whole): (f64, f64, bool),
) -> Result<f64, String> {
    let si = units::parse(text, kind, system).map_err(|error| error.to_string())?;
    let show = |si: f64| {
        let unit = units::symbol(kind, system);
        let space = if unit.is_empty() { "" } else { "\u{a0}" };
        format!("{}{space}{unit}", units::edit_number(si, kind, system))
    };
    if whole && si.fract() != 0.0 {
        return Err("type a whole number".to_owned());
    }
    if si < min {
        return Err(format!("{} is too small: at least {}", show(si), show(min)));
    }
    if si > max {
        return Err(format!("{} is too large: at most {}", show(si), show(max)));
    }
    Ok(si)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bounds_are_told_in_the_readers_units() {
        let bounds = (0.003, 0.04, false);
        let refused = accept("2", Kind::ShopLength, UnitSystem::InchPound, bounds).unwrap_err();
        assert_eq!(refused, "2\u{a0}in is too large: at most 1.5748\u{a0}in");
        assert_eq!(accept("14", Kind::ShopLength, UnitSystem::Si, bounds), Ok(0.014));
        assert!(accept("2.5", Kind::Number, UnitSystem::Si, (1.0, 9.0, true)).is_err());
        assert!(
            accept("1,234", Kind::Pressure, UnitSystem::Si, (0.0, 1e9, false)).unwrap_err().contains("1.234")
        );
    }
}
