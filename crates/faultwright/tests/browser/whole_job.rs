//! A job from its first entry to its record, on a laptop and on a phone; then the power goes.

use crate::browser::{Browser, LAPTOP, PHONE, Scripts, in_browser};
use crate::job_page::*;
use crate::programs::Server;
use std::path::Path;
use thirtyfour::Key;

/// A PNG of one pixel (PNG specification, W3C 2003: signature, header, data, end).
const PHOTO: [u8; 69] = [
    0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a, 0x00, 0x00, 0x00, 0x0d, 0x49, 0x48, 0x44, 0x52, 0x00, 0x00, 0x00,
    0x01, 0x00, 0x00, 0x00, 0x01, 0x08, 0x02, 0x00, 0x00, 0x00, 0x90, 0x77, 0x53, 0xde, 0x00, 0x00, 0x00, 0x0c, 0x49,
    0x44, 0x41, 0x54, 0x78, 0xda, 0x63, 0xd8, 0xe0, 0xa0, 0x00, 0x00, 0x02, 0xb4, 0x01, 0x11, 0xcf, 0x8b, 0x84, 0x93,
    0x00, 0x00, 0x00, 0x00, 0x49, 0x45, 0x4e, 0x44, 0xae, 0x42, 0x60, 0x82,
];

#[test]
fn whole_job_on_a_laptop() {
    in_browser(whole_job(LAPTOP, "1280"));
}

#[test]
fn whole_job_on_a_phone() {
    in_browser(whole_job(PHONE, "360"));
}

async fn whole_job(width: u32, name: &str) {
    let mut server = Server::start();
    let browser = Browser::start(Scripts::Allowed).await;
    browser.width(width).await;
    begin(&browser, &server, "Blower from hall 3", "tapped-blower").await;
    listen(&browser).await;
    weighed(&browser).await;
    fits(&browser).await;
    browser.shot(&format!("job-begun-{name}")).await;

    nameplate(&browser).await;
    wires(&browser).await;
    readings(&browser, name).await;
    fits(&browser).await;
    undo(&browser).await;
    pictures(&browser, name).await;
    as_text(&browser, name).await;
    history(&browser, name).await;
    export(&browser, &server).await;
    photo(&browser).await;
    browser.no_complaints().await;
    fits(&browser).await;
    power_cut(&browser, &mut server, name).await;
}

/// Keeps what the page says of others.
async fn listen(browser: &Browser) {
    let script = "window.ofOthers = []; const status = document.querySelector('#status'); new MutationObserver(() => { \
                  if (/^this bench: /.test(status.innerText)) ofOthers.push(status.innerText); }).observe(status, { childList: true })";
    browser.run(script, &[]).await;
}

/// The page does not scroll sideways, nothing folded and everything unfolded.
async fn fits(browser: &Browser) {
    browser.no_sideways_scrolling().await;
    let unfold =
        "window.opened = [...document.querySelectorAll('details:not([open])')]; for (const d of opened) d.open = true";
    browser.run(unfold, &[]).await;
    browser.no_sideways_scrolling().await;
    browser.run("for (const d of window.opened) d.open = false", &[]).await;
}

async fn nameplate(browser: &Browser) {
    let before = revision(browser).await;
    unfold(browser, "part-M1").await;
    browser.fill("#part-M1 [name='field:plate.amps']", "0.95").await;
    browser.click("#part-M1 button.main").await;
    saved_after(browser, before).await;
    let shown = browser.find("#part-M1 [name='field:plate.amps']").await.value().await.unwrap();
    assert_eq!(shown.as_deref(), Some("0.95"));
    weighed(browser).await;
}

/// A wire more by two taps on the drawing, then off again.
async fn wires(browser: &Browser) {
    let rows = "#wire-table form";
    let there = browser.count(rows).await;
    let before = revision(browser).await;
    tapping_makes(browser, "wire").await;
    tap(browser, "K1.a").await;
    tap(browser, "K1.b").await;
    browser.click("#wire-form button").await;
    saved_after(browser, before).await;
    assert_eq!(browser.count(rows).await, there + 1);
    let before = revision(browser).await;
    unfold(browser, "wire-table").await;
    browser.click(&format!("#wire-table button[aria-label='Remove wire {}']", there + 1)).await;
    saved_after(browser, before).await;
    assert_eq!(browser.count(rows).await, there);
    weighed(browser).await;
    browser.no_complaints().await;
}

