/** Builds the dashboard once, as it is shipped, before any browser test; it takes under a second. */

import { spawnSync } from 'node:child_process';
import { fileURLToPath } from 'node:url';

/** Throws with the builder's words when the dashboard does not build. */
export function setup(): void {
  // A run of all tests has just built it.
  if (process.env['NIGHTBATH_TESTS_BUILT'] === '1') return;
  const root = fileURLToPath(new URL('../..', import.meta.url));
  const vite = fileURLToPath(new URL('../../node_modules/vite/bin/vite.js', import.meta.url));
  // The runner's own NODE_ENV would choose the libraries' development builds.
  const built = spawnSync(process.execPath, [vite, 'build', 'dashboard', '--logLevel', 'error'], {
    cwd: root,
    env: { ...process.env, NODE_ENV: 'production', NIGHTBATH_LANGUAGE: 'en' },
    encoding: 'utf8',
  });
  if (built.status !== 0) throw new Error(`The dashboard does not build:\n${built.stderr}`);
}
