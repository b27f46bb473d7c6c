"""Touch and leakage currents of a few units, in exact arithmetic.

Each unit is written down here net by net, as a drawing would show it, and solved by nodal analysis with rational numbers
(fractions of whole numbers, real and imaginary), so that ten milliohms and ten gigohms meet without rounding. Nothing of the
Rust crates is used; only what the program says it assumes is repeated: half of a part's insulation and capacitance to the
frame sits at each of its ends, every net but earth has 60 pF to earth and to the hot conductor, a capacitor of a filter
loses 0.001 of what it carries, and a person is 2 kohm.

    python reference/leakage.py           writes crates/bench/tests/data/leakage.json
    python reference/leakage.py --check   says whether that file is still what this program computes
"""

import argparse
import json
import math
import pathlib
import sys
from fractions import Fraction

TARGET = pathlib.Path(__file__).resolve().parent.parent / "crates/bench/tests/data/leakage.json"
STRAY_FARADS = 60e-12
BODY_OHMS = 2000
LOSS_FACTOR = 0.001


class Exact:
    """A complex number with rational parts."""

    def __init__(self, re, im=0):
        self.re, self.im = Fraction(re), Fraction(im)

    def __add__(self, other):
        return Exact(self.re + other.re, self.im + other.im)

    def __sub__(self, other):
        return Exact(self.re - other.re, self.im - other.im)

    def __mul__(self, other):
        return Exact(self.re * other.re - self.im * other.im, self.re * other.im + self.im * other.re)

    def inverse(self):
        square = self.re * self.re + self.im * self.im
        return Exact(self.re / square, -self.im / square)

    def is_zero(self):
        return self.re == 0 and self.im == 0

    def size(self):
        return math.sqrt(float(self.re * self.re + self.im * self.im))


ZERO = Exact(0)


class Circuit:
    """Nets by name, `earth` at zero volts."""

    def __init__(self, hertz):
        self.hertz = hertz
        self.numbers = {}
        self.branches = []

    def net(self, name):
        if name != "earth":
            self.numbers.setdefault(name, len(self.numbers))
        return name

    def branch(self, a, b, impedance, volts=ZERO):
        """`volts` raise the potential from a to b."""
        self.branches.append((self.net(a), self.net(b), impedance.inverse(), volts))
        return len(self.branches) - 1

    def resistor(self, a, b, ohms, volts=0.0):
        return self.branch(a, b, Exact(ohms), Exact(volts))

    def capacitor(self, a, b, farads, loss_factor=0.0):
        reactance = 1.0 / (2.0 * math.pi * self.hertz * farads)
        return self.branch(a, b, Exact(loss_factor * reactance, -reactance))

    def strays(self, hot):
        for net in list(self.numbers):
            for other in {"earth", hot} - {net}:
                self.capacitor(net, other, STRAY_FARADS)

    def solve(self):
        size = len(self.numbers)
        rows = [[ZERO] * (size + 1) for _ in range(size)]
        for a, b, admittance, volts in self.branches:
            for one, other, sign in ((a, b, -1), (b, a, 1)):
                if one == "earth":
                    continue
                row = rows[self.numbers[one]]
                row[self.numbers[one]] += admittance
                if other != "earth":
                    row[self.numbers[other]] -= admittance
                row[size] += Exact(sign) * admittance * volts
        for k in range(size):
            pivot = next(row for row in range(k, size) if not rows[row][k].is_zero())
            rows[k], rows[pivot] = rows[pivot], rows[k]
            inverse = rows[k][k].inverse()
            rows[k] = [value * inverse for value in rows[k]]
            for other in range(size):
                factor = rows[other][k]
                if other != k and not factor.is_zero():
                    rows[other] = [x - factor * y for x, y in zip(rows[other], rows[k])]
        self.potentials = {name: rows[number][size] for name, number in self.numbers.items()} | {"earth": ZERO}
        return self

    def current(self, index):
        a, b, admittance, volts = self.branches[index]
        return (self.potentials[a] - self.potentials[b] + volts) * admittance


