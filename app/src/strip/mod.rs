//! The strip: the selected duct unrolled end to end, with pressures above and discharge below.

pub mod data;
pub mod draw;
mod draw_duct;
mod frame;
pub mod hand;
pub mod layout;
mod table;

use crate::charts::picture::save_button;
use crate::charts::plot::{Drawing, Plot};
use crate::command::Command;
use crate::session::Session;
use data::{Cells, StripData, duct_of, duct_to_show};
use engine::units::{Kind, show};
use hand::Hand;
use layout::Layout;
use std::rc::Rc;
use table::StripTable;
use web_sys::{Element, HtmlCanvasElement};
use yew::prelude::*;

/// What the strip shows and whom it tells.
#[derive(Clone, Debug, PartialEq, Properties)]
pub struct StripProps {
    /// Everything the page knows.
    pub session: Rc<Session>,
    /// Takes commands.
    pub dispatch: Callback<Command>,
}

/// The strip with its head line and the table of the same numbers.
pub struct Strip {
    hand: Hand,
    /// The duct shown last: it stays when something without a duct is selected.
    shown: Option<String>,
    data: Option<Rc<StripData>>,
    drawing: Drawing,
    /// Where the canvas's upper edge was in the window when the pointer went down.
    top: f64,
}

/// What happens on the strip.
#[derive(Debug)]
pub enum Msg {
    /// A pointer goes down.
    Down(PointerEvent),
    /// A pointer moves.
    Move(PointerEvent),
    /// A pointer comes up.
    Up(i32),
    /// A pointer is taken away.
    Cancel(i32),
    /// A key goes down.
    Key(KeyboardEvent),
    /// A key comes up, or is no longer heard.
    KeyUp,
}

impl Strip {
    /// Takes over what changed; draws again only when that shows on the strip.
    fn refresh(&mut self, session: &Session) {
        let plan = &session.plan;
        let known = |id: &String| plan.ducts.iter().any(|duct| duct.id == *id);
        let selected = session.selection.as_deref().and_then(|id| duct_of(plan, id));
        self.shown = selected
            .or_else(|| self.shown.take().filter(known))
            .or_else(|| duct_to_show(plan, session.analysis.as_deref()));
        let data = self.shown.as_deref().and_then(|id| {
            let selection = session.selection.as_deref();
            let data = StripData::new(plan, session.analysis.as_deref(), id, selection, session.view.units)?;
            Some(match &session.before {
                Some(before) => data.beside(&before.plan, &before.analysis),
                None => data,
            })
        });
        if data.as_ref() != self.data.as_deref() {
            self.data = data.map(Rc::new);
            self.drawing = drawing(self.data.clone());
        }
    }

    fn layout(canvas: &Element, data: &StripData) -> Option<Layout> {
        Layout::new(f64::from(canvas.client_width()), f64::from(canvas.client_height()), data)
    }
}

/// A drawing of `data`; blank without any.
fn drawing(data: Option<Rc<StripData>>) -> Drawing {
    data.map_or_else(Drawing::blank, |data| Drawing::new(data, frame::scales, draw::draw))
}

impl Component for Strip {
    type Message = Msg;
    type Properties = StripProps;

    fn create(ctx: &Context<Self>) -> Self {
        let mut strip =
            Self { hand: Hand::default(), shown: None, data: None, drawing: drawing(None), top: 0.0 };
        strip.refresh(&ctx.props().session);
        strip
    }

    fn changed(&mut self, ctx: &Context<Self>, _: &Self::Properties) -> bool {
        self.hand.heed(&ctx.props().session.history);
        self.refresh(&ctx.props().session);
        true
    }

