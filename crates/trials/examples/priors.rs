use std::collections::BTreeMap;
use trials::case::Case;
use trials::truth::parts::TruePart;
fn main() {
    let mut all: BTreeMap<(String, String), Vec<f64>> = BTreeMap::new();
    for number in 0..1300 {
        let Some(case) = Case::draw(7, number, 1.0) else { continue };
        let unit = &case.job.unit;
        for (index, part) in unit.parts().iter().enumerate() {
            let Some(TruePart::Induction(m)) = case.drawn.parts.get(&part.name) else { continue };
            for u in unit.unknowns().iter().filter(|u| u.part == index) {
                let v = match u.words.as_str() {
                    "main winding ohms" | "forward winding ohms" => m.main_ohms,
                    "leakage reactance" => m.main_leakage,
                    "magnetising reactance" => m.magnetising,
                    "rotor resistance" => m.rotor_ohms,
                    w if w.ends_with("winding ohms") => m.second.ohms,
                    w if w.ends_with("winding turns") => m.second.turns,
                    w if w.starts_with("section") && w.ends_with("ohms") => m.sections[0].ohms,
                    w if w.starts_with("section") && w.ends_with("turns") => m.sections[0].turns,
                    "core loss" => m.core_loss,
                    _ => continue,
                };
                let words = if u.words.starts_with("section") {
                    if u.words.ends_with("ohms") { "section ohms".into() } else { "section turns".to_string() }
                } else {
                    u.words.clone()
                };
                all.entry((format!("{:?} {}", m.make, m.load_fault), words))
                    .or_default()
                    .push((v / u.median).ln() / u.log_spread);
            }
        }
    }
    for (k, v) in all {
        let n = v.len() as f64;
        let mean = v.iter().sum::<f64>() / n;
        let sd = (v.iter().map(|x| (x - mean).powi(2)).sum::<f64>() / n).sqrt();
        let out = v.iter().filter(|x| x.abs() > 1.96).count() as f64 / n;
        let far = v.iter().fold(0.0f64, |a, x| a.max(x.abs()));
        println!(
            "{:20} {:28} n {n:5} mean {mean:6.2} sd {sd:5.2} outside95 {:.1}% worst {far:.1}",
            k.0,
            k.1,
            100.0 * out
        );
    }
}
