"""Reference solutions of random networks, by a formulation that shares nothing with the Rust crate.

The crate `circuit` uses modified nodal analysis and treats coupled windings through fields that it eliminates last.
Here every branch voltage, branch current and net potential is an unknown of one dense sparse-tableau system
(Hachtel, Brayton and Gustavson, IEEE Trans. Circuit Theory 18, 1971), windings are coupled by their mutual
impedances, and resistances at 0 Hz come from the pseudoinverse of the Laplacian (Klein and Randic, "Resistance
distance", J. Math. Chem. 12, 1993).

    python reference/networks.py           writes crates/circuit/tests/data/networks.json
    python reference/networks.py --check   says whether that file is still what this program computes
"""

import argparse
import json
import pathlib
import sys

import numpy as np

SEED = 20250
PHASOR_NETWORKS = 40
DIRECT_NETWORKS = 15
TOLERANCE = 1e-9
TARGET = pathlib.Path(__file__).resolve().parent.parent / "crates/circuit/tests/data/networks.json"


def tidy(value, digits):
    """A number rounded to significant digits, so that the stored text is short and exactly what was solved."""
    return float(f"{value:.{digits}g}")


def log_uniform(random, low, high):
    return tidy(10.0 ** random.uniform(np.log10(low), np.log10(high)), 6)


def as_pairs(phasors):
    return [[tidy(phasor.real, 14), tidy(phasor.imag, 14)] for phasor in phasors]


def random_ends(random, net_count, branch_count):
    """A random spanning tree in random directions, so that no net floats, and then arbitrary further branches."""
    ends = [(int(random.integers(net)), net) for net in range(1, net_count)]
    while len(ends) < branch_count:
        ends.append(tuple(int(net) for net in random.choice(net_count, size=2, replace=False)))
    return [pair if random.random() < 0.5 else pair[::-1] for pair in ends]


def series_impedance(random, hertz):
    """Resistance and reactance of a resistor, coil or capacitor, or of several of them in series."""
    omega = 2.0 * np.pi * hertz
    has = random.random(3) < 0.5
    if not has.any():
        has[0] = True
    resistance = log_uniform(random, 0.05, 1e4) if has[0] else 0.0
    reactance = omega * log_uniform(random, 1e-3, 2.0) if has[1] else 0.0
    reactance -= 1.0 / (omega * log_uniform(random, 1e-7, 2e-4)) if has[2] else 0.0
    return resistance, tidy(reactance, 9)


def random_phasor_network(random, index):
    hertz = float(random.choice([50.0, 60.0]))
    net_count = int(random.integers(4, 15))
    branch_count = int(random.integers(max(8, net_count + 2), 31))
    branches = []
    for from_net, to_net in random_ends(random, net_count, branch_count):
        resistance, reactance = series_impedance(random, hertz)
        branches.append(
            {"from": from_net, "to": to_net, "resistance_ohms": resistance, "reactance_ohms": reactance,
             "source_volts": 0.0, "turns": 0.0, "angle_radians": 0.0, "coupling": "mutual"})
    # Only branches of the spanning tree may lose their impedance: they close no loop among themselves.
    in_tree = net_count - 1
    for branch in branches[:in_tree]:
        if random.random() < 0.1:
            branch["resistance_ohms"] = branch["reactance_ohms"] = 0.0
    for place in random.choice(branch_count, size=int(random.integers(1, 4)), replace=False):
        branches[place]["source_volts"] = tidy(random.uniform(5.0, 400.0) * random.choice([-1.0, 1.0]), 6)
        if place < in_tree and random.random() < 0.5:
            branches[place]["resistance_ohms"] = branches[place]["reactance_ohms"] = 0.0
    field_impedances = []
    if index % 2 == 1:
        for place in random.choice(branch_count, size=int(random.integers(2, 6)), replace=False):
            branches[place]["turns"] = log_uniform(random, 0.2, 3.0)
            branches[place]["angle_radians"] = tidy(random.uniform(-np.pi, np.pi), 6)
        if index % 4 == 3:
            # Voltages controlled by another branch's current, as the speed voltage of an armature is.
            wound = [branch for branch in branches if branch["turns"]]
            wound[0]["coupling"], wound[1]["coupling"] = "drives", "feels"
        field_impedances = as_pairs(
            complex(log_uniform(random, 0.5, 200.0), log_uniform(random, 0.5, 200.0)) for _ in range(2))
    return {"hertz": hertz, "net_count": net_count, "branches": branches, "field_impedances_ohms": field_impedances}


def impedance_matrix(network):
    """Own impedances on the diagonal, and what the current of one winding on a rotor induces in another.

    A winding that only drives the fields has nothing induced in it; one that only feels them induces nothing.
    """
    branches = network["branches"]
    matrix = np.diag([complex(b["resistance_ohms"], b["reactance_ohms"]) for b in branches])
    if network["field_impedances_ohms"]:
        forward, backward = (complex(*pair) for pair in network["field_impedances_ohms"])
        turns = np.array([b["turns"] for b in branches])
        angles = np.array([b["angle_radians"] for b in branches])
        between = angles[:, None] - angles[None, :]
        feeling = turns * np.array([b["coupling"] != "drives" for b in branches])
        driving = turns * np.array([b["coupling"] != "feels" for b in branches])
        matrix = matrix + np.outer(feeling, driving) * (
            forward * np.exp(-1j * between) + backward * np.exp(1j * between))
    return matrix


