/** The checks before a start, in the order in which they are shown, and which of them may refuse it. */

import {
  checkClock,
  checkErrors,
  checkLink,
  checkLog,
  checkOutput,
  checkSetPoints,
} from './bench-checks.ts';
import type { Check, CheckFacts, CheckFinding, CheckId, CheckWeight } from './model.ts';
import {
  checkAlerts,
  checkContinuity,
  checkDrill,
  checkMains,
  checkProtections,
} from './night-checks.ts';

interface CheckRow {
  readonly id: CheckId;
  readonly title: string;
  readonly weight: CheckWeight;
  /** Why it weighs what it weighs. */
  readonly because: string;
  readonly look: (facts: CheckFacts) => CheckFinding;
}

export const checkTable: readonly CheckRow[] = [
  {
    id: 'link',
    title: 'Supply',
    weight: 'hard',
    because: 'what does not answer cannot be switched off',
    look: checkLink,
  },
  {
    id: 'output',
    title: 'Output',
    weight: 'hard',
    because: 'a run starts from a known state only',
    look: checkOutput,
  },
  {
    id: 'setPoints',
    title: 'Set-points',
    weight: 'hard',
    because: 'nothing is switched on before its limits are known to be set',
    look: checkSetPoints,
  },
  {
    id: 'log',
    title: 'Log',
    weight: 'hard',
    because: 'a run that cannot be recorded would trip in the middle of the night',
    look: checkLog,
  },
  {
    id: 'continuity',
    title: 'Circuit',
    // Found open or shorted, it refuses the start; see the check itself.
    weight: 'advice',
    because: 'the first minutes of a run show it too, if somebody is there',
    look: checkContinuity,
  },
  {
    id: 'drill',
    title: 'Limits drill',
    weight: 'advice',
    because: 'a supply that obeyed last month most likely obeys tonight',
    look: checkDrill,
  },
  {
    id: 'alerts',
    title: 'Alerts',
    weight: 'advice',
    because:
      'whoever stays with the bench needs no call; whoever leaves it types that nobody comes',
    look: checkAlerts,
  },
  {
    id: 'protections',
    title: 'Protections in the supply',
    weight: 'advice',
    because: 'no setting can give a supply what it lacks, but its owner should know',
    look: checkProtections,
  },
  {
    id: 'mains',
    title: 'After a power cut',
    weight: 'advice',
    because: 'no program runs in the moment when the mains returns, but its owner should know',
    look: checkMains,
  },
  {
    id: 'errors',
    title: 'Errors of the supply',
    weight: 'advice',
    because: 'an old error need not mean anything today',
    look: checkErrors,
  },
  {
    id: 'clock',
    title: 'Clock',
    weight: 'advice',
    because: 'a run is measured by another clock; records, and "done by", are not',
    look: checkClock,
  },
];

/** Every check at this moment, all of them at once. */
export function judgeChecks(facts: CheckFacts): readonly Check[] {
  return checkTable.map(({ id, title, weight, look }) => ({ id, title, weight, ...look(facts) }));
}
