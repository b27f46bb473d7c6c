"""Evidence of a thousand small problems, drawn at random, by quadrature over all unknown values.

Each problem is a circuit of one or two heaters, in series, in parallel, behind a cord or live, with a suspect and one to
four readings, of which some are over range and some grossly wrong. Predictions are written down by hand; what a reading
weighs is what `reference/inference.py` wrote down again from the documents of the crate `diagnosis`. All integrals are
made by the trapezoidal rule, which converges exponentially here (Trefethen and Weideman, SIAM Review 56, 2014).

    python reference/evidence.py            writes crates/diagnosis/tests/data/evidence.json, held against finer steps
    python reference/evidence.py --check    draws all problems anew and integrates every tenth of them
"""

import json
import math
import pathlib
import random
import sys

import numpy as np
import scipy.special

import inference

ROOT = pathlib.Path(__file__).resolve().parent.parent
TARGET = ROOT / "crates/diagnosis/tests/data/evidence.json"
SEED, COUNT, CHECKED_EVERY = 1763, 1000, 10
# Nats by which a figure may change with finer steps.
SETTLED = 2e-4

# Conductivity of copper at 20 degrees, siemens per metre (IEC 60028), and spread of a cord's ohms.
COPPER, CORD_SPREAD, CORD_SECTION = 58.0e6, 0.3, 0.75e-6
VOLTS = 230.0
# Odds do not matter here. Median and spread of each size; None for a fault without one.
WIRE = "supply.hot~H1.a"
SIZES = {
    "H1 open": None, "H1 bad-joint": (5.0, 1.5), "H1 wrong-rating": (1.0, 0.6),
    f"{WIRE} broken": None, f"{WIRE} bad-joint": (5.0, 1.5),
    "cord hot-open": None, "cord hot-bad-joint": (5.0, 1.5),
}
HEATER = ["H1 open", "H1 bad-joint", "H1 wrong-rating"]
JOINTS = [f"{WIRE} broken", f"{WIRE} bad-joint"]
# Per family: where can be measured, and which faults there are.
FAMILIES = {
    "single": (["H1", "supply"], HEATER + JOINTS),
    "series": (["H1", "H2", "both", "supply"], HEATER + JOINTS),
    "parallel": (["H1", "supply", "H1 lifted", "H2 lifted"], HEATER + JOINTS),
    "cord": (["H1", "plug", "hot"], HEATER + ["cord hot-open", "cord hot-bad-joint"]),
    "live": (["volts supply", "volts H1", "amps H1"], []),
}
# Grid steps and reach in standard deviations of the priors.
# The narrowest posterior is that of a large joint in ohms read twice: 2 % of its ohms are 0.014 of its spread.
STEPS = {"H1": 0.3, "H2": 0.3, "cord": 0.3, "volts": 0.3, "source": 0.5, "size": 0.01}
REACH = 6.5


def quantity(place):
    return place.split()[0] if place.split()[0] in ("volts", "amps") else "ohms"


def unknowns(problem):
    names = ["H1"] + ["H2"] * (problem["family"] in ("series", "parallel"))
    names += ["cord"] * (problem["family"] == "cord") + ["volts", "source"] * (problem["family"] == "live")
    return names + ["size"] * any(SIZES[label] for label in problem["faults"])


