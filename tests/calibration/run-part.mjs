import process from 'node:process';
import { runCells } from './run-cells.mjs';

const [part, studies, workers] = process.argv.slice(2);
await runCells(part, { studies: Number(studies), workers: Number(workers) });
