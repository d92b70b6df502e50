// Draws the picture of the README from the demo data: node notebooks/pictures/make-pictures.mjs
// (after `npm run demo`, which builds the library and makes the data).
import { writeFile } from 'node:fs/promises';
import { fileURLToPath } from 'node:url';
import { agreementBySiteChart, agreementStudy, loadAssessments, renderSvg } from 'limb-perfusion';

const data = fileURLToPath(new URL('../../data-demo/generated/agreement-study.csv', import.meta.url));
const study = await agreementStudy(await loadAssessments(data), {
  signs: ['pulse-grade'],
  // At the elbow and the thumb-side wrist nearly all readings are alike: their intervals say nothing.
  sites: ['ulnar', 'femoral', 'popliteal', 'posterior-tibial', 'dorsalis-pedis'],
  by: ['site'],
  weights: 'quadratic',
  seed: 20260301,
});
const svg = await renderSvg(agreementBySiteChart(study), { fonts: 'outlined' });
await writeFile(new URL('agreement-by-site.svg', import.meta.url), svg);
