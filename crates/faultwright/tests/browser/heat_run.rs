//! A heat run followed on the page: begun, rows entered, never passed too early, a wrong row taken out, a logger's file put in.

use crate::browser::{Browser, LAPTOP, PHONE, Scripts, in_browser};
use crate::job_page::*;
use crate::programs::Server;
use std::time::Duration;

/// The repaired sealer, without the log of its heat run.
pub fn sealer_without_log() -> String {
    let demo = include_str!("../../../../demos/heat-sealer.toml");
    let (head, tail) = demo.split_once("[[repaired.logs]]").unwrap();
    let (_, safety) = tail.split_once("# The safety tests").unwrap();
    format!("{head}# The safety tests{safety}")
}

/// A winding that warms from a room at 20 °C towards 80 °C with a time constant of 25 minutes, by the law of one body
/// (Newton's cooling), written to a tenth.
fn celsius(minutes: f64) -> String {
    format!("{:.1}", 20.0 + 60.0 * (1.0 - (-minutes / 25.0).exp()))
}

async fn enter(browser: &Browser, minute: f64, winding: &str) {
    browser.fill("#row-minute", &minute.to_string()).await;
    browser.fill("#row-form input[name='value:celsius:T1.winding']", winding).await;
    browser.click("#row-form button.main").await;
}

async fn told(browser: &Browser, verdict: &str) {
    let is = format!(
        "document.querySelector('#verdict-title').dataset.verdict === '{verdict}' && !document.querySelector('#standing[aria-busy]')"
    );
    browser.wait_for("the verdict", &is).await;
}

#[test]
fn followed_row_by_row() {
    in_browser(async {
        let server = Server::start();
        let browser = Browser::start(Scripts::Allowed).await;
        browser.width(PHONE).await;
        import(&browser, &server, &sealer_without_log()).await;
        browser.click_to_next_page("nav.steps a[href$='/closing']").await;
        browser.click_to_next_page("#main a[href$='/heat-run']").await;
        assert!(browser.text("#main").await.contains("Stay with the unit"), "the caution is there");
        browser.click("#begin-run > summary").await;
        browser.fill("#begin-run input[name=room]", "20").await;
        browser.click("#begin-run select[name=setup] option:last-child").await;
        browser.click_to_next_page("#begin-run form button").await;
        assert!(browser.text("#row-form h2").await.contains("Row 1 of heat run"));
        // The setup is live: its precautions come first.
        enter(&browser, 0.0, "20").await;
        browser
            .wait_for("a refusal", "document.querySelector('.trouble')?.textContent.includes('confirm first')")
            .await;
        browser.one_refusal(422).await;
        browser.click(".caution input[type=checkbox]").await;
        browser.click(".caution form button").await;
        browser.wait_for("the confirmation", "document.querySelector('.caution .confirmed')").await;
        for row in 0..8 {
            let before = revision(&browser).await;
            let minute = 2.0 * f64::from(row);
            enter(&browser, minute, &celsius(minute)).await;
            saved_after(&browser, before).await;
        }
        told(&browser, "not yet").await;
        let text = browser.text("#standing").await;
        for words in ["T1.winding", "going to", "95 %", "main time constant", "within 1 K of its end", "to spare"] {
            assert!(text.contains(words), "{words}: {text}");
        }
        assert!(!text.contains("Pass") && !text.contains("you may stop"), "14 minutes prove nothing: {text}");
        let rows = browser.text("#all-verdicts tbody").await;
        assert!(rows.starts_with("T1.winding") && rows.ends_with("not yet"), "a verdict in one row: {rows}");
        let chart = browser.run("return document.querySelector('#standing svg').textContent", &[]).await;
        assert!(chart.as_str().unwrap().contains("T1.winding, expected"), "the forecast is drawn: {chart}");
        assert_eq!(browser.run("return document.activeElement.id", &[]).await, "row-minute");
        browser.no_sideways_scrolling().await;
        browser.shot("heat-run-not-yet").await;
        browser.no_complaints().await;

        // Text where a figure belongs, and time that runs backwards: told with the row, and what was typed stays.
        enter(&browser, 16.0, "warm").await;
        browser
            .wait_for(
                "a refusal",
                "document.querySelector('.trouble')?.textContent.includes(\"Row 9: T1.winding: 'warm'\")",
            )
            .await;
        let kept = browser.run("return document.querySelector('#row-minute').value", &[]).await;
        assert_eq!(kept, "16");
        browser.one_refusal(422).await;
        enter(&browser, 9.0, "44").await;
        browser
            .wait_for("a refusal", "document.querySelector('.trouble')?.textContent.includes('row 9, minute 9')")
            .await;
        browser.one_refusal(422).await;

        // A slip is taken out again, and that is undone.
        let before = revision(&browser).await;
        enter(&browser, 16.0, "84").await;
        saved_after(&browser, before).await;
        browser.wait_for("the row", "document.querySelectorAll('#logged tbody tr').length === 9").await;
        told(&browser, "not yet").await;
        browser.click("#logged tbody tr:first-child button").await;
        browser.wait_for("the row to go", "document.querySelectorAll('#logged tbody tr').length === 8").await;
        told(&browser, "not yet").await;
        browser.click("#notice form[action$='/undo'] button").await;
        browser.wait_for("the row to be back", "document.querySelectorAll('#logged tbody tr').length === 9").await;
        browser.no_complaints().await;

        // The logger's file of the whole run takes the place of the rows: now it passes.
        let rows: String = (0..=75).map(|row| f64::from(row) * 2.0).map(|t| format!("{t},{}\n", celsius(t))).collect();
        unfold(&browser, "paste").await;
        browser.fill("#paste-text", &format!("time [min],winding [°C]\n{rows}")).await;
        browser.click("#paste-form button").await;
        browser
            .wait_at_most(
                Duration::from_secs(120),
                "a pass",
                "document.querySelector('#verdict-title').dataset.verdict === 'pass'",
            )
            .await;
        assert!(browser.text("#standing").await.contains("you may end the run"));
        for width in [LAPTOP, PHONE] {
            browser.width(width).await;
            browser.no_sideways_scrolling().await;
            browser.shot(&format!("heat-run-{width}")).await;
        }
        browser.no_complaints().await;
        // The job agrees.
        browser.click_to_next_page("#main a[href$='/closing']").await;
        browser.wait_for("how the job stands", "document.querySelector('#standing[data-revision]')").await;
        assert!(browser.text("#standing").await.contains("heat run: shown"));
    });
}

#[test]
fn before_the_repair_it_says_what_comes_first() {
    in_browser(async {
        let server = Server::start();
        let browser = Browser::start(Scripts::Forbidden).await;
        begin(&browser, &server, "Fan", "twin-blower").await;
        browser.click_to_next_page("nav.steps a[href$='/heat-run']").await;
        let text = browser.text("#main").await;
        assert!(text.contains("First write what was done") && browser.count("#row-form").await == 0, "{text}");
        browser.no_sideways_scrolling().await;
    });
}
