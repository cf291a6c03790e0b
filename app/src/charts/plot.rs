//! A canvas on the page that a plotters drawing is painted on.

use super::ink::{Drawn, Layer, Scales, Surface, rgb};
use super::palette::Palette;
use super::surface::{Size, SizeWatch, paper_context};
use super::theme::{SystemTheme, read_palette};
use crate::platform::frames::{Paints, request};
use crate::session::Theme;
use gloo::render::AnimationFrame;
use gloo::utils::document;
use plotters::prelude::IntoDrawingArea;
use plotters_canvas::CanvasBackend;
use std::cell::RefCell;
use std::rc::Rc;
use wasm_bindgen::JsCast;
use web_sys::{HtmlCanvasElement, KeyboardEvent, PointerEvent};
use yew::prelude::*;

/// Draws a layer with a palette at a scale (device pixels per CSS pixel).
type Draw<T> = fn(&Surface<CanvasBackend>, &T, &Palette, f64, Layer) -> Drawn<CanvasBackend>;
type Paint = dyn Fn(&Surface<CanvasBackend>, &Palette, f64, Layer);
/// Paints on a canvas of this size.
type PaintCanvas = dyn Fn(&HtmlCanvasElement, Size, &Palette);

/// A drawing: equal to another one only when it is the same one.
#[derive(Clone)]
pub enum Drawing {
    /// By plotters, its frame kept while its scales stand.
    Layered {
        /// Draws a layer.
        paint: Rc<Paint>,
        /// What the frame is made of at a size in CSS pixels.
        scales: Rc<dyn Fn((f64, f64)) -> Scales>,
    },
    /// Without plotters, all at once.
    Whole(Rc<PaintCanvas>),
}

impl Drawing {
    /// A drawing of `data`; `scales` says what its frame is made of at a size in CSS pixels.
    pub fn new<T: 'static>(data: Rc<T>, scales: fn(&T, (f64, f64)) -> Scales, draw: Draw<T>) -> Self {
        let same = Rc::clone(&data);
        Self::Layered {
            paint: Rc::new(move |area, palette, scale, layer| {
                // A canvas that cannot be drawn on has nobody to tell.
                let _ = draw(area, &data, palette, scale, layer);
            }),
            scales: Rc::new(move |size| scales(&same, size)),
        }
    }

    /// A drawing by `paint` without plotters.
    pub fn on_canvas(paint: impl Fn(&HtmlCanvasElement, Size, &Palette) + 'static) -> Self {
        Self::Whole(Rc::new(paint))
    }

    /// Nothing but paper.
    pub fn blank() -> Self {
        let paper: Draw<()> = |area, (), palette, _, layer| match layer {
            Layer::Frame => area.fill(&rgb(palette.paper)),
            Layer::Marks => Ok(()),
        };
        Self::new(Rc::new(()), |(), _| Scales::default(), paper)
    }
}

impl PartialEq for Drawing {
    fn eq(&self, other: &Self) -> bool {
        match (self, other) {
            (Self::Layered { paint, .. }, Self::Layered { paint: other, .. }) => Rc::ptr_eq(paint, other),
            (Self::Whole(paint), Self::Whole(other)) => Rc::ptr_eq(paint, other),
            _ => false,
        }
    }
}

/// What a plot shows.
#[derive(Clone, PartialEq, Properties)]
pub struct PlotProps {
    /// The drawing.
    pub drawing: Drawing,
    /// Light or dark: a new theme is a new palette.
    pub theme: Theme,
    /// For tests.
    pub testid: AttrValue,
    /// For those who cannot see it.
    pub label: AttrValue,
    /// For the style sheet.
    pub class: Classes,
    /// A hand is at work on another picture.
    #[prop_or_default]
    pub beside: bool,
    /// Takes the keyboard.
    #[prop_or_default]
    pub focusable: bool,
    /// Pointer down.
    #[prop_or_default]
    pub onpointerdown: Callback<PointerEvent>,
    /// Pointer moved.
    #[prop_or_default]
    pub onpointermove: Callback<PointerEvent>,
    /// Pointer up.
    #[prop_or_default]
    pub onpointerup: Callback<PointerEvent>,
    /// Pointer taken away; once it is up, too.
    #[prop_or_default]
    pub onlostpointercapture: Callback<PointerEvent>,
    /// The keyboard goes elsewhere.
    #[prop_or_default]
    pub onblur: Callback<FocusEvent>,
    /// Key down.
    #[prop_or_default]
    pub onkeydown: Callback<KeyboardEvent>,
    /// Key up.
    #[prop_or_default]
    pub onkeyup: Callback<KeyboardEvent>,
}

/// A canvas with a drawing on it.
pub struct Plot {
    canvas: NodeRef,
    painter: Option<Painter>,
}

impl Component for Plot {
    type Message = ();
    type Properties = PlotProps;

    fn create(_: &Context<Self>) -> Self {
        Self { canvas: NodeRef::default(), painter: None }
    }

