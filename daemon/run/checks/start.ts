/** What a start needs of the checks: which stand in its way, and what may be set aside. */

import type { Check } from './model.ts';

/** True for a check that stands in the way, or asks to be acknowledged. */
export function isOpen({ state }: Check): boolean {
  return state === 'failing' || state === 'unknown';
}

/** What no software can do for a bench; said wherever a run is armed on a real supply. */
export const whatSoftwareCannot =
  'A bench supply keeps its output on when this computer, its cable or its line dies. No program ' +
  'can promise otherwise. As a last line, plug the supply into a mains timer or a contactor that ' +
  'cuts it after the planned end.';

/** What has to be typed to leave a run alone that can call nobody. */
export const unattendedPhrase = 'nobody will be called';

/** Whether a person typed it; case, spaces and a full stop do not matter. */
export function isUnattendedPhrase(typed: string): boolean {
  const plain = typed.trim().toLowerCase().replaceAll(/\s+/g, ' ').replace(/[.!]$/, '');
  return plain === unattendedPhrase;
}

/** What a start says for itself beside the run that it means. */
export interface StartSaid {
  /** Advice that was seen and set aside, by id. */
  readonly acknowledged: readonly string[];
  /** A person stays with the bench. */
  readonly attended: boolean;
  /** What was typed to leave it alone all the same; null where nothing was. */
  readonly confirmation: string | null;
}

/** Why this start cannot be; none when it can. */
export function objections(checks: readonly Check[], said: StartSaid): readonly Check[] {
  return checks.filter((check) => {
    if (!isOpen(check)) return false;
    if (check.weight === 'hard') return true;
    if (check.id === 'alerts') {
      return !said.attended && !isUnattendedPhrase(said.confirmation ?? '');
    }
    return !said.acknowledged.includes(check.id);
  });
}
