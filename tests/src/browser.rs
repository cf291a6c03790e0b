//! Opens the built page in Chromium and drives it, as a person would.
//!
//! Each test has its own server, driver, browser and profile. After it, the browser's own record is read:
//! a console error, a breach of the content-security policy or a request to any other origin fails it.
//!
//! ```no_run
//! # use tests::browser::Visit;
//! Visit::to_dist().run("the_worker_answers", async |page| {
//!     page.wait_for_text("[data-testid=worker]", "pong").await;
//! });
//! ```

use std::env;
use std::panic::{AssertUnwindSafe, resume_unwind};
use std::path::{Path, PathBuf};
use std::sync::OnceLock;
use std::time::{Duration, Instant};

use fantoccini::elements::Element;
use fantoccini::{Client, Locator};
use futures_util::FutureExt;
use launch::page::{Mode, build};
use launch::serve::Server;
use serde_json::{Value, json};
use tempfile::TempDir;

use crate::driver::{Driver, devtools, log};
use crate::golden::{artefact, in_repository};
use crate::picture::only_test_letters;

/// How long anything may take before a test gives up: far above what it does take.
pub const PATIENCE: Duration = Duration::from_secs(40);

/// How often a condition is looked at again.
const GLANCE: Duration = Duration::from_millis(20);

/// The page as `cargo start` serves it: `EVENRISE_DIST`, which `cargo verify` sets, else built now.
pub fn dist() -> &'static Path {
    static DIST: OnceLock<PathBuf> = OnceLock::new();
    DIST.get_or_init(|| built("EVENRISE_DIST", "target/test-dist", Mode::Serve))
}

/// The page as `cargo pack` writes it: `EVENRISE_PACK`, which `cargo verify` sets, else built now.
pub fn packed() -> &'static Path {
    static PACK: OnceLock<PathBuf> = OnceLock::new();
    PACK.get_or_init(|| built("EVENRISE_PACK", "target/test-pack", Mode::Pack))
}

fn built(variable: &str, folder: &str, mode: Mode) -> PathBuf {
    if let Some(folder) = env::var_os(variable) {
        return PathBuf::from(folder);
    }
    let folder = in_repository(folder);
    build(&folder, mode).unwrap_or_else(|error| panic!("the page cannot be built: {error:#}"));
    folder
}

/// What a test opens, and how.
#[derive(Debug)]
pub struct Visit {
    server: Server,
    path: String,
    view: (u32, u32),
    test_letters: bool,
    trace: Option<&'static str>,
    tolerated: Vec<&'static str>,
}

impl Visit {
    /// The page as `cargo start` serves it.
    pub fn to_dist() -> Self {
        Self::to(dist())
    }

    /// A folder, served as `cargo start` would.
    pub fn to(folder: &Path) -> Self {
        Self::new(Server::start(folder, 0), "")
    }

    /// A folder on a plain web host, below `path` ("/some/where").
    pub fn to_host(folder: &Path, path: &str) -> Self {
        Self::new(Server::start_plain(folder, path, 0), &format!("{}/", path.trim_matches('/')))
    }

    fn new(server: anyhow::Result<Server>, path: &str) -> Self {
        let server = server.unwrap_or_else(|error| panic!("{error:#}"));
        Self {
            server,
            path: path.to_owned(),
            view: (1280, 800),
            test_letters: false,
            trace: None,
            tolerated: Vec::new(),
        }
    }

    /// With this much room for the page, in CSS pixels.
    pub fn sized(mut self, width: u32, height: u32) -> Self {
        self.view = (width, height);
        self
    }

    /// In letters that are the same on every machine, and with nothing in motion: for pictures that are compared.
    pub fn in_test_letters(mut self) -> Self {
        self.test_letters = true;
        self
    }

    /// With the browser's trace of these categories, for [`Page::trace`].
    pub fn traced(mut self, categories: &'static str) -> Self {
        self.trace = Some(categories);
        self
    }

