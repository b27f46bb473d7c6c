//! x
use bench::*;
fn main() {
    let args: Vec<String> = std::env::args().collect();
    let job = job::read_bytes(&args[1], &std::fs::read(&args[1]).unwrap()).unwrap_or_else(|e| {
        println!("{e}");
        std::process::exit(1)
    });
    let t = std::time::Instant::now();
    let d = diagnosis::diagnose(&job).unwrap();
    println!("{:.1} ms  {:?} not enumerated {:.2e}", t.elapsed().as_secs_f64() * 1e3, d.work, d.mass_not_enumerated);
    for s in d.suspects.iter().take(12) {
        println!(
            "{:7.4} hidden {:.2} ev {:8.2} steps {:?} arrived {:?} {} sev {:?}",
            s.probability,
            s.hidden_share,
            s.log_evidence,
            s.fit.as_ref().map(|f| f.steps),
            s.fit.as_ref().map(|f| f.arrived),
            s.faults
                .as_ref()
                .map(|f| f.0.iter().map(|&f| job.unit.faults()[f].label()).collect::<Vec<_>>().join(" + "))
                .unwrap_or("unknown".into()),
            d.severities(s)
        );
    }
    for r in d.repairs.iter().take(6) {
        println!("{:.4} {}", r.probability, r.repair);
    }
    let top = &d.suspects[0];
    if let Some(f) = &top.fit {
        for (r, p) in job.readings.iter().zip(&f.outlook.predictions) {
            println!("line {} {:?} pred {:.3} meas {:?}", r.line, r.measure, p.value, r.value);
        }
        println!("symptoms {:.3}", f.outlook.symptoms);
    }
    println!("{:?}", d.questionable_readings());
}
