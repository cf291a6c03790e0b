//! A drawing surface that remembers what was drawn on it, for tests.

use super::ink::Layer;
use plotters::prelude::*;
use plotters_backend::{BackendColor, BackendCoord, BackendStyle, BackendTextStyle, DrawingErrorKind};
use std::cell::RefCell;
use std::rc::Rc;

/// What was drawn.
#[derive(Debug, Default)]
pub struct Log {
    points: Vec<(i32, i32)>,
    words: Vec<String>,
}

/// The surface.
pub struct Recorder {
    size: (u32, u32),
    log: Rc<RefCell<Log>>,
}

/// The surface never fails.
#[derive(Debug)]
pub struct Never;
impl std::fmt::Display for Never {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("never")
    }
}
impl std::error::Error for Never {}

type Done = Result<(), DrawingErrorKind<Never>>;

impl Recorder {
    fn run<E: std::fmt::Debug>(
        width: u32,
        height: u32,
        draw: impl FnOnce(&super::ink::Surface<Self>) -> Result<(), E>,
    ) -> Log {
        let log = Rc::new(RefCell::new(Log::default()));
        let area = Self { size: (width, height), log: Rc::clone(&log) }.into_drawing_area();
        draw(&area).expect("it draws");
        drop(area);
        Rc::try_unwrap(log).expect("the drawing is over").into_inner()
    }

    /// Every place touched by `draw`.
    pub fn record<E: std::fmt::Debug>(
        width: u32,
        height: u32,
        draw: impl FnOnce(&super::ink::Surface<Self>) -> Result<(), E>,
    ) -> Vec<(i32, i32)> {
        Self::run(width, height, draw).points
    }
}

/// Draws both layers, one over the other.
pub fn both<E>(draw: impl FnMut(Layer) -> Result<(), E>) -> Result<(), E> {
    Layer::ALL.into_iter().try_for_each(draw)
}

/// Everything written by `draw`.
pub fn words<E: std::fmt::Debug>(
    width: u32,
    height: u32,
    draw: impl FnOnce(&super::ink::Surface<Recorder>) -> Result<(), E>,
) -> Vec<String> {
    Recorder::run(width, height, draw).words
}

impl DrawingBackend for Recorder {
    type ErrorType = Never;

    fn get_size(&self) -> (u32, u32) {
        self.size
    }
    fn ensure_prepared(&mut self) -> Done {
        Ok(())
    }
    fn present(&mut self) -> Done {
        Ok(())
    }
    fn draw_pixel(&mut self, at: BackendCoord, _: BackendColor) -> Done {
        self.log.borrow_mut().points.push(at);
        Ok(())
    }
    fn draw_line<S: BackendStyle>(&mut self, a: BackendCoord, b: BackendCoord, _: &S) -> Done {
        self.log.borrow_mut().points.extend([a, b]);
        Ok(())
    }
    fn draw_rect<S: BackendStyle>(&mut self, a: BackendCoord, b: BackendCoord, _: &S, _: bool) -> Done {
        self.log.borrow_mut().points.extend([a, b]);
        Ok(())
    }
    fn draw_path<S: BackendStyle, I: IntoIterator<Item = BackendCoord>>(&mut self, path: I, _: &S) -> Done {
        self.log.borrow_mut().points.extend(path);
        Ok(())
    }
    fn draw_circle<S: BackendStyle>(&mut self, at: BackendCoord, _: u32, _: &S, _: bool) -> Done {
        self.log.borrow_mut().points.push(at);
        Ok(())
    }
    fn fill_polygon<S: BackendStyle, I: IntoIterator<Item = BackendCoord>>(
        &mut self,
        path: I,
        _: &S,
    ) -> Done {
        self.log.borrow_mut().points.extend(path);
        Ok(())
    }
    fn draw_text<S: BackendTextStyle>(&mut self, text: &str, _: &S, _: BackendCoord) -> Done {
        self.log.borrow_mut().words.push(text.to_owned());
        Ok(())
    }
}
