/** `npm test` on a machine without the tools that it needs: a clear stop, never a silent skip. */

import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { expect, it, onTestFinished } from 'vitest';
import { packageRoot } from '../../daemon/settings/door.ts';

it('stops with the exact command to run, and names the quick tests', () => {
  const empty = mkdtempSync(join(tmpdir(), 'nightbath-path-'));
  onTestFinished(() => rmSync(empty, { recursive: true, force: true }));
  const { CHROMIUM_PATH: _, ...env } = process.env;
  const done = spawnSync(process.execPath, [join(packageRoot(), 'tests', 'run-all.js')], {
    encoding: 'utf8',
    env: { ...env, PATH: empty },
  });
  expect(done.status).toBe(1);
  expect(done.stdout).toContain('The tests need socat');
  expect(done.stdout).toMatch(
    /apt-get update && (?:sudo )?apt-get install --yes --no-install-recommends socat strace chromium$/m,
  );
  expect(done.stdout).toContain('npm run test:quick');
});
