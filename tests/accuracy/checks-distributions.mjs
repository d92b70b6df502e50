// Checks of src/shared/distributions.ts far into the tails, with few and very many degrees of freedom.
import { random } from './data.mjs';

export function distributionChecks(library) {
  const checks = [];
  const add = (what, ...given) => {
    const [distribution, form] = what.split('.');
    const shown = given.join(', ');
    const ours = () => ({
      [what]: form === undefined ? library[what](...given) : library[distribution][form](...given),
    });
    checks.push({
      statistic: what,
      words: `(${shown})`,
      file: 'distributions.py',
      call: 'value',
      input: { what, arguments: given },
      ours,
    });
    // R's quantiles of t and F lose digits themselves far out and are not asked.
    if (!/^(fisherF|studentT).quantile/.test(what))
      checks.push({
        statistic: what,
        words: `(${shown})`,
        file: 'distributions.R',
        call: 'value',
        input: { what, arguments: given },
        ours,
      });
  };
  const tails = [1e-300, 1e-100, 1e-16, 1e-8, 0.001, 0.025, 0.3, 0.5, 0.7, 0.975, 0.999, 1 - 1e-8, 1 - 2 ** -50];
  const degrees = [0.1, 0.5, 1, 2, 3.7, 10, 30.5, 200, 1e4, 1e6];
  for (const x of [-37, -20, -8, -3, -0.5, -1e-10, 0, 1e-8, 0.7, 1.96, 5, 8, 20, 37]) {
    add('normal.cdf', x);
    add('normal.upper', x);
  }
  for (const p of tails) add('normal.quantile', p);
  for (const v of degrees) {
    for (const x of [-1e6, -40, -5, -0.3, 1e-6, 0.5, 2, 12, 300, 1e8]) {
      add('studentT.upper', x, v);
      add('studentT.cdf', x, v);
    }
    for (const ratio of [1e-4, 0.1, 0.7, 1, 1.3, 3, 12]) {
      // Beyond 1e-300 the tail is 0 in doubles.
      if (v * ratio < 1300 + v) add('chiSquare.upper', v * ratio, v);
      if (v < 1000 || ratio >= 0.7) add('chiSquare.cdf', v * ratio, v);
    }
    for (const p of tails) {
      // Left out: quantiles beyond what doubles hold with all digits.
      if (p > 1e-5 || v > (p > 1e-20 ? 0.4 : 3)) add('studentT.quantile', p, v);
      if (p > 1e-5 || v > (p > 1e-20 ? 0.4 : 2)) add('chiSquare.quantile', p, v);
    }
    for (const w of [0.5, 1, 5, 40.3, 1000, 1e6]) {
      for (const x of [0.001, 0.3, 1, 1.7, 6, 300]) {
        if (Math.min(v, w) > 300 && (x < 0.3 || x > 2)) continue;
        add('fisherF.upper', x, v, w);
        add('fisherF.cdf', x, v, w);
      }
      for (const p of [1e-10, 0.001, 0.025, 0.5, 0.975, 0.999]) if (v >= 0.5) add('fisherF.quantile', p, v, w);
    }
  }
  const uniform = random(7);
  for (let at = 0; at < 40; at++) {
    const [a, b] = [10 ** (4 * uniform() - 1), 10 ** (4 * uniform() - 1)];
    const x = Math.min(0.999, Math.max(1e-6, (a / (a + b)) * (0.4 + 1.2 * uniform())));
    add('beta.cdf', x, a, b);
    add('beta.upper', x, a, b);
    add('beta.quantile', uniform() ** 3, a, b);
    add('lnGamma', 10 ** (12 * uniform() - 5));
    const n = Math.ceil(10 ** (5 * uniform()));
    add('binomial.cdf', Math.floor(n * uniform()), n, uniform());
  }
  for (const [x, n, p] of [
    [0, 1e6, 1e-6],
    [3, 1e6, 1e-6],
    [1e3, 2e3, 0.6],
    [999, 1000, 0.999],
    [5, 10, 0.5],
  ])
    add('binomial.cdf', x, n, p);
  return checks;
}
