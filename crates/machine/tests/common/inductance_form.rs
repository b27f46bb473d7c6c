//! The capacitor-run motor of Fitzgerald, Kingsley and Umans as the book writes it, and as the crate takes it.

use super::textbook::Cage;
use super::{Motor, Winding};
use circuit::Complex64;
use nalgebra::{Matrix2, Vector2};
use std::f64::consts::{FRAC_PI_2, PI};

const I: Complex64 = Complex64::I;

/// Fitzgerald, Kingsley and Umans, Electric Machinery, 6th ed., example 9.5: 230 V, 60 Hz, two poles, 35 uF.
///
/// The book writes the motor with inductances and the rotor as it is, not referred: henries and ohms.
pub struct InductanceForm {
    pub main: (f64, f64),
    pub auxiliary: (f64, f64),
    pub rotor: (f64, f64),
    pub main_mutual: f64,
    pub auxiliary_mutual: f64,
}

pub const EXAMPLE_9_5: InductanceForm = InductanceForm {
    main: (0.58, 80.6e-3),
    auxiliary: (3.37, 196e-3),
    rotor: (37.6e-6, 4.7e-6),
    main_mutual: 0.588e-3,
    auxiliary_mutual: 0.909e-3,
};

pub const VOLTS: f64 = 230.0;
pub const OMEGA: f64 = 2.0 * PI * 60.0;

pub fn capacitor_ohms(microfarads: f64) -> f64 {
    1e6 / (OMEGA * microfarads)
}

impl InductanceForm {
    /// The same motor referred to the main winding, with the rotor's self-inductance scaled by `referral`.
    ///
    /// A winding of inductance L and mutual inductance M sees at each field, with its own slip s,
    ///
    /// ```text
    /// (wM)^2 / 2 (Rr/s + jwLr)        and is itself        R + jwL
    /// ```
    ///
    /// while half of jXm beside R2/s + jX2 is `1/2 jXm + 1/2 Xm^2 / (R2/s + j(X2 + Xm))`. The second terms agree for any
    /// `k` if `R2 = k Rr`, `X2 + Xm = k w Lr`, `Xm = sqrt(k) w M`; the first terms of both fields add to jXm, so that
    /// the leakage of the winding is `wL - Xm`. The auxiliary winding has `a = Ma / Mm` turns and `wLa - a^2 Xm`.
    pub fn motor(&self, referral: f64, microfarads: f64) -> Motor {
        let magnetising = referral.sqrt() * OMEGA * self.main_mutual;
        let turns = self.auxiliary_mutual / self.main_mutual;
        let main = Winding {
            volts: VOLTS.into(),
            outside: Complex64::ZERO,
            turns: 1.0,
            angle: 0.0,
            impedance: Complex64::new(self.main.0, OMEGA * self.main.1 - magnetising),
        };
        // The book feeds the auxiliary winding, at plus 90 degrees, with the line's volts reversed.
        let auxiliary = Winding {
            volts: (-VOLTS).into(),
            outside: -I * capacitor_ohms(microfarads),
            turns,
            angle: FRAC_PI_2,
            impedance: Complex64::new(self.auxiliary.0, OMEGA * self.auxiliary.1 - turns * turns * magnetising),
        };
        let cage = Cage {
            resistance: referral * self.rotor.0,
            leakage: referral * OMEGA * self.rotor.1 - magnetising,
            magnetising,
        };
        Motor { windings: vec![main, auxiliary], cage, hertz: 60.0, poles: 2.0 }
    }

    /// The scale at which stator and rotor leakage come out alike; any other gives the same currents.
    pub fn usual_referral(&self) -> f64 {
        self.main.1 / self.rotor.1
    }

    /// The book's own 2 by 2 equations: main current, auxiliary current, torque.
    pub fn book_solution(&self, microfarads: f64, slip: f64) -> (Complex64, Complex64, f64) {
        let factor = |slip: f64| slip * OMEGA / (2.0 * Complex64::new(self.rotor.0, slip * OMEGA * self.rotor.1));
        let (forward, backward) = (factor(slip), factor(2.0 - slip));
        let (mm, ma) = (self.main_mutual, self.auxiliary_mutual);
        let own = |winding: (f64, f64), mutual: f64| {
            winding.0 + I * OMEGA * (winding.1 - I * mutual * mutual * (forward + backward))
        };
        let between = I * OMEGA * mm * ma * (forward - backward);
        let with_capacitor = own(self.auxiliary, ma) - I * capacitor_ohms(microfarads);
        let matrix = Matrix2::new(own(self.main, mm), between, -between, with_capacitor);
        let currents = matrix.lu().solve(&Vector2::new(VOLTS.into(), (-VOLTS).into())).unwrap();
        let gap_power = OMEGA
            * (forward.re * (mm * currents[0] + I * ma * currents[1]).norm_sqr()
                - backward.re * (mm * currents[0] - I * ma * currents[1]).norm_sqr());
        (currents[0], currents[1], gap_power / OMEGA)
    }
}
