//! A field for words: they stay as typed until they are entered, whatever is drawn meanwhile.

use crate::effects::{On, act, use_effect_on};
use crate::quantity_input::text_of;
use yew::prelude::*;

/// What a [`TextInput`] is given.
#[derive(Properties, PartialEq)]
pub struct TextProps {
    /// What it is, for those who do not see where it stands.
    pub label: AttrValue,
    /// Name for tests.
    pub testid: AttrValue,
    /// What it looks like.
    #[prop_or("text")]
    pub class: &'static str,
    /// What stands there.
    pub value: AttrValue,
    /// Letters at most.
    #[prop_or("120")]
    pub longest: &'static str,
    /// Several lines.
    #[prop_or(false)]
    pub lines: bool,
    /// Takes the new words.
    pub on_commit: Callback<String>,
}

/// A field for words.
#[component]
pub fn TextInput(props: &TextProps) -> Html {
    // Some while somebody types. Any drawing writes a field's value back: it must be the one being typed.
    let raw = use_state_eq(|| None::<String>);
    // Whatever changes the value from outside ends the typing.
    {
        let raw = raw.clone();
        use_effect_on(
            On::Words(props.value.clone()),
            act(move || {
                raw.set(None);
                None
            }),
        );
    }
    let oninput = {
        let raw = raw.clone();
        Callback::from(move |event: InputEvent| raw.set(Some(text_of(&event))))
    };
    let onchange = {
        let (raw, on_commit) = (raw.clone(), props.on_commit.clone());
        Callback::from(move |event: Event| {
            raw.set(None);
            on_commit.emit(text_of(&event));
        })
    };
    let (label, testid) = (props.label.clone(), props.testid.clone());
    let value = raw.as_ref().map_or_else(|| props.value.clone(), |raw| raw.clone().into());
    if props.lines {
        html! { <textarea aria-label={label} rows="4" data-testid={testid} {value} {oninput} {onchange} /> }
    } else {
        html! {
            <input type="text" class={props.class} maxlength={props.longest} autocomplete="off" spellcheck="false"
                aria-label={label} data-testid={testid} {value} {oninput} {onchange} />
        }
    }
}
