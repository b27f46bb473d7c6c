//! What a person does on the page of a job.

use crate::browser::Browser;
use crate::programs::Server;
use serde_json::json;

/// Begins a job from a starter, by the form on the first page.
pub async fn begin(browser: &Browser, server: &Server, name: &str, starter: &str) {
    browser.open(&server.address("/")).await;
    browser.fill("#begin input[name=name]", name).await;
    browser.click(&format!("#begin select[name=starter] option[value='{starter}']")).await;
    browser.click_to_next_page("#begin form[action='/jobs/new'] button").await;
}

/// Takes in a job file, by the form on the first page.
pub async fn import(browser: &Browser, server: &Server, text: &str) {
    browser.open(&server.address("/")).await;
    browser.click("details:has(#import) > summary").await;
    browser.fill("#import-text", text).await;
    browser.click_to_next_page("#import button").await;
}

/// The revision that the page says is saved.
pub async fn revision(browser: &Browser) -> i64 {
    browser.run("return Number(document.querySelector('#saved').dataset.revision)", &[]).await.as_i64().unwrap()
}

/// Waits until a revision after `before` is saved.
pub async fn saved_after(browser: &Browser, before: i64) {
    browser
        .wait_for("the change to be saved", &format!("document.querySelector('#saved').dataset.revision > {before}"))
        .await;
}

/// Waits until the ranking is that of what is saved.
pub async fn weighed(browser: &Browser) {
    let is_new =
        "document.querySelector('#finding').dataset.revision === document.querySelector('#saved').dataset.revision";
    let is_done = "!document.querySelector('#finding').hasAttribute('aria-busy')";
    browser.wait_for("the readings to be weighed", &format!("{is_new} && {is_done}")).await;
}

/// Opens what is folded.
pub async fn unfold(browser: &Browser, id: &str) {
    let is_open = browser.run("return document.getElementById(arguments[0]).open", &[json!(id)]).await;
    if is_open != json!(true) {
        browser.click(&format!("[id='{id}'] > summary")).await;
    }
}

/// Chooses what two taps on the drawing make: `reading` or `wire`.
pub async fn tapping_makes(browser: &Browser, what: &str) {
    browser.click(&format!("#tap-mode label:has([value={what}])")).await;
}

/// Taps a terminal on the drawing.
pub async fn tap(browser: &Browser, terminal: &str) {
    browser.click(&format!("#wiring [data-terminal='{terminal}'] .ink")).await;
}

/// Chooses the setup of the next reading.
pub async fn choose_setup(browser: &Browser, setup: &str) {
    browser.click(&format!("#entry-setup option[value='{setup}']")).await;
}

/// Confirms the precautions of the chosen live setup.
pub async fn confirm_precautions(browser: &Browser, setup: &str) {
    let caution = format!(".caution[data-for-setup='{setup}']");
    browser.click(&format!("{caution} input[type=checkbox]")).await;
    browser.click(&format!("{caution} button")).await;
    let confirmed = format!("document.querySelector(\"{caution} .confirmed\")");
    browser.wait_for("the precautions to be confirmed", &confirmed).await;
}

/// A reading by two taps on the drawing and a figure, in a unit of the row of units; it is weighed when this returns.
pub async fn read_by_taps(browser: &Browser, [from, to]: [&str; 2], value: &str, unit: &str) {
    let before = revision(browser).await;
    tap(browser, from).await;
    tap(browser, to).await;
    browser.fill("#entry-value", value).await;
    browser.click(&format!("#reading-form .chips label:has([value='{unit}'])")).await;
    browser.click("#reading-form button.main").await;
    saved_after(browser, before).await;
    weighed(browser).await;
}

/// A reading by two taps and one of the words that have a button: `open` or `dead`.
pub async fn read_word_by_taps(browser: &Browser, [from, to]: [&str; 2], word: &str) {
    let before = revision(browser).await;
    tap(browser, from).await;
    tap(browser, to).await;
    browser.click(&format!("#reading-form button[value={word}]")).await;
    saved_after(browser, before).await;
    weighed(browser).await;
}

/// A reading in one line, ended with Enter.
pub async fn read_line(browser: &Browser, line: &str) {
    let before = revision(browser).await;
    browser.fill("#entry-line", &format!("{line}\n")).await;
    saved_after(browser, before).await;
    weighed(browser).await;
}

/// Readings and symptoms in the list.
pub async fn entries(browser: &Browser) -> usize {
    browser.count("#readings tbody tr").await
}

/// Shows levels and current paths of the first suspect, in the first live setup.
pub async fn show_pictures(browser: &Browser) {
    browser.click("#levels form[action$='/pictures'] button").await;
    browser.wait_for("levels and current paths", "document.querySelectorAll('#pictures svg').length > 0").await;
}
