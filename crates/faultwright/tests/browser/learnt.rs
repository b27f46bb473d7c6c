//! What the shop has learnt: counted, taken into use, shown beside the suspects, and put out of use again.

use crate::browser::{Browser, LAPTOP, PHONE, Scripts, in_browser};
use crate::job_page::*;
use crate::programs::Server;

const DOUGH_PROOFER: &str = include_str!("../../../../demos/dough-proofer.toml");

#[test]
fn learnt() {
    in_browser(async {
        let server = Server::start();
        let browser = Browser::start(Scripts::Allowed).await;
        let closed = format!("{DOUGH_PROOFER}\n[repaired]\nwork = \"made new\"\nfaults = [\"M1 bearing-drag\"]\n");
        for _ in 0..3 {
            import(&browser, &server, &closed).await;
        }
        import(&browser, &server, DOUGH_PROOFER).await;
        let job = browser.path().await;
        weighed(&browser).await;
        assert_eq!(browser.count("#experience").await, 0, "off unless somebody asks for it");
        let before = browser.text("#suspects .suspects li").await;

        browser.open(&server.address("/")).await;
        browser.click_to_next_page("#jobs a[href='/learnt']").await;
        let text = browser.text("#main").await;
        for words in ["Not in use", "Closed jobs with a confirmed cause: 3", "bearing drag", "odds learnt"] {
            assert!(text.contains(words), "{words}: {text}");
        }
        for width in [LAPTOP, PHONE] {
            browser.width(width).await;
            browser.no_sideways_scrolling().await;
            browser.shot(&format!("learnt-{width}")).await;
        }
        browser.click_to_next_page("#switch button[value=yes]").await;
        assert!(browser.text("#switch").await.contains("In use"));

        browser.open(&server.address(&job)).await;
        weighed(&browser).await;
        let text = browser.text("#suspects").await;
        assert!(text.contains("what the shop has learnt"), "{text}");
        let beside = browser.text("#suspects .learnt").await;
        assert!(beside.contains("instead of") && beside.contains("confirmed among 3 such parts"), "{beside}");
        browser.no_sideways_scrolling().await;
        browser.shot_of("#suspects", "learnt-suspects").await;

        browser.open(&server.address("/learnt")).await;
        browser.click_to_next_page("#switch button[value=no]").await;
        browser.open(&server.address(&job)).await;
        weighed(&browser).await;
        assert_eq!(browser.count("#experience").await, 0);
        assert_eq!(browser.text("#suspects .suspects li").await, before, "the listed odds hold again");

        // Forgotten jobs stay, teach nothing, and can be counted again.
        browser.open(&server.address("/learnt")).await;
        browser.click_to_next_page("#switch button[value=forget]").await;
        let text = browser.text("#main").await;
        assert!(text.contains("Closed jobs with a confirmed cause: 0") && text.contains("Forgotten: 3"), "{text}");
        browser.click_to_next_page("#switch button[value=recall]").await;
        assert!(browser.text("#main").await.contains("Closed jobs with a confirmed cause: 3"));
        browser.no_complaints().await;
    });
}