def unit(case, touched):
    """The circuit of a unit: supply, cord, perhaps a filter, a heater across the first and the last conductor."""
    two_leg = case["supply"] == "two-leg-supply"
    circuit = Circuit(case["hertz"])
    live = ["leg-1", "leg-2", "neutral"] if two_leg else ["hot", "neutral"]
    emf = {"hot": case["volts"], "leg-1": case["volts"] / 2, "leg-2": -case["volts"] / 2, "neutral": 0.0}
    sources, cord = [], []
    for name in live:
        sources.append(circuit.resistor("earth", f"outlet {name}", case["source_ohms"], emf[name]))
        cord.append(circuit.resistor(f"outlet {name}", name, case["cord_ohms"]))
    if not case["earth_open"]:
        circuit.resistor("earth", "frame", case["cord_ohms"])
    ends = (live[0], live[1])
    if case["earth_nanofarads"]:
        circuit.capacitor(*ends, case["across_microfarads"] * 1e-6, LOSS_FACTOR)
        for end in ends:
            circuit.capacitor(end, "frame", case["earth_nanofarads"] * 1e-9, LOSS_FACTOR)
    circuit.resistor(*ends, case["heater_ohms"])
    for end in ends:
        circuit.resistor(end, "frame", 2 * case["insulation_ohms"])
        circuit.capacitor(end, "frame", case["insulation_farads"] / 2)
    circuit.strays(f"outlet {live[0]}")
    if touched:
        circuit.resistor("frame", "earth", BODY_OHMS)
    return circuit.solve(), sources, cord


def total(circuit, branches):
    found = ZERO
    for index in branches:
        found += circuit.current(index)
    return found.size()


def solved(case):
    circuit, sources, cord = unit(case, False)
    touched, _, _ = unit(case, True)
    return case | {
        "frame_volts": circuit.potentials["frame"].size(),
        "touch_milliamps": 1e3 * touched.potentials["frame"].size() / BODY_OHMS,
        "supply_leakage_milliamps": 1e3 * total(circuit, sources),
        "cord_leakage_milliamps": 1e3 * total(circuit, cord),
    }


def generate():
    base = {
        "supply": "supply", "volts": 230.0, "hertz": 50.0, "source_ohms": 0.2, "cord_ohms": 0.05,
        "earth_open": False, "earth_nanofarads": 0.0, "across_microfarads": 0.0,
        "heater_watts": 2000.0, "heater_ohms": 26.45, "insulation_ohms": 50e6, "insulation_farads": 1e-9,
    }
    legs = {"supply": "two-leg-supply", "volts": 240.0, "hertz": 60.0, "heater_ohms": 28.8}
    cases = [
        base,
        base | {"earth_open": True},
        base | {"insulation_ohms": 5e3},
        base | {"insulation_ohms": 5e3, "earth_open": True},
        base | {"insulation_ohms": 10e9, "cord_ohms": 0.01},
        base | {"insulation_ohms": 10e9, "cord_ohms": 0.01, "earth_open": True},
        base | {"earth_nanofarads": 4.7, "across_microfarads": 0.1},
        base | {"earth_nanofarads": 4.7, "across_microfarads": 0.1, "earth_open": True},
        base | legs,
        base | legs | {"insulation_ohms": 20e3},
        base | legs | {"insulation_ohms": 20e3, "earth_open": True},
    ]
    return [solved(case) for case in cases]


def differs(a, b):
    if isinstance(a, float) and isinstance(b, float):
        return abs(a - b) > 1e-12 * max(abs(a), abs(b))
    return a != b


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--check", action="store_true", help="compare with the stored file instead of writing it")
    fresh = generate()
    if not parser.parse_args().check:
        lines = ",\n".join(json.dumps(case) for case in fresh)
        TARGET.write_text(f"[\n{lines}\n]\n", encoding="utf-8")
        print(f"wrote {TARGET}")
        return 0
    try:
        stored = json.loads(TARGET.read_text(encoding="utf-8"))
    except (OSError, ValueError) as error:
        print(f"cannot read the stored units: {error}", file=sys.stderr)
        return 1
    same = len(stored) == len(fresh) and all(
        a.keys() == b.keys() and not any(differs(a[key], b[key]) for key in a) for a, b in zip(stored, fresh))
    if not same:
        print("the stored units are not what this program computes", file=sys.stderr)
        return 1
    print("the stored units agree with this program")
    return 0


if __name__ == "__main__":
    sys.exit(main())
