"""Cheapest ways through small test-sequencing problems, by trying every order: what the planner is compared with.

Pure Python. Worlds are names in frozensets, costs are looked up move by move; the recursion remembers what it has met.
`python reference/plan.py` writes crates/diagnosis/tests/data/plan.json; with --check it works everything out anew and
compares with what is written there.
"""

import json
import random
import sys
from functools import lru_cache
from pathlib import Path

FILE = Path(__file__).parent.parent / "crates/diagnosis/tests/data/plan.json"
CASES = 200


def draw(source):
    """One random problem: at most 6 worlds and 8 tests, with arrangements and housings."""
    worlds = source.randint(2, 6)
    arrangements = source.randint(1, 3)
    housings = source.randint(0, 3)
    weights = [source.uniform(0.02, 1.0) for _ in range(worlds)]
    total = sum(weights)
    change = [[0.0 if a == b else source.uniform(0.5, 4.0) for b in range(arrangements)] for a in range(arrangements)]
    return {
        "weights": [weight / total for weight in weights],
        "classes": [source.randrange(source.choice([2, worlds])) for _ in range(worlds)],
        "tests": [
            {
                "cells": [source.randrange(source.choice([2, 2, 3])) for _ in range(worlds)],
                "own": source.uniform(1.0, 6.0),
                "arrangement": source.randrange(arrangements),
                "housings": [h for h in range(housings) if source.random() < 0.35],
            }
            for _ in range(source.randint(1, 8))
        ],
        "change": change,
        "change_opening": [[cost + 1.0 for cost in row] for row in change],
        "housings": [source.uniform(1.0, 10.0) for _ in range(housings)],
        "settled": source.choice([0.95, 1.0]),
    }


def least(problem):
    """Least expected cost: every test is tried at every point."""
    weights, classes = problem["weights"], problem["classes"]

    def is_over(left):
        total = sum(weights[w] for w in left)
        by_class = {}
        for w in left:
            by_class[classes[w]] = by_class.get(classes[w], 0.0) + weights[w] / total
        if max(by_class.values()) >= problem["settled"] - 1e-12:
            return True
        return not any(
            test["cells"][a] != test["cells"][b]
            for test in problem["tests"]
            for a in left
            for b in left
            if classes[a] != classes[b]
        )

    @lru_cache(maxsize=None)
    def cost(left, opened, arrangement):
        if is_over(left):
            return 0.0
        total = sum(weights[w] for w in left)
        found = float("inf")
        for test in problem["tests"]:
            cells = {}
            for w in left:
                cells.setdefault(test["cells"][w], set()).add(w)
            if len(cells) == 1:
                continue
            closed = set(test["housings"]) - opened
            table = problem["change_opening" if closed else "change"]
            here = test["own"] + table[arrangement][test["arrangement"]] + sum(problem["housings"][h] for h in closed)
            now_open = opened | frozenset(test["housings"])
            for cell in cells.values():
                share = sum(weights[w] for w in cell) / total
                here += share * cost(frozenset(cell), now_open, test["arrangement"])
            found = min(found, here)
        return found

    return cost(frozenset(range(len(weights))), frozenset(), 0)


def main():
    source = random.Random(1990)
    cases = [draw(source) for _ in range(CASES)]
    for case in cases:
        case["least"] = least(case)
    if "--check" in sys.argv:
        written = json.loads(FILE.read_text())
        off = max(abs(a["least"] - b["least"]) for a, b in zip(written, cases, strict=True))
        same = all({**a, "least": 0} == {**b, "least": 0} for a, b in zip(written, cases))
        if off > 1e-9 or not same:
            sys.exit(f"plan.json is out of date: off by {off}")
        print(f"{len(cases)} problems agree, {sum(case['least'] > 0 for case in cases)} of them with something to find")
    else:
        FILE.write_text("[\n" + ",\n".join(json.dumps(case) for case in cases) + "\n]\n")


main()
