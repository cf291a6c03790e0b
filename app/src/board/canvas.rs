//! The board on the page: one canvas that listens, and the only one that paints the plan.

mod furniture;
mod ground;
mod listen;
pub(super) mod paint;

use super::camera::{Bounds, Look, ScreenPoint};
use super::parts::{Marks, Source, overlay, scene, slot_spoken};
use super::scene::{Form, Scene, Shape, Tone};
use super::tools::{Context, Cursor, Gesture, Status, Tools};
use crate::charts::palette::Palette;
use crate::charts::surface::{Size, SizeWatch, paper_context};
use crate::charts::theme::{SystemTheme, read_palette};
use crate::command::Command;
use crate::latest::Latest;
use crate::platform::frames::{Paints, request};
use crate::session::{Session, Theme};
use engine::finding::Severity;
use engine::plan::{Plan, Point};
use engine::units::UnitSystem;
use furniture::RULER_PX;
use gloo::events::EventListener;
use gloo::render::AnimationFrame;
use gloo::timers::callback::Timeout;
use ground::{Ground, Sight};
use paint::Painter;
use std::cell::RefCell;
use std::rc::Rc;
use wasm_bindgen::JsCast;
use web_sys::{Event, HtmlCanvasElement, PointerEvent};
use yew::Callback;

/// What a scene was made from; as long as this holds it need not be made again.
#[derive(Clone, Debug, PartialEq)]
struct SceneKey {
    plan: *const Plan,
    analysis: Option<*const engine::analysis::Analysis>,
    units: UnitSystem,
    px_per_m: f64,
    letters: Option<f64>,
    bays: bool,
}

/// The board behind its canvas.
struct Inner {
    canvas: HtmlCanvasElement,
    session: Rc<Session>,
    dispatch: Callback<Command>,
    latest: Option<Latest>,
    /// Hears of the drawing under way.
    told: Callback<Status>,
    status: Status,
    /// Runs while a finger rests.
    rest: Option<Timeout>,
    tools: Tools,
    size: Size,
    scene: Rc<Scene>,
    ground: Ground,
    scene_key: Option<SceneKey>,
    fit: Option<(Look, Vec<Point>)>,
    /// While a drag moves an item: the look it began with. A page that shifts or resizes the board
    /// meanwhile must not move the item.
    held: Option<Look>,
    /// Where the canvas's corner was in the window at the last pointer's event that dragged nothing.
    corner: (f64, f64),
    palette: Option<Palette>,
    /// Width of the page's letters against what labels are laid out for; none before the first painting.
    letters: Option<f64>,
    theme: Theme,
    frame: Option<AnimationFrame>,
}

/// A canvas turned into a board; stops listening when dropped.
pub struct Board {
    inner: Rc<RefCell<Inner>>,
    _listeners: Vec<EventListener>,
    _size: SizeWatch,
    _system: SystemTheme,
}

impl Board {
    /// Listens on `canvas` and paints `session` on it.
    pub fn new(
        canvas: HtmlCanvasElement,
        session: Rc<Session>,
        dispatch: Callback<Command>,
        latest: Option<Latest>,
        told: Callback<Status>,
    ) -> Self {
        let theme = session.view.theme;
        let inner = Rc::new(RefCell::new(Inner {
            canvas: canvas.clone(),
            session,
            dispatch,
            latest,
            told,
            status: Status::default(),
            rest: None,
            tools: Tools::default(),
            size: Size::default(),
            scene: Rc::default(),
            ground: Ground::default(),
            scene_key: None,
            fit: None,
            held: None,
            corner: (0.0, 0.0),
            palette: None,
            letters: None,
            theme,
            frame: None,
        }));
        let listeners = listen::listeners(&canvas, &inner);
        let size = SizeWatch::new(&canvas, {
            let inner = Rc::clone(&inner);
            move || request(&inner)
        });
        let system = SystemTheme::watch({
            let inner = Rc::clone(&inner);
            move |paper| {
                if let Ok(mut inner) = inner.try_borrow_mut() {
                    inner.palette = None;
                    if paper {
                        inner.paint();
                    }
                }
                request(&inner);
            }
        });
        request(&inner);
        Self { inner, _listeners: listeners, _size: size, _system: system }
    }

    /// The session changed.
    pub fn show(&self, session: Rc<Session>, dispatch: Callback<Command>, latest: Option<Latest>) {
        {
            let mut inner = self.inner.borrow_mut();
            if inner.theme != session.view.theme {
                inner.theme = session.view.theme;
                inner.palette = None;
            }
            // A picture fitted anew after the user asked for it, or for another floor; not under a drag.
            let asked = session.view.camera.is_none() && inner.session.view.camera.is_some();
            let other = inner.fit.as_ref().is_some_and(|(_, floor)| *floor != session.plan.enclosure.outline);
            if asked || other {
                inner.fit = None;
            }
            inner.session = session;
            inner.dispatch = dispatch;
            inner.latest = latest;
        }
        request(&self.inner);
    }

