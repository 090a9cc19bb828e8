/** Saving settings: one whole file, judged before it is written, with a copy of what stood there. */

import {
  chmodSync,
  existsSync,
  lstatSync,
  mkdirSync,
  readFileSync,
  readdirSync,
  statSync,
  symlinkSync,
  utimesSync,
  writeFileSync,
} from 'node:fs';
import { join } from 'node:path';
import { afterEach, describe, expect, it } from 'vitest';
import {
  EditRefused,
  packageRoot,
  readEditable,
  saveSettings,
  SettingsConflict,
  SettingsError,
} from '../../daemon/settings/door.ts';
import type { TomlChange } from '../../daemon/settings/door.ts';
import { BenchFolder, benchToml } from './bench-folder.ts';

const folders: BenchFolder[] = [];
afterEach(() => folders.splice(0).forEach((folder) => folder.remove()));

function bench(toml = benchToml) {
  const folder = new BenchFolder(toml);
  folders.push(folder);
  const options = { configPath: folder.file, env: { HOME: folder.path } };
  const text = () => readFileSync(folder.file, 'utf8');
  const save = (changes: readonly TomlChange[], hash = readEditable(options).hash) =>
    saveSettings(options, { hash, changes });
  return { folder, options, text, save };
}

const amps = (value: unknown): TomlChange => ({
  kind: 'set',
  path: ['tanks', 0, 'maxAmps'],
  value,
});

function thrown(work: () => unknown): unknown {
  try {
    work();
  } catch (error) {
    return error;
  }
  throw new Error('This was expected to be refused.');
}

describe('a save', () => {
  it('writes the change, keeps the mode, and one copy of what stood there', () => {
    const { folder, text, save } = bench();
    chmodSync(folder.file, 0o640);
    const saved = save([amps(2.5)]);
    expect(text()).toBe(benchToml.replace('maxAmps = 3', 'maxAmps = 2.5'));
    expect(statSync(folder.file).mode & 0o777).toBe(0o640);
    expect(readFileSync(`${folder.file}.previous`, 'utf8')).toBe(benchToml);
    expect(saved).toMatchObject({ file: folder.file, copied: false });
    expect([saved.before.tanks[0]?.maxAmps, saved.settings.tanks[0]?.maxAmps]).toEqual([3, 2.5]);
    save([amps(2)]);
    expect(readFileSync(`${folder.file}.previous`, 'utf8')).toContain('maxAmps = 2.5');
    expect(readdirSync(folder.path).filter((name) => /new|lock/.test(name))).toEqual([]);
  });

  it('leaves the file alone where nothing changes', () => {
    const { folder, save } = bench();
    const before = statSync(folder.file);
    save([amps(3)]);
    expect(statSync(folder.file).ino).toBe(before.ino);
    expect(existsSync(`${folder.file}.previous`)).toBe(false);
  });

  it('refuses settings that could not be used, with every problem, and writes nothing', () => {
    const { folder, text, save } = bench();
    const error = thrown(() => save([amps(900)]));
    expect(error).toBeInstanceOf(SettingsError);
    expect(String(error)).toContain(
      'tanks[0].maxAmps is 900; it must be a number from 0.001 to 500 A',
    );
    expect(() => save([{ kind: 'set', path: ['tanks', 0, 'bath'], value: 'no-such' }])).toThrow(
      'trial-copper',
    );
    expect(() => save([{ kind: 'set', path: ['tanks', 0, 'colour'], value: 'red' }])).toThrow(
      'tanks[0].colour is not a known key.',
    );
    expect(() => save([{ kind: 'remove', path: ['tanks', 0] }])).toThrow(
      'one to eight tables [[tanks]]',
    );
    expect(() => save([{ kind: 'set', path: ['web', 'signInHere'], value: true }])).toThrow(
      'no passphrase for control is',
    );
    expect(() => save([{ kind: 'remove', path: ['tanks', 7] }])).toThrow(EditRefused);
    expect(text()).toBe(benchToml);
    expect(existsSync(`${folder.file}.previous`)).toBe(false);
  });

  it('refuses where the file has changed since it was read, and shows both', () => {
    const { options, text, save, folder } = bench();
    const { hash } = readEditable(options);
    const changed = benchToml.replace('maxAmps = 3', 'maxAmps = 1');
    writeFileSync(folder.file, changed);
    const error = thrown(() => save([amps(2)], hash));
    expect(error).toBeInstanceOf(SettingsConflict);
    expect(error).toMatchObject({
      hash: readEditable(options).hash,
      conflicts: [{ path: ['tanks', 0, 'maxAmps'], yours: 2, now: 1 }],
    });
    expect(text()).toBe(changed);
  });

  it('does not write while another save does, unless that one was cut short', () => {
    const { folder, text, save } = bench();
    const lock = `${folder.file}.lock`;
    writeFileSync(lock, '');
    expect(() => save([amps(2)])).toThrow('is being saved by somebody else');
    expect(text()).toBe(benchToml);
    const longAgo = new Date(Date.now() - 60_000);
    utimesSync(lock, longAgo, longAgo);
    save([amps(2)]);
    expect(text()).toContain('maxAmps = 2\n');
    expect(existsSync(lock)).toBe(false);
  });

  it('writes through a link and leaves it a link', () => {
    const { folder } = bench();
    const link = join(folder.path, 'linked.toml');
    symlinkSync(folder.file, link);
    const options = { configPath: link, env: { HOME: folder.path } };
    saveSettings(options, { hash: readEditable(options).hash, changes: [amps(2)] });
    expect(lstatSync(link).isSymbolicLink()).toBe(true);
    expect(readFileSync(folder.file, 'utf8')).toContain('maxAmps = 2\n');
  });
});

describe('the first save of the shipped bench', () => {
  it("makes the maker's own file of it and leaves the shipped one as it is", () => {
    const { folder } = bench();
    const env = { HOME: folder.path };
    const shipped = join(packageRoot(), 'config', 'bench.toml');
    const text = readFileSync(shipped, 'utf8');
    const read = readEditable({ env });
    const own = join(folder.path, '.config', 'nightbath', 'bench.toml');
    expect(read).toMatchObject({ file: shipped, source: 'shipped', target: own });
    const saved = saveSettings({ env }, { hash: read.hash, changes: [amps(2.5)] });
    expect(saved).toMatchObject({ file: own, copied: true, previous: null });
    expect(readFileSync(own, 'utf8')).toBe(text.replace('maxAmps = 3.0', 'maxAmps = 2.5'));
    expect(readFileSync(shipped, 'utf8')).toBe(text);
    // A bench that was started on the shipped file goes on with the maker's own.
    const again = readEditable({ configPath: shipped, env });
    expect(again).toMatchObject({ file: own, source: 'user', target: own, hash: saved.hash });
  });

  it('says so where no file can be made', () => {
    const { folder } = bench();
    const env = { HOME: folder.path };
    mkdirSync(join(folder.path, '.config'), { recursive: true });
    writeFileSync(join(folder.path, '.config', 'nightbath'), 'a file where a folder should be');
    const { hash } = readEditable({ env });
    expect(() => saveSettings({ env }, { hash, changes: [amps(2)] })).toThrow(
      'The settings cannot be written',
    );
  });
});
