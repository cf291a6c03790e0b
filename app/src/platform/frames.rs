//! Paintings: each in the page's next frame, however often it is asked for until then; and a frame later, with the
//! figures, while figures for what a hand has just done are on their way. A picture of the hand alone in between
//! would hold up the one that matches. What stands beside the picture under the hand is painted between two frames,
//! while the page waits.

use gloo::render::{AnimationFrame, request_animation_frame};
use gloo::timers::callback::Timeout;
use std::cell::{Cell, RefCell};
use std::rc::Rc;

thread_local! {
    /// How many figures were asked for, and how many came.
    static FIGURES: Cell<(u32, u32)> = const { Cell::new((0, 0)) };
}

/// Figures for what a hand has just done were asked for.
pub fn figures_asked() {
    let (asked, came) = FIGURES.get();
    FIGURES.set((asked.wrapping_add(1), came));
}

/// They are here, or will not come.
pub fn figures_came() {
    let (asked, _) = FIGURES.get();
    FIGURES.set((asked, asked));
}

/// What is painted frame by frame.
pub trait Paints: 'static {
    /// The frame that was asked for.
    fn frame(&mut self) -> &mut Option<AnimationFrame>;

    /// Whether a hand is at work on another picture.
    fn is_beside(&self) -> bool;

    /// Paints now.
    fn paint(&mut self);
}

/// Asks for one painting.
pub fn request<P: Paints>(painter: &Rc<RefCell<P>>) {
    schedule(painter, Some(FIGURES.get().1));
}

/// `came`: the figures that had come when the painting was asked for; none where it has waited for a frame already.
fn schedule<P: Paints>(painter: &Rc<RefCell<P>>, came: Option<u32>) {
    let Ok(mut held) = painter.try_borrow_mut() else { return };
    if held.frame().is_some() {
        return;
    }
    let weak = Rc::downgrade(painter);
    *held.frame() = Some(request_animation_frame(move |_| {
        let Some(painter) = weak.upgrade() else { return };
        // The handle of a frame that runs must outlive the call it made.
        let running = painter.borrow_mut().frame().take();
        let (asked, here) = FIGURES.get();
        if painter.borrow().is_beside() {
            Timeout::new(0, move || painter.borrow_mut().paint()).forget();
        } else if came == Some(here) && asked != here {
            schedule(&painter, None);
        } else {
            painter.borrow_mut().paint();
        }
        drop(running);
    }));
}
