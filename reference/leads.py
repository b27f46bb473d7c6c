"""Reference figures for unmarked leads: posterior probabilities by brute force, for cases of three to five leads.

Shares no code with the Rust crate `leads`. Every permutation of the leads is a hypothesis of its own, without use of any
symmetry; resistances come from the inverse of a conductance matrix; the likelihood is the whole mixture of right and
wrong readings, never split into sets; and the ohms of the sections are integrated by importance sampling (draws from
Student distributions about several starting fits, and from the prior), with a fixed seed. Priors are written again from
docs/leads-file.md and the crate's documents.

    python reference/leads.py           writes crates/leads/tests/data/posteriors.json
    python reference/leads.py --check   says whether that file is still what this program computes, as far as three leads;
                                        with --all the larger cases too, which take minutes
"""

import argparse
import itertools
import json
import math
import pathlib
import sys

import numpy as np

ROOT = pathlib.Path(__file__).resolve().parent.parent
TARGET = ROOT / "crates/leads/tests/data/posteriors.json"
# Draws for every starting fit. With other random numbers the probabilities moved by 0.0096 at most.
DRAWS = 1500
TOLERANCE = 1e-6
INF = math.inf

# Reading model: share of wrong readings, of 'open' among them; the handheld meter; contact and drift.
GROSS, GROSS_OPEN = 0.03, 0.3
METER_SHARE, METER_OHMS, CONTACT, DRIFT = 0.009, 0.2, 0.05, 0.005
NONE_OF_THESE, SECTION_OPEN, LEAD_OPEN, OVERLOAD_OPEN = 0.01, 0.01, 0.005, 0.05

# Medians and spreads of logarithms.
MAIN = {"capacitor-run": (15.0, 1.1), "split-phase": (2.5, 0.9), "compressor": (3.0, 0.9), "well-pump": (2.5, 0.8)}
RATIO = {"capacitor-run": (1.6, 0.3), "split-phase": (3.6, 0.35), "compressor": (2.5, 0.45), "well-pump": (2.5, 0.45)}
TAP, SLOW, PHASE, EQUAL, EQUAL_PHASES = (0.3, 0.6), (1.5, 0.35), (4.0, 1.1), 0.03, 0.01
MOTORS = {"capacitor-run": 0.35, "split-phase": 0.2, "compressor": 0.15, "well-pump": 0.1, "three-phase": 0.2}


def arrangement(motor, odds, stations, sections, latents, inner=0, first_lead_open=LEAD_OPEN):
    """stations: role and terminals; sections: from, to, median, {latent: weight}."""
    return dict(motor=motor, odds=odds * MOTORS[motor], stations=stations, sections=sections, latents=latents, inner=inner,
                leads_open=[first_lead_open] + [LEAD_OPEN] * (sum(len(t) for _, t in stations) - 1))


def common_run_start(motor, odds):
    (main, size), (ratio, spread) = MAIN[motor], RATIO[motor]
    return arrangement(motor, odds, [("common", [0]), ("run", [1]), ("start", [2])],
                       [(0, 1, main, {0: size}), (0, 2, main * ratio, {0: size, 1: spread})], 2,
                       first_lead_open=OVERLOAD_OPEN if motor == "compressor" else LEAD_OPEN)


def three_leads():
    found = [common_run_start(motor, odds) for motor, odds in
             [("capacitor-run", 0.25), ("split-phase", 0.4), ("compressor", 1.0), ("well-pump", 1.0)]]
    main, size = MAIN["capacitor-run"]
    found.append(arrangement("capacitor-run", 0.1, [("common", [0]), ("either direction", [1]), ("either direction", [2])],
                             [(0, 1, main, {0: size, 1: EQUAL}), (0, 2, main, {0: size, 2: EQUAL})], 3))
    lines = [("line", [0]), ("line", [1]), ("line", [2])]
    for inner, ends in [(1, [(0, 3), (1, 3), (2, 3)]), (0, [(0, 1), (1, 2), (2, 0)])]:
        coils = [(a, b, PHASE[0], {0: PHASE[1], 1 + k: EQUAL_PHASES}) for k, (a, b) in enumerate(ends)]
        found.append(arrangement("three-phase", 0.25, lines, coils, 4, inner))
    return found


