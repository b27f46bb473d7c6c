//! What warms in a part, and how it sheds its heat.

/// A body of a part that has one temperature.
#[derive(Debug, Clone, PartialEq)]
pub struct Body {
    /// Its name: `winding`, `start-winding`, `coil`, `core`, `element`, `body`.
    pub name: &'static str,
    /// Heat that warms it by one kelvin, joules per kelvin.
    pub joules_per_kelvin: f64,
    /// Heat it gives to air at rest, watts per kelvin.
    pub still_watts_per_kelvin: f64,
    /// What a full stream of air adds to that, watts per kelvin.
    pub stream_watts_per_kelvin: f64,
    /// Where its heat comes from.
    pub source: HeatSource,
}

impl Body {
    /// Whether it is wound, so that heat ages its insulation.
    pub fn is_winding(&self) -> bool {
        self.name == "coil" || self.name.ends_with(MAIN_WINDING)
    }

    /// Whether its temperature is one that a thermometer would show.
    pub fn has_celsius(&self) -> bool {
        !(self.source.has_own_scale() || matches!(self.source, HeatSource::Disc { .. }))
    }
}

/// Where the heat of a body comes from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum HeatSource {
    /// Copper loss in all of the part's windings.
    Windings,
    /// Copper loss in the part's windings without the second one.
    MainWinding,
    /// Copper loss in the part's second winding: start, auxiliary, the other one of a reversible motor.
    SecondWinding,
    /// Core loss and the loss in the rotor.
    Iron,
    /// Everything that the part turns into heat.
    Everything,
    /// The square of the current at one of the part's terminals, that with most if there are several: a fuse, bimetal
    /// strips.
    ///
    /// Such a body is measured on a scale of its own, from [`SCALE_ZERO_CELSIUS`]: at the rated current it settles
    /// [`RATED_RISE_KELVIN`] higher, whatever the room.
    Current {
        /// The terminals, by their places in the part.
        terminals: &'static [usize],
        /// Rated current, amperes.
        rated_amps: f64,
    },
    /// The square of the volts across a heater in the part; measured as [`HeatSource::Current`], its rated volts in place of
    /// the rated current.
    HeaterVolts {
        /// Label of the heater among the part's elements.
        element: &'static str,
        /// Rated volts.
        rated_volts: f64,
    },
    /// What an element of the part takes while the part's own contact rests; once that has moved, what keeps a PTC disc at its
    /// temperature, whatever its volts, as long as it takes anything.
    SelfHeld {
        /// Label of the element.
        element: &'static str,
        /// Watts that it then sheds.
        hold_watts: f64,
        /// Watts below which nothing feeds it.
        least_watts: f64,
    },
    /// As [`HeatSource::Current`], of a supply: the live conductor with most current, as in the breaker ahead.
    Feed {
        /// Rated current, amperes.
        rated_amps: f64,
    },
    /// The current at a terminal of the part, in a disc that also feels what it sits on: an overload inside a winding.
    Disc {
        /// The terminals, by their places in the part.
        terminals: &'static [usize],
        /// Rated current, amperes.
        rated_amps: f64,
        /// Heat in the disc at that current, watts.
        rated_watts: f64,
    },
    /// Only what reaches it from its surroundings.
    Nothing,
}

impl HeatSource {
    /// Whether it is the loss of windings.
    pub fn is_copper(self) -> bool {
        matches!(self, HeatSource::Windings | HeatSource::MainWinding | HeatSource::SecondWinding)
    }

    /// Whether a body is measured on a scale of its own.
    pub fn has_own_scale(self) -> bool {
        self.rated_amps().is_some() || matches!(self, HeatSource::HeaterVolts { .. })
    }

    /// Rated current of a body that its current warms.
    pub fn rated_amps(self) -> Option<f64> {
        match self {
            HeatSource::Current { rated_amps, .. } | HeatSource::Feed { rated_amps } => Some(rated_amps),
            _ => None,
        }
    }
}

/// Where the scale of a body that its own current warms begins, degrees Celsius.
pub const SCALE_ZERO_CELSIUS: f64 = 20.0;
/// Rise of a body that its own current warms, at rated current, kelvins: the unit in which such bodies are measured.
pub const RATED_RISE_KELVIN: f64 = 50.0;

/// How a part warms.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct PartHeat {
    /// Its bodies.
    pub bodies: Vec<Body>,
    /// Heat that flows between two of them, watts per kelvin.
    pub links: Vec<(usize, usize, f64)>,
}

