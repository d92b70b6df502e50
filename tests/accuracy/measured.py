"""Statistics of measured numbers and of ranks, with 50 digits, from the definitions. The numbers are the doubles as they are stored."""
from mpmath import mp, mpf

from high_precision import (
    chi_quantile, chi_upper, f_quantile, f_tails, jackknife, normal_cdf, normal_quantile, solve, t_quantile, t_upper,
)

LEVEL = mpf(0.95)


def mean(values):
    return sum(values) / len(values)


def numbers(rows):
    return [[None if x is None else mpf(x) for x in row] for row in rows]


def without(rows, clusters, patient):
    return [row for row, own in zip(rows, clusters) if own != patient]


def patients(data):
    return sorted(set(data["clusters"]))


def left_out(data, function):
    rows = numbers(data["rows"])
    return [function(without(rows, data["clusters"], patient)) for patient in patients(data)]


def two_way(rows):
    n, k = len(rows), len(rows[0])
    of_row = [mean(row) for row in rows]
    of_column = [mean([row[j] for row in rows]) for j in range(k)]
    grand = mean(of_row)
    residual = sum((rows[i][j] - of_row[i] - of_column[j] + grand) ** 2 for i in range(n) for j in range(k))
    within = sum((rows[i][j] - of_row[i]) ** 2 for i in range(n) for j in range(k))
    return {
        "n": n, "k": k,
        "targetMeanSquare": k * sum((m - grand) ** 2 for m in of_row) / (n - 1),
        "assessorMeanSquare": n * sum((m - grand) ** 2 for m in of_column) / (k - 1),
        "residualMeanSquare": residual / ((n - 1) * (k - 1)),
        "withinMeanSquare": within / (n * (k - 1)),
    }


def one_way(rows):
    rows = [[x for x in row if x is not None] for row in rows]
    rows = [row for row in rows if row]
    n, total = len(rows), sum(len(row) for row in rows)
    grand = sum(sum(row) for row in rows) / total
    between = sum(len(row) * (mean(row) - grand) ** 2 for row in rows) / (n - 1)
    within = sum((x - mean(row)) ** 2 for row in rows for x in row) / (total - n)
    effective = (total - mpf(sum(len(row) ** 2 for row in rows)) / total) / (n - 1)
    return {"n": n, "targetMeanSquare": between, "withinMeanSquare": within, "effectiveReadings": effective,
            "targetVariance": (between - within) / effective, "within degrees": total - n}


def single(rows, form):
    if form == "one-way":
        t = one_way(rows)
        return t["targetVariance"] / (t["targetVariance"] + t["withinMeanSquare"])
    t = two_way(rows)
    target = (t["targetMeanSquare"] - t["residualMeanSquare"]) / t["k"]
    assessor = (t["assessorMeanSquare"] - t["residualMeanSquare"]) / t["n"]
    return target / (target + t["residualMeanSquare"] + (assessor if form == "agreement" else 0))


def satterthwaite(parts):
    return sum(x for x, _ in parts) ** 2 / sum(x * x / degrees for x, degrees in parts)


