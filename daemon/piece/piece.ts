/** Judges a whole piece and adds up its parts. */

import { addGrowth, scaleGrowth, zeroGrowth } from './growth.ts';
import type {
  CrossSection,
  Growth,
  PartDefinition,
  PartDescription,
  PartField,
  PieceDescription,
  Problem,
} from './model.ts';
import { partDefinition, partDefinitions } from './parts.ts';

// Most parts a piece may list; parts that are alike are one part with a count.
const maxParts = 100;

// Most alike of one part.
const maxCount = 10_000;

// Widest half width of the area's range, as a share of the area.
const maxAreaUncertainty = 0.9;

const hangerKind = 'hanger';
const measuredKind = 'measured';

/** A value as entered; a size that was left out is undefined. */
type Entered = string | number | undefined;

function problem(field: string, value: Entered, bound: string, advice: string): Problem {
  const shown = value === undefined ? 'missing' : String(value);
  const message = `${field} is ${shown}; it must be ${bound}. ${advice}`;
  return { field, value: shown, bound, message };
}

function within(value: Entered, min: number, max: number): boolean {
  return typeof value === 'number' && value >= min && value <= max;
}

function fieldProblems(path: string, field: PartField, value: Entered): readonly Problem[] {
  const { min, max, unit, help } = field;
  if (!within(value, min, max)) {
    return [problem(path, value, `a number from ${min} to ${max} ${unit}`, help)];
  }
  return unit === 'count' && !Number.isInteger(value)
    ? [problem(path, value, `a whole number from ${min} to ${max}`, help)]
    : [];
}

function sizesProblems(
  path: string,
  { sizes }: PartDescription,
  definition: PartDefinition,
): readonly Problem[] {
  const names = definition.fields.map((field) => field.name);
  const unknown = Object.keys(sizes)
    .filter((name) => !names.includes(name))
    .map((name) =>
      problem(`${path}.${name}`, sizes[name], `one of ${names.join(', ')}`, 'No such size.'),
    );
  const single = definition.fields.flatMap((field) =>
    fieldProblems(`${path}.${field.name}`, field, sizes[field.name]),
  );
  if (unknown.length > 0 || single.length > 0) {
    return [...unknown, ...single];
  }
  return definition.problems(sizes).map((found) => ({
    ...found,
    field: `${path}.${found.field}`,
    message: `${path}.${found.message}`,
  }));
}

function partProblems(part: PartDescription, index: number): readonly Problem[] {
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
  return [...problems, ...sizesProblems(`${path}.sizes`, part, definition)];
}

function wholeProblems({ name, parts, areaUncertainty }: PieceDescription): readonly Problem[] {
  const problems: Problem[] = [];
  if (name.trim() === '') {
    problems.push(problem('name', `"${name}"`, 'at least one letter', 'Give the piece a name.'));
  }
  if (!within(areaUncertainty, 0, maxAreaUncertainty)) {
    const advice = 'Enter the half width as a share: 0.1 is plus or minus 10 %.';
    const bound = `a number from 0 to ${maxAreaUncertainty}`;
    problems.push(problem('areaUncertainty', areaUncertainty, bound, advice));
  }
  if (parts.length === 0) {
    const advice = 'Without parts there is no plated area.';
    problems.push(problem('parts', 'empty', 'at least one part', advice));
  } else if (parts.length > maxParts) {
    const advice = 'Enter parts that are alike as one part with a count.';
    problems.push(problem('parts', `${parts.length} parts`, `at most ${maxParts} parts`, advice));
  } else if (parts.every((part) => part.kind === hangerKind)) {
    const advice = 'A hanger takes metal but is not the piece; add what it holds.';
    problems.push(problem('parts', 'hangers only', 'at least one part of another kind', advice));
  }
  return problems;
}

/**
 * Everything wrong with a piece, by field path such as `parts[0].sizes.wireDiameterMm`; empty for a
 * piece that can be planned. The functions below expect a piece without problems.
 */
export function pieceProblems(piece: PieceDescription): readonly Problem[] {
  const problems = [...wholeProblems(piece), ...piece.parts.flatMap(partProblems)];
  if (problems.length > 0) {
    return problems;
  }
  const { areaMm2 } = pieceGrowth(piece);
  return areaMm2 > 0
    ? []
    : [problem('parts', `${areaMm2} mm2`, 'a plated area above 0 mm2', 'Check the fractions.')];
}

function definitionOf(part: PartDescription, index: number): PartDefinition {
  const definition = partDefinition(part.kind);
  if (definition === undefined) {
    throw new RangeError(`parts[${index}].kind is "${part.kind}"; there is no such part`);
  }
  return definition;
}

function partGrowth(part: PartDescription, index: number): Growth {
  const one = definitionOf(part, index).growth(part.sizes);
  return scaleGrowth(one, part.count * part.platedFraction);
}

/** Growth of the whole plated surface, hangers included. */
export function pieceGrowth(piece: PieceDescription): Growth {
  return piece.parts.map(partGrowth).reduce(addGrowth, zeroGrowth);
}

/** Share of the plated area that belongs to hangers, 0 to 1. */
export function hangerShare(piece: PieceDescription): number {
  const hangers = piece.parts.filter((part) => part.kind === hangerKind);
  const wholeMm2 = pieceGrowth(piece).areaMm2;
  return wholeMm2 > 0 ? pieceGrowth({ ...piece, parts: hangers }).areaMm2 / wholeMm2 : 0;
}

/** The part whose bore or opening closes first, and the thickness, mm; null where none closes. */
export function pieceClosesAtMm(
  piece: PieceDescription,
): { readonly partIndex: number; readonly closesAtMm: number } | null {
  let first: { readonly partIndex: number; readonly closesAtMm: number } | null = null;
  for (const [partIndex, part] of piece.parts.entries()) {
    const closesAtMm = definitionOf(part, partIndex).closesAtMm(part.sizes);
    if (closesAtMm !== null && (first === null || closesAtMm < first.closesAtMm)) {
      first = { partIndex, closesAtMm };
    }
  }
  return first;
}

function thinnestMm(section: CrossSection): number {
  switch (section.shape) {
    case 'round':
      return section.diameterMm;
    case 'tube':
      return (section.outsideMm - section.insideMm) / 2;
    case 'rectangle':
      return Math.min(section.widthMm, section.heightMm);
    case 'flat':
      return section.thicknessMm;
    default:
      return section satisfies never;
  }
}

// A measured area has no thickness of its own and a hanger is not the piece, so they come last.
function slenderness(part: PartDescription, index: number): number {
  if (part.kind === hangerKind) {
    return Number.POSITIVE_INFINITY;
  }
  return part.kind === measuredKind
    ? Number.MAX_VALUE
    : thinnestMm(definitionOf(part, index).crossSection(part.sizes));
}

/**
 * Index of the part whose picture decides: the one that closes first, or else the one with the
 * thinnest cross-section, hangers left out; the first of equals.
 */
export function decidingPart(piece: PieceDescription): number {
  const closing = pieceClosesAtMm(piece);
  if (closing !== null) {
    return closing.partIndex;
  }
  const thin = piece.parts.map(slenderness);
  return Math.max(0, thin.indexOf(Math.min(...thin)));
}
