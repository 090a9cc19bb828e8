/** Compiles the campaign with the daemon and drivers it runs into a folder of its own. */

import { spawnSync } from 'node:child_process';
import { fileURLToPath } from 'node:url';

export const root = fileURLToPath(new URL('../..', import.meta.url));
const compiler = fileURLToPath(new URL('../../node_modules/.bin/tsc', import.meta.url));
/** Where the compiled campaign stands, from the root. */
export const plainFolder = `${root}.cache/nights/plain`;

/** Throws with the compiler's words when it does not compile. Whoever has just built it says so. */
export function build() {
  if (process.env.NIGHTBATH_NIGHTS_BUILT === '1') return;
  const args = ['-p', 'tests/nights/tsconfig.json'];
  const built = spawnSync(compiler, args, { cwd: root, encoding: 'utf8' });
  if (built.status !== 0) throw new Error(`The campaign does not compile:\n${built.stdout}`);
}
