//! Median machine values that reproduce what a nameplate says.
//!
//! A nameplate gives far fewer figures than a machine has. Ratios between impedances come from the table of
//! proportions of [`crate::scheme`] (with spreads to match, kept beside the unknowns of the part); the
//! scale of all impedances is then found so that the motor at its nameplate speed draws its nameplate current, the
//! magnetising share so that it takes its nameplate watts, and the load so that torque and load meet at its nameplate
//! speed. Where the magnetising share alone does not reach the watts, winding ohms and core loss are more or less than
//! usual, no more than needed; watts beyond that are met as nearly as they can be. A winding that only starts the motor plays
//! no part in this: it is out of circuit at nameplate speed.

use crate::assembly::{Assembly, Machine, Start};
use crate::coil_group::{Coil, Rotor, add_around_rotor};
use crate::conversion::Conversion;
use crate::load::{Load, LoadLaw};
pub use crate::nameplate_error::NameplateError;
use crate::scheme::Proportions;
pub use crate::scheme::Scheme;
use circuit::{Branch, BranchId, Factored, NetId, Network, Quantity};
use num_complex::Complex64;
use std::f64::consts::PI;

/// What can be read on the plate.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Nameplate {
    /// Rated volts.
    pub volts: f64,
    /// Rated hertz.
    pub hertz: f64,
    /// Full-load amperes, if legible.
    pub amps: Option<f64>,
    /// Full-load speed in revolutions per minute, if legible.
    pub rpm: Option<f64>,
    /// Number of poles, if known.
    pub poles: Option<u32>,
    /// Run capacitor in microfarads, if there is one and it is legible.
    pub microfarads: Option<f64>,
    /// Input watts, if legible.
    pub watts: Option<f64>,
    /// Main winding ohms at 20 degrees Celsius, if published.
    pub main_ohms: Option<f64>,
    /// Start or auxiliary winding ohms at 20 degrees Celsius, if published.
    pub second_ohms: Option<f64>,
}

/// Median values of a motor, impedances referred to the main winding (turns 1).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Medians {
    /// Number of poles.
    pub poles: u32,
    /// Main winding resistance, ohms at 20 degrees Celsius.
    pub main_ohms: f64,
    /// Main winding leakage reactance, ohms.
    pub main_leakage_ohms: f64,
    /// Turns of the start or auxiliary winding or shading coil relative to the main winding.
    pub second_turns: f64,
    /// Resistance of the auxiliary winding or shading coil, ohms at 20 degrees Celsius.
    pub second_ohms: f64,
    /// Leakage reactance of the auxiliary winding or shading coil, ohms.
    pub second_leakage_ohms: f64,
    /// Magnetising reactance, ohms.
    pub magnetising_ohms: f64,
    /// Rotor resistance, ohms.
    pub rotor_ohms: f64,
    /// Rotor leakage reactance, ohms.
    pub rotor_leakage_ohms: f64,
    /// Resistance across the main winding that stands for core loss, ohms.
    pub core_loss_ohms: f64,
    /// Run capacitor, microfarads (zero for a motor without).
    pub microfarads: f64,
    /// Torque of what is driven at nameplate speed, newton metres.
    pub load_torque: f64,
    /// Bearing friction, newton metres.
    pub friction_torque: f64,
    /// Nameplate speed as a share of synchronous speed.
    pub rated_ratio: f64,
}

/// Middle of the published 10 to 15 ohms of multi-speed fan motors' run windings (120 V class).
const USUAL_MAIN_OHMS_120V: f64 = 12.5;

/// Capacitor fitted, as a share of the balancing one (engineering judgement).
const BELOW_BALANCE: f64 = 0.7;

/// Base impedance, in units of rated volts over amps, beyond which a motor is no longer of ordinary size for its plate.
const LARGEST_SCALE: f64 = 2.4;

/// Share of the plate amps by which a motor with equal windings may miss them (engineering judgement): a capacitor
/// half as large again as the balancing one leaves so much.
const NEAR_ENOUGH: f64 = 0.6;

/// Magnetising reactances in per unit between which the watts are met (engineering judgement), where looked for finely.
const MAGNETISING: [f64; 8] = [0.5, 0.7, 1.0, 1.4, 2.0, 2.9, 4.2, 6.0];

