/** `nightbath passphrase`: sets or removes what browsers on the network have to sign in with. */

import {
  hashPassphrase,
  loadSettings,
  matchesPassphrase,
  needsPassphrase,
  passphraseFile,
  passphraseProblem,
  readPassphrases,
  writePassphrases,
} from '../settings/door.ts';
import type { Passphrases } from '../settings/door.ts';
import { roleSchema } from '../wire/session.ts';
import type { Role } from '../wire/roles.ts';
import { configOption, configPathOf, exitCodes, UsageError } from './command.ts';
import type { Call, Command } from './command.ts';

/** The role that a word means; control where none is given. */
function roleOf(words: readonly string[]): Role {
  const [word = 'control', ...others] = words;
  const role = roleSchema.safeParse(word);
  if (role.success && others.length === 0) return role.data;
  throw new UsageError(`"${words.join(' ')}" is not a role; it must be view, stop or control.`);
}

/** Asked for twice at a terminal, taken from the first line of standard input elsewhere. */
async function newPassphrase({ terminal }: Call, role: Role): Promise<string> {
  const first = await terminal.readSecret(`New passphrase for ${role} (not shown): `);
  if (first === null) return (await terminal.readInput()).split(/\r?\n/, 1)[0] ?? '';
  const problem = passphraseProblem(first);
  if (problem !== null) throw new Error(`${problem} Nothing was changed.`);
  const second = await terminal.readSecret('The same once more: ');
  if (first !== second) throw new Error('The two are not the same. Nothing was changed.');
  return first;
}

/** One passphrase for two roles would leave it open which one it means. */
async function roleWith(passphrase: string, set: Passphrases, not: Role): Promise<Role | null> {
  for (const role of roleSchema.options) {
    const kept = set[role];
    if (role === not || kept === undefined) continue;
    if (await matchesPassphrase(passphrase, kept)) return role;
  }
  return null;
}

async function run(call: Call): Promise<number> {
  const { terminal, switches } = call;
  const role = roleOf(call.words);
  const { settings, file: settingsFile } = loadSettings({
    env: terminal.env,
    ...configPathOf(call),
  });
  const file = passphraseFile(settings, terminal.env);
  const set = readPassphrases(file);
  if (switches.has('list')) {
    for (const one of roleSchema.options) {
      terminal.print(`${one.padEnd(8)}${set[one] === undefined ? 'not set' : 'set'}`);
    }
    return exitCodes.done;
  }
  if (switches.has('remove')) {
    const { [role]: removed, ...others } = set;
    if (removed === undefined) throw new Error(`No passphrase for ${role} is set in ${file}.`);
    writePassphrases(file, others);
    terminal.print(`The passphrase for ${role} is gone. Who signed in with it is signed out.`);
    if (role === 'control' && needsPassphrase(settings)) {
      terminal.complain(
        `Without it the page does not start with [web] in ${settingsFile} as it is.`,
      );
    }
    return exitCodes.done;
  }
  const passphrase = await newPassphrase(call, role);
  const problem = passphraseProblem(passphrase);
  if (problem !== null) throw new Error(`${problem} Nothing was changed.`);
  const same = await roleWith(passphrase, set, role);
  if (same !== null) {
    throw new Error(`This is the passphrase for ${same} already. Take another one for ${role}.`);
  }
  writePassphrases(file, { ...set, [role]: await hashPassphrase(passphrase) });
  terminal.print(`The passphrase for ${role} is set. Its hash is in ${file}.`);
  if (!needsPassphrase(settings)) {
    terminal.print(`The page is still served on this machine only; see [web] in ${settingsFile}.`);
  }
  return exitCodes.done;
}

export const passphraseCommand: Command = {
  words: ['[view|stop|control]'],
  options: {
    list: { help: 'say for which roles one is set' },
    remove: { help: 'remove the one of that role' },
    config: configOption,
  },
  notes: [
    'Without a role it is the one for control, which the network needs. "view" looks on, "stop" looks ' +
      'on and switches off, "control" does everything. Each role has a passphrase of its own.',
    'It is asked for twice and not shown; without a terminal it is the first line of standard input. ' +
      'Only a hash of it is kept, in the state folder. A running page takes the change at once; who ' +
      'signed in with the old one is signed out.',
    'For a service, run it as the user of the service and with its state folder: ' +
      'sudo -u nightbath STATE_DIRECTORY=/var/lib/nightbath nightbath passphrase --config /etc/nightbath/bench.toml',
  ],
  run,
};
