"""Reference solutions of whole units, laid out by the crate `bench`, as one dense system each.

The crates make windings share fields, leave out the currents of ordinary branches, and eliminate the fields last. Here
the unknowns are the currents of all branches and the potentials of all nets, windings are coupled by a full matrix of
mutual impedances, and a rotor is R2/s + jX2 beside jXm, half of it for each direction of turning (Morrill, "The
revolving-field theory of the capacitor motor", AIEE Trans. 48, 1929); an armature with commutator has a voltage in phase
with the field and in proportion to field and speed. One dense system is solved per unit and refined with residuals in
extended precision, since stray capacitances stand beside milliohms.

    python reference/units.py           reads crates/bench/tests/data/units.json, writes units_solved.json beside it
    python reference/units.py --check   says whether that file is still what this program computes
"""

import argparse
import json
import pathlib
import sys

import numpy as np

TOLERANCE = 1e-9
FOLDER = pathlib.Path(__file__).resolve().parent.parent / "crates/bench/tests/data"
UNITS, SOLVED = FOLDER / "units.json", FOLDER / "units_solved.json"


def half_rotor(machine, slip):
    """One field of a rotor; at its own synchronous speed the cage is an open branch."""
    magnetising = 1j * machine["magnetising"]
    if slip == 0.0:
        return 0.5 * magnetising
    return 0.5 / (1.0 / magnetising + 1.0 / (machine["resistance"] / slip + 1j * machine["leakage"]))


def field_impedances(unit):
    impedances = np.zeros(unit["fields"], complex)
    for machine in unit["machines"]:
        if "forward" in machine:
            impedances[machine["forward"]] = half_rotor(machine, 1.0 - machine["ratio"])
            impedances[machine["backward"]] = half_rotor(machine, 1.0 + machine["ratio"])
        else:
            impedances[machine["excitation"]] = machine["speed_ohms"] * machine["ratio"]
    for field, magnetising in unit["cores"]:
        impedances[field] = 1j * magnetising
    return impedances


def winding_rows(unit):
    """What one ampere in each branch puts on each field, and what one volt of each field puts on each branch."""
    driving = np.zeros((unit["fields"], len(unit["branches"])), complex)
    felt = np.zeros_like(driving)
    for branch, field, turns, angle, coupling in unit["links"]:
        if coupling != "feels":
            driving[field, branch] += turns * np.exp(1j * angle)
        if coupling != "drives":
            felt[field, branch] += turns * np.exp(-1j * angle)
    return driving, felt


def torque(machine, drives, impedances):
    """Torque, and what its terms come to without regard to sign and phase, which is the size of its rounding."""
    if "forward" in machine:
        ways = (machine["forward"], machine["backward"])
        forward, backward = (abs(drives[way]) ** 2 * impedances[way].real for way in ways)
        size = forward + backward
    else:
        # The armature's current in the field, less the drag of shorted armature coils.
        field, armature = drives[machine["excitation"]], drives[machine["armature"]]
        forward = machine["speed_ohms"] * (np.conj(armature) * field).real
        backward = machine["shorted_ohms"] * machine["ratio"] * abs(field) ** 2
        size = machine["speed_ohms"] * abs(armature) * abs(field) + abs(backward)
    speed = machine["reference_speed"]
    return [(forward - backward) / speed, size / speed]


def solve(unit):
    branches, nets = np.array(unit["branches"], float), unit["nets"]
    count = len(branches)
    incidence = np.zeros((nets, count))
    for column, (start, end) in enumerate(branches[:, :2].astype(int)):
        incidence[start, column] += 1.0
        incidence[end, column] -= 1.0
    incidence = incidence[1:]
    impedances, (driving, felt) = field_impedances(unit), winding_rows(unit)
    matrix = np.diag(branches[:, 2] + 1j * branches[:, 3]) + felt.T @ np.diag(impedances) @ driving
    system = np.block([[matrix, -incidence.T], [incidence, np.zeros((nets - 1, nets - 1))]])
    right = np.concatenate([branches[:, 4] + 1j * branches[:, 5], np.zeros(nets - 1)])
    # Rows and columns are brought to one size, ohms and volts to amperes.
    size = np.abs(system).max(axis=1)
    system, right = system / size[:, None], right / size
    unknowns = np.zeros(len(right), np.clongdouble)
    exact = system.astype(np.clongdouble)
    for _ in range(6):
        unknowns += np.linalg.solve(system, (right - exact @ unknowns).astype(complex))
    unknowns = unknowns.astype(complex)
    currents, potentials = unknowns[:count], np.concatenate([[0.0], unknowns[count:]])
    drives = driving @ currents
    torques = [torque(machine, drives, impedances) for machine in unit["machines"]]
    return {"potentials": as_pairs(potentials), "currents": as_pairs(currents), "torques": torques}


def as_pairs(phasors):
    """Of numbers below a millionth of the largest only the first digits count."""
    largest = np.abs(phasors).max()
    return [[tidy(phasor.real, largest), tidy(phasor.imag, largest)] for phasor in phasors]


def tidy(value, largest):
    digits = 13 + int(np.floor(np.log10(max(abs(value), 1e-12 * largest, 1e-300) / largest)))
    return float(f"{value:.{max(digits, 2)}g}")


def largest_difference(stored, fresh):
    """Of two lists of lists of numbers, as a share of the largest number; None if their shapes differ."""
    stored, fresh = np.array(stored, float), np.array(fresh, float)
    if stored.shape != fresh.shape:
        return None
    return float(np.abs(stored - fresh).max(initial=0.0) / max(np.abs(fresh).max(initial=0.0), 1e-12))


def check(stored, fresh):
    if len(stored) != len(fresh):
        return "another number of units"
    for index, (old, new) in enumerate(zip(stored, fresh)):
        for name in new:
            off = largest_difference(old.get(name, []), new[name])
            if off is None or off > TOLERANCE:
                return f"unit {index}: {name} differ by {off}"
    return None


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--check", action="store_true", help="compare with the stored solutions instead of writing them")
    arguments = parser.parse_args()
    try:
        fresh = [solve(unit) for unit in json.loads(UNITS.read_text(encoding="utf-8"))]
        stored = json.loads(SOLVED.read_text(encoding="utf-8")) if arguments.check else None
    except (OSError, ValueError) as error:
        print(f"cannot read the stored units: {error}", file=sys.stderr)
        return 1
    if not arguments.check:
        lines = ",\n".join(json.dumps(unit, separators=(",", ":")) for unit in fresh)
        SOLVED.write_text(f"[\n{lines}\n]\n", encoding="utf-8")
        print(f"wrote {SOLVED}")
        return 0
    found = check(stored, fresh)
    if found:
        print(f"the stored solutions are not what this program computes; {found}", file=sys.stderr)
        return 1
    print("the stored solutions of whole units agree with this program")
    return 0


if __name__ == "__main__":
    sys.exit(main())