def split_phase_four_leads():
    (main, size), (ratio, spread) = MAIN["split-phase"], RATIO["split-phase"]
    return [
        arrangement("split-phase", 0.4, [("run winding", [0, 1]), ("start winding", [2, 3])],
                    [(0, 1, main, {0: size}), (2, 3, main * ratio, {0: size, 1: spread})], 2),
        arrangement("split-phase", 0.15, [("common", [0]), ("fast", [1]), ("slow", [2]), ("start", [3])],
                    [(0, 1, main, {0: size}), (0, 2, main * SLOW[0], {0: size, 1: SLOW[1]}),
                     (0, 3, main * ratio, {0: size, 2: spread})], 3),
    ]


def three_speeds():
    (main, size), (ratio, spread) = MAIN["capacitor-run"], RATIO["capacitor-run"]
    stations = [("common", [0]), ("fast", [1]), ("medium", [2]), ("slow", [3]), ("start", [4])]
    taps = [(0, 1, main, {0: size}), (1, 2, main * TAP[0], {0: size, 1: TAP[1]}), (2, 3, main * TAP[0], {0: size, 2: TAP[1]})]
    return [arrangement("capacitor-run", odds, stations, taps + [(start, 4, main * ratio, {0: size, 3: spread})], 4)
            for odds, start in [(0.45, 0), (0.15, 1)]]


CASES = [
    dict(name="a compressor read all round", leads=3, known={"motor": "compressor"}, of=three_leads,
         readings=[(0, 1, 4.0), (0, 2, 11.0), (1, 2, 15.0)]),
    dict(name="a compressor with two readings", leads=3, known={"motor": "compressor"},
         of=three_leads, readings=[(0, 1, 4.2), (0, 2, 6.1)]),
    dict(name="a compressor whose overload may be open", leads=3, known={"motor": "compressor"}, of=three_leads,
         readings=[(0, 1, INF), (0, 2, INF), (1, 2, 15.0)]),
    dict(name="a well pump, three readings that do not add up", leads=3, known={"motor": "well-pump"}, of=three_leads,
         readings=[(0, 1, 2.7), (0, 2, 5.1), (1, 2, 9.6)]),
    dict(name="three leads, nothing known, equal readings", leads=3, known={}, of=three_leads,
         readings=[(0, 1, 8.1), (0, 2, 8.0), (1, 2, 8.1)]),
    dict(name="three leads, nothing known, one twice the others", leads=3, known={}, of=three_leads,
         readings=[(0, 1, 5.1), (0, 2, 5.0), (1, 2, 10.2)]),
    dict(name="split-phase, four leads, separate windings", leads=4, known={"motor": "split-phase"},
         of=split_phase_four_leads, readings=[(0, 2, 2.2), (0, 1, INF), (1, 3, 5.2)]),
    dict(name="split-phase, four leads, a stray path", leads=4, known={"motor": "split-phase"},
         of=split_phase_four_leads, readings=[(0, 1, 1.4), (0, 2, 2.4), (1, 2, 3.6), (0, 3, 5.1), (2, 3, 75.0)]),
    dict(name="three speeds, some pairs, one wrong decimal", leads=5, known={"motor": "capacitor-run", "speeds": 3},
         of=three_speeds,
         readings=[(0, 1, 13.0), (0, 2, 19.1), (0, 3, 24.0), (0, 4, 30.2), (1, 4, 43.1), (1, 2, 6.2), (2, 4, 4.91)]),
    dict(name="three speeds, four pairs only", leads=5, known={"motor": "capacitor-run", "speeds": 3}, of=three_speeds,
         readings=[(0, 1, 13.0), (0, 2, 19.1), (0, 3, 25.0), (0, 4, 22.2)]),
]


def sigma(value):
    return np.sqrt((METER_SHARE * value + METER_OHMS) ** 2 / 3 + CONTACT**2 + (DRIFT * value) ** 2)


def wrong_density(value):
    # Flat over nine decades and below the lowest of them.
    return (1 - GROSS_OPEN) / (max(value, 0.1) * (1 + math.log(1e9)))


