//! What stays as it was from picture to picture is painted once and kept as an image: under a drag that is most of
//! the board, and under a pointer that only moves all of it.

use super::paint::{Painter, upright};
use crate::board::camera::Look;
use crate::board::scene::{Scene, Shape};
use crate::charts::palette::Palette;
use crate::charts::surface::{Size, paper_context};
use engine::units::UnitSystem;
use gloo::utils::document;
use std::rc::Rc;
use wasm_bindgen::JsCast;
use web_sys::{CanvasRenderingContext2d, HtmlCanvasElement};

/// What a picture depends on besides its shapes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sight {
    /// Where it looks.
    pub look: Look,
    /// How large it is.
    pub size: Size,
    /// Its colours.
    pub palette: Palette,
    /// Of the grid.
    pub units: UnitSystem,
}

/// The first shapes of a scene, painted.
struct Layer {
    canvas: HtmlCanvasElement,
    context: CanvasRenderingContext2d,
    count: usize,
}

/// The picture painted last, and the layer kept of it.
#[derive(Default)]
pub struct Ground {
    last: Option<(Sight, Rc<Scene>)>,
    /// Whether nothing had moved then.
    still: bool,
    layer: Option<Layer>,
}

/// How many shapes a layer should hold, and whether the one at hand serves: with `kept` shapes, while the first `same`
/// of `all` are as they were; `still`, when nothing had moved in the picture before either.
fn layer_of(kept: Option<usize>, same: usize, all: usize, still: bool) -> (usize, bool) {
    match kept {
        // A larger one is worth its painting only once nothing moves any more.
        Some(count) if count <= same && (same < all || !still || count == all) => (count, true),
        _ => (same, false),
    }
}

impl Ground {
    /// Paints the grid and the first shapes of `scene`; how many of them.
    pub fn paint(
        &mut self,
        context: &CanvasRenderingContext2d,
        painter: &mut Painter,
        sight: Sight,
        scene: &Rc<Scene>,
    ) -> usize {
        let Some((_, before)) = self.last.replace((sight, scene.clone())).filter(|(of, _)| *of == sight)
        else {
            // A board on the move has nothing to keep.
            self.forget_layer();
            painter.clear();
            painter.grid(sight.units);
            return 0;
        };
        let all = scene.shapes.len();
        let same = if Rc::ptr_eq(&before, scene) { all } else { common(&before.shapes, &scene.shapes) };
        let (count, serves) = layer_of(self.layer.as_ref().map(|layer| layer.count), same, all, self.still);
        self.still = same == all;
        if !serves && !self.make(&sight, &scene.shapes[..count]) {
            painter.clear();
            painter.grid(sight.units);
            return 0;
        }
        if let Some(layer) = &self.layer {
            let _ = context.set_transform(1.0, 0.0, 0.0, 1.0, 0.0, 0.0);
            let _ = context.draw_image_with_html_canvas_element(&layer.canvas, 0.0, 0.0);
            upright(context, sight.size);
        }
        count
    }

    /// Nothing is known of the picture any more.
    pub fn forget(&mut self) {
        self.last = None;
        self.forget_layer();
    }

    fn forget_layer(&mut self) {
        // The canvas is kept for the next layer, but holds none.
        if let Some(layer) = &mut self.layer {
            layer.count = usize::MAX;
        }
    }

    fn make(&mut self, sight: &Sight, shapes: &[Shape]) -> bool {
        if self.layer.is_none() {
            let canvas = document().create_element("canvas").ok().and_then(|made| made.dyn_into().ok());
            self.layer = canvas.and_then(|canvas: HtmlCanvasElement| {
                let context = paper_context(&canvas)?;
                Some(Layer { canvas, context, count: usize::MAX })
            });
        }
        let Some(layer) = &mut self.layer else { return false };
        sight.size.apply(&layer.canvas);
        let mut painter = Painter::new(&layer.context, &sight.palette, sight.look, sight.size);
        painter.clear();
        painter.grid(sight.units);
        shapes.iter().for_each(|shape| painter.shape(shape));
        layer.count = shapes.len();
        true
    }
}

/// How many shapes both begin with.
fn common(a: &[Shape], b: &[Shape]) -> usize {
    a.iter().zip(b).take_while(|(a, b)| a == b).count()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_layer_serves_while_its_shapes_stay_and_grows_only_once_nothing_moves() {
        assert_eq!(layer_of(None, 30, 40, false), (30, false));
        assert_eq!(layer_of(Some(30), 30, 40, false), (30, true));
        assert_eq!(layer_of(Some(30), 35, 40, true), (30, true));
        assert_eq!(layer_of(Some(30), 20, 40, false), (20, false));
        assert_eq!(layer_of(Some(30), 40, 40, false), (30, true));
        assert_eq!(layer_of(Some(30), 40, 40, true), (40, false));
        assert_eq!(layer_of(Some(40), 40, 40, true), (40, true));
        assert_eq!(layer_of(Some(usize::MAX), 40, 40, false), (40, false));
    }
}
