import { createHash } from 'node:crypto';
import { describe, expect, it } from 'vitest';
import { madeDemoData, mean, rowsOf, truthOf } from './demo-data.ts';

const files = madeDemoData();

/** The first sixteen digits of each file's SHA-256. They change only when the invented data are changed on purpose. */
const FINGERPRINTS: Record<string, string> = {
  'agreement-study.csv': '04da5448c95572bc',
  'agreement-study.truth.json': 'b2a22e010447aa91',
  'broken-file.csv': '12086ce2994ef288',
  'broken-file.truth.json': '51be7605a6d91982',
  'examination-sheet.csv': '4cdf5ff775bccd1c',
  'examination-sheet.truth.json': 'd01bb6b1b482bbb7',
  'class-session.csv': '61c0a49fb9a35bbd',
  'class-session.truth.json': '18e697d52150eda6',
  'liver-clinic-edema.csv': '78bd314377008037',
  'liver-clinic-edema.truth.json': 'b0486279d81c7b7d',
  'serial-limbs.csv': '56b61c0d050dd93f',
  'serial-limbs.truth.json': 'cc693fb4f67bdf18',
  'study-plan.json': '6ae93ca19b470b30',
  'unit-denominators.csv': '77c87ac1121d8631',
  'unit-edema.csv': '2f3df4a73c10d112',
  'unit-edema.truth.json': 'b837d634348dfadd',
};

function fingerprints(made: Map<string, string>): Record<string, string> {
  return Object.fromEntries(
    [...made].map(([name, text]) => [name, createHash('sha256').update(text).digest('hex').slice(0, 16)]),
  );
}

function grade(row: Record<string, string>): number {
  return Number(row.value?.replace('+', ''));
}

