//! A job begun and a reading taken without a pointer, the focus always to be seen.

use crate::browser::{Browser, Scripts, in_browser};
use crate::job_page::*;
use crate::programs::Server;
use serde_json::json;
use std::cell::RefCell;
use thirtyfour::Key;

/// More steps than any page has stops.
const MOST_STEPS: usize = 200;

/// What has the focus, in words, and what is wrong with how it shows; `null` if nothing.
const FOCUS: &str = r"
    const e = document.activeElement;
    const name = e.id ? '#' + e.id : (e.dataset?.terminal || e.getAttribute('aria-label') || e.name || e.innerText || e.tagName).slice(0, 60);
    if (e === document.body) return ['body', 'the focus is lost'];
    const outlined = (e) => { const s = getComputedStyle(e); return s.outlineStyle !== 'none' && parseFloat(s.outlineWidth) >= 2; };
    const unseen = parseFloat(getComputedStyle(e).opacity) === 0; // shown by what stands beside it
    const ring = e.dataset?.terminal && parseFloat(getComputedStyle(e.querySelector('.ink')).strokeWidth) >= 3;
    if (!(outlined(e) && !unseen) && !(unseen && outlined(e.nextElementSibling)) && !ring) return [name, 'no outline'];
    const box = (unseen ? e.nextElementSibling : e).getBoundingClientRect();
    const over = (x, y) => { const hit = document.elementFromPoint(x, y); return hit && (e.contains(hit) || hit.contains(e) ||
      (unseen && e.nextElementSibling.contains(hit))) && !hit.matches('html, body, main'); };
    const points = [0.05, 0.25, 0.5, 0.75, 0.95];
    const seen = points.some((x) => points.some((y) => over(box.left + x * box.width, box.top + y * box.height)));
    return [name, seen ? null : `hidden or out of sight at ${Math.round(box.left)},${Math.round(box.top)}`];
";

/// A person without a pointer.
struct Keys {
    browser: Browser,
    /// Where the focus was lost or could not be seen, all told at the end.
    unseen: RefCell<Vec<String>>,
}

impl Keys {
    /// Notes it if the focus is nowhere or cannot be seen after something was done.
    async fn look(&self, done: &str) {
        let seen = self.browser.run(FOCUS, &[]).await;
        if !seen[1].is_null() {
            self.browser.shot(&format!("keyboard-focus-unseen-{}", self.unseen.borrow().len())).await;
            self.unseen.borrow_mut().push(format!("after {done}: {}: {}", seen[0], seen[1]));
        }
    }

    /// Steps on with Tab, or back, until what is meant has the focus.
    async fn step_to(&self, css: &str, backwards: bool) {
        for _ in 0..MOST_STEPS {
            if self.is_at(css).await {
                return;
            }
            if backwards {
                self.browser.press_with(Key::Shift, Key::Tab).await;
            } else {
                self.browser.press(Key::Tab).await;
            }
            self.look(&format!("a step towards {css}")).await;
        }
        panic!("{css} was never reached");
    }

    async fn is_at(&self, css: &str) -> bool {
        self.browser.run("return document.activeElement.matches(arguments[0])", &[json!(css)]).await == json!(true)
    }

    /// Steps to what is meant the shorter way, as someone does who knows the page.
    async fn go(&self, css: &str) {
        let script = "const there = document.querySelector(arguments[0]); \
                      return (document.activeElement.compareDocumentPosition(there) & Node.DOCUMENT_POSITION_PRECEDING) !== 0";
        let precedes = self.browser.run(script, &[json!(css)]).await == json!(true);
        self.step_to(css, precedes).await;
    }

    /// Types where the focus is, ends it with Enter, and waits for the ranking; the focus is looked at before and after.
    async fn enter(&self, text: &str, done: &str) {
        let before = revision(&self.browser).await;
        self.browser.press(text).await;
        self.browser.press(Key::Enter).await;
        saved_after(&self.browser, before).await;
        self.look(done).await;
        weighed(&self.browser).await;
        self.look(&format!("{done}, and weighing")).await;
    }
}