def intraclass(data):
    rows, form = numbers(data["rows"]), data["form"]
    value = single(rows, form)
    table = one_way(rows) if form == "one-way" else two_way(rows)
    result = {name: table[name] for name in table if name.endswith(("Square", "Variance", "Readings"))}
    k = table["effectiveReadings"] if form == "one-way" else mpf(table["k"])
    average = data["unit"] == "average"
    m = mpf(data.get("averagedOver") or k)
    up = (lambda rho: m * rho / (1 + (m - 1) * rho)) if average else (lambda rho: rho)
    result["value"] = up(value)
    if data["interval"] == "asymptotic":
        low_tail = 1 - (1 - LEVEL) / 2
        n = table["n"]
        if form == "agreement":
            c, e, r = table["assessorMeanSquare"], table["residualMeanSquare"], table["targetMeanSquare"]
            a = k * value / (n * (1 - value))
            b = 1 + k * value * (n - 1) / (n * (1 - value))
            v = satterthwaite([(a * c, k - 1), (b * e, (n - 1) * (k - 1))])
            low, high = f_quantile(low_tail, n - 1, v), f_quantile(low_tail, v, n - 1)
            rest = k * c + (k * n - k - n) * e
            limits = n * (r - low * e) / (low * rest + n * r), n * (high * r - e) / (rest + n * high * r)
        else:
            square = table["withinMeanSquare" if form == "one-way" else "residualMeanSquare"]
            f = table["targetMeanSquare"] / square
            d1, d2 = n - 1, table["within degrees"] if form == "one-way" else (n - 1) * (table["k"] - 1)
            result["f"] = f
            low, high = f / f_quantile(low_tail, d1, d2), f * f_quantile(low_tail, d2, d1)
            limits = (low - 1) / (low + k - 1), (high - 1) / (high + k - 1)
        result["lower"], result["upper"] = map(up, limits)
        return result
    made = jackknife(value, left_out(data, lambda rows: single(rows, form)), "fisher")
    slope = m / (1 + (m - 1) * value) ** 2 if average else 1
    return {**result, "standardError": slope * made["standardError"], "lower": up(made["lower"]), "upper": up(made["upper"])}


def intraclass_test(data):
    rows, form, rho = numbers(data["rows"]), data["form"], mpf(data["null"])
    t = one_way(rows) if form == "one-way" else two_way(rows)
    n = t["n"]
    if form == "agreement":
        k = t["k"]
        parts = [(k * rho / (n * (1 - rho)) * t["assessorMeanSquare"], k - 1),
                 ((1 + k * rho * (n - 1) / (n * (1 - rho))) * t["residualMeanSquare"], (n - 1) * (k - 1))]
        f, degrees = t["targetMeanSquare"] / sum(x for x, _ in parts), satterthwaite(parts)
    else:
        k = t["effectiveReadings"] if form == "one-way" else t["k"]
        degrees = t["within degrees"] if form == "one-way" else (n - 1) * (k - 1)
        square = t["withinMeanSquare" if form == "one-way" else "residualMeanSquare"]
        f = t["targetMeanSquare"] / square * (1 - rho) / (1 + (k - 1) * rho)
    return {"statistic": f, "denominatorDegrees": mpf(degrees), "pValue": f_tails(f, n - 1, degrees)[1]}


def components(data):
    rows = numbers(data["rows"])

    def of(rows):
        if data["model"] == "one-way":
            t = one_way(rows)
            return {"target": t["targetVariance"], "residual": t["withinMeanSquare"]}
        t = two_way(rows)
        return {"target": (t["targetMeanSquare"] - t["residualMeanSquare"]) / t["k"],
                "assessor": (t["assessorMeanSquare"] - t["residualMeanSquare"]) / t["n"],
                "residual": t["residualMeanSquare"]}

    result = {}
    for name, value in of(rows).items():
        result[name] = value
        made = jackknife(value, left_out(data, lambda rows: of(rows)[name]), "log" if name == "residual" else "plain")
        result.update({f"{name} {key}": x for key, x in made.items()})
    return result


