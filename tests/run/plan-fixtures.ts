/** Baths, tanks and requests that the tests of planning share. */

import { readFileSync } from 'node:fs';
import { parse } from 'smol-toml';
import type { Bath } from '../../daemon/chemistry/model.ts';
import type { Material } from '../../daemon/piece/material.ts';
import type { PartDescription } from '../../daemon/piece/model.ts';
import type { Plan, PlanRequest, TankFacts } from '../../daemon/run/model.ts';
import { planRun } from '../../daemon/run/plan.ts';
import { bathSchema } from '../../daemon/wire/plan.ts';

/** A bath as it is shipped. */
export function shippedBath(id: string): Bath {
  const file = new URL(`../../config/baths/${id}.toml`, import.meta.url);
  return bathSchema.parse(parse(readFileSync(file, 'utf8')));
}

export const stillCopper: Bath = shippedBath('acid-copper-still');

/** All charge becomes metal and the window is wide: for figures computed by hand. */
export const idealCopper: Bath = {
  ...stillCopper,
  window: { ...stillCopper.window, minAmpsPerDm2: 0.5, typicalAmpsPerDm2: 3, maxAmpsPerDm2: 4 },
  efficiency: { value: 1, uncertainty: 0, source: 'invented for hand computation' },
};

export const beaker: TankFacts = {
  id: 'beaker',
  name: 'Beaker',
  volumeLitres: 5,
  anodeAreaDm2: 2,
  simulated: true,
  maxAmps: 5,
  maxVolts: 6,
  maxHours: 48,
  supply: {
    minAmps: 0,
    maxAmps: 5,
    stepAmps: 0.001,
    maxVolts: 30,
    stepVolts: 0.01,
    meterUncertainty: 0.01,
    overVoltageLevel: true,
    overCurrentLevel: true,
  },
};

export function part(
  kind: string,
  sizes: Readonly<Record<string, number>>,
  more: Partial<PartDescription> = {},
): PartDescription {
  return { kind, label: kind, count: 1, platedFraction: 1, sizes, ...more };
}

/** A flat area in dm2, found elsewhere. */
export function flat(areaDm2: number): PartDescription {
  return part('measured', { areaMm2: areaDm2 * 10_000 });
}

export function pieceOf(parts: readonly PartDescription[], areaUncertainty = 0.1) {
  return { name: 'Twig form', parts, areaUncertainty };
}

export const twigRequest: PlanRequest = {
  piece: pieceOf([flat(0.3)]),
  tankId: beaker.id,
  bathId: stillCopper.id,
  paint: 'copper',
  densityAmpsPerDm2: 1.5,
  target: { kind: 'thickness', micrometres: 150 },
  trickle: null,
};

const plainRow = {
  synonyms: [],
  group: 'stone',
  mohs: null,
  advice: 'Invented for tests.',
  source: 'invented for tests',
  confidence: 'commonPractice',
  conducts: false,
  baseMetal: false,
  porous: false,
  heatSensitive: false,
  solventSensitive: false,
  waterSensitive: false,
  poisonsWhenTested: false,
} as const;

/** A table of materials with a row for each verdict, invented. */
export const trialMaterials: readonly Material[] = [
  {
    ...plainRow,
    id: 'hard-stone',
    name: 'Hard stone',
    verdict: 'withstands',
    why: 'It does nothing.',
    actions: ['mask'],
  },
  {
    ...plainRow,
    id: 'oiled-stone',
    name: 'Oiled stone',
    verdict: 'caution',
    why: 'Its oil leaches.',
    actions: ['seal'],
    heatSensitive: true,
  },
  {
    ...plainRow,
    id: 'fizzing-stone',
    name: 'Fizzing stone',
    verdict: 'keepOut',
    why: 'It dissolves and fizzes.',
    actions: ['keepOut'],
  },
  {
    ...plainRow,
    id: 'foul-stone',
    name: 'Foul stone',
    verdict: 'keepOut',
    why: 'It gives off a foul gas, a poison.',
    actions: ['keepOut'],
    poisonsWhenTested: true,
  },
];

export interface Changes {
  readonly request?: Partial<PlanRequest>;
  readonly bath?: Bath;
  readonly tank?: Partial<TankFacts>;
  readonly supply?: Partial<TankFacts['supply']>;
}

/** The inputs of a plan: the twig form in the beaker, with changes. */
export function inputs({ request, bath = stillCopper, tank, supply }: Changes) {
  const facts = { ...beaker, ...tank, supply: { ...beaker.supply, ...supply } };
  return { request: { ...twigRequest, bathId: bath.id, ...request }, bath, tank: facts };
}

/** A plan that must come about, startable or not. */
export function planned(changes: Changes = {}): Plan {
  const { request, bath, tank } = inputs(changes);
  const result = planRun(request, bath, tank, { materials: trialMaterials });
  if (!result.ok) {
    throw new Error(result.problems.map((problem) => problem.message).join('\n'));
  }
  return result.plan;
}

export const hourMs = 3_600_000;
