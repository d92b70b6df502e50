import fc from 'fast-check';
import { expect, it } from 'vitest';
import { clusteredProportionChart, type PatientReadings } from '../../src/unit-quality/clustered-proportion-chart.ts';
import { proportionChart } from '../../src/unit-quality/proportion-chart.ts';

it('by hand: two patients of four readings who each read alike count as two', () => {
  const rows = [
    { period: 0, patient: 'a', count: 4, readings: 4 },
    { period: 0, patient: 'b', count: 0, readings: 4 },
  ];
  const chart = clusteredProportionChart(rows, 1);
  // (4 − 2)² + (0 − 2)² = 8 over ½·½·8 = 2: eight readings tell as much as two.
  expect(chart.details).toMatchObject({ center: 0.5, designEffect: 4 });
  expect(chart.notes.map((note) => note.message).join(' ')).toContain('8 readings of 2 patients tell as much as 2');
});

it('has the limits of the plain chart where each patient is read once', () => {
  fc.assert(
    fc.property(
      fc.array(fc.tuple(fc.integer({ min: 1, max: 9 }), fc.integer({ min: 1, max: 9 })), {
        minLength: 3,
        maxLength: 8,
      }),
      (periods) => {
        const rows: PatientReadings[] = periods.flatMap(([with1, without], period) =>
          Array.from({ length: with1 + without }, (_, at) => ({
            period,
            patient: `${period}/${at}`,
            count: Number(at < with1),
            readings: 1,
          })),
        );
        const chart = clusteredProportionChart(rows, periods.length);
        const plain = proportionChart(
          periods.map(([with1]) => with1),
          periods.map(([with1, without]) => with1 + without),
          { limits: 'normal' },
        );
        chart.points.forEach((point, at) => {
          expect(point.value).toBeCloseTo(plain.points[at]!.value!, 12);
          expect(point.upper).toBeCloseTo(plain.points[at]!.upper, 10);
          expect(point.lower).toBeCloseTo(plain.points[at]!.lower, 10);
        });
      },
    ),
  );
});

it('names every faulty row at once and no patient', () => {
  const rows = [
    { period: 0, patient: 'secret', count: 3, readings: 2 },
    { period: 7, patient: 'secret', count: 0, readings: 1 },
    { period: 0, patient: 'secret', count: 0, readings: 0 },
  ];
  expect(() => clusteredProportionChart(rows, 2)).toThrow(/4 problems/);
  expect(() => clusteredProportionChart(rows, 2)).not.toThrow(/secret/);
});