def concordance(data):
    rows = numbers(data["rows"])
    divisor = data["divisor"]

    def of(rows):
        rows = [row for row in rows if None not in row]
        n, k = len(rows), len(rows[0])
        less = n if divisor == "n" else n - 1
        m = [mean([row[j] for row in rows]) for j in range(k)]
        s = [[sum((row[i] - m[i]) * (row[j] - m[j]) for row in rows) / less for j in range(k)] for i in range(k)]
        top = bottom = mpf(0)
        for i in range(k):
            for j in range(i + 1, k):
                top += 2 * s[i][j]
                bottom += s[i][i] + s[j][j] + (m[i] - m[j]) ** 2
        return top / bottom, m, s, n

    value, m, s, n = of(rows)
    result = {"value": value}
    if data["interval"] == "cluster-robust":
        result.update(jackknife(value, left_out(data, lambda rows: of(rows)[0]), "fisher"))
    elif len(m) == 2 and divisor == "n":
        r = s[0][1] / mp.sqrt(s[0][0] * s[1][1])
        u2 = (m[0] - m[1]) ** 2 / mp.sqrt(s[0][0] * s[1][1])
        variance = ((1 - r**2) * value**2 * (1 - value**2) / r**2 + 2 * value**3 * (1 - value) * u2 / r
                    - value**4 * u2**2 / (2 * r**2)) / (n - 2)
        error = mp.sqrt(variance)
        reach = normal_quantile((1 + LEVEL) / 2) * error / (1 - value**2)
        result.update({"pearson": r, "standardError": error, "lower": mp.tanh(mp.atanh(value) - reach),
                       "upper": mp.tanh(mp.atanh(value) + reach),
                       "scaleShift": mp.sqrt(s[0][0] / s[1][1]), "biasCorrection": value / r,
                       "locationShift": (m[0] - m[1]) / mp.sqrt(mp.sqrt(s[0][0] * s[1][1]))})
    return result


def spread(data):
    """Standard error of measurement and what is a multiple of it."""
    rows = numbers(data["rows"])

    def of(rows):
        if data["definition"] == "consistency":
            return mp.sqrt(two_way(rows)["residualMeanSquare"])
        kept = [[x for x in row if x is not None] for row in rows]
        kept = [row for row in kept if len(row) > 1]
        return mp.sqrt(sum((x - mean(row)) ** 2 for row in kept for x in row) / sum(len(row) - 1 for row in kept))

    value, factor = of(rows), mpf(1)
    if data["multiple"] == "change":
        factor = normal_quantile((1 + LEVEL) / 2) * mp.sqrt(2)
    if data["interval"] == "cluster-robust":
        rows_left = [of(rows_) for rows_ in (without(rows, data["clusters"], p) for p in patients(data)
                                              if any(len([x for x in row if x is not None]) > 1
                                                     for row, own in zip(rows, data["clusters"]) if own == p))]
        made = jackknife(value, rows_left, "log")
        return {"value": factor * value, **{name: factor * x for name, x in made.items()}}
    if data["definition"] == "consistency":
        degrees = mpf((len(rows) - 1) * (len(rows[0]) - 1))
    elif data["columns"] == "repeats" or any(None in row for row in rows):
        degrees = mpf(sum(len([x for x in row if x is not None]) - 1 for row in rows if any(x is not None for x in row)))
    else:
        t = two_way(rows)
        n, k = t["n"], t["k"]
        degrees = satterthwaite([(t["assessorMeanSquare"] / n, k - 1),
                                 ((n - 1) * t["residualMeanSquare"] / n, (n - 1) * (k - 1))])
    tail = (1 - LEVEL) / 2
    limit = lambda p: factor * value * mp.sqrt(degrees / chi_quantile(p, degrees))
    return {"value": factor * value, "standardError": factor * value / mp.sqrt(2 * degrees),
            "lower": limit(1 - tail), "upper": limit(tail), "degreesOfFreedom": degrees}


def noncentral_t_upper(x, degrees, delta):
    """P(T > x), as an integral over the chi distribution of the divisor."""
    degrees = mpf(degrees)
    center = mp.log(mp.sqrt((degrees - 1 if degrees > 1 else degrees) / degrees))
    logarithm = mp.log(2) + degrees / 2 * mp.log(degrees / 2) - mp.loggamma(degrees / 2)

    def integrand(v):
        u = mp.exp(v)
        return mp.exp(logarithm + degrees * v - degrees * u * u / 2) * mp.erfc((x * u - delta) / mp.sqrt(2)) / 2

    width = 1 / mp.sqrt(2 * degrees)
    points = [center + width * at for at in (-24 if degrees > 8 else -60, -8, -3, 0, 3, 8, 24)]
    return mp.quad(integrand, points)


