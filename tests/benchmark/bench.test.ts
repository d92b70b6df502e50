import { describe, expect, test } from 'vitest';
import { measure, referencePrograms } from './measure.mjs';
import { growthLines, tableLines } from './report.mjs';
import { worksOf } from './works.mjs';
import { available } from '../support/optional.js';

// The answers of the reference programs, on the same small invented data, are compared inside measure(), which throws where
// they differ from ours. Times are not judged.
