use super::*;
use crate::board::camera::Look;
use crate::board::fixture::{demo, invented};
use crate::board::parts::{Source, scene};
use crate::session::{Camera, Session};
use engine::plan::geometry::along;
use engine::units::{Kind, UnitSystem, show};

/// A board in front of a session: gestures go in, the session obeys, its invariants hold every time.
pub(super) struct Hand {
    pub(super) session: Session,
    pub(super) tools: Tools,
    log: Vec<String>,
}

const SIZE: (f64, f64) = (1000.0, 500.0);

impl Hand {
    pub(super) fn new() -> Self {
        let mut session = Session::new(demo());
        let camera = Camera { centre: Point::new(13.0, 4.0), px_per_m: 34.0 };
        session.apply(Command::SetCamera(Some(camera)));
        Self::over(session)
    }

    pub(super) fn over(session: Session) -> Self {
        Self { session, tools: Tools::default(), log: Vec::new() }
    }

    pub(super) fn status(&mut self) -> Status {
        self.with(|tools, cx| {
            tools.take_tool(cx);
            tools.status(cx)
        })
    }

    pub(super) fn preview(&mut self) -> Option<crate::board::parts::Preview> {
        self.with(|tools, cx| tools.preview(cx))
    }

    pub(super) fn look(&self) -> Look {
        let fallback = Camera { centre: Point::new(13.0, 4.0), px_per_m: 34.0 };
        Look { camera: self.session.view.camera.unwrap_or(fallback), width: SIZE.0, height: SIZE.1 }
    }

    fn with<T>(&mut self, act: impl FnOnce(&mut Tools, &Context) -> T) -> T {
        let plan = self.session.plan.clone();
        let analysis = invented(&plan);
        let look = self.look();
        let units = self.session.view.units;
        let px_per_m = look.camera.px_per_m;
        let scene = scene(Source {
            plan: &plan,
            analysis: Some(&analysis),
            units,
            px_per_m,
            letters: 1.0,
            bays: false,
        });
        let selection = self.session.selection.clone();
        let also = self.session.also.clone();
        let (tool, pitch_m) = (self.session.view.tool, self.session.view.pitch_m);
        let cx = Context {
            plan: &plan,
            scene: &scene,
            look,
            selection: selection.as_deref(),
            also: &also,
            tool,
            pitch_m,
            units,
        };
        act(&mut self.tools, &cx)
    }

    pub(super) fn act(&mut self, gesture: Gesture) -> bool {
        let outcome = self.with(|tools, cx| tools.handle(gesture, cx));
        for command in outcome.commands {
            let name = format!("{command:?}");
            self.log.push(name.split([' ', '(', '{']).next().unwrap_or_default().to_owned());
            self.session.apply(command);
            assert_eq!(self.session.broken_invariants(), Vec::<String>::new(), "after {name}");
        }
        outcome.handled
    }

    pub(super) fn at(&self, x: f64, y: f64) -> ScreenPoint {
        self.look().screen_from_plan(Point::new(x, y))
    }

    pub(super) fn down(&mut self, at: ScreenPoint) {
        self.act(Gesture::Down { pointer: 1, at, device: Device::Mouse, button: 0, shift: false });
    }

    pub(super) fn go(&mut self, at: ScreenPoint) {
        self.act(Gesture::Move { pointer: 1, at, device: Device::Mouse });
    }

    pub(super) fn up(&mut self, at: ScreenPoint) {
        self.act(Gesture::Up { pointer: 1, at });
    }

    pub(super) fn click(&mut self, x: f64, y: f64) {
        let at = self.at(x, y);
        self.down(at);
        self.up(at);
    }

    pub(super) fn key(&mut self, key: Key) -> bool {
        let handled = self.act(Gesture::KeyDown { key, shift: false });
        self.act(Gesture::KeyUp { key });
        handled
    }

    pub(super) fn selected(&self) -> Option<&str> {
        self.session.selection.as_deref()
    }

    pub(super) fn path(&self, id: &str) -> Vec<Point> {
        self.session.plan.ducts.iter().find(|d| d.id == id).unwrap().path.clone()
    }

    pub(super) fn told(&mut self) -> Vec<String> {
        std::mem::take(&mut self.log)
    }
}

