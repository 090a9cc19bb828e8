/** Sets and takes away passphrases from a browser on the bench's own machine; in force at once. */

import {
  hashPassphrase,
  matchesPassphrase,
  needsPassphrase,
  passphraseProblem,
  readPassphrases,
  writePassphrases,
} from '../../settings/door.ts';
import type { Settings } from '../../settings/model.ts';
import { roleSchema } from '../../wire/session.ts';
import type { Role } from '../../wire/roles.ts';
import { ProblemError } from '../problem.ts';

function invalid(message: string, bound: string): ProblemError {
  const problem = { field: 'passphrase', value: 'not shown here', bound, message };
  return new ProblemError('invalid', message, [problem]);
}

/**
 * `settings` are those in use and those that wait for a start. Throws a ProblemError that says why nothing
 * was changed; never repeats a passphrase.
 */
export async function changePassphrase(
  settings: readonly Settings[],
  file: string | null,
  role: Role,
  passphrase: string | null,
): Promise<void> {
  if (file === null) throw new ProblemError('unavailable', 'No passphrases are kept here.');
  const set = readPassphrases(file);
  if (passphrase === null) {
    if (role === 'control' && settings.some(needsPassphrase)) {
      const message =
        'The page is served to others, or will be by the saved settings, so the passphrase for control has to stay. Take web.listen, ' +
        'web.hostNames and web.signInHere out first.';
      throw invalid(message, 'kept');
    }
    const { [role]: _gone, ...others } = set;
    writePassphrases(file, others);
    return;
  }
  const problem = passphraseProblem(passphrase);
  if (problem !== null) throw invalid(problem, '12 to 256 characters');
  for (const other of roleSchema.options) {
    const kept = set[other];
    if (other === role || kept === undefined) continue;
    if (await matchesPassphrase(passphrase, kept)) {
      throw invalid(
        `This is the passphrase for ${other} already. Take another one for ${role}.`,
        'another one for each role',
      );
    }
  }
  writePassphrases(file, { ...set, [role]: await hashPassphrase(passphrase) });
}
