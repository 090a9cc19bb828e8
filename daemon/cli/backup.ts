/** `nightbath backup` and `nightbath restore`: the log as one file, out and back in. */

import { databaseFile, loadSettings } from '../settings/door.ts';
import { backUpDatabase, restoreDatabase, StoreError } from '../store/door.ts';
import type { BackupFacts } from '../store/door.ts';
import { configOption, configPathOf, exitCodes, jsonOption, UsageError } from './command.ts';
import type { Call, Command } from './command.ts';

function fileOf(call: Call): string {
  const [file, ...others] = call.words;
  if (file === undefined || others.length > 0) throw new UsageError('Name one file.');
  return file;
}

function answer(call: Call, act: (database: string) => { facts: object; text: string }): number {
  const { settings } = loadSettings({ env: call.terminal.env, ...configPathOf(call) });
  try {
    const { facts, text } = act(databaseFile(settings, call.terminal.env));
    call.terminal.print(call.switches.has('json') ? JSON.stringify(facts, null, 2) : text);
    return exitCodes.done;
  } catch (error) {
    if (!(error instanceof StoreError)) throw error;
    call.terminal.complain(error.message);
    return exitCodes.database;
  }
}

function contents({ runs, pieces, pictures }: BackupFacts): string {
  const some = (count: number, one: string): string => `${count} ${one}${count === 1 ? '' : 's'}`;
  return `${some(runs, 'run')}, ${some(pieces, 'piece')} and ${some(pictures, 'picture')}`;
}

export const backupCommand: Command = {
  words: ['FILE'],
  options: { json: jsonOption, config: configOption },
  notes: [
    'The copy is one file that holds runs, pieces and pictures, and is read back before it counts. ' +
      'The daemon may run meanwhile. A file that is there already is never written over.',
    '  nightbath backup ~/nightbath-backup.sqlite',
  ],
  run(call) {
    const target = fileOf(call);
    const code = answer(call, (database) => {
      const facts = backUpDatabase(database, target);
      return { facts, text: `Copied to ${facts.file}: ${contents(facts)}.` };
    });
    return Promise.resolve(code);
  },
};

export const restoreCommand: Command = {
  words: ['FILE'],
  options: { json: jsonOption, config: configOption },
  notes: [
    'Stop the daemon first. The database that stands there now is kept beside it under another ' +
      'name; nothing is lost. The settings are not part of a copy.',
  ],
  run(call) {
    const source = fileOf(call);
    const code = answer(call, (database) => {
      const facts = restoreDatabase(database, source);
      const kept = facts.keptAs === null ? '' : ` What stood there is kept as ${facts.keptAs}.`;
      return { facts, text: `${facts.file} now holds ${contents(facts)}.${kept}` };
    });
    return Promise.resolve(code);
  },
};
