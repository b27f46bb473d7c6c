//! The record on paper: printed by the browser to PDF in A4 and Letter. The PDF is a tagged one (ISO 32000-1, 14.8), so that it says which
//! rows of a table lie on which page; what is as wide as the paper, and what text there is, is looked at as print media lays it out.

use crate::browser::{Browser, Scripts, in_browser};
use base64::Engine;
use serde_json::json;
use std::collections::{BTreeMap, BTreeSet};
use std::process::Command;

/// Papers, their width and height in millimetres (ISO 216; ANSI/ASME Y14.1), and in inches as the browser wants them.
const PAPERS: [(&str, [f64; 2]); 2] = [("A4", [210.0, 297.0]), ("Letter", [215.9, 279.4])];
/// Repaired, with all sections; one winding proven by a sensor, one by its ohms.
const DEMOS: [&str; 2] =
    [include_str!("../../../../demos/heat-sealer.toml"), include_str!("../../../../demos/bench-grinder.toml")];
const INCH: f64 = 25.4;
/// Margin of the record's pages, as its style says, millimetres.
const MARGIN: f64 = 15.0;
/// Pixels of a browser to the inch (CSS Values and Units 4, 5.2).
const PIXELS: f64 = 96.0;

/// What is wider than the paper, and lies outside of it; nothing is hidden in a frame that would have to be scrolled.
const TOO_WIDE: &str = r"
    const width = document.documentElement.clientWidth;
    const over = (e) => e.getBoundingClientRect().right > width + 1 || e.scrollWidth > Math.max(e.clientWidth, 1) + 1 && e.clientWidth > 0;
    const wide = [...document.querySelectorAll('body, body *:not(svg *)')].filter(over);
    return { page: document.documentElement.scrollWidth, width, wide: wide.slice(0, 5).map((e) => e.outerHTML.slice(0, 120)) };
";
/// Each heading with the text of its section, as it is shown.
const SECTIONS: &str = r"
    return [...document.querySelectorAll('main section')].map((s) => [s.id, s.innerText.length, [...s.querySelectorAll('h1, h2')].map((h) => h.innerText).join('|')]);
";

/// The record of a demo as a file.
fn record(demo: &str, folder: &std::path::Path) -> String {
    let (job, page) = (folder.join("job.toml"), folder.join("record.html"));
    std::fs::write(&job, demo).unwrap();
    let made = Command::new(env!("CARGO_BIN_EXE_faultwright"))
        .arg("record")
        .arg(&job)
        .arg("--out")
        .arg(&page)
        .output()
        .unwrap();
    assert!(page.is_file(), "{}", String::from_utf8_lossy(&made.stderr));
    format!("file://{}", page.display())
}

/// The objects of a PDF by number, as far as they are dictionaries that stand open.
fn objects(pdf: &[u8]) -> BTreeMap<u32, String> {
    let text: String = pdf.iter().map(|&byte| char::from(byte)).collect();
    let mut found = BTreeMap::new();
    for piece in text.split("endobj") {
        let Some((ahead, body)) = piece.rsplit_once(" 0 obj") else { continue };
        let digits: String = ahead.chars().rev().take_while(char::is_ascii_digit).collect();
        let Ok(number) = digits.chars().rev().collect::<String>().parse() else { continue };
        let body = body.split("stream\n").next().unwrap_or_default();
        found.insert(number, body.to_owned());
    }
    found
}

/// The number of an object that a key refers to.
fn referred(body: &str, key: &str) -> Vec<u32> {
    let after = body.match_indices(key).map(|(at, _)| &body[at + key.len()..]);
    after.filter_map(|rest| rest.trim_start().split(' ').next()?.parse().ok()).collect()
}

/// Whether an object is of this kind: `/Type /Page`, `/S /TR`.
fn is(body: &str, key: &str, value: &str) -> bool {
    let words = body.split(|c: char| c.is_whitespace() || "<>[]".contains(c)).filter(|word| !word.is_empty());
    words.clone().zip(words.skip(1)).any(|pair| pair == (key, value))
}

/// A printed record.
struct Printed {
    objects: BTreeMap<u32, String>,
    pages: Vec<u32>,
    /// Elements within each element of its structure.
    children: BTreeMap<u32, Vec<u32>>,
}

impl Printed {
    fn read(pdf: &[u8]) -> Self {
        let objects = objects(pdf);
        let pages = objects.iter().filter(|(_, body)| is(body, "/Type", "/Page")).map(|(&number, _)| number).collect();
        let mut children: BTreeMap<u32, Vec<u32>> = BTreeMap::new();
        for (&number, body) in objects.iter().filter(|(_, body)| is(body, "/Type", "/StructElem")) {
            referred(body, "/P ").into_iter().for_each(|parent| children.entry(parent).or_default().push(number));
        }
        Printed { objects, pages, children }
    }

