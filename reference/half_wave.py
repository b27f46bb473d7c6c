"""Reference figures of half-wave diodes in series with loads, over time.

The crate `bench` puts a reactance in the place of a diode, in a solution that knows sine waves only. Here a period is
followed in time: networks of resistances by finding at every sample which diodes conduct, such that none conducts backward
and none blocks forward; a load of resistance and inductance by integrating its current with SciPy until periods are alike.
R.m.s. values, means and watts are sums over the last period.

    python reference/half_wave.py           writes crates/bench/tests/data/half_wave.json
    python reference/half_wave.py --check   says whether that file is still what this program computes
"""

import argparse
import itertools
import json
import pathlib
import sys

import numpy as np
from scipy.integrate import solve_ivp

TOLERANCE = 1e-6
SAMPLES = 4000
TARGET = pathlib.Path(__file__).resolve().parent.parent / "crates/bench/tests/data/half_wave.json"

# A supply with a source resistance feeds loads side by side. Of each: ohms, its diode (0 none, 1 or -1 by direction), and
# ohms that bridge the diode.
NETWORKS = [
    {"name": "one load", "volts": 230.0, "source_ohms": 1e-3, "loads": [[52.9, 1, None]]},
    {"name": "one load, soft supply", "volts": 230.0, "source_ohms": 6.0, "loads": [[26.45, 1, None]]},
    {"name": "beside a load without", "volts": 120.0, "source_ohms": 2.5, "loads": [[14.4, 1, None], [28.8, 0, None]]},
    {"name": "a leaky diode", "volts": 230.0, "source_ohms": 1.2, "loads": [[52.9, -1, 180.0], [105.8, 0, None]]},
    {"name": "two alike", "volts": 230.0, "source_ohms": 3.0, "loads": [[52.9, 1, None], [35.0, 1, None], [200.0, 0, None]]},
    {"name": "two opposed, stiff", "volts": 230.0, "source_ohms": 1e-3, "loads": [[52.9, 1, None], [35.0, -1, None]]},
    {"name": "two opposed, soft", "volts": 230.0, "source_ohms": 3.0, "loads": [[52.9, 1, None], [35.0, -1, None]]},
]

# Diode, resistance and inductance in series on a stiff supply, by reactance over resistance.
INDUCTIVE = [0.1, 0.2, 0.35, 0.5, 1.0, 2.0]


def instant(network, volts):
    """Terminal volts, load amps and load volts at an instant: the one set of conducting diodes that holds together."""
    loads = network["loads"]
    placed = [index for index, load in enumerate(loads) if load[1] != 0]
    for pattern in itertools.product([True, False], repeat=len(placed)):
        conducts = dict(zip(placed, pattern))
        # Siemens of each branch as it is now; a conducting diode has none of its own ohms.
        siemens = []
        for index, (ohms, direction, leak) in enumerate(loads):
            if direction == 0 or conducts[index]:
                siemens.append(1.0 / ohms)
            else:
                siemens.append(1.0 / (ohms + leak) if leak else 0.0)
        terminal = volts / (1.0 + network["source_ohms"] * sum(siemens))
        amps = [terminal * one for one in siemens]
        fits = True
        for index in placed:
            ohms, direction, leak = loads[index]
            across = terminal - amps[index] * ohms
            if conducts[index]:
                fits &= direction * amps[index] >= -1e-12
            else:
                fits &= direction * across <= 1e-12
        if fits:
            return terminal, amps
    raise RuntimeError("no state holds together")


def figures(values):
    values = np.asarray(values)
    rms, mean = np.sqrt(np.mean(values**2)), np.mean(values)
    return {"rms": float(rms), "direct": float(abs(mean)), "alternating": float(np.sqrt(rms**2 - mean**2))}


def network_figures(network):
    # Midpoints, so that no sample lies on a change of state; all is a piece of a sine between changes.
    angles = (np.arange(SAMPLES) + 0.5) * 2.0 * np.pi / SAMPLES
    terminal, amps = zip(*(instant(network, np.sqrt(2.0) * network["volts"] * np.sin(angle)) for angle in angles))
    terminal, amps = np.array(terminal), np.array(amps)
    ohms = np.array([load[0] for load in network["loads"]])
    return {
        **network,
        "terminal": figures(terminal),
        "neutral": figures(amps.sum(axis=1)),
        "amps": [figures(column) for column in amps.T],
        "diode_volts": [figures(terminal - column * one) for column, one in zip(amps.T, ohms)],
        "load_watts": [float(np.mean(column**2) * one) for column, one in zip(amps.T, ohms)],
        "terminal_watts": float(np.mean(terminal * amps.sum(axis=1))),
    }


def inductive_figures(ratio):
    """One volt r.m.s. on one ohm and `ratio` ohms of reactance behind a diode; time in radians."""

    def conducting(angle, current):
        return [(np.sqrt(2.0) * np.sin(angle) - current[0]) / ratio]

    def current_ends(_, current):
        return current[0]

    current_ends.terminal, current_ends.direction = True, -1
    # It begins with every positive half from nothing, as it has ended before the next.
    ending = solve_ivp(conducting, [1e-9, 2.0 * np.pi], [0.0], events=current_ends, rtol=1e-10, atol=1e-13, dense_output=True)
    angles = (np.arange(20 * SAMPLES) + 0.5) * 2.0 * np.pi / (20 * SAMPLES)
    current = np.where(angles < ending.t[-1], ending.sol(np.minimum(angles, ending.t[-1]))[0], 0.0)
    found = figures(current)
    return {"ratio": ratio, "ends_degrees": float(np.degrees(ending.t[-1])), "amps": found}


def computed():
    return {
        "networks": [network_figures(network) for network in NETWORKS],
        "inductive": [inductive_figures(ratio) for ratio in INDUCTIVE],
    }


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
        print(f"{TARGET.name}: {len(NETWORKS)} networks and {len(INDUCTIVE)} inductive loads agree")
        return
    TARGET.write_text(json.dumps(computed(), indent=1) + "\n")


if __name__ == "__main__":
    main()
