#!/usr/bin/python3
"""Times the choice of bands beside HiGHS on the same problems: bands_peer.py LIBRARY.so

Invented beaches of three zones and ten kept targets (30 rows of loss): sand with heavy tails a
quarter up the scale, targets above it. HiGHS only finds the fewest numbers; the library breaks the
ties as well.
"""
import ctypes
import pathlib
import sys
import time

import numpy as np

sys.path.insert(0, str(pathlib.Path(__file__).parents[1] / "integer_program"))
from program import NOT_CONVERGED, OK, TOO_LITTLE, Program, choose  # noqa: E402

ZONES, TARGETS = 3, 10
QUIET, MAX_LOSS = 0.95, 0.05
RULES = ("bb_bands_choose", "bb_bands_gold_first", "bb_bands_quiet_first")


def rows(random, count, numbers, centre, width, share):
    n = np.arange(numbers) / numbers
    x = (n - random.uniform(*centre, (count, 1))) / random.uniform(*width, (count, 1))
    row = np.exp(-x * x / 2) + 0.3 / (1 + x * x / 5) ** 3
    return np.ascontiguousarray(row * random.uniform(*share, (count, 1)) / row.sum(axis=1, keepdims=True))


def beach(seed, numbers):
    random = np.random.default_rng(seed)
    return (rows(random, ZONES, numbers, (0.20, 0.30), (0.010, 0.025), (0.9, 1.0)),
            rows(random, ZONES * TARGETS, numbers, (0.36, 0.90), (0.020, 0.050), (1.0, 1.0)))


def least_ms(call, rounds):
    least = float("inf")
    for _ in range(rounds):
        began = time.perf_counter()
        result = call()
        least = min(least, 1e3 * (time.perf_counter() - began))
    return least, result


def main():
    library = ctypes.CDLL(sys.argv[1])
    print("choice of bands, ms a problem; 3 zones, 30 rows of loss\n"
          "                  median  9 of 10  largest  not proved")
    for at_most, numbers, beaches, peers, rounds in ((2, 100, 100, 20, 5), (8, 1000, 24, 1, 2)):
        times, ok, stopped, ratios = {rule: [] for rule in RULES}, 0, dict.fromkeys(RULES, 0), []
        for seed in range(beaches):
            sand, loss = beach(seed, numbers)
            problem = (library, sand, loss, at_most, QUIET, MAX_LOSS)
            for rule in RULES:
                taken, (status, _) = least_ms(lambda: choose(*problem, rule), rounds)
                times[rule].append(taken)
                stopped[rule] += status == NOT_CONVERGED
                if rule != RULES[0]:
                    continue
                ok += status == OK
                if seed < peers:
                    program = Program(*problem[1:])
                    peer, fewest = least_ms(lambda: program.solve(np.ones(numbers)), 1)
                    assert (fewest is None) == (status == TOO_LITTLE)
                    ratios.append(peer / taken)
                if status == OK:  # the other two rules are for when there is no such set
                    break
        print(f"{at_most} bands, {numbers} numbers: {ok} of {beaches} have a set within the limits; "
              f"HiGHS takes {np.median(ratios):.0f} times as long as choose")
        for rule in RULES:
            print(f"  {rule[9:]:14} {np.median(times[rule]):8.3f} "
                  f"{np.quantile(times[rule], 0.9):8.3f} {max(times[rule]):8.3f}  {stopped[rule]:8}")


main()
