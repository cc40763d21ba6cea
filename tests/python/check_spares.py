"""Compares the cover of spares with scipy and with exact arithmetic.

Reads lines `lambda stock cover ebo` from standard input, as the example `spares_table` prints them, and asserts
that the cover agrees with scipy's Poisson distribution, and the expected backorders with a sum in 50-digit
arithmetic (the closed form over scipy's tail cancels), both within 1e-12 relative. Needs scipy and mpmath.
"""

import sys

from mpmath import mp, mpf
from scipy.stats import poisson

TOLERANCE = 1e-12
mp.dps = 50


def expected_backorders(mean: float, stock: int) -> mpf:
    """Sum over x > stock of (x - stock) p(x)."""
    exact_mean = mpf(mean)
    demand = stock + 1
    probability = mp.exp(-exact_mean) * exact_mean**demand / mp.factorial(demand)
    total = mpf(0)
    while True:
        term = (demand - stock) * probability
        total += term
        if demand > 2 * mean + 1 and term < total * mpf(10) ** -30:
            return total
        demand += 1
        probability *= exact_mean / demand


def relative(found: float, wanted: float) -> float:
    return float(abs(found - wanted) / abs(wanted))


def main() -> int:
    worst_cover = worst_backorders = 0.0
    lines = 0
    for line in sys.stdin:
        mean_text, stock_text, cover_text, backorders_text = line.split()
        mean, stock = float(mean_text), int(stock_text)
        worst_cover = max(worst_cover, relative(float(cover_text), poisson.cdf(stock, mean)))
        error = relative(mpf(float(backorders_text)), expected_backorders(mean, stock))
        worst_backorders = max(worst_backorders, error)
        lines += 1
    print(f"{lines} lines; worst relative error: cover {worst_cover:.2e}, expected backorders {worst_backorders:.2e}")
    if lines == 0:
        print("nothing to compare", file=sys.stderr)
        return 1
    return 0 if max(worst_cover, worst_backorders) <= TOLERANCE else 1


if __name__ == "__main__":
    sys.exit(main())
