use bench::Value;
use leads::*;
fn case(leads: &[&str], known: Known, readings: &[(usize, usize, f64)]) -> Case {
    Case {
        name: "t".into(),
        note: None,
        leads: leads.iter().map(|s| s.to_string()).collect(),
        known,
        winding_celsius: 20.0,
        readings: readings
            .iter()
            .map(|&(a, b, v)| LeadReading {
                between: (a, b),
                value: if v.is_finite() { Value::Number(v) } else { Value::Open },
                meter: OhmMeter::default(),
                winding_celsius: 20.0,
                line: 0,
            })
            .collect(),
    }
}
#[test]
fn look() {
    let inf = f64::INFINITY;
    let t = std::time::Instant::now();
    let show = |f: &Finding, t: std::time::Instant| {
        println!(
            "{:?} groups {} none {:.4} left {:.2e} wrong {:?}",
            t.elapsed(),
            f.groups.len(),
            f.none_of_these,
            f.left_out,
            f.wrong.iter().map(|w| (w * 1000.0).round() / 1000.0).collect::<Vec<_>>()
        );
        for a in f.answers.iter().take(5) {
            println!(
                "  {:.5} {:?}",
                a.probability,
                a.assignment.0.iter().map(|s| (s.role, s.leads.clone())).collect::<Vec<_>>()
            );
        }
        for (a, p) in f.arrangements.iter().zip(f.arrangement_probabilities()) {
            if p > 1e-3 {
                println!("    {:?} {} {:.3}", a.motor, a.words, p);
            }
        }
    };
    let f = infer(&case(&["a", "b", "c"], Known::default(), &[(0, 1, 4.0), (0, 2, 11.0), (1, 2, 15.0)])).unwrap();
    show(&f, t);
    let t = std::time::Instant::now();
    let f = infer(&case(&["a", "b", "c"], Known::default(), &[(0, 1, inf), (0, 2, inf), (1, 2, 15.0)])).unwrap();
    show(&f, t);
    // 3-speed: C 0, fast1 12, med +4, slow+5, start 20 from common; red wrong decimal
    let pos = [0.0, 12.0, 16.0, 21.0, -20.0f64];
    let mut r = vec![];
    for a in 0..5 {
        for b in a + 1..5 {
            r.push((a, b, ((pos[a] - pos[b]).abs() * 10.0).round() / 10.0));
        }
    }
    let t = std::time::Instant::now();
    let f =
        infer(&case(&["a", "b", "c", "d", "e"], Known { motor: Some(Motor::CapacitorRun), ..Known::default() }, &r))
            .unwrap();
    show(&f, t);
    r[3].2 *= 10.0;
    let t = std::time::Instant::now();
    let f = infer(&case(&["a", "b", "c", "d", "e"], Known::default(), &r)).unwrap();
    show(&f, t);
    let pos = [0.0, 12.0, 14.0, 17.0, 20.0, 24.0, -20.0f64];
    let mut r = vec![];
    for a in 0..7 {
        for b in a + 1..7 {
            r.push((a, b, ((pos[a] - pos[b]).abs() * 10.0).round() / 10.0));
        }
    }
    let t = std::time::Instant::now();
    let f = infer(&case(&["a", "b", "c", "d", "e", "f", "g"], Known::default(), &r)).unwrap();
    show(&f, t);
    // nine-lead star, all 36
    let pairs = [(0, 1), (2, 3), (4, 5)];
    let mut r = vec![];
    for a in 0..9usize {
        for b in a + 1..9 {
            let v = if pairs.contains(&(a, b)) {
                3.0
            } else if a >= 6 {
                6.0
            } else {
                inf
            };
            r.push((a, b, v));
        }
    }
    let t = std::time::Instant::now();
    let f = infer(&case(&["a", "b", "c", "d", "e", "f", "g", "h", "i"], Known::default(), &r)).unwrap();
    show(&f, t);
    let t = std::time::Instant::now();
    let f = infer(&case(&["a", "b", "c", "d", "e", "f", "g", "h", "i"], Known::default(), &r[..8])).unwrap();
    show(&f, t);
}