def predictions(problem, values):
    """What there is to be measured at each place; infinite where insulation alone or nothing joins it."""
    deviation = dict(values)
    total, between = inference.ELEMENT_SPREAD, inference.SISTER_SPREAD
    logs = {"H1": total * deviation["H1"]}
    if "H2" in deviation:
        # Covariance of two sisters: total variance less that between them.
        share = (total**2 - between**2) / total**2 if problem["sisters"] else 0.0
        logs["H2"] = total * (share * deviation["H1"] + math.sqrt(1.0 - share**2) * deviation["H2"])
    elements = {name: VOLTS**2 / watts * np.exp(logs[name]) for name, watts in zip(("H1", "H2"), problem["watts"])}
    wire, joint = 0.0, 0.0
    for label in problem["faults"]:
        size = SIZES[label] and SIZES[label][0] * np.exp(SIZES[label][1] * deviation["size"])
        if label == "H1 open":
            elements["H1"] = np.inf
        elif label == "H1 bad-joint":
            elements["H1"] = elements["H1"] + size
        elif label == "H1 wrong-rating":
            elements["H1"] = elements["H1"] * size
        elif label.startswith(WIRE):
            wire = np.inf if label.endswith("broken") else size
        else:
            joint = np.inf if label.endswith("open") else size
    first, second = elements["H1"], elements.get("H2")
    family = problem["family"]
    if family == "single":
        return {"H1": first, "supply": first + wire}
    if family == "series":
        return {"H1": first, "H2": second, "both": first + second, "supply": first + second + wire}
    if family == "parallel":
        parallel = inference.parallel
        return {"H1": parallel(first, second + wire), "supply": parallel(first + wire, second),
                "H1 lifted": first, "H2 lifted": second}
    if family == "cord":
        conductor = problem["metres"] / (COPPER * CORD_SECTION) * np.exp(CORD_SPREAD * deviation["cord"])
        return {"H1": first, "plug": first + 2.0 * conductor + joint, "hot": conductor + joint}
    volts = VOLTS * np.exp(inference.VOLTS_SPREAD * deviation["volts"])
    loop = inference.SOURCE_OHMS * np.exp(inference.SOURCE_SPREAD * deviation["source"])
    amps = volts / (first + loop)
    return {"volts supply": amps * first, "volts H1": amps * first, "amps H1": amps}


def neighbours(place, predicted):
    """What one probe on the other terminal of its heater would show; of a cord or supply nobody takes one for another."""
    return [predicted["H1"], predicted["H2"]] if place == "both" else None


def log_likelihood(place, shown, predicted, over_range, beside=None):
    kind = quantity(place)
    if shown == "open":
        right = np.where(np.isinf(predicted), over_range, inference.over_range(predicted))
        return np.log((1.0 - inference.GROSS) * right + inference.GROSS * inference.GROSS_OPEN)
    sigma = inference.reading_sigma(kind, shown)
    right = (1.0 - inference.GROSS) / (sigma * math.sqrt(2.0 * math.pi))
    wrong = inference.GROSS * inference.wrong_density(kind, shown, predicted, VOLTS, beside)
    return np.log(right * np.exp(-0.5 * np.square((shown - predicted) / sigma)) + wrong)


def leaking(problem):
    """Places that show open although an open element still has its insulation across it."""
    if "H1 open" not in problem["faults"]:
        return []
    across = {"single": ["H1", "supply"], "series": ["H1", "both", "supply"], "parallel": ["H1 lifted"],
              "cord": ["H1", "plug"]}
    return [place for place, shown in problem["readings"] if shown == "open" and place in across[problem["family"]]]


def log_leaks(problem):
    """Log-probability that all of these show open, over what insulation may be."""
    places = leaking(problem)
    if not places:
        return 0.0
    z = np.arange(-8.0, 8.0, 0.05)
    weights = np.exp(-0.5 * z**2)
    ohms = 2.0 * inference.INSULATION_OHMS * np.exp(inference.INSULATION_SPREAD * z)
    if len(problem["watts"]) == 1:
        joint, path = weights, 2.0 * ohms
    else:
        # From the frame onward its own other end, beside both ends of the other heater.
        joint, path = np.outer(weights, weights), ohms[:, None] + inference.parallel(ohms[:, None], ohms / 2.0)
    each = sum(log_likelihood(place, "open", path, 0.0) for place in places)
    return float(scipy.special.logsumexp(each, b=joint / joint.sum()))


