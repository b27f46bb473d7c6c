"""Reference runs of random thermal networks in which things switch, by SciPy's adaptive implicit integrator.

The crate `machine` propagates temperatures with matrix exponentials and learns how heat follows temperature. Here the
balance of every node is written out link by link and integrated by an implicit Runge-Kutta method of order five (Radau;
Hairer and Wanner, Solving Ordinary Differential Equations II, section IV.8) from one switching to the next, each found
by SciPy's own root finding.

    python reference/heat.py           writes crates/machine/tests/data/heat.json
    python reference/heat.py --check   says whether that file is still what this program computes
"""

import argparse
import json
import pathlib
import sys

import numpy as np
import scipy.integrate

SEED = 20261
NETWORKS = 10
UNTIL, EVERY = 3600.0, 300.0
# Stored and computed may differ by what another build of SciPy rounds differently.
CELSIUS_TOLERANCE, SECONDS_TOLERANCE = 1e-5, 1e-3
# Kelvins below 0 degrees Celsius at which copper's resistance would be zero.
COPPER = 234.5
TARGET = pathlib.Path(__file__).resolve().parent.parent / "crates/machine/tests/data/heat.json"


def log_uniform(random, low, high):
    return float(f"{10.0 ** random.uniform(np.log10(low), np.log10(high)):.6g}")


def uniform(random, low, high):
    return float(f"{random.uniform(low, high):.6g}")


def random_network(random, index):
    """Nodes joined by a random tree and some further links; negative numbers are the room (-1) and the yard (-2)."""
    nodes = int(random.integers(2, 9))
    links = []

    def link(a, b, conductance, one_way=False):
        # Some conductances rise with temperature, as those to air do; some fall when the cutout stops the fan.
        to_air = b < 0 or a < 0
        links.append({
            "a": a, "b": b, "one_way": one_way, "watts_per_kelvin": conductance,
            "per_kelvin": uniform(random, 0.0, 0.004) if to_air and random.random() < 0.5 else 0.0,
            "when_open": uniform(random, 0.3, 0.9) if to_air and random.random() < 0.4 else 1.0})

    for node in range(1, nodes):
        link(int(random.integers(node)), node, log_uniform(random, 0.3, 20.0))
    link(nodes - 1, -1, log_uniform(random, 0.8, 4.0))
    for _ in range(int(random.integers(0, nodes))):
        a, b = (int(node) for node in random.choice(nodes, size=2, replace=False))
        link(a, b, log_uniform(random, 0.05, 3.0), bool(random.random() < 0.4))
    for node in range(nodes - 1):
        if random.random() < 0.4:
            link(node, int(random.choice([-1, -2])), log_uniform(random, 0.05, 1.5))
    link(-1, int(random.integers(nodes)), log_uniform(random, 0.05, 0.5), True)
    heat = []
    for node in range(nodes):
        heated = node == 0 or random.random() < 0.4
        heat.append({
            "watts": log_uniform(random, 15.0, 60.0) if heated else 0.0,
            # Copper's heat goes with its resistance at constant current, against it at constant voltage.
            "power": int(random.choice([-1, 0, 1])) if heated else 0,
            "when_open": float(random.choice([0.0, 0.0, 1.0])) if node else 0.0,
            # From the change of setup on.
            "when_changed": uniform(random, 0.4, 1.3) if heated else 1.0})
    network = {
        "capacities": [log_uniform(random, 5.0, 2000.0) for _ in range(nodes)],
        "links": links, "heat": heat,
        # Degrees Celsius at the start, and kelvins per second.
        "room": [uniform(random, 15.0, 30.0), uniform(random, 0.0, 0.002)],
        "yard": [uniform(random, -5.0, 35.0), 0.0],
        "change_seconds": uniform(random, 1000.0, 2600.0) if index % 2 else None,
        "until_seconds": UNTIL, "every_seconds": EVERY}
    network["start_celsius"] = [network["room"][0]] * nodes
    return network


def resistance_ratio(celsius):
    return (COPPER + celsius) / (COPPER + 25.0)


