//! Motors and iron cores as the trials have them: cross-field theory, with iron that saturates.
//!
//! An induction motor has stator coils at electrical angles `a` and, in the rotor, two short-circuited coils at standstill
//! axes d and q. With `r` the speed over synchronous speed and all impedances at supply frequency,
//!
//! ```text
//! P_d = j Xm (sum n cos(a) I + I_rd) / j        (flux of an axis, in volts at supply frequency)
//! P_q = j Xm (sum n sin(a) I + I_rq) / j
//! coil    V = (R + jX) I + j n (cos(a) P_d + sin(a) P_q)
//! rotor d 0 = (R2 + jX2) I_rd + j P_d + r (P_q + X2 I_rq)
//! rotor q 0 = (R2 + jX2) I_rq + j P_q - r (P_d + X2 I_rd)
//! torque  T w = Re(P_q conj(I_rd) - P_d conj(I_rq))
//! ```
//!
//! Source: cross-field theory of the single-phase motor, Puchstein, Lloyd and Conrad, "Alternating-Current Machines"
//! (from memory; the equations were derived anew). The engine uses the double-revolving-field theory instead.

use super::dense::Dense;
use num_complex::Complex64;

/// What a coil does in its machine.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Role {
    /// Wound on the iron: relative turns along axis d and along axis q.
    Wound {
        /// Turns times the cosine of its angle.
        d: f64,
        /// Turns times the sine of its angle.
        q: f64,
    },
    /// A path through an armature: the share of the speed voltage that it feels.
    Path {
        /// Coils in it, over those of a whole path.
        share: f64,
    },
    /// On nothing but itself.
    Alone,
}

/// A coil between two nodes of a network.
#[derive(Debug, Clone)]
pub struct Coil {
    /// Node at which positive current enters.
    pub from: usize,
    /// Node at which it leaves.
    pub to: usize,
    /// Resistance, ohms.
    pub ohms: f64,
    /// Leakage reactance, ohms.
    pub leakage: f64,
    /// The machine it belongs to, by its place in the network.
    pub machine: usize,
    /// What it does there.
    pub role: Role,
}

/// What is inside a machine.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Iron {
    /// A squirrel cage.
    Cage {
        /// Magnetising reactance of axis d, ohms.
        magnetising: f64,
        /// That of axis q over that of axis d.
        quadrature: f64,
        /// Rotor resistance, ohms.
        rotor_ohms: f64,
        /// Rotor leakage reactance, ohms.
        rotor_leakage: f64,
    },
    /// A commutator in a field that stands still.
    Commutator {
        /// Reactance of the field's flux, ohms.
        magnetising: f64,
        /// Speed voltage for each field ampere at the reference speed, ohms.
        speed_ohms: f64,
        /// Watts round a shorted armature coil for each field ampere squared at the reference speed, ohms.
        shorted_ohms: f64,
    },
    /// A core without anything that turns.
    Core {
        /// Magnetising reactance, ohms.
        magnetising: f64,
    },
}

/// How iron saturates: its reactance falls as `1 / (1 + strength (x^power - 1))`, with `x` what magnetises it over what
/// does so at rated load.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Saturation {
    /// Zero for iron that does not saturate.
    pub strength: f64,
    /// Volts of flux for each relative turn (cage, core) or ampere-turns (commutator) at rated load.
    pub reference: f64,
}

impl Saturation {
    /// Iron that does not saturate.
    pub const NONE: Saturation = Saturation { strength: 0.0, reference: 1.0 };

    fn factor(self, magnetised: f64, power: i32) -> f64 {
        let relative = (magnetised / self.reference).min(2.0);
        1.0 / (1.0 + self.strength * (relative.powi(power) - 1.0))
    }
}

/// What a rotor drives.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Load {
    /// Torque at the reference speed, newton metres.
    pub torque: f64,
    /// Power of the speed that it goes with; 2 for a fan, 1 for a pump, 0 for a constant load.
    pub exponent: f64,
    /// Reference speed over the machine's reference.
    pub reference_ratio: f64,
    /// Friction that does not depend on speed, newton metres.
    pub friction: f64,
}

impl Load {
    /// Torque that opposes motion, signed with the speed.
    pub fn torque_at(&self, ratio: f64) -> f64 {
        let relative = (ratio / self.reference_ratio).abs();
        (self.torque * relative.powf(self.exponent) + self.friction) * ratio.signum()
    }

    /// What must be overcome at rest.
    pub fn at_rest(&self) -> f64 {
        self.friction + if self.exponent == 0.0 { self.torque } else { 0.0 }
    }
}

/// A machine of a network.
#[derive(Debug, Clone)]
pub struct Machine {
    /// Index of its part in the unit.
    pub part: usize,
    /// What is inside.
    pub iron: Iron,
    /// How that saturates.
    pub saturation: Saturation,
    /// Speed that ratios refer to, radians per second; meaningless for a core.
    pub reference_speed: f64,
    /// What it drives.
    pub load: Load,
    /// Whether it is kept from turning.
    pub is_held: bool,
    /// Highest speed ratio that is looked for.
    pub fastest: f64,
}

impl Machine {
    /// Number of rotor currents.
    pub fn rotor_currents(&self) -> usize {
        if matches!(self.iron, Iron::Cage { .. }) { 2 } else { 0 }
    }

