//! The words of the catalogue: titles, labels, units and examples of every kind.

use super::Group;

/// Words for a field: name, label, unit, example.
pub(super) type FieldWords = (&'static str, &'static str, &'static str, &'static str);

/// Words for a kind: name, title, what it is, group, fields.
pub(super) type KindWords = (&'static str, &'static str, &'static str, Group, &'static [FieldWords]);

/// Fields that every kind has, behind its own.
pub(super) const OF_EVERY_KIND: [FieldWords; 3] = [
    ("make", "Same make as its sister parts", "", "left and right alike"),
    ("replaced_before", "Times it has failed and been replaced before", "", "1"),
    ("fitted", "Changed while looking for this fault: new, else original", "", "original"),
];
const PLATE_CLASS: FieldWords = ("plate.insulation_class", "Insulation class", "", "F");
const CLASS: FieldWords = ("insulation_class", "Insulation class of its winding", "", "F");
const OPENS: FieldWords = ("opens_celsius", "Opens at", "°C", "110");
const CLOSES: FieldWords = ("closes_celsius", "Closes again at", "°C", "80");
const CONTACTS: FieldWords = ("rated_amps", "Each contact may carry, if marked", "A", "16");
const CONTACT: FieldWords = ("rated_amps", "Its contact may carry, if marked", "A", "10");
const CARRIES: FieldWords = ("rated_amps", "It may carry, if marked", "A", "10");
const MAX_CELSIUS: FieldWords = ("max_celsius", "The hottest it may get, if marked", "°C", "85");
const TAPS: FieldWords = ("taps", "Speed taps, fastest first", "", "high, medium, low");

const IRON: FieldWords = ("iron", "Its iron: linear, or saturates for readings away from plate volts", "", "saturates");
const LOAD: FieldWords = ("load", "What it drives: fan, propeller, pump, constant, compressor or none", "", "fan");

const SPLIT_PHASE_MOTOR: &[FieldWords] = &[
    ("plate.volts", "Plate volts", "V", "230"),
    ("plate.hertz", "Plate frequency", "Hz", "50"),
    ("plate.amps", "Full-load current", "A", "2.4"),
    ("plate.rpm", "Full-load speed", "rpm", "1425"),
    ("plate.poles", "Poles", "", "4"),
    ("plate.microfarads", "Start capacitor on the plate, if it has one", "µF", "60"),
    ("plate.run_microfarads", "Run capacitor on the plate, if it has one", "µF", "8"),
    ("plate.watts", "Input watts", "W", "400"),
    ("plate.main_ohms", "Common to run, cold, if published", "ohm", "7.2"),
    ("plate.start_ohms", "Common to start, cold, if published", "ohm", "14"),
    PLATE_CLASS,
    ("centrifugal_rated_amps", "Its centrifugal switch may carry, if marked", "A", "15"),
    LOAD,
    IRON,
];

const COMPRESSOR: &[FieldWords] = &[
    ("plate.volts", "Plate volts", "V", "230"),
    ("plate.hertz", "Plate frequency", "Hz", "50"),
    ("plate.amps", "Full-load current", "A", "3.4"),
    ("plate.rpm", "Full-load speed", "rpm", "2850"),
    ("plate.poles", "Poles", "", "2"),
    ("plate.microfarads", "Start capacitor, if it has one", "µF", "60"),
    ("plate.run_microfarads", "Run capacitor, if it has one", "µF", "15"),
    ("plate.watts", "Input watts", "W", "650"),
    ("plate.main_ohms", "Common to run, cold, if published", "ohm", "4.8"),
    ("plate.start_ohms", "Common to start, cold, if published", "ohm", "9.5"),
    PLATE_CLASS,
    ("load", "What it starts against: compressor (pressures level) or constant", "", "compressor"),
    IRON,
];