def rates(network, seconds, celsius, is_open, changed):
    at = {-1: network["room"][0] + network["room"][1] * seconds, -2: network["yard"][0]}
    temperature = lambda place: celsius[place] if place >= 0 else at[place]
    watts = np.zeros(len(celsius))
    for node, heat in enumerate(network["heat"]):
        share = (heat["when_open"] if is_open else 1.0) * (heat["when_changed"] if changed else 1.0)
        watts[node] = heat["watts"] * share * resistance_ratio(celsius[node]) ** heat["power"]
    for link in network["links"]:
        a, b = link["a"], link["b"]
        # The temperature of the first side that is a node counts, the far one's for a link from outside.
        node = a if a >= 0 else b
        conductance = link["watts_per_kelvin"] * (1.0 + link["per_kelvin"] * (celsius[node] - 20.0))
        conductance *= link["when_open"] if is_open else 1.0
        flow = conductance * (temperature(a) - temperature(b))
        if b >= 0:
            watts[b] += flow
        if a >= 0 and not link["one_way"]:
            watts[a] -= flow
    return watts / np.array(network["capacities"])


def integrate(network):
    """Temperatures at regular moments, and the moments at which the cutout opens and closes."""
    seconds, celsius = 0.0, np.array(network["start_celsius"])
    is_open, changed = False, False
    cutout = network.get("cutout")
    outputs, crossings = [], []
    moments = EVERY * np.arange(1, round(UNTIL / EVERY) + 1)
    while seconds < UNTIL:
        change = network["change_seconds"]
        stop = change if change is not None and not changed else UNTIL
        event = None
        if cutout:
            limit = cutout["closes"] if is_open else cutout["opens"]
            event = lambda t, y: y[cutout["node"]] - limit
            event.terminal, event.direction = True, -1.0 if is_open else 1.0
        found = scipy.integrate.solve_ivp(
            lambda t, y: rates(network, t, y, is_open, changed), (seconds, stop), celsius, method="Radau",
            rtol=1e-10, atol=1e-9, events=event, t_eval=moments[(moments > seconds) & (moments <= stop)],
            dense_output=True)
        end = found.t_events[0][0] if found.status == 1 else stop
        outputs += [found.sol(moment) for moment in moments if seconds < moment <= end]
        celsius, seconds = found.sol(end), float(end)
        if found.status == 1:
            crossings.append(seconds)
            is_open = not is_open
        elif stop < UNTIL:
            changed = True
    return np.array(outputs), crossings


def with_cutout(random, network):
    """Adds a cutout that opens on the way up and closes again; none if the network stays cool."""
    free, _ = integrate(network)
    node = int(random.integers(len(network["capacities"])))
    rise = free[:, node].max() - network["room"][0]
    opens = network["room"][0] + uniform(random, 0.45, 0.75) * rise
    closes = opens - uniform(random, 0.15, 0.35) * rise
    network["cutout"] = {"node": node, "opens": float(f"{opens:.6g}"), "closes": float(f"{closes:.6g}")}
    return rise > 10.0


def generate():
    random = np.random.default_rng(SEED)
    networks = []
    while len(networks) < NETWORKS:
        network = random_network(random, len(networks))
        if not with_cutout(random, network):
            continue
        outputs, crossings = integrate(network)
        if len(crossings) < 1:
            continue
        network["celsius"] = [[round(float(value), 7) for value in row] for row in outputs]
        network["crossing_seconds"] = [round(value, 5) for value in crossings]
        networks.append(network)
    return {"seed": SEED, "networks": networks}


def difference(stored, fresh):
    """What differs by more than the tolerances, or None."""
    if stored.get("seed") != fresh["seed"] or len(stored.get("networks", [])) != len(fresh["networks"]):
        return "another seed or number of networks"
    for place, (old, new) in enumerate(zip(stored["networks"], fresh["networks"])):
        for name, tolerance in (("celsius", CELSIUS_TOLERANCE), ("crossing_seconds", SECONDS_TOLERANCE)):
            a, b = np.array(old.pop(name)), np.array(new.pop(name))
            if a.shape != b.shape or np.abs(a - b).max(initial=0.0) > tolerance:
                return f"{name} of network {place}"
        # What is left was drawn, or follows from an integration and was rounded to far fewer digits than it has.
        if old != new:
            return f"network {place} itself"
    return None


def as_text(data):
    """JSON with one network per line, so that a change shows which network changed."""
    lines = ",\n".join(json.dumps(network, separators=(",", ":")) for network in data["networks"])
    return f'{{"seed": {data["seed"]},\n"networks": [\n{lines}\n]}}\n'


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
        print(f"cannot read the stored heat runs: {error}", file=sys.stderr)
        return 1
    found = difference(stored, generate())
    if found:
        print(f"the stored heat runs are not what this program computes: {found} differs", file=sys.stderr)
        return 1
    print("the stored heat runs agree with this program")
    return 0


if __name__ == "__main__":
    sys.exit(main())
