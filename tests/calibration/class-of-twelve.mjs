// How well a class of twelve tells who grades high or low: coverage of the intervals, and how often a learner like
// the others gets a sentence. Seeded. node tests/calibration/class-of-twelve.mjs [classes]
import process from 'node:process';
import { fileURLToPath } from 'node:url';
import { createServer } from 'vite';

const classes = Number(process.argv[2] ?? 200);
const server = await createServer({
  root: fileURLToPath(new URL('../..', import.meta.url)),
  configFile: false,
  server: { middlewareMode: true, watch: null },
  logLevel: 'error',
});
try {
  const { ratingsOf } = await server.ssrLoadModule('/src/ratings/ratings-of.ts');
  const { gradingTendencies } = await server.ssrLoadModule('/src/teaching/grading-tendencies.ts');
  const { seededRandom } = await server.ssrLoadModule('/src/shared/random.ts');
  const { normal } = await server.ssrLoadModule('/src/shared/distributions.ts');
  const learners = Array.from({ length: 12 }, (_, at) => `L${at + 1}`);
  const cuts = [0.5, 1.5, 2.5, 3.5];
  const line = (words) => process.stdout.write(`${words}\n`);
  line('volunteers  sites a limb  tendencies  coverage of 95 %  sentence without tendency  mean standard error');
  for (const [volunteers, sites] of [
    [4, 1],
    [6, 1],
    [6, 2],
    [6, 4],
  ])
    for (const spread of [0, 0.25]) {
      let covered = 0;
      let said = 0;
      let errors = 0;
      let all = 0;
      for (let session = 0; session < classes; session++) {
        const random = seededRandom(20260308, 1000 * volunteers + 100 * sites + 10000 * session + (spread > 0 ? 1 : 0));
        const tendency = learners.map(() => spread * random.normal());
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
          tendency.map((own) =>
            random.uniform() < 0.1 ? null : cuts.filter((cut) => position + own + 0.45 * random.normal() > cut).length,
          ),
        );
        const ratings = ratingsOf(rows, {
          categories: [0, 1, 2, 3, 4],
          clusters: limbs.map(({ volunteer }) => volunteer),
          assessors: learners,
        });
        const expected = tendency.map(
          (own) =>
            limbs.reduce(
              (sum, { position }) =>
                sum + cuts.reduce((grade, cut) => grade + normal.cdf((position + own - cut) / 0.45), 0),
              0,
            ) / limbs.length,
        );
        const middle = expected.reduce((sum, value) => sum + value, 0) / expected.length;
        const fake = { ratings, learners, references: [], limbs, round: undefined };
        let found;
        try {
          found = gradingTendencies(fake).tendencies;
        } catch {
          continue;
        }
        found.forEach(({ estimate, sentence }, at) => {
          const truth = expected[at] - middle;
          if (estimate.interval.lower <= truth && truth <= estimate.interval.upper) covered++;
          if (spread === 0 && sentence !== undefined) said++;
          errors += estimate.standardError;
          all++;
        });
      }
      line(
        [
          volunteers,
          sites,
          spread,
          (covered / all).toFixed(3),
          spread === 0 ? (said / all).toFixed(3) : '–',
          (errors / all).toFixed(3),
        ]
          .map((cell) => String(cell).padStart(12))
          .join(''),
      );
    }
} finally {
  await server.close();
}
