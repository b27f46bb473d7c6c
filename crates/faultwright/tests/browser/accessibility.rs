//! Every page held to the rules of axe-core (WCAG 2 and best practice), in light and dark, on a laptop and on a phone.

use crate::AIR_CURTAIN;
use crate::browser::{Browser, LAPTOP, PHONE, Scripts, in_browser};
use crate::job_page::*;
use crate::programs::Server;
use serde_json::Value;
use std::path::{Path, PathBuf};

/// What is not let through.
const GRAVE: [&str; 2] = ["serious", "critical"];

/// The script of axe-core: named in `FAULTWRIGHT_AXE`, else that of the Python package beside the workspace.
fn axe() -> String {
    let named = std::env::var_os("FAULTWRIGHT_AXE").map(PathBuf::from);
    let places = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../.venv/lib");
    let folders = std::fs::read_dir(places).into_iter().flatten().flatten();
    let beside = folders.map(|folder| folder.path().join("site-packages/axe_playwright_python/axe.min.js"));
    let script = named.or_else(|| beside.into_iter().find(|file| file.is_file()));
    let script = script.and_then(|file| std::fs::read_to_string(file).ok());
    script.unwrap_or_else(|| {
        panic!(
            "axe-core is missing. Install it beside the workspace: python3 -m venv .venv; .venv/bin/pip install --no-deps \
             axe-playwright-python. Or name its axe.min.js in FAULTWRIGHT_AXE."
        )
    })
}

#[test]
fn accessibility() {
    in_browser(async {
        let axe = axe();
        let server = Server::start();
        let browser = Browser::start(Scripts::Allowed).await;
        import(&browser, &server, AIR_CURTAIN).await;
        let job = browser.path().await;
        import(&browser, &server, crate::runs::GREENHOUSE_HEATER).await;
        let heater = browser.path().await;
        // With the rows of a heat run and a confirmed cause.
        import(&browser, &server, include_str!("../../../../demos/heat-sealer.toml")).await;
        let sealer = browser.path().await;
        let pages = [
            ("jobs", "/".to_owned()),
            ("job", job.clone()),
            ("text", format!("{job}/text")),
            ("history", format!("{job}/history")),
            ("runs", format!("{heater}/runs")),
            ("plan", format!("{job}/plan/tree")),
            ("closing", format!("{job}/closing/standing")),
            ("heat-run", format!("{sealer}/heat-run")),
            ("learnt", "/learnt".to_owned()),
            ("you", "/you".to_owned()),
            ("error", "/jobs/nonsense".to_owned()),
        ];
        let mut grave = Vec::new();
        for (name, path) in pages {
            browser.open(&server.address(&path)).await;
            if name == "job" {
                weighed(&browser).await;
                show_pictures(&browser).await;
            }
            unfold_all(&browser).await;
            browser.run(&axe, &[]).await;
            for (width, scheme) in [(LAPTOP, "light"), (LAPTOP, "dark"), (PHONE, "light"), (PHONE, "dark")] {
                browser.width(width).await;
                browser.scheme(scheme).await;
                browser.shot(&format!("{name}-{width}-{scheme}")).await;
                grave.extend(violations(&browser, &format!("{name}, {width}, {scheme}")).await);
            }
        }
        assert!(grave.is_empty(), "{} grave violations:\n{}", grave.len(), grave.join("\n"));
    });
}

async fn unfold_all(browser: &Browser) {
    browser.run("for (const folded of document.querySelectorAll('details')) folded.open = true", &[]).await;
}

/// Grave violations in words; all others are printed.
async fn violations(browser: &Browser, page: &str) -> Vec<String> {
    let script = "const done = arguments[arguments.length - 1]; \
        axe.run(document, { resultTypes: ['violations'] }).then((all) => done({ checked: all.passes.length, violations: \
        all.violations.map((one) => ({ id: one.id, impact: one.impact, help: one.help, nodes: one.nodes.map((node) => \
        node.html.slice(0, 160) + ' -- ' + (node.failureSummary || '').replace(/\\s+/g, ' ')) })) }), \
        (error) => done({ error: String(error) }));";
    let found = browser.run_and_wait(script).await;
    // A page on which no rule could be checked would pass anything.
    assert!(found["checked"].as_u64() > Some(10), "{page}: axe-core checked next to nothing: {found}");
    let mut grave = Vec::new();
    for one in found["violations"].as_array().unwrap() {
        let words = in_words(page, one);
        if GRAVE.iter().any(|impact| one["impact"] == *impact) {
            grave.push(words);
        } else {
            eprintln!("{words}");
        }
    }
    grave
}

fn in_words(page: &str, violation: &Value) -> String {
    let nodes = violation["nodes"].as_array().unwrap();
    let first: Vec<&str> = nodes.iter().take(3).filter_map(Value::as_str).collect();
    format!(
        "{page}: {} ({}): {}; {} times: {}",
        violation["id"].as_str().unwrap_or_default(),
        violation["impact"].as_str().unwrap_or_default(),
        violation["help"].as_str().unwrap_or_default(),
        nodes.len(),
        first.join(" | ")
    )
}