    /// Whether a pointer drags an item.
    pub fn is_dragging(&self) -> bool {
        self.inner.borrow().tools.is_dragging()
    }

    /// The drawing under way.
    pub fn status(&self) -> Status {
        let mut inner = self.inner.borrow_mut();
        inner.with_context(|tools, cx| tools.status(cx)).0
    }

    /// Does as if this had happened on the canvas.
    pub fn perform(&self, gesture: Gesture) {
        perform(&self.inner, |inner| Some(inner.gesture(gesture)));
    }

    /// What stands in the field beside the drawing.
    pub fn typed(&self, text: &str) {
        perform(&self.inner, |inner| {
            inner.with_context(|tools, cx| tools.typed(text, cx));
            None
        });
    }

    /// What is said of the selected item.
    pub fn spoken(&self) -> String {
        let mut inner = self.inner.borrow_mut();
        inner.refresh_scene();
        let session = &inner.session;
        let Some(id) = session.selection.as_deref() else { return String::new() };
        let slot = || slot_spoken(&session.plan, session.analysis.as_deref(), id, session.view.units);
        inner.scene.spoken(id).map(str::to_owned).or_else(slot).unwrap_or_default()
    }

    /// Zooms by `factor` about the middle, as the buttons do.
    pub fn zoom(&self, factor: f64) {
        let (dispatch, look) = {
            let mut inner = self.inner.borrow_mut();
            (inner.dispatch.clone(), inner.look())
        };
        dispatch.emit(Command::SetCamera(Some(look.zoomed(factor, look.middle()).camera)));
    }
}

impl Drop for Board {
    fn drop(&mut self) {
        self.inner.borrow_mut().frame = None;
    }
}

impl Inner {
    fn look(&mut self) -> Look {
        let (width, height) = (self.size.width, self.size.height);
        if let Some(camera) = self.session.view.camera {
            return Look { camera, width, height };
        }
        if let Some((fit, _)) = &self.fit
            && ((fit.width, fit.height) == (width, height) || self.held.is_some())
        {
            return Look { camera: fit.camera, width, height };
        }
        let plan = &self.session.plan;
        // Room for walls and labels around the floor, and for the rulers.
        let bounds = Bounds::of_plan(plan).grown(0.7);
        let mut fit = Look::fit(bounds, width - RULER_PX, height - RULER_PX, 10.0);
        (fit.width, fit.height) = (width, height);
        let fit = fit.panned(RULER_PX / 2.0, RULER_PX / 2.0);
        self.fit = Some((fit, plan.enclosure.outline.clone()));
        fit
    }

    fn refresh_scene(&mut self) {
        let px_per_m = self.look().camera.px_per_m;
        let session = &self.session;
        let key = SceneKey {
            plan: Rc::as_ptr(&session.plan),
            analysis: session.analysis.as_ref().map(Rc::as_ptr),
            units: session.view.units,
            px_per_m,
            letters: self.letters,
            bays: session.shows_bays(),
        };
        if self.scene_key.as_ref() != Some(&key) {
            let analysis = session.analysis.as_deref();
            let letters = self.letters.unwrap_or(1.0);
            let units = session.view.units;
            let source = Source { plan: &session.plan, analysis, units, px_per_m, letters, bays: key.bays };
            self.scene = Rc::new(scene(source));
            self.scene_key = Some(key);
        }
    }

    /// Lets `act` look at what is in sight; what it answers and the look it had.
    fn with_context<T>(&mut self, act: impl FnOnce(&mut Tools, &Context) -> T) -> (T, Look) {
        self.refresh_scene();
        let look = match self.held {
            Some(held) => held,
            None => self.look(),
        };
        let session = &self.session;
        let cx = Context {
            plan: &session.plan,
            scene: &self.scene,
            look,
            selection: session.selection.as_deref(),
            also: &session.also,
            tool: session.view.tool,
            pitch_m: session.view.pitch_m,
            units: session.view.units,
        };
        (act(&mut self.tools, &cx), look)
    }

    /// Hands a gesture to the tools; what comes of it is for the caller to send on.
    fn gesture(&mut self, gesture: Gesture) -> (Vec<Command>, bool) {
        let (hovered, cursor) = (self.tools.hovered().map(str::to_owned), self.tools.cursor());
        let (outcome, look) = self.with_context(|tools, cx| tools.handle(gesture, cx));
        self.held = self.tools.is_dragging().then_some(look);
        let changed = hovered.as_deref() != self.tools.hovered();
        if cursor != self.tools.cursor() {
            let css = match self.tools.cursor() {
                Cursor::Grab => "grab",
                Cursor::Grabbing => "grabbing",
                Cursor::Pointer => "pointer",
                Cursor::Move => "move",
                Cursor::Cross => "crosshair",
            };
            let _ = self.canvas.style().set_property("cursor", css);
        }
        (outcome.commands, outcome.handled || changed)
    }