/// Winding ohms and core loss over usual ones, the least unusual first (engineering judgement).
const LOSSES: [f64; 10] = [1.0, 0.8, 1.25, 0.64, 1.56, 0.5, 2.0, 0.4, 2.5, LEAST_LOSSES];
const LEAST_LOSSES: f64 = 0.32;

/// Rotor resistance in per unit below which a fan motor would not come up to speed (engineering judgement).
const SMALLEST_ROTOR_OHMS: f64 = 0.06;

/// Friction as a share of rated torque (engineering judgement).
const FRICTION_SHARE: f64 = 0.03;

impl Nameplate {
    /// Poles on the plate, or the number that puts the speed just below synchronous, or four.
    ///
    /// # Errors
    /// [`NameplateError::Poles`], [`NameplateError::AboveSynchronous`].
    pub fn poles(&self) -> Result<u32, NameplateError> {
        let poles = match (self.poles, self.rpm) {
            (Some(poles), _) => poles,
            (None, Some(rpm)) => 2 * (60.0 * self.hertz / rpm).floor().clamp(1.0, 12.0) as u32,
            (None, None) => 4,
        };
        if poles == 0 || poles % 2 == 1 {
            return Err(NameplateError::Poles { poles });
        }
        let synchronous_rpm = 120.0 * self.hertz / f64::from(poles);
        match self.rpm {
            Some(rpm) if rpm >= synchronous_rpm => {
                Err(NameplateError::AboveSynchronous { rpm, synchronous_rpm, poles, hertz: self.hertz })
            }
            _ => Ok(poles),
        }
    }

    /// Median machine values for this plate.
    ///
    /// # Errors
    /// [`NameplateError`] says which figures contradict each other.
    pub fn medians(&self, scheme: Scheme) -> Result<Medians, NameplateError> {
        let poles = self.poles()?;
        if let (Some(watts), Some(amps)) = (self.watts, self.amps)
            && watts > self.volts * amps
        {
            return Err(NameplateError::MoreWattsThanVoltAmperes { watts, volts: self.volts, amps });
        }
        let proportions = scheme.proportions();
        let synchronous_rpm = 120.0 * self.hertz / f64::from(poles);
        if let Some(rpm) = self.rpm.filter(|rpm| *rpm < (1.0 - proportions.largest_slip) * synchronous_rpm) {
            return Err(NameplateError::FarBelowSynchronous { rpm, synchronous_rpm, poles, hertz: self.hertz });
        }
        if let (Some(watts), Some(amps)) = (self.watts, self.amps) {
            let copper_watts = self.least_copper_watts(scheme, amps);
            if watts < copper_watts {
                return Err(NameplateError::LessWattsThanCopperLoss { watts, amps, copper_watts });
            }
        }
        let rated_ratio = self.rpm.map_or(1.0 - proportions.slip, |rpm| rpm / synchronous_rpm);
        let fit = Fit { plate: self, scheme, proportions, poles, rated_ratio, amps: self.amps_or_usual(proportions) };
        fit.medians()
    }

    /// Heat that plate amperes make in the main winding, at the least, watts. Behind a capacitor the other winding shares the
    /// current, so published ohms tell it only of motors without.
    fn least_copper_watts(&self, scheme: Scheme, amps: f64) -> f64 {
        match self.main_ohms.filter(|_| !scheme.has_run_capacitor()) {
            Some(ohms) => ohms * amps * amps,
            None => LEAST_LOSSES * scheme.proportions().main_ohms * self.volts * amps,
        }
    }

    /// Full-load amperes, from the watts or from usual winding ohms where the plate does not say.
    fn amps_or_usual(&self, proportions: &Proportions) -> f64 {
        match (self.amps, self.watts, self.main_ohms) {
            (Some(amps), _, _) => amps,
            (None, Some(watts), _) => watts / (proportions.power_factor * self.volts),
            (None, None, Some(ohms)) => proportions.main_ohms * self.volts / ohms,
            (None, None, None) => proportions.main_ohms * self.volts / self.usual_main_ohms(),
        }
    }

    /// Ohms of windings of like power go with the square of the volts.
    fn usual_main_ohms(&self) -> f64 {
        USUAL_MAIN_OHMS_120V * (self.volts / 120.0).powi(2)
    }

