//! A canvas that follows its size on the page and the screen's pixel ratio.

use gloo::events::EventListener;
use gloo::utils::window;
use wasm_bindgen::prelude::*;
use web_sys::{CanvasRenderingContext2d, HtmlCanvasElement, ResizeObserver};

/// Sharper than this nobody sees, and old tablets run out of canvas memory.
const MOST_DPR: f64 = 3.0;

/// A canvas's size on the page, CSS px, and the device pixels for each.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Size {
    /// Width, CSS px.
    pub width: f64,
    /// Height, CSS px.
    pub height: f64,
    /// Device pixels per CSS pixel.
    pub dpr: f64,
}

impl Size {
    /// The size `canvas` has on the page now.
    pub fn of(canvas: &HtmlCanvasElement) -> Self {
        Self {
            width: f64::from(canvas.client_width()),
            height: f64::from(canvas.client_height()),
            dpr: window().device_pixel_ratio().clamp(1.0, MOST_DPR),
        }
    }

    /// Whether there is anything to draw on.
    pub fn is_visible(self) -> bool {
        self.width >= 1.0 && self.height >= 1.0
    }

    /// Gives `canvas` a pixel for every device pixel; clears it when that changes.
    pub fn apply(self, canvas: &HtmlCanvasElement) {
        let (w, h) = ((self.width * self.dpr).round() as u32, (self.height * self.dpr).round() as u32);
        if canvas.width() != w {
            canvas.set_width(w);
        }
        if canvas.height() != h {
            canvas.set_height(h);
        }
    }
}

/// The 2-D context of `canvas`.
pub fn context(canvas: &HtmlCanvasElement) -> Option<CanvasRenderingContext2d> {
    canvas.get_context("2d").ok()??.dyn_into().ok()
}

/// The same of a canvas that has paper everywhere: the browser need not blend it with what is below.
pub fn paper_context(canvas: &HtmlCanvasElement) -> Option<CanvasRenderingContext2d> {
    let opaque = js_sys::Object::new();
    js_sys::Reflect::set(&opaque, &"alpha".into(), &false.into()).ok()?;
    canvas.get_context_with_context_options("2d", &opaque).ok()??.dyn_into().ok()
}

/// Calls back when a canvas changes its size or moves to a screen of another pixel ratio.
pub struct SizeWatch {
    observer: Option<ResizeObserver>,
    _callback: Closure<dyn Fn()>,
    _zoom: EventListener,
}

impl SizeWatch {
    /// Watches `canvas` until dropped.
    pub fn new(canvas: &HtmlCanvasElement, changed: impl Fn() + Clone + 'static) -> Self {
        // Zooming the page changes the pixel ratio, and may leave the size in CSS pixels as it was.
        let zoom = EventListener::new(&window(), "resize", {
            let changed = changed.clone();
            move |_| changed()
        });
        let callback = Closure::<dyn Fn()>::new(changed);
        let observer = ResizeObserver::new(callback.as_ref().unchecked_ref()).ok();
        if let Some(observer) = &observer {
            observer.observe(canvas);
        }
        Self { observer, _callback: callback, _zoom: zoom }
    }
}

impl Drop for SizeWatch {
    fn drop(&mut self) {
        if let Some(observer) = &self.observer {
            observer.disconnect();
        }
    }
}
