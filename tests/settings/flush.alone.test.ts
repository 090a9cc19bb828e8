/** A disk that cannot flush a folder, as some on a network: the save is done, and is not called failed. */

import { readFileSync, writeFileSync } from 'node:fs';
import { afterEach, expect, it, vi } from 'vitest';
import { readEditable, saveSettings } from '../../daemon/settings/door.ts';
import { BenchFolder, benchToml } from './bench-folder.ts';

const disk = vi.hoisted(() => ({ refusedFolders: 0 }));
vi.mock('node:fs', async (original) => {
  const fs = await original<typeof import('node:fs')>();
  const fsyncSync = (handle: number): void => {
    if (!fs.fstatSync(handle).isDirectory()) return fs.fsyncSync(handle);
    disk.refusedFolders += 1;
    throw Object.assign(new Error('EINVAL: invalid argument, fsync'), { code: 'EINVAL' });
  };
  return { ...fs, fsyncSync, default: { ...fs, fsyncSync } };
});

const folder = new BenchFolder();
afterEach(() => folder.remove());

it('saves, and tells what it saved', () => {
  const options = { configPath: folder.file, env: { HOME: folder.path } };
  const { hash } = readEditable(options);
  const saved = saveSettings(options, {
    hash,
    changes: [{ kind: 'set', path: ['studio'], value: 'Changed' }],
  });
  expect(disk.refusedFolders).toBeGreaterThan(0);
  expect(saved.settings.studio).toBe('Changed');
  const text = readFileSync(folder.file, 'utf8');
  expect(text).toBe(benchToml.replace('Trial bench', 'Changed'));
  expect(saved.hash).toBe(readEditable(options).hash);
  expect(readFileSync(`${folder.file}.previous`, 'utf8')).toBe(benchToml);
  // The next one goes too: no lock is left.
  writeFileSync(folder.file, benchToml);
  expect(saveSettings(options, { hash, changes: [] }).hash).toBe(hash);
});
