//! The page.

use wasm_bindgen::prelude::*;
use web_sys::{MessageEvent, Worker, WorkerOptions, WorkerType};
use yew::prelude::*;

/// Mounts the page over the loading note of `index.html`.
pub fn main() {
    let host = gloo::utils::document().get_element_by_id("app").expect("index.html has #app");
    yew::Renderer::<App>::with_root(host).render();
}

/// Starts the worker and hands it this page's own compiled module (see `worker.js`).
fn start_worker() -> Result<Worker, JsValue> {
    let options = WorkerOptions::new();
    options.set_type(WorkerType::Module);
    let worker = Worker::new_with_options("worker.js", &options)?;
    worker.post_message(&wasm_bindgen::module())?;
    Ok(worker)
}

#[component]
fn App() -> Html {
    let answer = use_state(|| "…".to_string());
    {
        let answer = answer.clone();
        use_effect_with((), move |()| {
            let worker = start_worker().expect("the worker starts");
            let on_message = Closure::<dyn Fn(MessageEvent)>::new(move |event: MessageEvent| {
                answer.set(event.data().as_string().unwrap_or_default());
            });
            worker.set_onmessage(Some(on_message.as_ref().unchecked_ref()));
            worker.post_message(&"ping".into()).expect("a string can be posted");
            move || {
                worker.terminate();
                drop(on_message);
            }
        });
    }
    html! {
        <main class="boot">
            <h1>{ "Evenrise" }</h1>
            <p>{ "Worker: " }<span data-testid="worker">{ &*answer }</span></p>
        </main>
    }
}
