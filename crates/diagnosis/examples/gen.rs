//! x
use bench::*;
fn main() {
    let args: Vec<String> = std::env::args().collect();
    let job = job::read_bytes(&args[1], &std::fs::read(&args[1]).unwrap()).unwrap_or_else(|e| {
        println!("{e}");
        std::process::exit(1)
    });
    let seed: u64 = args[2].parse().unwrap();
    let set = FaultSet(args[3..].iter().map(|a| job.unit.find_fault(a).expect("fault")).collect());
    let prior = diagnosis::prior::Prior::new(&job.unit).with_severities(&job.unit, &set);
    let mut s = seed;
    let mut u = || {
        s = s.wrapping_mul(6364136223846793005).wrapping_add(1442695040888963407);
        (s >> 11) as f64 / (1u64 << 53) as f64
    };
    let mut g = || (0..12).map(|_| u()).sum::<f64>() - 6.0;
    let z = nalgebra::DVector::from_fn(prior.count(), |_, _| 0.6 * g());
    let d = prior.deviations(&z);
    for (i, x) in job.unit.unknowns().iter().enumerate() {
        eprintln!("{} {} {:.3}", job.unit.parts()[x.part].name, x.words, x.median * d[i].exp());
    }
    for (i, setup) in job.setups.iter().enumerate() {
        observe(&job.unit, setup, &set, &d, |o| {
            println!("== {}", setup.name);
            for r in job.readings.iter().filter(|r| r.setup == i) {
                let v = o.value(r.measure, &job.meters[r.meter]).unwrap();
                println!("line {} {:?}: {:.3} (file {:?})", r.line, r.measure, v, r.value);
            }
            for p in 0..job.unit.parts().len() {
                if let Some(r) = o.speed_ratio(p) {
                    println!(
                        "  {} rpm {:.0} heat {:.1} W watts {:.1}",
                        job.unit.parts()[p].name,
                        r * job.unit.parts()[p].kind.synchronous_rpm(job.unit.hertz()).unwrap(),
                        o.heat(p),
                        o.watts(p)
                    );
                }
            }
        })
        .unwrap();
    }
}
