//! ChromeDriver and one session of Chromium.

use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::Duration;

use fantoccini::wd::{Capabilities, WebDriverCompatibleCommand};
use fantoccini::{Client, ClientBuilder};
use http::Method;
use hyper_util::client::legacy::connect::HttpConnector;
use launch::verify::find_browser;
use serde_json::{Value, json};
use tempfile::TempDir;
use url::{ParseError, Url};

/// A browser that cannot show itself hangs rather than say so.
const START_LIMIT: Duration = Duration::from_secs(60);

/// What keeps Chromium to the page under test.
const FLAGS: [&str; 13] = [
    "--headless=new",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-features=SpareRendererForSitePerProcess",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--disable-dev-shm-usage",
    "--hide-scrollbars",
    "--force-color-profile=srgb",
    "--lang=en-US",
];

/// A running ChromeDriver; ended when dropped.
#[derive(Debug)]
pub struct Driver {
    process: Child,
    port: u16,
    chromium: String,
}

impl Driver {
    /// Starts it on a free port of its own choice; its browsers know only the letters of the font configuration
    /// `fonts`, or all of the system's.
    ///
    /// # Panics
    /// When there is no browser or no driver; the message says what to do.
    pub fn start(fonts: Option<&Path>) -> Self {
        let browser = find_browser().unwrap_or_else(|missing| panic!("{missing}"));
        // The port that is free to one family of addresses may be taken in the other; then it ends, and asks anew.
        let started = (0..5).find_map(|_| {
            let mut process = Command::new(&browser.driver)
                .envs(fonts.map(|file| ("FONTCONFIG_FILE", file)))
                .arg("--port=0")
                .stdin(Stdio::null())
                .stdout(Stdio::piped())
                .stderr(Stdio::null())
                .spawn()
                .unwrap_or_else(|error| panic!("cannot run {}: {error}", browser.driver.display()));
            let mut lines = BufReader::new(process.stdout.take().expect("stdout is piped")).lines();
            let port = lines.by_ref().map_while(Result::ok).find_map(|line| {
                let port = line.split_once("started successfully on port ")?.1;
                port.trim_end_matches('.').parse().ok()
            });
            if port.is_none() {
                let _ = process.kill();
                let _ = process.wait();
            }
            Some((process, lines, port?))
        });
        let Some((process, lines, port)) = started else {
            panic!("{} ends without naming its port", browser.driver.display());
        };
        // A full pipe would stop it.
        std::thread::spawn(move || lines.for_each(drop));
        Self { process, port, chromium: browser.chromium.to_string_lossy().into_owned() }
    }

    /// Opens a browser with the profile in `profile`; `trace` names what its performance log is to hold besides.
    pub async fn session(&self, profile: &TempDir, trace: Option<&str>) -> Client {
        let mut args: Vec<String> = FLAGS.map(String::from).into();
        args.push(format!("--user-data-dir={}", profile.path().display()));
        let mut options = json!({ "binary": self.chromium, "args": args });
        if let Some(categories) = trace {
            options["perfLoggingPrefs"] = json!({ "traceCategories": categories });
        }
        let Value::Object(capabilities) = json!({
            "browserName": "chrome",
            "goog:chromeOptions": options,
            "goog:loggingPrefs": { "browser": "ALL", "performance": "ALL" },
        }) else {
            unreachable!("the capabilities are an object");
        };
        let address = format!("http://127.0.0.1:{}", self.port);
        let mut builder = ClientBuilder::new(HttpConnector::new());
        builder.capabilities(Capabilities::from(capabilities));
        tokio::time::timeout(START_LIMIT, builder.connect(&address))
            .await
            .unwrap_or_else(|_| panic!("Chromium did not start within {} s", START_LIMIT.as_secs()))
            .unwrap_or_else(|error| panic!("Chromium did not start: {error}"))
    }
}

impl Drop for Driver {
    fn drop(&mut self) {
        // Fails only for a process that has already ended.
        let _ = self.process.kill();
        let _ = self.process.wait();
    }
}

/// The entries that were added to one of the browser's logs since the last call.
pub async fn log(client: &Client, kind: &str) -> Vec<Value> {
    let entries = post(client, "se/log", json!({ "type": kind })).await;
    entries.as_array().cloned().unwrap_or_default()
}

/// Runs a command of the DevTools protocol.
pub async fn devtools(client: &Client, command: &str, parameters: Value) -> Value {
    post(client, "goog/cdp/execute", json!({ "cmd": command, "params": parameters })).await
}

/// Sends one of ChromeDriver's own commands.
async fn post(client: &Client, path: &'static str, body: Value) -> Value {
    let answer = client.issue_cmd(Post { path, body }).await;
    answer.unwrap_or_else(|error| panic!("ChromeDriver refused {path}: {error}"))
}

#[derive(Debug)]
struct Post {
    path: &'static str,
    body: Value,
}

impl WebDriverCompatibleCommand for Post {
    fn endpoint(&self, base: &Url, session: Option<&str>) -> Result<Url, ParseError> {
        base.join(&format!("session/{}/{}", session.unwrap_or_default(), self.path))
    }

    fn method_and_body(&self, _: &Url) -> (Method, Option<String>) {
        (Method::POST, Some(self.body.to_string()))
    }
}
