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
pub const DEMOS: [DemoJob; 5] = [
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
];