def log_evidence(problem, shrink=1.0):
    names = unknowns(problem)
    axes = []
    for name in names:
        count = math.ceil(REACH / (shrink * STEPS[name]))
        axes.append(np.linspace(-REACH, REACH, 2 * count + 1))
    step = sum(math.log((axis[1] - axis[0]) / math.sqrt(2.0 * math.pi)) for axis in axes)
    # The last axis, the longest, is walked in pieces that stay in a processor's cache.
    pieces = np.array_split(axes[-1], 1 + math.prod(map(len, axes)) // 50_000)
    logs = [scipy.special.logsumexp(log_density(problem, names, [*axes[:-1], piece])) for piece in pieces]
    return float(scipy.special.logsumexp(logs)) + step + log_leaks(problem)


def log_density(problem, names, axes):
    """What all readings but those through insulation weigh, times the prior but for its constant, on a grid."""
    grids = np.meshgrid(*axes, indexing="ij", sparse=True)
    predicted = predictions(problem, list(zip(names, grids)))
    total = sum(-0.5 * np.square(grid) for grid in grids)
    for place, shown in problem["readings"]:
        if place not in leaking(problem):
            total = total + log_likelihood(place, shown, predicted[place], 1.0, neighbours(place, predicted))
    return total


def show(source, place, truth):
    """What a meter shows of a true value: rarely something else altogether."""
    kind = quantity(place)
    if source.random() < 0.1:
        if kind == "ohms" and source.random() < 0.3:
            return "open"
        lowest, highest = {"ohms": (0.5, 1e4), "volts": (1.0, 300.0), "amps": (0.1, 30.0)}[kind]
        return float(f"{math.exp(source.uniform(math.log(lowest), math.log(highest))):.3g}")
    if not math.isfinite(truth):
        return "open"
    return float(f"{max(0.1, source.gauss(truth, inference.reading_sigma(kind, truth))):.4g}")


def draw(source):
    family = source.choice(list(FAMILIES))
    places, faults = FAMILIES[family]
    watts = [source.choice([300, 500, 750, 1000, 1500, 2000])]
    problem = {"family": family, "watts": watts}
    if family in ("series", "parallel"):
        problem["sisters"] = source.random() < 0.5
        watts.append(watts[0] if problem["sisters"] else source.choice([300, 500, 750, 1000, 1500, 2000]))
    if family == "cord":
        problem["metres"] = source.choice([5, 25, 50, 100])

    def suspect():
        return [source.choice(faults)] if faults and source.random() < 0.75 else []

    truth = {**problem, "faults": suspect()}
    # What is there at values drawn from the priors of the true fault, and read.
    values = [(name, source.gauss(0.0, 1.0)) for name in unknowns(truth)]
    there = predictions(truth, values)
    problem["faults"] = truth["faults"] if source.random() < 0.7 else suspect()
    taken = sorted(source.sample(places, source.randint(1, len(places))), key=places.index)
    problem["readings"] = [[place, show(source, place, float(there[place]))] for place in taken]
    return problem


def main():
    source = random.Random(SEED)
    problems = [draw(source) for _ in range(COUNT)]
    if "--check" in sys.argv:
        stored = json.loads(TARGET.read_text(encoding="utf-8"))
        if [{**row, "log_evidence": None} for row in stored] != [{**row, "log_evidence": None} for row in problems]:
            sys.exit("evidence.json holds other problems than this program draws")
        off = max(abs(row["log_evidence"] - log_evidence(row)) for row in stored[::CHECKED_EVERY])
        if off > SETTLED:
            sys.exit(f"evidence.json is out of date: off by {off} nats")
        print(f"{len(stored)} problems agree")
        return
    for index, problem in enumerate(problems):
        problem["log_evidence"] = round(log_evidence(problem), 6)
        if index % CHECKED_EVERY == 0:
            finer = log_evidence(problem, 0.8)
            assert abs(problem["log_evidence"] - finer) < SETTLED, f"not settled, {finer}: {problem}"
    TARGET.write_text("[\n" + ",\n".join(json.dumps(row) for row in problems) + "\n]\n", encoding="utf-8")
    print(f"wrote {TARGET}")


if __name__ == "__main__":
    main()
