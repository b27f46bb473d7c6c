//! Meters: how far a reading may be from the truth.

use crate::reading::Measure;

/// Accuracy of one function of a meter: percent of reading plus a number of counts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Accuracy {
    /// Percent of the reading.
    pub percent: f64,
    /// Counts of the last digit.
    pub counts: f64,
    /// Value of one count in the measure's unit.
    pub count: f64,
}

impl Accuracy {
    /// Half width of the interval that the maker promises.
    pub fn half_width(self, reading: f64) -> f64 {
        self.percent / 100.0 * reading.abs() + self.counts * self.count
    }

    /// Standard uncertainty: half width over the square root of three.
    ///
    /// Source: JCGM 100 (GUM) 4.3.7, Type B evaluation with a rectangular distribution.
    pub fn standard_uncertainty(self, reading: f64) -> f64 {
        self.half_width(reading) / 3f64.sqrt()
    }
}

/// A meter, or the set of instruments used together.
#[derive(Debug, Clone, PartialEq)]
pub struct Meter {
    /// Its name.
    pub name: String,
    /// Ohms function.
    pub ohms: Accuracy,
    /// Highest resistance it shows before 'over range', ohms.
    pub ohms_limit: f64,
    /// Capacitance function, microfarads.
    pub microfarads: Accuracy,
    /// AC volts function.
    pub volts: Accuracy,
    /// Input resistance on volts, ohms.
    pub volts_input_ohms: f64,
    /// Clamp or series amps.
    pub amps: Accuracy,
    /// Below this current the clamp may show nothing, amperes.
    pub amps_floor: f64,
    /// Plug-in wattmeter.
    pub watts: Accuracy,
    /// Tachometer.
    pub rpm: Accuracy,
    /// Leakage clamp, or a touch-current network with its voltmeter, milliamperes.
    pub milliamps: Accuracy,
    /// Stop-watch in a hand.
    pub seconds: Accuracy,
}

/// An ohmmeter that shows more than this is an insulation tester, ohms (common practice, no source).
const INSULATION_TESTER_OHMS: f64 = 100e6;

/// Largest capacitance that a meter shows, microfarads: the end of the range of a published handheld manual.
const LARGEST_MICROFARADS: f64 = 4000.0;

impl Meter {
    /// An ordinary handheld multimeter with a clamp, a leakage clamp, a plug-in wattmeter, an optical tachometer and a
    /// stop-watch.
    ///
    /// Figures: common practice, no source; they are what such instruments promise. Capacitance: a published manual of a
    /// handheld multimeter promises 2 % + 4 counts of 10 nF up to 40 uF, 3 % + 4 counts above.
    pub fn handheld() -> Self {
        Meter {
            name: "handheld".into(),
            ohms: Accuracy { percent: 0.9, counts: 2.0, count: 0.1 },
            ohms_limit: 40e6,
            microfarads: Accuracy { percent: 2.0, counts: 4.0, count: 0.01 },
            volts: Accuracy { percent: 1.0, counts: 3.0, count: 0.1 },
            volts_input_ohms: 10e6,
            amps: Accuracy { percent: 2.0, counts: 5.0, count: 0.01 },
            amps_floor: 0.03,
            watts: Accuracy { percent: 2.0, counts: 2.0, count: 0.5 },
            rpm: Accuracy { percent: 0.1, counts: 2.0, count: 1.0 },
            milliamps: Accuracy { percent: 3.0, counts: 5.0, count: 0.01 },
            seconds: Accuracy { percent: 0.0, counts: 1.0, count: 0.5 },
        }
    }

    /// Whether its ohms function is that of an insulation tester, which measures with 500 V direct.
    pub fn tests_insulation(&self) -> bool {
        self.ohms_limit > INSULATION_TESTER_OHMS
    }

    /// Value above which a measure is over range, in its unit; infinite where no meter comes to its end.
    pub fn limit(&self, measure: Measure) -> f64 {
        match measure {
            Measure::Ohms(..) | Measure::Bars(..) => self.ohms_limit,
            Measure::Microfarads(..) => LARGEST_MICROFARADS,
            _ => f64::INFINITY,
        }
    }

    /// Accuracy of the function that a measure uses.
    pub fn accuracy(&self, measure: Measure) -> Accuracy {
        match measure {
            Measure::Ohms(..) | Measure::Bars(..) => self.ohms,
            Measure::Microfarads(..) => self.microfarads,
            Measure::Volts(..) => self.volts,
            Measure::AmpsAtTerminal(_) | Measure::AmpsInWire(_) => self.amps,
            Measure::Watts(_) => self.watts,
            Measure::Rpm(_) => self.rpm,
            Measure::TouchMilliamps(_) | Measure::LeakageMilliamps(_) => self.milliamps,
            Measure::RunDown(_) => self.seconds,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn percent_plus_counts_and_its_standard_uncertainty() {
        // 0.08 % + 2 counts of 1 mV at 2.000 V: 0.0036 V (instrument maker's worked example), /sqrt(3) = 0.00207846 V.
        let accuracy = Accuracy { percent: 0.08, counts: 2.0, count: 1e-3 };
        assert!((accuracy.half_width(2.0) - 0.0036).abs() < 1e-12);
        assert!((accuracy.standard_uncertainty(2.0) - 0.002_078_46).abs() < 1e-8);
    }

    #[test]
    fn the_guide_to_uncertainty_voltmeter_example() {
        // JCGM 100 4.3.7 example 2 and 5.1.5: 14e-6 V + 2e-6 V at 0.928571 V -> a = 15.0 uV, u = 8.7 uV; with a
        // Type A 12 uV the combined uncertainty is 15 uV.
        let accuracy = Accuracy { percent: 14e-4, counts: 2.0, count: 1e-6 };
        assert!((accuracy.half_width(0.928_571) - 15.0e-6).abs() < 0.05e-6);
        let type_b = accuracy.standard_uncertainty(0.928_571);
        assert!((type_b - 8.660_25e-6).abs() < 1e-10);
        assert!((type_b.hypot(12e-6) - 14.798_6e-6).abs() < 1e-9);
    }
}
