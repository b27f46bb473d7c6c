//! Median values of an iron-cored transformer from its rating and its windings.
//!
//! # Assumes
//! Full load is the rating at the rated volts of all windings; windings of equal volts share it evenly, such as the two
//! halves of a primary for two voltages. Half of the copper loss is on each side of the core.

/// Regulation of a transformer of [`BASE_VOLT_AMPERES`], nearly all of it in copper.
///
/// With [`SHARE_POWER`] 25 % at 10 VA, 10 % at 100 VA and 4 % at 1 kVA (engineering judgement; give the result a wide
/// spread).
const BASE_REGULATION: f64 = 0.25;
/// No-load current over full-load current at [`BASE_VOLT_AMPERES`] (engineering judgement).
const BASE_NO_LOAD_CURRENT: f64 = 0.4;
/// Core loss over rating at [`BASE_VOLT_AMPERES`] (engineering judgement).
const BASE_CORE_LOSS: f64 = 0.1;
/// Rating that the three shares above hold for, volt-amperes.
const BASE_VOLT_AMPERES: f64 = 10.0;
/// Power of the rating with which the shares fall: a tenth of the rating has 2.5 times the share.
const SHARE_POWER: f64 = -0.4;
/// Leakage reactance of both sides together over rated impedance (engineering judgement).
const LEAKAGE: f64 = 0.03;
/// Largest part of the no-load current that is taken to be core loss.
const MOST_CORE_LOSS_CURRENT: f64 = 0.6;

/// One winding as marked.
#[derive(Debug, Clone, PartialEq)]
pub struct PlateWinding {
    /// Volts at no load of its sections, in order.
    pub section_volts: Vec<f64>,
    /// Ohms from end to end at 20 degrees Celsius, where known.
    pub ohms: Option<f64>,
}

impl PlateWinding {
    /// Volts from end to end.
    pub fn volts(&self) -> f64 {
        self.section_volts.iter().sum()
    }
}

/// What is marked on a transformer.
#[derive(Debug, Clone, PartialEq)]
pub struct TransformerPlate {
    /// Rating, volt-amperes.
    pub volt_amperes: f64,
    /// Its windings; at least one.
    pub windings: Vec<PlateWinding>,
    /// Amperes at no load into the winding with the most volts.
    pub no_load_amps: Option<f64>,
}

/// Median values, referred to the winding with the most volts as one relative turn.
#[derive(Debug, Clone, PartialEq)]
pub struct TransformerMedians {
    /// Index of the winding with the most volts, the first of several.
    pub reference: usize,
    /// Its volts.
    pub reference_volts: f64,
    /// Magnetising reactance, ohms.
    pub magnetising_ohms: f64,
    /// Resistance that stands for the core loss, beside the magnetising reactance, ohms.
    pub core_loss_ohms: f64,
    /// Leakage reactance of the reference winding, ohms.
    pub leakage_ohms: f64,
    /// For each winding its sections.
    pub sections: Vec<Vec<SectionMedians>>,
}

/// Median values of one section of a winding.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SectionMedians {
    /// Relative turns.
    pub turns: f64,
    /// Ohms at 20 degrees Celsius.
    pub ohms: f64,
    /// Leakage reactance over that of the reference winding.
    pub leakage_share: f64,
}

impl TransformerPlate {
    /// Full-load current of a winding, amperes.
    pub fn full_load_amps(&self, winding: usize) -> f64 {
        let volts = self.windings[winding].volts();
        let alike = self.windings.iter().filter(|other| other.volts() == volts).count();
        self.volt_amperes / alike as f64 / volts
    }

    /// No-load amperes over full-load amperes of the whole rating, at the volts of the reference winding.
    pub fn no_load_share(&self) -> f64 {
        let reference = self.windings[self.reference()].volts();
        self.no_load_amps.map_or(self.share(BASE_NO_LOAD_CURRENT), |amps| amps * reference / self.volt_amperes)
    }

