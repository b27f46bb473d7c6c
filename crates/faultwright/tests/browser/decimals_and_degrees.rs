//! Figures and temperatures written as the person at the bench writes them.

use crate::browser::{Browser, Scripts, in_browser};
use crate::job_page::*;
use crate::programs::Server;

#[test]
fn decimals_and_degrees() {
    in_browser(async {
        let server = Server::start();
        let browser = Browser::start(Scripts::Allowed).await;
        browser.open(&server.address("/you")).await;
        browser.click("input[name=decimals][value=comma]").await;
        browser.click("input[name=degrees][value=fahrenheit]").await;
        browser.click_to_next_page("form[action='/you'] button").await;
        begin(&browser, &server, "Blower with a comma", "tapped-blower").await;
        choose_setup(&browser, "unplugged").await;
        read_by_taps(&browser, ["M1.common", "M1.high"], "27,1", "").await;

        let readings = browser.text("#readings").await;
        assert!(readings.contains("27,1"), "{readings}");
        for room in ["#readings", "#suspects", "#next", "#why", "#unit"] {
            let text = browser.run("return document.querySelector(arguments[0]).innerText", &[room.into()]).await;
            let text = text.as_str().unwrap();
            assert!(!has_decimal_point(text), "{room} writes a figure with a point: {text}");
        }
        // 60 and 20 degrees Celsius (NIST SP 811: times 1.8 and plus 32).
        let setups = browser.text("#setups").await;
        assert!(setups.contains("140 °F") && setups.contains("68 °F") && !setups.contains("°C"), "{setups}");
        unfold(&browser, "setup-high").await;
        let winding = browser.find("#setup-high [name=winding]").await.value().await.unwrap();
        assert_eq!(winding.as_deref(), Some("140"));
        browser.shot("decimal-comma-and-fahrenheit-1280").await;

        // What is kept is the same for everyone.
        let path = format!("{}/job.toml", browser.path().await);
        let text = reqwest::get(server.address(&path)).await.unwrap().text().await.unwrap();
        assert!(text.contains("27.1"), "{text}");
        browser.no_complaints().await;
    });
}

/// Whether a figure such as 27.1 is in a text; names such as `C1.2` and dates are none.
fn has_decimal_point(text: &str) -> bool {
    text.split(|c: char| c.is_whitespace() || "();,".contains(c)).any(|word| {
        let word = word.trim_end_matches(['.', ':', '%']);
        word.contains('.') && word.trim_start_matches(['+', '-', '~']).parse::<f64>().is_ok()
    })
}
