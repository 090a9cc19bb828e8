/** Judges one part of a piece: its kind, count, plated share, sizes and covered surface. */

import type { PartDefinition, PartDescription, PartField, Problem } from './model.ts';
import { uncoveredGrowth } from './part-growth.ts';
import { partDefinition, partDefinitions } from './parts.ts';

// Most alike of one part.
const maxCount = 10_000;

const outlineKind = 'outline';

/** A value as entered; a size that was left out is undefined. */
type Entered = string | number | undefined;

/** A problem whose message says the field, the value and the bound, and then what to do. */
export function problem(field: string, value: Entered, bound: string, advice: string): Problem {
  const shown = value === undefined ? 'missing' : String(value);
  const message = `${field} is ${shown}; it must be ${bound}. ${advice}`;
  return { field, value: shown, bound, message };
}

/** Whether the value is a number between both bounds, themselves included. */
export function within(value: Entered, min: number, max: number): boolean {
  return typeof value === 'number' && value >= min && value <= max;
}

function unitWord({ unit }: PartField): string {
  return unit === 'mm' || unit === 'mm2' || unit === 'mm3' || unit === 'degrees' ? ` ${unit}` : '';
}

function fieldProblems(path: string, field: PartField, value: Entered): readonly Problem[] {
  const { min, max, unit, help, choices } = field;
  if (choices !== undefined && !choices.some((choice) => choice.value === value)) {
    const offered = choices.map((choice) => `${choice.value} (${choice.label})`).join(' or ');
    return [problem(path, value, offered, help)];
  }
  const whole = unit === 'count' ? 'a whole number' : 'a number';
  const bound = `${whole} from ${min} to ${max}${unitWord(field)}`;
  const sound = within(value, min, max) && (unit !== 'count' || Number.isInteger(value));
  return sound ? [] : [problem(path, value, bound, help)];
}

function shapeProblems(
  path: string,
  part: PartDescription,
  definition: PartDefinition,
): readonly Problem[] {
  const { sizes } = part;
  const names = definition.fields.map((field) => field.name);
  const unknown = Object.keys(sizes)
    .filter((name) => !names.includes(name))
    .map((name) =>
      problem(`${path}.sizes.${name}`, sizes[name], `one of ${names.join(', ')}`, 'No such size.'),
    );
  const single = definition.fields.flatMap((field) =>
    fieldProblems(`${path}.sizes.${field.name}`, field, sizes[field.name]),
  );
  if (unknown.length > 0 || single.length > 0) {
    return [...unknown, ...single];
  }
  return definition.problems(part).map((found) => {
    // A kind names a size by its name and a place in its outline by the path below the part.
    const below = names.includes(found.field) ? `sizes.${found.field}` : found.field;
    const message = `${path}.${below}${found.message.slice(found.field.length)}`;
    return { ...found, field: `${path}.${below}`, message };
  });
}

function coveredProblems(path: string, part: PartDescription, index: number): readonly Problem[] {
  const { coveredMm2 } = part;
  if (coveredMm2 === undefined) {
    return [];
  }
  const field = `${path}.coveredMm2`;
  const { areaMm2 } = uncoveredGrowth(part, index);
  return coveredMm2 >= 0 && coveredMm2 < areaMm2
    ? []
    : [
        problem(
          field,
          coveredMm2,
          `0 or more and below the plated area of the part, ${areaMm2} mm2`,
          'Enter how much of its surface is hidden where parts overlap or are soldered together.',
        ),
      ];
}

/** Everything wrong with a part, by field path such as `parts[0].sizes.wireDiameterMm`. */
export function partProblems(part: PartDescription, index: number): readonly Problem[] {
  const path = `parts[${index}]`;
  const { kind, count, platedFraction } = part;
  const problems: Problem[] = [];
  if (!within(count, 1, maxCount) || !Number.isInteger(count)) {
    const advice = 'Enter how many are alike.';
    problems.push(problem(`${path}.count`, count, `a whole number from 1 to ${maxCount}`, advice));
  }
  if (!within(platedFraction, Number.MIN_VALUE, 1)) {
    const advice = 'Enter the share that takes metal: 1 is all of it, 0.5 is half.';
    problems.push(
      problem(`${path}.platedFraction`, platedFraction, 'above 0 and at most 1', advice),
    );
  }
  const definition = partDefinition(kind);
  if (definition === undefined) {
    const kinds = partDefinitions.map((known) => known.kind).join(', ');
    return [...problems, problem(`${path}.kind`, kind, `one of ${kinds}`, 'No such part.')];
  }
  if (part.outline !== undefined && kind !== outlineKind) {
    const advice = 'A part of this kind would ignore it.';
    problems.push(
      problem(`${path}.outline`, 'given', `left out of a part of kind ${kind}`, advice),
    );
  }
  problems.push(...shapeProblems(path, part, definition));
  // Only a part that is sound so far has an area to compare with.
  return problems.length > 0 ? problems : coveredProblems(path, part, index);
}
