//! Words for the planner's own page: what a person does on it, and what the engine says of the same plan.

use std::fs;
use std::path::PathBuf;

use engine::analysis::{Analysis, analyse};
use engine::plan::{Plan, file};
use fantoccini::actions::{InputSource, MOUSE_BUTTON_LEFT, MouseActions, PointerAction};
use serde_json::json;
use tempfile::TempDir;
use tests::browser::{PATIENCE, Page};
use tests::golden::in_repository;

/// WebDriver's names for keys.
pub const ENTER: &str = "\u{e007}";
/// Everything in a field, marked.
const ALL: &str = "\u{e009}a\u{e000}";

/// True once the figures shown are those of the plan shown.
pub const CALCULATED: &str = "(() => { const tally = document.querySelector('[data-testid=tally]'); \
    return tally && tally.getAttribute('aria-busy') === 'false' \
    && tally.dataset.generation === tally.dataset.analysed \
    && !document.querySelector('[data-testid=cancel]'); })()";

/// The example plan of this file name.
pub fn example(name: &str) -> Plan {
    file::read(&example_text(name)).unwrap()
}

/// The text of an example plan.
pub fn example_text(name: &str) -> String {
    fs::read_to_string(in_repository("tests/plans").join(name)).unwrap()
}

/// The demonstration.
pub const DEMO: &str = "garden-gates.evenrise.json";

/// The page with a plan on it.
pub struct Planner<'page> {
    pub page: &'page mut Page,
    folder: TempDir,
}

impl<'page> Planner<'page> {
    /// Waits until the plan that the page opened with is calculated.
    pub async fn up(page: &'page mut Page) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let saved = folder.path().join("saved");
        fs::create_dir(&saved).unwrap();
        let where_to = json!({ "behavior": "allow", "downloadPath": saved.to_str().unwrap() });
        page.devtools("Browser.setDownloadBehavior", where_to).await;
        let planner = Self { page, folder };
        planner.calculated().await;
        planner
    }

    /// Waits until the figures shown are those of the plan shown.
    pub async fn calculated(&self) {
        self.page.wait_until(CALCULATED).await;
    }

    /// Clicks, as a hand with a mouse.
    pub async fn click(&self, testid: &str) {
        self.click_on(&css(testid)).await;
    }

    /// Clicks on what a selector finds, scrolled out from under bars that stay where they are, once it
    /// stands still: tables are laid out only when they come into sight, and move what is below them.
    pub async fn click_on(&self, selector: &str) {
        let element = self.page.find(selector).await;
        let still = "const [selector, done] = arguments;
            let was = '';
            const look = () => {
                const element = document.querySelector(selector);
                element?.scrollIntoView({ block: 'center', behavior: 'instant' });
                const { x, y } = element?.getBoundingClientRect() ?? {};
                if (`${x} ${y}` === was) return done();
                was = `${x} ${y}`;
                requestAnimationFrame(look);
            };
            look();";
        let scrolled = self.page.client().execute_async(still, vec![selector.into()]).await;
        scrolled.unwrap_or_else(|error| panic!("cannot scroll to {selector}: {error}"));
        element.click().await.unwrap_or_else(|error| panic!("cannot click {selector}: {error}"));
    }

    /// Presses a button by the keyboard: it must take the focus, and Enter must do.
    pub async fn press(&self, testid: &str) {
        self.page.find(&css(testid)).await;
        let focus = format!(
            "const e = document.querySelector('{}'); e.focus(); return document.activeElement === e && e.tabIndex >= 0;",
            css(testid)
        );
        assert_eq!(self.page.eval(&focus, &[]).await, true, "{testid} cannot be reached by the keyboard");
        let element = self.page.client().active_element().await.unwrap();
        element.send_keys(ENTER).await.unwrap_or_else(|error| panic!("cannot press {testid}: {error}"));
    }

    /// Types into a field over what stands there, and enters it.
    pub async fn enter(&self, testid: &str, text: &str) {
        let element = self.page.find(&css(testid)).await;
        let keys = format!("{ALL}{text}{ENTER}");
        element.send_keys(&keys).await.unwrap_or_else(|error| panic!("cannot type in {testid}: {error}"));
    }

