//! The whole plan on a page of its own, and housings that are opened and closed.

use crate::AIR_CURTAIN;
use crate::browser::{Browser, LAPTOP, PHONE, Scripts, in_browser};
use crate::job_page::*;
use crate::programs::Server;
use serde_json::json;

const DRYING_CABINET: &str = include_str!("../../../../demos/drying-cabinet.toml");

/// A job before anything was read.
fn without_readings(text: &str) -> String {
    let (before, rest) = text.split_once("\nreadings = [").unwrap();
    let (_, after) = rest.split_once("\n]").unwrap();
    format!("{before}{after}")
}

async fn planned(browser: &Browser) {
    browser
        .wait_for("the plan", "document.querySelector('#plan .plan') && !document.querySelector('#plan[aria-busy]')")
        .await;
}

/// Waits until a housing is said to be open or closed, and the plan is that of what is saved.
async fn housing_is(browser: &Browser, name: &str, state: &str) {
    let says = format!("document.querySelector('#housings').innerText.includes('{name}: {state}')");
    browser.wait_for("the housing to be noted", &says).await;
}

#[test]
fn plan() {
    in_browser(async {
        let server = Server::start();
        let browser = Browser::start(Scripts::Allowed).await;
        import(&browser, &server, &without_readings(DRYING_CABINET)).await;
        browser.click_to_next_page("nav.steps a[href$='/plan']").await;
        planned(&browser).await;
        let text = browser.text("#plan").await;
        assert!(
            text.contains("Expected: ") && text.contains("minutes") && text.contains("with the best check"),
            "{text}"
        );
        // What to heed stands before the first check.
        let order = "const at = (css) => document.querySelector(css).getBoundingClientRect().top; \
                     return at('#plan .cautions') < at('#plan .plan strong')";
        assert_eq!(browser.run(order, &[]).await, json!(true));
        // An outcome unfolds to what follows it.
        let inner = "details#plan-0-0";
        let folded = format!("document.querySelector('{inner} details > p, {inner} > p.end')?.checkVisibility()");
        let deeper = browser.count(&format!("{inner} details")).await;
        if deeper > 0 {
            assert_eq!(browser.run(&format!("return !!{folded}"), &[]).await, json!(false), "all is unfolded at once");
            browser.click(&format!("{inner} details > summary")).await;
            browser.wait_for("the next step", &folded).await;
        }
        for width in [LAPTOP, PHONE] {
            browser.width(width).await;
            browser.no_sideways_scrolling().await;
            browser.shot(&format!("plan-{width}")).await;
        }
        // All unfolded it is still no wider than a phone.
        browser.run("for (const folded of document.querySelectorAll('details')) folded.open = true", &[]).await;
        browser.no_sideways_scrolling().await;
        browser.shot("plan-unfolded-360").await;
        browser.no_complaints().await;
    });
}

#[test]
fn housings() {
    in_browser(async {
        let server = Server::start();
        let browser = Browser::start(Scripts::Allowed).await;
        import(&browser, &server, &without_readings(DRYING_CABINET)).await;
        weighed(&browser).await;
        // On the page of the job: a closed panel is paid for by the next check.
        let before = revision(&browser).await;
        browser.click("#housing-0").await;
        saved_after(&browser, before).await;
        housing_is(&browser, "control panel", "closed").await;
        weighed(&browser).await;
        assert!(browser.text("#next").await.contains("to open control panel"), "{}", browser.text("#next").await);
        browser.width(PHONE).await;
        browser.no_sideways_scrolling().await;
        browser.shot_of("#housings", "housings-360").await;
        browser.width(LAPTOP).await;

        // On the page of the plan.
        browser.click_to_next_page("nav.steps a[href$='/plan']").await;
        planned(&browser).await;
        let pays = |what: &str| format!("document.querySelector('#plan').textContent.includes('to open {what}')");
        assert_eq!(browser.run(&format!("return {}", pays("control panel")), &[]).await, json!(true));
        // What is behind a closed one cannot be open.
        browser.click("#housing-2").await;
        browser.wait_for("word of it", "document.querySelector('#notice.trouble')").await;
        let notice = browser.text("#notice").await;
        assert!(notice.contains("behind control panel") && notice.contains("Open control panel first"), "{notice}");
        browser.one_refusal(422).await;
        browser.click("#housing-0").await;
        housing_is(&browser, "control panel", "open").await;
        browser.wait_for("a plan that does not open it", &format!("!{}", pays("control panel"))).await;
        planned(&browser).await;
        browser.click("#housing-2").await;
        housing_is(&browser, "fan cowl", "open").await;
        browser.wait_for("a plan that does not open it", &format!("!({})", pays("fan cowl"))).await;
        browser.no_complaints().await;
    });
}

#[test]
fn a_plan_that_is_stopped() {
    in_browser(async {
        let server = Server::start();
        let browser = Browser::start(Scripts::Allowed).await;
        import(&browser, &server, crate::runs::GREENHOUSE_HEATER).await;
        browser.wait_for("the weighing", "!document.querySelector('#progress').hidden").await;
        let path = browser.path().await;
        browser.open(&server.address(&format!("{path}/plan"))).await;
        browser.wait_for("the progress", "!document.querySelector('#progress').hidden").await;
        assert!(browser.text("#progress").await.contains("Working out the plan"));
        browser.click("#progress-cancel").await;
        browser.wait_for("word of it", "document.querySelector('#status').innerText === 'Stopped.'").await;
        assert_eq!(browser.count("#plan a[href$='/plan/tree']").await, 1, "no way to ask again");
        browser.no_complaints().await;
    });
}

#[test]
fn plan_without_script() {
    in_browser(async {
        let server = Server::start();
        let browser = Browser::start(Scripts::Forbidden).await;
        import(&browser, &server, AIR_CURTAIN).await;
        browser.click_to_next_page("nav.steps a[href$='/plan']").await;
        browser.click_to_next_page("#plan a[href$='/plan/tree']").await;
        assert!(browser.text("#plan").await.contains("Expected: "), "{}", browser.text("#plan").await);
    });
}
