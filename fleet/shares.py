"""A share of looks with how sure it is. Pure."""

from math import sqrt

# two-sided 95 % of the normal distribution
Z_95 = 1.959963984540054


def score_interval(found: int, looked: int) -> tuple[float, float]:
    """Return the 95 % score interval of a share, both ends between 0 and 1.

    ``found`` of ``looked`` looks. Method: E. B. Wilson, Probable inference, the law of
    succession, and statistical inference, J. Am. Stat. Assoc. 22 (1927) 209-212, without
    correction for continuity.

    Raises ValueError for no looks, or more found than looked at.
    """
    if looked < 1 or not 0 <= found <= looked:
        raise ValueError(f"{found} of {looked} is no share")
    share, z2 = found / looked, Z_95**2
    middle = (share + z2 / (2 * looked)) / (1 + z2 / looked)
    half = Z_95 * sqrt(share * (1 - share) / looked + z2 / (4 * looked**2)) / (1 + z2 / looked)
    return max(0.0, middle - half), min(1.0, middle + half)
