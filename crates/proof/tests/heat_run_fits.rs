//! Fits of exponentials held to NIST's certified values and to closed forms.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use proof::heat_run::least_squares::{Fit, FitError, Form, fit, fit_anywhere, three_readings};

/// Certified values are printed to eleven digits.
fn digits(ours: f64, certified: f64) -> f64 {
    -((ours - certified) / certified).abs().max(1e-11).log10()
}

fn held_to(found: &Fit, certified: &[f64], deviations: &[f64], squares: f64, name: &str) {
    let values: Vec<f64> = found.amplitudes.iter().chain(&found.rates).copied().collect();
    assert_eq!(values.len(), certified.len());
    for (ours, certified) in values.iter().zip(certified) {
        assert!(digits(*ours, *certified) >= 8.0, "{name}: {ours} is not {certified}");
    }
    for (ours, certified) in found.deviations.iter().zip(deviations) {
        assert!(digits(*ours, *certified) >= 6.0, "{name}: deviation {ours} is not {certified}");
    }
    assert!(digits(found.residual_squares, squares) >= 7.0, "{name}: {} is not {squares}", found.residual_squares);
}

/// NIST StRD, BoxBOD (Box, Hunter and Hunter 1978), both starts.
#[test]
fn boxbod() {
    let x = [1.0, 2.0, 3.0, 5.0, 7.0, 10.0];
    let y = [109.0, 149.0, 149.0, 191.0, 213.0, 224.0];
    for start in [1.0, 0.75] {
        let found = fit(Form::Rise, &x, &y, &[start]).unwrap();
        let deviations = [1.2354515176E+01, 1.0455993237E-01];
        held_to(&found, &[2.1380940889E+02, 5.4723748542E-01], &deviations, 1.1680088766E+03, "BoxBOD");
    }
}

/// NIST StRD, Misra1a (Misra 1978), both starts.
#[test]
fn misra1a() {
    let x = [77.6, 114.9, 141.1, 190.8, 239.9, 289.0, 332.8, 378.4, 434.8, 477.3, 536.8, 593.1, 689.1, 760.0];
    let y = [10.07, 14.73, 17.94, 23.93, 29.61, 35.18, 40.02, 44.82, 50.76, 55.05, 61.01, 66.40, 75.47, 81.78];
    for start in [0.0001, 0.0005] {
        let found = fit(Form::Rise, &x, &y, &[start]).unwrap();
        let deviations = [2.7070075241E+00, 7.2668688436E-06];
        held_to(&found, &[2.3894212918E+02, 5.5015643181E-04], &deviations, 1.2455138894E-01, "Misra1a");
    }
}

const MGH17: [f64; 33] = [
    0.844, 0.908, 0.932, 0.936, 0.925, 0.908, 0.881, 0.850, 0.818, 0.784, 0.751, 0.718, 0.685, 0.658, 0.628, 0.603,
    0.580, 0.558, 0.538, 0.522, 0.506, 0.490, 0.478, 0.467, 0.457, 0.448, 0.438, 0.431, 0.424, 0.420, 0.414, 0.411,
    0.406,
];

/// NIST StRD, MGH17 (Osborne 1972): from the second start, and from anywhere. Its first start (rates 1 and 2 for readings
/// 10 apart) shows the fit nothing; see [`fit_anywhere`].
#[test]
fn mgh17() {
    let x: Vec<f64> = (0..33).map(|step| 10.0 * f64::from(step)).collect();
    let certified = [3.7541005211E-01, 1.9358469127E+00, -1.4646871366E+00, 1.2867534640E-02, 2.2122699662E-02];
    let deviations = [2.0723153551E-03, 2.2031669222E-01, 2.2175707739E-01, 4.4861358114E-04, 8.9471996575E-04];
    for found in [
        fit(Form::DecayToConstant, &x, &MGH17, &[0.01, 0.02]).unwrap(),
        fit_anywhere(Form::DecayToConstant, &x, &MGH17, 2).unwrap(),
    ] {
        held_to(&found, &certified, &deviations, 5.4648946975E-05, "MGH17");
    }
}