def solve_tableau(network):
    """All net potentials and branch currents, from the unknowns (voltages, currents, potentials but the reference)."""
    branches, free_nets = network["branches"], network["net_count"] - 1
    count = len(branches)
    incidence = np.zeros((free_nets + 1, count))
    for column, branch in enumerate(branches):
        incidence[branch["from"], column] += 1.0
        incidence[branch["to"], column] -= 1.0
    incidence = incidence[1:]
    sources = np.array([b["source_volts"] for b in branches])
    identity, zeros = np.eye(count), np.zeros
    tableau = np.block([
        [zeros((free_nets, count)), incidence, zeros((free_nets, free_nets))],
        [identity, zeros((count, count)), -incidence.T],
        [identity, -impedance_matrix(network), zeros((count, free_nets))],
    ])
    right = np.concatenate([zeros(free_nets + count), -sources])
    unknowns = np.linalg.solve(tableau, right)
    return np.concatenate([[0.0], unknowns[2 * count:]]), unknowns[count:2 * count]


def carries_too_little(network, currents):
    wound = np.array([abs(branch["turns"]) for branch in network["branches"]]) * np.abs(currents)
    coupled = bool(network["field_impedances_ohms"])
    return np.abs(currents).max() < 1e-3 or (coupled and np.count_nonzero(wound > 1e-4) < 2)


def random_direct_network(random, index):
    net_count = int(random.integers(4, 15))
    branch_count = int(random.integers(net_count, 31))
    ends = random_ends(random, net_count, branch_count)
    if index % 3 == 2:
        # Cut the nets into two groups by dropping every branch that crosses.
        cut = int(random.integers(1, net_count))
        ends = [pair for pair in ends if (pair[0] < cut) == (pair[1] < cut)]
    branches = [{"from": a, "to": b, "resistance_ohms": log_uniform(random, 0.05, 1e4)} for a, b in ends]
    return {"net_count": net_count, "branches": branches}


def connected_groups(network):
    label = list(range(network["net_count"]))
    for branch in network["branches"]:
        old, new = label[branch["to"]], label[branch["from"]]
        label = [new if value == old else value for value in label]
    return label


def pair_resistances(network):
    count, label = network["net_count"], connected_groups(network)
    laplacian = np.zeros((count, count))
    for branch in network["branches"]:
        a, b, conductance = branch["from"], branch["to"], 1.0 / branch["resistance_ohms"]
        laplacian[a, a] += conductance
        laplacian[b, b] += conductance
        laplacian[a, b] -= conductance
        laplacian[b, a] -= conductance
    # The zero eigenvalues are known to rounding only; conductances span less than six decades.
    inverse = np.linalg.pinv(laplacian, rcond=1e-12, hermitian=True)
    pairs = []
    for plus in range(count):
        for minus in range(plus + 1, count):
            ohms = inverse[plus, plus] + inverse[minus, minus] - 2.0 * inverse[plus, minus]
            connected = label[plus] == label[minus]
            pairs.append({"plus": plus, "minus": minus, "ohms": tidy(ohms, 14) if connected else None})
    return pairs


def generate():
    random = np.random.default_rng(SEED)
    phasor, direct = [], []
    while len(phasor) < PHASOR_NETWORKS:
        network = random_phasor_network(random, len(phasor))
        potentials, currents = solve_tableau(network)
        # A network whose sources or windings happen to lie in no loop has only rounding errors to compare.
        if carries_too_little(network, currents):
            continue
        network["potentials_volts"] = as_pairs(potentials)
        network["currents_amperes"] = as_pairs(currents)
        phasor.append(network)
    for index in range(DIRECT_NETWORKS):
        network = random_direct_network(random, index)
        network["pairs"] = pair_resistances(network)
        direct.append(network)
    return {"seed": SEED, "phasor": phasor, "direct": direct}


def is_numeric(value):
    return isinstance(value, (int, float)) and not isinstance(value, bool)


def is_pair_list(value):
    return isinstance(value, list) and all(
        isinstance(pair, list) and len(pair) == 2 and all(map(is_numeric, pair)) for pair in value)


def difference(stored, fresh, place="file"):
    """The first place at which two trees differ by more than the tolerance, or None.

    Phasors are compared relative to the largest of their list, since one of them may be zero but for rounding.
    """
    if is_pair_list(stored) and is_pair_list(fresh) and len(stored) == len(fresh):
        a, b = np.array(stored).reshape(-1, 2), np.array(fresh).reshape(-1, 2)
        off = np.abs(a - b).max(initial=0.0)
        return None if off <= TOLERANCE * np.abs(b).max(initial=0.0) else f"{place}: phasors differ by {off:.3g}"
    if isinstance(stored, list) and isinstance(fresh, list) and len(stored) == len(fresh):
        parts = ((a, b, f"{place}[{i}]") for i, (a, b) in enumerate(zip(stored, fresh)))
    elif isinstance(stored, dict) and isinstance(fresh, dict) and stored.keys() == fresh.keys():
        parts = ((stored[key], fresh[key], f"{place}.{key}") for key in stored)
    elif is_numeric(stored) and is_numeric(fresh):
        same = abs(stored - fresh) <= TOLERANCE * max(abs(stored), abs(fresh))
        return None if same else f"{place}: stored {stored}, computed {fresh}"
    else:
        return None if stored == fresh else f"{place}: stored {stored}, computed {fresh}"
    return next((found for found in (difference(*part) for part in parts) if found), None)


def as_text(data):
    """JSON with one network per line, so that a change shows which network changed."""
    lists = ",\n".join(
        f'"{name}": [\n' + ",\n".join(json.dumps(network, separators=(",", ":")) for network in data[name]) + "\n]"
        for name in ("phasor", "direct"))
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
        print(f"cannot read the stored networks: {error}", file=sys.stderr)
        return 1
    found = difference(stored, generate())
    if found:
        print(f"the stored networks are not what this program computes; {found}", file=sys.stderr)
        return 1
    print("the stored networks agree with this program")
    return 0


if __name__ == "__main__":
    sys.exit(main())
