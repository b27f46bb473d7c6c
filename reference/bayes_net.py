"""Which breaks explain three readings of two heaters in parallel: a Bayes net, solved by enumeration and by a library.

Six parts of the circuit may be broken, each independently by its odds; what the meter meets follows from which are, and
what it shows is drawn about that or is grossly wrong. The library is pyAgrum 3.3.1 (general Bayes nets, lazy propagation);
it is no part of requirements.txt, because it brings plotting and learning with it, and is used where it is installed:

    python -m pip install pyagrum==3.3.1
    python reference/bayes_net.py            writes crates/diagnosis/tests/data/bayes-net.json; wants pyAgrum
    python reference/bayes_net.py --check    the same by enumeration, and by pyAgrum where there is one
"""

import itertools
import json
import math
import pathlib
import sys

import numpy as np

import inference

ROOT = pathlib.Path(__file__).resolve().parent.parent
TARGET = ROOT / "crates/diagnosis/tests/data/bayes-net.json"
CLOSE = 1e-9

VOLTS, WATTS = 230.0, {"H1": 1000.0, "H2": 1000.0}
# Odds of each break.
BREAKS = {
    "supply.hot~H1.a broken": 0.006, "H1 open": 0.04, "H1.b~supply.neutral broken": 0.006,
    "supply.hot~H2.a broken": 0.006, "H2 open": 0.04, "H2.b~supply.neutral broken": 0.006,
}
NAMES = list(BREAKS)
# Across the cord's end 53.1 ohm, along the first wire 0.1 ohm, across H1 with its wire lifted open.
WHOLE, WIRE = 53.1, 0.1


def whole(broken):
    """Which heaters are met from the hot to the neutral end."""
    return 2 * (not any(broken[:3])) + (not any(broken[3:]))


def wire(broken):
    """Along the first wire: 0 it is sound, 1 there is a way round through both heaters, 2 there is none."""
    return 0 if not broken[0] else 1 if not any(broken[1:]) else 2


def lifted(broken):
    """Across H1: 0 the element; else its insulation, with at its far end 1 nothing more, 2 one end of H2, 3 both."""
    if not broken[1]:
        return 0
    return 1 if broken[2] or broken[5] else 2 if broken[4] else 3


def grid(dimensions):
    z = np.arange(-8.0, 8.0, 0.05)
    weights = np.exp(-0.5 * z**2)
    axes = [z.reshape([-1 if k == axis else 1 for k in range(dimensions)]) for axis in range(dimensions)]
    joint = math.prod(weights.reshape(axis.shape) for axis in axes)
    return axes, joint / joint.sum()


def likelihood_of_number(shown, ohms, weights, neighbours=None):
    sigma = inference.reading_sigma("ohms", shown)
    right = np.exp(-0.5 * np.square((shown - ohms) / sigma)) / (sigma * math.sqrt(2.0 * math.pi))
    wrong = inference.wrong_density("ohms", shown, ohms, VOLTS, neighbours)
    return float(np.sum(((1.0 - inference.GROSS) * right + inference.GROSS * wrong) * weights))


def tables():
    """Likelihood of what each reading shows, per state of what it meets."""
    (first, second), weights = grid(2)
    elements = [VOLTS**2 / WATTS[name] * np.exp(inference.ELEMENT_SPREAD * z) for name, z in zip(WATTS, (first, second))]
    nowhere = np.inf
    met = [nowhere, elements[1], elements[0], inference.parallel(*elements)]
    own, other = [2.0 * inference.INSULATION_OHMS * np.exp(inference.INSULATION_SPREAD * z) for z in (first, second)]
    ends = [own + own, own + inference.parallel(own, other), own + inference.parallel(own, other / 2.0)]
    open_shares = [0.0] + [float(np.sum(inference.over_range(path) * weights)) for path in ends]
    return {
        "whole": [likelihood_of_number(WHOLE, ohms, weights) for ohms in met],
        # At the other terminal of H1 tens of ohms are met, or nothing: far from what was shown.
        "wire": [likelihood_of_number(WIRE, ohms, weights, []) for ohms in (0.0, elements[0] + elements[1], nowhere)],
        "lifted": [(1.0 - inference.GROSS) * share + inference.GROSS * inference.GROSS_OPEN for share in open_shares],
    }