class Hypothesis:
    """An arrangement with a section or a lead open, and the readings between its terminals."""

    def __init__(self, arr, broken, pairs, shown):
        self.arr, self.broken, self.pairs, self.shown = arr, broken, pairs, shown
        terminals = sum(len(t) for _, t in arr["stations"])
        self.nodes = terminals + arr["inner"] + 1
        self.loose = broken[1] if broken[0] == "lead" else None
        self.sections = [s for k, s in enumerate(arr["sections"]) if broken != ("section", k)]
        label = list(range(self.nodes))
        for a, b, _, _ in self.sections:
            old, new = label[a], label[b]
            label = [new if x == old else x for x in label]
        self.net = lambda t: self.nodes - 1 if t == self.loose else t
        self.grounds = [label.index(island) for island in set(label)]
        self.joined = [label[self.net(a)] == label[self.net(b)] for a, b in pairs]

    def ohms(self, z):
        """Ohms of all readings for draws z (one a row)."""
        matrix = np.zeros((len(z), self.nodes, self.nodes))
        for a, b, median, weights in self.sections:
            g = np.exp(-sum(w * z[:, k] for k, w in weights.items())) / median
            matrix[:, a, a] += g
            matrix[:, b, b] += g
            matrix[:, a, b] -= g
            matrix[:, b, a] -= g
        # One node of each island is held; no current flows there, so that it moves no ohms.
        scale = np.einsum("kii->ki", matrix).max(axis=1)
        for ground in self.grounds:
            matrix[:, ground, ground] += scale
        inverse = np.linalg.inv(matrix)
        columns = []
        for (a, b), joined in zip(self.pairs, self.joined):
            a, b = self.net(a), self.net(b)
            columns.append(inverse[:, a, a] + inverse[:, b, b] - 2 * inverse[:, a, b] if joined else np.full(len(z), INF))
        return np.stack(columns, axis=1)

    def log_target(self, z):
        """Prior times likelihood."""
        ohms = self.ohms(z)
        log = -0.5 * (z**2).sum(1) - 0.5 * z.shape[1] * math.log(2 * math.pi)
        for column, shown in enumerate(self.shown):
            log = log + self.log_reading(shown, ohms[:, column])
        return log

    def log_reading(self, shown, ohms):
        if shown == INF:
            right = (1 - GROSS) if np.isinf(ohms).all() else 0.0
            return np.full(len(ohms), math.log(right + GROSS * GROSS_OPEN))
        gross = GROSS * wrong_density(shown)
        if np.isinf(ohms).all():
            return np.full(len(ohms), math.log(gross))
        s = sigma(shown)
        return np.log((1 - GROSS) * np.exp(-0.5 * ((shown - ohms) / s) ** 2) / (s * math.sqrt(2 * math.pi)) + gross)

    def bound(self):
        """The most that the readings can say."""
        total = 0.0
        for shown, joined in zip(self.shown, self.joined):
            total += float(self.log_reading(shown, np.array([shown if joined and shown < INF else (1.0 if joined else INF)]))[0])
        return total

    def start(self, left_out):
        """Gauss-Newton with some readings left out: mean and covariance of a draw."""
        use = [k for k, (s, j) in enumerate(zip(self.shown, self.joined)) if j and s < INF and k not in left_out]
        count = self.arr["latents"]
        target = np.array([self.shown[k] for k in use])
        spread = sigma(target)
        z = np.zeros(count)
        for _ in range(60):
            steps = np.vstack([z, z + 1e-5 * np.eye(count)])
            ohms = self.ohms(steps)[:, use] / spread
            jacobian = ((ohms[1:] - ohms[0]) / 1e-5).T
            matrix = np.eye(count) + jacobian.T @ jacobian
            step = np.linalg.solve(matrix, jacobian.T @ (target / spread - ohms[0]) - z)
            step *= min(1.0, 1.0 / max(abs(step).max(), 1e-12))
            z = z + step
            if abs(step).max() < 1e-7:
                break
        return z, np.linalg.inv(matrix)

    def log_evidence(self, rng):
        count = self.arr["latents"]
        readable = [k for k, (s, j) in enumerate(zip(self.shown, self.joined)) if j and s < INF]
        sets = [()] + [(k,) for k in readable]
        if len(readable) <= 3:
            sets += list(itertools.combinations(readable, 2)) + list(itertools.combinations(readable, 3))
        starts = [self.start(left_out) for left_out in sets] + [(np.zeros(count), np.eye(count))]
        freedom = 6.0
        draws, factors = [], []
        for mean, covariance in starts:
            factor = np.linalg.cholesky(1.2 * covariance)
            factors.append((mean, factor))
            normal = rng.standard_normal((DRAWS, count))
            scale = np.sqrt(freedom / rng.chisquare(freedom, DRAWS))
            draws.append(mean + (normal * scale[:, None]) @ factor.T)
        z = np.concatenate(draws)
        logs = []
        for mean, factor in factors:
            y = np.linalg.solve(factor, (z - mean).T)
            logs.append(math.lgamma((freedom + count) / 2) - math.lgamma(freedom / 2)
                        - count / 2 * math.log(freedom * math.pi) - np.log(np.diag(factor)).sum()
                        - (freedom + count) / 2 * np.log1p((y**2).sum(0) / freedom))
        proposal = np.logaddexp.reduce(logs, axis=0) - math.log(len(factors))
        log_weights = self.log_target(z) - proposal
        top = log_weights.max()
        return top + math.log(np.exp(log_weights - top).mean())