    /// Lets complaints pass that contain `text`: for tests that provoke them.
    pub fn tolerating(mut self, text: &'static str) -> Self {
        self.tolerated.push(text);
        self
    }

    /// Opens the page, runs the test, and closes the browser whatever happened.
    ///
    /// # Panics
    /// When the test does, and when the browser complained. A picture of the page is then in
    /// `tests/artefacts`.
    pub fn run(self, name: &str, test: impl AsyncFnOnce(&mut Page)) {
        let profile = tempfile::tempdir().expect("a temporary folder can be made");
        let fonts = self.test_letters.then(|| {
            let file = profile.path().join("fonts.conf");
            std::fs::write(&file, only_test_letters(&profile.path().join("fonts")))
                .unwrap_or_else(|error| panic!("cannot write {}: {error}", file.display()));
            file
        });
        let driver = Driver::start(fonts.as_deref());
        let runtime =
            tokio::runtime::Builder::new_current_thread().enable_all().build().expect("a runtime starts");
        let outcome = runtime.block_on(self.drive(name, test, &driver, &profile));
        if let Err(panic) = outcome {
            resume_unwind(panic);
        }
    }

    async fn drive(
        self,
        name: &str,
        test: impl AsyncFnOnce(&mut Page),
        driver: &Driver,
        profile: &TempDir,
    ) -> Result<(), Box<dyn std::any::Any + Send>> {
        let client = driver.session(profile, self.trace).await;
        let (width, height) = self.view;
        let view = json!({ "width": width, "height": height, "deviceScaleFactor": 1, "mobile": false });
        devtools(&client, "Emulation.setDeviceMetricsOverride", view).await;
        if self.test_letters {
            let still = json!({ "features": [{ "name": "prefers-reduced-motion", "value": "reduce" }] });
            devtools(&client, "Emulation.setEmulatedMedia", still).await;
        }
        let mut page = Page {
            client: client.clone(),
            url: format!("{}{}", self.server.url(), self.path),
            origin: self.server.url(),
            name: name.to_owned(),
            server: Some(self.server),
        };
        let tolerated = self.tolerated;
        let outcome = AssertUnwindSafe(async {
            page.open("").await;
            test(&mut page).await;
            let mut complaints = page.complaints().await;
            complaints.retain(|complaint| !tolerated.iter().any(|text| complaint.contains(text)));
            assert!(complaints.is_empty(), "the browser complained:\n{}", complaints.join("\n"));
        })
        .catch_unwind()
        .await;
        if outcome.is_err() {
            // The browser may be gone, which is then what the test says.
            if let Ok(png) = client.screenshot().await {
                let _ = std::fs::write(artefact(&format!("{name}-failed.png")), png);
            }
        }
        let _ = client.close().await;
        outcome
    }
}

/// The open page.
#[derive(Debug)]
pub struct Page {
    client: Client,
    url: String,
    origin: String,
    name: String,
    server: Option<Server>,
}

impl Page {
    /// The browser, for what this harness has no word for.
    pub fn client(&self) -> &Client {
        &self.client
    }

    /// Goes to a path below the page's own address; "" is the page.
    pub async fn open(&self, path: &str) {
        let url = format!("{}{path}", self.url);
        self.client.goto(&url).await.unwrap_or_else(|error| panic!("cannot open {url}: {error}"));
    }

    /// Loads the page anew.
    pub async fn reload(&self) {
        self.client.refresh().await.unwrap_or_else(|error| panic!("cannot reload: {error}"));
    }

    /// Takes the network away.
    pub fn stop_server(&mut self) {
        self.server = None;
    }

    /// Runs a command of the DevTools protocol: storage quota, screen size, printing and the like.
    pub async fn devtools(&self, command: &str, parameters: Value) -> Value {
        devtools(&self.client, command, parameters).await
    }

