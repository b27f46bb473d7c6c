//! How long a rotor runs on: closed forms against quadrature, and by hand.

use circuit::Quantity;
use machine::{Load, LoadLaw};

const LAWS: [LoadLaw; 4] = [LoadLaw::Square, LoadLaw::Linear, LoadLaw::Constant, LoadLaw::LevelPressure];
/// Share of its torque that a compressor asks for at rest.
const AT_REST: f64 = 0.08;

fn load(law: LoadLaw, torque: f64, friction: f64) -> Load {
    Load {
        torque: Quantity::constant(torque),
        law,
        reference_ratio: 0.95,
        friction_torque: Quantity::constant(friction),
    }
}

/// Torque over the reference torque at a relative speed, written down anew.
fn shape(law: LoadLaw, x: f64) -> f64 {
    match law {
        LoadLaw::Square => x * x,
        LoadLaw::Linear => x,
        LoadLaw::Constant => 1.0,
        LoadLaw::LevelPressure => AT_REST + (1.0 - AT_REST) * x,
    }
}

/// Simpson's rule for the integral of `dx / (T s(x) + F)`.
fn by_quadrature(law: LoadLaw, torque: f64, friction: f64, ratio: f64) -> f64 {
    let (end, pieces) = (ratio.abs() / 0.95, 20_000);
    let width = end / f64::from(pieces);
    let at = |k: i32| 1.0 / (torque * shape(law, f64::from(k) * width) + friction);
    let weight = |k: i32| {
        if k == 0 || k == pieces {
            1.0
        } else if k % 2 == 1 {
            4.0
        } else {
            2.0
        }
    };
    (0..=pieces).map(|k| weight(k) * at(k)).sum::<f64>() * width / 3.0
}

#[test]
fn every_closed_form_is_the_integral() {
    for law in LAWS {
        for (torque, friction, ratio) in [(0.7, 0.03, 0.95), (0.02, 0.4, 0.5), (1.5, 0.2, -0.93), (0.3, 0.3, 0.0)] {
            let found = load(law, torque, friction).run_down(ratio).value;
            let expected = by_quadrature(law, torque, friction, ratio);
            assert!((found - expected).abs() <= 1e-8 * expected, "{law:?}: {found}, by quadrature {expected}");
        }
    }
}

#[test]
fn derivatives_agree_with_differences() {
    let step = 1e-6;
    for law in LAWS {
        let (torque, friction, ratio) = (0.7, 0.05, 0.9);
        let found = load(law, torque, friction).run_down(ratio);
        let value = |torque: f64, friction: f64, ratio: f64| load(law, torque, friction).run_down(ratio).value;
        let slope = |up: f64, down: f64| (up - down) / (2.0 * step);
        for (name, exact, difference) in [
            (
                "torque",
                found.by_torque,
                slope(value(torque + step, friction, ratio), value(torque - step, friction, ratio)),
            ),
            (
                "friction",
                found.by_friction,
                slope(value(torque, friction + step, ratio), value(torque, friction - step, ratio)),
            ),
            (
                "ratio",
                found.by_ratio,
                slope(value(torque, friction, ratio + step), value(torque, friction, ratio - step)),
            ),
        ] {
            assert!((exact - difference).abs() <= 1e-6 * exact.abs(), "{law:?} by {name}: {exact}, {difference}");
        }
    }
}

/// Elementary mechanics: 0.01 kg m^2 at 150 rad/s, braked by 0.5 N m throughout, stands after 0.01 * 150 / 0.5 = 3 s.
#[test]
fn a_constant_torque_brakes_in_inertia_times_speed_over_torque() {
    let seconds = 0.01 * 150.0 * load(LoadLaw::Constant, 0.3, 0.2).run_down(0.95).value;
    assert!((seconds - 3.0).abs() < 1e-12, "{seconds}");
}
