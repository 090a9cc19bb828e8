/** Brings `dist/` up to date with the source: a thread and a child process run compiled files only. */

import { spawnSync } from 'node:child_process';
import { existsSync } from 'node:fs';
import { fileURLToPath } from 'node:url';

const root = fileURLToPath(new URL('../..', import.meta.url));

/** Where the compiled store is, as a URL that a child process can import from. */
export const builtStore = new URL('../../dist/daemon/store/', import.meta.url);

/** Throws with the compiler's words when the store does not compile. */
export function buildDaemon(): void {
  const compiler = fileURLToPath(new URL('../../node_modules/.bin/tsc', import.meta.url));
  const { stdout } = spawnSync(compiler, ['-p', 'daemon/tsconfig.json'], {
    cwd: root,
    encoding: 'utf8',
  });
  const own = stdout.split('\n').filter((line) => line.startsWith('daemon/store/'));
  if (own.length > 0 || !existsSync(new URL('writer-thread.js', builtStore))) {
    throw new Error(`The store does not compile:\n${own.join('\n') || stdout}`);
  }
}