/// A contact that the temperature of one of its part's bodies moves.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HeatContact {
    /// Place among the contacts that the part moves by itself.
    pub contact: usize,
    /// Which of the part's bodies moves it.
    pub body: usize,
    /// Temperature at which it opens, degrees Celsius.
    pub opens_celsius: f64,
    /// Temperature at which it closes again by itself; `None` if it never does.
    pub closes_celsius: Option<f64>,
    /// Whether it is the other way round: warmth closes it, at `opens_celsius`, and cooling opens it again.
    pub warmth_closes: bool,
}

/// A winding beside the main one that has a temperature of its own.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SecondCopper {
    /// What its body is called.
    pub name: &'static str,
    /// Its copper over that of the main winding.
    pub over_main: f64,
    /// Copper loss of the main winding at rated load, watts, if the other one is out of circuit then; `None` if both run.
    pub main_watts: Option<f64>,
}

/// What the body of a part's windings is called, or that of its main winding.
const MAIN_WINDING: &str = "winding";
/// What the body of the other winding of a reversible motor is called.
pub(crate) const BACKWARD_WINDING: &str = "backward-winding";

/// Share of its cooling that a motor keeps when its fan stands still (engineering judgement).
const STILL_SHARE: f64 = 0.3;
/// Share of a motor's loss that arises in its windings, at rated load (engineering judgement).
const WINDING_SHARE: f64 = 0.55;
/// Rise of the iron over the air at rated load, kelvins, and of the winding over the iron.
///
/// Together 60 K: a sound motor keeps some way below the 75 to 80 K that its class allows (IEC 60034-1, classes E and
/// B); engineering judgement, hence [`SHED_SPREAD`].
pub(super) const IRON_RISE: f64 = 42.0;
pub(super) const WINDING_OVER_IRON: f64 = 18.0;
/// Time in which a small motor as a whole warms, seconds (common practice, no source: 20 to 40 minutes).
const MOTOR_SECONDS: f64 = 1800.0;
/// Share of a transformer's heat capacity that is in its windings (engineering judgement).
const WINDING_CAPACITY_SHARE: f64 = 0.16;
/// Warming of copper that keeps all its heat, kelvins a second per (A/mm^2)^2: resistivity 1.72e-8 ohm m at 20 degrees Celsius
/// over 385 J/(kg K) times 8930 kg/m^3 (textbook figures, from memory). For a locked rotor IEC 60079-7 reckons with 0.0065 of
/// hot copper, less 15 % that goes into what the winding is soaked with (from memory); ohms rise with heat here anyway.
const COPPER_KELVIN_PER_SECOND: f64 = 0.0050;

/// Spread of the natural logarithm of all conductances of a part (engineering judgement).
pub const SHED_SPREAD: f64 = 0.25;
/// Spread of the natural logarithm of all capacities of a part (engineering judgement).
pub const STORED_SPREAD: f64 = 0.3;

impl PartHeat {
    /// An induction motor cooled by its own fan, from its loss at rated load, watts.
    pub fn induction_motor(rated_loss_watts: f64, second: Option<SecondCopper>) -> Self {
        let copper_watts = WINDING_SHARE * rated_loss_watts;
        Self::motor(rated_loss_watts, copper_watts, INDUCTION_DENSITY).with_second_winding(second, copper_watts)
    }

    /// A universal motor, whose loss at rated load is all in its windings, watts.
    pub fn universal_motor(rated_loss_watts: f64) -> Self {
        Self::motor(rated_loss_watts, rated_loss_watts, UNIVERSAL_DENSITY)
    }

    /// A hermetic compressor, its overload inside as a body, which its current warms.
    pub fn compressor(rated_loss_watts: f64, rated_amps: f64, second: Option<SecondCopper>) -> Self {
        let copper_watts = WINDING_SHARE * rated_loss_watts;
        let heat = Self::motor(rated_loss_watts, copper_watts, COMPRESSOR_DENSITY);
        let mut heat = heat.with_second_winding(second, copper_watts);
        let rated_watts = DISC_RISE * DISC_JOULES_PER_KELVIN / DISC_SECONDS;
        let disc = Body {
            name: "overload",
            joules_per_kelvin: DISC_JOULES_PER_KELVIN,
            still_watts_per_kelvin: 0.0,
            stream_watts_per_kelvin: 0.0,
            source: HeatSource::Disc { terminals: &[0], rated_amps, rated_watts },
        };
        let place = heat.insert_before_core(disc);
        heat.links.push((0, place, DISC_JOULES_PER_KELVIN / DISC_SECONDS));
        heat
    }