    /// Median values of such a transformer.
    pub fn medians(&self) -> TransformerMedians {
        let reference = self.reference();
        let reference_volts = self.windings[reference].volts();
        let rated_ohms = reference_volts * reference_volts / self.volt_amperes;
        let no_load = self.no_load_share();
        let core_loss = self.share(BASE_CORE_LOSS).min(MOST_CORE_LOSS_CURRENT * no_load);
        let magnetising = (no_load * no_load - core_loss * core_loss).sqrt();
        let leakage_of = |winding: usize| LEAKAGE / 2.0 * self.windings[winding].volts() / self.full_load_amps(winding);
        let sections = |winding: usize| {
            let plate = &self.windings[winding];
            let rated = plate.volts() / self.full_load_amps(winding);
            let ohms = plate.ohms.unwrap_or(self.share(BASE_REGULATION) / 2.0 * rated);
            let section = |&volts: &f64| SectionMedians {
                turns: volts / reference_volts,
                ohms: ohms * volts / plate.volts(),
                leakage_share: leakage_of(winding) / leakage_of(reference) * volts / plate.volts(),
            };
            plate.section_volts.iter().map(section).collect()
        };
        TransformerMedians {
            reference,
            reference_volts,
            magnetising_ohms: rated_ohms / magnetising,
            core_loss_ohms: rated_ohms / core_loss,
            leakage_ohms: leakage_of(reference),
            sections: (0..self.windings.len()).map(sections).collect(),
        }
    }

    /// The winding with the most volts, the first of several.
    fn reference(&self) -> usize {
        let more = |best: usize, next: usize| {
            if self.windings[next].volts() > self.windings[best].volts() { next } else { best }
        };
        (0..self.windings.len()).fold(0, more)
    }

    fn share(&self, base: f64) -> f64 {
        base * (self.volt_amperes / BASE_VOLT_AMPERES).powf(SHARE_POWER)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use num_complex::Complex64;

    fn plate(windings: &[&[f64]], volt_amperes: f64, no_load_amps: Option<f64>) -> TransformerPlate {
        let winding = |volts: &&[f64]| PlateWinding { section_volts: volts.to_vec(), ohms: None };
        TransformerPlate { volt_amperes, windings: windings.iter().map(winding).collect(), no_load_amps }
    }

    #[test]
    fn no_load_amps_come_back() {
        for amps in [0.02, 0.2] {
            let plate = plate(&[&[24.0], &[230.0]], 100.0, Some(amps));
            let medians = plate.medians();
            assert_eq!((medians.reference, medians.reference_volts), (1, 230.0));
            let admittance = Complex64::new(1.0 / medians.core_loss_ohms, -1.0 / medians.magnetising_ohms);
            assert!((230.0 * admittance.norm() - amps).abs() < 1e-12 * amps);
        }
    }

    #[test]
    fn halves_of_a_primary_in_series_are_one_winding() {
        let halves = plate(&[&[120.0], &[120.0], &[24.0]], 100.0, None).medians();
        let whole = plate(&[&[240.0], &[24.0]], 100.0, None).medians();
        let series: f64 = halves.sections[..2].iter().flatten().map(|section| section.ohms).sum();
        assert!((series - whole.sections[0][0].ohms).abs() < 1e-12 * series);
        let leakage = 2.0 * halves.leakage_ohms;
        assert!((leakage - whole.leakage_ohms).abs() < 1e-12 * leakage);
    }

    #[test]
    fn a_given_resistance_is_shared_by_turns() {
        let mut plate = plate(&[&[100.0, 140.0]], 100.0, None);
        plate.windings[0].ohms = Some(48.0);
        let sections = &plate.medians().sections[0];
        assert!((sections[0].ohms - 20.0).abs() < 1e-9 && (sections[1].ohms - 28.0).abs() < 1e-9);
    }
}
