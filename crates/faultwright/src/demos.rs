//! The demo jobs, carried inside the program.

/// A demo job.
pub struct DemoJob {
    /// Name to ask for it by.
    pub name: &'static str,
    /// One line about it.
    pub about: &'static str,
    /// Its job file.
    pub text: &'static str,
}

/// All demos; the first is shown when none is named.
pub const DEMOS: &[DemoJob] = &[
    DemoJob {
        name: "dough-proofer",
        about: "a circulation fan that needs a push to start, beside a heater that works",
        text: include_str!("../../../demos/dough-proofer.toml"),
    },
    DemoJob {
        name: "air-curtain",
        about: "twin three-speed motors in parallel: one stands still, the other runs hot",
        text: include_str!("../../../demos/air-curtain.toml"),
    },
    DemoJob {
        name: "drying-cabinet",
        about: "a heater bank that stays cold although there are volts at both its ends",
        text: include_str!("../../../demos/drying-cabinet.toml"),
    },
    DemoJob {
        name: "polisher",
        about: "a universal motor that has grown weak and sparks at its brushes",
        text: include_str!("../../../demos/polisher.toml"),
    },
    DemoJob {
        name: "heat-sealer",
        about: "a bag sealer with a tapped transformer that seals only at its hottest setting",
        text: include_str!("../../../demos/heat-sealer.toml"),
    },
    DemoJob {
        name: "greenhouse-heater",
        about: "a fan heater whose cutout opens after some minutes, with a log from cold",
        text: include_str!("../../../demos/greenhouse-heater.toml"),
    },
    DemoJob {
        name: "bench-grinder",
        about: "a split-phase motor that starts well, growls and smells within a minute",
        text: include_str!("../../../demos/bench-grinder.toml"),
    },
    DemoJob {
        name: "workshop-compressor",
        about: "a compressor whose start capacitor stays in, so that its overload trips",
        text: include_str!("../../../demos/workshop-compressor.toml"),
    },
    DemoJob {
        name: "two-leg-cabinet",
        about: "a heater on two legs stays cold, and the fan of the dead leg runs all the same, but slowly",
        text: include_str!("../../../demos/two-leg-cabinet.toml"),
    },
    DemoJob {
        name: "extractor",
        about: "a three-phase fan that hums and runs only when pushed; its dead terminal still reads volts",
        text: include_str!("../../../demos/extractor.toml"),
    },
];

/// The example of unmarked leads.
pub const LEADS_DEMO: DemoJob = DemoJob {
    name: "leads/three-speed-fan",
    about: "a three-speed capacitor-run motor whose five leads have lost their colours",
    text: include_str!("../../../demos/leads/three-speed-fan.toml"),
};

/// The example of a heat run's log.
pub const HEAT_RUN_DEMO: DemoJob = DemoJob {
    name: "heat-runs/bench-ventilator",
    about: "a bench ventilator run for three quarters of an hour after a new bearing",
    text: include_str!("../../../demos/heat-runs/bench-ventilator.csv"),
};