    /// Runs the body of a JavaScript function in the page and returns its value.
    pub async fn eval(&self, script: &str, args: &[Value]) -> Value {
        let value = self.client.execute(script, args.to_vec()).await;
        value.unwrap_or_else(|error| panic!("{script}\n{error}"))
    }

    /// The element, as soon as there is one.
    pub async fn find(&self, css: &str) -> Element {
        self.wait_for(&format!("{css} is there"), PATIENCE, async || {
            self.client.find(Locator::Css(css)).await.is_ok()
        })
        .await;
        self.client.find(Locator::Css(css)).await.unwrap_or_else(|error| panic!("{css}: {error}"))
    }

    /// The text a person reads in an element; `None` while there is no such element.
    pub async fn text(&self, css: &str) -> Option<String> {
        self.client.find(Locator::Css(css)).await.ok()?.text().await.ok()
    }

    /// Waits until an element reads so.
    pub async fn wait_for_text(&self, css: &str, text: &str) {
        self.wait_for(&format!("{css} reads {text:?}"), PATIENCE, async || {
            self.text(css).await.as_deref() == Some(text)
        })
        .await;
    }

    /// Waits until a JavaScript expression is true.
    pub async fn wait_until(&self, expression: &str) {
        let script = format!("return Boolean({expression});");
        self.wait_for(expression, PATIENCE, async || {
            // While the page is being exchanged there is nothing to ask.
            self.client.execute(&script, Vec::new()).await.is_ok_and(|value| value == true)
        })
        .await;
    }

    /// Waits until `done` says so.
    ///
    /// # Panics
    /// After `limit`, with the description.
    pub async fn wait_for(&self, description: &str, limit: Duration, mut done: impl AsyncFnMut() -> bool) {
        let started = Instant::now();
        while !done().await {
            assert!(started.elapsed() < limit, "waited {} s in vain: {description}", limit.as_secs());
            tokio::time::sleep(GLANCE).await;
        }
    }

    /// A picture of the window, kept in `tests/artefacts` as well.
    pub async fn screenshot(&self, name: &str) -> Vec<u8> {
        let png = self.client.screenshot().await.unwrap_or_else(|error| panic!("no screenshot: {error}"));
        let file = artefact(&format!("{}-{name}.png", self.name));
        std::fs::write(&file, &png)
            .unwrap_or_else(|error| panic!("cannot write {}: {error}", file.display()));
        png
    }

    /// What the browser has traced since its log was last read; see [`Visit::traced`].
    pub async fn trace(&self) -> Vec<Value> {
        let entries = log(&self.client, "performance").await;
        let event = |entry: &Value| -> Option<Value> {
            let mut event: Value = serde_json::from_str(entry["message"].as_str()?).ok()?;
            let message = &mut event["message"];
            (message["method"] == "Tracing.dataCollected").then(|| message["params"].take())
        };
        entries.iter().filter_map(event).collect()
    }

    /// What the browser has recorded against the page since the last call: console errors (policy breaches
    /// are among them) and requests to other origins.
    pub async fn complaints(&self) -> Vec<String> {
        let mut complaints = Vec::new();
        for entry in log(&self.client, "browser").await {
            if entry["level"] == "SEVERE" {
                complaints.push(format!("console: {}", entry["message"].as_str().unwrap_or_default()));
            }
        }
        for entry in log(&self.client, "performance").await {
            let text = entry["message"].as_str().unwrap_or_default();
            let event: Value = serde_json::from_str(text).unwrap_or_default();
            let event = &event["message"];
            if event["method"] != "Network.requestWillBeSent" {
                continue;
            }
            let url = event["params"]["request"]["url"].as_str().unwrap_or_default();
            // The browser's own pages ask for chrome: addresses as it starts.
            let network = ["http:", "https:", "ws:", "wss:"].iter().any(|scheme| url.starts_with(scheme));
            if network && !url.starts_with(&self.origin) {
                complaints.push(format!("request to another origin: {url}"));
            }
        }
        complaints
    }
}
