//! The tables of limits, a block for each line of the standards.

use super::class::ThermalClass;
use super::limit::{Build, Limit, LimitValue, Method, Standard, State};
use crate::source::Source;

/// One line of a table: the figures of several classes.
pub(super) struct Block {
    standard: Standard,
    build: Build,
    state: State,
    method: Method,
    ambient_celsius: Option<f64>,
    figure: fn(f64) -> LimitValue,
    source: Source,
    /// Class and figure.
    figures: &'static [(&'static str, f64)],
}

impl Block {
    pub(super) fn limits(&self) -> impl Iterator<Item = Limit> + '_ {
        self.figures.iter().filter_map(|&(class, figure)| {
            Some(Limit {
                class: ThermalClass::named(class).ok()?,
                standard: self.standard,
                build: self.build,
                state: self.state,
                method: self.method,
                value: (self.figure)(figure),
                ambient_celsius: self.ambient_celsius,
                source: self.source,
            })
        })
    }
}

const fn block(
    standard: Standard,
    build: Build,
    state: State,
    method: Method,
    source: Source,
    figures: &'static [(&'static str, f64)],
) -> Block {
    // Stalled and overloaded motors are held to temperatures, whatever the room.
    let (ambient_celsius, figure): (_, fn(f64) -> LimitValue) = match (state, standard) {
        (State::Running, Standard::Iec60034 | Standard::NemaMg1) => (Some(40.0), LimitValue::RiseKelvins),
        (State::Running, Standard::Iec60335) => (Some(25.0), LimitValue::RiseKelvins),
        (State::Running, Standard::Ul458 | Standard::Ul507) => (Some(25.0), LimitValue::Celsius),
        _ => (None, LimitValue::Celsius),
    };
    Block { standard, build, state, method, ambient_celsius, figure, source, figures }
}

const IEC_ROTATING: Source =
    Source::verified("IEC 60034-1 / NEMA", "edition not named", "a glossary of insulation classes (reded.cz)");
const IEC_SMALL: Source = Source::from_memory("IEC 60034-1", "table of rise limits, machines below 600 W and IC 40");
const NEMA_FACTOR: Source =
    Source::verified("NEMA MG 1", "edition not named", "a page on motor classes (powerweb.blogfa.com)");
const NEMA_SMALL: Source = Source::from_memory("NEMA MG 1", "12.43");
const NEMA_PROTECTED: Source = Source::from_memory("NEMA MG 1", "12.56");
const UL_CONVERTERS: Source = Source::verified(
    "UL 458",
    "Table 37.1; its ambient of 25 degrees Celsius from memory",
    "the standard's page 72 as stored (easymanua.ls)",
);
const UL_FANS: Source = Source::from_memory("UL 507", "open motors as UL 458");
const IEC_RUNNING: Source = Source::from_memory("IEC 60335-1", "Table 3, windings");
const IEC_ABNORMAL: Source = Source::from_memory("IEC 60335-1", "Table 8");

use Build::{Enclosed, Open, Ordinary, ServiceFactor100, ServiceFactor115, SmallEnclosed, SmallOpen, Winding};
use Method::{Resistance, Thermocouple};
use Standard::{Iec60034, Iec60335, NemaMg1, Ul458, Ul507};
use State::{FirstHourPeak, ImpedanceProtected, LaterMean, LaterPeak, Running, RunningOverload, Unsettled};

