import { beforeAndAfterChart } from '../../src/charts/before-and-after-chart.ts';
import { boardPageChart } from '../../src/charts/board-page-chart.ts';
import type { Chart } from '../../src/charts/chart.ts';
import { classCarpetChart } from '../../src/charts/class-carpet-chart.ts';
import { hardLimbsChart } from '../../src/charts/hard-limbs-chart.ts';
import { learnerCardChart } from '../../src/charts/learner-card-chart.ts';
import type { ChartOptions } from '../../src/charts/theme.ts';
import { classCarpet } from '../../src/teaching/class-carpet.ts';
import { classSession } from '../../src/teaching/class-session.ts';
import { hardLimbs } from '../../src/teaching/hard-limbs.ts';
import { learnerCard } from '../../src/teaching/learner-card.ts';
import { retrainingEffect } from '../../src/teaching/retraining-effect.ts';
import { boardPage } from '../../src/unit-quality/board-page.ts';
import { demoClass } from '../teaching/class-file.ts';
import { shareOf } from '../unit-quality/share-examples.ts';

const { assessments } = await demoClass();
const session = (round: string) => classSession(assessments, { sign: 'pulse-grade', round });
const before = session('1');

/** The demo class, and a page for the board of an invented unit. */
export const classExamples: Readonly<Record<string, (options?: ChartOptions) => Chart>> = {
  'hard-limbs': (options) => hardLimbsChart(hardLimbs(before), options),
  'class-carpet': (options) => classCarpetChart(classCarpet(before, { seed: 1 }), options),
  'learner-card': (options) => learnerCardChart(learnerCard(before, 'L05'), options),
  'before-and-after': (options) => beforeAndAfterChart(retrainingEffect(before, session('2')), options),
  'board-page': (options) =>
    boardPageChart(
      boardPage(
        shareOf(
          Array.from({ length: 11 }, () => [8, 19, 20] as const),
          { actions: [{ label: '4', words: 'legs raised twice a day' }] },
        ),
        { action: 'Two people read the same legs.', owner: 'lead of the edema group', by: 'end of period 12' },
      ),
      options,
    ),
};
