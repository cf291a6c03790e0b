//! A part of a card that is folded away until asked for.

use web_sys::HtmlDetailsElement;
use yew::prelude::*;

/// What a [`Fold`] is given.
#[derive(Properties, PartialEq)]
pub struct FoldProps {
    /// What it holds.
    pub title: AttrValue,
    /// A few words on what is inside, readable while it is shut.
    #[prop_or_default]
    pub said: AttrValue,
    /// Name for tests.
    pub testid: AttrValue,
    /// Whether it is open at first.
    #[prop_or_default]
    pub open: bool,
    /// What is inside.
    pub children: Html,
}

/// A part of a card; folded away it costs nothing while something is dragged.
#[component]
pub fn Fold(props: &FoldProps) -> Html {
    let open = use_state_eq(|| props.open);
    let ontoggle = {
        let open = open.clone();
        Callback::from(move |event: Event| {
            if let Some(details) = event.target_dyn_into::<HtmlDetailsElement>() {
                open.set(details.open());
            }
        })
    };
    html! {
        <details class="fold" open={*open} data-testid={props.testid.clone()} {ontoggle}>
            <summary><h3>{ &props.title }</h3><span>{ &props.said }</span></summary>
            if *open { { props.children.clone() } }
        </details>
    }
}