const REVERSIBLE_MOTOR: &[FieldWords] = &[
    ("plate.volts", "Plate volts", "V", "230"),
    ("plate.hertz", "Plate frequency", "Hz", "50"),
    ("plate.amps", "Full-load current", "A", "0.55"),
    ("plate.rpm", "Full-load speed", "rpm", "1300"),
    ("plate.poles", "Poles", "", "4"),
    ("plate.microfarads", "Capacitor on the plate", "µF", "4"),
    ("plate.watts", "Input watts", "W", "120"),
    ("plate.main_ohms", "Common to either lead, cold, if published", "ohm", "60"),
    PLATE_CLASS,
    ("load", "What it drives: fan, propeller, pump, constant, compressor or none", "", "pump"),
    IRON,
];

/// The plate of a motor; a shaded-pole motor's has no use for the capacitor but may name it.
const CAPACITOR_MOTOR: &[FieldWords] = &[
    ("plate.volts", "Plate volts", "V", "230"),
    ("plate.hertz", "Plate frequency", "Hz", "50"),
    ("plate.amps", "Full-load current on the fastest tap", "A", "0.6"),
    ("plate.rpm", "Full-load speed on the fastest tap", "rpm", "1320"),
    ("plate.poles", "Poles", "", "4"),
    ("plate.microfarads", "Run capacitor on the plate", "µF", "3"),
    ("plate.watts", "Input watts on the fastest tap", "W", "120"),
    ("plate.main_ohms", "Common to fastest tap, cold, if published", "ohm", "68"),
    PLATE_CLASS,
    TAPS,
    ("sections_in", "Winding that the slower taps take their turns from: main or auxiliary", "", "main"),
    LOAD,
    IRON,
];

const SHADED_POLE_MOTOR: &[FieldWords] = &[
    ("plate.volts", "Plate volts", "V", "230"),
    ("plate.hertz", "Plate frequency", "Hz", "50"),
    ("plate.amps", "Full-load current on the fastest tap", "A", "0.4"),
    ("plate.rpm", "Full-load speed on the fastest tap", "rpm", "1280"),
    ("plate.poles", "Poles", "", "4"),
    ("plate.microfarads", "Capacitor on the plate, if any", "µF", "2"),
    ("plate.watts", "Input watts on the fastest tap", "W", "55"),
    ("plate.main_ohms", "Common to fastest tap, cold, if published", "ohm", "120"),
    PLATE_CLASS,
    ("taps", "Speed taps, fastest first", "", "high, low"),
    LOAD,
    IRON,
];

