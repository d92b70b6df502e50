"""Distributions and small helpers with 50 digits, by mpmath, for the other reference files here."""
from mpmath import mp, mpf

mp.dps = 50
HALF = mpf(1) / 2


def normal_cdf(x):
    return mp.erfc(-mpf(x) / mp.sqrt(2)) / 2


def normal_quantile(p):
    p = mpf(p)
    if p == HALF:
        return mpf(0)
    sign = 1 if p > HALF else -1
    tail = min(p, 1 - p)
    x = mp.sqrt(2) * mp.erfinv(1 - 2 * tail) if tail > mpf("1e-30") else mp.sqrt(-2 * mp.log(tail))
    for _ in range(60):
        f = mp.log(mp.erfc(x / mp.sqrt(2)) / 2) - mp.log(tail)
        slope = -mp.npdf(x) / (mp.erfc(x / mp.sqrt(2)) / 2)
        step = f / slope
        x -= step
        if abs(step) < mpf(10) ** -40 * abs(x):
            break
    return sign * x


def beta_tails(x, y, a, b):
    """Lower and upper tail of the beta distribution at x = 1 − y, each without cancellation."""
    a, b, x, y = mpf(a), mpf(b), mpf(x), mpf(y)
    if x <= 0:
        return mpf(0), mpf(1)
    if y <= 0:
        return mpf(1), mpf(0)

    def fraction(x, y, a, b):
        # Lentz's continued fraction, which converges fast for x < (a + 1)/(a + b + 2).
        tiny = mpf(10) ** -200
        c, d = mpf(1), 1 - (a + b) * x / (a + 1)
        d = 1 / (d if d != 0 else tiny)
        h = d
        for m in range(1, 200000):
            even = m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m))
            d = 1 + even * d
            d = 1 / (d if d != 0 else tiny)
            c = 1 + even / c
            if c == 0:
                c = tiny
            h *= d * c
            odd = -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1))
            d = 1 + odd * d
            d = 1 / (d if d != 0 else tiny)
            c = 1 + odd / c
            if c == 0:
                c = tiny
            h *= d * c
            if abs(d * c - 1) < mpf(10) ** (-mp.dps + 5):
                break
        front = a * mp.log(x) + b * mp.log(y) - mp.log(a) - (mp.loggamma(a) + mp.loggamma(b) - mp.loggamma(a + b))
        return mp.exp(front) * h

    if x < (a + 1) / (a + b + 2):
        low = fraction(x, y, a, b)
        return low, 1 - low
    high = fraction(y, x, b, a)
    return 1 - high, high


def f_tails(x, a, b):
    x, a, b = mpf(x), mpf(a), mpf(b)
    return beta_tails(a * x / (a * x + b), b / (a * x + b), a / 2, b / 2)


def t_upper(x, degrees):
    x, degrees = mpf(x), mpf(degrees)
    tail = beta_tails(degrees / (degrees + x * x), x * x / (degrees + x * x), degrees / 2, HALF)[0] / 2
    return tail if x >= 0 else 1 - tail


def gamma_tails(a, x):
    """Lower and upper tail of the gamma distribution with shape a: a series below the mean, Lentz's continued fraction above."""
    a, x = mpf(a), mpf(x)
    if x <= 0:
        return mpf(0), mpf(1)
    least = mpf(10) ** (-mp.dps + 5)
    front = mp.exp(a * mp.log(x) - x - mp.loggamma(a))
    if x < a + 1:
        term = total = 1 / a
        at = a
        while term > total * least:
            at += 1
            term *= x / at
            total += term
        return front * total, 1 - front * total
    b = x + 1 - a
    c = 1 / mpf(10) ** -200
    d = 1 / b
    h = d
    for i in range(1, 1000000):
        an = -i * (i - a)
        b += 2
        d = 1 / (an * d + b)
        c = b + an / c
        h *= d * c
        if abs(d * c - 1) < least:
            break
    return 1 - front * h, front * h


def chi_upper(x, degrees):
    return gamma_tails(mpf(degrees) / 2, mpf(x) / 2)[1]


def chi_lower(x, degrees):
    return gamma_tails(mpf(degrees) / 2, mpf(x) / 2)[0]


