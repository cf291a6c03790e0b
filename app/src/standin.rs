//! Until strip and chart arrive.
use crate::cards::ViewProps;
use yew::prelude::*;
#[component]
pub fn Strip(_: &ViewProps) -> Html {
    html! {}
}
#[component]
pub fn FanChart(_: &ViewProps) -> Html {
    html! {}
}
