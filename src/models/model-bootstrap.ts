import type { Interval } from '../shared/estimate.js';
import { refuse } from '../shared/input-error.js';
import {
  type ClusterBootstrap,
  type ClusterBootstrapOptions,
  type ClusterSample,
  clusterBootstrap,
  type SampleStatistic,
  sampledColumn,
  sampledGroups,
} from './cluster-bootstrap.js';
import type { CumulativeLinkProblem } from './cumulative-link.js';
import { type CumulativeLinkMixedProblem, cumulativeLinkMixedModel } from './cumulative-link-mixed-model.js';
import { cumulativeLinkModel } from './cumulative-link-model.js';
import type { NamedColumns } from './design-columns.js';
import { type LinearMixedProblem, linearMixedModel } from './linear-mixed-model.js';
import { type LogisticGeeProblem, logisticGee } from './logistic-gee.js';
import type { RandomTerm } from './random-terms.js';
import type { VarianceComponent } from './variance-component.js';

/** A model by name, with what it is fitted to. */
export type ModelProblem =
  | { readonly model: 'linear-mixed'; readonly problem: LinearMixedProblem }
  | { readonly model: 'cumulative-link'; readonly problem: CumulativeLinkProblem }
  | { readonly model: 'cumulative-link-mixed'; readonly problem: CumulativeLinkMixedProblem }
  | { readonly model: 'logistic-gee'; readonly problem: LogisticGeeProblem };

export interface ModelBootstrap extends Omit<ClusterBootstrap, 'kind'> {
  readonly kind: 'model-bootstrap';
  /** What each number is, in the order of `values` and `intervals`. */
  readonly names: readonly string[];
  readonly intervalOf: (name: string) => Interval;
}

/**
 * Intervals for everything a model estimates, by drawing whole clusters (patients) and fitting again. Groups
 * within clusters are drawn with them, groups across clusters (assessors) stay the same persons. A replicate
 * whose fit did not converge counts as failed.
 *
 * Names: `fixed.NAME`, `deviation.TERM`, `deviation.TERM.SLOPE`, `correlation.TERM.SLOPE`, `deviation.residual`,
 * `threshold.J`, `varying.NAME.J`.
 *
 * @param model which model, and its problem
 * @param clusters the patient of every row
 * @throws InputError as the model does on the data as they are, and as `clusterBootstrap`
 */
export async function modelBootstrap(
  model: ModelProblem,
  clusters: ArrayLike<number | string>,
  options: ClusterBootstrapOptions = {},
): Promise<ModelBootstrap> {
  const rows = model.problem.response.length;
  if (clusters.length !== rows)
    throw refuse('wrong-length', ['clusters'], `There are ${clusters.length} clusters for ${rows} rows.`);
  const { names } = estimatesOf(model);
  const data = { model, clusters };
  // Workers load this module by itself, which is not where the code stands once it is put together.
  const module = new URL('../models/model-bootstrap.js', import.meta.url).href;
  const statistic = (options.workers ?? 0) > 0 ? { module, make: 'modelReplicate', data } : modelReplicate(data);
  const bootstrap = await clusterBootstrap(clusters, statistic, options);
  return {
    ...bootstrap,
    kind: 'model-bootstrap',
    names,
    intervalOf(name) {
      const at = names.indexOf(name);
      if (at < 0) throw refuse('unknown-name', ['name'], `There is no "${name}"; there are ${names.join(', ')}.`);
      return bootstrap.intervals[at] as Interval;
    },
  };
}

/** The statistic of `modelBootstrap`: a refit of the sampled rows. Exported for its workers. */
export function modelReplicate(data: {
  readonly model: ModelProblem;
  readonly clusters: ArrayLike<number | string>;
}): SampleStatistic {
  const { names } = estimatesOf(data.model);
  return (sample) => {
    const found = estimatesOf(sampledModel(data.model, data.clusters, sample));
    // A grade that no drawn patient has leaves its threshold out: such a sample counts as failed.
    const same = found.converged && found.names.length === names.length;
    return same ? found.values : new Float64Array(names.length).fill(Number.NaN);
  };
}

