/** Kinds of part as they look with their usual sizes, for choosing among them. */

import type { Drawing, PartDefinition, Point } from './model.ts';

/** What stands for a trace before anything is traced: a leaf of our own. */
const sampleOutline: readonly Point[] = [
  { xMm: 0, yMm: 12 },
  { xMm: 5, yMm: 4 },
  { xMm: 13, yMm: 1 },
  { xMm: 17, yMm: 5 },
  { xMm: 24, yMm: 2 },
  { xMm: 30, yMm: 9 },
  { xMm: 25, yMm: 15 },
  { xMm: 19, yMm: 13 },
  { xMm: 12, yMm: 18 },
  { xMm: 4, yMm: 16 },
];

/** A kind of part as it looks with its usual sizes. */
export function typicalDrawing(definition: PartDefinition): Drawing {
  const sizes = Object.fromEntries(definition.fields.map(({ name, typical }) => [name, typical]));
  return definition.drawing({ sizes, outline: { points: sampleOutline } });
}
