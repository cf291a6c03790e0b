//! The browser's events as gestures.

use super::{Inner, act, perform};
use crate::board::camera::ScreenPoint;
use crate::board::tools::{Device, Gesture, Key};
use gloo::events::{EventListener, EventListenerOptions};
use gloo::timers::callback::Timeout;
use std::cell::RefCell;
use std::rc::Rc;
use wasm_bindgen::JsCast;
use web_sys::{Event, HtmlCanvasElement, KeyboardEvent, PointerEvent, WheelEvent};

/// So long a finger rests for a long press, ms.
const LONG_PRESS_MS: u32 = 500;

/// Listens on `canvas` for as long as the listeners are kept.
pub(super) fn listeners(canvas: &HtmlCanvasElement, inner: &Rc<RefCell<Inner>>) -> Vec<EventListener> {
    let on = |name: &'static str, gesture: fn(&HtmlCanvasElement, &Event, ScreenPoint) -> Option<Gesture>| {
        let (inner, canvas_) = (Rc::clone(inner), canvas.clone());
        EventListener::new_with_options(
            canvas,
            name,
            EventListenerOptions::enable_prevent_default(),
            move |event| {
                let at = place(&inner, event);
                if let Some(gesture) = gesture(&canvas_, event, at) {
                    act(&inner, event, gesture);
                }
            },
        )
    };
    // A finger that rests where it came down; what it does is told by the state it is in by then.
    let rest = {
        let inner = Rc::clone(inner);
        EventListener::new(canvas, "pointerdown", move |event| {
            let event: &PointerEvent = event.unchecked_ref();
            let pointer = event.pointer_id();
            let weak = Rc::downgrade(&inner);
            let timer = (device(event) != Device::Mouse).then(|| {
                Timeout::new(LONG_PRESS_MS, move || {
                    if let Some(inner) = weak.upgrade() {
                        perform(&inner, |inner| Some(inner.gesture(Gesture::LongPress { pointer })));
                    }
                })
            });
            if let Ok(mut inner) = inner.try_borrow_mut() {
                inner.rest = timer;
            }
        })
    };
    vec![
        rest,
        on("pointerdown", |canvas, event, at| {
            let event: &PointerEvent = event.unchecked_ref();
            let _ = canvas.set_pointer_capture(event.pointer_id());
            // The keyboard follows the hand; the ring is for those who came by keyboard.
            let _ = canvas.set_attribute("data-by", "pointer");
            let _ = canvas.focus();
            let (button, shift) = (event.button(), event.shift_key());
            Some(Gesture::Down { pointer: event.pointer_id(), at, device: device(event), button, shift })
        }),
        on("pointermove", |_, event, at| {
            let event: &PointerEvent = event.unchecked_ref();
            Some(Gesture::Move { pointer: event.pointer_id(), at, device: device(event) })
        }),
        on("pointerup", |_, event, at| {
            let event: &PointerEvent = event.unchecked_ref();
            Some(Gesture::Up { pointer: event.pointer_id(), at })
        }),
        on("pointercancel", |_, event, _| {
            let event: &PointerEvent = event.unchecked_ref();
            Some(Gesture::Cancel { pointer: event.pointer_id() })
        }),
        // After a pointer came up nothing is left to cancel; lost any other way, the drag is off.
        on("lostpointercapture", |_, event, _| {
            let event: &PointerEvent = event.unchecked_ref();
            Some(Gesture::Cancel { pointer: event.pointer_id() })
        }),
        on("pointerleave", |_, _, _| Some(Gesture::Leave)),
        on("wheel", |canvas, event, _| {
            let event: &WheelEvent = event.unchecked_ref();
            // Lines and pages of coarse wheels, in pixels.
            let unit = match event.delta_mode() {
                WheelEvent::DOM_DELTA_LINE => 24.0,
                WheelEvent::DOM_DELTA_PAGE => f64::from(canvas.client_height()),
                _ => 1.0,
            };
            let at = ScreenPoint::new(f64::from(event.offset_x()), f64::from(event.offset_y()));
            let (dx, dy) = (event.delta_x() * unit, event.delta_y() * unit);
            Some(Gesture::Wheel { at, dx, dy, pinch: event.ctrl_key() })
        }),
        on("keydown", |canvas, event, _| {
            let _ = canvas.remove_attribute("data-by");
            let event: &KeyboardEvent = event.unchecked_ref();
            let shift = event.shift_key();
            // Ctrl, Alt and Meta belong to the page and the system.
            let foreign = event.ctrl_key() || event.alt_key() || event.meta_key();
            if (event.ctrl_key() || event.meta_key()) && !event.alt_key() {
                // The same keys as the page's.
                let key = match (event.key().to_ascii_lowercase().as_str(), shift) {
                    ("z", false) => Key::Undo,
                    ("z", true) | ("y", false) => Key::Redo,
                    _ => return None,
                };
                return Some(Gesture::KeyDown { key, shift });
            }
            key(&event.key(), shift).filter(|_| !foreign).map(|key| Gesture::KeyDown { key, shift })
        }),
        on("keyup", |_, event, _| {
            let event: &KeyboardEvent = event.unchecked_ref();
            key(&event.key(), event.shift_key()).map(|key| Gesture::KeyUp { key })
        }),
        on("blur", |_, _, _| Some(Gesture::Blur)),
        on("contextmenu", |_, event, _| {
            event.prevent_default();
            None
        }),
    ]
}

/// Where a pointer is on the canvas; other events have no place there.
fn place(inner: &Rc<RefCell<Inner>>, event: &Event) -> ScreenPoint {
    match (event.dyn_ref::<PointerEvent>(), inner.try_borrow_mut()) {
        (Some(event), Ok(mut inner)) => inner.place(event),
        _ => ScreenPoint::new(0.0, 0.0),
    }
}

fn device(event: &PointerEvent) -> Device {
    match event.pointer_type().as_str() {
        "touch" => Device::Touch,
        "pen" => Device::Pen,
        _ => Device::Mouse,
    }
}

fn key(name: &str, shift: bool) -> Option<Key> {
    Some(match name {
        "ArrowLeft" => Key::Left,
        "ArrowRight" => Key::Right,
        "ArrowUp" => Key::Up,
        "ArrowDown" => Key::Down,
        "Home" => Key::Home,
        "End" => Key::End,
        "Enter" => Key::Enter,
        "Escape" => Key::Escape,
        "PageDown" => Key::Next,
        "PageUp" => Key::Previous,
        "Tab" if shift => Key::BackTab,
        "Tab" => Key::Tab,
        "Backspace" => Key::Backspace,
        " " => Key::Space,
        _ => {
            let mut characters = name.chars();
            let first = characters.next()?;
            // Named keys have more than one.
            return characters.next().is_none().then_some(Key::Char(first));
        }
    })
}
