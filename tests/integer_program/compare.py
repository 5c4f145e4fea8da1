"""The choice of bands against an integer program: python3 compare.py LIBRARY.so

An independent road to the same answer, for more bands than every set can be tried for. Compares
the fewest numbers and, at that count, the largest mean silence. Ends with "N passed, N failed".
"""
import ctypes
import sys

import numpy as np
from scipy.optimize import LinearConstraint

from program import OK, TOO_LITTLE, Program, choose, members

CASES = 60


def humps(random, rows, numbers, low, high, width):
    centre = random.uniform(low, high, (rows, 2)) * numbers
    spread = random.uniform(*width, (rows, 2)) * numbers
    n = np.arange(numbers)
    row = sum(np.exp(-0.5 * ((n - centre[:, [i]]) / spread[:, [i]]) ** 2) + 0.01 for i in (0, 1))
    return np.ascontiguousarray(row / row.sum(axis=1, keepdims=True))


def agree(library, seed):
    random = np.random.default_rng(seed)
    numbers, at_most = int(random.integers(24, 41)), int(random.integers(3, 5))
    sand = humps(random, 2, numbers, 0.2, 0.6, (0.01, 0.04))
    loss = humps(random, 6, numbers, 0.3, 0.9, (0.03, 0.10))
    quiet, max_loss = random.uniform(0.7, 0.9), random.uniform(0.4, 0.95)
    status, choice = choose(library, sand, loss, at_most, quiet, max_loss)
    program = Program(sand, loss, at_most, quiet, max_loss)
    fewest = program.solve(np.ones(numbers))
    if fewest is None or status != OK:
        return (TOO_LITTLE if fewest is None else OK) == status, fewest is not None
    inside = members(choice, numbers)
    whole = np.concatenate([np.ones(numbers), np.zeros(numbers)])
    program.rows.append(LinearConstraint(whole, 0, fewest))
    sounding = 1 - sand.sum(axis=1).mean()
    mean = sounding - program.solve(-sand.mean(axis=0))
    right = (program.within(inside) and inside.sum() == fewest == choice.numbers
             and abs(mean - choice.mean_silence) < 1e-7)
    if not right:
        print(f"seed {seed}: wanted {fewest:g} numbers, mean silence {mean:.9f}; "
              f"got {choice.numbers}, {choice.mean_silence:.9f}")
    return right, True


def main():
    library = ctypes.CDLL(sys.argv[1])
    results = [agree(library, seed) for seed in range(CASES)]
    passed, possible = (sum(r[i] for r in results) for i in (0, 1))
    print(f"bands: {possible} of {CASES} cases with a set within the limits")
    print(f"integer program: {passed} passed, {CASES - passed} failed")
    sys.exit(0 if passed == CASES else 1)


main()
