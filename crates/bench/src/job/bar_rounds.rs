//! Reads rounds from bar to bar of a commutator.

use super::file::ReadingEntry;
use super::load::{Job, Reader};
use super::values::{ShownOhms, ShownValue};
use crate::bars::{BarPair, typical};
use crate::reading::{Measure, Reading, Value};
use std::ops::Range;
use toml::Spanned;

const A_ROUND: &str = "ohms = [...], one for each pair of neighbouring bars, all round";

impl Reader<'_, '_> {
    pub(super) fn bar_round(
        &mut self,
        job: &Job,
        entry: &ReadingEntry,
        bars_of: &Spanned<String>,
        span: Range<usize>,
    ) -> Option<Reading> {
        let setup = self.setup_named(job, &entry.setup);
        let meter = self.meter_named(job, entry.meter.as_ref());
        let part = self.part_named(&job.unit, bars_of);
        let is_alone = [&entry.volts, &entry.amps, &entry.watts, &entry.rpm].iter().all(|other| other.is_none());
        let Some(ShownOhms::Round(list)) = entry.ohms.as_ref().map(Spanned::get_ref).filter(|_| is_alone) else {
            self.problems.error(span, "bars_of without a list of ohms").expected(A_ROUND);
            return None;
        };
        self.idle_places("a round of bars", entry);
        let (setup, meter, part) = (setup?, meter?, part?);
        let Some(bars) = job.unit.parts()[part].kind.commutator_bars() else {
            let problem = self.problems.error(bars_of.span(), format!("'{}' has no commutator", bars_of.get_ref()));
            problem.expected("a universal-motor");
            return None;
        };
        if job.setups[setup].energised {
            self.ohms_on_live(entry, span);
            return None;
        }
        let at = entry.ohms.as_ref().map_or(span.clone(), Spanned::span);
        if list.len() != bars {
            let message = format!("{} readings from bar to bar where the commutator has {bars} bars", list.len());
            let problem = self.problems.error(at, message);
            problem.expected(A_ROUND).mend("go once round, or give the part its number of bars: bars = ...");
            return None;
        }
        let mut round = Vec::with_capacity(list.len());
        for shown in list {
            round.push(match shown.0 {
                ShownValue::Number(ohms) => Value::Number(ohms),
                ShownValue::Open | ShownValue::OverRange => Value::Open,
                ShownValue::Dead => {
                    let problem = self.problems.error(at, "ohms cannot be dead");
                    problem
                        .expected("numbers or \"open\"")
                        .mend("for no connection write \"open\", for a dead short 0");
                    return None;
                }
            });
        }
        let value = typical(&round);
        if !matches!(value, Value::Number(middle) if middle > 0.0) {
            let problem = self.problems.error(at, "most pairs of bars read 0 or open");
            problem
                .expected("ohms of a coil at most pairs")
                .mend("read again with a meter that shows hundredths of an ohm, on bars that are clean");
            return None;
        }
        let (measure, line) = (Measure::Bars(part, BarPair::Typical), self.problems.line(span.start));
        Some(Reading { setup, measure, value, meter, line, round })
    }

    pub(super) fn ohms_on_live(&mut self, entry: &ReadingEntry, span: Range<usize>) {
        let message = format!("ohms in setup '{}', where the supply is on", entry.setup.get_ref());
        self.problems
            .error(span, message)
            .expected("a setup with supply = \"off\"")
            .mend("an ohmmeter on a live circuit reads nonsense and can be destroyed");
    }
}
