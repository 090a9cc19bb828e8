/** Asks every check and puts what they say in order of severity. */

import type { Notice, NoticeSeverity } from '../model.ts';
import type { PlanFigures } from '../plan-figures.ts';
import {
  anodeLoad,
  bathLoading,
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
import { hangerLoadNotices, hangerShareNotices } from './hanger.ts';
import { boreNotices } from './openings.ts';
import { lengthSlipNotices } from './lengths.ts';
import { outgrown, paintNotices, thinTarget } from './piece.ts';
import { durationNotices } from './time.ts';
import { trickleNotices } from './trickle.ts';

type Check = (figures: PlanFigures) => readonly Notice[];

/** Checks on what was asked for. */
const causes: readonly Check[] = [
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
  thinTarget,
  anodeLoad,
  bathLoading,
  hangerLoadNotices,
  recessNotices,
  evennessNotices,
  contactNotices,
];

/** Checks that inform rather than judge. */
const remarks: readonly Check[] = [doubtNotices, paintNotices, supplyLevels];

const severities: readonly NoticeSeverity[] = ['refuse', 'warn', 'note'];

/** All notices on a plan: refusals first, then warnings, then notes. */
export function planNotices(figures: PlanFigures): readonly Notice[] {
  const onDensity = densityNotices(figures);
  const densityRefused = onDensity.some(({ severity }) => severity === 'refuse');
  const checks = [...causes, ...(densityRefused ? [] : consequences), ...remarks];
  const all = [...onDensity, ...checks.flatMap((check) => check(figures))];
  return severities.flatMap((severity) => all.filter((found) => found.severity === severity));
}
