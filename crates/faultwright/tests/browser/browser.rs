//! A browser of its own for a test: opening, clicking, typing, waiting, looking.

use crate::programs::{Driver, chromium};
use serde_json::{Value, json};
use std::cell::Cell;
use std::path::PathBuf;
use std::sync::Arc;
use std::time::{Duration, Instant};
use thirtyfour::common::command::ExtensionCommand;
use thirtyfour::prelude::*;
use thirtyfour::{BrowserLogEntry, ChromeCapabilities, LoggingPrefsLogLevel};

/// How long anything may take before a test gives up.
const PATIENCE: Duration = Duration::from_secs(60);
const LOOK_EVERY: Duration = Duration::from_millis(40);
/// The tallest picture, in pixels.
const TALLEST: u64 = 16_000;
/// How wide the page is and its window, and what reaches beyond it without a frame that scrolls.
const SIDEWAYS: &str = r"
    const width = Math.min(document.documentElement.clientWidth, arguments[0]);
    const far = (e) => e.getBoundingClientRect().right > width + 1 && !e.closest('.scroll, .drawing-frame, .steps, pre, .hidden');
    const culprits = [...document.body.querySelectorAll('*')].filter(far).slice(0, 5).map((e) => e.outerHTML.slice(0, 120));
    return { content: document.documentElement.scrollWidth, window: width, culprits };
";
/// A laptop's window and a phone held upright.
pub const LAPTOP: u32 = 1280;
pub const PHONE: u32 = 360;

/// Does a test, unless those in a browser are not wanted; then it says so.
pub fn in_browser(test: impl Future<Output = ()>) {
    if std::env::var_os("FAULTWRIGHT_WITHOUT_BROWSER").is_some_and(|value| value == "1") {
        eprintln!("skipped: FAULTWRIGHT_WITHOUT_BROWSER is set");
        return;
    }
    // A worker of its own for the connection: a browser dropped ends its session while this thread waits for that.
    let runtime = tokio::runtime::Builder::new_multi_thread().worker_threads(1).enable_all().build().unwrap();
    runtime.block_on(test);
}

/// Whether pages may run scripts.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Scripts {
    Allowed,
    Forbidden,
}

/// One person's browser. Ends with the test.
pub struct Browser {
    // Dropped in this order: the session ends before its driver, and its profile goes last.
    driver: WebDriver,
    _process: Driver,
    _profile: tempfile::TempDir,
    width: Cell<u32>,
}

