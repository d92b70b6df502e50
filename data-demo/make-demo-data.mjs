import { mkdirSync, writeFileSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { fileURLToPath } from 'node:url';
import { agreementStudyFiles } from './agreement-study.mjs';
import { brokenFiles } from './broken-file.mjs';
import { classSessionFiles } from './class-session.mjs';
import { examinationSheetFiles } from './examination-sheet.mjs';
import { liverClinicFiles } from './liver-clinic-edema.mjs';
import { serialLimbsFiles } from './serial-limbs.mjs';
import { studyPlanFiles } from './study-plan.mjs';
import { unitEdemaFiles } from './unit-edema.mjs';

/** Each file has a seed of its own, so that a change to one leaves the others as they are. */
const files = {
  ...agreementStudyFiles(20260301),
  ...studyPlanFiles(20260301),
  ...unitEdemaFiles(20260322),
  ...serialLimbsFiles(20260303),
  ...classSessionFiles(20260316),
  ...liverClinicFiles(20260304),
  ...examinationSheetFiles(20260305),
  ...brokenFiles(),
};

const here = fileURLToPath(new URL('.', import.meta.url));
const folder = process.argv[2] === undefined ? join(here, 'generated') : resolve(process.argv[2]);
mkdirSync(folder, { recursive: true });
for (const [name, text] of Object.entries(files)) writeFileSync(join(folder, name), text);
process.stdout.write(`demo data: ${Object.keys(files).length} files written\n`);
