//! The air about a unit: the room, the streams that fans move, and what sits on what.

/// A stream of air that a motor's fan moves.
#[derive(Debug, Clone, PartialEq)]
pub struct Stream {
    /// The motor.
    pub fan: usize,
    /// Parts that the air passes, in order.
    pub parts: Vec<usize>,
    /// Heat that the stream carries at the fan's rated speed, watts per kelvin.
    pub watts_per_kelvin: f64,
}

/// A part clamped to a body of another.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Touch {
    /// The part that feels.
    pub part: usize,
    /// The part it sits on.
    pub on: usize,
    /// Which of its bodies.
    pub body: usize,
}

/// What a job says about heat.
#[derive(Debug, Clone, PartialEq)]
pub struct Air {
    /// Temperature of the room, degrees Celsius.
    pub room_celsius: f64,
    /// Streams of air.
    pub streams: Vec<Stream>,
    /// What sits on what.
    pub touches: Vec<Touch>,
    /// Capacitors on what they sit on. They take next to no heat from it, so they are no bodies of their own.
    pub capacitors: Vec<Touch>,
}

impl Air {
    /// Whether a stream passes a part.
    pub fn has_stream_at(&self, part: usize) -> bool {
        self.streams.iter().any(|stream| stream.parts.contains(&part))
    }
}

/// Temperature of a room of which nothing is said, degrees Celsius.
pub const USUAL_ROOM_CELSIUS: f64 = 20.0;

impl Default for Air {
    fn default() -> Self {
        Air { room_celsius: USUAL_ROOM_CELSIUS, streams: Vec::new(), touches: Vec::new(), capacitors: Vec::new() }
    }
}