    fn changed(&mut self, ctx: &Context<Self>, old: &Self::Properties) -> bool {
        if let Some(painter) = &self.painter {
            let props = ctx.props();
            painter.show(props.drawing.clone(), props.beside, props.theme != old.theme);
        }
        true
    }

    fn rendered(&mut self, ctx: &Context<Self>, first: bool) {
        if let Some(canvas) = self.canvas.cast::<HtmlCanvasElement>().filter(|_| first) {
            self.painter = Some(Painter::new(canvas, ctx.props().drawing.clone()));
        }
    }

    fn view(&self, ctx: &Context<Self>) -> Html {
        let p = ctx.props();
        html! {
            <canvas
                ref={self.canvas.clone()}
                class={p.class.clone()}
                data-testid={p.testid.clone()}
                role={if p.focusable { "application" } else { "img" }}
                aria-label={p.label.clone()}
                tabindex={p.focusable.then_some("0")}
                onpointerdown={p.onpointerdown.clone()}
                onpointermove={p.onpointermove.clone()}
                onpointerup={p.onpointerup.clone()}
                onlostpointercapture={p.onlostpointercapture.clone()}
                onblur={p.onblur.clone()}
                onkeydown={p.onkeydown.clone()}
                onkeyup={p.onkeyup.clone()}
            />
        }
    }
}

struct State {
    canvas: HtmlCanvasElement,
    drawing: Drawing,
    palette: Option<Palette>,
    frame: Option<AnimationFrame>,
    beside: bool,
    /// The frame layer as it was drawn last, and of what.
    layer: Option<(Scales, Size, HtmlCanvasElement)>,
}

/// Paints once in the next frame when drawing, size or theme change.
struct Painter {
    state: Rc<RefCell<State>>,
    _size: SizeWatch,
    _system: SystemTheme,
}

impl Painter {
    fn new(canvas: HtmlCanvasElement, drawing: Drawing) -> Self {
        let state =
            State { canvas: canvas.clone(), drawing, palette: None, frame: None, beside: false, layer: None };
        let state = Rc::new(RefCell::new(state));
        let size = SizeWatch::new(&canvas, {
            let state = Rc::clone(&state);
            move || request(&state)
        });
        let system = SystemTheme::watch({
            let state = Rc::clone(&state);
            move |paper| {
                if let Ok(mut state) = state.try_borrow_mut() {
                    state.forget_colours();
                    if paper {
                        state.paint();
                    }
                }
                request(&state);
            }
        });
        request(&state);
        Self { state, _size: size, _system: system }
    }

    fn show(&self, drawing: Drawing, beside: bool, other_theme: bool) {
        {
            let mut state = self.state.borrow_mut();
            state.beside = beside;
            if state.drawing == drawing && !other_theme {
                return;
            }
            state.drawing = drawing;
            if other_theme {
                state.forget_colours();
            }
        }
        request(&self.state);
    }
}

impl Drop for Painter {
    fn drop(&mut self) {
        self.state.borrow_mut().frame = None;
    }
}

impl State {
    fn forget_colours(&mut self) {
        (self.palette, self.layer) = (None, None);
    }
}

impl Paints for State {
    fn frame(&mut self) -> &mut Option<AnimationFrame> {
        &mut self.frame
    }

    fn is_beside(&self) -> bool {
        self.beside
    }

    fn paint(&mut self) {
        let size = Size::of(&self.canvas);
        if !size.is_visible() {
            return;
        }
        size.apply(&self.canvas);
        let palette = *self.palette.get_or_insert_with(read_palette);
        let (paint, scales) = match &self.drawing {
            Drawing::Whole(paint) => return paint(&self.canvas, size, &palette),
            Drawing::Layered { paint, scales } => (paint, scales),
        };
        // Plotters draws on the canvas's own pixels: the drawing scales itself.
        let draw = |canvas: &HtmlCanvasElement, layer| {
            if let Some(backend) = CanvasBackend::with_canvas_object(canvas.clone()) {
                paint(&backend.into_drawing_area(), &palette, size.dpr, layer);
            }
        };
        let scales = scales((size.width, size.height));
        let stands = |(known, at, _): &(Scales, Size, _)| *known == scales && *at == size;
        if !self.layer.as_ref().is_some_and(stands) {
            let known = self.layer.take().map(|(.., canvas)| canvas);
            let Some(canvas) = known.or_else(canvas) else { return };
            size.apply(&canvas);
            draw(&canvas, Layer::Frame);
            self.layer = Some((scales, size, canvas));
        }
        // One canvas in the end, so that what is saved is the whole picture.
        if let (Some((.., frame)), Some(context)) = (&self.layer, paper_context(&self.canvas)) {
            let _ = context.draw_image_with_html_canvas_element(frame, 0.0, 0.0);
        }
        draw(&self.canvas, Layer::Marks);
    }
}

/// A canvas that is not on the page.
fn canvas() -> Option<HtmlCanvasElement> {
    document().create_element("canvas").ok()?.dyn_into().ok()
}
