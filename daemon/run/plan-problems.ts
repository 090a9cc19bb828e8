/** What keeps a request from being planned at all: numbers that are missing or absurd. */

import { bathProblems } from '../chemistry/baths.ts';
import type { Bath } from '../chemistry/model.ts';
import type { Problem } from '../piece/model.ts';
import { pieceProblems } from '../piece/piece.ts';
import type {
  ContactRequest,
  PlainTarget,
  PlanContext,
  PlanQuestion,
  StartRequest,
  TankFacts,
  Target,
} from './model.ts';
import { type Bounded, boundProblems, problem } from './plan-bounds.ts';
import {
  acceptedMaterialProblems,
  acceptedProblems,
  doneByProblems,
  finalSizeProblems,
  typedDensityProblems,
} from './plan-question-problems.ts';
import { gentleStarts } from './stages.ts';

// Wide on purpose: what is merely unwise gets a notice with reasons, not a flat no.
function plainBound(target: PlainTarget, path: string): Bounded {
  switch (target.kind) {
    case 'thickness':
      return {
        field: `${path}.micrometres`,
        value: target.micrometres,
        min: 0.001,
        max: 10_000,
        unit: 'µm',
        advice: 'Enter the thickness of metal to grow; 200 µm is 0.2 mm.',
      };
    case 'mass':
      return {
        field: `${path}.grams`,
        value: target.grams,
        min: 0.000_001,
        max: 10_000,
        unit: 'g',
        advice: 'Enter the mass of metal to grow on the whole piece.',
      };
    case 'charge':
      return {
        field: `${path}.ampHours`,
        value: target.ampHours,
        min: 0.000_001,
        max: 10_000,
        unit: 'A·h',
        advice: 'Enter the charge to pass.',
      };
    case 'time':
      return {
        field: `${path}.hours`,
        value: target.hours,
        min: 0.01,
        max: 1_000,
        unit: 'h',
        advice: 'Enter the hours from switching on to the end, strike and ramp included.',
      };
    default:
      return target satisfies never;
  }
}

function sizeBound(mm: unknown, path: string): Bounded {
  const advice = 'Enter the size to end at.';
  return { field: `${path}.mm`, value: mm, min: 0.001, max: 10_000, unit: 'mm', advice };
}

const plainKinds: readonly string[] = ['thickness', 'mass', 'charge', 'time'];
const goalKinds = ['thickness', 'mass', 'charge', 'final-size'];
const targetKinds = [...plainKinds, 'final-size', 'done-by'];

function goalProblems(target: Exclude<Target, { kind: 'done-by' }>, path: string) {
  return boundProblems([
    target.kind === 'final-size' ? sizeBound(target.mm, path) : plainBound(target, path),
  ]);
}

function kindProblem(field: string, kind: unknown, kinds: readonly string[]): readonly Problem[] {
  return [problem(field, kind, `one of ${kinds.join(', ')}`, 'Say what ends the run.')];
}

function targetProblems(target: Target): readonly Problem[] {
  // What came from JSON that nobody checked may be of any kind at all.
  const { kind }: { readonly kind: string } = target;
  if (!targetKinds.includes(kind)) return kindProblem('target.kind', kind, targetKinds);
  if (target.kind !== 'done-by') return goalProblems(target, 'target');
  const goalKind: string | undefined = (target.goal as Target | undefined)?.kind;
  return goalKind !== undefined && goalKinds.includes(goalKind)
    ? goalProblems(target.goal, 'target.goal')
    : kindProblem('target.goal.kind', goalKind, goalKinds);
}

function contactBounds({ points, farthestMm }: ContactRequest): readonly Bounded[] {
  const advice = 'Count the places where wire touches paint, and measure along the paint.';
  return [
    { field: 'contact.points', value: points, min: 1, max: 1_000, unit: '', advice },
    { field: 'contact.farthestMm', value: farthestMm, min: 0.1, max: 10_000, unit: 'mm', advice },
  ];
}

/** Half a contact is none. */
function wholeProblems({ points }: ContactRequest): readonly Problem[] {
  if (!(points >= 1 && points <= 1_000) || Number.isInteger(points)) return [];
  const advice = 'Count the places where wire touches paint.';
  return [problem('contact.points', points, 'a whole number from 1 to 1000', advice)];
}

function startBounds(start: StartRequest): readonly Bounded[] {
  const advice = 'Enter a gentle start, or leave it out: the paint then decides.';
  const minutes = { min: 0, max: 600, unit: 'min', advice };
  return [
    { field: 'start.strikeShare', value: start.strikeShare, min: 0.01, max: 1, unit: '', advice },
    { field: 'start.strikeMinutes', value: start.strikeMinutes, ...minutes },
    { field: 'start.rampMinutes', value: start.rampMinutes, ...minutes },
  ];
}

