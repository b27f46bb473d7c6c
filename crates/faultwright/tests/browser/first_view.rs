//! What a browser has to fetch before a job is seen.

use crate::AIR_CURTAIN;
use crate::browser::{Browser, Scripts, in_browser};
use crate::job_page::*;
use crate::programs::Server;

/// Page, style sheet and script, uncompressed: two seconds of a slow phone connection (1.2 Mbit/s).
const MOST_BYTES: usize = 300_000;

#[test]
fn first_view() {
    in_browser(async {
        let server = Server::start();
        let browser = Browser::start(Scripts::Allowed).await;
        import(&browser, &server, AIR_CURTAIN).await;
        weighed(&browser).await;
        browser.reload().await;

        let path = browser.path().await;
        let mut total = 0;
        for address in [path.as_str(), "/bench.css", "/bench.js"] {
            let answer = reqwest::get(server.address(address)).await.unwrap();
            assert!(answer.status().is_success() && !answer.headers().contains_key("content-encoding"), "{address}");
            let bytes = answer.bytes().await.unwrap().len();
            eprintln!("{address}: {bytes} bytes");
            total += bytes;
        }
        let times = "return [performance.timing.loadEventStart - performance.timing.navigationStart, \
                 performance.getEntriesByType('navigation')[0].transferSize + performance.getEntriesByType('resource')\
                 .filter((each) => /bench[.](css|js)$/.test(each.name)).reduce((sum, each) => sum + each.transferSize, 0)]";
        let seen = browser.run(times, &[]).await;
        eprintln!("together {total} bytes, sent as {}; loaded after {} ms", seen[1], seen[0]);
        assert!(total < MOST_BYTES, "{total} bytes");
    });
}
