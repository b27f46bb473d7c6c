//! Writes drawings for a person to look at.
use bench::{FaultSet, job};
use draw::wiring::{self, WiringView};

#[test]
fn write_drawings() {
    for dir in ["demos", "starters"] {
        let Ok(list) = std::fs::read_dir(format!("../../{dir}")) else { continue };
        for entry in list {
            let path = entry.unwrap().path();
            if path.extension().and_then(|e| e.to_str()) != Some("toml") { continue }
            let name = path.file_stem().unwrap().to_str().unwrap().to_owned();
            let text = std::fs::read_to_string(&path).unwrap();
            let job = match job::read("x", &text) { Ok(job) => job, Err(e) => { eprintln!("{name}: {e:?}"); continue } };
            let start = std::time::Instant::now();
            let layout = wiring::layout(&job.unit);
            eprintln!("{name}: {} crossings, {:.0}x{:.0}, {:?}", layout.crossings(), layout.width, layout.height, start.elapsed());
            let mut view = WiringView::new(&job.unit);
            std::fs::write(format!("/tmp/{name}-plain.svg"), wiring::draw(&view).standalone()).unwrap();
            if dir == "starters" { continue }
            for (k, setup) in job.setups.iter().enumerate() {
                view.setup = Some(setup);
                view.flows = Some(wiring::flows(&job.unit, setup, &FaultSet::none(), &vec![0.0; bench::wiring::unknown_count(&job.unit, &FaultSet::none())]).unwrap()).filter(|_| setup.energised);
                std::fs::write(format!("/tmp/{name}-{k}.svg"), wiring::draw(&view).standalone()).unwrap();
            }
        }
    }
}
