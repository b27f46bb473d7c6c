//! Motors and transformers laid out, with what can be wrong in them.

use super::layout::Layout;
use super::machine::{Coil, Iron, Load, Machine, Role, Saturation};
use super::parts::{Make, TrueCommutator, TrueInduction, TrueSection, TrueTransformer};
use num_complex::Complex64;
use std::f64::consts::{FRAC_1_SQRT_2, PI};

/// What a seized rotor withstands over rated torque.
const SEIZED: f64 = 1e3;
/// What is left of the load once the fan slips on its shaft.
const SLIPPING: f64 = 0.05;

impl Layout<'_> {
    fn coil(&mut self, from: usize, to: usize, values: TrueSection, angle: f64) {
        let role = Role::Wound { d: values.turns * angle.cos(), q: values.turns * angle.sin() };
        self.coil_of(from, to, values.ohms, values.leakage, role);
    }

    fn coil_of(&mut self, from: usize, to: usize, ohms: f64, leakage: f64, role: Role) {
        let machine = self.network.machines.len();
        self.network.coils.push(Coil { from, to, ohms, leakage, machine, role });
    }

    /// A winding with a share of its turns shorted: what is left, and a closed ring.
    fn shorted_winding(&mut self, from: usize, to: usize, values: TrueSection, angle: f64, share: f64) {
        let part = |share: f64| TrueSection {
            turns: values.turns * share,
            ohms: values.ohms * share,
            leakage: values.leakage * share * share,
        };
        self.coil(from, to, part(1.0 - share), angle);
        self.coil(to, to, part(share), angle);
    }

    /// A winding that may be open, shorted in part, or broken through to the frame, by faults that begin with `name`.
    fn winding(&mut self, from: usize, to: usize, values: TrueSection, angle: f64, name: &str, weak_at: f64) {
        if self.has(&format!("{name}-open")) {
            return;
        }
        if let Some(share) = self.size(&format!("{name}-shorted-turns")) {
            self.shorted_winding(from, to, values, angle, share);
        } else if let Some(leak) = self.size(&format!("{name}-to-frame")) {
            let middle = self.network.node();
            self.resistor(middle, self.frame(), leak);
            let part = |share: f64| TrueSection {
                turns: values.turns * share,
                ohms: values.ohms * share,
                leakage: values.leakage * share,
            };
            self.coil(from, middle, part(weak_at), angle);
            self.coil(middle, to, part(1.0 - weak_at), angle);
        } else {
            self.coil(from, to, values, angle);
        }
    }

    /// What worn bearings and a shaking load ask for, over rated torque.
    fn drag(&self) -> f64 {
        ["bearing-drag", "bearing-worn", "out-of-balance"].iter().filter_map(|fault| self.size(fault)).sum()
    }

    fn add_machine(&mut self, iron: Iron, saturation: Saturation, reference_speed: f64, load: Load, fastest: f64) {
        let is_held = self.setup.held.contains(&self.part);
        let part = self.part;
        self.network.machines.push(Machine { part, iron, saturation, reference_speed, load, is_held, fastest });
    }

    pub(super) fn lay_induction(&mut self, motor: &TrueInduction) {
        let warm = self.warm();
        let common = self.network.node();
        if !self.has("common-open") {
            let joint = self.size("common-bad-joint").unwrap_or(0.0);
            self.resistor(self.terminal(0), common, 1e-6 + joint);
        }
        let taps: Vec<usize> = motor.taps.iter().map(|_| self.network.node()).collect();
        for (index, tap) in motor.taps.iter().enumerate() {
            if !self.has(&format!("{tap}-open")) {
                let lead = self.lead_of(motor, index);
                self.resistor(self.terminal(1 + lead), taps[index], 1e-6);
            }
        }
        let main = if motor.make == Make::Reversible { "forward" } else { "main" };
        let values = TrueSection { turns: 1.0, ohms: motor.main_ohms * warm, leakage: motor.main_leakage };
        self.winding(taps[0], common, values, 0.0, main, motor.weak_at);
        for (index, section) in motor.sections.iter().enumerate() {
            if !self.has(&format!("{}-{}-section-open", motor.taps[index], motor.taps[index + 1])) {
                let values = TrueSection { ohms: section.ohms * warm, ..*section };
                self.coil(taps[index + 1], taps[index], values, 0.0);
            }
        }
        self.lay_second(motor, common, warm);
        let loss = |layout: &mut Self, node: usize, ohms: f64| {
            layout.passive(node, common, Complex64::from(ohms), false, Some(layout.part));
        };
        if motor.make == Make::Reversible {
            let lead = if self.has("leads-interchanged") { 1 } else { 2 };
            if !self.has("backward-open") {
                loss(self, self.terminal(lead), 2.0 * motor.core_loss);
            }
            loss(self, taps[0], 2.0 * motor.core_loss);
        } else {
            loss(self, taps[0], motor.core_loss);
        }
        let iron = Iron::Cage {
            magnetising: motor.magnetising,
            quadrature: motor.quadrature,
            rotor_ohms: motor.rotor_ohms,
            rotor_leakage: motor.rotor_leakage,
        };
        let mut load = Load {
            torque: motor.load_torque,
            exponent: motor.load_exponent,
            reference_ratio: motor.rated_ratio,
            friction: motor.friction + self.drag() * motor.rated_torque,
        };
        if self.has("seized") {
            load.friction = SEIZED * motor.rated_torque;
        }
        if self.has(motor.load_fault) {
            load.torque *= SLIPPING;
        }
        let speed = 4.0 * PI * self.world.hertz / f64::from(motor.poles);
        self.add_machine(iron, motor.saturation, speed, load, 1.0);
    }

    fn lay_second(&mut self, motor: &TrueInduction, common: usize, warm: f64) {
        let values = TrueSection { ohms: motor.second.ohms * warm, ..motor.second };
        let angle = motor.second_angle;
        match motor.make {
            Make::ShadedPole => {
                if !self.has("shading-coil-open") {
                    self.coil(common, common, values, angle);
                }
            }
            Make::CapacitorRun => {
                let lead = self.terminal(1 + motor.taps.len());
                self.winding(lead, common, values, angle, "auxiliary", 0.5);
            }
            Make::Reversible => {
                let lead = self.terminal(if self.has("leads-interchanged") { 1 } else { 2 });
                self.winding(lead, common, values, angle, "backward", 0.5);
            }
            Make::Split => {
                let lead = if motor.has_run_capacitor { self.terminal(3) } else { self.network.node() };
                let is_closed = !self.has_moved() || self.has("centrifugal-welded");
                if is_closed && !self.has("centrifugal-stuck-open") {
                    let burnt = self.size("centrifugal-burnt").unwrap_or(0.0);
                    self.resistor(self.terminal(2), lead, motor.centrifugal.2 + burnt);
                }
                let (from, to) = if self.has("start-reversed") { (common, lead) } else { (lead, common) };
                self.winding(from, to, values, angle, "start", 0.5);
            }
        }
    }

    fn lead_of(&self, motor: &TrueInduction, tap: usize) -> usize {
        if self.has("leads-interchanged") {
            return 1;
        }
        for (first, pair) in motor.taps.windows(2).enumerate() {
            if self.has(&format!("{}-{}-interchanged", pair[0], pair[1])) && (tap == first || tap == first + 1) {
                return 2 * first + 1 - tap;
            }
        }
        tap
    }

    pub(super) fn lay_commutator(&mut self, motor: &TrueCommutator) {
        let warm = self.warm();
        let count = motor.taps.len().max(1);
        let taps: Vec<usize> = (0..count)
            .map(|tap| {
                let name = motor.taps.get(tap).map_or("", String::as_str);
                if self.has(&format!("{name}-open")) { self.network.node() } else { self.terminal(1 + tap) }
            })
            .collect();
        let field = TrueSection { turns: 1.0, ohms: motor.field_ohms * warm, leakage: motor.field_leakage };
        let ends = (self.terminal(0), taps[0]);
        match self.size("field-shorted-turns") {
            // The field's coils lie on both poles: what is shorted keeps its leakage.
            Some(share) => {
                let part =
                    |share: f64| TrueSection { turns: share, ohms: field.ohms * share, leakage: field.leakage * share };
                self.coil(ends.0, ends.1, part(1.0 - share), 0.0);
                self.coil(ends.1, ends.1, part(share), 0.0);
            }
            None => self.winding(ends.0, ends.1, field, 0.0, "field", motor.weak_at),
        }
        for (index, section) in motor.sections.iter().enumerate() {
            if !self.has(&format!("{}-{}-section-open", motor.taps[index], motor.taps[index + 1])) {
                let values = TrueSection { ohms: section.ohms * warm, ..*section };
                self.coil(taps[index], taps[index + 1], values, 0.0);
            }
        }
        let shorted_ohms = self.lay_armature(motor, warm, 1 + count);
        let rated = motor.fan_torque + motor.friction;
        let mut load = Load {
            torque: motor.fan_torque,
            exponent: 2.0,
            reference_ratio: 1.0,
            friction: motor.friction + self.drag() * rated,
        };
        if self.has("seized") {
            load.friction = SEIZED * rated;
        }
        if self.has("drive-slips") {
            load.torque *= 0.15;
        }
        let iron = Iron::Commutator { magnetising: motor.magnetising, speed_ohms: motor.speed_ohms, shorted_ohms };
        self.add_machine(iron, motor.saturation, motor.rpm * PI / 30.0, load, 20.0);
    }

    /// The armature as two paths between its brushes; returns the watts round a shorted coil.
    fn lay_armature(&mut self, motor: &TrueCommutator, warm: f64, first_brush: usize) -> f64 {
        let is_read = !self.setup.energised;
        let (lowest, highest) = (self.position() == Some("lowest-ohms"), self.position() == Some("highest-ohms"));
        let path_ohms = 2.0 * motor.armature_ohms * warm;
        let coil_ohms = 2.0 * path_ohms / motor.bars;
        let path_reactance = 2.0 * motor.armature_reactance;
        let mut paths = vec![(path_ohms, 1.0), (path_ohms, 1.0)];
        let mut watts = 0.0;
        if let Some(short) = self.size("armature-coil-shorted") {
            if is_read {
                if !highest {
                    paths[0].0 += coil_ohms * short / (coil_ohms + short) - coil_ohms;
                }
            } else {
                let left = 1.0 - 1.0 / motor.bars;
                paths = vec![(path_ohms * left, left); 2];
                // Volts of one coil where it cuts most flux, and the transformer volts of the same coil at the poles.
                let largest = motor.speed_ohms * PI / motor.bars;
                let turns_per_second = motor.rpm / 60.0;
                let turns = largest * self.world.hertz / turns_per_second * FRAC_1_SQRT_2 / motor.magnetising;
                watts = largest * largest / 2.0 / (coil_ohms + short);
                let frame = self.frame();
                self.coil_of(frame, frame, coil_ohms + short, 0.0, Role::Wound { d: turns, q: 0.0 });
            }
        }
        if self.has("armature-coil-open") && !(is_read && lowest) {
            paths.remove(0);
        }
        let mut brushes = [self.network.node(), self.network.node()];
        for (index, &brush) in brushes.iter().enumerate() {
            let name = format!("brush-{}", index + 1);
            let mut ohms = motor.brush_ohms[index] * self.size("wrong-brushes").unwrap_or(1.0);
            ohms += self.size(&format!("{name}-worn")).unwrap_or(0.0);
            if index == 0 {
                let share = if is_read { f64::from(u8::from(highest)) } else { 1.0 / motor.bars };
                ohms += share * self.size("bad-bar").unwrap_or(0.0);
            }
            if !self.has(&format!("{name}-stuck")) {
                self.resistor(self.terminal(first_brush + index), brush, ohms);
            }
        }
        if self.has("brush-leads-interchanged") {
            brushes.swap(0, 1);
        }
        let mut leak = self.size("armature-to-frame");
        for (ohms, share) in paths.into_iter().rev() {
            let path = |layout: &mut Self, from: usize, to: usize, part: f64| {
                layout.coil_of(from, to, ohms * part, path_reactance * part, Role::Path { share: share * part });
            };
            match leak.take() {
                Some(leak) => {
                    let middle = self.network.node();
                    self.resistor(middle, self.frame(), leak);
                    path(self, brushes[0], middle, motor.weak_at);
                    path(self, middle, brushes[1], 1.0 - motor.weak_at);
                }
                None => path(self, brushes[0], brushes[1], 1.0),
            }
        }
        watts
    }

    pub(super) fn lay_transformer(&mut self, transformer: &TrueTransformer) {
        let warm = self.warm();
        let mut ends: Vec<(usize, usize)> = transformer
            .sections
            .iter()
            .map(|section| (self.terminal(section.terminal), self.terminal(section.terminal + 1)))
            .collect();
        if self.has("thermal-link-open") {
            for (section, end) in transformer.sections.iter().zip(&mut ends) {
                if Some(section.terminal) == transformer.link_terminal {
                    end.0 = self.network.node();
                }
            }
        }
        let mut middles = vec![None; ends.len()];
        let middle = |layout: &mut Self, index: usize, middles: &mut [Option<usize>]| {
            *middles[index].get_or_insert_with(|| layout.network.node())
        };
        for (index, section) in transformer.sections.iter().enumerate() {
            if let Some(leak) = self.size(&format!("{}-to-frame", section.winding)) {
                let at = middle(self, index, &mut middles);
                self.resistor(at, self.frame(), leak);
            }
            for (other, second) in transformer.sections.iter().enumerate() {
                if let Some(leak) = self.size(&format!("{}-to-{}", section.winding, second.winding)) {
                    let (a, b) = (middle(self, index, &mut middles), middle(self, other, &mut middles));
                    self.resistor(a, b, leak);
                }
            }
        }
        for (index, section) in transformer.sections.iter().enumerate() {
            if self.has(&format!("{}-open", section.name)) {
                continue;
            }
            let values = TrueSection { ohms: section.values.ohms * warm, ..section.values };
            let (from, to) = ends[index];
            let share = self.size(&format!("{}-shorted-turns", section.name));
            let part = |share: f64, leakage: f64| TrueSection {
                turns: values.turns * share,
                ohms: values.ohms * share,
                leakage: values.leakage * leakage,
            };
            let left = 1.0 - share.unwrap_or(0.0);
            if let Some(share) = share {
                self.coil(to, to, part(share, share * share), 0.0);
            }
            match middles[index] {
                Some(node) => {
                    let at = transformer.weak_at;
                    self.coil(from, node, part(left * at, left * at), 0.0);
                    self.coil(node, to, part(left * (1.0 - at), left * (1.0 - at)), 0.0);
                }
                None => self.coil(from, to, part(left, left), 0.0),
            }
        }
        let anchor = self.terminal(0);
        let loss = TrueSection { turns: 1.0, ohms: transformer.core_loss, leakage: 0.0 };
        self.coil(anchor, anchor, loss, 0.0);
        let none = Load { torque: 0.0, exponent: 0.0, reference_ratio: 1.0, friction: 0.0 };
        self.add_machine(Iron::Core { magnetising: transformer.magnetising }, transformer.saturation, 1.0, none, 0.0);
    }
}
