//! Closing a job: what was done is noted, readings after it are entered, what is missing is said, the record is opened.

use crate::browser::{Browser, LAPTOP, PHONE, Scripts, in_browser};
use crate::job_page::*;
use crate::programs::Server;

const HEAT_SEALER: &str = include_str!("../../../../demos/heat-sealer.toml");
const DOUGH_PROOFER: &str = include_str!("../../../../demos/dough-proofer.toml");

async fn stands(browser: &Browser) -> String {
    browser
        .wait_for(
            "how the job stands",
            "document.querySelector('#standing[data-revision]') && !document.querySelector('#standing[aria-busy]')",
        )
        .await;
    browser.text("#standing").await
}

#[test]
fn a_proven_job_and_its_record() {
    in_browser(async {
        let server = Server::start();
        let browser = Browser::start(Scripts::Allowed).await;
        import(&browser, &server, HEAT_SEALER).await;
        browser.click_to_next_page("nav.steps a[href$='/closing']").await;
        let text = stands(&browser).await;
        for words in [
            "Proven: the job may be closed",
            "Repairs compared",
            "Local codes",
            "finding: shown",
            "looked at and found well",
        ] {
            assert!(text.contains(words), "{words}: {text}");
        }
        for width in [LAPTOP, PHONE] {
            browser.width(width).await;
            browser.no_sideways_scrolling().await;
            browser.shot(&format!("closing-{width}")).await;
        }
        browser.click_to_next_page("#standing a[href$='/record.html']").await;
        let text = browser.text("main").await;
        for words in ["Record of repair", "a packing shop", "Readings after the repair", "Received by"] {
            assert!(text.contains(words), "{words}: {text}");
        }
        browser.shot("record").await;
        browser.no_complaints().await;
    });
}

#[test]
fn what_was_done_is_noted_and_a_reading_after_it_entered() {
    in_browser(async {
        let server = Server::start();
        let browser = Browser::start(Scripts::Allowed).await;
        import(&browser, &server, DOUGH_PROOFER).await;
        browser.click_to_next_page("nav.steps a[href$='/closing']").await;
        assert!(stands(&browser).await.contains("Not proven yet"));
        let before = revision(&browser).await;
        browser.fill("#forms input[name=work]", "C1 replaced by one of the same value").await;
        browser.fill("#forms input[name=faults]", "C1 open").await;
        browser.fill("#forms input[name=minutes_with_fault]", "40").await;
        browser.click("#forms form[action$='/closing'] button").await;
        saved_after(&browser, before).await;
        let text = stands(&browser).await;
        assert!(text.contains("C1 replaced by one of the same value"), "{text}");
        let before = revision(&browser).await;
        browser.run("document.querySelector('#forms select[name=setup]').value = 'cold'", &[]).await;
        browser.fill("#forms input[name=line]", "M1.common M1.run 13.0").await;
        browser.click("#forms form[action$='/closing/readings'] button").await;
        saved_after(&browser, before).await;
        assert!(browser.text("#forms").await.contains("M1.common to M1.run"), "the reading is listed");
        let text = stands(&browser).await;
        assert!(text.contains("readings after: missing"), "ohms of a sound winding prove no capacitor: {text}");
        browser.no_complaints().await;
        // A reading that cannot be is refused.
        browser.fill("#forms input[name=line]", "M9.common 13").await;
        browser.click("#forms form[action$='/closing/readings'] button").await;
        browser.wait_for("a refusal", "document.querySelector('.trouble')?.textContent.includes('M9')").await;
        browser.one_refusal(422).await;
    });
}

#[test]
fn another_part_is_held_against_the_one_that_was_there() {
    in_browser(async {
        let server = Server::start();
        let browser = Browser::start(Scripts::Allowed).await;
        browser.width(PHONE).await;
        import(&browser, &server, DOUGH_PROOFER).await;
        browser.click_to_next_page("nav.steps a[href$='/closing']").await;
        stands(&browser).await;
        browser.run("document.querySelector('#substitute select').value = 'C1'", &[]).await;
        browser.fill("#substitute input[name=with]", "microfarads=12").await;
        browser.click("#substitute button").await;
        browser.wait_for("the answer", "document.querySelector('#substitute-answer')").await;
        let text = browser.text("#substitute-answer").await;
        for words in
            ["put another C1 in", "If it is", "microfarads 12 for 6: DOES NOT FIT", "volts 250: fits", "hottest"]
        {
            assert!(text.contains(words), "{words}: {text}");
        }
        let kept = browser.run("return document.querySelector('#substitute input[name=with]').value", &[]).await;
        assert_eq!(kept, "microfarads=12");
        browser.no_sideways_scrolling().await;
        browser.shot("substitute-360").await;
        browser.no_complaints().await;
        browser.fill("#substitute input[name=with]", "plate.furlongs=2").await;
        browser.click("#substitute button").await;
        browser.wait_for("a refusal", "document.querySelector('.trouble')?.textContent.includes('has no field')").await;
        assert_eq!(
            browser.run("return document.querySelector('#substitute input[name=with]').value", &[]).await,
            "plate.furlongs=2"
        );
        browser.one_refusal(422).await;
    });
}
