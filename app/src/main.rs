//! The page.
use yew::prelude::*;

#[component]
fn App() -> Html {
    html! { <h1>{ "Evenrise" }</h1> }
}

fn main() {
    yew::Renderer::<App>::new().render();
}