/// A command of the browser's developer tools protocol, which chromedriver passes on.
#[derive(Debug)]
struct DeveloperTools(&'static str, Value);

impl ExtensionCommand for DeveloperTools {
    fn parameters_json(&self) -> Option<Value> {
        Some(json!({ "cmd": self.0, "params": self.1 }))
    }
    fn method(&self) -> reqwest::Method {
        reqwest::Method::POST
    }
    fn endpoint(&self) -> Arc<str> {
        "/goog/cdp/execute".into()
    }
}

impl Browser {
    pub async fn start(scripts: Scripts) -> Self {
        let process = Driver::start();
        let profile = tempfile::tempdir().unwrap();
        let mut wishes = ChromeCapabilities::new();
        wishes.set_binary(chromium().to_str().unwrap()).unwrap();
        for flag in [
            "--headless",
            "--no-sandbox",
            "--disable-gpu",
            "--disable-background-networking",
            "--disable-component-update",
            "--disable-sync",
            "--no-first-run",
            "--window-size=1280,900",
        ] {
            wishes.add_arg(flag).unwrap();
        }
        wishes.add_arg(&format!("--user-data-dir={}", profile.path().display())).unwrap();
        if scripts == Scripts::Forbidden {
            let forbidden = json!({ "profile.managed_default_content_settings.javascript": 2 });
            wishes.add_experimental_option("prefs", forbidden).unwrap();
        }
        wishes.set_browser_log_level(LoggingPrefsLogLevel::All).unwrap();
        let driver = WebDriver::new(process.address(), wishes).await.unwrap();
        let browser = Browser { driver, _process: process, _profile: profile, width: Cell::new(LAPTOP) };
        browser.width(LAPTOP).await;
        browser
    }

    /// What a command of the developer tools answers.
    pub async fn developer_tools(&self, command: &'static str, parameters: Value) -> Value {
        let command = Box::new(DeveloperTools(command, parameters));
        let answer = self.driver.cmd(thirtyfour::common::command::Command::ExtensionCommand(command)).await.unwrap();
        answer.value_json().unwrap()
    }

    /// Makes the window this wide, a phone's if narrow.
    pub async fn width(&self, width: u32) {
        self.width.set(width);
        self.height(if width < 600 { 740 } else { 900 }).await;
    }

    async fn height(&self, height: u64) {
        let width = self.width.get();
        let size = json!({ "width": width, "height": height, "deviceScaleFactor": 1, "mobile": width < 600 });
        self.developer_tools("Emulation.setDeviceMetricsOverride", size).await;
    }

    /// Light or dark, as the person's system says.
    pub async fn scheme(&self, scheme: &str) {
        let features = json!({ "features": [{ "name": "prefers-color-scheme", "value": scheme }] });
        self.developer_tools("Emulation.setEmulatedMedia", features).await;
    }

    pub async fn open(&self, address: &str) {
        self.driver.goto(address).await.unwrap();
    }

    pub async fn reload(&self) {
        self.driver.refresh().await.unwrap();
    }

    /// Path of the page.
    pub async fn path(&self) -> String {
        self.driver.current_url().await.unwrap().path().to_owned()
    }

    /// What a script in the page returns.
    pub async fn run(&self, script: &str, given: &[Value]) -> Value {
        self.driver.execute(script, given.to_vec()).await.unwrap().json().clone()
    }

    /// What a script in the page gives to the function that is its last argument.
    pub async fn run_and_wait(&self, script: &str) -> Value {
        self.driver.execute_async(script, Vec::new()).await.unwrap().json().clone()
    }

    /// Waits until an expression in the page is true, null, false and errors not being so.
    pub async fn wait_for(&self, what: &str, expression: &str) {
        self.wait_at_most(PATIENCE, what, expression).await;
    }

    pub async fn wait_at_most(&self, patience: Duration, what: &str, expression: &str) {
        let script = format!("try {{ return !!({expression}); }} catch {{ return false; }}");
        let end = Instant::now() + patience;
        while self.run(&script, &[]).await != json!(true) {
            if Instant::now() > end {
                self.shot("gave-up").await;
                let said = "return ['notice', 'status', 'saved', 'problems'].map((id) => id + ': ' + \
                            (document.getElementById(id)?.innerText || '')).join(' | ')";
                let (said, path) = (self.run(said, &[]).await, self.path().await);
                panic!("waited in vain for {what} ({expression}) on {path}, which says {said}");
            }
            tokio::time::sleep(LOOK_EVERY).await;
        }
    }

    pub async fn find(&self, css: &str) -> WebElement {
        self.driver.find(By::Css(css)).await.unwrap_or_else(|error| panic!("{css}: {error}"))
    }

    pub async fn count(&self, css: &str) -> usize {
        self.driver.find_all(By::Css(css)).await.unwrap().len()
    }

    pub async fn text(&self, css: &str) -> String {
        self.find(css).await.text().await.unwrap()
    }

    /// Scrolls to something as a person would, and clicks it; fails if anything lies over it.
    pub async fn click(&self, css: &str) {
        let element = self.find(css).await;
        let to_middle = "arguments[0].scrollIntoView({ block: 'center', inline: 'center', behavior: 'instant' })";
        self.run(to_middle, &[element.to_json().unwrap()]).await;
        element.click().await.unwrap_or_else(|error| panic!("{css} cannot be clicked: {error}"));
    }

    /// Clicks what leads to another page, and waits for that.
    pub async fn click_to_next_page(&self, css: &str) {
        self.run("window.isOldPage = true", &[]).await;
        self.click(css).await;
        self.wait_for("the next page", "!window.isOldPage && document.readyState === 'complete'").await;
    }

    /// Puts a text in the place of what a field holds.
    pub async fn fill(&self, css: &str, text: &str) {
        let field = self.find(css).await;
        field.clear().await.unwrap();
        field.send_keys(text).await.unwrap_or_else(|error| panic!("{css} cannot be typed in: {error}"));
    }

    /// Types behind what a field holds.
    pub async fn type_in(&self, css: &str, text: impl Into<thirtyfour::TypingData>) {
        self.find(css).await.send_keys(text).await.unwrap();
    }

    /// Presses keys wherever the focus is.
    pub async fn press(&self, keys: impl Into<thirtyfour::TypingData>) {
        self.driver.action_chain().send_keys(keys).perform().await.unwrap();
    }

    /// Presses a key with another held down.
    pub async fn press_with(&self, held: Key, key: impl Into<char>) {
        let key = key.into();
        let chain = self.driver.action_chain().key_down(held.clone()).key_down(key).key_up(key).key_up(held);
        chain.perform().await.unwrap();
    }

    /// What went to the console since the last look: errors, warnings, violations of the content policy, refused requests.
    pub async fn complaints(&self) -> Vec<BrowserLogEntry> {
        let mut log = self.driver.browser_log().await.unwrap();
        log.retain(|entry| entry.level == "SEVERE" || entry.level == "WARNING");
        log
    }

    /// Fails if anything went to the console since the last look.
    pub async fn no_complaints(&self) {
        let complaints = self.complaints().await;
        assert!(complaints.is_empty(), "the console holds {complaints:#?}");
    }

    /// Fails unless one request was refused with this status, and nothing else went to the console.
    pub async fn one_refusal(&self, status: u16) {
        let complaints = self.complaints().await;
        let is_it = complaints.len() == 1 && complaints[0].message.contains(&format!("status of {status}"));
        assert!(is_it, "not one refusal with {status}, but {complaints:#?}");
    }

    /// Fails if the page as a whole scrolls sideways.
    pub async fn no_sideways_scrolling(&self) {
        let seen = self.run(SIDEWAYS, &[self.width.get().into()]).await;
        let path = self.path().await;
        assert!(
            seen["content"].as_u64() <= seen["window"].as_u64(),
            "{path} scrolls sideways: {} pixels of content in a window of {}; too far right: {}",
            seen["content"],
            seen["window"],
            seen["culprits"]
        );
    }

    /// Leaves a picture of the whole page in the folder that cargo keeps for tests.
    pub async fn shot(&self, name: &str) {
        self.shot_of("body", name).await;
    }

    /// Leaves a picture of one element.
    pub async fn shot_of(&self, css: &str, name: &str) {
        let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("screens");
        std::fs::create_dir_all(&folder).unwrap();
        // Only what is in the window is in the picture, so the window is made as tall as the page.
        let tall = self.run("return document.documentElement.scrollHeight", &[]).await;
        self.height(tall.as_u64().unwrap().min(TALLEST)).await;
        self.find(css).await.screenshot(&folder.join(format!("{name}.png"))).await.unwrap();
        self.width(self.width.get()).await;
    }
}