    /// Types a quantity and waits until the plan has it, in SI.
    pub async fn set(&self, testid: &str, text: &str, si: f64) {
        self.enter(testid, text).await;
        self.page
            .wait_for(&format!("{testid} is {si}"), PATIENCE, async || {
                self.number(testid).await.is_some_and(|value| (value - si).abs() <= 1e-9 * si.abs())
            })
            .await;
    }

    /// The figure that an element stands for, in SI.
    pub async fn number(&self, testid: &str) -> Option<f64> {
        self.attribute(testid, "data-value").await?.parse().ok()
    }

    /// An attribute; none where it or the element is missing.
    pub async fn attribute(&self, testid: &str, name: &str) -> Option<String> {
        let script = "return document.querySelector(arguments[0])?.getAttribute(arguments[1]) ?? null;";
        self.page.eval(script, &[css(testid).into(), name.into()]).await.as_str().map(str::to_owned)
    }

    /// What is read in an element.
    pub async fn text(&self, testid: &str) -> String {
        self.page.text(&css(testid)).await.unwrap_or_default()
    }

    /// Waits until an element is read to contain all `words`.
    pub async fn says(&self, testid: &str, words: &[&str]) {
        self.page
            .wait_for(&format!("{testid} says {words:?}"), PATIENCE, async || {
                let text = self.text(testid).await;
                words.iter().all(|word| text.contains(word))
            })
            .await;
    }

    /// Waits until Undo would take back `what`; none for nothing.
    pub async fn can_undo(&self, what: Option<&str>) {
        let title = what.map_or("Nothing to undo".to_owned(), |what| format!("Undo: {what} (Ctrl Z)"));
        self.page
            .wait_for(&title, PATIENCE, async || {
                self.attribute("undo", "title").await.as_deref() == Some(&title)
            })
            .await;
    }

    /// Takes the last step back; it must have been `what`.
    pub async fn undo(&self, what: &str) {
        self.can_undo(Some(what)).await;
        self.click("undo").await;
        self.says("status", &["Undone:", what]).await;
        self.calculated().await;
    }

    /// Takes the last undone step again; it must have been `what`.
    pub async fn redo(&self, what: &str) {
        self.click("redo").await;
        self.says("status", &["Done again:", what]).await;
        self.calculated().await;
    }

    /// Saves to a file; its text.
    pub async fn saved_text(&self) -> String {
        self.click("file-save").await;
        self.downloaded("json").await
    }

    /// The text of the file that is being saved, whose name ends so.
    pub async fn downloaded(&self, ending: &str) -> String {
        let bytes = self.downloaded_bytes(ending).await;
        String::from_utf8(bytes).unwrap()
    }

    /// The bytes of the file that is being saved, whose name ends so.
    pub async fn downloaded_bytes(&self, ending: &str) -> Vec<u8> {
        let folder = self.folder.path().join("saved");
        let finished = || -> Option<PathBuf> {
            let path = fs::read_dir(&folder).unwrap().next()?.unwrap().path();
            // While it is being written it has another ending, or nothing in it.
            let whole = path.extension()? == ending && fs::metadata(&path).ok()?.len() > 0;
            whole.then_some(path)
        };
        self.page.wait_for("a file is saved", PATIENCE, async || finished().is_some()).await;
        let path = finished().unwrap();
        let bytes = fs::read(&path).unwrap();
        fs::remove_file(&path).unwrap();
        bytes
    }

    /// The plan on the page, by way of a file.
    pub async fn plan(&self) -> Plan {
        file::read(&self.saved_text().await).unwrap()
    }

    /// Picks a file of this name and text in the page's file dialog.
    pub async fn pick(&self, name: &str, text: &str) {
        self.pick_for("file-open", name, text).await;
    }

    /// The same in another of its dialogs.
    pub async fn pick_for(&self, testid: &str, name: &str, text: &str) {
        let path = self.folder.path().join(name);
        fs::write(&path, text).unwrap();
        self.page.find(&css(testid)).await.send_keys(path.to_str().unwrap()).await.unwrap();
    }

    /// Opens a file that is a sound plan.
    pub async fn open(&self, name: &str, text: &str) {
        self.pick(name, text).await;
        self.says("status", &["Opened", name]).await;
        self.calculated().await;
    }

    /// The bits of the figures on the page.
    pub async fn fingerprint(&self) -> String {
        self.calculated().await;
        self.attribute("tally", "data-fingerprint").await.expect("the tally has a fingerprint")
    }

