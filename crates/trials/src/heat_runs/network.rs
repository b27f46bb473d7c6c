//! Units that warm: bodies drawn at random, integrated step by step. Shares nothing with the forecast.

use crate::random::Random;

/// Copper's resistance grows by this share per kelvin at 20 °C (1 / 254.5).
const COPPER_PER_KELVIN: f64 = 1.0 / 254.5;
/// Seconds of one step of the integration.
pub const STEP_SECONDS: f64 = 5.0;
/// Share of large units, which warm for hours, and the time constants of these, minutes: 1.5 to 6 h, evenly on a logarithmic
/// scale. Of the others about the median. Engineering judgement.
const SLOW_UNITS: f64 = 0.1;
const SLOW_MINUTES: (f64, f64) = (90.0, 360.0);
const USUAL_MINUTES: f64 = 28.0;
/// Index of the winding.
pub const WINDING: usize = 0;
/// Index of the iron core.
pub const CORE: usize = 1;
/// Index of the shell.
pub const SHELL: usize = 2;

/// Bodies with heat capacity, what conducts between them and to the room, and where heat arises.
#[derive(Debug, Clone)]
pub struct Network {
    /// Heat capacities, joules per kelvin.
    pub capacities: Vec<f64>,
    /// Between two bodies, watts per kelvin.
    pub links: Vec<(usize, usize, f64)>,
    /// To the room, watts per kelvin.
    pub to_room: Vec<f64>,
    /// Heat that does not depend on temperature (iron, friction), watts.
    pub fixed_watts: Vec<f64>,
    /// Copper loss of the winding at 20 °C, watts.
    pub copper_watts_20: f64,
    /// How fast it warms as a whole, minutes, about.
    pub main_minutes: f64,
}

impl Network {
    /// Four to six bodies: winding, core, shell, end bells, and half of the time a cabinet's air and its walls. Shares of
    /// the rise and capacities are drawn, conductances follow from them. Invented units; ranges by engineering judgement.
    pub fn draw(random: &mut Random) -> Self {
        let cased = random.chance(0.5);
        let watts = random.about(90.0, 0.7);
        let rise = random.about(58.0, 0.38).clamp(18.0, 140.0);
        let main_minutes = match random.chance(SLOW_UNITS) {
            true => SLOW_MINUTES.0 * (SLOW_MINUTES.1 / SLOW_MINUTES.0).powf(random.uniform()),
            false => random.about(USUAL_MINUTES, 0.5).clamp(9.0, 90.0),
        };
        let copper = random.between(0.5, 0.85);
        let (winding_share, core_share) = (random.between(0.12, 0.42), random.between(0.03, 0.15));
        let case_share = if cased { random.between(0.05, 0.28) } else { 0.0 };
        let shell_share = 1.0 - winding_share - core_share - case_share;
        let total_capacity = main_minutes * 60.0 * watts / (rise * (shell_share + 0.5 * core_share));
        let winding_part = random.between(0.06, 0.16);
        let core_part = random.between(0.4, 0.6);
        let bell_part = random.between(0.04, 0.12);
        let mut capacities = vec![winding_part, core_part, 1.0 - winding_part - core_part - bell_part, bell_part];
        capacities.iter_mut().for_each(|part| *part *= total_capacity);
        let shell_to_outside = watts / (shell_share * rise);
        let mut links = vec![
            (WINDING, CORE, copper * watts / (winding_share * rise)),
            (CORE, SHELL, 0.9 * watts / (core_share * rise)),
            (SHELL, 3, shell_to_outside * random.between(1.0, 5.0)),
        ];
        links.push((WINDING, 3, 0.15 * links[0].2 * random.between(0.2, 1.0)));
        let mut to_room = vec![0.0; 4];
        if cased {
            let walls = watts / (case_share * rise);
            let air_capacity = total_capacity * random.between(0.02, 0.08);
            // The walls of a large unit are as slow as the rest of it.
            let slower = (main_minutes / 90.0).max(1.0);
            let wall_capacity = walls * 60.0 * slower * random.about(45.0, 0.5);
            capacities.extend([air_capacity, wall_capacity]);
            links.push((SHELL, 4, 0.8 * shell_to_outside));
            links.push((3, 4, 0.2 * shell_to_outside));
            links.push((4, 5, walls * random.between(1.5, 3.0)));
            to_room.extend([walls * random.between(0.0, 0.5), walls]);
        } else {
            to_room[SHELL] = 0.8 * shell_to_outside;
            to_room[3] = 0.2 * shell_to_outside;
        }
        let mut fixed_watts = vec![0.0; capacities.len()];
        fixed_watts[CORE] = (1.0 - copper) * watts * 0.85;
        fixed_watts[3] = (1.0 - copper) * watts * 0.15;
        // So that the copper loss is what was drawn near the final temperature.
        let copper_watts_20 = copper * watts / (1.0 + COPPER_PER_KELVIN * rise);
        Network { capacities, links, to_room, fixed_watts, copper_watts_20, main_minutes }
    }

