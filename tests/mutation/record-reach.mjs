// Set-up file of the first run: notes for each test the regions that it enters, and those entered outside every test.
import { afterEach, beforeEach } from 'vitest';

globalThis.__reached = new Uint8Array(100_000);

const take = () => {
  const numbers = [];
  globalThis.__reached.forEach((on, at) => on && numbers.push(at));
  globalThis.__reached.fill(0);
  return numbers;
};
beforeEach(({ task }) => {
  task.meta.before = take();
});
afterEach(({ task }) => {
  task.meta.reached = take();
});
