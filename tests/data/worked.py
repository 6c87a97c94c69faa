#!/usr/bin/env python3
"""Works out two examples that tests state, each in two ways, and prints them.

Run with numpy 2.4.6 and scipy 1.17.1 (pip install numpy==2.4.6 scipy==1.17.1):
    python3 worked.py
The line through pocket depths is for tests/suite/coupon.rs, the histogram for src/artwork/bitmap/tones.rs.
"""

import math

import numpy
import scipy


def line():
    """Least squares by sums, and by scipy's `linregress`; intervals of 95 % by Student's t."""
    depths = [(1, 0.42), (1, 0.45), (2, 0.83), (2, 0.88), (3, 1.27), (3, 1.22), (4, 1.71), (4, 1.66)]
    x, y = [at for at, _ in depths], [depth for _, depth in depths]
    count, middle, mean = len(x), sum(x) / len(x), sum(y) / len(y)
    squares = sum((at - middle) ** 2 for at in x)
    slope = sum((at - middle) * (depth - mean) for at, depth in depths) / squares
    intercept = mean - slope * middle
    deviation = math.sqrt(sum((depth - intercept - slope * at) ** 2 for at, depth in depths) / (count - 2))
    t = scipy.stats.t.ppf(0.975, count - 2)
    of_slope, of_intercept = deviation / math.sqrt(squares), deviation * math.sqrt(1 / count + middle**2 / squares)
    found = scipy.stats.linregress(x, y)
    ours, theirs = [slope, intercept, of_slope, of_intercept], [*found[:2], found.stderr, found.intercept_stderr]
    assert numpy.allclose(ours, theirs, rtol=1e-12)
    print(f"slope {slope:.4f} +- {t * of_slope:.4f}, intercept {intercept:.4f} +- {t * of_intercept:.4f}")
    # One more pocket of three passes: the interval of a single new reading.
    within = t * deviation * math.sqrt(1 + 1 / count + (3 - middle) ** 2 / squares)
    print(f"deviation {deviation:.5f}; three passes {intercept + 3 * slope:.3f} +- {within:.4f}")


def histogram():
    """Between-class variances (Otsu 1979): from the classes' own means, and as all variance less that within the classes."""
    counts = [8, 7, 2, 6, 9, 4]
    pixels = numpy.repeat(range(len(counts)), counts).astype(float)
    told = []
    for last in range(len(counts) - 1):
        low, high = pixels[pixels <= last], pixels[pixels > last]
        shares = len(low) / len(pixels), len(high) / len(pixels)
        between = shares[0] * shares[1] * (low.mean() - high.mean()) ** 2
        assert math.isclose(between, pixels.var() - shares[0] * low.var() - shares[1] * high.var())
        told.append(f"{between:.6f}")
    print("between-class variances " + ", ".join(told))


if __name__ == "__main__":
    print(f"numpy {numpy.__version__}, scipy {scipy.__version__}")
    line()
    histogram()