    /// Rates of change, kelvins per second.
    fn rates(&self, celsius: &[f64], room: f64, load: f64) -> Vec<f64> {
        let mut watts: Vec<f64> = self.fixed_watts.iter().map(|watts| watts * load).collect();
        watts[WINDING] += self.copper_watts_20 * load * (1.0 + COPPER_PER_KELVIN * (celsius[WINDING] - 20.0));
        for (body, conductance) in self.to_room.iter().enumerate() {
            watts[body] -= conductance * (celsius[body] - room);
        }
        for &(one, other, conductance) in &self.links {
            let flow = conductance * (celsius[one] - celsius[other]);
            watts[one] -= flow;
            watts[other] += flow;
        }
        watts.iter().zip(&self.capacities).map(|(watts, capacity)| watts / capacity).collect()
    }

    /// [`STEP_SECONDS`] on, by the classical Runge-Kutta method in parts that suit the quickest body; `load` is the heat
    /// relative to what it should be.
    pub fn step(&self, celsius: &mut [f64], room: f64, load: f64) {
        let mut conductances = self.to_room.clone();
        for &(one, other, conductance) in &self.links {
            conductances[one] += conductance;
            conductances[other] += conductance;
        }
        let quickest = conductances.iter().zip(&self.capacities).map(|(g, c)| g / c).fold(0.0, f64::max);
        let parts = (STEP_SECONDS * quickest).ceil().max(1.0);
        (0..parts as usize).for_each(|_| self.part(celsius, room, load, STEP_SECONDS / parts));
    }

    fn part(&self, celsius: &mut [f64], room: f64, load: f64, seconds: f64) {
        let moved = |from: &[f64], by: &[f64], seconds: f64| -> Vec<f64> {
            from.iter().zip(by).map(|(value, rate)| value + seconds * rate).collect()
        };
        let first = self.rates(celsius, room, load);
        let second = self.rates(&moved(celsius, &first, 0.5 * seconds), room, load);
        let third = self.rates(&moved(celsius, &second, 0.5 * seconds), room, load);
        let fourth = self.rates(&moved(celsius, &third, seconds), room, load);
        for (body, value) in celsius.iter_mut().enumerate() {
            *value += seconds / 6.0 * (first[body] + 2.0 * second[body] + 2.0 * third[body] + fourth[body]);
        }
    }

    /// Where all bodies come to rest in a room: Gauss-Seidel on the balance of each body.
    pub fn steady(&self, room: f64) -> Vec<f64> {
        let mut celsius = vec![room + 40.0; self.capacities.len()];
        for _ in 0..200_000 {
            let mut moved: f64 = 0.0;
            for (body, (to_room, fixed)) in self.to_room.iter().zip(&self.fixed_watts).enumerate() {
                let mut conductance = *to_room;
                let mut watts = fixed + to_room * room;
                for &(one, other, link) in &self.links {
                    if one == body || other == body {
                        conductance += link;
                        watts += link * celsius[if one == body { other } else { one }];
                    }
                }
                if body == WINDING {
                    watts += self.copper_watts_20 * (1.0 - 20.0 * COPPER_PER_KELVIN);
                    conductance -= self.copper_watts_20 * COPPER_PER_KELVIN;
                }
                let balanced = watts / conductance;
                moved = moved.max((balanced - celsius[body]).abs());
                celsius[body] = balanced;
            }
            if moved < 1e-9 {
                break;
            }
        }
        celsius
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Check values 9: two bodies, 30 W at 20 °C in the winding with the copper's feedback: 62.22494 K and 37.33496 K.
    #[test]
    fn the_two_node_set_with_copper_feedback() {
        let network = Network {
            capacities: vec![60.0, 600.0],
            links: vec![(0, 1, 1.5)],
            to_room: vec![0.0, 1.0],
            fixed_watts: vec![0.0, 0.0],
            copper_watts_20: 30.0,
            main_minutes: 10.0,
        };
        let steady = network.steady(20.0);
        assert!((steady[0] - 82.224_94).abs() < 1e-4, "{steady:?}");
        assert!((steady[1] - 57.334_96).abs() < 1e-4, "{steady:?}");
        let mut celsius = vec![20.0, 20.0];
        (0..4000).for_each(|_| network.step(&mut celsius, 20.0, 1.0));
        assert!((celsius[0] - steady[0]).abs() < 1e-3, "{celsius:?}");
    }

    /// Check values 9: without feedback, 45 W, at 60 s 24.1002 and 2.0140 K, at 600 s 54.4885 and 25.7244 K.
    #[test]
    fn the_two_node_set_over_time() {
        let network = Network {
            capacities: vec![60.0, 600.0],
            links: vec![(0, 1, 1.5)],
            to_room: vec![0.0, 1.0],
            fixed_watts: vec![45.0, 0.0],
            copper_watts_20: 0.0,
            main_minutes: 10.0,
        };
        let mut celsius = vec![0.0, 0.0];
        for (steps, winding, frame) in [(12, 24.1002, 2.0140), (108, 54.4885, 25.7244)] {
            (0..steps).for_each(|_| network.step(&mut celsius, 0.0, 1.0));
            assert!((celsius[0] - winding).abs() < 1e-3 && (celsius[1] - frame).abs() < 1e-3, "{celsius:?}");
        }
    }
}