    fn update(&mut self, ctx: &Context<Self>, msg: Msg) -> bool {
        let Some(data) = self.data.clone() else { return false };
        let commands = match msg {
            Msg::Down(event) if event.button() != 0 => return false,
            Msg::Down(event) => {
                let Some(canvas) = event.target_dyn_into::<HtmlCanvasElement>() else { return false };
                let Some(layout) = Self::layout(&canvas, &data) else { return false };
                let _ = canvas.set_pointer_capture(event.pointer_id());
                let (x, y) = (f64::from(event.offset_x()), f64::from(event.offset_y()));
                self.top = f64::from(event.client_y()) - y;
                self.hand.press(event.pointer_id(), x, y, &data, &layout)
            }
            // Asked for its place on the canvas, the browser would have to lay the page out first.
            Msg::Move(event) => {
                self.hand.drag(event.pointer_id(), f64::from(event.client_y()) - self.top, &data)
            }
            Msg::Up(pointer) => self.hand.release(pointer),
            Msg::Cancel(pointer) => self.hand.cancel(pointer),
            Msg::Key(event) => self.hand.key(&event.key(), event.shift_key(), &data).unwrap_or_default(),
            Msg::KeyUp => {
                // A drag by pointer goes on while keys come and go.
                if self.hand.is_dragging() { Vec::new() } else { self.hand.finish() }
            }
        };
        for command in commands {
            ctx.props().dispatch.emit(command);
        }
        false
    }

    fn destroy(&mut self, ctx: &Context<Self>) {
        // A step that nobody ends would swallow all later ones.
        self.hand.finish().into_iter().for_each(|command| ctx.props().dispatch.emit(command));
    }

    fn view(&self, ctx: &Context<Self>) -> Html {
        let session = &ctx.props().session;
        let Some(data) = &self.data else {
            return html! {
                <section class="strip" aria-label="Strip" data-testid="strip">
                    <p class="strip-empty">{ "Add a duct: here it is unrolled end to end, with its pressures and slots." }</p>
                </section>
            };
        };
        let link = ctx.link();
        let onkeydown = {
            let link = link.clone();
            Callback::from(move |event: KeyboardEvent| {
                let ours = ["ArrowUp", "ArrowDown", "ArrowLeft", "ArrowRight", "Home", "End", "Escape"];
                let foreign = event.ctrl_key() || event.alt_key() || event.meta_key();
                if ours.contains(&event.key().as_str()) && !foreign {
                    event.prevent_default();
                    link.send_message(Msg::Key(event));
                }
            })
        };
        html! {
            <section class="strip" aria-label="Strip" data-testid="strip" data-duct={data.id.clone()}>
                <p class="strip-head">
                    <strong>{ &data.name }</strong>
                    <span>{ format!("{} · {}", show(data.length_m, Kind::Length, data.units), data.size) }</span>
                    <span class="strip-hint">{ hint(data) }</span>
                </p>
                <Plot
                    drawing={self.drawing.clone()}
                    theme={session.view.theme}
                    testid="strip-canvas"
                    class={classes!("strip-canvas", (data.held || (data.kind == Cells::Slots && data.selected.is_some())).then_some("is-armed"))}
                    label={format!("{} unrolled: pressures along it and discharge against target. Left and right arrows go from slot to slot, up and down change the width, or the duct's height where no slot is selected. The numbers are in the table below.", data.name)}
                    focusable=true
                    beside={session.history.in_gesture() && !hand::is_at_work(&session.history)}
                    onpointerdown={link.callback(Msg::Down)}
                    onpointermove={link.callback(Msg::Move)}
                    onpointerup={link.callback(|e: PointerEvent| Msg::Up(e.pointer_id()))}
                    onlostpointercapture={link.callback(|e: PointerEvent| Msg::Cancel(e.pointer_id()))}
                    {onkeydown}
                    onkeyup={link.callback(|_| Msg::KeyUp)}
                    onblur={link.callback(|_| Msg::KeyUp)}
                />
                <div class="picture-foot">
                    <StripTable data={Rc::clone(data)} dispatch={ctx.props().dispatch.clone()} />
                    { save_button(&format!("strip of {}", data.name).into()) }
                </div>
            </section>
        }
    }
}

fn hint(data: &StripData) -> &'static str {
    match (data.kind, &data.selected) {
        (Cells::Slots, Some(_)) => "Drag up or down to cut it wider or narrower · arrow keys do the same",
        _ if data.held => "Drag the duct up or down for its height · arrow keys do the same",
        (Cells::Slots, None) => "Click a slot to select it, or the duct",
        (Cells::Returns, _) => "Shares of all returned air",
        (Cells::None, _) => "",
    }
}