#[test]
fn a_click_selects_and_a_click_beside_everything_selects_nothing() {
    let mut hand = Hand::new();
    hand.click(18.3, 4.55);
    assert_eq!(hand.selected(), Some("cure-1"));
    hand.click(20.0, 0.9);
    assert_eq!(hand.selected(), Some("cure"));
    hand.click(5.0, -3.0);
    assert_eq!(hand.selected(), None);
}

#[test]
fn dragging_an_end_is_one_undo_step() {
    let mut hand = Hand::new();
    hand.click(18.3, 4.6);
    hand.told();
    let before = hand.session.plan.clone();
    hand.down(hand.at(25.2, 4.6));
    for x in [25.0, 24.6, 24.0, 23.43, 22.52] {
        hand.go(hand.at(x, 4.63));
    }
    assert!(hand.tools.is_moving());
    assert_eq!(hand.tools.note().map(|n| n.1.clone()), Some(show(11.5, Kind::Length, UnitSystem::Si)));
    hand.up(hand.at(22.52, 4.63));
    assert_eq!(hand.path("cure-1"), [Point::new(11.0, 4.6), Point::new(22.5, 4.6)]);
    let told = hand.told();
    assert_eq!((told.first().unwrap().as_str(), told.last().unwrap().as_str()), ("Begin", "Commit"));
    assert_eq!(told.iter().filter(|c| *c == "MoveDuctPoint").count(), told.len() - 2);
    hand.session.apply(Command::Undo);
    assert_eq!(hand.session.plan, before);
}

#[test]
fn what_is_not_selected_does_not_move_by_accident() {
    let mut hand = Hand::new();
    let before = hand.session.plan.clone();
    hand.down(hand.at(25.2, 4.6));
    hand.go(hand.at(22.0, 4.0));
    hand.up(hand.at(22.0, 4.0));
    assert_eq!(hand.session.plan, before);
    assert!(hand.told().iter().all(|c| c == "SetCamera"));
}

#[test]
fn a_tremble_is_a_click() {
    let mut hand = Hand::new();
    hand.click(18.3, 4.6);
    let end = hand.at(25.2, 4.6);
    hand.told();
    hand.down(end);
    hand.go(ScreenPoint::new(end.x + 2.0, end.y + 1.0));
    hand.up(end);
    assert_eq!(hand.told(), Vec::<String>::new());
}

#[test]
fn escape_and_a_lost_pointer_put_everything_back() {
    for how in [Gesture::KeyDown { key: Key::Escape, shift: false }, Gesture::Cancel { pointer: 1 }] {
        let mut hand = Hand::new();
        hand.click(18.3, 4.6);
        let before = hand.session.plan.clone();
        hand.told();
        hand.down(hand.at(25.2, 4.6));
        hand.go(hand.at(20.0, 4.6));
        assert_ne!(hand.session.plan, before);
        hand.act(how);
        assert_eq!(hand.session.plan, before);
        // What the hand still does is no longer part of anything.
        hand.go(hand.at(15.0, 4.6));
        hand.up(hand.at(15.0, 4.6));
        assert_eq!(hand.session.plan, before);
        assert_eq!(hand.told().last().map(String::as_str), Some("Abort"));
        assert_eq!(hand.selected(), Some("cure-1"));
        assert!(hand.tools.note().is_none());
        // And the next drag works.
        hand.down(hand.at(25.2, 4.6));
        hand.go(hand.at(24.0, 4.6));
        hand.up(hand.at(24.0, 4.6));
        assert_eq!(hand.path("cure-1")[1], Point::new(24.0, 4.6));
    }
}

#[test]
fn the_sheet_of_a_selected_run_shifts_it_sideways() {
    let mut hand = Hand::new();
    hand.click(15.3, 4.0);
    assert_eq!(hand.selected(), Some("cure-2"));
    hand.down(hand.at(15.3, 4.0));
    hand.go(hand.at(15.9, 3.78));
    hand.up(hand.at(15.9, 3.78));
    assert_eq!(hand.path("cure-2"), [Point::new(11.0, 3.8), Point::new(20.0, 3.8)]);
}

