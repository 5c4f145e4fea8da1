#!/usr/bin/python3
"""Writes repeated_readings.csv: several whole numbers read from one normal quantity.

Shared error by adaptive quadrature; the chances without outliers were compared with boxes of
scipy.stats.multivariate_normal to its own accuracy (1e-6 relative or better).
"""
import numpy as np
import scipy
from scipy import integrate
from scipy.stats import norm

OUTLIERS, NUMBERS = 0.01, 81
CASES = [
    (40, 0.5, 0.3, (40, 40)), (40, 0.5, 2, (40, 40)), (40, 0.5, 2, (43, 43)),
    (40, 0.5, 2, (43, 37)), (40.3, 0.8, 6, (40, 41, 41)), (40.3, 0.8, 6, (31, 32, 31)),
    (78, 1, 3, (80, 80)), (78, 1, 3, (80, 75)), (2, 0.7, 4, (0, 0, 3)), (40, 1, 1, (38, 41, 44)),
]


def chance(mean, own, common, numbers):
    def given(u):
        product = norm.pdf(u)
        for n in numbers:
            low = -np.inf if n == 0 else n - 0.5
            high = np.inf if n == NUMBERS - 1 else n + 0.5
            centre = mean + common * u
            p = norm.cdf((high - centre) / own) - norm.cdf((low - centre) / own)
            product *= (1 - OUTLIERS) * p + OUTLIERS / NUMBERS
        return product
    points = sorted({min(max((n - mean) / common, -8), 8) for n in numbers})
    return integrate.quad(given, -9, 9, points=points, epsabs=1e-16, epsrel=1e-10, limit=900)[0]


print("# Chance of whole numbers read one after the other from one normal quantity: mean plus an error of")
print("# sd_common that all readings share plus one of sd_own for each. Scale 0 to 80 in steps of 1, its")
print("# ends open; each reading is with a chance of 0.01 any number of the scale. repeated_readings.py")
print("mean,sd_own,sd_common,first,second,third,chance,source")
for mean, own, common, numbers in CASES:
    third = numbers[2] if len(numbers) == 3 else ""
    print(f"{mean},{own},{common},{numbers[0]},{numbers[1]},{third},"
          f"{chance(mean, own, common, numbers):.10e},COMPUTED SciPy {scipy.__version__}")
