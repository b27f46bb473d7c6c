//! Two people at one job: each sees what the other enters, and neither overwrites the other.

use crate::browser::{Browser, Scripts, in_browser};
use crate::job_page::*;
use crate::programs::Server;
use serde_json::json;
use std::time::Duration;

/// How soon another's entry has to be seen.
const SOON: Duration = Duration::from_secs(5);

async fn at_the_bench(server: &Server, name: &str) -> Browser {
    let browser = Browser::start(Scripts::Allowed).await;
    browser.open(&server.address("/you")).await;
    browser.fill("[name=name]", name).await;
    browser.click_to_next_page("form[action='/you'] button").await;
    assert!(browser.text(".me").await.contains(name));
    browser
}

#[test]
fn two_people() {
    in_browser(async {
        let server = Server::start();
        let (ann, ben) = tokio::join!(at_the_bench(&server, "Ann"), at_the_bench(&server, "Ben"));
        begin(&ann, &server, "Blower of two", "tapped-blower").await;
        let path = ann.path().await;
        ben.open(&server.address(&path)).await;
        weighed(&ben).await;
        ben.run("window.sameVisit = true", &[]).await;

        choose_setup(&ann, "unplugged").await;
        let before = revision(&ben).await;
        // Not weighed first: the other person waits for the entry only.
        ann.fill("#entry-line", "M1.common M1.high 27.1\n").await;
        saved_after(&ann, before).await;
        let seen = "/27[.]10? ohm/.test(document.querySelector('#readings').innerText)";
        ben.wait_at_most(SOON, "the reading of the other", seen).await;
        ben.wait_at_most(SOON, "who took it", "/^Ann: /.test(document.querySelector('#status').innerText)").await;
        assert!(ben.text("#saved").await.contains("(Ann)"), "{}", ben.text("#saved").await);
        assert_eq!(ben.run("return window.sameVisit", &[]).await, json!(true), "the page was loaded anew");
        weighed(&ben).await;
        assert!(ben.text("#suspects").await.contains("27.1"));

        same_wire(&ann, &ben, &server, &path).await;
        ann.no_complaints().await;
    });
}

/// Both give wire 2 another colour; the second is told, and what the first wrote stays.
async fn same_wire(ann: &Browser, ben: &Browser, server: &Server, path: &str) {
    let (field, save) = ("[aria-label='Wire 2 colour']", "#wire-table form:nth-of-type(2) button:not([formaction])");
    unfold(ben, "wire-table").await;
    ben.fill(field, "pink").await;
    unfold(ann, "wire-table").await;
    let before = revision(ann).await;
    ann.fill(field, "grey").await;
    ann.click(save).await;
    saved_after(ann, before).await;
    ben.wait_at_most(SOON, "news of the wire", "/wire 2 changed/.test(document.querySelector('#saved').innerText)")
        .await;
    let mine = ben.find(field).await.value().await.unwrap();
    assert_eq!(mine.as_deref(), Some("pink"), "news took away what was being typed");
    ben.click(save).await;
    ben.wait_for("word of the conflict", "document.querySelector('#notice.trouble')").await;
    let notice = ben.text("#notice").await;
    assert!(notice.contains("Someone else has changed this wire") && notice.contains("grey"), "{notice}");
    ben.one_refusal(409).await;
    ben.shot("two-people-conflict-1280").await;
    let text = reqwest::get(server.address(&format!("{path}/job.toml"))).await.unwrap().text().await.unwrap();
    assert!(text.contains("grey") && !text.contains("pink"), "the first one's wire was overwritten: {text}");

    // Having seen how it is now, the second may decide again.
    assert_eq!(ben.count("form[aria-busy]").await, 0, "a form that was refused stays shut");
    ben.reload().await;
    unfold(ben, "wire-table").await;
    let before = revision(ben).await;
    ben.fill(field, "pink").await;
    ben.click(save).await;
    saved_after(ben, before).await;
    ben.no_complaints().await;
}
