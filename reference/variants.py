"""Reference values for variants of random networks: branches opened, shorted or changed, one or two at once.

The crate `circuit` compiles a network once and updates its solution by a low-rank formula. Here every variant is solved
from the start, as one sparse tableau of branch voltages, branch currents and potentials (Hachtel, Brayton and Gustavson,
IEEE Trans. Circuit Theory 18, 1971) with windings coupled by mutual impedances, by Gaussian elimination in NumPy's
extended precision (64 bits of mantissa on x86-64), so that networks of 1e9 ohm beside 1e-9 ohm keep their digits.
Whether a variant has a solution at all is decided by paths, not by numbers.

    python reference/variants.py           writes crates/circuit/tests/data/variants.json
    python reference/variants.py --check   says whether that file is still what this program computes
"""

import argparse
import json
import pathlib
import sys

import numpy as np

SEED = 81
NETWORKS = 1000
TOLERANCE = 1e-12
TARGET = pathlib.Path(__file__).resolve().parent.parent / "crates/circuit/tests/data/variants.json"
OPEN = None


def tidy(value, digits=14):
    return float(f"{float(value):.{digits}g}")


def log_uniform(random, low, high):
    return tidy(10.0 ** random.uniform(np.log10(low), np.log10(high)), 4)


def random_impedance(random, is_direct):
    """Contacts, loads, coils, capacitors and insulation."""
    kind = random.random()
    if kind < 0.25:
        return [log_uniform(random, 1e-3, 0.1), 0.0]
    if kind < 0.45:
        return [log_uniform(random, 1e5, 1e9), 0.0]
    resistance = log_uniform(random, 0.5, 2e3)
    if kind < 0.7 or (is_direct and kind < 0.9):
        return [resistance, 0.0]
    return [resistance, tidy(resistance * random.uniform(-2.0, 2.0), 4)]


def random_network(random, index):
    """Branches as [from, to, resistance, reactance, source, turns, axis]; every third network is at 0 Hz."""
    is_direct = index % 3 == 2
    nets = int(random.integers(3, 10))
    ends = [(int(random.integers(net)), net) for net in range(1, nets)]
    while len(ends) < nets + int(random.integers(1, 7)):
        ends.append(tuple(int(net) for net in random.choice(nets, size=2, replace=False)))
    if index % 10 == 0:
        # Insulation in series with contacts, as between a winding and the frame.
        ends += [(0, nets), (nets, nets + 1), (nets + 1, 1)]
        nets += 2
    branches = [[a, b, *random_impedance(random, is_direct), 0.0, 0.0, 0.0] for a, b in ends]
    if index % 10 == 0:
        for branch, ohms in zip(branches[-3:], (1e9, 1e-3, 1e9 if index % 20 else 1e-3)):
            branch[2:4] = [ohms, 0.0]
    fields = []
    if not is_direct:
        # A loaded source, so that something flows.
        branches.append([1, 0, log_uniform(random, 5.0, 2e3), 0.0, 0.0, 0.0, 0.0])
        branches[0][2:5] = [log_uniform(random, 0.05, 1.0), 0.0, tidy(random.uniform(100.0, 400.0), 4)]
        if index % 4 == 1:
            for place in random.choice(len(branches) - 1, size=3, replace=False) + 1:
                branches[place][5:7] = [log_uniform(random, 0.2, 2.0), tidy(random.uniform(-3.0, 3.0), 4)]
            fields = [[log_uniform(random, 0.5, 100.0), log_uniform(random, 0.5, 100.0)] for _ in range(2)]
    pick = lambda: [int(net) for net in random.choice(nets, size=2, replace=False)]
    if is_direct:
        readings = [["ohms", *pick()] for _ in range(3)]
    else:
        readings = [["volts", *pick()], ["volts", *pick()], ["amperes", int(random.integers(len(branches)))],
                    ["ohms", *pick()]]
    changes = []
    for branch in random.choice(len(branches), size=3, replace=False):
        branch = int(branch)
        kind = int(random.integers(5))
        changes.append([["open", branch], ["short", branch], ["impedance", branch, 1e-9, 0.0],
                        ["impedance", branch, log_uniform(random, 1e-3, 1e6), 0.0],
                        ["open", branch]][kind])
    if fields:
        changes[2] = ["field", int(random.integers(2)), log_uniform(random, 0.5, 100.0), log_uniform(random, 0.5, 100.0)]
    return {"direct": is_direct, "nets": nets, "branches": branches, "fields": fields, "readings": readings,
            "changes": changes, "variants": [[0], [1], [2], [0, 1], [1, 2]]}


