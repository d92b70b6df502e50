// How well a class of twelve tells who grades high or low: coverage of the intervals, and how often a learner like
// the others gets a sentence.
import { fromSource } from './from-source.mjs';

const { ratingsOf } = await fromSource('ratings/ratings-of.ts');
const { gradingTendencies } = await fromSource('teaching/grading-tendencies.ts');
const { seededRandom } = await fromSource('shared/random.ts');
const { normal } = await fromSource('shared/distributions.ts');

const LEARNERS = Array.from({ length: 12 }, (_, at) => `L${at + 1}`);
const CUTS = [0.5, 1.5, 2.5, 3.5];

export const cells = [
  [4, 1],
  [6, 1],
  [6, 2],
  [6, 4],
].flatMap(([volunteers, sites]) => [0, 0.25].map((tendencies) => ({ volunteers, sites, tendencies })));
export const studies = 4000;

export async function run({ volunteers, sites, tendencies }, count) {
  const found = { covered: 0, said: 0, errors: 0, learners: 0, notDefined: 0 };
  for (let session = 0; session < count; session++) {
    const random = seededRandom(20260308 + 100_000 * (10 * volunteers + sites + (tendencies > 0 ? 500 : 0)), session);
    const own = LEARNERS.map(() => tendencies * random.normal());
    const limbs = Array.from({ length: volunteers * 2 * sites }, (_, at) => ({
      target: at,
      volunteer: `V${Math.floor(at / (2 * sites))}`,
      limb: at % 2 === 0 ? 'left-leg' : 'right-leg',
      site: `s${Math.floor(at / 2) % sites}`,
      siteLabel: 's',
      label: '',
      reference: undefined,
      position: 1.8 + 0.9 * random.normal(),
    }));
    const rows = limbs.map(({ position }) =>
      own.map((tendency) =>
        random.uniform() < 0.1 ? null : CUTS.filter((cut) => position + tendency + 0.45 * random.normal() > cut).length,
      ),
    );
    const ratings = ratingsOf(rows, {
      categories: [0, 1, 2, 3, 4],
      clusters: limbs.map(({ volunteer }) => volunteer),
      assessors: LEARNERS,
    });
    const expected = own.map(
      (tendency) =>
        limbs.reduce(
          (sum, { position }) =>
            sum + CUTS.reduce((grade, cut) => grade + normal.cdf((position + tendency - cut) / 0.45), 0),
          0,
        ) / limbs.length,
    );
    const middle = expected.reduce((sum, value) => sum + value, 0) / expected.length;
    for (const [at, { estimate, sentence }] of tendenciesOf(ratings, limbs).entries()) {
      const truth = expected[at] - middle;
      found.learners++;
      if (Number.isNaN(estimate.interval.lower)) found.notDefined++;
      else if (estimate.interval.lower <= truth && truth <= estimate.interval.upper) found.covered++;
      if (sentence !== undefined) found.said++;
      found.errors += estimate.standardError;
    }
  }
  return { volunteers, sites, tendencies, studies: count, ...found };
}

/** None where gaps leave a class in which learners cannot be compared, which is refused. */
function tendenciesOf(ratings, limbs) {
  try {
    return gradingTendencies({ ratings, learners: LEARNERS, references: [], limbs, round: undefined }).tendencies;
  } catch {
    return [];
  }
}
