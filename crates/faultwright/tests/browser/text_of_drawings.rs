//! Texts of the drawings, as the browser sets them: none over another, none cut off.

use crate::AIR_CURTAIN;
use crate::browser::{Browser, LAPTOP, PHONE, Scripts, in_browser};
use crate::job_page::*;
use crate::programs::Server;
use serde_json::Value;

/// Pairs of texts of one drawing that overlap by more than a pixel both ways, and texts that reach beyond it.
const CLASHES: &str = r"
    const clashes = [];
    let texts = 0, drawings = 0, smallest = Infinity;
    for (const svg of document.querySelectorAll('svg')) {
      drawings += 1;
      const edge = svg.getBoundingClientRect();
      const name = svg.getAttribute('aria-label') || svg.querySelector('title')?.textContent || svg.id;
      const boxes = [...svg.querySelectorAll('text')].filter((text) => text.textContent.trim())
        .map((text) => [text.textContent, text.getBoundingClientRect()]);
      texts += boxes.length;
      const scale = edge.width / svg.viewBox.baseVal.width;
      for (const text of svg.querySelectorAll('text')) smallest = Math.min(smallest, parseFloat(getComputedStyle(text).fontSize) * scale);
      boxes.forEach(([a, p], first) => {
        if (p.left < edge.left - 1 || p.right > edge.right + 1 || p.top < edge.top - 1 || p.bottom > edge.bottom + 1) {
          clashes.push(`${name}: '${a}' reaches beyond the drawing`);
        }
        for (const [b, q] of boxes.slice(first + 1)) {
          const across = Math.min(p.right, q.right) - Math.max(p.left, q.left);
          const down = Math.min(p.bottom, q.bottom) - Math.max(p.top, q.top);
          if (across > 1 && down > 1) clashes.push(`${name}: '${a}' and '${b}' by ${across.toFixed(1)} x ${down.toFixed(1)}`);
        }
      });
    }
    return { clashes, texts, drawings, smallest };
";

#[test]
fn text_of_drawings() {
    in_browser(async {
        let server = Server::start();
        let browser = Browser::start(Scripts::Allowed).await;
        import(&browser, &server, AIR_CURTAIN).await;
        weighed(&browser).await;
        show_pictures(&browser).await;
        for width in [LAPTOP, PHONE] {
            browser.width(width).await;
            let found = browser.run(CLASHES, &[]).await;
            eprintln!(
                "at {width} pixels the smallest letters are {:.1} pixels high",
                found["smallest"].as_f64().unwrap()
            );
            // Wiring, suspects, fit, levels, and current paths twice.
            assert_eq!(found["drawings"], 6);
            assert!(found["texts"].as_u64() > Some(150), "only {} texts", found["texts"]);
            let clashes: Vec<&str> = found["clashes"].as_array().unwrap().iter().filter_map(Value::as_str).collect();
            for (css, name) in [("#wiring", "wiring"), ("#suspects", "suspects"), ("#pictures", "pictures")] {
                browser.shot_of(css, &format!("air-curtain-{name}-{width}")).await;
            }
            assert!(clashes.is_empty(), "at {width} pixels, {} of them:\n{}", clashes.len(), clashes.join("\n"));
        }
    });
}