def solve(function, low, high, log=False):
    """Root of a monotone function between two places: bisection a few times, then false position with the Illinois rule."""
    to, back = (mp.log, mp.exp) if log else (lambda x: x, lambda x: x)
    low, high = to(mpf(low)), to(mpf(high))
    f_low, f_high = function(back(low)), function(back(high))
    if f_low == 0:
        return back(low)
    for turn in range(300):
        if turn < 8:
            middle = (low + high) / 2
        else:
            middle = (low * f_high - high * f_low) / (f_high - f_low)
        f = function(back(middle))
        if f == 0:
            return back(middle)
        if (f > 0) == (f_high > 0):
            if turn >= 8:
                f_low /= 1 if not same_side_high else 2
            same_side_high = True
            moved = abs(high - middle)
            high, f_high = middle, f
        else:
            if turn >= 8:
                f_high /= 1 if same_side_high else 2
            same_side_high = False
            moved = abs(low - middle)
            low, f_low = middle, f
        if turn > 8 and moved < mpf(10) ** -24 * max(abs(middle), mpf(10) ** -24):
            break
    return back(middle)


def positive_quantile(p, tails, upper=None):
    """Where the lower tail reaches p (or the upper one `upper`), for a distribution on 0 … ∞; `tails` gives both tails."""
    p = mpf(p)
    lower = p < HALF
    target = mp.log(p if lower else 1 - p if upper is None else upper)

    def gap(x):
        tail = tails(x)[0 if lower else 1]
        value = mp.log(tail) - target if tail > 0 else -mpf(10) ** 9
        return value if lower else -value

    low, high = mpf(1), mpf(1)
    if gap(mpf(1)) > 0:
        step = mpf(2)
        while gap(low) > 0:
            high, low, step = low, low / step, step * step
    else:
        while gap(high) < 0:
            low, high = high, high * 4
    return solve(gap, low, high, log=True)


def chi_quantile(p, degrees):
    return positive_quantile(p, lambda x: gamma_tails(mpf(degrees) / 2, x / 2))


def f_quantile(p, a, b):
    return positive_quantile(p, lambda x: f_tails(x, a, b))


def t_quantile(p, degrees):
    p = mpf(p)
    if p == HALF:
        return mpf(0)
    tail = min(p, 1 - p)
    x = positive_quantile(1 - 2 * tail, lambda x: (1 - 2 * t_upper(x, degrees), 2 * t_upper(x, degrees)), 2 * tail)
    return x if p > HALF else -x


def beta_quantile(p, a, b):
    ratio = positive_quantile(p, lambda r: beta_tails(r / (1 + r), 1 / (1 + r), a, b))
    return ratio / (1 + ratio)


def solve_linear(matrix, right):
    """A solution of a symmetric, possibly singular but consistent system, and the rank; elimination with pivots."""
    size = len(right)
    rows = [[mpf(x) for x in row] + [mpf(right[i])] for i, row in enumerate(matrix)]
    scale = max([abs(x) for row in rows for x in row[:-1]] + [mpf(1)])
    pivots = []
    at = 0
    for column in range(size):
        best = max(range(at, size), key=lambda i: abs(rows[i][column]), default=None)
        if best is None or abs(rows[best][column]) < scale * mpf(10) ** -35:
            continue
        rows[at], rows[best] = rows[best], rows[at]
        for i in range(size):
            if i != at and rows[i][column] != 0:
                factor = rows[i][column] / rows[at][column]
                rows[i] = [x - factor * y for x, y in zip(rows[i], rows[at])]
        pivots.append(column)
        at += 1
        if at == size:
            break
    solution = [mpf(0)] * size
    for i, column in enumerate(pivots):
        solution[column] = rows[i][-1] / rows[i][column]
    return solution, len(pivots)


SCALES = {
    "fisher": (mp.atanh, lambda v: 1 / (1 - v * v), mp.tanh),
    "logit": (lambda v: mp.log(v / (1 - v)), lambda v: 1 / (v * (1 - v)), lambda z: 1 / (1 + mp.exp(-z))),
    "log": (mp.log, lambda v: 1 / v, mp.exp),
    "plain": (lambda v: v, lambda v: mpf(1), lambda z: z),
}


def jackknife(value, left_out, scale, level=mpf(0.95)):
    """Standard error and t interval from the values without each patient in turn, degrees of freedom by the kurtosis."""
    k = len(left_out)
    mean = sum(left_out) / k
    squares = [(x - mean) ** 2 for x in left_out]
    second, fourth = sum(squares), sum(s * s for s in squares)
    error = mp.sqrt(mpf(k - 1) / k * second)
    if second == 0 or abs(value) == 1 and scale == "fisher" or value in (0, 1) and scale == "logit":
        return {"standardError": error, "lower": mp.nan, "upper": mp.nan}
    kurtosis = k * fourth / second**2
    degrees = max(mpf(1), min(mpf(k - 1), 2 * mpf(k - 1) / (kurtosis - 1)))
    to, slope, back = SCALES[scale]
    reach = t_quantile((1 + level) / 2, degrees) * slope(value) * error
    return {"standardError": error, "lower": back(to(value) - reach), "upper": back(to(value) + reach)}