/// The one list of words, in the order of a list for people.
pub(super) const WORDS: [KindWords; 35] = [
    (
        "supply",
        "Supply",
        "The outlet or feed ahead of the unit; every job has exactly one.",
        Group::SupplyAndCord,
        &[
            ("volts", "Volts between hot and neutral", "V", "230"),
            ("hertz", "Frequency", "Hz", "50"),
            ("breaker_amps", "Breaker or fuse ahead", "A", "16"),
            ("residual_trip_milliamps", "Earth-leakage trip ahead, if there is one", "mA", "30"),
            ("source_ohms", "Resistance of the supply loop", "ohm", "0.4"),
        ],
    ),
    (
        "two-leg-supply",
        "Two-leg supply",
        "Two live legs about a neutral, such as 120/240 V.",
        Group::SupplyAndCord,
        &[
            ("volts", "Volts from leg to leg", "V", "240"),
            ("hertz", "Frequency", "Hz", "60"),
            ("breaker_amps", "Breaker ahead", "A", "30"),
            ("residual_trip_milliamps", "Earth-leakage trip ahead, if there is one", "mA", "30"),
            ("source_ohms", "Resistance of each conductor", "ohm", "0.2"),
        ],
    ),
    (
        "three-phase-supply",
        "Three-phase supply",
        "Three lines about a neutral.",
        Group::SupplyAndCord,
        &[
            ("volts", "Volts from line to line", "V", "400"),
            ("hertz", "Frequency", "Hz", "50"),
            ("breaker_amps", "Breaker or fuses ahead", "A", "16"),
            ("residual_trip_milliamps", "Earth-leakage trip ahead, if there is one", "mA", "30"),
            ("source_ohms", "Resistance of each conductor", "ohm", "0.2"),
        ],
    ),
    (
        "cord",
        "Cord with plug",
        "Plugs into the supply by itself; wires start at its ends in the unit.",
        Group::SupplyAndCord,
        &[
            ("conductors", "Conductors, named as those of the supply", "", "hot, neutral, earth"),
            ("metres", "Length", "m", "2"),
            ("square_millimetres", "Conductor size", "mm²", "0.75"),
            ("gauge", "Conductor size as wire gauge; counts if both are given", "AWG", "18"),
        ],
    ),
    (
        "switch",
        "Switch",
        "Any switch or relay contact: for each position, the terminals it joins.",
        Group::Controls,
        &[("positions", "Contact table", "", "off: none\nlow: line to low\nhigh: line to high"), CONTACTS],
    ),
    (
        "thermostat",
        "Thermostat",
        "Opens when warm enough, closes again when cool.",
        Group::Controls,
        &[OPENS, CLOSES, CONTACT],
    ),
    (
        "thermal-cutout",
        "Thermal cutout",
        "Protects: heat opens it, cooling closes it again; an overload protector too.",
        Group::Controls,
        &[OPENS, CLOSES, CONTACT],
    ),
    (
        "manual-reset-cutout",
        "Manual-reset cutout",
        "Protects: heat opens it, and it stays open until its button is pressed.",
        Group::Controls,
        &[OPENS, CONTACT],
    ),
    (
        "overload-relay",
        "Overload relay",
        "Protects a motor: its current warms strips, which open a contact in the coil's circuit of its contactor.",
        Group::Controls,
        &[
            ("amps", "Set to", "A", "2.4"),
            ("poles", "Leads of the motor that pass through it", "", "3"),
            ("class", "Trip class", "", "10"),
            ("reset", "How it closes again: manual or self", "", "manual"),
        ],
    ),
    (
        "fuse",
        "Fuse",
        "Protects: cartridge fuse that blows on too much current.",
        Group::Controls,
        &[("amps", "Rated amps", "A", "5")],
    ),
    ("thermal-fuse", "Thermal fuse", "Protects: opens once, for good.", Group::Controls, &[OPENS, CARRIES]),
    (
        "indicator-lamp",
        "Indicator lamp",
        "Shows that something is live.",
        Group::Controls,
        &[
            ("volts", "Rated volts", "V", "230"),
            ("watts", "Rated watts", "W", "0.3"),
            ("light", "What lights: glow or filament, if known", "", "glow"),
        ],
    ),
    (
        "potential-relay",
        "Potential relay",
        "Takes a start capacitor out once the volts across the start winding have risen.",
        Group::Controls,
        &[
            ("pickup_volts", "Opens at", "V", "280"),
            ("dropout_volts", "Closes again at", "V", "100"),
            ("ohms", "Ohms of the coil, cold, if published", "ohm", "8k"),
            CONTACT,
            CLASS,
        ],
    ),
    (
        "current-relay",
        "Current relay",
        "Puts the start winding in while the run winding draws its starting current.",
        Group::Controls,
        &[("pickup_amps", "Closes at", "A", "9"), ("dropout_amps", "Opens again at", "A", "7.5"), CONTACT],
    ),
    (
        "ptc-starter",
        "PTC starter",
        "A disc that cuts the start winding off once its own current has heated it.",
        Group::Controls,
        &[("ohms", "Ohms at room temperature, if published", "ohm", "6")],
    ),
    (
        "half-wave-diode",
        "Half-wave diode",
        "A diode in series with a heater or a universal motor, for its low setting.",
        Group::Controls,
        &[("amps", "Rated amps", "A", "6")],
    ),
    (
        "inrush-limiter",
        "Inrush limiter",
        "A disc in series that holds back the first rush of current and warms until it hardly does.",
        Group::Controls,
        &[("ohms", "Ohms at room temperature, as marked", "ohm", "10")],
    ),
    (
        "relay",
        "Relay or contactor",
        "A coil, and the contacts that it moves.",
        Group::Controls,
        &[
            ("volts", "Rated volts of the coil", "V", "230"),
            ("ohms", "Ohms of the coil, cold, if published", "ohm", "3.5k"),
            CLASS,
            ("contacts", "Contacts, released and pulled in", "", "pulled-in: a to b\nreleased: a to c"),
            CONTACTS,
        ],
    ),
    (
        "sequencer",
        "Sequencer",
        "A small heater whose warmth closes a contact after a while, to bring stages on one after another.",
        Group::Controls,
        &[
            ("volts", "Rated volts of its heater", "V", "24"),
            ("watts", "Rated watts of its heater", "W", "20"),
            ("closes_after_seconds", "Closes after", "s", "30"),
            ("opens_after_seconds", "Opens after", "s", "45"),
            CONTACT,
        ],
    ),
    (
        "capacitor-run-motor",
        "Capacitor-run motor",
        "Induction motor with a start winding fed through a capacitor, which is a part of its own.",
        Group::Motors,
        CAPACITOR_MOTOR,
    ),
    (
        "shaded-pole-motor",
        "Shaded-pole motor",
        "Small induction motor without a capacitor.",
        Group::Motors,
        SHADED_POLE_MOTOR,
    ),
    (
        "universal-motor",
        "Universal motor",
        "Series motor with brushes and commutator; wire its field and its brushes in series.",
        Group::Motors,
        &[
            ("plate.volts", "Plate volts", "V", "230"),
            ("plate.hertz", "Plate frequency, if just one", "Hz", "50"),
            ("plate.amps", "Full-load current on the fastest tap", "A", "3.4"),
            ("plate.watts", "Input watts on the fastest tap", "W", "700"),
            ("plate.rpm", "Full-load speed of the shaft on the fastest tap", "rpm", "11k"),
            ("plate.field_ohms", "Ohms of the field, cold, if published", "ohm", "4.6"),
            ("plate.armature_ohms", "Ohms between the brushes, cold, if published", "ohm", "9.3"),
            PLATE_CLASS,
            ("field_coils", "Field coils with leads of their own", "", "1"),
            ("taps", "Field taps, fastest first", "", "high, low"),
            ("bars", "Bars of the commutator, counted", "", "24"),
        ],
    ),
    (
        "timer-motor",
        "Timer motor",
        "Small synchronous motor that turns the cams of a timer; its contacts are a switch.",
        Group::Motors,
        &[
            ("volts", "Rated volts", "V", "230"),
            ("hertz", "Rated frequency, if just one", "Hz", "50"),
            ("watts", "Rated watts", "W", "3"),
            ("ohms", "Ohms of the coil, cold, if published", "ohm", "2.2k"),
            CLASS,
        ],
    ),
    (
        "split-phase-motor",
        "Split-phase or capacitor-start motor",
        "Induction motor with a start winding and a centrifugal switch of its own; capacitors are parts of their own.",
        Group::Motors,
        SPLIT_PHASE_MOTOR,
    ),
    (
        "reversible-motor",
        "Reversible motor",
        "Two equal windings that share a capacitor; which one is fed decides the direction.",
        Group::Motors,
        REVERSIBLE_MOTOR,
    ),
    (
        "compressor",
        "Compressor",
        "Hermetic: common, run and start, with an overload inside; what starts it is a part of its own.",
        Group::Motors,
        COMPRESSOR,
    ),
    (
        "three-phase-motor",
        "Three-phase motor",
        "Induction motor with three alike phases.",
        Group::Motors,
        &[
            ("connection", "Connection: star, delta, six-lead or nine-lead", "", "star"),
            ("plate.volts", "Plate volts between lines", "V", "400"),
            ("plate.hertz", "Plate frequency", "Hz", "50"),
            ("plate.amps", "Full-load current in a line", "A", "1.1"),
            ("plate.rpm", "Full-load speed", "rpm", "1380"),
            ("plate.poles", "Poles", "", "4"),
            ("plate.watts", "Input watts", "W", "560"),
            ("plate.shaft_watts", "Watts at the shaft", "W", "370"),
            ("plate.power_factor", "Power factor", "1", "0.74"),
            PLATE_CLASS,
            IRON,
        ],
    ),
    (
        "transformer",
        "Transformer",
        "Windings on one iron core; a single tapped winding is an autotransformer.",
        Group::Coils,
        &[
            ("volt_amperes", "Rating", "VA", "50"),
            ("hertz", "Rated frequency, if just one", "Hz", "50"),
            (
                "windings",
                "Windings, each with its terminals and the volts between them",
                "",
                "primary: hot 230 neutral\nsecondary: a 12 centre 12 b",
            ),
            ("winding_ohms", "Ohms of windings from end to end, cold", "", "primary: 52\nsecondary: 0.8"),
            ("no_load_amps", "Amps at no load into the winding with the most volts", "A", "0.03"),
            ("thermal_link", "Winding that has a hidden thermal link", "", "primary"),
            CLASS,
        ],
    ),
    (
        "solenoid-valve",
        "Solenoid valve",
        "A coil for alternating current that opens or closes a valve.",
        Group::Coils,
        &[
            ("volts", "Rated volts", "V", "230"),
            ("hertz", "Rated frequency, if just one", "Hz", "50"),
            ("watts", "Rated watts", "W", "8"),
            ("amps", "Rated amps", "A", "0.06"),
            ("ohms", "Ohms of the coil, cold, if published", "ohm", "1.4k"),
            CLASS,
        ],
    ),
    (
        "heater",
        "Heater",
        "Heating element.",
        Group::Heating,
        &[("volts", "Rated volts", "V", "230"), ("watts", "Rated watts", "W", "1000")],
    ),
    (
        "run-capacitor",
        "Run capacitor",
        "Capacitor of a motor's start winding.",
        Group::Capacitors,
        &[("microfarads", "Marked microfarads", "µF", "3"), ("volts", "Marked volts", "V", "450"), MAX_CELSIUS],
    ),
    (
        "start-capacitor",
        "Start capacitor",
        "Electrolytic capacitor that is in circuit while a motor starts.",
        Group::Capacitors,
        &[
            ("microfarads", "Marked microfarads, the lower figure of a range", "µF", "80"),
            ("volts", "Marked volts", "V", "330"),
            MAX_CELSIUS,
            ("bleed_ohms", "Bleed resistor across it, if there is one", "ohm", "15k"),
        ],
    ),
    (
        "interference-filter",
        "Interference filter",
        "Capacitors across the supply and to earth, and a choke for what passes on to the unit.",
        Group::Capacitors,
        &[
            ("across_microfarads", "Capacitor across hot and neutral", "µF", "0.1"),
            ("earth_nanofarads", "Each capacitor to earth, if there are any", "nF", "2.2"),
            ("bleed_ohms", "Bleed resistor, if there is one", "ohm", "1M"),
        ],
    ),
    (
        "varistor",
        "Varistor",
        "Disc across the line that holds surges down.",
        Group::Controls,
        &[("volts", "Rated volts, alternating", "V", "275")],
    ),
    (
        "splice",
        "Splice or terminal block",
        "Crimp, wire nut or terminal block that joins several wires.",
        Group::Joints,
        &[("legs", "Names of its legs", "", "a, b, c")],
    ),
];