/// Ten entries on a blower whose cutout does not close: what `faultwright predict` gives for that fault, as a meter would
/// show it.
async fn readings(browser: &Browser, name: &str) {
    let first_check = browser.text("#next .check strong").await;
    choose_setup(browser, "unplugged").await;
    read_by_taps(browser, ["M1.common", "M1.high"], "51.8", "").await;
    assert!(browser.text("#finding .changed").await.contains("51.8"), "what changed is not told");
    expected_only_when_asked(browser).await;
    read_line(browser, "M1.high M1.low 43.1").await;
    read_by_taps(browser, ["M1.start", "C1.a"], "0.1", "ohm").await;
    let undecided = browser.text("#suspects .suspects li").await;

    refused_until_confirmed(browser, name).await;
    let before = revision(browser).await;
    browser.click("#symptom-form button[value=dead]").await;
    saved_after(browser, before).await;
    weighed(browser).await;
    read_line(browser, "cord.hot dead").await;
    read_by_taps(browser, ["selector.high", "cord.neutral"], "229", "V").await;
    read_by_taps(browser, ["M1.common", "cord.neutral"], "229.5", "").await;
    read_line(browser, "K1.a K1.b 229").await;
    read_word_by_taps(browser, ["K1.b", "cord.neutral"], "dead").await;
    choose_setup(browser, "unplugged").await;
    read_word_by_taps(browser, ["K1.a", "K1.b"], "open").await;
    assert_eq!(entries(browser).await, 10);

    let of_others = browser.run("return window.ofOthers", &[]).await;
    assert_eq!(of_others, serde_json::json!([]), "own entries are told as news of others");
    let found = browser.text("#suspects .suspects li").await;
    assert!(found.contains("K1"), "the cutout is not the first suspect: {found}");
    assert_ne!(found, undecided);
    assert_ne!(browser.text("#next").await, first_check);
    assert!(browser.text("#next").await.contains("replace the thermal cutout K1"));
    browser.no_complaints().await;
    browser.shot(&format!("job-with-ten-readings-{name}")).await;
    for room in ["wiring", "entry", "readings", "suspects", "next", "why"] {
        browser.shot_of(&format!("#{room}"), &format!("room-{room}-{name}")).await;
    }
}

/// A prediction leads whoever sees it, so it is shown on request only, and goes away with the entry.
async fn expected_only_when_asked(browser: &Browser) {
    tap(browser, "M1.high").await;
    tap(browser, "M1.low").await;
    assert_eq!(browser.text("#expected").await, "");
    assert!(!browser.text("#entry").await.contains("would show"));
    browser.click("#reading-form button[formaction$='/expect']").await;
    browser
        .wait_for("a prediction", "/sound unit would show .*ohm/.test(document.querySelector('#expected').innerText)")
        .await;
    browser.click("#reading-form [data-clear]").await;
}

/// A live reading is refused until its precautions are confirmed.
async fn refused_until_confirmed(browser: &Browser, name: &str) {
    let (before, taken) = (revision(browser).await, entries(browser).await);
    choose_setup(browser, "high").await;
    browser.fill("#entry-line", "cord.hot dead\n").await;
    browser.wait_for("a refusal", "document.querySelector('#notice.trouble')").await;
    assert!(browser.text("#notice").await.contains("confirm first"));
    assert_eq!((revision(browser).await, entries(browser).await), (before, taken));
    browser.one_refusal(422).await;
    browser.shot_of("#entry", &format!("live-setup-not-confirmed-{name}")).await;
    confirm_precautions(browser, "high").await;
}

async fn undo(browser: &Browser) {
    let before = revision(browser).await;
    browser.click("#notice button").await;
    saved_after(browser, before).await;
    assert_eq!(entries(browser).await, 9);
    assert!(browser.text("#saved").await.contains("undone"));
    weighed(browser).await;
}

async fn pictures(browser: &Browser, name: &str) {
    show_pictures(browser).await;
    assert_eq!(browser.count("#pictures svg").await, 3, "levels, faulty paths and sound paths");
    browser.no_sideways_scrolling().await;
    browser.shot_of("#pictures", &format!("pictures-of-the-cutout-{name}")).await;
}

