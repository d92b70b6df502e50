// What the accuracy checks call: the library as it is exported, and the parts inside that have exact references of their own.
export { oneSidedToleranceFactor, twoSidedToleranceFactor } from '../../src/agreement/tolerance-factors.ts';
export * from '../../src/index.ts';
export { beta, binomial, chiSquare, fisherF, lnGamma, normal, studentT } from '../../src/shared/distributions.ts';
export { NIST_ONE_WAY } from '../support/nist-one-way.ts';
export { SHROUT_FLEISS } from '../support/shrout-fleiss.ts';