/// NIST StRD, Lanczos3 (Lanczos 1956), both starts (rates 0.3, 5.5, 7.6 and 0.7, 4.2, 6.3) and from anywhere.
#[test]
fn lanczos3() {
    let y = [
        2.5134, 2.0443, 1.6684, 1.3664, 1.1232, 0.9269, 0.7679, 0.6389, 0.5338, 0.4479, 0.3776, 0.3197, 0.2720, 0.2325,
        0.1997, 0.1723, 0.1493, 0.1301, 0.1138, 0.1000, 0.0883, 0.0783, 0.0698, 0.0624,
    ];
    let x: Vec<f64> = (0..24).map(|step| 0.05 * f64::from(step)).collect();
    let certified =
        [8.6816414977E-02, 8.4400777463E-01, 1.5825685901E+00, 9.5498101505E-01, 2.9515951832E+00, 4.9863565084E+00];
    let deviations =
        [1.7197908859E-02, 4.1488663282E-02, 5.8371576281E-02, 9.7041624475E-02, 1.0766312506E-01, 3.4436403035E-02];
    for found in [
        fit(Form::Decay, &x, &y, &[0.3, 5.5, 7.6]).unwrap(),
        fit(Form::Decay, &x, &y, &[0.7, 4.2, 6.3]).unwrap(),
        fit_anywhere(Form::Decay, &x, &y, 3).unwrap(),
    ] {
        let mut order: Vec<usize> = (0..3).collect();
        order.sort_by(|&a, &b| found.rates[a].total_cmp(&found.rates[b]));
        let sorted = Fit {
            amplitudes: order.iter().map(|&place| found.amplitudes[place]).collect(),
            rates: order.iter().map(|&place| found.rates[place]).collect(),
            deviations: order
                .iter()
                .copied()
                .chain(order.iter().map(|place| 3 + place))
                .map(|at| found.deviations[at])
                .collect(),
            ..found
        };
        held_to(&sorted, &certified, &deviations, 1.6117193594E-08, "Lanczos3");
    }
}

/// Check values 9: 60 K and 30 minutes from readings at 20, 40 and 60 minutes; closed form.
#[test]
fn three_readings_at_equal_spacing() {
    let (rise, constant) = three_readings([29.194_973, 44.184_172, 51.879_883], 20.0).unwrap();
    assert!((rise - 60.0).abs() < 1e-4 && (constant - 30.0).abs() < 1e-4, "{rise} {constant}");
    assert_eq!(three_readings([10.0, 20.0, 30.0], 1.0), None, "a straight line has no end in sight");
    assert_eq!(three_readings([10.0, 20.0, 40.0], 1.0), None);
    assert_eq!(three_readings([10.0, 10.0, 10.0], 1.0), None);
}

/// Check values 9: winding of two nodes, rises over time by the matrix exponential; time constants 36.1529 and 663.847 s.
#[test]
fn two_nodes() {
    let x = [0.0, 60.0, 300.0, 600.0, 1800.0, 3600.0];
    let y = [0.0, 24.1002, 42.7640, 54.4885, 71.6353, 74.7765];
    let found = fit_anywhere(Form::DecayToConstant, &x, &y, 2).unwrap();
    let mut constants: Vec<f64> = found.rates.iter().map(|rate| 1.0 / rate).collect();
    constants.sort_by(f64::total_cmp);
    assert!((found.amplitudes[0] - 75.0).abs() < 1e-3, "{found:?}");
    assert!((constants[0] - 36.1529).abs() < 0.01 && (constants[1] - 663.847).abs() < 0.05, "{constants:?}");
}

#[test]
fn too_few_readings_and_no_readings_are_errors() {
    assert_eq!(fit(Form::Rise, &[1.0], &[1.0], &[1.0]), Err(FitError::TooFew { readings: 1, unknowns: 2 }));
    assert_eq!(fit(Form::Rise, &[1.0, 2.0, 3.0], &[1.0, 2.0, 2.5], &[-1.0]), Err(FitError::Undetermined));
    let nothing = fit(Form::Rise, &[1.0, 2.0, 3.0], &[f64::NAN; 3], &[1.0]);
    assert_eq!(nothing, Err(FitError::Undetermined));
    assert!(fit_anywhere(Form::DecayToConstant, &[0.0; 8], &[1.0; 8], 2).is_err());
}
