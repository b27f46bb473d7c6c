"""How many values of variants NumPy computes per second, on networks written by the bench of the crate `circuit`.

Reads, from standard input, a nodal matrix (complex, by rows), what is injected, pairs of nets that are read and pairs of
branches that are changed at once, and does the same work in two ways: one batched dense solution for every variant, and
rank-2 updates with kept columns, batched over all variants. Prints both in values per second and their largest
difference from each other.

    FAULTWRIGHT_PYTHON=python3 cargo bench -p circuit --bench variants      runs it beside the crate
    python reference/variants_speed.py --check                              says whether the two ways agree
"""

import json
import sys
import time

import numpy as np


def phasors(pairs):
    pairs = np.array(pairs)
    return pairs[..., 0] + 1j * pairs[..., 1]


def incidence(size, pairs):
    """One column for every pair of nets, the reference left out."""
    matrix = np.zeros((size, len(pairs)))
    for column, (plus, minus) in enumerate(pairs):
        for net, sign in ((plus, 1.0), (minus, -1.0)):
            if net > 0:
                matrix[net - 1, column] += sign
    return matrix


def fastest(work, seconds=2.0):
    best, values, end = np.inf, None, time.perf_counter() + seconds
    while time.perf_counter() < end:
        began = time.perf_counter()
        values = work()
        best = min(best, time.perf_counter() - began)
    return best, values


def invented(size=9, branches=6, seed=5):
    """A small network as the bench would hand it over, for the check that both ways agree."""
    rng = np.random.default_rng(seed)
    admittances = rng.uniform(0.1, 2.0, (size, size)) * np.exp(1j * rng.uniform(-1.2, 1.2, (size, size)))
    matrix = -(admittances + admittances.T)
    np.fill_diagonal(matrix, 0.0)
    np.fill_diagonal(matrix, -matrix.sum(axis=1) + rng.uniform(0.1, 1.0, size))
    split = lambda values: [[value.real, value.imag] for value in values]
    ends = [[int(a), int(b)] for a, b in (rng.choice(size + 1, 2, replace=False) for _ in range(branches))]
    return dict(matrix=[split(row) for row in matrix], injected=split(rng.standard_normal(size) + 0j), branches=ends,
                readings=[[1, 0], [2, 5]], sizes=split(rng.uniform(0.2, 3.0, branches) * np.exp(0.4j)),
                pairs=[[a, b] for a in range(branches) for b in range(a)])


def main(checks):
    given = invented() if checks else json.load(sys.stdin)
    matrix, injected = phasors(given["matrix"]), phasors(given["injected"])
    size = len(matrix)
    reads, ends = incidence(size, given["readings"]), incidence(size, given["branches"])
    sizes = phasors(given["sizes"])
    pairs = np.array(given["pairs"])
    count = len(pairs) * reads.shape[1]

    def dense(batch=200):
        values = []
        for start in range(0, len(pairs), batch):
            chosen = pairs[start:start + batch]
            touched = ends[:, chosen].transpose(1, 0, 2)
            changed = matrix + (touched * sizes[chosen][:, None, :]) @ touched.transpose(0, 2, 1)
            solved = np.linalg.solve(changed, np.broadcast_to(injected[:, None], (len(chosen), size, 1)))
            values.append(solved[:, :, 0] @ reads)
        return np.concatenate(values)

    columns, base = np.linalg.solve(matrix, ends), np.linalg.solve(matrix, injected)
    between, touched, influence, readings = ends.T @ columns, ends.T @ base, reads.T @ columns, reads.T @ base

    def updated():
        first, second = pairs.T
        a, d = 1.0 + sizes[first] * between[first, first], 1.0 + sizes[second] * between[second, second]
        b, c = sizes[first] * between[first, second], sizes[second] * between[second, first]
        one, two = sizes[first] * touched[first], sizes[second] * touched[second]
        determinant = a * d - b * c
        one, two = (d * one - b * two) / determinant, (a * two - c * one) / determinant
        return readings - one[:, None] * influence.T[first] - two[:, None] * influence.T[second]

    if checks:
        difference = float(np.abs(dense() - updated()).max())
        print(f"updates and dense solutions of {len(pairs)} variants differ by {difference:.1e} at most")
        return 0 if difference < 1e-12 else 1
    dense_seconds, solved = fastest(dense)
    update_seconds, values = fastest(updated)
    print(json.dumps({
        "dense_per_second": count / dense_seconds,
        "updates_per_second": count / update_seconds,
        "difference": float(np.abs(solved - values).max() / np.abs(solved).max()),
        "first": [float(solved[0, 0].real), float(solved[0, 0].imag)],
    }))
    return 0


if __name__ == "__main__":
    sys.exit(main("--check" in sys.argv))