    /// Width and height of each page, millimetres (a point is 1/72 inch).
    fn sizes(&self) -> Vec<[f64; 2]> {
        let size = |page: &u32| {
            let body = &self.objects[page];
            let (_, rest) = body.split_once("/MediaBox").unwrap();
            let inner = rest.split(['[', ']']).nth(1).unwrap();
            let edges: Vec<f64> = inner.split_whitespace().map(|edge| edge.parse().unwrap()).collect();
            [(edges[2] - edges[0]) / 72.0 * INCH, (edges[3] - edges[1]) / 72.0 * INCH]
        };
        self.pages.iter().map(size).collect()
    }

    /// The elements of this kind.
    fn elements(&self, kind: &str) -> Vec<u32> {
        let name = format!("/{kind}");
        self.objects.iter().filter(|(_, body)| is(body, "/S", &name)).map(|(&number, _)| number).collect()
    }

    /// The pages on which an element and all within it lie.
    fn pages_of(&self, element: u32) -> BTreeSet<u32> {
        let mut pages: BTreeSet<u32> = referred(&self.objects[&element], "/Pg").into_iter().collect();
        pages.extend(self.within(element).iter().flat_map(|&child| self.pages_of(child)));
        pages
    }

    fn within(&self, element: u32) -> &[u32] {
        self.children.get(&element).map_or(&[], Vec::as_slice)
    }

    /// The rows of bodies of tables: those of heads are repeated on every page.
    fn body_rows(&self) -> Vec<u32> {
        let has_data = |row: &u32| self.within(*row).iter().any(|cell| is(&self.objects[cell], "/S", "/TD"));
        self.elements("TR").into_iter().filter(has_data).collect()
    }
}

async fn print(browser: &Browser, [width, height]: [f64; 2]) -> Vec<u8> {
    let wishes = json!({
        "paperWidth": width / INCH, "paperHeight": height / INCH, "printBackground": false, "generateTaggedPDF": true,
        "marginTop": MARGIN / INCH, "marginBottom": MARGIN / INCH, "marginLeft": MARGIN / INCH, "marginRight": MARGIN / INCH,
    });
    let answer = browser.developer_tools("Page.printToPDF", wishes).await;
    base64::engine::general_purpose::STANDARD.decode(answer["data"].as_str().unwrap()).unwrap()
}

#[test]
fn the_record_fits_its_paper() {
    in_browser(async {
        let folder = tempfile::tempdir().unwrap();
        let browser = Browser::start(Scripts::Allowed).await;
        browser.developer_tools("Emulation.setEmulatedMedia", json!({ "media": "print" })).await;
        // Paper has no scroll bar.
        browser.developer_tools("Emulation.setScrollbarsHidden", json!({ "hidden": true })).await;
        for (demo, (paper, size)) in DEMOS.into_iter().flat_map(|demo| PAPERS.map(|paper| (demo, paper))) {
            browser.open(&record(demo, folder.path())).await;
            let inside = ((size[0] - 2.0 * MARGIN) / INCH * PIXELS).floor();
            let metrics = json!({ "width": inside, "height": 900, "deviceScaleFactor": 1, "mobile": false });
            browser.developer_tools("Emulation.setDeviceMetricsOverride", metrics).await;
            let seen = browser.run(TOO_WIDE, &[]).await;
            assert_eq!(seen["width"].as_f64(), Some(inside), "{paper}");
            assert_eq!(seen["wide"], json!([]), "{paper}: wider than its paper: {seen}");
            let sections = browser.run(SECTIONS, &[]).await;
            let sections = sections.as_array().unwrap();
            assert!(sections.len() >= 9, "{sections:?}");
            assert!(sections.iter().all(|section| section[1].as_u64() > Some(40) && section[2] != ""), "{sections:?}");

            let printed = Printed::read(&print(&browser, size).await);
            let sizes = printed.sizes();
            assert!((4..=12).contains(&sizes.len()), "{paper}: {} pages", sizes.len());
            let is_paper = |page: &[f64; 2]| (page[0] - size[0]).abs() < 1.0 && (page[1] - size[1]).abs() < 1.0;
            assert!(sizes.iter().all(is_paper), "{paper}: {sizes:?}");
            let rows = printed.body_rows();
            let wanted = browser.run("return document.querySelectorAll('tbody tr').length", &[]).await;
            assert_eq!(Some(rows.len() as u64), wanted.as_u64(), "{paper}: rows that are on paper");
            let split: Vec<u32> = rows.iter().copied().filter(|&row| printed.pages_of(row).len() != 1).collect();
            assert!(split.is_empty(), "{paper}: {} of {} rows are split between pages", split.len(), rows.len());
            // The customer's page stands by itself: what follows begins on the next.
            let wanted = browser.run("return document.querySelectorAll('h2').length", &[]).await;
            assert_eq!(Some(printed.elements("H2").len() as u64), wanted.as_u64(), "{paper}: headings on paper");
            let headings = printed.elements("H2").iter().map(|&heading| printed.pages_of(heading)).collect::<Vec<_>>();
            let first = printed.pages_of(printed.elements("H1")[0]);
            let on_first = headings.iter().filter(|pages| **pages == first).count();
            let of_customer = browser.run("return document.querySelectorAll('#customer h2').length", &[]).await;
            assert_eq!(Some(on_first as u64), of_customer.as_u64(), "{paper}: headings on the customer's page");
        }
        browser.no_complaints().await;
    });
}
