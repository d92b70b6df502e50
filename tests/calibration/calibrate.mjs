import process from 'node:process';
import { runCells } from './run-cells.mjs';

const [part, studies, workers] = process.argv.slice(2);
const r = await runCells(part, { studies: Number(studies), workers: Number(workers) });
console.log(r.length);
