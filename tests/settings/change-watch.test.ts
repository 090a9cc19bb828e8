/** Whether the bench is to start anew on its settings: only on other ones, that can be used. */

import { rmSync } from 'node:fs';
import { afterEach, describe, expect, it } from 'vitest';
import { changeWatch } from '../../daemon/settings/door.ts';
import { BenchFolder, benchToml } from './bench-folder.ts';

let folder: BenchFolder;
afterEach(() => folder.remove());

describe('settings since the start', () => {
  it('are other ones once another text stands there that can be used', () => {
    folder = new BenchFolder();
    const changed = changeWatch(folder.file, { HOME: folder.path });
    expect(changed()).toBe(false);
    folder.write('bench.toml', benchToml.replace('maxAmps = 3', 'maxAmps = 0'));
    expect(changed()).toBe(false);
    folder.write('bench.toml', benchToml.slice(0, 200));
    expect(changed()).toBe(false);
    rmSync(folder.file);
    expect(changed()).toBe(false);
    folder.write('bench.toml', benchToml.replace('maxAmps = 3', 'maxAmps = 2'));
    expect(changed()).toBe(true);
    folder.write('bench.toml', benchToml);
    expect(changed()).toBe(false);
  });
});
