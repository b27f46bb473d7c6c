//! What is known of a motor before its leads are read.

use serde::{Deserialize, Serialize};

/// Kinds of motor by how they are wound.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Motor {
    /// A start winding that stays in circuit through a run capacitor.
    CapacitorRun,
    /// A start winding that a switch takes out, with or without a start capacitor.
    SplitPhase,
    /// A sealed refrigeration compressor.
    Compressor,
    /// A submersible well pump with three leads.
    WellPump,
    /// Three equal phases.
    ThreePhase,
}

impl Motor {
    /// All kinds.
    pub const ALL: [Motor; 5] =
        [Motor::CapacitorRun, Motor::SplitPhase, Motor::Compressor, Motor::WellPump, Motor::ThreePhase];

    /// As typed in a file.
    pub fn as_str(self) -> &'static str {
        match self {
            Motor::CapacitorRun => "capacitor-run",
            Motor::SplitPhase => "split-phase",
            Motor::Compressor => "compressor",
            Motor::WellPump => "well-pump",
            Motor::ThreePhase => "three-phase",
        }
    }

    /// As people call it.
    pub fn words(self) -> &'static str {
        match self {
            Motor::CapacitorRun => "capacitor-run motor",
            Motor::SplitPhase => "split-phase or capacitor-start motor",
            Motor::Compressor => "hermetic compressor",
            Motor::WellPump => "well pump",
            Motor::ThreePhase => "three-phase motor",
        }
    }

    /// Odds before anything is known (engineering judgement: what comes to a bench with its marks gone).
    pub(crate) fn odds(self) -> f64 {
        match self {
            Motor::CapacitorRun => 0.35,
            Motor::SplitPhase => 0.2,
            Motor::Compressor => 0.15,
            Motor::WellPump => 0.1,
            Motor::ThreePhase => 0.2,
        }
    }
}

/// How the phases of a three-phase motor are joined inside.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Deserialize, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Connection {
    /// At a star point.
    Star,
    /// End to end.
    Delta,
    /// Not at all: both ends of each phase come out.
    Open,
}

impl Connection {
    /// As typed in a file.
    pub fn as_str(self) -> &'static str {
        match self {
            Connection::Star => "star",
            Connection::Delta => "delta",
            Connection::Open => "open",
        }
    }
}

/// What is known of the motor. What is not known is left out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Known {
    /// Its kind.
    pub motor: Option<Motor>,
    /// Its number of speeds.
    pub speeds: Option<usize>,
    /// Whether it can be made to turn either way from its leads.
    pub reversible: Option<bool>,
    /// How its phases are joined.
    pub connection: Option<Connection>,
}
