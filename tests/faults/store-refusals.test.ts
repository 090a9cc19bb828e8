/** Places where the store cannot work at all: a library without its binding, a folder it may not write. */

import { spawnSync } from 'node:child_process';
import {
  chmodSync,
  cpSync,
  existsSync,
  mkdirSync,
  readFileSync,
  symlinkSync,
  writeFileSync,
} from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { expect, test } from 'vitest';
import * as z from 'zod/mini';
import { openBenchFile, ownFolder } from '../store/bench-file.ts';
import { builtStore } from '../store/built-daemon.ts';
import { aRun } from '../store/a-run.ts';

const errorSchema = z.object({ name: z.string(), kind: z.string(), message: z.string() });

/** Runs a module text in a Node of its own; it prints the error that it caught as JSON. */
function errorFrom(script: string): z.infer<typeof errorSchema> {
  const { stdout, stderr } = spawnSync(process.execPath, ['--input-type=module', '-e', script], {
    encoding: 'utf8',
  });
  if (stdout === '') throw new Error(`nothing was printed:\n${stderr}`);
  return errorSchema.parse(JSON.parse(stdout));
}

const printed = `(error) => console.log(JSON.stringify(
  { name: error.name, kind: String(error.kind), message: error.message }))`;

/** A copy of the built daemon with a better-sqlite3 whose install script never ran. */
function treeWithoutBinding(): string {
  const tree = ownFolder();
  const modules = fileURLToPath(new URL('../../node_modules/', import.meta.url));
  cpSync(fileURLToPath(new URL('..', builtStore)), join(tree, 'dist', 'daemon'), {
    recursive: true,
  });
  writeFileSync(join(tree, 'package.json'), '{ "type": "module" }');
  mkdirSync(join(tree, 'node_modules', 'better-sqlite3'), { recursive: true });
  for (const part of ['package.json', 'lib']) {
    cpSync(
      join(modules, 'better-sqlite3', part),
      join(tree, 'node_modules', 'better-sqlite3', part),
      { recursive: true },
    );
  }
  for (const name of ['bindings', 'file-uri-to-path', 'zod']) {
    symlinkSync(join(modules, name), join(tree, 'node_modules', name));
  }
  return tree;
}

test('without its binding, writer and reader say which command to run', () => {
  const tree = treeWithoutBinding();
  const door = pathToFileURL(join(tree, 'dist', 'daemon', 'store', 'door.js')).href;
  const file = join(tree, 'bench.db');
  const calls = [
    `await openStoreWriter(${JSON.stringify({ file })})`,
    `openStoreReader(${JSON.stringify(file)})`,
  ];
  for (const call of calls) {
    const error = errorFrom(`
      import { openStoreReader, openStoreWriter } from '${door}';
      try { ${call}; } catch (error) { (${printed})(error); }
    `);
    expect(error.name).toBe('StoreError');
    expect(error.kind).toBe('missingBinding');
    expect(error.message).toContain('`npm rebuild better-sqlite3`');
    expect(error.message).toContain('`npx --allow-scripts=better-sqlite3');
  }
  expect(existsSync(file)).toBe(false);
});

test('with a binding that was built for something else, it says the same', () => {
  const tree = treeWithoutBinding();
  const release = join(tree, 'node_modules', 'better-sqlite3', 'build', 'Release');
  mkdirSync(release, { recursive: true });
  writeFileSync(join(release, 'better_sqlite3.node'), 'not a shared library');
  const door = pathToFileURL(join(tree, 'dist', 'daemon', 'store', 'door.js')).href;
  const error = errorFrom(`
    import { openStoreWriter } from '${door}';
    await openStoreWriter(${JSON.stringify({ file: join(tree, 'bench.db') })}).catch(${printed});
  `);
  expect(error.kind).toBe('missingBinding');
});

/**
 * Opens `file` as somebody who may read but not write there. Root may write anywhere, so there the
 * child becomes nobody first; the library is loaded before, while it can still be read for certain.
 */
function openAsNobody(file: string) {
  const database = new URL('database.js', builtStore).href;
  return errorFrom(`
    import Database from '${new URL('../../node_modules/better-sqlite3/lib/index.js', import.meta.url).href}';
    import { openDatabase } from '${database}';
    new Database(':memory:').close();
    if (process.getuid() === 0) { process.setgid(65534); process.setuid(65534); }
    try {
      openDatabase(${JSON.stringify(file)}, { onNotice: () => undefined }).close();
      console.log(JSON.stringify({ name: 'none', kind: 'none', message: 'it could be opened' }));
    } catch (error) { (${printed})(error); }
  `);
}

test('a folder that may not be written is refused with the file that could not be made', () => {
  const folder = ownFolder();
  chmodSync(folder, 0o555);
  const error = openAsNobody(join(folder, 'bench.db'));
  chmodSync(folder, 0o755);
  expect(error.kind).toBe('cannotOpen');
  expect(error.message).toContain(join(folder, 'bench.db'));
});

test('a file that may be read but not written is refused and stays as it was', () => {
  const folder = ownFolder();
  const file = join(folder, 'bench.db');
  const bench = openBenchFile(file);
  bench.records.createRun(aRun('night-1'));
  bench.close();
  const before = readFileSync(file);
  chmodSync(file, 0o444);
  chmodSync(`${file}.lock`, 0o444);
  chmodSync(folder, 0o555);
  const error = openAsNobody(file);
  chmodSync(folder, 0o755);
  expect(error.kind).toBe('cannotOpen');
  expect(error.message).toContain(file);
  expect(readFileSync(file).equals(before)).toBe(true);
});