    /// Where an event happened on the canvas; while something is dragged, as if the page had not moved the canvas
    /// since. (And then the browser need not lay the page out to tell.)
    fn place(&mut self, event: &PointerEvent) -> ScreenPoint {
        let client = (f64::from(event.client_x()), f64::from(event.client_y()));
        if self.held.is_none() {
            self.corner = (client.0 - f64::from(event.offset_x()), client.1 - f64::from(event.offset_y()));
        }
        ScreenPoint::new(client.0 - self.corner.0, client.1 - self.corner.1)
    }
}

impl Paints for Inner {
    fn frame(&mut self) -> &mut Option<AnimationFrame> {
        &mut self.frame
    }

    fn is_beside(&self) -> bool {
        crate::strip::hand::is_at_work(&self.session.history)
    }

    fn paint(&mut self) {
        self.size = Size::of(&self.canvas);
        if !self.size.is_visible() {
            return;
        }
        self.size.apply(&self.canvas);
        let Some(context) = paper_context(&self.canvas) else { return };
        let palette = *self.palette.get_or_insert_with(read_palette);
        if self.letters.is_none() {
            self.letters = Some(paint::letters(&context));
        }
        let ((active_point, preview), look) =
            self.with_context(|tools, cx| (tools.active_point(cx), tools.preview(cx)));
        let look = if self.held.is_some() { self.look() } else { look };
        let session = &self.session;
        let units = session.view.units;
        let found = session.findings().iter().filter(|finding| finding.severity > Severity::Note);
        let marks = Marks {
            selected: session.selection.as_deref(),
            also: &session.also,
            preview,
            found: found
                .filter_map(|finding| {
                    let grave = finding.severity == Severity::Problem;
                    finding.at.map(|at| (at, if grave { Tone::Problem } else { Tone::Warn }))
                })
                .collect(),
            hovered: self.tools.hovered(),
            active_point,
            note: self.tools.note().cloned(),
        };
        let mut painter = Painter::new(&context, &palette, look, self.size);
        // Air at the parts is above the ducts and below what is written.
        let map = crate::studies::coverage::shapes(session);
        let shapes = &self.scene.shapes;
        if map.is_empty() {
            let sight = Sight { look, size: self.size, palette, units };
            let painted = self.ground.paint(&context, &mut painter, sight, &self.scene);
            shapes[painted..].iter().for_each(|shape| painter.shape(shape));
        } else {
            self.ground.forget();
            painter.clear();
            painter.grid(units);
            let (written, drawn): (Vec<&Shape>, Vec<&Shape>) =
                shapes.iter().partition(|shape| matches!(shape.form, Form::Text(_)));
            drawn.into_iter().chain(&map).chain(written).for_each(|shape| painter.shape(shape));
        }
        for shape in overlay(&self.scene, &session.plan, &marks) {
            painter.shape(&shape);
        }
        painter.rulers(units);
        painter.scale_bar(units, RULER_PX + 14.0);
        // Where a test, or a script of the user's, finds an item on the canvas.
        let camera = look.camera;
        let shade = if palette.paper.luminance() < 0.5 { "dark" } else { "light" };
        let place = format!("{} {} {} {shade}", camera.centre.x_m, camera.centre.y_m, camera.px_per_m);
        if self.canvas.get_attribute("data-look").as_ref() != Some(&place) {
            let _ = self.canvas.set_attribute("data-look", &place);
        }
    }
}

/// Lets the tools act on a gesture, then sends their commands on with nothing borrowed.
fn act(inner: &Rc<RefCell<Inner>>, event: &Event, gesture: Gesture) {
    let handled = perform(inner, |inner| {
        if let Some(event) = event.dyn_ref::<PointerEvent>() {
            inner.tools.hold_alt(event.alt_key());
        }
        Some(inner.gesture(gesture))
    });
    if handled {
        event.prevent_default();
    }
}

/// Lets `act` do something, tells what has come of it, and whether it was the board's to do.
fn perform(inner: &Rc<RefCell<Inner>>, act: impl FnOnce(&mut Inner) -> Option<(Vec<Command>, bool)>) -> bool {
    let Ok(mut held) = inner.try_borrow_mut() else { return false };
    // Under a drag the picture that the hand follows is the state to act on.
    if let Some(latest) = held.latest.as_ref().filter(|_| !held.tools.is_dragging()) {
        held.session = latest.get();
    }
    let (commands, handled) = act(&mut held).unwrap_or((Vec::new(), true));
    let status = held.with_context(|tools, cx| tools.status(cx)).0;
    let told = (status != held.status).then(|| (held.told.clone(), status.clone()));
    held.status = status;
    let dispatch = held.dispatch.clone();
    drop(held);
    if handled {
        request(inner);
    }
    for command in commands {
        dispatch.emit(command);
    }
    if let Some((told, status)) = told {
        told.emit(status);
    }
    handled
}
