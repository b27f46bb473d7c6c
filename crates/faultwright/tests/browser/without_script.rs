//! The way from a new job to a ranking through plain forms, in a browser that runs no scripts.

use crate::browser::{Browser, PHONE, Scripts, in_browser};
use crate::programs::Server;
use std::time::Duration;

#[test]
fn without_script() {
    in_browser(async {
        let server = Server::start();
        let browser = Browser::start(Scripts::Forbidden).await;
        browser.open(&server.address("/")).await;
        browser.fill("#begin input[name=name]", "Blower without script").await;
        browser.click_to_next_page("#begin form[action='/jobs/new'] button").await;
        // With scripts, the page would weigh the readings by itself.
        tokio::time::sleep(Duration::from_millis(500)).await;
        assert_eq!(browser.count("#finding[data-load]").await, 1, "a script has run");

        browser.click("#entry-setup option[value=unplugged]").await;
        reading(&browser, "M1.common", "M1.high", "27.1", "").await;
        assert!(browser.text("#readings").await.contains("27.1"));
        a_live_one(&browser).await;

        browser.width(PHONE).await;
        browser.no_sideways_scrolling().await;
        browser.shot("without-script-360").await;
        browser.click_to_next_page("#suspects a[href$='/finding']").await;
        assert!(browser.text("#suspects .suspects li").await.contains('%'));
        assert!(browser.text("#next").await.contains("Setup "), "no next check");
        browser.no_sideways_scrolling().await;
        browser.shot("ranking-without-script-360").await;
    });
}

/// Fills the form of a reading in the setup chosen and sends it.
async fn reading(browser: &Browser, from: &str, to: &str, value: &str, unit: &str) {
    browser.fill("#entry-from", from).await;
    browser.fill("#entry-to", to).await;
    browser.fill("#entry-value", value).await;
    browser.click(&format!("#reading-form label:has([name=unit][value='{unit}'])")).await;
    browser.click_to_next_page("#reading-form button.main").await;
}

/// A live reading: refused by a page that says why, taken when its precautions are confirmed.
async fn a_live_one(browser: &Browser) {
    browser.click("#entry-setup option[value=high]").await;
    reading(browser, "cord.hot", "", "0.9", "A").await;
    assert!(browser.text("#notice.trouble").await.contains("confirm first"));
    browser.click_to_next_page("main a[href^='/jobs/']").await;
    let caution = ".caution[data-for-setup=high]";
    browser.click(&format!("{caution} input[type=checkbox]")).await;
    browser.click_to_next_page(&format!("{caution} button")).await;
    assert_eq!(browser.count(&format!("{caution} .confirmed")).await, 1);
    browser.click("#entry-setup option[value=high]").await;
    reading(browser, "cord.hot", "", "0.9", "A").await;
    let readings = browser.text("#readings").await;
    assert!(readings.contains("0.9"), "{readings}");
}
