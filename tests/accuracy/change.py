"""Change over time, units, planning and teaching, with 50 digits, from the definitions."""
from mpmath import mp, mpf

from high_precision import (
    HALF, beta_quantile, beta_tails, chi_quantile, chi_upper, f_quantile, f_tails, normal_cdf, normal_quantile, solve, t_quantile,
)

LEVEL = mpf(0.95)
Z = normal_quantile((1 + LEVEL) / 2)


def rows_of(data):
    return list(zip(map(mpf, data["entries"]), map(mpf, data["times"]), data["events"]))


def steps(rows):
    for time in sorted({t for _, t, e in rows if e}):
        yield time, sum(s < time <= t for s, t, _ in rows), sum(e and t == time for _, t, e in rows)


def survival(data):
    rows = rows_of(data)
    share, greenwood, hazard, variance = mpf(1), mpf(0), mpf(0), mpf(0)
    result = {}
    for at, (_, n, d) in enumerate(steps(rows)):
        share *= mpf(n - d) / n
        hazard += mpf(d) / n
        variance += mpf(d) / n**2
        result[f"hazard {at}"] = hazard
        result[f"hazard error {at}"] = mp.sqrt(variance)
        if n == d:
            break
        greenwood += mpf(d) / (n * (n - d))
        result[f"survival {at}"] = share
        result[f"error {at}"] = share * mp.sqrt(greenwood)
        reach = Z * mp.sqrt(greenwood) / mp.log(share)
        ends = sorted((share ** mp.exp(reach), share ** mp.exp(-reach)))
        result[f"lower {at}"], result[f"upper {at}"] = ends
    return result


def log_rank(data):
    rows = rows_of(data)
    groups, strata = data["groups"], data.get("strata") or [0] * len(rows)
    gap = variance = mpf(0)
    for stratum in sorted(set(strata)):
        own = [(row, g) for row, g, s in zip(rows, groups, strata) if s == stratum]
        share = mpf(1)
        for time, n, d in steps([row for row, _ in own]):
            first = sum(s < time <= t for (s, t, _), g in own if g == "a")
            seen = sum(e and t == time for (_, t, e), g in own if g == "a")
            weight = share ** mpf(data["rho"])
            share *= mpf(n - d) / n
            gap += weight * (seen - mpf(d) * first / n)
            if n > 1:
                variance += weight**2 * mpf(d) * (n - d) / (n - 1) * first * (n - first) / mpf(n) ** 2
    chi = gap**2 / variance
    return {"statistic": chi, "pValue": chi_upper(chi, 1)}


def cox(data):
    """One covariate, by Newton's method; the sandwich from the score residuals of patients."""
    rows = rows_of(data)
    x = [mpf(v) for v in data["x"]]
    efron = data["ties"] == "efron"

    def sums(b, at_risk, w=lambda i: 1):
        return [sum(mp.exp(b * x[i]) * x[i] ** k * w(i) for i in at_risk) for k in (0, 1, 2)]

    moments = []
    for time in sorted({t for _, t, e in rows if e}):
        risk = [i for i, (s, t, _) in enumerate(rows) if s < time <= t]
        dead = [i for i in risk if rows[i][1] == time and rows[i][2]]
        moments.append((risk, dead))
    b = mpf(0)
    for _ in range(60):
        score = information = mpf(0)
        logarithm = mpf(0)
        for risk, dead in moments:
            whole, own = sums(b, risk), sums(b, dead)
            score += sum(x[i] for i in dead)
            logarithm += sum(b * x[i] for i in dead)
            for r in range(len(dead)):
                share = mpf(r) / len(dead) if efron else mpf(0)
                s = [a - share * o for a, o in zip(whole, own)]
                score -= s[1] / s[0]
                information += s[2] / s[0] - (s[1] / s[0]) ** 2
                logarithm -= mp.log(s[0])
        step = score / information
        b += step
        if abs(step) < mpf(10) ** -40:
            break
    result = {"logRatio": b, "logLikelihood": logarithm, "ratio": mp.exp(b)}
    if not data["patients"]:
        result["standardError"] = 1 / mp.sqrt(information)
        return result
    residual = [mpf(0)] * len(rows)
    for risk, dead in moments:
        whole, own = sums(b, risk), sums(b, dead)
        for r in range(len(dead)):
            share = mpf(r) / len(dead) if efron else mpf(0)
            s = [a - share * o for a, o in zip(whole, own)]
            mean = s[1] / s[0]
            for i in dead:
                residual[i] += (x[i] - mean) / len(dead)
            for i in risk:
                residual[i] -= mp.exp(b * x[i]) * (1 - (share if i in dead else 0)) * (x[i] - mean) / s[0]
    by = {}
    for patient, u in zip(data["patients"], residual):
        by[patient] = by.get(patient, mpf(0)) + u
    k = mpf(len(by))
    result["standardError"] = mp.sqrt(k / (k - 1) * sum(u * u for u in by.values())) / information
    return result