def changed(network, variant):
    """Impedances by branch, None where nothing passes, and by field."""
    impedances = [complex(b[2], 0.0 if network["direct"] else b[3]) for b in network["branches"]]
    if network["direct"]:
        impedances = [OPEN if b[3] < 0.0 else z for b, z in zip(network["branches"], impedances)]
    fields = [complex(*pair) for pair in network["fields"]]
    for kind, place, *values in (network["changes"][index] for index in variant):
        if kind == "field":
            fields[place] = complex(*values)
        else:
            impedances[place] = {"open": OPEN, "short": 0.0}[kind] if not values else complex(*values)
    return impedances, fields


def groups(nets, ends):
    label = list(range(nets))
    for a, b in ends:
        label = [min(label[a], label[b]) if value in (label[a], label[b]) else value for value in label]
    return label


def has_zero_loop(network, impedances):
    zero = [(b[0], b[1]) for b, z in zip(network["branches"], impedances) if z is not OPEN and z == 0.0 and b[5] == 0.0]
    label = list(range(network["nets"]))
    for a, b in zero:
        if label[a] == label[b]:
            return True
        label = [label[a] if value == label[b] else value for value in label]
    return False


def eliminate(matrix, right):
    """Gaussian elimination with partial pivoting of rows scaled to one, in the precision of the matrix."""
    scale = np.abs(matrix).max(axis=1, keepdims=True)
    matrix, right = matrix / scale, right / scale
    size = len(matrix)
    for k in range(size):
        pivot = k + int(np.argmax(np.abs(matrix[k:, k])))
        if pivot != k:
            matrix[[k, pivot]], right[[k, pivot]] = matrix[[pivot, k]], right[[pivot, k]]
        rows = k + 1 + np.flatnonzero(matrix[k + 1:, k])
        factors = matrix[rows, k] / matrix[k, k]
        matrix[rows, k + 1:] -= factors[:, None] * matrix[k, k + 1:]
        right[rows] -= factors[:, None] * right[k]
    for k in range(size - 1, -1, -1):
        right[k] = (right[k] - matrix[k, k + 1:] @ right[k + 1:]) / matrix[k, k]
    return right