    /// The same with the second winding as a body of its own, beside the main one and in the same iron.
    ///
    /// Two windings that run share the copper that goes with the loss at rated load, and what links it to the iron. One that only
    /// starts comes on top, with its share of the copper that the main winding's own loss makes at the same current density.
    fn with_second_winding(mut self, second: Option<SecondCopper>, copper_watts: f64) -> Self {
        let Some(SecondCopper { name, over_main, main_watts }) = second else { return self };
        let (copper, to_core) = (self.bodies[0].joules_per_kelvin, self.links[0].2);
        let main = if main_watts.is_some() { 1.0 } else { 1.0 / (1.0 + over_main) };
        let other = over_main * main_watts.map_or(main, |watts| watts / copper_watts);
        let core = self.bodies.len() - 1;
        self.bodies[core].joules_per_kelvin -= (main + other - 1.0) * copper;
        let own = Body {
            name,
            joules_per_kelvin: other * copper,
            source: HeatSource::SecondWinding,
            ..self.bodies[0].clone()
        };
        let winding = &mut self.bodies[0];
        winding.joules_per_kelvin = main * copper;
        winding.source = HeatSource::MainWinding;
        self.links[0].2 = main * to_core;
        let place = self.insert_before_core(own);
        let touch = if main_watts.is_some() { STARTING_TOUCH } else { RUNNING_TOUCH };
        self.links.extend([(place, core + 1, other * to_core), (0, place, touch * other * to_core)]);
        self
    }

    /// Puts a body in ahead of the core, which stays the last, since the rotor goes by it; gives its place.
    fn insert_before_core(&mut self, body: Body) -> usize {
        let core = self.bodies.len() - 1;
        for (_, b, _) in &mut self.links {
            *b += usize::from(*b == core);
        }
        self.bodies.insert(core, body);
        core
    }

    /// The places of its windings, the main one first.
    pub fn windings(&self) -> impl Iterator<Item = usize> + '_ {
        (0..self.bodies.len()).filter(|&body| self.bodies[body].is_winding())
    }

    /// Which body is its second winding, if that has one of its own.
    pub fn second_winding(&self) -> Option<usize> {
        self.bodies.iter().position(|body| body.source == HeatSource::SecondWinding)
    }

    /// A winding in words: "winding" of a part that has one, "main winding", "start winding" of one with two.
    pub fn winding_words(&self, body: usize) -> &'static str {
        let second = self.second_winding().map(|second| self.bodies[second].name);
        match (self.bodies[body].name, second) {
            (MAIN_WINDING, Some(BACKWARD_WINDING)) => "forward winding",
            (MAIN_WINDING, Some(_)) => "main winding",
            ("start-winding", _) => "start winding",
            ("auxiliary-winding", _) => "auxiliary winding",
            (BACKWARD_WINDING, _) => "backward winding",
            _ => MAIN_WINDING,
        }
    }

    /// A motor from its loss, the loss in its windings, and the current density in them at rated load.
    ///
    /// The copper follows from its loss: at `J` A/mm^2 it would warm by `a J^2` kelvins a second if it kept all its heat.
    /// So the winding holds `copper loss / (a J^2)`, and a stall of `k` times the rated current warms it by `a (k J)^2`.
    fn motor(loss_watts: f64, copper_watts: f64, amps_per_square_millimetre: f64) -> Self {
        let copper = copper_watts / (COPPER_KELVIN_PER_SECOND * amps_per_square_millimetre.powi(2));
        let whole = loss_watts / IRON_RISE * MOTOR_SECONDS;
        Self::wound(loss_watts, copper, whole - copper, STILL_SHARE)
    }

    /// A transformer, which no fan of its own cools.
    pub fn still_wound(rated_loss_watts: f64, seconds: f64) -> Self {
        let whole = rated_loss_watts / IRON_RISE * seconds;
        let windings = WINDING_CAPACITY_SHARE * whole;
        Self::wound(rated_loss_watts, windings, whole - windings, 1.0)
    }

    /// Winding and core, from the loss at rated load, watts, and what each stores, joules per kelvin.
    fn wound(rated_loss_watts: f64, winding: f64, core: f64, still_share: f64) -> Self {
        let to_air = rated_loss_watts / IRON_RISE;
        let winding = Body {
            name: MAIN_WINDING,
            joules_per_kelvin: winding,
            still_watts_per_kelvin: 0.0,
            stream_watts_per_kelvin: 0.0,
            source: HeatSource::Windings,
        };
        let core = Body {
            name: "core",
            joules_per_kelvin: core,
            still_watts_per_kelvin: still_share * to_air,
            stream_watts_per_kelvin: (1.0 - still_share) * to_air,
            source: HeatSource::Iron,
        };
        let link = (0, 1, WINDING_SHARE * rated_loss_watts / WINDING_OVER_IRON);
        PartHeat { bodies: vec![winding, core], links: vec![link] }
    }

    /// A single body warmed by all that the part takes, with its rise at rated watts in air at rest and in a full
    /// stream, and the time in which it warms in the stream.
    pub fn plain(
        name: &'static str,
        rated_watts: f64,
        still_rise_kelvin: f64,
        stream_rise_kelvin: f64,
        seconds: f64,
    ) -> Self {
        let (still, stream) = (rated_watts / still_rise_kelvin, rated_watts / stream_rise_kelvin);
        let body = Body {
            name,
            joules_per_kelvin: stream * seconds,
            still_watts_per_kelvin: still,
            stream_watts_per_kelvin: stream - still,
            source: HeatSource::Everything,
        };
        PartHeat { bodies: vec![body], links: Vec::new() }
    }

    /// A small body that only follows its surroundings: a cutout, a thermostat's feeler.
    pub fn feeler() -> Self {
        let body = Body {
            name: "body",
            joules_per_kelvin: FEELER_JOULES_PER_KELVIN,
            still_watts_per_kelvin: FEELER_STILL,
            stream_watts_per_kelvin: FEELER_STREAM,
            source: HeatSource::Nothing,
        };
        PartHeat { bodies: vec![body], links: Vec::new() }
    }

    /// A body that the part's own current warms, the largest at `terminals`, and that takes `seconds` to do so.
    pub fn current_warmed(name: &'static str, terminals: &'static [usize], rated_amps: f64, seconds: f64) -> Self {
        Self::on_own_scale(name, HeatSource::Current { terminals, rated_amps }, seconds)
    }

    /// A strip that a heater of the part bends, and that takes `seconds` to warm.
    pub fn heater_warmed(name: &'static str, element: &'static str, rated_volts: f64, seconds: f64) -> Self {
        Self::on_own_scale(name, HeatSource::HeaterVolts { element, rated_volts }, seconds)
    }

    /// The strips of the breaker ahead of a supply.
    pub fn breaker(rated_amps: f64, seconds: f64) -> Self {
        Self::on_own_scale("breaker", HeatSource::Feed { rated_amps }, seconds)
    }

    fn on_own_scale(name: &'static str, source: HeatSource, seconds: f64) -> Self {
        let body = Body {
            name,
            joules_per_kelvin: seconds,
            still_watts_per_kelvin: 1.0,
            stream_watts_per_kelvin: 0.0,
            source,
        };
        PartHeat { bodies: vec![body], links: Vec::new() }
    }
}

