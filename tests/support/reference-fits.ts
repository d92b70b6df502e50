import { readFileSync } from 'node:fs';

/** What tests/reference/mixed-ordinal-models.R wrote: data in columns and the reference programs' fits to them. */
export interface ReferenceFits {
  readonly program: string;
  readonly data: {
    readonly patient: number[];
    readonly limb: string[];
    readonly assessor: number[];
    readonly day: number[];
    readonly warm: number[];
    readonly length: number[];
    readonly grade: number[];
  };
  readonly linear: Record<'crossedREML' | 'crossedML' | 'slopedREML' | 'slopedML', LinearFit> & {
    readonly profileML: { readonly names: string[]; readonly lower: number[]; readonly upper: number[] };
    readonly edge: { readonly group: number[]; readonly y: number[]; readonly criterion: number };
  };
  readonly ordinal: Record<
    'plain' | 'probit' | 'varying' | 'laplace' | 'quadrature' | 'probitQuadrature' | 'crossed' | 'nested',
    OrdinalFit
  >;
  /** Bitterness of wine (tests/support/wine.ts): log likelihoods, and covariances by their upper triangle. */
  readonly wine: Record<
    'quadrature' | 'probit' | 'crossed' | 'slope',
    { readonly logLik: number; readonly covariances: Record<string, number | number[]> }
  >;
  readonly marginal: Record<'independence' | 'exchangeable', { coefficients: number[]; errors: number[] }>;
}

interface LinearFit {
  readonly criterion: number;
  readonly fixed: number[];
  readonly fixedErrors: number[];
  readonly fixedDegrees: number[];
  readonly covariances: Record<string, number | number[]>;
  readonly residual: number;
  readonly firstEffects: Record<string, number[]>;
  readonly firstDeviations: Record<string, number[]>;
  /** Of the patients, where the model has slopes. */
  readonly slopes: number[];
  readonly slopeDeviations: number[];
}

interface OrdinalFit {
  readonly logLik: number;
  readonly coefficients: number[];
  readonly errors: number[];
  readonly deviations: Record<string, number>;
  readonly firstEffects: Record<string, number[]>;
  /** Variances of those effects given the data and the estimates. */
  readonly firstVariances: Record<string, number[]>;
}

export function readReference<T>(file: string): T {
  return JSON.parse(readFileSync(new URL(`../reference/${file}`, import.meta.url), 'utf8')) as T;
}

/** A table of reference data beside the checkout: its columns by name, as text. */
export function readTable(path: string): Record<string, string[]> {
  const [header = '', ...lines] = readFileSync(path, 'utf8').trim().replaceAll('"', '').split('\n');
  const cells = lines.map((line) => line.split(','));
  return Object.fromEntries(header.split(',').map((name, at) => [name, cells.map((line) => line[at] as string)]));
}