def answers(number, case):
    arrangements = [a for a in case["of"]() if case["known"].get("motor", a["motor"]) == a["motor"]]
    total_odds = sum(a["odds"] for a in arrangements)
    shown = [value for _, _, value in case["readings"]]
    hypotheses = []
    for arr in arrangements:
        breaks = [(("none", None), 1.0)]
        breaks += [(("section", k), SECTION_OPEN) for k in range(len(arr["sections"]))]
        breaks += [(("lead", k), odds) for k, odds in enumerate(arr["leads_open"])]
        sum_breaks = sum(odds for _, odds in breaks)
        for broken, odds in breaks:
            for lead_at in itertools.permutations(range(case["leads"])):
                terminal_of = {lead: terminal for terminal, lead in enumerate(lead_at)}
                pairs = tuple(tuple(sorted((terminal_of[a], terminal_of[b]))) for a, b, _ in case["readings"])
                prior = arr["odds"] / total_odds * odds / sum_breaks / math.factorial(case["leads"])
                hypothesis = Hypothesis(arr, broken, pairs, shown)
                stations = sorted([role, sorted(lead_at[t] for t in terminals)] for role, terminals in arr["stations"])
                hypotheses.append((hypothesis, math.log(prior), json.dumps(stations)))
    none = math.log(NONE_OF_THESE) + sum(math.log(GROSS_OPEN if s == INF else wrong_density(s)) for s in shown)
    # The same network met at the same terminals is integrated once.
    known, best = {}, none
    weights = []
    for hypothesis, prior, answer in sorted(hypotheses, key=lambda h: -(h[0].bound() + h[1])):
        if hypothesis.bound() + prior < best - 14:
            continue
        key = (arrangements.index(hypothesis.arr), hypothesis.broken, hypothesis.pairs)
        if key not in known:
            # Draws of its own: which of two equal bounds comes first hangs on the last digit, that is on the processor.
            known[key] = hypothesis.log_evidence(np.random.default_rng([number, *repr(key).encode()]))
        weights.append((known[key] + prior, answer))
        best = max(best, weights[-1][0])
    total = np.logaddexp.reduce([w for w, _ in weights] + [none])
    shares = {}
    for weight, answer in weights:
        shares[answer] = shares.get(answer, 0.0) + math.exp(weight - total)
    listed = sorted(((share, answer) for answer, share in shares.items() if share > 1e-4), reverse=True)
    return [dict(stations=json.loads(answer), probability=share) for share, answer in listed], math.exp(none - total)


def compute(most_leads):
    cases = []
    for number, case in enumerate(CASES):
        if case["leads"] > most_leads:
            continue
        found, none = answers(number, case)
        readings = [[a, b, "open" if value == INF else value] for a, b, value in case["readings"]]
        cases.append(dict(name=case["name"], leads=case["leads"], known=case["known"], readings=readings, answers=found,
                          none_of_these=none))
    return dict(about="Computed by reference/leads.py; do not edit.", cases=cases)


def close(a, b):
    if isinstance(a, dict):
        return isinstance(b, dict) and a.keys() == b.keys() and all(close(a[k], b[k]) for k in a)
    if isinstance(a, list):
        return isinstance(b, list) and len(a) == len(b) and all(close(x, y) for x, y in zip(a, b))
    if isinstance(a, float) and isinstance(b, (int, float)):
        return abs(a - b) <= TOLERANCE * max(1.0, abs(a))
    return a == b


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--check", action="store_true", help="compare with the stored figures instead of writing them")
    parser.add_argument("--all", action="store_true", help="check the larger cases too")
    arguments = parser.parse_args()
    most_leads = 3 if arguments.check and not arguments.all else 5
    found = json.loads(json.dumps(compute(most_leads)))
    if arguments.check:
        stored = json.loads(TARGET.read_text())
        stored["cases"] = [case for case in stored["cases"] if case["leads"] <= most_leads]
        if not close(stored, found):
            sys.exit(f"{TARGET.relative_to(ROOT)} is not what this program computes")
        print(f"{TARGET.relative_to(ROOT)}: as computed")
    else:
        TARGET.write_text(json.dumps(found, indent=1) + "\n")


if __name__ == "__main__":
    main()