/// Heat between two windings over what the second one gives to the iron (engineering judgement): those that both run share most
/// slots, where only a separator lies between them; a start winding meets the main one in few slots and at its ends.
const RUNNING_TOUCH: f64 = 2.0;
const STARTING_TOUCH: f64 = 0.5;
/// Current densities at rated load, A/mm^2 (engineering judgement; designs lie some way to either side, which [`STORED_SPREAD`]
/// takes in): small induction motors 4 to 7, of which 4.5 makes their copper an eighth of what stores heat, as weighing them
/// does (common practice, no source); hand-held universal motors 8 to 12, windings that refrigerant cools 6 to 8.
const INDUCTION_DENSITY: f64 = 4.5;
const UNIVERSAL_DENSITY: f64 = 10.0;
const COMPRESSOR_DENSITY: f64 = 7.0;
/// The disc of a compressor's overload: a few grams of metal that follow the winding within some ten seconds, and that the
/// rated current warms by a few kelvins (engineering judgement: so that a stall opens it within seconds to some tens of them,
/// common practice, no source).
const DISC_JOULES_PER_KELVIN: f64 = 3.0;
const DISC_SECONDS: f64 = 10.0;
const DISC_RISE: f64 = 3.0;

/// A disc cutout of some 10 g of brass, steel and ceramic (engineering judgement).
const FEELER_JOULES_PER_KELVIN: f64 = 6.0;
/// Its heat to air at rest and, more, in a stream (engineering judgement: some 8 cm^2 at 10 and 50 W/m^2 K).
const FEELER_STILL: f64 = 0.008;
const FEELER_STREAM: f64 = 0.032;
/// Heat between a cutout and what it is clamped to, watts per kelvin: a lag of about half a minute.
pub(super) const TOUCH_WATTS_PER_KELVIN: f64 = 0.2;

/// Temperature, on its own scale, at which a body that its current warms settles at a multiple of the rated current.
pub fn celsius_at(multiple: f64) -> f64 {
    SCALE_ZERO_CELSIUS + RATED_RISE_KELVIN * multiple * multiple
}
