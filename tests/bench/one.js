/** One benchmark in a process of its own, so that none inherits another's heap; tells its parent. */

const benchmark = String(process.argv.at(2));
const { measure } = await import(`./${benchmark}.js`);
// Without a parent there is nobody to measure for.
process.once('disconnect', () => process.exit(1));
const results = await measure();
process.send(results, () => process.exit(0));
