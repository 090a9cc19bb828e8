/** A bath of copper sulfate, a tank and the daemon's answers as the tests of the Plan page use them. */

import type { Bath } from '../../daemon/chemistry/model.ts';
import { partDefinitions } from '../../daemon/piece/parts.ts';
import { measurePiece } from '../../daemon/run/measured-piece.ts';
import type { TankFacts } from '../../daemon/run/model.ts';
import {
  measuredPieceSchema,
  pieceTyped,
  typedPieceSchema,
} from '../../daemon/wire/measured-piece.ts';
import { learnKinds } from '../../dashboard/piece/kinds.ts';
import type { Measurement } from '../../dashboard/piece/measuring.ts';
import { pieceOf, type PieceDraft } from '../../dashboard/piece/draft.ts';
import type { Draft } from '../../dashboard/plan-draft.ts';
import { requestOf, type Place } from '../../dashboard/plan-request.ts';
import { sizeGoal } from '../../dashboard/plan-lazy.ts';

learnKinds(partDefinitions);
await sizeGoal.fetched();

/** What the daemon finds of a piece that is typed, with all that crossing to it and back does. */
export function measurementOf(draft: PieceDraft): Measurement {
  const sent: unknown = JSON.parse(JSON.stringify(pieceOf(draft).piece));
  const found = measurePiece(pieceTyped(typedPieceSchema.parse(sent)));
  const answer = measuredPieceSchema.parse(JSON.parse(JSON.stringify(found)));
  return { keys: draft.parts.map(({ key }) => key), answer };
}

/** The question of a draft whose piece the daemon has measured. */
export function asked(draft: Draft, place?: Place): ReturnType<typeof requestOf> {
  return requestOf(draft, measurementOf(draft.piece).answer, place);
}

export const acidCopper: Bath = {
  id: 'acid-copper-still',
  name: 'Acid copper, still',
  metal: 'copper-II',
  agitation: 'still',
  window: { minAmpsPerDm2: 0.5, typicalAmpsPerDm2: 1.3, maxAmpsPerDm2: 2, source: 'test' },
  efficiency: { value: 0.985, uncertainty: 0.015, source: 'test' },
  temperature: { minCelsius: 18, maxCelsius: 28, source: 'test' },
  conductivity: { siemensPerMetre: 15, source: 'test' },
  loading: { maxAmpsPerLitre: 0.5, source: 'test' },
  notes: [],
};

export const tank: TankFacts = {
  id: 'beaker',
  name: 'Beaker',
  volumeLitres: 2.5,
  anodeAreaDm2: 2,
  simulated: true,
  maxAmps: 3,
  maxVolts: 6,
  maxHours: 40,
  supply: {
    minAmps: 0,
    maxAmps: 5,
    stepAmps: 0.001,
    maxVolts: 30,
    stepVolts: 0.001,
    meterUncertainty: 0.01,
    overVoltageLevel: true,
    overCurrentLevel: true,
  },
};