def solve(network, variant):
    """Values of all readings, largest voltage (that of the source included) and largest current; None for a variant without a solution."""
    impedances, fields = changed(network, variant)
    branches, nets = network["branches"], network["nets"]
    label = groups(nets, [(b[0], b[1]) for b, z in zip(branches, impedances) if z is not OPEN])
    if has_zero_loop(network, impedances) or (not network["direct"] and any(label)):
        return None
    count = len(branches)
    precise = np.clongdouble
    coupling = np.diag(np.array([0.0 if z is OPEN else z for z in impedances], dtype=precise))
    if fields:
        turns = np.array([b[5] for b in branches], dtype=np.longdouble)
        axes = np.array([b[6] for b in branches], dtype=np.longdouble)
        between = axes[:, None] - axes[None, :]
        coupling += np.outer(turns, turns) * (
            precise(fields[0]) * np.exp(-1j * between) + precise(fields[1]) * np.exp(1j * between))
    incidence = np.zeros((nets, count), dtype=precise)
    for column, branch in enumerate(branches):
        incidence[branch[0], column] += 1.0
        incidence[branch[1], column] -= 1.0
    kept = [net for net in range(nets) if label[net] != net]
    free, zeros, identity = len(kept), lambda *shape: np.zeros(shape, dtype=precise), np.eye(count, dtype=precise)
    law = [identity.copy(), -coupling]
    for row, impedance in enumerate(impedances):
        if impedance is OPEN:
            law[0][row], law[1][row] = 0.0, identity[row]
    tableau = np.block([
        [zeros(free, count), incidence[kept], zeros(free, free)],
        [identity, zeros(count, count), -incidence[kept].T],
        [law[0], law[1], zeros(count, free)],
    ])
    ohms = [r for r in network["readings"] if r[0] == "ohms"]
    right = zeros(len(tableau), 1 + len(ohms))
    for row, (branch, impedance) in enumerate(zip(branches, impedances)):
        right[free + count + row, 0] = 0.0 if impedance is OPEN or network["direct"] else -branch[4]
    for column, (_, plus, minus) in enumerate(ohms, start=1):
        for net, amperes in ((plus, 1.0), (minus, -1.0)):
            # An ampere between islands has nowhere to go; that reading is not asked for.
            if net in kept and label[plus] == label[minus]:
                right[kept.index(net), column] += amperes
    solved = eliminate(tableau, right)
    potentials = zeros(nets, right.shape[1])
    potentials[kept] = solved[2 * count:]
    currents = solved[count:2 * count, 0]
    values, column = [], 0
    for kind, first, *second in network["readings"]:
        if kind == "amperes":
            value = currents[first]
        elif kind == "volts":
            value = potentials[first, 0] - potentials[second[0], 0]
        else:
            column += 1
            value = potentials[first, column] - potentials[second[0], column]
            if label[first] != label[second[0]]:
                values.append(None)
                continue
        values.append([tidy(value.real), tidy(value.imag)])
    return {"values": values, "volts": tidy(max(np.abs(potentials[:, 0]).max(), branches[0][4]), 4), "amperes": tidy(np.abs(currents).max(), 4)}


def generate():
    random = np.random.default_rng(SEED)
    networks = []
    while len(networks) < NETWORKS:
        network = random_network(random, len(networks))
        network["solved"] = [solve(network, variant) for variant in network["variants"]]
        # The network that is compiled has a solution at least, and where nothing flows only rounding could be compared.
        idle = not network["direct"] and any(s and s["amperes"] < 1e-6 for s in network["solved"])
        if solve(network, []) is not None and not idle:
            networks.append(network)
    return networks


def differs(stored, fresh):
    """Whether two variants' values differ by more than the tolerance, volts and amperes relative to the largest."""
    if stored is None or fresh is None:
        return stored is not fresh
    for a, b in zip(stored["values"], fresh["values"]):
        if (a is None) != (b is None):
            return True
        if a is not None:
            scale = max(abs(complex(*b)), min(fresh["volts"] or 1.0, fresh["amperes"] or 1.0))
            if abs(complex(*a) - complex(*b)) > TOLERANCE * scale:
                return True
    return False


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--check", action="store_true", help="compare with the stored file instead of writing it")
    check = parser.parse_args().check
    if np.finfo(np.longdouble).nmant < 63:
        print("this machine's long double is no longer than a double; nothing was computed", file=sys.stderr)
        return 0 if check else 1
    fresh = generate()
    if not check:
        lines = ",\n".join(json.dumps(network, separators=(",", ":")) for network in fresh)
        TARGET.write_text(f"[\n{lines}\n]\n", encoding="utf-8")
        print(f"wrote {TARGET}")
        return 0
    stored = json.loads(TARGET.read_text(encoding="utf-8"))
    for index, (a, b) in enumerate(zip(stored, fresh, strict=True)):
        described = [{key: value for key, value in network.items() if key != "solved"} for network in (a, b)]
        if described[0] != described[1] or any(map(differs, a["solved"], b["solved"])):
            print(f"variants of network {index} are not what this program computes", file=sys.stderr)
            return 1
    print("the stored variants agree with this program")
    return 0


if __name__ == "__main__":
    sys.exit(main())
