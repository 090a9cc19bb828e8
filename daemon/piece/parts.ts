/** The kinds of part a piece can be made of. */

import type { PartDefinition } from './model.ts';
import { ballPart } from './parts/ball.ts';
import { boxPart } from './parts/box.ts';
import { hangerPart } from './parts/hanger.ts';
import { loopPart } from './parts/loop.ts';
import { measuredPart } from './parts/measured.ts';
import { sheetPart } from './parts/sheet.ts';
import { tubePart } from './parts/tube.ts';
import { wirePart } from './parts/wire.ts';

/** Every kind of part, in the order in which a maker looks for them. */
export const partDefinitions: readonly PartDefinition[] = [
  wirePart,
  loopPart,
  ballPart,
  sheetPart,
  tubePart,
  boxPart,
  measuredPart,
  hangerPart,
];

/** The definition of a kind of part, or undefined where there is no such kind. */
export function partDefinition(kind: string): PartDefinition | undefined {
  return partDefinitions.find((definition) => definition.kind === kind);
}