    /// Published ohms, or usual ones where the plate says nothing that the size could be told from.
    fn main_or_usual_ohms(&self) -> Option<f64> {
        let is_bare = self.amps.is_none() && self.watts.is_none();
        self.main_ohms.or(is_bare.then(|| self.usual_main_ohms()))
    }
}

/// What of a motor's proportions is chosen so that its watts are met.
#[derive(Debug, Clone, Copy)]
struct Shares {
    /// Magnetising reactance, per unit.
    magnetising: f64,
    /// Winding ohms and core loss over usual ones.
    losses: f64,
}

/// One plate being met.
struct Fit<'p> {
    plate: &'p Nameplate,
    scheme: Scheme,
    proportions: &'static Proportions,
    poles: u32,
    rated_ratio: f64,
    amps: f64,
}

impl Fit<'_> {
    fn medians(&self) -> Result<Medians, NameplateError> {
        let usual = Shares { magnetising: self.proportions.magnetising, losses: 1.0 };
        let shares = self.plate.watts.and_then(|watts| self.shares_for(watts));
        let mut medians = self.at_rated_amps(shares.unwrap_or(usual))?;
        let torque = self.rated_point(&medians)?.torque;
        if torque <= 0.0 {
            return Err(NameplateError::NoFit);
        }
        medians.load_torque = torque * (1.0 - FRICTION_SHARE);
        medians.friction_torque = torque * FRICTION_SHARE;
        Ok(medians)
    }

    /// What meets the plate's watts, or comes nearest; `None` if nothing makes a motor.
    fn shares_for(&self, watts: f64) -> Option<Shares> {
        let excess = |shares: Shares| Ok(self.rated_point(&self.at_rated_amps(shares)?)?.watts - watts);
        let met = |losses: f64, low: f64, high: f64| {
            let found = bisect(low, high, |magnetising| excess(Shares { magnetising, losses })).ok().flatten();
            found.map(|magnetising| Shares { magnetising, losses })
        };
        let [least, .., most] = MAGNETISING;
        // Power factor rises with the magnetising reactance, as a rule.
        if let Some(shares) = met(1.0, least, most) {
            return Some(shares);
        }
        let mut nearest: Option<(f64, Shares)> = None;
        for losses in LOSSES {
            let points = MAGNETISING.map(|magnetising| {
                let shares = Shares { magnetising, losses };
                let makes_torque = |medians: &Medians| self.rated_point(medians).is_ok_and(|point| point.torque > 0.0);
                let medians = self.at_rated_amps(shares).ok().filter(makes_torque)?;
                Some((self.rated_point(&medians).ok()?.watts - watts, shares))
            });
            for (excess, shares) in points.into_iter().flatten() {
                if nearest.is_none_or(|(miss, _)| excess.abs() < miss) {
                    nearest = Some((excess.abs(), shares));
                }
            }
            let far = |magnetising: f64| (magnetising / self.proportions.magnetising).ln().abs();
            let brackets = points.windows(2).filter_map(|pair| {
                let ((low_excess, low), (high_excess, high)) = (pair[0]?, pair[1]?);
                (low_excess <= 0.0 && high_excess >= 0.0).then_some((low.magnetising, high.magnetising))
            });
            let usual_first = brackets.min_by(|a, b| far((a.0 * a.1).sqrt()).total_cmp(&far((b.0 * b.1).sqrt())));
            if let Some(shares) = usual_first.and_then(|(low, high)| met(losses, low, high)) {
                return Some(shares);
            }
        }
        nearest.map(|(_, shares)| shares)
    }

    /// Values scaled so that the motor draws its nameplate current at its nameplate speed.
    ///
    /// The capacitor does not scale with the windings, so an oversized motor of the same current may exist too, and with
    /// many auxiliary turns no ordinary one: turns are taken down until a motor of ordinary size is found.
    fn at_rated_amps(&self, shares: Shares) -> Result<Medians, NameplateError> {
        let base = self.plate.volts / self.amps;
        let (turns, microfarads) = self.second_winding();
        let is_free = self.scheme.is_free_to_choose_turns();
        let turn_shares: &[f64] = if is_free { &[1.0, 0.9, 0.8, 0.7, 0.6, 0.5] } else { &[1.0] };
        for turns in turn_shares.iter().map(|share| share * turns) {
            let values = |base_ohms: f64| self.values(base_ohms, shares, turns, microfarads);
            let deficit = |base_ohms: f64| Ok(self.amps - self.rated_point(&values(base_ohms))?.amps);
            let mut low = 0.2 * base;
            let mut nearest = (f64::INFINITY, low);
            while low < LARGEST_SCALE * base {
                let high = 1.2 * low;
                if let Some(scale) = bisect(low, high, deficit)? {
                    return Ok(values(scale));
                }
                let miss = deficit(low)?.abs();
                if miss < nearest.0 {
                    nearest = (miss, low);
                }
                low = high;
            }
            // Two equal windings leave no turns to choose, and a large capacitor's own current may exceed the plate's.
            if !is_free && nearest.0 < NEAR_ENOUGH * self.amps {
                return Ok(values(nearest.1));
            }
        }
        Err(NameplateError::NoFit)
    }

    /// Values for a base impedance in ohms.
    fn values(&self, base_ohms: f64, shares: Shares, second_turns: f64, microfarads: f64) -> Medians {
        let p = self.proportions;
        let main_ohms = self.plate.main_or_usual_ohms().unwrap_or(p.main_ohms * shares.losses * base_ohms);
        let second_ohms = self.plate.second_ohms.unwrap_or(match self.scheme {
            Scheme::ShadedPole => p.second_ohms * base_ohms,
            _ => p.second_ohms * main_ohms,
        });
        Medians {
            poles: self.poles,
            main_ohms,
            main_leakage_ohms: p.leakage * base_ohms,
            second_turns,
            second_ohms,
            second_leakage_ohms: p.second_leakage * p.leakage * base_ohms * second_turns * second_turns,
            magnetising_ohms: shares.magnetising * base_ohms,
            rotor_ohms: (p.rotor_over_slip * (1.0 - self.rated_ratio)).max(SMALLEST_ROTOR_OHMS) * base_ohms,
            rotor_leakage_ohms: p.leakage * base_ohms,
            core_loss_ohms: base_ohms / (p.core_loss * shares.losses),
            microfarads,
            load_torque: 0.0,
            friction_torque: 0.0,
            rated_ratio: self.rated_ratio,
        }
    }

    /// Turns of the second winding to begin with, and the capacitor where the plate does not say.
    ///
    /// A balanced motor has main and auxiliary currents `I` and `I/a` a quarter period apart, so the line current is
    /// `I sqrt(1 + 1/a^2)` and `X_C = V (1 + a^2) / I_line` (its phasor diagram). Real motors keep `a` between about 0.9
    /// and 1.4, and a capacitor somewhat below balance (engineering judgement).
    fn second_winding(&self) -> (f64, f64) {
        let volts_per_amp = self.plate.volts / self.amps;
        let farad_ohms = 1.0 / (2.0 * PI * self.plate.hertz);
        let usual = self.proportions.second_turns;
        match (self.scheme, self.plate.microfarads) {
            (Scheme::ShadedPole | Scheme::SplitPhase | Scheme::CapacitorStart, _) => (usual, 0.0),
            (Scheme::Reversible, Some(microfarads)) => (usual, microfarads),
            (Scheme::CapacitorRun | Scheme::HeavyCapacitorRun, Some(microfarads)) => {
                let capacitor_ohms = farad_ohms / (microfarads * 1e-6);
                let balanced = (capacitor_ohms / volts_per_amp - 1.0).max(0.0).sqrt();
                (balanced.clamp(0.9, 1.4), microfarads)
            }
            (_, None) => (usual, 1e6 * BELOW_BALANCE * farad_ohms / (volts_per_amp * (1.0 + usual * usual))),
        }
    }

    fn rated_point(&self, medians: &Medians) -> Result<RatedPoint, NameplateError> {
        rated_point(self.plate, self.scheme, medians).ok_or(NameplateError::NoFit)
    }
}

