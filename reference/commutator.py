"""Reference figures of series commutator motors, by loop equations and by sampling a period.

The crate `machine` follows the ampere-turns of the field through a network of nets and eliminated fields, and takes
torque from phasors. Here the loops of one motor on one supply are written down by hand and solved with NumPy, torque is
the mean of current times flux over samples of a period, and SciPy finds the first speed from rest at which it falls to
the load. Resistances of the armature ring come from the pseudoinverse of the Laplacian of all its coils.

    python reference/commutator.py           writes crates/machine/tests/data/commutator.json
    python reference/commutator.py --check   says whether that file is still what this program computes
"""

import argparse
import json
import pathlib
import sys

import numpy as np
from scipy.optimize import brentq

SEED = 3177
MOTORS = 24
SAMPLES = 64
TOLERANCE = 1e-9
TARGET = pathlib.Path(__file__).resolve().parent.parent / "crates/machine/tests/data/commutator.json"


def tidy(value, digits=6):
    return float(f"{value:.{digits}g}")


def random_motor(random, index):
    volts = float(random.choice([24.0, 120.0, 230.0]))
    size = volts / random.uniform(0.5, 12.0)
    share = lambda low, high: tidy(size * random.uniform(low, high))
    motor = {
        "volts": volts, "source_ohms": share(0.0, 0.03), "field_ohms": share(0.03, 0.12), "field_leakage_ohms": share(0.01, 0.05),
        "magnetising_ohms": share(0.05, 0.3), "speed_ohms": share(0.4, 0.8), "reference_rpm": tidy(random.uniform(3e3, 3e4), 4),
        # Both paths through the armature, unlike each other on purpose.
        "paths": [[share(0.15, 0.35), share(0.1, 0.5), tidy(random.uniform(0.9, 1.0))] for _ in range(2)],
        "shorted_share": tidy(random.uniform(0.02, 0.3)) if index % 3 == 1 else 0.0,
        "shorted_ohms": share(0.01, 0.1) if index % 3 == 2 else 0.0,
    }
    if index % 4 == 3:
        motor["paths"] = motor["paths"][:1]
    torque = motor["speed_ohms"] * (volts / size) ** 2 / speed(motor, 1.0)
    # From a heavy load through a light one to next to none, which lets the motor run away.
    motor["fan_torque"] = tidy(torque * [0.9, 0.4, 0.05][index % 3])
    motor["friction_torque"] = tidy(torque * random.uniform(0.02, 0.1))
    return motor


def speed(motor, ratio):
    return ratio * motor["reference_rpm"] * np.pi / 30.0


def currents(motor, ratio):
    """Line current, path currents, field ampere-turns; the loops solved as one dense system."""
    turns, shorted = 1.0 - motor["shorted_share"], motor["shorted_share"]
    paths = motor["paths"]
    count = 1 + len(paths) + 1
    rows, right = [], []
    iron = np.zeros(count, complex)
    iron[0], iron[-1] = turns, shorted
    for resistance, reactance, part in paths:
        # Round the supply, the field and this path.
        row = 1j * motor["magnetising_ohms"] * turns * iron + part * motor["speed_ohms"] * ratio * iron
        row[0] += motor["source_ohms"] + turns * motor["field_ohms"] + 1j * turns**2 * motor["field_leakage_ohms"]
        row[1 + len(rows)] += resistance + 1j * reactance
        rows.append(row)
        right.append(motor["volts"])
    node = np.zeros(count, complex)
    node[0], node[1:-1] = 1.0, -1.0
    loop = 1j * motor["magnetising_ohms"] * shorted * iron
    loop[-1] += (shorted * motor["field_ohms"] + 1j * shorted**2 * motor["field_leakage_ohms"]) if shorted else 1.0
    solved = np.linalg.solve(np.array([*rows, node, loop]), np.array([*right, 0.0, 0.0], complex))
    return solved, iron @ solved


def torque(motor, ratio):
    """Mean over a period of what the currents at each moment make."""
    solved, ampere_turns = currents(motor, ratio)
    turn = np.exp(2j * np.pi * np.arange(SAMPLES) / SAMPLES)
    field = np.sqrt(2.0) * (ampere_turns * turn).real
    armature = sum(part * np.sqrt(2.0) * (current * turn).real
                   for (_, _, part), current in zip(motor["paths"], solved[1:-1]))
    watts = np.mean(motor["speed_ohms"] * armature * field - motor["shorted_ohms"] * ratio * field**2)
    return watts / speed(motor, 1.0)


