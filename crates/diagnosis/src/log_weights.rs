//! Sums and shares of weights that are kept as logarithms.

/// A running sum of exponentials, kept as its logarithm.
#[derive(Debug, Clone, Copy)]
pub struct LogSum {
    largest: f64,
    scaled: f64,
}

impl Default for LogSum {
    fn default() -> Self {
        LogSum { largest: f64::NEG_INFINITY, scaled: 0.0 }
    }
}

impl LogSum {
    /// Adds `exp(log)`; minus infinity adds nothing.
    pub fn add(&mut self, log: f64) {
        if log == f64::NEG_INFINITY {
            return;
        }
        if log > self.largest {
            self.scaled = self.scaled * (self.largest - log).exp() + 1.0;
            self.largest = log;
        } else {
            self.scaled += (log - self.largest).exp();
        }
    }

    /// Logarithm of the sum; minus infinity for an empty one.
    pub fn log(self) -> f64 {
        self.largest + self.scaled.ln()
    }
}

/// Probabilities in proportion to `exp(log weight)`.
pub fn probabilities(log_weights: &[f64]) -> Vec<f64> {
    let mut total = LogSum::default();
    log_weights.iter().for_each(|&log| total.add(log));
    log_weights.iter().map(|&log| (log - total.log()).exp()).collect()
}