    /// The figures on the page are the engine's own for `plan`, to the last bit.
    pub async fn shows(&self, plan: &Plan) -> Analysis {
        let native = analyse(plan).unwrap();
        assert_eq!(native.status, "converged");
        let bits = format!("{:016x}", native.fingerprint());
        // Under a drag the air is followed first; all bits are there once the hand rests.
        self.page
            .wait_for(&format!("the figures are those of {bits}"), PATIENCE, async || {
                self.attribute("tally", "data-fingerprint").await.as_deref() == Some(&*bits)
            })
            .await;
        for (testid, value) in [
            ("tally-worst", native.evenness.worst_percent),
            ("tally-cv", native.evenness.cv_percent),
            ("tally-flow", native.total_flow_kg_s),
            ("tally-fan-flow", native.fan.flow_m3_s),
            ("tally-power", native.fan.shaft_power_w),
            ("tally-stall", native.fan.stall_margin_percent),
        ] {
            assert_eq!(self.number(testid).await, Some(value), "{testid}");
        }
        native
    }

    /// Runs a computation of the page and waits for its report.
    pub async fn compute(&self, testid: &str, label: &str) {
        self.click(testid).await;
        self.says("status", &[&format!("{label}: worst slot")]).await;
        self.calculated().await;
    }

    /// Selects an item in the table of a step.
    pub async fn select(&self, step: &str, id: &str) {
        self.click(&format!("step-{step}")).await;
        self.click("dock-tables").await;
        self.click(&format!("{id}-select")).await;
        self.page.find(&format!("[data-testid=card][aria-label$=\" {id}\"]")).await;
    }

    /// Shows the page "light" or "dark".
    pub async fn theme(&self, name: &str) {
        let now = "return document.documentElement.dataset.theme;";
        // The button goes round three: as the system has it, light, dark.
        for _ in 0..3 {
            if self.page.eval(now, &[]).await != name {
                self.click("theme").await;
            }
        }
        assert_eq!(self.page.eval(now, &[]).await, name);
        // The board is painted in a turn of its own.
        self.board_painted(name).await;
    }

    /// Waits until the board is painted light or dark.
    pub async fn board_painted(&self, shade: &str) {
        let board = "document.querySelector('[data-testid=board]').dataset.look.endsWith";
        self.page.wait_until(&format!("{board}('{shade}')")).await;
        self.frame().await;
    }

    /// Where a place of the plan is in the window.
    pub async fn on_board(&self, x_m: f64, y_m: f64) -> (f64, f64) {
        let script = "const board = document.querySelector('[data-testid=board]'); \
            const box = board.getBoundingClientRect(); \
            const [x, y, scale] = board.dataset.look.split(' ').map(Number); \
            return [box.left + box.width / 2 + (arguments[0] - x) * scale, \
                box.top + box.height / 2 - (arguments[1] - y) * scale];";
        self.frame().await;
        let at = self.page.eval(script, &[x_m.into(), y_m.into()]).await;
        (at[0].as_f64().unwrap(), at[1].as_f64().unwrap())
    }

    /// Waits until what was asked to be painted is painted.
    pub async fn frame(&self) {
        let script = "return new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(() => done(true))));";
        self.page.eval(script, &[]).await;
    }

    /// Presses the mouse at one place in the window and moves it to another, without letting go.
    pub async fn grab(&self, from: (f64, f64), to: (f64, f64)) {
        let half = ((from.0 + to.0) / 2.0, (from.1 + to.1) / 2.0);
        let go = |(x, y): (f64, f64)| PointerAction::MoveTo { duration: None, x, y };
        let actions = MouseActions::new("mouse".to_owned())
            .then(go(from))
            .then(PointerAction::Down { button: MOUSE_BUTTON_LEFT })
            .then(go(half))
            .then(go(to));
        self.page.client().perform_actions(actions).await.unwrap();
    }

    /// Lets the mouse go.
    pub async fn let_go(&self) {
        let up = PointerAction::Up { button: MOUSE_BUTTON_LEFT };
        self.page.client().perform_actions(MouseActions::new("mouse".to_owned()).then(up)).await.unwrap();
    }
}

/// The selector of a test name.
pub fn css(testid: &str) -> String {
    format!("[data-testid=\"{testid}\"]")
}
