//! The plan as a small picture to scale: for plans side by side, and under a map of the air.

use super::camera::{Bounds, Look};
use super::canvas::paint::Painter;
use super::parts::{Source, scene};
use super::scene::{Form, Shape, Tone};
use crate::charts::plot::Drawing;
use crate::charts::surface::context;
use engine::plan::Plan;
use engine::units::UnitSystem;
use std::rc::Rc;

/// A drawing of `plan` as large as its canvas holds, without words but those of the scale: the ducts named `marked` in
/// colour, and `over` above them all.
pub fn drawing(plan: Rc<Plan>, units: UnitSystem, marked: Vec<String>, over: Vec<Shape>) -> Drawing {
    Drawing::on_canvas(move |canvas, size, palette| {
        let Some(context) = context(canvas) else { return };
        // Room for the scale under the floor.
        let bounds = Bounds::of_plan(&plan).grown(0.4);
        let look = Look::fit(bounds, size.width, size.height - 20.0, 4.0);
        let look = Look { height: size.height, ..look }.panned(0.0, -10.0);
        let source = Source {
            plan: &plan,
            analysis: None,
            units,
            px_per_m: look.camera.px_per_m,
            letters: 1.0,
            bays: false,
        };
        let mut painter = Painter::new(&context, palette, look, size);
        for mut shape in scene(source).shapes {
            let of = shape.item.as_deref();
            let is_sensor = of.is_some_and(|id| plan.sensors.iter().any(|sensor| sensor.id == id));
            if is_sensor || matches!(shape.form, Form::Text(_) | Form::Dot { .. }) {
                continue;
            }
            let is_marked = of.is_some_and(|id| marked.iter().any(|other| other == id));
            if let Some(stroke) = &mut shape.stroke {
                stroke.width_px *= 0.7;
                stroke.tone = if is_marked { Tone::Accent } else { stroke.tone };
            }
            painter.shape(&shape);
        }
        for shape in &over {
            painter.shape(shape);
        }
        painter.scale_bar(units, 4.0);
    })
}