describe('demo data', () => {
  it('are the same bytes every time and on every machine', () => {
    expect(fingerprints(madeDemoData())).toEqual(fingerprints(files));
    expect(fingerprints(files)).toEqual(FINGERPRINTS);
  });

  it('hold no date, and nothing but codes for people', () => {
    for (const [name, text] of files) {
      if (name.startsWith('broken-file') || name.endsWith('.json')) continue;
      expect(text, name).not.toMatch(/\d{1,4}[-/.]\d{1,2}[-/.]\d{2,4}|[@"']/);
    }
  });
});

describe('agreement-study.csv', () => {
  interface Truth {
    gradesHigh: string;
    repeats: { assessor: string; patients: string[] };
    seenByFourthExaminer: string[];
    missedBySecondExaminer: string[];
    partAbsent: { patient: string; limb: string };
    covered: { patient: string; limb: string };
    disease: { patient: string; from: string; legs: string[]; weakerBy: number }[];
    targets: { patient: string; limb: string; site: string; sign: string; trueValue: number }[];
  }
  const rows = rowsOf(files, 'agreement-study.csv');
  const truth = truthOf<Truth>(files, 'agreement-study');
  const keyOf = (row: Record<string, string>) => [row.patient, row.limb, row.site, row.sign].join(' ');
  const trueValues = new Map(
    truth.targets.map(({ patient, limb, site, sign, trueValue }) => [[patient, limb, site, sign].join(' '), trueValue]),
  );
  const pulses = rows.filter((row) => row.sign === 'pulse-grade' && row.value !== '');
  const gap = (row: Record<string, string>) => grade(row) - (trueValues.get(keyOf(row)) ?? Number.NaN);

  it('has every target of the truth and no other, and no finding twice', () => {
    const seen = new Set(rows.filter((row) => row.sign !== 'pulse-detection').map(keyOf));
    expect(seen).toEqual(new Set(trueValues.keys()));
    expect(truth.targets).toHaveLength(40 * 20);
    const full = rows.map((row) => [keyOf(row), row.assessor, row.replicate].join(' '));
    expect(new Set(full).size).toBe(full.length);
  });

  it('has a value or a reason in every row, never both', () => {
    for (const row of rows) expect((row.value === '') !== (row.missing === ''), keyOf(row)).toBe(true);
  });

  it('reads near the truth: exact least often behind the knee, and one examiner grades high', () => {
    const exactAt = (site: string) =>
      mean(pulses.filter((row) => row.site === site).map((row) => (gap(row) === 0 ? 1 : 0)));
    const sites = ['brachial', 'radial', 'ulnar', 'femoral', 'posterior-tibial', 'dorsalis-pedis'];
    for (const site of sites) expect(exactAt(site), site).toBeGreaterThan(exactAt('popliteal'));
    expect(exactAt('popliteal')).toBeGreaterThan(0.4);
    for (const assessor of ['N11', 'N24', 'N52']) {
      const gaps = pulses.filter((row) => row.assessor === assessor).map(gap);
      expect(Math.abs(mean(gaps)), assessor).toBeLessThan(0.08);
    }
    expect(mean(pulses.filter((row) => row.assessor === truth.gradesHigh).map(gap))).toBeGreaterThan(0.15);
  });

  it('has a site where nearly all readings are alike', () => {
    const radial = pulses.filter((row) => row.site === 'radial');
    expect(mean(radial.map((row) => (row.value === '2' ? 1 : 0)))).toBeGreaterThan(0.9);
  });

  it('has the gaps that the truth names', () => {
    const patientsOf = (assessor: string) => new Set(rows.filter((r) => r.assessor === assessor).map((r) => r.patient));
    expect([...patientsOf('N52')].sort()).toEqual(truth.seenByFourthExaminer);
    expect(patientsOf('N24').size).toBe(40 - truth.missedBySecondExaminer.length);
    const repeated = rows.filter((row) => row.replicate === '2');
    expect([...new Set(repeated.map((row) => row.patient))].sort()).toEqual(truth.repeats.patients);
    expect(new Set(repeated.map((row) => row.assessor))).toEqual(new Set([truth.repeats.assessor]));
  });

  it('has an amputation whose foot is absent while groin and knee are graded, and a foot under a dressing', () => {
    for (const [reason, { patient, limb }] of [
      ['part-absent', truth.partAbsent],
      ['covered', truth.covered],
    ] as const) {
      const foot = rows.filter((row) => row.missing === reason);
      expect(foot.length, reason).toBeGreaterThan(0);
      for (const row of foot) {
        expect([row.patient, row.limb]).toEqual([patient, limb]);
        expect(['posterior-tibial', 'dorsalis-pedis', 'great-toe', 'pretibial-shin']).toContain(row.site);
      }
      const graded = pulses.filter((row) => row.patient === patient && row.limb === limb);
      expect(new Set(graded.map((row) => row.site))).toEqual(new Set(['femoral', 'popliteal']));
    }
  });

  it('tells a pulse heard by Doppler from a pulse that was felt', () => {
    const gradeOf = new Map(pulses.map((row) => [[keyOf(row), row.assessor, row.replicate].join(' '), row.value]));
    const found = rows.filter((row) => row.sign === 'pulse-detection' && row.value !== '');
    for (const row of found) {
      const key = [row.patient, row.limb, row.site, 'pulse-grade', row.assessor, row.replicate].join(' ');
      expect(row.value === 'palpable').toBe(gradeOf.get(key) !== '0');
    }
    for (const state of ['palpable', 'doppler-only', 'absent', 'not-felt-doppler-not-used']) {
      expect(found.filter((row) => row.value === state).length, state).toBeGreaterThan(0);
    }
  });

  it('has weaker true pulses below a narrowing and nowhere else on the leg', () => {
    const order = ['femoral', 'popliteal', 'posterior-tibial', 'dorsalis-pedis'];
    for (const { patient, from, legs } of truth.disease) {
      for (const limb of legs) {
        const at = (site: string) => trueValues.get([patient, limb, site, 'pulse-grade'].join(' ')) ?? Number.NaN;
        const below = order.slice(order.indexOf(from)).map(at);
        const above = order.slice(0, order.indexOf(from)).map(at);
        expect(Math.max(...below), `${patient} ${limb}`).toBeLessThanOrEqual(2);
        expect(mean(below), `${patient} ${limb}`).toBeLessThan(1.5);
        if (above.length > 0) expect(Math.min(...above)).toBeGreaterThanOrEqual(2);
      }
    }
  });
});

describe('unit-edema.csv', () => {
  interface Truth {
    scaleChangesInPeriod: number;
    newAssessorsFromPeriod: number;
    periodsWithFewAssessments: number[];
    assessors: { code: string; from: number; to: number; deeperByMm: number }[];
    truePeriods: { period: number; stays: number; staysWithPitOf2point5mmOrMore: number }[];
    stays: {
      patient: string;
      stay: string;
      arrival: number;
      length: number;
      depth: Record<string, number>;
      newFromDay?: number;
    }[];
  }
  const rows = rowsOf(files, 'unit-edema.csv');
  const denominators = rowsOf(files, 'unit-denominators.csv');
  const truth = truthOf<Truth>(files, 'unit-edema');
  const doneIn = (period: number) => rows.filter((r) => Number(r.period) === period && r.value !== '').length;
  const dueIn = (period: number) => Number(denominators[period - 1]?.assessmentsDue);
  const shareOfStays = (from: number, to: number) => {
    const worst = new Map<string, number>();
    for (const row of rows) {
      if (Number(row.period) < from || Number(row.period) > to || row.value === '') continue;
      const key = `${row.stay} ${row.period}`;
      worst.set(key, Math.max(worst.get(key) ?? 0, grade(row)));
    }
    return mean([...worst.values()].map((value) => (value >= 2 ? 1 : 0)));
  };

  it('has the denominators that follow from the stays', () => {
    const patientDays = Array(18).fill(0);
    const present = Array(18).fill(0);
    for (const { arrival, length } of truth.stays) {
      const periods = new Set<number>();
      for (let day = arrival; day < Math.min(arrival + length, 18 * 28); day++) {
        patientDays[Math.floor(day / 28)] += 1;
        periods.add(Math.floor(day / 28));
      }
      for (const period of periods) present[period] += 1;
    }
    expect(denominators.map((row) => Number(row.patientDays))).toEqual(patientDays);
    expect(denominators.map((row) => Number(row.stays))).toEqual(present);
  });

  it('has readings only within a stay, on the one clock, and no stay of a patient overlaps another', () => {
    const stays = new Map(truth.stays.map((stay) => [stay.stay, stay]));
    const firstArrival = new Map<string, number>();
    const lastDay = new Map<string, number>();
    for (const { patient, arrival, length } of truth.stays) {
      if (!firstArrival.has(patient)) firstArrival.set(patient, arrival);
      expect(arrival, patient).toBeGreaterThan(lastDay.get(patient) ?? -1);
      lastDay.set(patient, arrival + length);
    }
    for (const row of rows) {
      const stay = stays.get(row.stay ?? '');
      const clock = (firstArrival.get(row.patient ?? '') ?? Number.NaN) + Number(row.day);
      expect(clock - (stay?.arrival ?? Number.NaN)).toBeGreaterThanOrEqual(0);
      expect(clock - (stay?.arrival ?? Number.NaN)).toBeLessThan(stay?.length ?? 0);
      expect(Math.floor(clock / 28) + 1).toBe(Number(row.period));
    }
  });

  it('changes its scale once and its assessors once', () => {
    for (const row of rows) {
      const isLater = Number(row.period) >= truth.scaleChangesInPeriod;
      expect(row.scale).toBe(isLater ? 'pit.0-4.hogan' : 'pit.0-4.bands-2-4-6-8.long');
    }
    for (const { code, from, to } of truth.assessors) {
      const periods = rows.filter((row) => row.assessor === code).map((row) => Number(row.period));
      expect(Math.min(...periods), code).toBe(from);
      expect(Math.max(...periods), code).toBe(to);
    }
  });

  it('is thin in the periods the truth names and in no other', () => {
    expect(truth.periodsWithFewAssessments).toEqual([6, 16]);
    for (let period = 1; period <= 18; period++) {
      const share = doneIn(period) / dueIn(period);
      expect(share).toBeLessThan(1);
      if (truth.periodsWithFewAssessments.includes(period)) expect(share, `period ${period}`).toBeLessThan(0.75);
      else expect(share, `period ${period}`).toBeGreaterThan(0.8);
    }
  });

  it('grades each leg by the bands of the scale in use, and the new assessors read deeper', () => {
    const stays = new Map(truth.stays.map((stay) => [stay.stay, stay]));
    // Grades of a depth in mm by the two tables of wording, typed here once more.
    const bands = (depth: number) => (depth === 0 ? 0 : depth < 2 ? 1 : depth < 4 ? 2 : depth < 6 ? 3 : 4);
    const hogan = (depth: number) => (depth < 1 ? 0 : depth < 2.5 ? 1 : depth < 4.5 ? 2 : depth < 7 ? 3 : 4);
    const gaps = (from: number, to: number, gradeOf: (depth: number) => number, fresh: boolean) =>
      rows.flatMap((row) => {
        const period = Number(row.period);
        const depth = stays.get(row.stay ?? '')?.depth[row.limb ?? ''] ?? 0;
        const isFresh = ['K06', 'K07', 'K08'].includes(row.assessor ?? '');
        const isCounted = row.value !== '' && depth > 0 && stays.get(row.stay ?? '')?.newFromDay === undefined;
        return isCounted && period >= from && period <= to && isFresh === fresh ? [grade(row) - gradeOf(depth)] : [];
      });
    const off = (from: number, to: number, gradeOf: (depth: number) => number) =>
      Math.abs(mean(gaps(from, to, gradeOf, false)));
    expect(off(1, 9, bands)).toBeLessThan(off(1, 9, hogan));
    expect(off(10, 18, hogan)).toBeLessThan(off(10, 18, bands));
    expect(mean(gaps(15, 18, hogan, true)) - mean(gaps(15, 18, hogan, false))).toBeGreaterThan(0.5);
  });

  it('shows a fall at the change of scale and a rise with the new assessors, though the legs are alike', () => {
    const { scaleChangesInPeriod: scale, newAssessorsFromPeriod: fresh } = truth;
    expect(shareOfStays(scale, fresh - 1)).toBeLessThan(shareOfStays(1, scale - 1) - 0.08);
    expect(shareOfStays(fresh, 18)).toBeGreaterThan(shareOfStays(scale, fresh - 1) + 0.08);
    const trueShare = (from: number, to: number) => {
      const periods = truth.truePeriods.filter(({ period }) => period >= from && period <= to);
      const pitted = periods.reduce((sum, period) => sum + period.staysWithPitOf2point5mmOrMore, 0);
      return pitted / periods.reduce((sum, period) => sum + period.stays, 0);
    };
    expect(Math.abs(trueShare(scale, fresh - 1) - trueShare(1, scale - 1))).toBeLessThan(0.06);
    expect(Math.abs(trueShare(fresh, 18) - trueShare(scale, fresh - 1))).toBeLessThan(0.06);
  });
});

describe('serial-limbs.csv', () => {
  interface Leg {
    patient: string;
    limb: string;
    fate: 'stable' | 'worsens' | 'improves';
    changeDay?: number;
    gradesBeforeAndAfter: Record<string, [number, number]>;
  }
  const rows = rowsOf(files, 'serial-limbs.csv');
  const { legs } = truthOf<{ legs: Leg[] }>(files, 'serial-limbs');

  it('has ten legs that worsen and four that improve, and the readings follow them', () => {
    expect(legs.filter(({ fate }) => fate === 'worsens')).toHaveLength(10);
    expect(legs.filter(({ fate }) => fate === 'improves')).toHaveLength(4);
    for (const { patient, limb, fate, changeDay, gradesBeforeAndAfter } of legs) {
      const pulses = rows.filter(
        (row) => row.patient === patient && row.limb === limb && row.sign === 'pulse-grade' && row.value !== '',
      );
      for (const [site, [before, after]] of Object.entries(gradesBeforeAndAfter)) {
        expect(Math.sign(after - before), `${patient} ${limb} ${site}`).toBe(
          { stable: 0, worsens: -1, improves: 1 }[fate],
        );
      }
      if (changeDay === undefined) continue;
      const readings = (isAfter: boolean) =>
        pulses.filter((row) => Number(row.day) >= changeDay === isAfter).map((row) => grade(row));
      const change = mean(readings(true)) - mean(readings(false));
      expect(fate === 'worsens' ? -change : change, `${patient} ${limb}`).toBeGreaterThan(0.7);
    }
  });

  it('has irregular visits, from four to seven a patient', () => {
    const days = new Map<string, Set<number>>();
    for (const row of rows) {
      const patient = row.patient ?? '';
      days.set(patient, (days.get(patient) ?? new Set()).add(Number(row.day)));
    }
    expect(days.size).toBe(36);
    for (const visits of days.values()) {
      expect(visits.size).toBeGreaterThanOrEqual(4);
      expect(visits.size).toBeLessThanOrEqual(7);
    }
  });
});

describe('liver-clinic-edema.csv', () => {
  it('has the transitions of its truth', () => {
    interface Truth {
      levels: string[];
      patients: number;
      visits: number;
      transitionsFromRowToColumn: number[][];
    }
    const truth = truthOf<Truth>(files, 'liver-clinic-edema');
    const rows = rowsOf(files, 'liver-clinic-edema.csv');
    const counts = truth.levels.map(() => truth.levels.map(() => 0));
    rows.forEach((row, i) => {
      const next = rows[i + 1];
      if (next === undefined || next.id !== row.id) return;
      expect(Number(next.day)).toBeGreaterThan(Number(row.day));
      const line = counts[truth.levels.indexOf(row.edema ?? '')];
      const to = truth.levels.indexOf(next.edema ?? '');
      if (line !== undefined) line[to] = (line[to] ?? Number.NaN) + 1;
    });
    expect(counts).toEqual(truth.transitionsFromRowToColumn);
    expect(rows).toHaveLength(truth.visits);
    expect(new Set(rows.map((row) => row.id)).size).toBe(truth.patients);
    for (const line of counts) expect(line.reduce((sum, n) => sum + n, 0)).toBeGreaterThan(20);
  });
});

describe('class-session.csv', () => {
  interface Truth {
    learners: { code: string; tendency: number }[];
    swappedSides: { round: number; learner: string; volunteer: string };
    identicalSheets: { round: number; from: string; by: string };
    controlVolunteer: string;
    limbs: { volunteer: string; site: string; left: number; right: number }[];
  }
  const rows = rowsOf(files, 'class-session.csv');
  const truth = truthOf<Truth>(files, 'class-session');
  const strength = new Map(
    truth.limbs.flatMap(({ volunteer, site, left, right }) => [
      [`${volunteer} left ${site}`, left],
      [`${volunteer} right ${site}`, right],
    ]),
  );
  const placeOf = (row: Record<string, string>) => `${row.patient} ${row.limb?.split('-')[0]} ${row.site}`;
  const pulses = rows.filter((row) => row.sign === 'pulse-grade' && row.value !== '');
  const apart = (code: string, round: string) =>
    mean(
      pulses
        .filter((row) => row.assessor === code && row.round === round)
        .map((row) => grade(row) - Math.round(strength.get(placeOf(row)) ?? Number.NaN)),
    );

  it('has twelve learners, two experts, a tenth missing and one volunteer in both rounds', () => {
    const learners = rows.filter((row) => row.reference === 'no');
    expect(new Set(learners.map((row) => row.assessor)).size).toBe(12);
    expect(new Set(rows.filter((row) => row.reference === 'yes').map((row) => row.assessor)).size).toBe(2);
    const missing = learners.filter((row) => row.value === '').length / learners.length;
    expect(Math.abs(missing - 0.1)).toBeLessThan(0.03);
    const inRound = (round: string) => new Set(rows.filter((row) => row.round === round).map((row) => row.patient));
    expect([...inRound('1')].filter((code) => inRound('2').has(code))).toEqual([truth.controlVolunteer]);
  });

  it('has one who reads high and one who reads low, less so after the retraining', () => {
    const [high, low] = [0.65, -0.55].map((tendency) => truth.learners.find((one) => one.tendency === tendency)!.code);
    expect(apart(high!, '1')).toBeGreaterThan(0.35);
    expect(apart(low!, '1')).toBeLessThan(-0.25);
    expect(apart(high!, '2')).toBeLessThan(apart(high!, '1'));
    expect(apart(low!, '2')).toBeGreaterThan(apart(low!, '1'));
  });

  it('has two identical sheets', () => {
    const { round, from, by } = truth.identicalSheets;
    const sheetOf = (code: string) =>
      rows
        .filter((row) => row.assessor === code && row.round === String(round))
        .map((row) => [placeOf(row), row.value, row.missing].join());
    expect(sheetOf(by)).toEqual(sheetOf(from));
  });
});