#[test]
fn the_floor_pans_and_holds_the_place_under_the_pointer() {
    let mut hand = Hand::new();
    let start = hand.at(5.0, -2.0);
    let held = hand.look().plan_from_screen(start);
    hand.down(start);
    hand.go(ScreenPoint::new(start.x + 40.0, start.y - 30.0));
    hand.go(ScreenPoint::new(start.x + 80.0, start.y - 60.0));
    hand.up(ScreenPoint::new(start.x + 80.0, start.y - 60.0));
    let now = hand.look().screen_from_plan(held);
    assert!(now.distance(ScreenPoint::new(start.x + 80.0, start.y - 60.0)) < 1e-6);
}

#[test]
fn the_middle_button_and_space_pan_over_everything() {
    for space in [false, true] {
        let mut hand = Hand::new();
        hand.click(18.3, 4.6);
        hand.told();
        let at = hand.at(25.2, 4.6);
        if space {
            hand.act(Gesture::KeyDown { key: Key::Space, shift: false });
        }
        let button = if space { 0 } else { 1 };
        hand.act(Gesture::Down { pointer: 1, at, device: Device::Mouse, button, shift: false });
        hand.go(ScreenPoint::new(at.x - 50.0, at.y));
        hand.up(ScreenPoint::new(at.x - 50.0, at.y));
        assert_eq!(hand.told(), ["SetCamera"]);
    }
}

#[test]
fn the_wheel_zooms_at_the_pointer() {
    let mut hand = Hand::new();
    let at = ScreenPoint::new(222.0, 111.0);
    let held = hand.look().plan_from_screen(at);
    let scale = hand.look().camera.px_per_m;
    assert!(hand.act(Gesture::Wheel { at, dx: 0.0, dy: -120.0, pinch: false }));
    assert!(hand.look().camera.px_per_m > scale);
    assert!(hand.look().screen_from_plan(held).distance(at) < 1e-6);
    hand.act(Gesture::Wheel { at, dx: 0.0, dy: 120.0, pinch: false });
    assert!((hand.look().camera.px_per_m - scale).abs() < 1e-9);
}

#[test]
fn two_fingers_pinch_and_one_goes_on_panning() {
    let mut hand = Hand::new();
    let touch = |hand: &mut Hand, pointer, x, y| {
        hand.act(Gesture::Down {
            pointer,
            at: ScreenPoint::new(x, y),
            device: Device::Touch,
            button: 0,
            shift: false,
        });
    };
    let go = |hand: &mut Hand, pointer, x, y| {
        hand.act(Gesture::Move { pointer, at: ScreenPoint::new(x, y), device: Device::Touch });
    };
    let scale = hand.look().camera.px_per_m;
    touch(&mut hand, 7, 400.0, 250.0);
    touch(&mut hand, 8, 600.0, 250.0);
    go(&mut hand, 7, 300.0, 250.0);
    go(&mut hand, 8, 700.0, 250.0);
    assert!((hand.look().camera.px_per_m - 2.0 * scale).abs() < 1e-6);
    hand.act(Gesture::Up { pointer: 7, at: ScreenPoint::new(300.0, 250.0) });
    // As the browser says of every pointer that came up.
    hand.act(Gesture::Cancel { pointer: 7 });
    let held = hand.look().plan_from_screen(ScreenPoint::new(700.0, 250.0));
    go(&mut hand, 8, 720.0, 290.0);
    assert!(hand.look().screen_from_plan(held).distance(ScreenPoint::new(720.0, 290.0)) < 1e-6);
    hand.act(Gesture::Up { pointer: 8, at: ScreenPoint::new(720.0, 290.0) });
    assert!(hand.told().iter().all(|c| c == "SetCamera"));
}

#[test]
fn a_second_finger_aborts_the_drag_of_the_first() {
    let mut hand = Hand::new();
    hand.click(18.3, 4.6);
    let before = hand.session.plan.clone();
    let end = hand.at(25.2, 4.6);
    hand.act(Gesture::Down { pointer: 7, at: end, device: Device::Touch, button: 0, shift: false });
    let there = ScreenPoint::new(end.x - 90.0, end.y);
    hand.act(Gesture::Move { pointer: 7, at: there, device: Device::Touch });
    assert_ne!(hand.session.plan, before);
    let second = ScreenPoint::new(200.0, 200.0);
    hand.act(Gesture::Down { pointer: 8, at: second, device: Device::Touch, button: 0, shift: false });
    assert_eq!(hand.session.plan, before);
}