def one_sided_factor(n, content, confidence):
    mp.dps = 30
    n = mpf(n)
    delta = mp.sqrt(n) * normal_quantile(content)
    root = solve(lambda x: 1 - noncentral_t_upper(x, n - 1, delta) - mpf(confidence), mpf(-4), 40 * delta)
    mp.dps = 50
    return root / mp.sqrt(n)


def two_sided_factor(n, content, confidence):
    """mean ± k s holds `content` with `confidence`: an outer integral over the mean, the radius by Newton's method."""
    mp.dps = 25
    n, content = mpf(n), mpf(content)

    def radius(x):
        r = normal_quantile((1 + content) / 2) + x
        for _ in range(100):
            outside = (mp.erfc((x + r) / mp.sqrt(2)) + mp.erfc((r - x) / mp.sqrt(2))) / 2
            step = (1 - content - outside) / (mp.npdf(x + r) + mp.npdf(x - r))
            r -= step
            if abs(step) < mpf(10) ** -22:
                return r
        return r

    nodes = []
    reach, steps = 11 / mp.sqrt(n), 240
    for at in range(steps + 1):  # The integrand is even and smooth: the trapezoid rule converges faster than any power.
        x = reach * at / steps
        nodes.append((mp.exp(-n * x * x / 2) * (HALF_END if at == 0 else 1), radius(x)))
    scale = mp.sqrt(2 * n / mp.pi) * reach / steps

    def held(k):
        return scale * sum(w * chi_upper((n - 1) * (r / k) ** 2, n - 1) for w, r in nodes)

    root = solve(lambda k: held(k) - mpf(confidence), normal_quantile((1 + content) / 2) / 4, mpf(60))
    mp.dps = 50
    return root


HALF_END = mpf(1) / 2


def tolerance(data):
    n, content, confidence = data["n"], data["content"], data["confidence"]
    return {"one-sided": one_sided_factor(n, content, confidence), "two-sided": two_sided_factor(n, content, confidence)}


def limits(data):
    """Limits of agreement of pairs read once, a target a patient: bias, spread, limits with intervals, the slope on the mean."""
    rows = [row for row in numbers(data["rows"]) if None not in row]
    d = [a - b for a, b in rows]
    n = len(d)
    bias = mean(d)
    sd = mp.sqrt(sum((x - bias) ** 2 for x in d) / (n - 1))
    z = normal_quantile((1 + LEVEL) / 2)
    t = t_quantile((1 + LEVEL) / 2, n - 1)
    result = {"bias": bias, "bias lower": bias - t * sd / mp.sqrt(n), "bias upper": bias + t * sd / mp.sqrt(n),
              "spread": sd, "lower": bias - z * sd, "upper": bias + z * sd}
    if data["limitInterval"] == "exact":
        low, high = (one_sided_factor(n, (1 + LEVEL) / 2, p) for p in ((1 - LEVEL) / 2, (1 + LEVEL) / 2))
        result.update({"upper lower": bias + low * sd, "upper upper": bias + high * sd,
                       "lower lower": bias - high * sd, "lower upper": bias - low * sd})
    else:
        error = sd * mp.sqrt(mpf(3) / n) if data["limitInterval"] == "1986" else sd * mp.sqrt(mpf(1) / n + z * z / (2 * (n - 1)))
        for name, at in (("lower", bias - z * sd), ("upper", bias + z * sd)):
            result.update({f"{name} lower": at - t * error, f"{name} upper": at + t * error})
    a = [(x + y) / 2 for x, y in rows]
    center = mean(a)
    square = sum((x - center) ** 2 for x in a)
    slope = sum((x - center) * (y - bias) for x, y in zip(a, d)) / square
    rest = sum((y - bias - slope * (x - center)) ** 2 for x, y in zip(a, d))
    error = mp.sqrt(rest / (n - 2) / square)
    result.update({"slope": slope, "slope error": error, "intercept": bias - slope * center,
                   "slope p": 2 * t_upper(abs(slope / error), n - 2)})
    return result


