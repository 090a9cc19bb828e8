/** Judges a whole piece and adds up its parts. */

import { pieceClosings } from './closings.ts';
import { addGrowth, scaleGrowth, zeroGrowth } from './growth.ts';
import type { CrossSection, Growth, PartDescription, PieceDescription, Problem } from './model.ts';
import { nameProblems } from './name-problems.ts';
import { definitionOf, partGrowth } from './part-growth.ts';
import { partProblems, problem, within } from './part-problems.ts';

// Most parts a piece may list; parts that are alike are one part with a count.
const maxParts = 100;

// Widest half width of the area's range, as a share of the area.
const maxAreaUncertainty = 0.9;

// A factor beyond these is a slip: no surface is a fifth of itself, or five times.
const areaFactors = { least: 0.2, most: 5 };

// Most materials a piece may list.
const maxMaterials = 50;

const hangerKind = 'hanger';
const measuredKind = 'measured';

function wholeProblems({
  name,
  parts,
  areaUncertainty,
  areaFactor = 1,
}: PieceDescription): readonly Problem[] {
  const problems: Problem[] = [];
  if (name.trim() === '') {
    problems.push(problem('name', `"${name}"`, 'at least one letter', 'Give the piece a name.'));
  }
  if (!within(areaUncertainty, 0, maxAreaUncertainty)) {
    const advice = 'Enter the half width as a share: 0.1 is plus or minus 10 %.';
    const bound = `a number from 0 to ${maxAreaUncertainty}`;
    problems.push(problem('areaUncertainty', areaUncertainty, bound, advice));
  }
  if (!within(areaFactor, areaFactors.least, areaFactors.most)) {
    const advice = 'Leave it out, or look at the weigh-ins it comes from.';
    const bound = `a number from ${areaFactors.least} to ${areaFactors.most}`;
    problems.push(problem('areaFactor', areaFactor, bound, advice));
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

function materialProblems({ materials = [] }: PieceDescription): readonly Problem[] {
  const ids = materials.map(({ id }) => id);
  const twice = ids.flatMap((id, index) =>
    ids.indexOf(id) === index
      ? []
      : [problem(`materials[${index}].id`, `"${id}"`, 'named once', 'Name each material once.')],
  );
  if (ids.length <= maxMaterials) return twice;
  const bound = `at most ${maxMaterials} materials`;
  const advice = 'Name only what touches the bath.';
  return [problem('materials', `${ids.length} materials`, bound, advice), ...twice];
}

/**
 * Everything wrong with a piece, by field path such as `parts[0].sizes.wireDiameterMm`; empty for a
 * piece that can be planned. The functions below expect a piece without problems.
 */
export function pieceProblems(piece: PieceDescription): readonly Problem[] {
  const problems = [
    ...wholeProblems(piece),
    ...nameProblems(piece),
    ...materialProblems(piece),
    ...piece.parts.flatMap(partProblems),
  ];
  if (problems.length > 0) {
    return problems;
  }
  const { areaMm2 } = pieceGrowth(piece);
  return areaMm2 > 0
    ? []
    : [problem('parts', `${areaMm2} mm2`, 'a plated area above 0 mm2', 'Check the fractions.')];
}

/** Growth of the whole plated surface, hangers and area factor included. */
export function pieceGrowth(piece: PieceDescription): Growth {
  const growth = piece.parts.map(partGrowth).reduce(addGrowth, zeroGrowth);
  return scaleGrowth(growth, piece.areaFactor ?? 1);
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
  const [first] = pieceClosings(piece);
  return first === undefined ? null : { partIndex: first.partIndex, closesAtMm: first.closesAtMm };
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
    : thinnestMm(definitionOf(part, index).crossSection(part));
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