    /// Whether it turns.
    pub fn turns(&self) -> bool {
        !matches!(self.iron, Iron::Core { .. })
    }

    /// Adds its impedances to `matrix`, whose rows are voltage equations of coils and then of rotors.
    ///
    /// `own` are its coils with their rows; `rotor` is the row of its rotor axis d; `softened` is the factor by which
    /// saturation lowers the reactance.
    pub fn stamp(&self, matrix: &mut Dense, own: &[(usize, &Coil)], rotor: usize, ratio: f64, softened: f64) {
        let j = Complex64::I;
        for &(row, coil) in own {
            matrix.add(row, row, Complex64::new(coil.ohms, coil.leakage));
        }
        match self.iron {
            Iron::Cage { magnetising, quadrature, rotor_ohms, rotor_leakage } => {
                let xd = magnetising * softened;
                let xq = xd * quadrature;
                for &(row, coil) in own {
                    let Role::Wound { d, q } = coil.role else { continue };
                    for &(column, other) in own {
                        let Role::Wound { d: other_d, q: other_q } = other.role else { continue };
                        matrix.add(row, column, j * (d * xd * other_d + q * xq * other_q));
                    }
                    matrix.add(row, rotor, j * d * xd);
                    matrix.add(row, rotor + 1, j * q * xq);
                    matrix.add(rotor, row, j * d * xd + ratio * q * xq);
                    matrix.add(rotor + 1, row, j * q * xq - ratio * d * xd);
                }
                let own_ohms = Complex64::new(rotor_ohms, rotor_leakage);
                matrix.add(rotor, rotor, own_ohms + j * xd);
                matrix.add(rotor, rotor + 1, ratio * (xq + rotor_leakage));
                matrix.add(rotor + 1, rotor + 1, own_ohms + j * xq);
                matrix.add(rotor + 1, rotor, -ratio * (xd + rotor_leakage));
            }
            Iron::Commutator { magnetising, speed_ohms, .. } => {
                for &(row, coil) in own {
                    for &(column, other) in own {
                        let Role::Wound { d: turns, .. } = other.role else { continue };
                        match coil.role {
                            Role::Wound { d, .. } => matrix.add(row, column, j * (d * turns * magnetising * softened)),
                            Role::Path { share } => {
                                matrix.add(row, column, share * speed_ohms * softened * ratio * turns)
                            }
                            Role::Alone => {}
                        }
                    }
                }
            }
            Iron::Core { magnetising } => {
                for &(row, coil) in own {
                    for &(column, other) in own {
                        if let (Role::Wound { d, .. }, Role::Wound { d: turns, .. }) = (coil.role, other.role) {
                            matrix.add(row, column, j * (d * turns * magnetising * softened));
                        }
                    }
                }
            }
        }
    }

    /// Flux of both axes in volts (cage, core), or ampere-turns of the field and armature amperes (commutator).
    fn fields(
        &self,
        own: &[(usize, &Coil)],
        rotor: usize,
        currents: &[Complex64],
        softened: f64,
    ) -> (Complex64, Complex64) {
        let (mut d, mut q) = (Complex64::ZERO, Complex64::ZERO);
        for &(row, coil) in own {
            match coil.role {
                Role::Wound { d: along, q: across } => {
                    d += along * currents[row];
                    q += across * currents[row];
                }
                Role::Path { share } => q += share * currents[row],
                Role::Alone => {}
            }
        }
        match self.iron {
            Iron::Cage { magnetising, quadrature, .. } => (
                softened * magnetising * (d + currents[rotor]),
                softened * magnetising * quadrature * (q + currents[rotor + 1]),
            ),
            Iron::Commutator { .. } => (d, q),
            Iron::Core { magnetising } => (softened * magnetising * d, Complex64::ZERO),
        }
    }

    /// What magnetises the iron, in the measure of [`Saturation::reference`].
    pub fn magnetised(&self, own: &[(usize, &Coil)], rotor: usize, currents: &[Complex64], softened: f64) -> f64 {
        let (d, q) = self.fields(own, rotor, currents, softened);
        match self.iron {
            Iron::Commutator { .. } => d.norm(),
            _ => d.norm().hypot(q.norm()),
        }
    }

    /// The factor by which saturation lowers the reactance at what magnetises it.
    pub fn softening(&self, magnetised: f64) -> f64 {
        let power = if matches!(self.iron, Iron::Commutator { .. }) { 2 } else { 6 };
        self.saturation.factor(magnetised, power)
    }

    /// Torque in newton metres.
    pub fn torque(
        &self,
        own: &[(usize, &Coil)],
        rotor: usize,
        currents: &[Complex64],
        ratio: f64,
        softened: f64,
    ) -> f64 {
        let (d, q) = self.fields(own, rotor, currents, softened);
        let watts = match self.iron {
            Iron::Cage { .. } => (q * currents[rotor].conj() - d * currents[rotor + 1].conj()).re,
            Iron::Commutator { speed_ohms, shorted_ohms, .. } => {
                softened * speed_ohms * (q.conj() * d).re - shorted_ohms * ratio * d.norm_sqr()
            }
            Iron::Core { .. } => return 0.0,
        };
        watts / self.reference_speed
    }
}