def kendall_w(data):
    def of(rows):
        rows = [row for row in rows if None not in row]
        n, m = len(rows), len(rows[0])
        sums, ties = [mpf(0)] * n, mpf(0)
        for j in range(m):
            column = [row[j] for row in rows]
            for i, x in enumerate(column):
                below, same = sum(y < x for y in column), sum(y == x for y in column)
                sums[i] += below + mpf(same + 1) / 2
            for x in set(column):
                t = column.count(x)
                ties += t**3 - t
        squares = sum((s - mean(sums)) ** 2 for s in sums)
        return 12 * squares / (m * m * mpf(n**3 - n) - m * ties), n, m

    rows = numbers(data["rows"])
    value, n, m = of(rows)
    result = {"value": value, "chiSquare": m * (n - 1) * value}
    if "clusters" in data:
        kept = [p for p in patients(data) if any(None not in row for row, own in zip(rows, data["clusters"]) if own == p)]
        result.update(jackknife(value, [of(without(rows, data["clusters"], p))[0] for p in kept], "logit"))
    else:
        result["pValue"] = chi_upper(m * (n - 1) * value, n - 1)
    return result


def kendall_tau(data):
    def of(rows):
        score = x_pairs = y_pairs = 0
        sign = lambda v: (v > 0) - (v < 0)
        for i in range(len(rows)):
            for j in range(i):
                a, b = sign(rows[i][0] - rows[j][0]), sign(rows[i][1] - rows[j][1])
                score += a * b
                x_pairs += a * a
                y_pairs += b * b
        return mpf(score) / mp.sqrt(mpf(x_pairs) * y_pairs), score

    pairs = [(row, own) for row, own in zip(data["rows"], data.get("clusters", range(len(data["rows"])))) if None not in row]
    rows = [row for row, _ in pairs]
    value, score = of(rows)
    result = {"value": value}
    own = [c for _, c in pairs]
    result.update(jackknife(value, [of(without(rows, own, p))[0] for p in sorted(set(own))], "fisher"))
    if "clusters" in data:
        return result
    n = len(rows)
    if all(len({row[j] for row in rows}) == n for j in (0, 1)):
        ways = [1]
        for size in range(2, n + 1):
            following = [0] * (len(ways) + size - 1)
            for inversions, c in enumerate(ways):
                for more in range(size):
                    following[inversions + more] += c
            ways = following
        fewest = (n * (n - 1) // 2 - abs(score)) // 2
        result["pValue"] = min(mpf(1), 2 * mpf(sum(ways[: fewest + 1])) / mp.factorial(n))
        return result
    counts = [[[row[j] for row in rows].count(x) for x in {row[j] for row in rows}] for j in (0, 1)]
    fives = lambda t: t * (t - 1) * (2 * t + 5)
    threes = lambda t: t * (t - 1) * (t - 2)
    twos = lambda t: t * (t - 1)
    variance = (mpf(fives(n) - sum(map(fives, counts[0])) - sum(map(fives, counts[1]))) / 18
                + mpf(sum(map(threes, counts[0])) * sum(map(threes, counts[1]))) / (9 * threes(n))
                + mpf(sum(map(twos, counts[0])) * sum(map(twos, counts[1]))) / (2 * twos(n)))
    result["scoreVariance"] = variance
    result["pValue"] = 2 * normal_cdf(-abs(score) / mp.sqrt(variance))
    return result


def univariate(data):
    """Mean, standard deviation and lag-one autocorrelation of the NIST univariate sets."""
    x = [mpf(v) for v in data["values"]]
    m = mean(x)
    square = sum((v - m) ** 2 for v in x)
    return {"mean": m, "standardDeviation": mp.sqrt(square / (len(x) - 1)),
            "autocorrelation": sum((a - m) * (b - m) for a, b in zip(x, x[1:])) / square}
