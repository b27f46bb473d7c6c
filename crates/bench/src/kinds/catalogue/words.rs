//! The words of the catalogue: titles, labels, units and examples of every kind.

use super::Group;

/// Words for a field: name, label, unit, example.
pub(super) type FieldWords = (&'static str, &'static str, &'static str, &'static str);

/// Words for a kind: name, title, what it is, group, fields.
pub(super) type KindWords = (&'static str, &'static str, &'static str, Group, &'static [FieldWords]);

const MAKE: FieldWords = ("make", "Same make as its sister parts", "", "left and right alike");
const OPENS: FieldWords = ("opens_celsius", "Opens at", "°C", "110");
const TAPS: FieldWords = ("taps", "Speed taps, fastest first", "", "high, medium, low");

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
    TAPS,
    MAKE,
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
    ("taps", "Speed taps, fastest first", "", "high, low"),
    MAKE,
];

/// The one list of words, in the order of a list for people.
pub(super) const WORDS: [KindWords; 19] = [
    (
        "supply",
        "Supply",
        "The outlet or feed ahead of the unit; every job has exactly one.",
        Group::SupplyAndCord,
        &[
            ("volts", "Volts between hot and neutral", "V", "230"),
            ("hertz", "Frequency", "Hz", "50"),
            ("breaker_amps", "Breaker or fuse ahead", "A", "16"),
            ("source_ohms", "Resistance of the supply loop", "ohm", "0.4"),
            MAKE,
        ],
    ),
    (
        "cord",
        "Cord with plug",
        "Plugs into the supply by itself; wires start at its ends in the unit.",
        Group::SupplyAndCord,
        &[
            ("metres", "Length", "m", "2"),
            ("square_millimetres", "Conductor size", "mm²", "0.75"),
            ("gauge", "Conductor size as wire gauge; counts if both are given", "AWG", "18"),
            MAKE,
        ],
    ),
    (
        "switch",
        "Switch",
        "Any switch or relay contact: for each position, the terminals it joins.",
        Group::Controls,
        &[("positions", "Contact table", "", "off: none\nlow: line to low\nhigh: line to high"), MAKE],
    ),
    ("thermostat", "Thermostat", "Opens when warm enough, closes again when cool.", Group::Controls, &[OPENS, MAKE]),
    (
        "thermal-cutout",
        "Thermal cutout",
        "Protects: heat opens it, cooling closes it again; an overload protector too.",
        Group::Controls,
        &[OPENS, MAKE],
    ),
    (
        "manual-reset-cutout",
        "Manual-reset cutout",
        "Protects: heat opens it, and it stays open until its button is pressed.",
        Group::Controls,
        &[OPENS, MAKE],
    ),
    (
        "fuse",
        "Fuse",
        "Protects: cartridge fuse that blows on too much current.",
        Group::Controls,
        &[("amps", "Rated amps", "A", "5"), MAKE],
    ),
    ("thermal-fuse", "Thermal fuse", "Protects: opens once, for good.", Group::Controls, &[OPENS, MAKE]),
    (
        "indicator-lamp",
        "Indicator lamp",
        "Shows that something is live.",
        Group::Controls,
        &[("volts", "Rated volts", "V", "230"), ("watts", "Rated watts", "W", "0.3"), MAKE],
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
            ("field_coils", "Field coils with leads of their own", "", "1"),
            ("taps", "Field taps, fastest first", "", "high, low"),
            ("bars", "Bars of the commutator, counted", "", "24"),
            MAKE,
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
            MAKE,
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
            MAKE,
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
            MAKE,
        ],
    ),
    (
        "heater",
        "Heater",
        "Heating element.",
        Group::Heating,
        &[("volts", "Rated volts", "V", "230"), ("watts", "Rated watts", "W", "1000"), MAKE],
    ),
    (
        "run-capacitor",
        "Run capacitor",
        "Capacitor of a motor's start winding.",
        Group::Capacitors,
        &[("microfarads", "Marked microfarads", "µF", "3"), ("volts", "Marked volts", "V", "450"), MAKE],
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
            MAKE,
        ],
    ),
    (
        "splice",
        "Splice or terminal block",
        "Crimp, wire nut or terminal block that joins several wires.",
        Group::Joints,
        &[("legs", "Names of its legs", "", "a, b, c"), MAKE],
    ),
];
