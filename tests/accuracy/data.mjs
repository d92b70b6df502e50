// Seeded data sets for the accuracy checks: the same digits on every machine.

/** Uniform numbers from 0 to 1 (the mulberry32 generator). */
export function random(seed) {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let t = state;
    t = Math.imul(t ^ (t >>> 15), t | 1);
    t ^= t + Math.imul(t ^ (t >>> 7), t | 61);
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
}

/** Normal numbers by the sum of twelve: the shape hardly matters here. */
function normal(uniform) {
  let sum = -6;
  for (let i = 0; i < 12; i++) sum += uniform();
  return sum;
}

/** Grades of several assessors: ties, gaps, rare grades; `clusters` patients with several targets. */
export function gradedStudy(seed, { targets, assessors, grades, gaps = 0, rare = false, noise = 0.6, perPatient = 3 }) {
  const uniform = random(seed);
  const cut = (x) => {
    // Rare: the upper grades lie far out.
    const place = rare ? (x < 1.2 ? 0 : Math.floor((x - 1.2) * 2) + 1) : Math.floor((x + 1.5) * (grades / 3));
    return Math.max(0, Math.min(grades - 1, place));
  };
  const habits = Array.from({ length: assessors }, () => 0.3 * normal(uniform));
  const rows = [];
  const clusters = [];
  let patient = 0;
  for (let target = 0; target < targets; target++) {
    if (target % perPatient === 0) patient = normal(uniform) * 0.6;
    const truth = patient + normal(uniform) * 0.8;
    rows.push(
      habits.map((habit) => {
        const grade = cut(truth + habit + noise * normal(uniform));
        return uniform() < gaps ? null : grade;
      }),
    );
    clusters.push(Math.floor(target / perPatient));
  }
  return { rows, clusters };
}

/** Measured numbers with an offset and a number of decimals; `gaps` where a reading is absent. */
export function measuredStudy(
  seed,
  { targets, assessors, offset = 0, decimals = 1, spread = 5, error = 1, gaps = 0, perPatient = 2 },
) {
  const uniform = random(seed);
  const habits = Array.from({ length: assessors }, () => 0.4 * error * normal(uniform));
  const rows = [];
  const clusters = [];
  for (let target = 0; target < targets; target++) {
    const truth = spread * normal(uniform);
    rows.push(
      habits.map((habit) => {
        const x = truth + habit + error * normal(uniform);
        return uniform() < gaps ? null : Number((offset + x).toFixed(decimals));
      }),
    );
    clusters.push(Math.floor(target / perPatient));
  }
  return { rows, clusters };
}

/** A square table of counts with a heavy diagonal and some empty cells. */
export function countTable(seed, size, { diagonal = 30, off = 6, empty = 0.2 } = {}) {
  const uniform = random(seed);
  return Array.from({ length: size }, (_, i) =>
    Array.from({ length: size }, (_, j) => {
      if (i === j) return Math.ceil(uniform() * diagonal);
      return uniform() < empty ? 0 : Math.floor((uniform() * off) / Math.abs(i - j));
    }),
  );
}

/** Times to an event with ties, censoring, late entry, groups and several rows a patient. */
export function eventStudy(seed, size, { late = false, perPatient = 1 } = {}) {
  const uniform = random(seed);
  const times = [];
  const events = [];
  const entries = [];
  const patients = [];
  const groups = [];
  const x = [];
  for (let i = 0; i < size; i++) {
    const group = uniform() < 0.5 ? 'a' : 'b';
    const covariate = Number(normal(uniform).toFixed(2));
    const time = 1 + Math.floor((-Math.log(uniform()) * 20) / Math.exp(0.4 * covariate + (group === 'a' ? 0.5 : 0)));
    entries.push(late ? Math.floor(uniform() * Math.min(6, time)) : 0);
    times.push(time);
    events.push(uniform() < 0.7);
    patients.push(Math.floor(i / perPatient));
    groups.push(group);
    x.push(covariate);
  }
  return { times, events, entries, patients, groups, x };
}

/** Numbers with ties, in random order. */
export function numbers(seed, size, { decimals = 0, spread = 4, offset = 0 } = {}) {
  const uniform = random(seed);
  return Array.from({ length: size }, () => Number((offset + spread * normal(uniform)).toFixed(decimals)));
}

/** Normal numbers with all their digits. */
export function normalNumbers(seed, size) {
  const uniform = random(seed);
  return Array.from({ length: size }, () => normal(uniform));
}

/** The rows of a table of two assessors that occur, and how often. */
export function patternsOfTable(table) {
  const rows = [];
  const counts = [];
  table.forEach((row, i) => {
    row.forEach((count, j) => {
      if (count === 0) return;
      rows.push([i, j]);
      counts.push(count);
    });
  });
  return { rows, counts };
}
