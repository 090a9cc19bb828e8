/** Asks every check and puts what they say in order of severity. */

import type { Notice, NoticeSeverity } from '../model.ts';
import type { PlanFigures } from '../plan-figures.ts';
import {
  anodeLoad,
  bathLoading,
  copperVolts,
  currentBeyondBound,
  currentTooSmall,
  supplyLevels,
  voltageRoom,
} from './current.ts';
import { clockNotices } from './clock.ts';
import { contactNotices } from './contact.ts';
import { densityNotices } from './density.ts';
import { doubtNotices } from './doubt.ts';
import { evennessNotices, recessNotices } from './evenness.ts';
import { finalSizeNotices } from './final-size.ts';
import { hangerLoadNotices, hangerShareNotices } from './hanger.ts';
import { boreNotices } from './openings.ts';
import { lengthSlipNotices } from './lengths.ts';
import { materialNotices } from './materials.ts';
import { outgrown, paintNotices, thinTarget } from './piece.ts';
import { durationNotices } from './time.ts';
import { trickleNotices } from './trickle.ts';

type Check = (figures: PlanFigures) => readonly Notice[];

/** Checks on what was asked for. */
const causes: readonly Check[] = [
  materialNotices,
  lengthSlipNotices,
  clockNotices,
  boreNotices,
  currentBeyondBound,
  trickleNotices,
  outgrown,
  hangerShareNotices,
];

/** Checks on what the density leads to: of a refused density they would only say so once more. */
const consequences: readonly Check[] = [
  currentTooSmall,
  durationNotices,
  voltageRoom,
  copperVolts,
  thinTarget,
  anodeLoad,
  bathLoading,
  hangerLoadNotices,
  recessNotices,
  evennessNotices,
  contactNotices,
];

/** Checks that inform rather than judge. */
const remarks: readonly Check[] = [finalSizeNotices, doubtNotices, paintNotices, supplyLevels];

const severities: readonly NoticeSeverity[] = ['refuse', 'warn', 'note'];

/**
 * A plan that is refused is done by no time, so that nothing is promised of it; and the earliest time
 * is no answer where the tank does not allow that long.
 */
function withoutMoot(notices: readonly Notice[]): readonly Notice[] {
  const refused = notices.some(({ severity }) => severity === 'refuse');
  const tooLong = notices.some(({ code }) => code === 'tooLong');
  return notices.filter(
    ({ code }) => !(code === 'doneBy' && refused) && !(code === 'doneByTooEarly' && tooLong),
  );
}

/** All notices on a plan: refusals first, then warnings, then notes. */
export function planNotices(figures: PlanFigures): readonly Notice[] {
  const onDensity = densityNotices(figures);
  const densityRefused = onDensity.some(({ severity }) => severity === 'refuse');
  const checks = [...causes, ...(densityRefused ? [] : consequences), ...remarks];
  const all = withoutMoot([...onDensity, ...checks.flatMap((check) => check(figures))]);
  return severities.flatMap((severity) => all.filter((found) => found.severity === severity));
}
