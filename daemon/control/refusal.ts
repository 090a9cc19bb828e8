/** A command that is not done, with the sentence that says why. */

import type { Problem } from '../piece/model.ts';
import type { CommandAnswer } from '../wire/command.ts';

export type Refusal = Extract<CommandAnswer, { ok: false }>;

export function refusal(
  code: Refusal['code'],
  reason: string,
  problems: readonly Problem[] = [],
): Refusal {
  return { ok: false, code, reason, problems: [...problems] };
}