#[rustfmt::skip]
pub(super) static BLOCKS: &[Block] = &[
    block(Iec60034, Ordinary, Running, Resistance, IEC_ROTATING,
        &[("A", 60.0), ("E", 75.0), ("B", 80.0), ("F", 105.0), ("H", 125.0)]),
    block(Iec60034, Build::SmallOrUnventilated, Running, Resistance, IEC_SMALL,
        &[("A", 65.0), ("E", 75.0), ("B", 85.0), ("F", 110.0), ("H", 130.0)]),
    block(NemaMg1, ServiceFactor100, Running, Resistance, NEMA_FACTOR,
        &[("A", 60.0), ("B", 80.0), ("F", 105.0), ("H", 125.0)]),
    block(NemaMg1, ServiceFactor115, Running, Resistance, NEMA_FACTOR,
        &[("A", 70.0), ("B", 90.0), ("F", 115.0)]),
    block(NemaMg1, SmallOpen, Running, Resistance, NEMA_SMALL,
        &[("A", 60.0), ("B", 80.0), ("F", 105.0), ("H", 125.0)]),
    block(NemaMg1, SmallEnclosed, Running, Resistance, NEMA_SMALL,
        &[("A", 65.0), ("B", 85.0), ("F", 110.0), ("H", 130.0)]),
    block(Ul458, Open, Running, Resistance, UL_CONVERTERS, &[("A", 100.0), ("B", 120.0)]),
    block(Ul458, Enclosed, Running, Resistance, UL_CONVERTERS, &[("A", 105.0), ("B", 125.0)]),
    block(Ul458, Open, Running, Thermocouple, UL_CONVERTERS, &[("A", 90.0), ("B", 110.0)]),
    block(Ul458, Enclosed, Running, Thermocouple, UL_CONVERTERS, &[("A", 95.0), ("B", 120.0)]),
    block(Ul507, Open, Running, Resistance, UL_FANS, &[("A", 100.0), ("B", 120.0)]),
    block(Iec60335, Winding, Running, Resistance, IEC_RUNNING,
        &[("A", 75.0), ("E", 90.0), ("B", 95.0), ("F", 115.0), ("H", 140.0), ("200", 160.0), ("220", 180.0), ("250", 210.0)]),
    // With thermocouples, of windings other than vibrator coils and a.c. motors.
    block(Iec60335, Winding, Running, Thermocouple, IEC_RUNNING, &[("A", 65.0), ("E", 80.0), ("B", 85.0)]),
    block(Iec60335, Winding, ImpedanceProtected, Resistance, IEC_ABNORMAL,
        &[("A", 150.0), ("E", 165.0), ("B", 175.0), ("F", 190.0), ("H", 210.0), ("200", 230.0), ("220", 250.0), ("250", 280.0)]),
    block(Iec60335, Winding, FirstHourPeak, Resistance, IEC_ABNORMAL,
        &[("A", 200.0), ("E", 215.0), ("B", 225.0), ("F", 240.0), ("H", 260.0)]),
    block(Iec60335, Winding, LaterPeak, Resistance, IEC_ABNORMAL,
        &[("A", 175.0), ("E", 190.0), ("B", 200.0), ("F", 215.0), ("H", 235.0)]),
    block(Iec60335, Winding, LaterMean, Resistance, IEC_ABNORMAL,
        &[("A", 150.0), ("E", 165.0), ("B", 175.0), ("F", 190.0), ("H", 210.0)]),
    block(Iec60335, Winding, Unsettled, Resistance, IEC_ABNORMAL,
        &[("A", 200.0), ("E", 215.0), ("B", 225.0), ("F", 240.0), ("H", 260.0)]),
    block(NemaMg1, Ordinary, RunningOverload, Resistance, NEMA_PROTECTED,
        &[("A", 140.0), ("B", 165.0), ("F", 190.0), ("H", 215.0)]),
    block(NemaMg1, Ordinary, FirstHourPeak, Resistance, NEMA_PROTECTED,
        &[("A", 200.0), ("B", 225.0), ("F", 250.0), ("H", 275.0)]),
    block(NemaMg1, Ordinary, LaterPeak, Resistance, NEMA_PROTECTED,
        &[("A", 175.0), ("B", 200.0), ("F", 225.0), ("H", 250.0)]),
    block(NemaMg1, Ordinary, LaterMean, Resistance, NEMA_PROTECTED,
        &[("A", 150.0), ("B", 175.0), ("F", 200.0), ("H", 225.0)]),
];
