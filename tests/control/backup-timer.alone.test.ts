/** The nightly copy on a real disk: control's own loop never waits for the folder of the copies. */

import { writeFileSync } from 'node:fs';
import { afterEach, expect, it, vi } from 'vitest';
import { keptBackups } from '../../daemon/store/door.ts';
import { nightlyBackups } from '../../daemon/control/backup-timer.ts';
import { BenchFolder, benchToml } from '../settings/bench-folder.ts';
import { openBenchFile } from '../store/bench-file.ts';

/** What was looked at while the loop stood still. */
const waitedFor = vi.hoisted((): string[] => []);
vi.mock('node:fs', async (original) => {
  const fs = await original<typeof import('node:fs')>();
  const noting = { ...fs };
  for (const name of ['readdirSync', 'statSync', 'existsSync', 'accessSync'] as const) {
    const real = fs[name] as (...all: unknown[]) => unknown;
    Object.assign(noting, {
      [name]: (...all: unknown[]) => {
        waitedFor.push(String(all[0]));
        return real(...all);
      },
    });
  }
  return { ...noting, default: noting };
});

const folder = new BenchFolder();
afterEach(() => folder.remove());

it('looks, measures and copies without a wait in the loop', async () => {
  const database = `${folder.path}/log/runs.sqlite`;
  const copies = `${folder.path}/far/away/copies`;
  folder.write('log/keep', '');
  openBenchFile(database);
  writeFileSync(
    folder.file,
    `${benchToml}\n[database]\nfile = "${database}"\n[backups]\nfolder = "${copies}"\n`,
  );
  const { settings } = folder.load();
  const said: string[] = [];
  const nightly = nightlyBackups(settings, {}, new Map(), (sentence) => said.push(sentence));
  waitedFor.length = 0;
  await nightly.look(0, Date.now());
  await nightly.look(11 * 60_000, Date.now());
  const looked = [...waitedFor];
  expect(said).toEqual([]);
  expect(keptBackups(copies, database)).toHaveLength(1);
  expect(looked.filter((file) => file.startsWith(folder.path))).toEqual([]);
  // That such a wait would have been seen.
  expect(waitedFor).toContain(copies);
});
