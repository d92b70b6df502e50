// @ts-check
// Invented data of the speed harness: the same for ours and for the reference programs, and the same however often it is
// written. Columns lie as bare numbers (32-bit whole ones, 64-bit fractions), which every program reads at once.
import { createWriteStream, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';

const ARM = ['brachial', 'radial', 'ulnar'];
const SITES = [...ARM, 'femoral', 'popliteal', 'posterior-tibial', 'dorsalis-pedis'];
const EDEMA_SITES = [
  'forearm',
  'dorsum-of-hand',
  'thigh',
  'pretibial-shin',
  'lower-calf',
  'behind-medial-malleolus',
  'dorsum-of-foot',
];

/** Numbers in [0, 1) from a seed (mulberry32, public domain), and normal ones from two of them. @param {number} seed */
function chanceOf(seed) {
  let state = seed;
  const uniform = () => {
    state = (state + 0x6d2b79f5) | 0;
    let t = Math.imul(state ^ (state >>> 15), 1 | state);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
  const normal = () => Math.sqrt(-2 * Math.log(1 - uniform())) * Math.cos(2 * Math.PI * uniform());
  return { uniform, normal };
}

/** @param {string} folder @param {string} name @param {Int32Array | Float64Array} values */
function put(folder, name, values) {
  writeFileSync(join(folder, name), new Uint8Array(values.buffer, values.byteOffset, values.byteLength));
}

/** A column of whole numbers. @param {string} folder @param {string} name */
export function wholes(folder, name) {
  const { buffer, byteOffset, byteLength } = readFileSync(join(folder, `${name}.i32`));
  return new Int32Array(buffer.slice(byteOffset, byteOffset + byteLength));
}

/** A column of fractions. @param {string} folder @param {string} name */
export function fractions(folder, name) {
  const { buffer, byteOffset, byteLength } = readFileSync(join(folder, `${name}.f64`));
  return new Float64Array(buffer.slice(byteOffset, byteOffset + byteLength));
}

/**
 * Grades 0–3 of the same targets by some assessors, and the patient of each target: files codes.i32 (target after
 * target) and patient.i32.
 *
 * @param {string} folder @param {{ targets: number, patients: number, assessors: number }} sizes
 */
export function writeGrades(folder, { targets, patients, assessors }) {
  const { uniform, normal } = chanceOf(20261127);
  const severity = Float64Array.from({ length: patients }, normal);
  const codes = new Int32Array(targets * assessors);
  const patient = Int32Array.from({ length: targets }, (_, target) => Math.floor((target * patients) / targets));
  for (let target = 0; target < targets; target++) {
    const truth = 1.5 + 0.8 * (severity[patient[target] ?? 0] ?? 0) + 0.8 * normal();
    for (let assessor = 0; assessor < assessors; assessor++)
      codes[target * assessors + assessor] = grade(truth + 1.4 * (uniform() - 0.5), 3);
  }
  put(folder, 'codes.i32', codes);
  put(folder, 'patient.i32', patient);
}

/** @param {number} value @param {number} most */
function grade(value, most) {
  return Math.max(0, Math.min(most, Math.round(value)));
}

/**
 * A whole study as a file of assessments, study.csv: five assessors read every place of every patient, pulses at seven
 * sites and edema at seven others, some places on a second day. Beside it for the reference codes.i32, patient.i32 and
 * site.i32 (0–6 pulse, 7–13 edema), target after target.
 *
 * @param {string} folder @param {{ patients: number }} sizes each patient has 40 targets
 */
export async function writeStudy(folder, { patients }) {
  const { uniform, normal } = chanceOf(20261128);
  const assessors = 5;
  const targets = patients * 40;
  const codes = new Int32Array(targets * assessors);
  const patient = new Int32Array(targets);
  const site = new Int32Array(targets);
  const file = createWriteStream(join(folder, 'study.csv'));
  file.write('patient,assessor,day,occasion,limb,site,sign,scale,value\n');
  let target = 0;
  for (let person = 0; person < patients; person++) {
    const severity = normal();
    const lines = [];
    for (const [first, names, sign, scale] of /** @type {const} */ ([
      [0, SITES, 'pulse-grade', 'pulse.0-3.normal2'],
      [7, EDEMA_SITES, 'pitting-edema', 'oed.0-3.words'],
    ]))
      for (let place = 0; place < 20; place++, target++) {
        const name = names[place % 7] ?? '';
        const side = Math.floor(place / 7) % 2 === 0 ? 'left' : 'right';
        const arm = first === 0 ? ARM.includes(name) : place % 7 < 2;
        const day = place < 14 ? 0 : 7;
        patient[target] = person;
        site[target] = first + (place % 7);
        const truth = 1.5 + 0.8 * severity + 0.8 * normal();
        const about = `${day},visit-${day},${side}-${arm ? 'arm' : 'leg'},${name},${sign},${scale}`;
        for (let assessor = 0; assessor < assessors; assessor++) {
          const read = grade(truth + 1.4 * (uniform() - 0.5), 3);
          codes[target * assessors + assessor] = read;
          lines.push(`P${String(person).padStart(6, '0')},A${assessor + 1},${about},${read}`);
        }
      }
    if (!file.write(`${lines.join('\n')}\n`)) await new Promise((resolve) => file.once('drain', () => resolve(0)));
  }
  await new Promise((resolve) => file.end(() => resolve(0)));
  put(folder, 'codes.i32', codes);
  put(folder, 'patient.i32', patient);
  put(folder, 'site.i32', site);
}

/**
 * Rows of groups for regression models: group.i32, x.f64, and as responses grade.i32 (0–3), yes.i32 (0/1), time.f64 with
 * event.i32 (0/1; whole weeks, so that times tie).
 *
 * @param {string} folder @param {{ rows: number, groups: number }} sizes
 */
export function writeGroups(folder, { rows, groups }) {
  const { uniform, normal } = chanceOf(20261129);
  const own = Float64Array.from({ length: groups }, normal);
  const group = Int32Array.from({ length: rows }, (_, row) => Math.floor((row * groups) / rows));
  const x = Float64Array.from({ length: rows }, normal);
  const latent = group.map(() => 0);
  const yes = new Int32Array(rows);
  const time = new Float64Array(rows);
  const event = new Int32Array(rows);
  for (let row = 0; row < rows; row++) {
    const linear = 0.7 * (x[row] ?? 0) + (own[group[row] ?? 0] ?? 0);
    const logistic = () => {
      const u = (uniform() + 1e-12) / (1 + 2e-12);
      return Math.log(u / (1 - u));
    };
    const value = linear + logistic();
    latent[row] = value < -1.5 ? 0 : value < 0 ? 1 : value < 1.5 ? 2 : 3;
    yes[row] = linear + logistic() > 0 ? 1 : 0;
    const until = -Math.log(1 - uniform()) * 40 * Math.exp(-0.5 * (x[row] ?? 0));
    time[row] = Math.min(52, Math.ceil(until));
    event[row] = until < 52 ? 1 : 0;
  }
  put(folder, 'group.i32', group);
  put(folder, 'x.f64', x);
  put(folder, 'grade.i32', latent);
  put(folder, 'yes.i32', yes);
  put(folder, 'time.f64', time);
  put(folder, 'event.i32', event);
}

/**
 * Measured numbers of every target by every assessor: target.i32, assessor.i32, number.f64.
 *
 * @param {string} folder @param {{ targets: number, assessors: number }} sizes
 */
export function writeNumbers(folder, { targets, assessors }) {
  const { normal } = chanceOf(20261130);
  const habit = Float64Array.from({ length: assessors }, () => 0.5 * normal());
  const rows = targets * assessors;
  const target = Int32Array.from({ length: rows }, (_, row) => Math.floor(row / assessors));
  const assessor = Int32Array.from({ length: rows }, (_, row) => row % assessors);
  let truth = 0;
  const number = Float64Array.from({ length: rows }, (_, row) => {
    if (row % assessors === 0) truth = 30 + 2 * normal();
    return truth + (habit[row % assessors] ?? 0) + normal();
  });
  put(folder, 'target.i32', target);
  put(folder, 'assessor.i32', assessor);
  put(folder, 'number.f64', number);
}