def incidence(data):
    times, kinds = [mpf(t) for t in data["times"]], data["kinds"]
    share, total, result = mpf(1), {}, {}
    for at, time in enumerate(sorted({t for t, k in zip(times, kinds) if k is not None})):
        n = sum(t >= time for t in times)
        all_events = sum(t == time and k is not None for t, k in zip(times, kinds))
        for kind in sorted({k for k in kinds if k is not None}):
            d = sum(t == time and k == kind for t, k in zip(times, kinds))
            total[kind] = total.get(kind, mpf(0)) + share * d / n
            result[f"{kind} {at}"] = total[kind]
        share *= 1 - mpf(all_events) / n
    return result


def turnbull(data):
    """EM over innermost intervals with 50 digits, then Newton's method on the shares that stay positive."""
    left = [mpf(x) for x in data["left"]]
    right = [mp.inf if x is None else mpf(x) for x in data["right"]]
    marks = sorted([(x, 1) for x in set(left)] + [(x, 0) for x in set(right)])
    cells = [(a, b) for (a, is_left), (b, other) in zip(marks, marks[1:]) if is_left == 1 and other == 0]
    inside = [[int(l <= a and b <= r) for a, b in cells] for l, r in zip(left, right)]
    n, m = len(left), len(cells)
    p = [mpf(1) / m] * m
    for _ in range(400):
        own = [sum(c * x for c, x in zip(row, p)) for row in inside]
        p = [x * sum(row[j] / o for row, o in zip(inside, own)) / n for j, x in enumerate(p)]
    # Shares that EM lets vanish: those whose gradient stays below n.
    own = [sum(c * x for c, x in zip(row, p)) for row in inside]
    keep = [j for j in range(m) if p[j] > mpf(10) ** -4 or sum(row[j] / o for row, o in zip(inside, own)) > n * (1 - mpf(10) ** -4)]
    q = mp.matrix([p[j] for j in keep])
    total = sum(q)
    q = q / total
    for _ in range(60):
        own = [sum(row[j] * q[i] for i, j in enumerate(keep)) for row in inside]
        k = len(keep)
        gradient = [sum(row[j] / o for row, o in zip(inside, own)) for j in keep]
        system, side = mp.matrix(k + 1), mp.matrix(k + 1, 1)
        for i in range(k):
            for l in range(k):
                system[i, l] = sum(row[keep[i]] * row[keep[l]] / o**2 for row, o in zip(inside, own))
            system[i, k] = system[k, i] = 1
            side[i] = gradient[i]
        side[k] = 1 - sum(q)
        step = mp.lu_solve(system, side)
        move = [step[i] for i in range(k)]
        reach, emptied = mpf(1), None
        for i in range(k):
            if move[i] < 0 and -q[i] / move[i] <= reach:
                reach, emptied = -q[i] / move[i], i
        q = mp.matrix([q[i] + reach * move[i] for i in range(k)])
        if emptied is not None:
            keep.pop(emptied)
            q = mp.matrix([q[i] for i in range(k) if i != emptied])
            continue
        if max(abs(x) for x in move) < mpf(10) ** -30:
            break
    own = [sum(row[j] * q[i] for i, j in enumerate(keep)) for row in inside]
    return {"logLikelihood": sum(mp.log(o) for o in own),
            **{f"share up to {mp.nstr(cells[j][1], 6)}": q[i] for i, j in enumerate(keep) if q[i] > mpf(10) ** -9}}


def mann_kendall(data):
    score, variance = 0, mpf(0)
    for values in data["series"]:
        n = len(values)
        score += sum((values[j] > values[i]) - (values[j] < values[i]) for i in range(n) for j in range(i + 1, n))
        ties = [values.count(v) for v in set(values)]
        variance += mpf(n * (n - 1) * (2 * n + 5) - sum(t * (t - 1) * (2 * t + 5) for t in ties)) / 18
    z = (abs(score) - 1) / mp.sqrt(variance) * ((score > 0) - (score < 0)) if score else mpf(0)
    return {"score": mpf(score), "variance": variance, "z": z, "pNormal": 2 * normal_cdf(-abs(z))}