function requestProblems(request: PlanQuestion): readonly Problem[] {
  const { paint, densityAmpsPerDm2, target, trickle, start, contact } = request;
  const density = { min: 0.0001, max: 1_000, unit: 'A/dm2' };
  const bounded: Bounded[] = [];
  if (densityAmpsPerDm2 !== undefined) {
    bounded.push({
      field: 'densityAmpsPerDm2',
      value: densityAmpsPerDm2,
      ...density,
      advice: 'Enter the current density of the hold; 0.1 A/in2 is 1.55 A/dm2.',
    });
  }
  if (trickle !== null) {
    bounded.push(
      {
        field: 'trickle.densityAmpsPerDm2',
        value: trickle.densityAmpsPerDm2,
        ...density,
        advice: 'Enter the small density that keeps a finished piece, or leave the trickle out.',
      },
      {
        field: 'trickle.maxHours',
        value: trickle.maxHours,
        min: 0.01,
        max: 1_000,
        unit: 'h',
        advice: 'Enter the longest time that the trickle may last.',
      },
    );
  }
  if (start !== null && start !== undefined) bounded.push(...startBounds(start));
  const touching = contact ?? null;
  if (touching !== null) bounded.push(...contactBounds(touching));
  const paints = Object.keys(gentleStarts);
  return [
    ...(paints.includes(paint)
      ? []
      : [problem('paint', paint, `one of ${paints.join(', ')}`, 'Say what carries the current.')]),
    ...boundProblems(bounded),
    ...(touching === null ? [] : wholeProblems(touching)),
    ...targetProblems(target),
  ];
}

function row(
  field: string,
  value: unknown,
  min: number,
  max: number,
  unit: string,
  advice: string,
): Bounded {
  return { field: `tank.${field}`, value, min, max, unit, advice };
}

function tankProblems({ supply, ...tank }: TankFacts): readonly Problem[] {
  const sheet = 'Correct the settings of this tank.';
  const manual = "Correct the supply's range; it comes from its dialect or from the supply itself.";
  return boundProblems([
    row('volumeLitres', tank.volumeLitres, 0.01, 10_000, 'L', sheet),
    row('anodeAreaDm2', tank.anodeAreaDm2, 0.001, 10_000, 'dm2', sheet),
    row('maxAmps', tank.maxAmps, 0.001, 1_000, 'A', sheet),
    row('maxVolts', tank.maxVolts, 0.1, 100, 'V', sheet),
    row('maxHours', tank.maxHours, 0.01, 1_000, 'h', sheet),
    row('supply.minAmps', supply.minAmps, 0, 1_000, 'A', manual),
    row('supply.maxAmps', supply.maxAmps, 0.001, 10_000, 'A', manual),
    row('supply.stepAmps', supply.stepAmps, 1e-9, 100, 'A', manual),
    row('supply.maxVolts', supply.maxVolts, 0.1, 10_000, 'V', manual),
    row('supply.stepVolts', supply.stepVolts, 1e-9, 10, 'V', manual),
    row('supply.meterUncertainty', supply.meterUncertainty, 0, 0.5, '', sheet),
  ]);
}

function identityProblems(request: PlanQuestion, bath: Bath, tank: TankFacts): readonly Problem[] {
  const problems: Problem[] = [];
  if (request.bathId !== bath.id) {
    const advice = 'The plan asks for one bath and was given another.';
    problems.push(problem('bathId', request.bathId, bath.id, advice));
  }
  if (request.tankId !== tank.id) {
    const advice = 'The plan asks for one tank and was given another.';
    problems.push(problem('tankId', request.tankId, tank.id, advice));
  }
  return problems;
}

function under(path: string, problems: readonly Problem[]): readonly Problem[] {
  return problems.map((found) => ({
    ...found,
    field: `${path}.${found.field}`,
    message: found.message.startsWith(found.field) ? `${path}.${found.message}` : found.message,
  }));
}

/** Problems that only make sense of a piece that is sound itself. */
function solvingProblems(request: PlanQuestion, context: PlanContext): readonly Problem[] {
  const { target } = request;
  const path = target.kind === 'done-by' ? 'target.goal' : 'target';
  const goal = target.kind === 'done-by' ? target.goal : target;
  return [
    ...typedDensityProblems(request),
    ...acceptedProblems(request),
    ...acceptedMaterialProblems(request),
    ...(goal.kind === 'final-size' ? finalSizeProblems(request, goal, path) : []),
    ...(target.kind === 'done-by' ? doneByProblems(target, context) : []),
  ];
}

/**
 * Everything wrong with a request, its bath and its tank, by field path; empty when it can be
 * planned. A cyanide bath is refused here: it gets no plan at all.
 */
export function planProblems(
  request: PlanQuestion,
  bath: Bath,
  tank: TankFacts,
  context: PlanContext = {},
): readonly Problem[] {
  const plain = [
    ...identityProblems(request, bath, tank),
    ...requestProblems(request),
    ...under('piece', pieceProblems(request.piece)),
    ...under('bath', bathProblems(bath)),
    ...tankProblems(tank),
  ];
  return plain.length > 0 ? plain : solvingProblems(request, context);
}
