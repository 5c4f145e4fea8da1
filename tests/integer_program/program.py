"""The choice of bands through the library, and the same problem as an integer program.

One 0/1 variable a number and one a beginning of a band, solved by HiGHS (scipy.optimize.milp).
"""
import ctypes
import sys

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp

BANDS_MAX = 8
OK, TOO_LITTLE, NOT_CONVERGED = 0, 4, 5


class Problem(ctypes.Structure):
    _fields_ = [("numbers", ctypes.c_size_t), ("zones", ctypes.c_size_t),
                ("losses", ctypes.c_size_t), ("sand", ctypes.c_void_p),
                ("loss", ctypes.c_void_p), ("at_most", ctypes.c_int),
                ("quiet", ctypes.c_double), ("max_loss", ctypes.c_double),
                ("patience", ctypes.c_double)]


class Choice(ctypes.Structure):
    _fields_ = [("count", ctypes.c_int), ("band", ctypes.c_int * (2 * BANDS_MAX)),
                ("numbers", ctypes.c_int), ("worst_silence", ctypes.c_double),
                ("mean_silence", ctypes.c_double), ("worst_loss", ctypes.c_double),
                ("proved", ctypes.c_bool), ("fewest", ctypes.c_int),
                ("most_silence", ctypes.c_double), ("least_loss", ctypes.c_double)]


def choose(library, sand, loss, at_most, quiet, max_loss, rule="bb_bands_choose"):
    """Status and choice of one of the library's rules."""
    problem = Problem(sand.shape[1], len(sand), len(loss), sand.ctypes.data, loss.ctypes.data,
                      at_most, quiet, max_loss, 0)
    choice = Choice()
    return getattr(library, rule)(ctypes.byref(problem), ctypes.byref(choice)), choice


def members(choice, numbers):
    inside = np.zeros(numbers, bool)
    for b in range(choice.count):
        inside[choice.band[2 * b]:choice.band[2 * b + 1] + 1] = True
    return inside


class Program:
    """Sets of at most at_most bands within the limits."""

    def __init__(self, sand, loss, at_most, quiet, max_loss):
        numbers = sand.shape[1]
        self.numbers, self.sand, self.loss = numbers, sand, loss
        self.quiet, self.max_loss = quiet, max_loss
        begins = np.eye(numbers) - np.eye(numbers, k=-1)
        none = np.zeros((1, numbers))
        self.rows = [
            LinearConstraint(np.hstack([begins, -np.eye(numbers)]), -np.inf, 0),
            LinearConstraint(np.hstack([none, none + 1]), 0, at_most),
            LinearConstraint(np.hstack([sand, np.zeros_like(sand)]),
                             quiet - 1 + sand.sum(axis=1) - 1e-12, np.inf),
            LinearConstraint(np.hstack([loss, np.zeros_like(loss)]), -np.inf, max_loss + 1e-12),
        ]

    def within(self, inside):
        return ((self.sand[:, ~inside].sum(axis=1) <= 1 - self.quiet + 1e-12).all()
                and (self.loss[:, inside].sum(axis=1) <= self.max_loss + 1e-12).all())

    def solve(self, cost):
        """Least cost over the sets, or None. A set that is within the limits only by the solver's
        tolerance is cut off and the program solved again."""
        while True:
            found = milp(np.concatenate([cost, np.zeros(self.numbers)]), constraints=self.rows,
                         integrality=np.ones(2 * self.numbers), bounds=Bounds(0, 1),
                         options={"mip_rel_gap": 0})
            if found.status == 2:
                return None
            if found.status != 0:
                sys.exit("the integer program was not solved: " + found.message)
            inside = found.x[:self.numbers] > 0.5
            if self.within(inside):
                return float(cost @ inside)
            sign = np.where(inside, 1.0, -1.0)
            self.rows.append(LinearConstraint(np.concatenate([sign, np.zeros(self.numbers)]),
                                              -np.inf, inside.sum() - 1))