def theil_sen(data):
    t, y = [mpf(x) for x in data["times"]], [mpf(x) for x in data["values"]]
    slopes = sorted((y[j] - y[i]) / (t[j] - t[i]) for i in range(len(t)) for j in range(i + 1, len(t)) if t[i] != t[j])
    return {"slope": median(slopes)}


def median(values):
    values = sorted(values)
    n = len(values)
    return (values[(n - 1) // 2] + values[n // 2]) / 2


def superiority(data):
    x, y = data["first"], data["second"]
    n, m = len(x), len(y)
    sign = lambda a, b: mpf((a > b) - (a < b))
    rows = [sum(sign(a, b) for b in y) / m for a in x]
    columns = [sum(sign(a, b) for a in x) / n for b in y]
    delta = sum(rows) / n
    of_rows = sum((r - delta) ** 2 for r in rows)
    of_columns = sum((c - delta) ** 2 for c in columns)
    all_pairs = sum((sign(a, b) - delta) ** 2 for a in x for b in y)
    return {"delta": delta, "probability": (1 + delta) / 2,
            "variance": (mpf(m) ** 2 * of_rows + mpf(n) ** 2 * of_columns - all_pairs) / (mpf(n) * m * (n - 1) * (m - 1))}


def regression(data):
    m, between, error, cut, readings = (mpf(data[k]) for k in ("mean", "betweenLimbs", "error", "cutOff", "readings"))
    total = mp.sqrt(between**2 + error**2 / readings)
    z = (cut - m) / total
    return {"expectedChange": error**2 / readings / total * mp.npdf(z) / normal_cdf(-z)}


def false_progression(data):
    e = [[mpf(x) for x in row] for row in data["matrix"]]
    q, k = len(e), data["grades"]
    total = sum(mpf(pi) * sum(e[g][b] * sum(e[g][j] for j in range(q) if j >= b + k) ** data["consecutive"] for b in range(q))
                for g, pi in enumerate(data["mix"]))
    return {"rate": total}


def chart_constants(data):
    n = data["n"]
    mp.dps = 30
    c4 = mp.sqrt(mpf(2) / (n - 1)) * mp.gamma(mpf(n) / 2) / mp.gamma(mpf(n - 1) / 2)
    # Smooth integrands that vanish at both ends: the trapezoid rule converges faster than any power of its step.
    step = mpf(1) / 8
    d2 = step * sum(1 - normal_cdf(x) ** n - normal_cdf(-x) ** n for x in (step * at for at in range(-104, 105)))

    def beyond(w):
        places = [-w + step * at for at in range(-76, int(8 * w) + 77)]
        return 1 - n * step * sum(mp.npdf(x) * (normal_cdf(x + w) - normal_cdf(x)) ** (n - 1) for x in places)

    d3 = mp.nan
    if n <= 5:
        d3 = mp.sqrt(sum(2 * w * beyond(w) * weight for w, weight in gauss_legendre(36, mpf(0), mpf(14))) - d2**2)
    mp.dps = 50
    result = {"c4": c4, "d2": d2, "A2": 3 / (d2 * mp.sqrt(n)), "A3": 3 / (c4 * mp.sqrt(n)), "E2": 3 / d2,
              "B4": 1 + 3 * mp.sqrt(1 - c4**2) / c4}
    if n <= 5:
        result.update({"d3": d3, "D4": 1 + 3 * d3 / d2})
    return result


def control(data):
    """Center and limits of the charts, at the last point."""
    chart = data["chart"]
    if chart == "proportion":
        x, n = data["counts"], data["sizes"]
        p = mpf(sum(x)) / sum(n)
        sd = mp.sqrt(p * (1 - p) / n[-1])
        if data["limits"] == "spread":
            z = [(mpf(a) / b - p) / mp.sqrt(p * (1 - p) / b) for a, b in zip(x, n)]
            sd *= sum(abs(a - b) for a, b in zip(z, z[1:])) / (len(z) - 1) / (2 / mp.sqrt(mp.pi))
        return {"center": p, "lower": max(mpf(0), p - 3 * sd), "upper": min(mpf(1), p + 3 * sd)}
    if chart == "rate":
        x, n = data["counts"], [mpf(v) for v in data["sizes"]]
        u = mpf(sum(x)) / sum(n)
        sd = mp.sqrt(u / n[-1])
        return {"center": u, "lower": max(mpf(0), u - 3 * sd), "upper": u + 3 * sd}
    if chart == "individuals":
        x = [mpf(v) for v in data["values"]]
        center = sum(x) / len(x)
        sd = sum(abs(a - b) for a, b in zip(x, x[1:])) / (len(x) - 1) / (2 / mp.sqrt(mp.pi))
        return {"center": center, "lower": center - 3 * sd, "upper": center + 3 * sd}
    if chart == "moving-average":
        x, weight = [mpf(v) for v in data["values"]], mpf(data["lambda"])
        z = target = mpf(data["target"])
        for v in x:
            z = weight * v + (1 - weight) * z
        sd = mpf(data["sigma"]) * mp.sqrt(weight / (2 - weight) * (1 - (1 - weight) ** (2 * len(x))))
        return {"value": z, "lower": target - mpf(data["width"]) * sd, "upper": target + mpf(data["width"]) * sd}
    x = [mpf(v) for v in data["values"]]
    target, k = mpf(data["target"]), mpf(data["allowance"])
    up = down = mpf(0)
    for v in x:
        up = max(mpf(0), up + v - target - k)
        down = max(mpf(0), down - v + target - k)
    return {"up": up, "down": down}


def funnel(data):
    x, n = data["counts"], data["sizes"]
    target = mpf(sum(x)) / sum(n)
    z = [(mpf(a) / b - target) / mp.sqrt(target * (1 - target) / b) for a, b in zip(x, n)]
    return {"target": target, "overdispersion": sum(v * v for v in z) / len(z), **{f"z {at}": v for at, v in enumerate(z)}}


def gauss_legendre(n, low, high):
    nodes = []
    for i in range(1, n + 1):
        x = mp.cos(mp.pi * (i - mpf("0.25")) / (n + HALF))
        for _ in range(30):
            p0, p1 = mpf(1), x
            for k in range(2, n + 1):
                p0, p1 = p1, ((2 * k - 1) * x * p1 - (k - 1) * p0) / k
            slope = n * (x * p1 - p0) / (x * x - 1)
            step = p1 / slope
            x -= step
            if abs(step) < mpf(10) ** -28:
                break
        nodes.append((low + (high - low) * (1 + x) / 2, (high - low) / ((1 - x * x) * slope**2)))
    return nodes


def run_length(data):
    mp.dps = 30
    shift = mpf(data["shift"])
    if data["chart"] == "fixed":
        w = mpf(data["width"])
        mp.dps = 50
        return {"average": 1 / (normal_cdf(-w - shift) + normal_cdf(-w + shift))}
    n = 40

    def solved(kernel, low, high, atom):
        nodes = gauss_legendre(n, low, high)
        size = n + (1 if atom else 0)
        a, b = mp.matrix(size), mp.matrix(size, 1)
        places = [y for y, _ in nodes] + ([mpf(0)] if atom else [])
        for i, u in enumerate(places):
            for j, (y, w) in enumerate(nodes):
                a[i, j] = -w * kernel(u, y)
            if atom:
                a[i, n] = -atom(u)
            a[i, i] += 1
            b[i] = 1
        return mp.lu_solve(a, b), nodes

    if data["chart"] == "cusum":
        k, h = mpf(data["allowance"]), mpf(data["decision"])

        def one(delta):
            x, _ = solved(lambda u, y: mp.npdf(y + k - u - delta), mpf(0), h, lambda u: normal_cdf(k - u - delta))
            return x[n]

        result = 1 / (1 / one(shift) + 1 / one(-shift))
    else:
        weight, width = mpf(data["lambda"]), mpf(data["width"])
        h = width * mp.sqrt(weight / (2 - weight))
        kernel = lambda u, y: mp.npdf((y - (1 - weight) * u) / weight - shift) / weight
        x, nodes = solved(kernel, -h, h, None)
        result = 1 + sum(w * kernel(mpf(0), y) * x[j] for j, (y, w) in enumerate(nodes))
    mp.dps = 50
    return {"average": result}


def false_signals(data):
    """Longest run and crossings of n random points: all compositions counted by a recursion in whole numbers (known middle line)."""
    n, longest, least = data["n"], data["longest"], data["least"]
    state = {(1, 1, 0): 2}  # run now, longest run, crossings
    for _ in range(n - 1):
        following = {}
        for (run, most, crossings), ways in state.items():
            for key in ((run + 1, max(most, run + 1), crossings), (1, most, crossings + 1)):
                following[key] = following.get(key, 0) + ways
        state = following
    total = mpf(2) ** n
    long = sum(w for (_, m, c), w in state.items() if m > longest)
    few = sum(w for (_, m, c), w in state.items() if c < least)
    either = sum(w for (_, m, c), w in state.items() if m > longest or c < least)
    return {"longestRun": long / total, "crossings": few / total, "either": either / total}


def bernoulli(data):
    """Average run length and chance of a signal, with exact fractions of the stored chance."""
    fail, good, h, p = data["failure"], data["success"], data["decision"], mpf(data["rate"])
    a, b = mp.matrix(h), mp.matrix(h, 1)
    for s in range(h):
        a[s, s] += 1
        b[s] = 1
        for step, chance in ((fail, p), (good, 1 - p)):
            to = max(0, s + step)
            if to < h:
                a[s, to] -= chance
    result = {"average": mp.lu_solve(a, b)[0]}
    state = [mpf(1)] + [mpf(0)] * (h - 1)
    for _ in range(data["readings"]):
        following = [mpf(0)] * h
        for s, c in enumerate(state):
            for step, chance in ((fail, p), (good, 1 - p)):
                to = max(0, s + step)
                if to < h:
                    following[to] += c * chance
        state = following
    result["within"] = 1 - sum(state)
    return result


def clopper(data):
    x, n, tail = data["agree"], data["readings"], (1 - LEVEL) / 2
    return {"share": mpf(x) / n, "lower": mpf(0) if x == 0 else beta_quantile(tail, x, n - x + 1),
            "upper": mpf(1) if x == n else beta_quantile(1 - tail, x + 1, n - x)}


def wald_lines(data):
    p0, p1, alpha, beta = (mpf(data[k]) for k in ("acceptable", "unacceptable", "alpha", "beta"))
    p, q = mp.log(p1 / p0), mp.log((1 - p0) / (1 - p1))
    return {"expected": q / (p + q), "lower": mp.log((1 - alpha) / beta) / (p + q), "upper": mp.log((1 - beta) / alpha) / (p + q)}


def kappa_variance(pairs, rows, columns):
    po = sum(pairs[i][i] for i in range(len(rows)))
    pe = sum(a * b for a, b in zip(rows, columns))
    q = len(rows)
    first = sum(pairs[i][i] * ((1 - pe) - (rows[i] + columns[i]) * (1 - po)) ** 2 for i in range(q))
    second = (1 - po) ** 2 * sum(pairs[i][j] * (columns[i] + rows[j]) ** 2 for i in range(q) for j in range(q) if i != j)
    return (first + second - (po * pe - 2 * pe + po) ** 2) / (1 - pe) ** 4


def gof_chances(p, kappa):
    s = p * (1 - p)
    return p * p + s * kappa, 2 * s * (1 - kappa), (1 - p) ** 2 + s * kappa


def sample_size(data):
    kind = data["kind"]
    expected, ruled_out = mpf(data["expected"]), mpf(data.get("ruledOut", 0))
    significance, power, sides = mpf(data.get("significance", 0.05)), mpf(data.get("power", 0.8)), data.get("sides", 2)
    if kind == "kappa":
        a, b = (mpf(x) for x in data["rates"])

        def variance(kappa):
            pe = a * b + (1 - a) * (1 - b)
            po = pe + kappa * (1 - pe)
            both = (po - 1 + a + b) / 2
            return kappa_variance([[both, a - both], [b - both, 1 - a - b + both]], [a, 1 - a], [b, 1 - b])

        root = (normal_quantile(1 - significance / sides) * mp.sqrt(variance(ruled_out))
                + normal_quantile(power) * mp.sqrt(variance(expected))) / (expected - ruled_out)
        return {"exact": root**2}
    if kind == "intraclass":
        n = data["readings"]
        odds = lambda r: r / (1 - r)
        ratio = (1 + n * odds(ruled_out)) / (1 + n * odds(expected))
        z = normal_quantile(1 - significance) + normal_quantile(power)
        exact = 1 + 2 * z * z * n / (mp.log(ratio) ** 2 * (n - 1))

        def power_of(k):
            return f_tails(ratio * f_quantile(1 - significance, k - 1, k * (n - 1)), k - 1, k * (n - 1))[1]

        k = max(2, int(exact) - 3)
        while power_of(k) < power:
            k += 1
        return {"exact": exact, "exactFindings": mpf(k), "exactPower": power_of(k)}
    if kind == "precision":
        n, w = data["readings"], mpf(data["width"])
        plain = 8 * Z**2 * (1 - expected) ** 2 * (1 + (n - 1) * expected) ** 2 / (n * (n - 1) * w * w) + 1
        return {"exact": plain + (5 * expected if n == 2 and expected >= mpf(0.7) else 0)}
    p = mpf(data["prevalence"])
    if kind == "goodness of fit":
        bound = normal_quantile(1 - significance / 2)
        root = solve(lambda d: normal_cdf(d - bound) + normal_cdf(-d - bound) - power, mpf(0), mpf(12))
        effect = sum((x - y) ** 2 / y for x, y in zip(gof_chances(p, expected), gof_chances(p, ruled_out)))
        return {"exact": root**2 / effect, "noncentrality": root**2}
    lower = mpf(data["lowerLimit"])
    effect = sum((x - y) ** 2 / y for x, y in zip(gof_chances(p, expected), gof_chances(p, lower)))
    return {"exact": chi_quantile(LEVEL, 1) / effect}


def graded_kappa(data):
    """The largest variance among tables with these margins and that kappa: a linear programme, solved over its vertices by enumeration of bases."""
    from itertools import combinations
    shares, expected, ruled_out = [mpf(x) for x in data["shares"]], mpf(data["expected"]), mpf(data["ruledOut"])
    q = len(shares)
    cells = [(i, j) for i in range(q) for j in range(q)]
    pe = sum(s * s for s in shares)

    def largest(kappa):
        po = pe + kappa * (1 - pe)
        weight = [((1 - pe) - 2 * shares[i] * (1 - po)) ** 2 if i == j else (1 - po) ** 2 * (shares[i] + shares[j]) ** 2 for i, j in cells]
        conditions = [([mpf(i == r) for i, _ in cells], shares[r]) for r in range(q)]
        conditions += [([mpf(j == c) for _, j in cells], shares[c]) for c in range(q - 1)]
        conditions += [([mpf(i == j) for i, j in cells], po)]
        best = -mp.inf
        for basis in combinations(range(len(cells)), len(conditions)):
            a = mp.matrix([[row[b] for b in basis] for row, _ in conditions])
            if abs(mp.det(a)) < mpf(10) ** -20:
                continue
            x = mp.lu_solve(a, mp.matrix([v for _, v in conditions]))
            if min(x) > -mpf(10) ** -30:
                best = max(best, sum(weight[b] * x[k] for k, b in enumerate(basis)))
        return (best - (po * pe - 2 * pe + po) ** 2) / (1 - pe) ** 4

    significance, power, sides = mpf(0.05), mpf(0.8), data["sides"]
    root = (normal_quantile(1 - significance / sides) * mp.sqrt(largest(ruled_out)) + normal_quantile(power) * mp.sqrt(largest(expected)))
    return {"exact": (root / (expected - ruled_out)) ** 2}


def readings_per_visit(data):
    s, v, change = (mpf(data[k]) for k in ("readingError", "visitError", "change"))
    room = (change / (Z * mp.sqrt(2))) ** 2 - v**2
    m = max(1, int(mp.ceil(s * s / room)))
    return {"readings": mpf(m), "smallestDetectableChange": Z * mp.sqrt(2) * mp.sqrt(v**2 + s * s / m)}


def patients_needed(data):
    n, m, rho, gaps, absent = data["findings"], data["findingsPerPatient"], mpf(data["correlation"]), mpf(data["gaps"]), mpf(data["absent"])
    patients = int(mp.ceil(n * (1 + (m - 1) * rho) / (m * (1 - gaps)) - mpf(10) ** -9))
    return {"patients": mpf(patients), "invited": mp.ceil(patients / (1 - absent) - mpf(10) ** -9)}


def transition_share(data):
    x, n, tail = data["count"], data["of"], (1 - LEVEL) / 2
    center = (mpf(x) / n + Z**2 / (2 * n)) / (1 + Z**2 / n)
    p = mpf(x) / n
    reach = Z * mp.sqrt(p * (1 - p) / n + Z**2 / (4 * mpf(n) ** 2)) / (1 + Z**2 / n)
    return {"share": p, "score lower": center - reach if x else mpf(0), "score upper": center + reach if x < n else mpf(1),
            "exact lower": mpf(0) if x == 0 else beta_quantile(tail, x, n - x + 1),
            "exact upper": mpf(1) if x == n else beta_quantile(1 - tail, x + 1, n - x)}