STATES = {"whole": whole, "wire": wire, "lifted": lifted}


def by_enumeration():
    likelihoods = tables()
    weights = {}
    for broken in itertools.product((False, True), repeat=len(NAMES)):
        prior = math.prod(odds / (1.0 + odds) if is_broken else 1.0 / (1.0 + odds)
                          for odds, is_broken in zip(BREAKS.values(), broken))
        weights[broken] = prior * math.prod(likelihoods[name][state(broken)] for name, state in STATES.items())
    total = sum(weights.values())
    return {broken: weight / total for broken, weight in weights.items()}


def by_library(gum):
    net = gum.BayesNet()
    breaks = [net.add(gum.LabelizedVariable(f"B{index}", "", 2)) for index in range(len(NAMES))]
    for node, odds in zip(breaks, BREAKS.values()):
        net.cpt(node).fillWith([1.0 / (1.0 + odds), odds / (1.0 + odds)])
    evidence = {}
    for name, likelihoods in tables().items():
        met = net.add(gum.LabelizedVariable(name, "", len(likelihoods)))
        for node in breaks:
            net.addArc(node, met)
        for broken in itertools.product((0, 1), repeat=len(NAMES)):
            state = STATES[name](broken)
            at = {f"B{index}": value for index, value in enumerate(broken)}
            net.cpt(met)[at] = [float(state == each) for each in range(len(likelihoods))]
        # What is shown, or anything else; a common factor of its probabilities does not matter.
        shown = net.add(gum.LabelizedVariable(f"{name} shown", "", 2))
        net.addArc(met, shown)
        for state, likelihood in enumerate(likelihoods):
            share = likelihood / max(likelihoods)
            net.cpt(shown)[{name: state}] = [1.0 - share, share]
        evidence[f"{name} shown"] = 1
    engine = gum.LazyPropagation(net)
    engine.setEvidence(evidence)
    engine.addJointTarget({f"B{index}" for index in range(len(NAMES))})
    engine.makeInference()
    joint = engine.jointPosterior({f"B{index}" for index in range(len(NAMES))})
    return {broken: joint[{f"B{index}": int(value) for index, value in enumerate(broken)}]
            for broken in itertools.product((False, True), repeat=len(NAMES))}


def main():
    enumerated = by_enumeration()
    try:
        import pyagrum

        found = by_library(pyagrum)
        off = max(abs(found[broken] - share) for broken, share in enumerated.items())
        assert off < CLOSE, f"the library and the enumeration differ by {off}"
    except ImportError:
        if "--check" not in sys.argv:
            sys.exit("pyAgrum is missing")
        found = enumerated
    rows = [{"faults": [name for name, is_broken in zip(NAMES, broken) if is_broken], "probability": share}
            for broken, share in found.items()]
    if "--check" in sys.argv:
        stored = json.loads(TARGET.read_text(encoding="utf-8"))
        same = [row["faults"] for row in stored] == [row["faults"] for row in rows]
        if not same or any(abs(a["probability"] - b["probability"]) > CLOSE for a, b in zip(stored, rows)):
            sys.exit("bayes-net.json is not what this program computes")
        print(f"{len(rows)} sets of breaks agree" + ("" if found is enumerated else ", by pyAgrum too"))
        return
    TARGET.write_text("[\n" + ",\n".join(json.dumps(row) for row in rows) + "\n]\n", encoding="utf-8")
    print(f"wrote {TARGET}")


if __name__ == "__main__":
    main()
