//! A plan in a link: its file, deflated by the browser, in the address's fragment, which no server sees.

use super::files::LARGEST_BYTES;
use engine::plan::{Plan, file};
use gloo::utils::window;
use js_sys::{Promise, Uint8Array};
use wasm_bindgen::prelude::wasm_bindgen;
use wasm_bindgen::{JsCast, JsValue};
use wasm_bindgen_futures::JsFuture;
use web_sys::{Blob, ReadableWritablePair};

// web-sys counts them among its unstable bindings.
#[wasm_bindgen]
extern "C" {
    #[wasm_bindgen(extends = ReadableWritablePair)]
    type CompressionStream;
    #[wasm_bindgen(constructor, catch)]
    fn new(format: &str) -> Result<CompressionStream, JsValue>;

    #[wasm_bindgen(extends = ReadableWritablePair)]
    type DecompressionStream;
    #[wasm_bindgen(constructor, catch)]
    fn new(format: &str) -> Result<DecompressionStream, JsValue>;

    type Reader;
    #[wasm_bindgen(method)]
    fn read(this: &Reader) -> Promise;

    type Piece;
    #[wasm_bindgen(method, getter)]
    fn value(this: &Piece) -> Option<Uint8Array>;
}

const FORMAT: &str = "deflate-raw";

/// What stands before the plan in the fragment.
const MARK: &str = "#plan=";
/// Longer links are cut short by mail programs and browsers; letters.
const LONGEST: usize = 100_000;

/// The address of this page with `plan` in it.
pub async fn write(plan: &Plan) -> Result<String, String> {
    let packer = CompressionStream::new(FORMAT).map_err(|_| too_old())?;
    // Without its indentation, a seventh shorter once deflated.
    let text: String = file::write(plan).lines().map(str::trim_start).collect();
    let bytes = pass(text.as_bytes(), &packer).await.map_err(|_| too_old())?;
    let letters: String = bytes.iter().map(|byte| char::from(*byte)).collect();
    let text = window().btoa(&letters).map_err(|_| too_old())?;
    let text = text.trim_end_matches('=').replace('+', "-").replace('/', "_");
    if text.len() > LONGEST {
        return Err("the plan is too large for a link; save it to a file and send that".to_owned());
    }
    let href = window().location().href().map_err(|_| too_old())?;
    let page = href.split('#').next().unwrap_or_default();
    Ok(format!("{page}{MARK}{text}"))
}

/// The plan in the address that the page was opened with; none where there is none.
pub async fn look() -> Option<Result<Plan, String>> {
    let hash = window().location().hash().ok()?;
    Some(read(hash.strip_prefix(MARK)?).await)
}

/// Takes the plan out of the address, so that loading the page again brings what was made of it.
pub fn take_out() {
    let location = window().location();
    let there = location.hash().is_ok_and(|hash| hash.starts_with(MARK));
    if let (true, Ok(history), Ok(path)) = (there, window().history(), location.pathname()) {
        // An address that stays is only ugly.
        let _ = history.replace_state_with_url(&JsValue::NULL, "", Some(&path));
    }
}

async fn read(text: &str) -> Result<Plan, String> {
    let broken = || "the link is not whole; copy all of it, or ask for the file".to_owned();
    if text.len() > LONGEST {
        return Err(broken());
    }
    let letters = window().atob(&text.replace('-', "+").replace('_', "/")).map_err(|_| broken())?;
    let bytes: Option<Vec<u8>> = letters.chars().map(|letter| u8::try_from(letter).ok()).collect();
    let unpacker = DecompressionStream::new(FORMAT).map_err(|_| too_old())?;
    let bytes = pass(&bytes.ok_or_else(broken)?, &unpacker).await.map_err(|_| broken())?;
    file::read(super::files::text_of(&bytes)?).map_err(|error| error.to_string())
}

/// What comes out when `bytes` go in; refused as soon as it is longer than any plan.
async fn pass(bytes: &[u8], through: &ReadableWritablePair) -> Result<Vec<u8>, JsValue> {
    let parts = js_sys::Array::of1(&Uint8Array::from(bytes));
    let stream = Blob::new_with_u8_array_sequence(&parts)?.stream().pipe_through(through);
    let reader = stream.get_reader().unchecked_into::<Reader>();
    let mut all = Vec::new();
    // The last piece has no value.
    while let Some(bytes) = JsFuture::from(reader.read()).await?.unchecked_into::<Piece>().value() {
        all.extend(bytes.to_vec());
        if all.len() as u64 > LARGEST_BYTES {
            return Err(JsValue::NULL);
        }
    }
    Ok(all)
}

fn too_old() -> String {
    "this browser cannot make such a link; save the plan to a file".to_owned()
}