function sampledModel(model: ModelProblem, clusters: ArrayLike<number | string>, sample: ClusterSample): ModelProblem {
  const column = (values: ArrayLike<number>): Float64Array => sampledColumn(values, sample);
  const columns = (named: NamedColumns = {}): NamedColumns =>
    Object.fromEntries(Object.entries(named).map(([name, values]) => [name, column(values)]));
  const random = (terms: readonly RandomTerm[]): RandomTerm[] => {
    // Nested groups are unique only with what they lie in: both are drawn by cluster, so only the label must follow.
    return terms.map((term) => ({
      name: term.name,
      groups: sampledGroups(labels(term, terms), clusters, sample),
      ...(term.slope === undefined ? {} : { slope: { name: term.slope.name, values: column(term.slope.values) } }),
    }));
  };
  switch (model.model) {
    case 'linear-mixed': {
      const { problem } = model;
      return {
        model: model.model,
        problem: {
          ...problem,
          response: column(problem.response),
          fixed: columns(problem.fixed),
          random: random(problem.random),
        },
      };
    }
    case 'logistic-gee': {
      const { problem } = model;
      return {
        model: model.model,
        problem: {
          ...problem,
          response: column(problem.response),
          effects: columns(problem.effects),
          clusters: sampledGroups(problem.clusters, clusters, sample),
        },
      };
    }
    case 'cumulative-link':
      return { model: model.model, problem: sampledGrades(model.problem, column, columns) };
    case 'cumulative-link-mixed': {
      const { problem } = model;
      return {
        model: model.model,
        problem: { ...problem, ...sampledGrades(problem, column, columns), random: random(problem.random) },
      };
    }
  }
}

function sampledGrades(
  problem: CumulativeLinkProblem,
  column: (values: ArrayLike<number>) => Float64Array,
  columns: (named?: NamedColumns) => NamedColumns,
): CumulativeLinkProblem {
  return {
    response: column(problem.response),
    categories: problem.categories ?? Array.from(problem.response).reduce((top, grade) => Math.max(top, grade), 0) + 1,
    effects: columns(problem.effects),
    varying: columns(problem.varying),
    ...(problem.weights === undefined ? {} : { weights: column(problem.weights) }),
    ...(problem.link === undefined ? {} : { link: problem.link }),
  };
}

/** The groups of a term, made unique over the terms it lies within. */
function labels(term: RandomTerm, terms: readonly RandomTerm[]): ArrayLike<number | string> {
  const outer = terms.find(({ name }) => name === term.within);
  if (outer === undefined) return term.groups;
  const outerLabels = labels(outer, terms);
  return Array.from(term.groups, (group, row) => `${outerLabels[row]}/${group}`);
}

interface Estimates {
  readonly names: readonly string[];
  readonly values: Float64Array;
  readonly converged: boolean;
}

function estimatesOf(model: ModelProblem): Estimates {
  const found: [string, number][] = [];
  let converged: boolean;
  switch (model.model) {
    case 'linear-mixed': {
      const fit = linearMixedModel(model.problem);
      for (const { name, value } of fit.fixed) found.push([`fixed.${name}`, value]);
      found.push(...deviations(fit.components), ['deviation.residual', fit.residual.standardDeviation]);
      converged = fit.convergence.converged;
      break;
    }
    case 'logistic-gee': {
      const fit = logisticGee(model.problem);
      for (const { name, value } of fit.effects) found.push([`fixed.${name}`, value]);
      converged = fit.convergence.converged;
      break;
    }
    case 'cumulative-link':
    case 'cumulative-link-mixed': {
      const fit =
        model.model === 'cumulative-link'
          ? cumulativeLinkModel(model.problem)
          : cumulativeLinkMixedModel(model.problem);
      fit.thresholds.forEach((value, j) => {
        if (!Number.isNaN(fit.thresholdErrors[j])) found.push([`threshold.${j}`, value]);
      });
      for (const { name, value } of fit.effects) found.push([`fixed.${name}`, value]);
      for (const { name, values } of fit.varying)
        values.forEach((value, j) => {
          found.push([`varying.${name}.${j}`, value]);
        });
      if ('components' in fit) found.push(...deviations(fit.components));
      converged = fit.convergence.converged;
      break;
    }
  }
  return { names: found.map(([name]) => name), values: Float64Array.from(found, ([, value]) => value), converged };
}

function deviations(components: readonly VarianceComponent[]): [string, number][] {
  return components.flatMap(({ term, standardDeviation, slope }): [string, number][] => [
    [`deviation.${term}`, standardDeviation],
    ...(slope === undefined
      ? []
      : ([
          [`deviation.${term}.${slope.name}`, slope.standardDeviation],
          [`correlation.${term}.${slope.name}`, slope.correlation],
        ] as [string, number][])),
  ]);
}
