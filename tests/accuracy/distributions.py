"""Tails and quantiles of the distributions over extreme arguments, with 50 digits."""
from mpmath import mp, mpf

from high_precision import (
    beta_quantile, beta_tails, chi_lower, chi_quantile, chi_upper, f_quantile, f_tails, normal_cdf, normal_quantile, t_quantile, t_upper,
)


mp.dps = 40


def value(data):
    what, a = data["what"], [mpf(x) for x in data["arguments"]]
    if what == "normal.cdf":
        result = normal_cdf(a[0])
    elif what == "normal.upper":
        result = normal_cdf(-a[0])
    elif what == "normal.quantile":
        result = normal_quantile(a[0])
    elif what == "studentT.upper":
        result = t_upper(*a)
    elif what == "studentT.cdf":
        result = t_upper(-a[0], a[1])
    elif what == "studentT.quantile":
        result = t_quantile(*a)
    elif what == "chiSquare.cdf":
        result = chi_lower(*a)
    elif what == "chiSquare.upper":
        result = chi_upper(*a)
    elif what == "chiSquare.quantile":
        result = chi_quantile(*a)
    elif what == "fisherF.cdf":
        result = f_tails(*a)[0]
    elif what == "fisherF.upper":
        result = f_tails(*a)[1]
    elif what == "fisherF.quantile":
        result = f_quantile(*a)
    elif what == "beta.cdf":
        result = beta_tails(a[0], 1 - a[0], a[1], a[2])[0]
    elif what == "beta.upper":
        result = beta_tails(a[0], 1 - a[0], a[1], a[2])[1]
    elif what == "beta.quantile":
        result = beta_quantile(*a)
    elif what == "binomial.cdf":
        x, n, p = a
        result = mpf(1) if x >= n else beta_tails(1 - p, p, n - x, x + 1)[0]
    elif what == "lnGamma":
        result = mp.loggamma(a[0])
    return {what: result}
