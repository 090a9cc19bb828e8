/** Brings `dist/` up to date before any test: threads and child processes run compiled files only. */

import { spawnSync } from 'node:child_process';
import { utimesSync } from 'node:fs';
import { fileURLToPath } from 'node:url';

/** Throws with the compiler's words when the daemon does not compile. */
export function setup(): void {
  const root = fileURLToPath(new URL('..', import.meta.url));
  const compiler = fileURLToPath(new URL('../node_modules/.bin/tsc', import.meta.url));
  // A run of all tests has just built it, and starts two of these side by side.
  if (process.env['NIGHTBATH_TESTS_BUILT'] !== '1') {
    const built = spawnSync(compiler, ['-p', 'daemon/tsconfig.json'], {
      cwd: root,
      encoding: 'utf8',
    });
    if (built.status !== 0) throw new Error(`The daemon does not compile:\n${built.stdout}`);
  }
  // `serve` builds when sources are newer than this note; here the build is known to be current.
  const now = new Date();
  utimesSync(new URL('../dist/daemon.tsbuildinfo', import.meta.url), now, now);
}
