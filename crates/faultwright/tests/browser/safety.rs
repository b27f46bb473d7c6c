//! The safety sheet: reached from the job, filled in, a value without its unit refused with nothing lost.

use crate::browser::{Browser, LAPTOP, PHONE, Scripts, in_browser};
use crate::job_page::*;
use crate::programs::Server;

#[test]
fn safety_sheet() {
    in_browser(async {
        let server = Server::start();
        let browser = Browser::start(Scripts::Allowed).await;
        import(&browser, &server, crate::runs::GREENHOUSE_HEATER).await;
        browser.click_to_next_page("nav.steps a[href$='/safety']").await;
        let text = browser.text("#main").await;
        for words in ["EN 50678", "Not proven yet", "Local codes", "a later entry counts", "LIVE", "at most 0.3 ohm"] {
            assert!(text.contains(words), "{words}: {text}");
        }
        for width in [LAPTOP, PHONE] {
            browser.width(width).await;
            browser.no_sideways_scrolling().await;
            browser.shot(&format!("safety-{width}")).await;
        }
        // What is left to do: with a seen result the sheet passes.
        let before = revision(&browser).await;
        browser.fill("#functional input[name=instrument]", "clamp").await;
        browser.click("#functional form:has([name=reason]) button").await;
        saved_after(&browser, before).await;
        assert!(browser.text("#outcome").await.contains("every required test has passed"));
        browser.no_complaints().await;
        // A value without its unit is refused, and what was typed stays.
        browser.fill("#earth-continuity input[name=value]", "0.12").await;
        browser.click("#earth-continuity form:has([name=reason]) button").await;
        browser.wait_for("a refusal", "document.querySelector('.trouble')?.textContent.includes('has no unit')").await;
        let kept = browser.run("return document.querySelector('#earth-continuity input[name=value]').value", &[]).await;
        assert_eq!(kept.as_str(), Some("0.12"));
        browser.one_refusal(422).await;
    });
}
