//! Starter units: whole job files without readings, to begin a job from.

/// A job file to begin from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Starter {
    /// Short name, as in a web address.
    pub name: &'static str,
    /// What it is, for a list.
    pub title: &'static str,
    /// What it is made of, in one line.
    pub words: &'static str,
    /// The job file.
    pub text: &'static str,
}

/// All starters, the plainest first.
pub fn starters() -> &'static [Starter] {
    &STARTERS
}

const STARTERS: [Starter; 5] = [
    Starter {
        name: "tapped-blower",
        title: "Three-speed blower",
        words: "230 V, 50 Hz: tapped motor, run capacitor, selector, thermal cutout.",
        text: include_str!("../../../../starters/tapped-blower.toml"),
    },
    Starter {
        name: "twin-blower",
        title: "Twin blower on one selector",
        words: "120 V, 60 Hz: two motors of one make, tap beside tap, each with its run capacitor.",
        text: include_str!("../../../../starters/twin-blower.toml"),
    },
    Starter {
        name: "heater-cabinet",
        title: "Heated cabinet with a fan",
        words: "120 V, 60 Hz: heater behind fuse, cutout and thermostat; shaded-pole fan, lamp, splice.",
        text: include_str!("../../../../starters/heater-cabinet.toml"),
    },
    Starter {
        name: "capacitor-start-pump",
        title: "Pump with start and run capacitor",
        words: "230 V, 50 Hz: motor with a centrifugal switch, start and run capacitor, thermal cutout.",
        text: include_str!("../../../../starters/capacitor-start-pump.toml"),
    },
    Starter {
        name: "compressor",
        title: "Refrigeration compressor",
        words: "120 V, 60 Hz: common, start and run, PTC starter, run capacitor, overload, cold control.",
        text: include_str!("../../../../starters/compressor.toml"),
    },
];
