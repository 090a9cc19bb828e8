/** The file with the hashes of the passphrases, one a role: written whole, for the owner's eyes only. */

import { mkdirSync, readFileSync, renameSync, rmSync, writeFileSync } from 'node:fs';
import { dirname } from 'node:path';
import { z } from 'zod';
import type { Role } from '../wire/roles.ts';
import { isPassphraseHash } from './passphrase-hash.ts';
import { fileProblem, SettingsError } from './problems.ts';

/** Hash by role; a role that is not there cannot be had. */
export type Passphrases = Readonly<Partial<Record<Role, string>>>;

const hash = z
  .string()
  .refine(isPassphraseHash, { error: 'a hash that was written by this version' });
const fileSchema = z.strictObject({
  version: z.literal(1),
  roles: z.strictObject({
    view: hash.optional(),
    stop: hash.optional(),
    control: hash.optional(),
  }),
});

/** What is set; nothing where there is no file. Throws a SettingsError for a file that cannot be used. */
export function readPassphrases(file: string): Passphrases {
  let text: string;
  try {
    text = readFileSync(file, 'utf8');
  } catch (error) {
    if (error instanceof Error && 'code' in error && error.code === 'ENOENT') return {};
    throw unusable(file, error instanceof Error ? error.message : String(error));
  }
  let value: unknown;
  try {
    value = JSON.parse(text);
  } catch {
    throw unusable(file, 'it is not JSON');
  }
  const result = fileSchema.safeParse(value);
  if (!result.success) throw unusable(file, 'it holds something else than hashes of passphrases');
  const { view, stop, control } = result.data.roles;
  return {
    ...(view !== undefined && { view }),
    ...(stop !== undefined && { stop }),
    ...(control !== undefined && { control }),
  };
}

function unusable(file: string, why: string): SettingsError {
  const remedy = 'Remove it and set the passphrases again with "nightbath passphrase".';
  return new SettingsError([
    fileProblem(file, `The passphrases cannot be used: ${why}. ${remedy}`),
  ]);
}

/** Puts them in the place of what was set; mode 0600, and never half a file. */
export function writePassphrases(file: string, roles: Passphrases): void {
  writePrivateFile(file, `${JSON.stringify({ version: 1, roles }, null, 2)}\n`);
}

/** Writes a file that only its owner may read, through one beside it, so that nobody sees half of it. */
export function writePrivateFile(file: string, text: string): void {
  mkdirSync(dirname(file), { recursive: true, mode: 0o700 });
  const draft = `${file}.${process.pid}.new`;
  // One that is left over, or a link that somebody has put there, is not written through.
  rmSync(draft, { force: true });
  writeFileSync(draft, text, { mode: 0o600, flag: 'wx' });
  renameSync(draft, file);
}
