//! A run with its log: charted, told, and reached from the job.

use crate::browser::{Browser, LAPTOP, PHONE, Scripts, in_browser};
use crate::job_page::*;
use crate::programs::Server;

pub const GREENHOUSE_HEATER: &str = include_str!("../../../../demos/greenhouse-heater.toml");

#[test]
fn runs() {
    in_browser(async {
        let server = Server::start();
        let browser = Browser::start(Scripts::Allowed).await;
        import(&browser, &server, GREENHOUSE_HEATER).await;
        browser.click_to_next_page("nav.steps a[href$='/runs']").await;
        let text = browser.text("#main").await;
        for words in ["warm air from cold", "sound unit", "M1 air-blocked", "K1 opens", "It never settles", "one hand"]
        {
            assert!(text.contains(words), "{words}: {text}");
        }
        // The log, the sound unit and the suspect, in amps and degrees.
        let chart = browser.run("return document.querySelector('.drawing-frame svg').textContent", &[]).await;
        let chart = chart.as_str().unwrap();
        for words in ["logged K1.body", "K1.body, sound unit", "minutes"] {
            assert!(chart.contains(words), "{words}: {chart}");
        }
        for width in [LAPTOP, PHONE] {
            browser.width(width).await;
            browser.no_sideways_scrolling().await;
            browser.shot(&format!("runs-{width}")).await;
        }
        browser.no_complaints().await;
    });
}