/// Nonsense in the text is told at its line while it is typed; clicked on, it is selected, and can be typed over.
async fn as_text(browser: &Browser, name: &str) {
    browser.click_to_next_page(".steps a[href$='/text']").await;
    let lines =
        browser.run("return document.querySelector('#job-text').value.trimEnd().split('\\n').length", &[]).await;
    browser.click("#job-text").await;
    browser.press_with(Key::Control, Key::End).await;
    browser.press("suply = \"no such thing\"").await;
    let line = lines.as_u64().unwrap() + 1;
    browser
        .wait_for(
            "the error at its line",
            &format!("document.querySelector('#problems .error [data-line=\"{line}\"]')"),
        )
        .await;
    browser.shot(&format!("text-with-an-error-{name}")).await;
    browser.no_sideways_scrolling().await;
    browser.click(&format!("#problems .error [data-line='{line}']")).await;
    let selected = "const t = document.activeElement; return t.value.slice(t.selectionStart, t.selectionEnd)";
    assert_eq!(browser.run(selected, &[]).await, "suply = \"no such thing\"");
    browser.press("winding_celsius = 25").await;
    browser.wait_for("no more errors", "!document.querySelector('#problems .error')").await;
    browser.click_to_next_page("#text-form button.main").await;
    assert!(browser.text("#setups").await.contains("25 °C"));
    weighed(browser).await;
}

/// Back to before the undoing, and back again.
async fn history(browser: &Browser, name: &str) {
    let newest = revision(browser).await;
    for (number, readings) in [(newest - 2, 10), (newest, 9)] {
        browser.click_to_next_page(".steps a[href$='/history']").await;
        browser.no_sideways_scrolling().await;
        browser.shot(&format!("history-{name}")).await;
        browser.click_to_next_page(&format!("button[aria-label='Go back to change {number}']")).await;
        assert!(browser.text("#saved").await.contains(&format!("gone back to change {number}")));
        assert_eq!(entries(browser).await, readings);
    }
}

async fn export(browser: &Browser, server: &Server) {
    let link = browser.find(".steps a[download]").await.attr("href").await.unwrap().unwrap();
    let answer = reqwest::get(server.address(&link)).await.unwrap();
    assert_eq!(answer.headers()["content-disposition"], "attachment; filename=\"blower-from-hall-3.toml\"");
    let text = answer.text().await.unwrap();
    let job = bench::job::read("exported", &text).unwrap_or_else(|problems| panic!("{problems:?}"));
    assert_eq!((job.readings.len(), job.symptoms.len(), job.unit.wires().len()), (8, 1, 9));
    assert_eq!(job.unit.name, "Blower from hall 3");
    assert!(text.contains("amps = 0.95"), "the nameplate is not that typed: {text}");
    let open = job.readings.iter().filter(|reading| reading.value == bench::Value::Open).count();
    assert_eq!(open, 0, "the reading undone is there again");
}

async fn photo(browser: &Browser) {
    let file = Path::new(env!("CARGO_TARGET_TMPDIR")).join("nameplate.png");
    std::fs::write(&file, PHOTO).unwrap();
    browser.type_in("#photos input[type=file]", file.to_str().unwrap()).await;
    browser.click("#photos form[enctype] button").await;
    browser
        .wait_for("the photo", "document.querySelector('#photos img[alt=\"nameplate.jpg\"]').naturalWidth === 1")
        .await;
}

/// Everything that the page said was saved is there after the program was ended without a warning.
async fn power_cut(browser: &Browser, server: &mut Server, name: &str) {
    let state = "return ['#title', '#saved', '#readings', '#unit'].map((css) => document.querySelector(css).innerText).join('\\n')";
    weighed(browser).await;
    let before = browser.run(state, &[]).await;
    server.kill();
    browser
        .wait_for("word of the lost connection", "/Connection lost/.test(document.querySelector('#status').innerText)")
        .await;
    server.start_again();
    browser.complaints().await; // those of the lost connection
    browser.reload().await;
    assert_eq!(browser.run(state, &[]).await, before);
    browser.find("#photos img").await.scroll_into_view().await.unwrap();
    browser.wait_for("the photo", "document.querySelector('#photos img').naturalWidth === 1").await;
    weighed(browser).await;
    assert!(browser.text("#suspects .suspects li").await.contains("K1"));
    browser.no_complaints().await;
    browser.shot(&format!("after-the-power-cut-{name}")).await;
}