#[test]
fn undo_during_a_drag_takes_back_the_drag_and_nothing_more() {
    for key in [Key::Undo, Key::Redo] {
        let mut hand = Hand::new();
        hand.click(18.3, 4.6);
        hand.key(Key::Left);
        let (before, depth) = (hand.session.plan.clone(), hand.session.history.depth());
        hand.down(hand.at(25.1, 4.6));
        hand.go(hand.at(20.0, 4.6));
        assert_ne!(hand.session.plan, before);
        assert!(hand.act(Gesture::KeyDown { key, shift: false }), "the page must not undo a step besides");
        hand.go(hand.at(15.0, 4.6));
        hand.up(hand.at(15.0, 4.6));
        assert_eq!((&hand.session.plan, hand.session.history.depth()), (&before, depth));
        assert!(!hand.act(Gesture::KeyDown { key, shift: false }), "with nothing under way it is the page's");
    }
}

#[test]
fn a_palm_beside_the_pen_does_nothing() {
    let mut hand = Hand::new();
    hand.click(18.3, 4.6);
    let end = hand.at(25.2, 4.6);
    hand.act(Gesture::Down { pointer: 3, at: end, device: Device::Pen, button: 0, shift: false });
    let there = ScreenPoint::new(end.x - 68.0, end.y);
    hand.act(Gesture::Move { pointer: 3, at: there, device: Device::Pen });
    let palm = ScreenPoint::new(500.0, 400.0);
    hand.act(Gesture::Down { pointer: 9, at: palm, device: Device::Touch, button: 0, shift: false });
    assert!(hand.tools.is_moving());
    hand.act(Gesture::Up { pointer: 9, at: palm });
    hand.act(Gesture::Up { pointer: 3, at: there });
    assert_eq!(hand.path("cure-1")[1], Point::new(23.2, 4.6));
}

#[test]
fn a_held_arrow_key_is_one_undo_step() {
    let mut hand = Hand::new();
    hand.click(18.3, 4.6);
    let before = hand.session.plan.clone();
    hand.told();
    for _ in 0..4 {
        hand.act(Gesture::KeyDown { key: Key::Left, shift: false });
    }
    hand.act(Gesture::KeyUp { key: Key::Left });
    assert_eq!(hand.path("cure-1")[1], Point::new(24.8, 4.6));
    assert_eq!(hand.told().iter().filter(|c| *c == "Begin").count(), 1);
    hand.act(Gesture::KeyDown { key: Key::Right, shift: true });
    hand.act(Gesture::KeyUp { key: Key::Right });
    assert_eq!(hand.path("cure-1")[1], Point::new(25.8, 4.6));
    hand.session.apply(Command::Undo);
    hand.session.apply(Command::Undo);
    assert_eq!(hand.session.plan, before);
}

#[test]
fn home_moves_the_other_end_and_up_shifts_the_straight() {
    let mut hand = Hand::new();
    hand.click(18.3, 4.6);
    hand.key(Key::Home);
    hand.key(Key::Right);
    assert_eq!(hand.path("cure-1")[0], Point::new(11.1, 4.6));
    hand.key(Key::Up);
    assert_eq!(hand.path("cure-1"), [Point::new(11.1, 4.7), Point::new(25.2, 4.7)]);
}

#[test]
fn a_blurred_board_leaves_no_open_step() {
    let mut hand = Hand::new();
    hand.click(18.3, 4.6);
    hand.told();
    hand.act(Gesture::KeyDown { key: Key::Left, shift: false });
    hand.act(Gesture::Blur);
    assert_eq!(hand.told(), ["Begin", "MoveDuctPoint", "Commit"]);
}

#[test]
fn tab_steps_through_all_items_and_then_leaves() {
    let mut hand = Hand::new();
    assert!(!hand.key(Key::Tab), "nothing selected: Tab is the browser's");
    assert!(hand.key(Key::Enter));
    let mut seen = vec![hand.selected().unwrap().to_owned()];
    while hand.key(Key::Tab) {
        seen.push(hand.selected().unwrap().to_owned());
        assert!(seen.len() < 100);
    }
    for id in ["heater", "trunk", "dry-4", "return-8", "exit"] {
        assert!(seen.iter().any(|s| s == id), "{id}");
    }
    hand.key(Key::Escape);
    assert_eq!(hand.selected(), None);
    assert!(!hand.key(Key::Tab));
}

