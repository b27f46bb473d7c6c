"""Reference figures of a single-phase motor whose iron saturates, by root-finding.

The crate `bench` solves a linear network again and again with the magnetising reactance that the last solution asks for.
Here the circuit of one main winding is written down by hand (Morrill, "The revolving-field theory of the capacitor motor",
AIEE Trans. 48, 1929): source and winding in series with half a rotor for each direction of turning, the core loss and
the insulation beside the winding. SciPy finds the speed at which torque and load agree, within a root-finding for the reactance that agrees with
the curve.

    python reference/saturation.py           writes crates/bench/tests/data/saturation.json
    python reference/saturation.py --check   says whether that file is still what this program computes
"""

import argparse
import json
import pathlib
import sys

import numpy as np
from scipy.optimize import brentq

TOLERANCE = 1e-8
TARGET = pathlib.Path(__file__).resolve().parent.parent / "crates/bench/tests/data/saturation.json"

# A fan motor of 230 V, 50 Hz, four poles, its rated speed 1380 rpm; values invented. The volts of the air gap at the plate
# follow from the plate by the rules of the crate and are given here, so that both take the curve from the same point.
MOTOR = {
    "main_ohms": 24.0, "leakage": 21.0, "magnetising": 330.0, "rotor_ohms": 26.0, "core_loss": 3900.0, "source_ohms": 0.8,
    "load_torque": 0.06, "friction_torque": 0.015, "rated_ratio": 1380.0 / 1500.0, "synchronous": 2.0 * np.pi * 50.0 / 2.0,
    "rated_gap_volts": 187.6380561760259, "exponent": 6,
    # From either end of the winding to a frame that nothing earths, so that they are in series.
    "insulation_ohms": 4.0 * 100e6, "insulation_farads": 1.5e-9 / 4.0, "hertz": 50.0,
}
VOLTS = [170.0, 200.0, 230.0, 253.0, 276.0]
SHARES = [0.1, 0.25, 0.5]


def at(volts, ratio, magnetising):
    """Line amps, input watts, torque and air-gap volts at a speed."""
    m = MOTOR

    def half(slip):
        return 0.5 / (1.0 / (1j * magnetising) + 1.0 / (m["rotor_ohms"] / slip + 1j * m["leakage"]))

    forward, backward = half(1.0 - ratio), half(1.0 + ratio)
    winding = m["main_ohms"] + 1j * m["leakage"] + forward + backward
    insulation = 1.0 / m["insulation_ohms"] + 2j * np.pi * m["hertz"] * m["insulation_farads"]
    line = volts / (m["source_ohms"] + 1.0 / (1.0 / winding + 1.0 / m["core_loss"] + insulation))
    current = (volts - m["source_ohms"] * line) / winding
    torque = abs(current) ** 2 * (forward.real - backward.real) / m["synchronous"]
    gap = abs(current * forward) + abs(current * backward)
    return abs(line), (volts - m["source_ohms"] * line) * np.conj(line), torque, gap


def settled(volts, magnetising):
    m = MOTOR

    def net(ratio):
        load = m["load_torque"] * (ratio / m["rated_ratio"]) ** 2 + m["friction_torque"]
        return at(volts, ratio, magnetising)[2] - load

    # The stable crossing is the last below synchronous speed.
    ratios = np.linspace(0.99999, 0.5, 2000)
    values = [net(ratio) for ratio in ratios]
    found = next(i for i in range(1, len(ratios)) if values[i] > 0.0 >= values[i - 1])
    return brentq(net, ratios[found], ratios[found - 1], xtol=1e-14)


def solved(volts, share):
    m = MOTOR

    def miss(factor):
        magnetising = m["magnetising"] * factor
        gap = at(volts, settled(volts, magnetising), magnetising)[3]
        return factor - (1.0 + share) / (1.0 + share * (gap / m["rated_gap_volts"]) ** m["exponent"])

    factor = brentq(miss, 0.3, 1.6, xtol=1e-13)
    magnetising = m["magnetising"] * factor
    ratio = settled(volts, magnetising)
    amps, power, _, gap = at(volts, ratio, magnetising)
    linear = settled(volts, m["magnetising"])
    return {
        "volts": volts, "share": share, "factor": factor, "ratio": ratio, "amps": float(amps), "watts": float(power.real),
        "gap_volts": float(gap), "linear_amps": float(at(volts, linear, m["magnetising"])[0]),
    }


def computed():
    return {"motor": MOTOR, "cases": [solved(volts, share) for volts in VOLTS for share in SHARES]}


def close(a, b):
    if isinstance(a, dict):
        return isinstance(b, dict) and a.keys() == b.keys() and all(close(a[key], b[key]) for key in a)
    if isinstance(a, list):
        return isinstance(b, list) and len(a) == len(b) and all(map(close, a, b))
    if isinstance(a, float) and isinstance(b, (int, float)):
        return abs(a - b) <= TOLERANCE * max(abs(a), abs(b), 1e-6)
    return a == b


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--check", action="store_true", help="compare with the stored file instead of writing it")
    if parser.parse_args().check:
        if not close(computed(), json.loads(TARGET.read_text())):
            sys.exit(f"{TARGET} is not what this program computes")
        print(f"{TARGET.name}: {len(VOLTS) * len(SHARES)} cases agree")
        return
    TARGET.write_text(json.dumps(computed(), indent=1) + "\n")


if __name__ == "__main__":
    main()
