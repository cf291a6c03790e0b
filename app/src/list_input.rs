//! A list to choose from: it shows what is chosen, also where a choice was refused or taken back.

use crate::effects::{On, act, use_effect_on};
use web_sys::HtmlSelectElement;
use yew::prelude::*;

/// What a [`ListInput`] is given.
#[derive(Properties, PartialEq)]
pub struct ListProps {
    /// What it is, for those who do not see where it stands.
    #[prop_or_default]
    pub label: Option<AttrValue>,
    /// Name for tests.
    pub testid: AttrValue,
    /// What can be chosen.
    pub options: Vec<AttrValue>,
    /// Which of them is.
    pub chosen: Option<usize>,
    /// Nothing can be chosen now.
    #[prop_or(false)]
    pub disabled: bool,
    /// Takes the new choice.
    pub on_choose: Callback<usize>,
}

/// A list to choose from.
#[component]
pub fn ListInput(props: &ListProps) -> Html {
    let list = use_node_ref();
    // After each drawing: a list that somebody has chosen from no longer heeds what its options say.
    {
        let (list, chosen) = (list.clone(), props.chosen);
        use_effect_on(
            On::Drawing,
            act(move || {
                if let Some(list) = list.cast::<HtmlSelectElement>() {
                    list.set_selected_index(chosen.map_or(-1, |chosen| chosen as i32));
                }
                None
            }),
        );
    }
    let onchange = props.on_choose.reform(|event: Event| {
        let list = event.target_dyn_into::<HtmlSelectElement>();
        list.and_then(|list| usize::try_from(list.selected_index()).ok()).unwrap_or_default()
    });
    html! {
        <select ref={list} aria-label={props.label.clone()} data-testid={props.testid.clone()} disabled={props.disabled} {onchange}>
            { for props.options.iter().enumerate().map(|(i, text)| html! { <option key={i}>{ text.clone() }</option> }) }
        </select>
    }
}