#[test]
fn enter_goes_into_a_runs_slots_and_escape_out() {
    let mut hand = Hand::new();
    hand.click(18.3, 4.6);
    hand.key(Key::Enter);
    assert_eq!(hand.selected(), Some("slots-cure-1/1"));
    hand.key(Key::Right);
    hand.key(Key::Right);
    hand.key(Key::Left);
    assert_eq!(hand.selected(), Some("slots-cure-1/2"));
    hand.key(Key::Escape);
    assert_eq!(hand.selected(), Some("cure-1"));
}

#[test]
fn on_a_run_that_goes_left_the_left_arrow_leads_downstream() {
    let mut hand = Hand::new();
    hand.session.apply(Command::Select(Some("slots-dry-1/1".into())));
    hand.key(Key::Left);
    assert_eq!(hand.selected(), Some("slots-dry-1/2"));
}

#[test]
fn a_return_slides_along_its_duct_only() {
    let mut hand = Hand::new();
    let plan = hand.session.plan.clone();
    let (place, _) = along(&plan.ducts.iter().find(|d| d.id == "return-cure").unwrap().path, 3.6);
    hand.click(place.x_m, place.y_m - 0.2);
    assert_eq!(hand.selected(), Some("return-2"));
    hand.down(hand.at(place.x_m, place.y_m - 0.2));
    hand.go(hand.at(place.x_m - 1.0, place.y_m - 1.0));
    hand.up(hand.at(place.x_m - 1.0, place.y_m - 1.0));
    let station = hand.session.plan.returns[1].station_m;
    assert!((station - 4.6).abs() < 1e-9, "{station}");
    hand.key(Key::Right);
    assert!((hand.session.plan.returns[1].station_m - 4.5).abs() < 1e-9);
}

#[test]
fn any_gestures_in_any_order_leave_no_open_step_behind() {
    // A fixed sequence of pseudo-random gestures; after each the session's invariants are swept.
    let mut state = 0x2545_f491_u32;
    let mut next = move |n: u32| {
        state ^= state << 13;
        state ^= state >> 17;
        state ^= state << 5;
        state % n
    };
    let mut hand = Hand::new();
    let keys =
        [Key::Left, Key::Up, Key::Home, Key::End, Key::Enter, Key::Escape, Key::Next, Key::Tab, Key::Space];
    for round in 0..800 {
        if round % 16 == 0 {
            let ducts = &hand.session.plan.ducts;
            let id = ducts[next(ducts.len() as u32) as usize].id.clone();
            hand.session.apply(Command::Select(Some(id)));
            hand.session.apply(Command::SetCamera(None));
        }
        // Half of the time where something can be taken hold of.
        let held = handles(&hand.session.plan, hand.selected()).first().map(|h| h.at);
        let at = match held {
            Some(p) if next(2) == 0 => hand.at(p.x_m, p.y_m),
            _ => ScreenPoint::new(f64::from(next(1000)), f64::from(next(500))),
        };
        let pointer = 1 + next(2) as i32;
        let device = [Device::Mouse, Device::Touch, Device::Pen][next(3) as usize];
        let key = keys[next(keys.len() as u32) as usize];
        let gesture = match next(10) {
            0 | 1 => Gesture::Down { pointer, at, device, button: 0, shift: false },
            2..=4 => Gesture::Move { pointer, at, device },
            5 | 6 => Gesture::Up { pointer, at },
            7 => Gesture::Cancel { pointer },
            8 => Gesture::KeyDown { key, shift: next(2) == 0 },
            _ => Gesture::KeyUp { key },
        };
        hand.act(gesture);
    }
    for pointer in [1, 2] {
        hand.act(Gesture::Cancel { pointer });
    }
    hand.act(Gesture::Blur);
    assert!(!hand.tools.is_moving());
    let opened = hand.log.iter().filter(|c| *c == "Begin").count();
    let closed = hand.log.iter().filter(|c| matches!(c.as_str(), "Commit" | "Abort")).count();
    assert_eq!(opened, closed);
    assert!(opened > 5, "the sequence moves something: {opened}");
}
