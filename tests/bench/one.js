/** One benchmark in a process of its own, so that none inherits another's heap; tells its parent. */

import { leave } from './workshop.js';

const benchmark = String(process.argv.at(2));
// Without a parent there is nobody to measure for.
process.once('disconnect', () => void leave(1));
try {
  const { measure } = await import(`./${benchmark}.js`);
  const results = await measure();
  process.send(results, () => void leave(0));
} catch (error) {
  console.error(error);
  await leave(1);
}