/// The motor on its rated supply at its rated speed, hot figures left out.
#[derive(Debug, Clone, Copy)]
pub struct RatedPoint {
    /// Line amperes.
    pub amps: f64,
    /// Input watts.
    pub watts: f64,
    /// Torque in newton metres.
    pub torque: f64,
    /// Volts of the air gap: [`crate::Steady::gap_volts`].
    pub gap_volts: f64,
}

/// Solves the motor at its nameplate speed; `None` if the values make no machine.
pub fn rated_point(plate: &Nameplate, scheme: Scheme, medians: &Medians) -> Option<RatedPoint> {
    let has_capacitor = scheme.has_run_capacitor();
    let mut network = Network::new(plate.hertz, if has_capacitor { 3 } else { 2 });
    let (common, line) = (NetId::REFERENCE, NetId(1));
    let supply = network.add_branch(Branch {
        from: common,
        to: line,
        resistance: Quantity::constant(0.0),
        reactance: Quantity::constant(0.0),
        source: Quantity::constant(plate.volts),
        source_angle: 0.0,
        passes_direct_current: true,
    });
    let second_ends = if has_capacitor { (NetId(2), common) } else { (common, common) };
    let constant = Quantity::constant;
    let mut coils = vec![
        Coil {
            from: line,
            to: common,
            turns: constant(1.0),
            angle: 0.0,
            resistance: constant(medians.main_ohms),
            leakage: constant(medians.main_leakage_ohms),
        },
        Coil {
            from: second_ends.0,
            to: second_ends.1,
            turns: constant(medians.second_turns),
            angle: scheme.second_angle(),
            resistance: constant(medians.second_ohms),
            leakage: constant(medians.second_leakage_ohms),
        },
    ];
    if !scheme.runs_on_second() {
        coils.truncate(1);
    }
    if has_capacitor {
        add_passive(&mut network, line, NetId(2), 0.0, -1e6 / (2.0 * PI * plate.hertz * medians.microfarads));
    }
    if scheme == Scheme::Reversible {
        // Either winding may be the one that is fed, so each has half of it.
        add_passive(&mut network, NetId(2), common, 2.0 * medians.core_loss_ohms, 0.0);
        add_passive(&mut network, line, common, 2.0 * medians.core_loss_ohms, 0.0);
    } else {
        add_passive(&mut network, line, common, medians.core_loss_ohms, 0.0);
    }
    let (coil_branches, field) = add_around_rotor(&mut network, &coils);
    let synchronous_speed = 4.0 * PI * plate.hertz / f64::from(medians.poles);
    let machine = Machine {
        conversion: Conversion::Induction {
            field,
            rotor: Rotor {
                magnetising: constant(medians.magnetising_ohms),
                resistance: constant(medians.rotor_ohms),
                leakage: constant(medians.rotor_leakage_ohms),
            },
        },
        coils: coil_branches,
        reference_speed: synchronous_speed,
        load: Load {
            torque: constant(0.0),
            law: LoadLaw::Square,
            reference_ratio: 1.0,
            friction_torque: constant(0.0),
        },
        start: Start::Driven((medians.rated_ratio * 1e6).round() as i32),
    };
    let assembly = Assembly { network, machines: vec![machine], cores: Vec::new(), unknown_count: 0 };
    let factored: Factored<'_> = assembly.factor().ok()?;
    let steady = assembly.settle(&factored).ok()?;
    let current: Complex64 = steady.solution().current(supply);
    let watts = -steady.solution().power(supply).re;
    Some(RatedPoint { amps: current.norm(), watts, torque: steady.torque(0), gap_volts: steady.gap_volts(0) })
}

fn add_passive(network: &mut Network, from: NetId, to: NetId, resistance: f64, reactance: f64) -> BranchId {
    network.add_branch(Branch {
        from,
        to,
        resistance: Quantity::constant(resistance),
        reactance: Quantity::constant(reactance),
        source: Quantity::constant(0.0),
        source_angle: 0.0,
        passes_direct_current: reactance == 0.0,
    })
}

/// Root of an increasing function between two positive bounds, on a log scale; `None` if it has no sign change.
fn bisect(
    low: f64,
    high: f64,
    mut function: impl FnMut(f64) -> Result<f64, NameplateError>,
) -> Result<Option<f64>, NameplateError> {
    let (mut low, mut high) = (low.ln(), high.ln());
    if function(low.exp())? > 0.0 || function(high.exp())? < 0.0 {
        return Ok(None);
    }
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if function(middle.exp())? > 0.0 { high = middle } else { low = middle }
    }
    Ok(Some((0.5 * (low + high)).exp()))
}