#[test]
fn keyboard_alone() {
    in_browser(async {
        let server = Server::start();
        let keys = Keys { browser: Browser::start(Scripts::Allowed).await, unseen: RefCell::default() };
        keys.browser.open(&server.address("/")).await;
        keys.go("#begin input[name=name]").await;
        keys.browser.press("Blower by keys").await;
        keys.go("#begin form[action='/jobs/new'] button").await;
        keys.browser.press(Key::Enter).await;
        keys.browser.wait_for("the page of the job", "document.querySelector('#saved')").await;
        weighed(&keys.browser).await;

        a_reading_from_the_drawing(&keys).await;
        the_next_one_in_a_line(&keys).await;
        a_live_one(&keys).await;
        other_entries(&keys).await;
        keys.browser.no_complaints().await;
        let unseen = keys.unseen.into_inner();
        assert!(unseen.is_empty(), "the focus could not be seen:\n{}", unseen.join("\n"));
    });
}

/// Two terminals chosen on the drawing, in a setup chosen by its name.
async fn a_reading_from_the_drawing(keys: &Keys) {
    keys.go("#wiring [data-terminal='M1.common']").await;
    keys.browser.shot_of("#wiring", "keyboard-focus-on-a-terminal-1280").await;
    keys.browser.press(Key::Enter).await;
    keys.look("choosing a terminal").await;
    keys.go("#wiring [data-terminal='M1.high']").await;
    keys.browser.press(" ").await;
    keys.look("choosing another terminal").await;
    let script = "return ['from', 'to'].map((end) => document.getElementById('entry-' + end).value)";
    assert_eq!(keys.browser.run(script, &[]).await, json!(["M1.common", "M1.high"]));
    keys.go("#entry-setup").await;
    keys.browser.press("unplugged").await;
    keys.go("#entry-value").await;
    keys.enter("27.1", "a reading").await;
    assert!(keys.browser.text("#readings").await.contains("27.1"));
}

/// After a line, the next can be typed at once.
async fn the_next_one_in_a_line(keys: &Keys) {
    keys.go("#entry-line").await;
    keys.enter("M1.high M1.low 20.1", "a reading in a line").await;
    assert!(keys.is_at("#entry-line").await, "the next line cannot be typed at once");
}

/// A live one, its precautions confirmed.
async fn a_live_one(keys: &Keys) {
    keys.go("#entry-setup").await;
    keys.browser.press("high").await;
    keys.go(".caution[data-for-setup=high] input[type=checkbox]").await;
    keys.browser.press(" ").await;
    keys.go(".caution[data-for-setup=high] button").await;
    keys.browser.press(Key::Enter).await;
    let confirmed = "document.querySelector('.caution[data-for-setup=high] .confirmed')";
    keys.browser.wait_for("the precautions to be confirmed", confirmed).await;
    keys.look("confirming precautions").await;
    keys.go("#entry-line").await;
    keys.enter("cord.hot 0.9 A", "a live reading").await;
    assert_eq!(entries(&keys.browser).await, 3);
}

/// Other entries and the undoing of one: a word, a nameplate, a wire.
async fn other_entries(keys: &Keys) {
    keys.go("#symptom-form button[value=slow]").await;
    keys.enter("", "a word").await;
    assert!(keys.browser.text("#readings").await.contains("slow"));
    keys.go("#notice button").await;
    keys.enter("", "undoing").await;
    assert!(!keys.browser.text("#readings").await.contains("slow"));
    keys.go("#part-M1 > summary").await;
    keys.browser.press(Key::Enter).await;
    keys.go("#part-M1 [name='field:plate.amps']").await;
    keys.browser.press_with(Key::Control, 'a').await;
    keys.enter("0.8", "a nameplate").await;
    keys.go("#wire-from").await;
    keys.browser.press("K1.a").await;
    keys.go("#wire-to").await;
    keys.enter("K1.b", "a wire").await;
}