def settle(motor):
    def net(ratio):
        return torque(motor, ratio) - motor["fan_torque"] * ratio**2 - motor["friction_torque"]

    if net(0.0) <= 0.0:
        return 0.0
    high = 0.01
    while net(high) > 0.0:
        high += 0.01
    return brentq(net, high - 0.01, high, xtol=1e-14, rtol=1e-14)


def motor_figures(motor):
    ratio = settle(motor)
    solved, _ = currents(motor, ratio)
    line = solved[0]
    standing, _ = currents(motor, 0.0)
    return {
        "ratio": tidy(ratio, 13), "amps": tidy(abs(line), 13), "watts": tidy(motor["volts"] * line.real, 13),
        "torque": tidy(torque(motor, ratio), 13), "standstill_torque": tidy(torque(motor, 0.0), 13),
        "standstill_amps": tidy(abs(standing[0]), 13),
    }


def ring_ohms(bars, coil, open_coils, shorted_coils, ends):
    """Ohms between two bars of a ring of coils, each from one bar to the next."""
    laplacian = np.zeros((bars, bars))
    for k in range(bars):
        if k in open_coils:
            continue
        conductance = 1.0 / (1e-9 if k in shorted_coils else coil)
        a, b = k, (k + 1) % bars
        laplacian[a, a] += conductance
        laplacian[b, b] += conductance
        laplacian[a, b] -= conductance
        laplacian[b, a] -= conductance
    injected = np.zeros(bars)
    injected[ends[0]], injected[ends[1]] = 1.0, -1.0
    # One bar is grounded; the rest is a plain solution.
    keep = [k for k in range(bars) if k != ends[1]]
    potentials = np.linalg.solve(laplacian[np.ix_(keep, keep)], injected[keep])
    return potentials[keep.index(ends[0])]


def rings():
    cases = []
    for bars, coil in [(12, 0.5), (22, 0.31), (24, 1.7)]:
        half = bars // 2
        for name, opened, shorted in [("sound", [], []), ("open", [3], []), ("shorted", [], [3])]:
            cases.append({
                "bars": bars, "coil_ohms": coil, "state": name,
                "between_brushes": tidy(ring_ohms(bars, coil, opened, shorted, (0, half)), 9),
                "bad_bars": tidy(ring_ohms(bars, coil, opened, shorted, (3, 4)), 9) if name != "shorted" else 0.0,
                "good_bars": tidy(ring_ohms(bars, coil, opened, shorted, (half + 1, half + 2)), 9),
            })
    return cases


def generate():
    random = np.random.default_rng(SEED)
    motors = []
    for index in range(MOTORS):
        motor = random_motor(random, index)
        motors.append({**motor, **motor_figures(motor)})
    return {"seed": SEED, "motors": motors, "rings": rings()}


def difference(stored, fresh, place="file"):
    """The first place at which two trees differ by more than the tolerance, or None."""
    if isinstance(stored, list) and isinstance(fresh, list) and len(stored) == len(fresh):
        parts = [(a, b, f"{place}[{i}]") for i, (a, b) in enumerate(zip(stored, fresh))]
    elif isinstance(stored, dict) and isinstance(fresh, dict) and stored.keys() == fresh.keys():
        parts = [(stored[key], fresh[key], f"{place}.{key}") for key in stored]
    elif isinstance(stored, (int, float)) and isinstance(fresh, (int, float)):
        same = abs(stored - fresh) <= TOLERANCE * max(abs(stored), abs(fresh))
        return None if same else f"{place}: stored {stored}, computed {fresh}"
    else:
        return None if stored == fresh else f"{place}: stored {stored}, computed {fresh}"
    return next((found for found in (difference(*part) for part in parts) if found), None)


def as_text(data):
    """JSON with one motor or ring per line, so that a change shows which one changed."""
    lists = ",\n".join(
        f'"{name}": [\n' + ",\n".join(json.dumps(entry, separators=(",", ":")) for entry in data[name]) + "\n]"
        for name in ("motors", "rings"))
    return f'{{"seed": {data["seed"]},\n{lists}}}\n'


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--check", action="store_true", help="compare with the stored file instead of writing it")
    if not parser.parse_args().check:
        TARGET.parent.mkdir(parents=True, exist_ok=True)
        TARGET.write_text(as_text(generate()), encoding="utf-8")
        print(f"wrote {TARGET}")
        return 0
    try:
        stored = json.loads(TARGET.read_text(encoding="utf-8"))
    except (OSError, ValueError) as error:
        print(f"cannot read the stored figures: {error}", file=sys.stderr)
        return 1
    found = difference(stored, generate())
    if found:
        print(f"the stored figures are not what this program computes; {found}", file=sys.stderr)
        return 1
    print("the stored figures of commutator motors agree with this program")
    return 0


if __name__ == "__main__":
    sys.exit(main())
